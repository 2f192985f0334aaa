"""Draw docs/explanation/laying-*.png anew: each a printed page as it fits the glass, beside it its first laid pages.

`python tests/paper/laying_pictures.py`. The charts are invented. Look at each afterwards.
"""

import sys
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
import pymupdf

sys.path.insert(0, str(Path(__file__).parent.parent))

import scanning
from collaparte.demo import BAND
from collaparte.paper.cutting.pieces import cut_ink
from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.read import read_part
from paper.laid import ALTO, DRUMS, GUITAR, KEYS, SUNG, TRUMPET, engraved, written

ROOT = Path(__file__).resolve().parents[2]
Grey = npt.NDArray[np.uint8]

PAGE = (361, 481)
"""Pixels of a page of 148 x 197 mm."""
GAP, WHITE, BETWEEN = 9, 255, 225
WRITTEN, PRINTED = True, False
LIGHT = 23
"""The seed of the light, dust and pencil on the page that is scanned."""


def scan(pdf: bytes) -> bytes:
    """Paper that lay badly, under a lamp at one side, with pencil."""
    how = scanning.damage(LIGHT, pencil=True)._replace(dpi=200, file="jpeg", print="plain", shadow=0.4, tilt=1.2)
    return scanning.scanned(pdf, how, LIGHT)[0]


def fitted(page: pymupdf.Page) -> Grey:
    """A page in the middle of the glass, as large as it goes."""
    scale = min(PAGE[0] / page.rect.width, PAGE[1] / page.rect.height)
    large = page.get_pixmap(matrix=pymupdf.Matrix(4 * scale, 4 * scale), colorspace=pymupdf.csGRAY)
    drawn = np.frombuffer(large.samples, np.uint8).reshape(large.height, large.stride)[:, : large.width]
    width, height = min(PAGE[0], large.width // 4), min(PAGE[1], large.height // 4)
    small = cv2.resize(drawn, (width, height), interpolation=cv2.INTER_AREA)
    out = np.full(PAGE[::-1], WHITE, np.uint8)
    x, y = (PAGE[0] - width) // 2, (PAGE[1] - height) // 2
    out[y : y + height, x : x + width] = small
    return out


def picture(pdf: bytes, order: bool) -> Grey:
    """The first printed page, and the first laid ones, two at most."""
    reading = read_part(pdf, scans=True)
    cut = cut_ink(pdf, reading)
    steps = written(reading) if order is WRITTEN else printed_order(reading)
    laid = draw_cut(cut, lay(reading, cut.table, steps))
    pages = [fitted(pymupdf.open(stream=pdf)[0]), *map(fitted, list(pymupdf.open(stream=laid))[:2])]
    out = np.full((PAGE[1] + 2 * GAP, len(pages) * (PAGE[0] + GAP) + GAP), BETWEEN, np.uint8)
    for n, page in enumerate(pages):
        x = GAP + n * (PAGE[0] + GAP)
        out[GAP : GAP + PAGE[1], x : x + PAGE[0]] = page
    return out


def main() -> None:
    charts = {
        "horn": ((BAND / ALTO).read_bytes(), WRITTEN),
        "two-staves": ((BAND / KEYS).read_bytes(), PRINTED),
        "drums": ((BAND / DRUMS).read_bytes(), WRITTEN),
        "lyrics": (engraved(SUNG).pdf, PRINTED),
        "slashes": ((BAND / GUITAR).read_bytes(), PRINTED),
        "scan": (scan((BAND / TRUMPET).read_bytes()), PRINTED),
    }
    for name, (pdf, order) in charts.items():
        path = ROOT / "docs" / "explanation" / f"laying-{name}.png"
        cv2.imwrite(str(path), picture(pdf, order), [cv2.IMWRITE_PNG_COMPRESSION, 9])
        print(path)


if __name__ == "__main__":
    main()
