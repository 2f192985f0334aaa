"""Letters on scans, held against fresh sheets of words and signs that are damaged as scanners do.

`COLLAPARTE_SEED=n pytest tests/paper/test_scan_letters.py` draws and damages the same again.
"""

import random

import numpy as np
import pymupdf
import pytest

import scanning
from collaparte.paper.scans.bits import Dark, packed
from collaparte.paper.scans.broken import with_figures_whole
from collaparte.paper.scans.letters import CLASSES, NONE, classed
from collaparte.paper.scans.parts import connected_bits
from collaparte.paper.scans.staves import ScannedStave
from collaparte.paper.scans.touching import letters_of
from paper import glyph_shapes, scan_letters
from seeded import SEED

FLAT = scanning.Damage(200, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")

needs_fonts = pytest.mark.skipif(
    not (glyph_shapes.site() / "lilypond-binaries").exists(), reason="the fonts' package is not installed"
)


@needs_fonts
@pytest.mark.parametrize("damaged", [False, True])
def test_letters_of_a_fresh_sheet_are_told(damaged: bool) -> None:
    dice = random.Random(SEED)
    how = scanning.damage(SEED) if damaged else FLAT
    print(f"COLLAPARTE_SEED={SEED}: {how}")
    sheet = scan_letters.Sheet(dice, scan_letters.all_faces(), scan_letters.all_signs())
    seen = scan_letters.straight(sheet.document.tobytes(), how, SEED)
    assert seen
    found = [s for s in scan_letters.samples(sheet, *seen, dice) if CLASSES[s.label] != NONE]
    assert len(found) > 100
    told = classed(np.stack([s.features for s in found])).argmax(axis=1)
    right = np.mean(told == np.array([s.label for s in found]))
    # 10 fresh damaged sheets measured: 0.90 to 0.999, 0.977 in the mean; small print on a bad scan may be worse.
    assert right > (0.7 if damaged else 0.93)


def _drawn(rows: str) -> Dark:
    ink = np.array([[c == "#" for c in row] for row in rows.split()])
    return np.kron(ink, np.ones((3, 3), dtype=np.bool_)).astype(np.bool_)


def test_letters_that_touch_are_cut_apart() -> None:
    mask = _drawn("##...##..##.... ##...##..##.... ##...##..##.... #######..##.... #######..##.... ##...##..##.... "
                  "##...##..##.... ##...########## ##...##########")  # fmt: skip
    told = letters_of([mask], 12.0)[0]
    assert len(told) == 2
    (_, _, first), (x, _, _) = told
    assert first.shape[1] <= x
    assert abs(x - 24) <= 6


def test_a_line_is_no_row_of_letters() -> None:
    slur = np.zeros((14, 60), dtype=np.bool_)
    slur[np.abs(np.arange(60) - 30) // 5, np.arange(60)] = True
    slur[1:] |= slur[:-1].copy()
    assert letters_of([slur], 12.0) == [[]]


@pytest.mark.parametrize(("text", "gap", "groups"), [("25", 9, 2), ("43", 12, 2), ("78", 0, 2), ("11", 0, 2)])
def test_figures_over_a_lines_head_that_came_apart_are_whole(text: str, gap: int, groups: int) -> None:
    """Figures of the PDF standard's serif face (ISO 32000-1, 9.6.2.2), 17 pixels tall, rows of pixels taken away."""
    page = pymupdf.open().new_page(width=120, height=80)
    page.insert_text((20, 32), text, fontname="tiro", fontsize=25)
    picture = page.get_pixmap(colorspace=pymupdf.csGRAY)
    dark = np.frombuffer(picture.samples, dtype=np.uint8).reshape(picture.height, picture.stride)[:, :120] < 128
    rows = np.flatnonzero(dark.any(axis=1))
    dark = dark.copy()
    dark[rows[gap] if gap else 0] = False
    parts = connected_bits(packed(dark), 120)
    assert (len(parts) > groups) == (gap > 0)
    stave = ScannedStave(tuple(46.0 + 14 * n for n in range(5)), 25.0, 110.0, 14.0, 1.0)
    whole = with_figures_whole(parts, [[n] for n in range(len(parts))], [stave], 14.0)
    assert len(whole) == groups and sorted(n for group in whole for n in group) == list(range(len(parts)))


@pytest.mark.parametrize(("apart", "groups"), [(4, 1), (7, 2)])
def test_the_sides_of_a_nought_are_no_figure_alone_and_an_eleven_is_two(apart: int, groups: int) -> None:
    dark = np.zeros((80, 120), dtype=np.bool_)
    for x in (20, 23 + apart):
        dark[15:31, x : x + 3] = True
    parts = connected_bits(packed(dark), 120)
    stave = ScannedStave(tuple(46.0 + 14 * n for n in range(5)), 25.0, 110.0, 14.0, 1.0)
    assert len(with_figures_whole(parts, [[0], [1]], [stave], 14.0)) == groups
