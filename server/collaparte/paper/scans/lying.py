"""Scanned sheets that lie on their side or their head: staves begin alike, with their clefs, and end in what comes."""

from collections.abc import Sequence

import numpy as np
import pymupdf

from collaparte.paper.scans.bits import WORD, Bitmap, unpacked
from collaparte.paper.scans.joined import Joined
from collaparte.paper.scans.page import Floats
from collaparte.paper.scans.staves import ScannedStave
from collaparte.paper.scans.straight import set_straight
from collaparte.paper.sight import lying

NEAR, FAR = 0.8, 4.0
"""What stands so far from a stave's ends, in spaces, is compared: a clef, hardly a barline;"""
BEYOND = 2.5
"""from so far above the stave to so far below it,"""
CELLS = 4
"""in squares, so many to a space."""
LONG = 20.0
"""Staves longer than this, in spaces, are looked at."""
CLEAR = 0.3
"""An upright page's beginnings are so much more alike than its ends: on 60 scans the least was 0.36;"""
CLEAR_OF_TWO = 0.5
"""with two staves, which a torn one makes unlike, the least was -0.34 of 40 pages, and 34 had more than this."""


def sideways(page: pymupdf.Page) -> int:
    """Degrees, clockwise, that make a scanned page upright that shows no staves as it lies; 0 when none do."""
    lying.turn(page, 90)
    straight = set_straight(page)
    lying.turn(page, -90)
    long = _long(straight.staves) if straight else []
    if straight is None or len(long) < 2:
        return 0
    alike, clear = _beginnings(straight.bare, long) - _ends(straight.bare, long), _clear(long)
    return 90 if alike > clear else 270 if alike < -clear else 0


def on_head(bare: Bitmap, staves: Sequence[ScannedStave], systems: Sequence[Joined]) -> bool:
    """Whether a page's staves end clearly more alike than they begin; a system alone does, whose clefs differ."""
    long = _long(staves)
    if len(long) < 2 or any(len(system.staves) == len(staves) for system in systems):
        return False
    alike = _beginnings(bare, long)
    # Ends are as good as the same at most, so that of most pages they need not be looked at.
    clear = _clear(long)
    return alike < 1 - clear and alike - _ends(bare, long) < -clear


def _clear(long: Sequence[ScannedStave]) -> float:
    return CLEAR if len(long) > 2 else CLEAR_OF_TWO


def _long(staves: Sequence[ScannedStave]) -> list[ScannedStave]:
    return [s for s in staves if s.x1 - s.x0 > LONG * s.space]


def _beginnings(bare: Bitmap, staves: Sequence[ScannedStave]) -> float:
    """How alike the staves begin, -1 to 1."""
    return _likeness([_cells(bare, s, s.x0 + NEAR * s.space) for s in staves])


def _ends(bare: Bitmap, staves: Sequence[ScannedStave]) -> float:
    """How alike the staves end, -1 to 1."""
    return _likeness([_cells(bare, s, s.x1 - FAR * s.space) for s in staves])


def _cells(bare: Bitmap, stave: ScannedStave, x0: float) -> Floats:
    """The ink of each square from `x0` on, less what all have in the mean."""
    step = stave.space / CELLS
    y = np.rint(stave.top + step * np.arange(-BEYOND * CELLS, (4 + BEYOND) * CELLS + 1)).astype(int)
    x = np.rint(x0 + step * np.arange(int((FAR - NEAR) * CELLS) + 1)).astype(int)
    y = np.clip(y, 0, len(bare.bits))
    x = np.clip(x, 0, bare.width)
    word = x[0] // WORD
    words = np.ascontiguousarray(bare.bits[y[0] : y[-1], word : x[-1] // WORD + 1])
    ink = unpacked(words, WORD * words.shape[1])[:, x[0] - WORD * word : x[-1] - WORD * word]
    down, across = (np.minimum(edges[:-1], edges[-1] - 1) - edges[0] for edges in (y, x))
    rows = np.add.reduceat(ink, down, axis=0, dtype=np.intp)
    cells = np.add.reduceat(rows, across, axis=1).ravel()
    return np.asarray(cells - cells.mean(), dtype=np.float64)


def _likeness(places: Sequence[Floats]) -> float:
    """How like each place is to the one it is most like, in the mean: 1 when there are two of each."""
    long = np.array([place / (np.linalg.norm(place) or 1.0) for place in places])
    like = long @ long.T
    np.fill_diagonal(like, -1.0)
    return float(like.max(axis=1).mean())
