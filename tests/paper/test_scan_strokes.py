"""Upright strokes on scans told by the ink round them, on charts engraved and damaged afresh.

`COLLAPARTE_SEED=n pytest tests/paper/test_scan_strokes.py` engraves and damages the same again.
"""

import numpy as np
import pytest

import engraving
import scanning
from collaparte.paper.scans.beside import COLUMNS, ROWS, likely, pictures
from collaparte.paper.scans.bits import Bitmap, packed
from collaparte.paper.scans.staves import ScannedStave
from paper import scan_strokes
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


def test_a_stroke_at_the_pages_edge_is_looked_at_beyond_it() -> None:
    bare = np.zeros((60, 120), dtype=np.bool_)
    bare[4:44, 2:4] = True
    stave = ScannedStave((4.0, 14.0, 24.0, 34.0, 44.0), 0.0, 120.0, 10.0, 1.0)
    seen = pictures(Bitmap(packed(bare), 120), [3.0, 118.0], stave)
    assert seen.shape == (2, ROWS * COLUMNS)
    first, last = seen.reshape(2, ROWS, COLUMNS)
    assert first[:, COLUMNS // 2 - 1 : COLUMNS // 2 + 1].sum() > 0.9 * first.sum() > 0
    assert last.sum() == 0
