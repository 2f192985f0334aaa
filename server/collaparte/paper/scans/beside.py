"""Whether an upright stroke through a stave is a barline, told by a net from the ink round it.

The weights (`beside.npz`) are made by tests/paper/scan_strokes.py from engraved charts, damaged as scans are. What is
looked at is the page without staff lines, from one and a half spaces over the stave to as many below.
"""

from collections.abc import Sequence

import numpy as np

from collaparte.paper.scans.bits import Bitmap
from collaparte.paper.scans.cells import shares
from collaparte.paper.scans.net import Floats, chances
from collaparte.paper.scans.staves import ScannedStave

ROUND = 1.6
"""So many spaces to the left and right of the stroke are looked at,"""
OVER = 1.5
"""and so many over and under its stave,"""
COLUMNS, ROWS = 16, 35
"""in so many cells."""


def pictures(bare: Bitmap, middles: Sequence[float], stave: ScannedStave) -> Floats:
    """The shares of ink in cells round each stroke, one a row, by the strokes' middles in pixels."""
    space = stave.space
    top, high = round(stave.top - OVER * space), round(4 * space + 2 * OVER * space)
    wide = round(2 * ROUND * space)
    page = np.zeros((high, bare.width + 2 * wide), dtype=np.bool_)
    y0, y1 = max(top, 0), min(top + high, len(bare.bits))
    page[y0 - top : y1 - top, wide:-wide] = bare.rows(y0, y1)
    lefts = [wide + round(x - ROUND * space) for x in middles]
    crops = np.stack([page[:, x : x + wide] for x in lefts]).astype(np.float32)
    out: Floats = (shares(high, ROWS).T @ (crops @ shares(wide, COLUMNS))).reshape(len(lefts), -1)
    return out


def likely(seen: Floats) -> Floats:
    """How likely each stroke, by its picture, is a barline."""
    told: Floats = chances(seen, "beside.npz")[:, 1]
    return told
