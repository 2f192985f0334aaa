"""Upright strokes on scans told by the ink round them, on charts engraved and damaged afresh.

`COLLAPARTE_SEED=n pytest tests/paper/test_scan_strokes.py` engraves and damages the same again.
"""

import numpy as np
import pytest

import engraving
import scanning
from collaparte.paper.read import read_part
from collaparte.paper.reading import BarlineKind
from collaparte.paper.scans.beside import COLUMNS, ROWS, likely, pictures
from collaparte.paper.scans.bits import Bitmap, packed
from collaparte.paper.scans.staves import ScannedStave
from paper import scan_strokes
from paper.laid import engraved
from seeded import SEED

needs_engraver = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")


@needs_engraver
def test_barlines_of_fresh_damaged_charts_are_told_from_stems() -> None:
    looks, barlines = [], []
    for n, pdf in scan_strokes.charts(SEED, 2):
        how = scanning.damage(n)
        print(f"COLLAPARTE_SEED={SEED}: chart {n}, {how}")
        found, right = scan_strokes.seen(pdf, how, n)
        looks.append(found)
        barlines.append(right)
    told, right = likely(np.concatenate(looks)) > 0.5, np.concatenate(barlines)
    assert right.sum() > 20
    # 60 fresh charts measured: 0.999 of 6,340 strokes; one bad scan may be worse.
    assert np.mean(told == right) > 0.9


TO_C = r"""\version "2.24.0"
#(set-global-staff-size 20)
\header {{ title = "Taken Back" tagline = ##f }}
\relative c'' {{ \key {key} \major d4 e f g | a2 a | b4 a g f | e1 \bar "||" {line}
  \key c \major a4 b c d | e2 c | a1 | \repeat volta 2 {{ d4 e f g | a2 a | }} b4 a g f \bar "|." }}
"""


@needs_engraver
@pytest.mark.parametrize(("key", "line"), [("f", ""), ("ees", r"\break")])
def test_naturals_behind_a_double_barline_are_no_repeats_dots(key: str, line: str) -> None:
    """The first flat's natural is on the middle line, its corners in the spaces of a repeat's dots; and a repeat's own
    are one beside a thick stroke (common practice)."""
    pdf = engraved(TO_C.format(key=key, line=line)).pdf
    for n in (3 * SEED, 3 * SEED + 1):
        how = scanning.damage(n, pencil=False)
        print(f"COLLAPARTE_SEED={SEED}: {how}")
        reading = read_part(scanning.scanned(pdf, how, n)[0], scans=True)
        lines = [line for page in reading.pages for system in page.systems for line in system.barlines]
        kinds = [line.kind for line in lines]
        assert BarlineKind.REPEAT_START not in kinds[:5]
        assert BarlineKind.REPEAT_END in kinds


def test_a_stroke_at_the_pages_edge_is_looked_at_beyond_it() -> None:
    bare = np.zeros((60, 120), dtype=np.bool_)
    bare[4:44, 2:4] = True
    stave = ScannedStave((4.0, 14.0, 24.0, 34.0, 44.0), 0.0, 120.0, 10.0, 1.0)
    seen = pictures(Bitmap(packed(bare), 120), [3.0, 118.0], stave)
    assert seen.shape == (2, ROWS * COLUMNS)
    first, last = seen.reshape(2, ROWS, COLUMNS)
    assert first[:, COLUMNS // 2 - 1 : COLUMNS // 2 + 1].sum() > 0.9 * first.sum() > 0
    assert last.sum() == 0
