"""Scans set straight and whitened: what was drawn and pencilled is still there, and the paper is white.

Held against the clean drawing: `scanning` gives the same sheet, bent alike, without light, noise and dust; a blank
sheet damaged from the same seed shows the pencil alone. `COLLAPARTE_SEED=n` repeats a run.
"""

from pathlib import Path

import numpy as np
import numpy.typing as npt
import pymupdf
import pypdfium2
import pytest

import engraving
import scanning
from collaparte.paper.cutting.ink import Picture
from collaparte.paper.cutting.pieces import cut_ink
from collaparte.paper.cutting.scan_clean import Clean, cleaned, is_scan
from collaparte.paper.cutting.scan_systems import INK
from collaparte.paper.pages.book import part_pages
from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.papers import PAPERS
from collaparte.paper.read import read_part
from collaparte.paper.scans.page import Bent
from paper.test_scan_systems import unsure
from seeded import SEED

DOTS = 300
"""An inch, at which pages are looked at."""

needs_engraver = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")
Points = list[tuple[float, float]]


def _grey(pdf: bytes, page: int) -> npt.NDArray[np.uint8]:
    drawn = pymupdf.open(stream=pdf)[page].get_pixmap(dpi=DOTS, colorspace=pymupdf.csGRAY)
    return np.frombuffer(drawn.samples, np.uint8).reshape(drawn.height, drawn.stride)[:, : drawn.width]


def _straight(bent: Bent, x: float, y: float) -> tuple[float, float]:
    """Where a place of the page as displayed is on the straight one."""
    ox, oy = x, y
    for _ in range(6):
        bx, by = bent.back(ox, oy)
        ox, oy = ox + x - bx, oy + y - by
    return ox, oy


def _kept(clean: Clean, places: Points) -> float:
    """The share of places of the page as displayed where the clean page has ink within a third of a mm."""
    reach = round(0.34 / 25.4 * 72 / clean.unit)
    found = 0
    for x, y in places:
        sx, sy = (round(v / clean.unit) for v in _straight(clean.bent, x, y))
        found += bool(
            (clean.grey[max(sy - reach, 0) : sy + reach + 1, max(sx - reach, 0) : sx + reach + 1] < 200).any()
        )
    return found / len(places)


def _pencilled(pdf: bytes, how: scanning.Damage, seed: int, page: int) -> Points:
    """Places of the pencil strokes on the scan."""
    blank, printed = pymupdf.open(), pymupdf.open(stream=pdf)
    for n in range(len(printed)):
        blank.new_page(width=printed[n].rect.width, height=printed[n].rect.height)
    perfect = how._replace(shadow=0.0, noise=0.0, dust=0, file="png")
    alone, _ = scanning.scanned(blank.tobytes(), perfect, seed)
    grey = _grey(alone, page)
    rows, columns = np.nonzero(grey < 0.75 * np.median(grey))
    return [(x * 72 / DOTS, y * 72 / DOTS) for y, x in list(zip(rows, columns, strict=True))[::25]]


def _stave_lines(pdf: bytes, page: int, place: scanning.Place) -> Points:
    """Places of the stave lines on the scan, a stave's height apart."""
    out: Points = []
    for system in read_part(pdf).pages[page].systems:
        for stave in system.staves:
            for y in stave.lines:
                out += [place(x, y) for x in np.arange(stave.x0 + 2, stave.x1 - 2, 4 * system.space)]
    return out


@needs_engraver
@pytest.mark.parametrize("n", range(3))
def test_no_pencil_and_no_stave_line_goes_with_the_shadows(n: int, tmp_path: Path) -> None:
    seed = 3 * SEED + n
    pdf, _ = engraving.engrave(engraving.chart(seed), tmp_path)
    # Two-level scans and faded print have lost lines already when they come.
    how = scanning.damage(seed, pencil=True)._replace(file="jpeg", print="plain", shadow=(0.1, 0.3, 0.45)[n])
    print(f"COLLAPARTE_SEED={SEED}: chart {seed}, {how}")
    scan, places = scanning.scanned(pdf, how, seed)
    clean = cleaned(pymupdf.open(stream=scan)[0])
    assert _kept(clean, _stave_lines(pdf, 0, places[0])) > 0.99
    assert _kept(clean, _pencilled(pdf, how, seed, 0)) > 0.99
    # Paper is most of a page; before, hardly a dot of it was white.
    assert (clean.grey == 255).mean() > 0.7
    assert (_grey(scan, 0) == 255).mean() < 0.1


@needs_engraver
def test_staves_stand_level_and_margins_are_gone(tmp_path: Path) -> None:
    pdf, _ = engraving.engrave(engraving.chart(4), tmp_path)
    how = scanning.Damage(200, 1.9, 1.5, 0.3, 0.05, 4.0, 30, "plain", 0, "jpeg")
    scan, _ = scanning.scanned(pdf, how, SEED)
    print(f"COLLAPARTE_SEED={SEED}")
    clean = cleaned(pymupdf.open(stream=scan)[0])
    x0, y0, x1, y1 = (round(v / clean.unit) for v in clean.box())
    page = clean.grey[y0:y1, x0:x1] < 128
    # A level line fills a row or two of pixels: on the tilted page none is dark over more than a part of its width.
    assert (page.mean(axis=1) > 0.6).sum() >= 5
    assert ((_grey(scan, 0) < 128).mean(axis=1) > 0.6).sum() == 0
    edge = round(12 / 25.4 * 72 / clean.unit)
    for side in (page[:edge], page[-edge:], page[:, :edge], page[:, -edge:]):
        assert side.any()


@needs_engraver
def test_a_scan_as_printed_is_one_clean_picture_a_page_on_the_stand_and_in_a_book(tmp_path: Path) -> None:
    pdf, _ = engraving.engrave(engraving.chart(4), tmp_path)
    scan, _ = scanning.scanned(pdf, scanning.damage(4)._replace(file="jpeg", tilt=1.5), 4)
    source = pymupdf.open(stream=scan)
    assert all(is_scan(page) for page in source)
    assert not any(is_scan(page) for page in pymupdf.open(stream=pdf))
    cut = cut_ink(scan, read_part(scan))
    assert [len(page.ink) for page in cut.pages] == [1] * len(source)
    book = pymupdf.open(stream=part_pages(scan, None, None, (), PAPERS["A4"], 7.0, "Chart"))
    drawn = book[0].get_pixmap(dpi=100, colorspace=pymupdf.csGRAY)
    grey = np.frombuffer(drawn.samples, np.uint8).reshape(drawn.height, drawn.stride)[:, : drawn.width]
    assert (grey == 255).mean() > 0.7
    assert len(book) == len(source)


@needs_engraver
@pytest.mark.parametrize("n", range(2))
def test_a_scan_is_laid_system_by_system_with_all_its_ink_once(n: int, tmp_path: Path) -> None:
    seed = 3 * SEED + n
    pdf, _ = engraving.engrave(engraving.chart(seed), tmp_path)
    how = scanning.damage(seed, pencil=bool(n))._replace(file="jpeg", print="plain", dust=0, dpi=200)
    print(f"COLLAPARTE_SEED={SEED}: chart {seed}, {how}")
    scan, _ = scanning.scanned(pdf, how, seed)
    reading = unsure(read_part(scan, scans=True))
    cut = cut_ink(scan, reading)
    systems = [system for page in reading.pages for system in page.systems]
    if cut.table.page_pieces:  # a system without a bar was seen: all stands as printed
        assert not all(system.bars for system in systems)
        return
    wholes = [bar for bar in cut.table.bars if bar.whole >= 0]
    assert len(wholes) == len(systems)
    for number, page in enumerate(pymupdf.open(stream=scan)):
        clean = cleaned(page)
        height, width = clean.grey.shape
        again = np.zeros((height, width), np.int64)
        for mark in cut.pages[number].ink:
            assert isinstance(mark, Picture)
            picture = pymupdf.Pixmap(mark.png)
            ink = np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.width, 2)[..., 1]
            x, y = round(mark.box[0] / clean.unit), round(mark.box[1] / clean.unit)
            again[y : y + picture.height, x : x + picture.width] += ink > 255 - INK
        dark = clean.grey < INK
        # No ink stands in two pictures, and all but specks is in one.
        assert again.max() == 1 and not again[~dark].any()
        assert (again[dark] == 1).mean() > 0.995
    laying = lay(reading, cut.table, printed_order(reading))
    assert [line.bars[0].steps[0] for page in laying.pages for line in page.lines] == sorted(
        line.bars[0].steps[0] for page in laying.pages for line in page.lines
    )
    assert sum(len(page.lines) for page in laying.pages) == len(systems)
    # Black on nothing: where strips overlap on the page neither covers the other.
    drawn = pypdfium2.PdfDocument(draw_cut(cut, laying))
    shown = sum(int((page.render(scale=2, grayscale=True).to_numpy() < 128).sum()) for page in drawn)
    assert shown > 5000
