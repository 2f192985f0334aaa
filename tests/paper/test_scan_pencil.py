"""What a pencil writes over a barline is lighter than print, and makes no stem of it."""

import numpy as np
import numpy.typing as npt
import pymupdf
import pytest

import scanning
import second_engraving
from collaparte.paper.read import read_part
from collaparte.paper.reading import Reading
from collaparte.paper.scans.pencil import Pencil

FLAT = scanning.Damage(200, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")


def _grey(page: pymupdf.Page) -> npt.NDArray[np.uint8]:
    picture = page.get_pixmap(dpi=200, colorspace=pymupdf.csGRAY)
    return np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.width)


def _scribbled(scan: bytes, plain: Reading) -> bytes:
    """A scan with a soft pencil's loops over the foot of a barline within its second line: print shows through."""
    page = pymupdf.open(stream=scan)[0]
    line = plain.pages[0].systems[1]
    space, foot, x = line.space, line.bbox[3], line.barlines[1].x
    loops = [(x + 0.45 * space * (n % 5 - 2), foot - 0.9 * space * (n % 2)) for n in range(14)]
    sheet = pymupdf.open()
    written = sheet.new_page(width=page.rect.width, height=page.rect.height)
    written.draw_polyline(loops, color=(0.42, 0.42, 0.42), width=0.2 * space)
    both = np.ascontiguousarray(np.minimum(_grey(page), _grey(written)))
    out = pymupdf.open()
    picture = pymupdf.Pixmap(pymupdf.csGRAY, both.shape[1], both.shape[0], both.tobytes(), 0)
    out.new_page(width=page.rect.width, height=page.rect.height).insert_image(page.rect, pixmap=picture)
    return bytes(out.tobytes())


def test_a_barline_that_pencil_crosses_is_one(monkeypatch: pytest.MonkeyPatch) -> None:
    scan = scanning.scanned(second_engraving.chart(8100011)[0], FLAT, 1)[0]
    plain = read_part(scan, scans=True)
    crossed = _scribbled(scan, plain)
    many = [len(system.bars) for system in plain.pages[0].systems]
    assert [len(system.bars) for system in read_part(crossed, scans=True).pages[0].systems] == many
    monkeypatch.setattr(Pencil, "is_beside", lambda *_: False)
    assert len(read_part(crossed, scans=True).pages[0].systems[1].bars) < many[1]
