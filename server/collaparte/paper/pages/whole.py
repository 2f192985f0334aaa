"""The bars of a system that is laid whole: where each stands on its line, and which the order leaves out. Pure."""

from collections.abc import Sequence
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from collaparte.paper.cutting.table import PieceTable
from collaparte.paper.pages.laying import LaidBar
from collaparte.paper.pages.shown import Shown

MARGIN = 4.0
"""Room in spaces for the bar number left of a stave; what stands farther off is dust."""
ALIKE = 1.1
"""Lines of a part that are no more than so many times as wide as the middle one stand at one size."""


class Place(NamedTuple):
    """How a system laid whole stands on a line: its scale, and how far its piece begins from the line's left (spaces of
    its own)."""

    scale: float
    left: float


def whole_place(table: PieceTable, shown: Shown, width: float) -> Place:
    """Where a system stands on a line of `width` spaces, never enlarged: those of a part stand at one size, and their
    staves, where the pieces have their origin, begin one below the other."""
    extents = {bar.whole: table.extents[bar.whole] for bar in table.bars if bar.whole >= 0}
    inset = max(min(-e.left, MARGIN) for e in extents.values())
    wide = {piece: max(inset, -e.left) + e.right for piece, e in extents.items()}
    usual = ALIKE * median(wide.values())
    alike = max((w for w in wide.values() if w <= usual), default=0.0)
    piece = shown.bar.whole
    return Place(min(1.0, width / max(wide[piece], alike)), max(inset + extents[piece].left, 0.0))


def whole_reach(table: PieceTable, shown: Shown, width: float, staves: float) -> tuple[float, float]:
    """How far the ink of such a line reaches above the place of its first stave and below that of its last, `staves`
    spaces from top to bottom."""
    e, scale = table.extents[shown.bar.whole], whole_place(table, shown, width).scale
    return max(-e.top * scale - 2.0, 0.0), max(e.bottom * scale + 2.0 - staves, 0.0)


class WholeBars(NamedTuple):
    """The bars to mark and land at, and left and right of those that are not played, in mm."""

    bars: tuple[LaidBar, ...]
    left_out: tuple[tuple[float, float], ...]


def whole_bars(shown: Shown, left: float, space: float, staves: tuple[float, ...]) -> WholeBars:
    """The bars of a whole system whose piece begins at `left` mm; `space`: mm of its staff space.

    One bar for all, where it is not known where they stand or the order repeats some within the line.
    """
    cut = shown.bar
    forwards = all(one[1] < two[1] for one, two in pairwise(shown.played))
    if not cut.within or not forwards:
        right = round(left + cut.width * space, 2)
        return WholeBars((LaidBar((shown.first, shown.last), round(left, 2), right, staves),), ())
    bars: list[LaidBar] = []
    out: list[tuple[float, float]] = []
    for own in cut.within:
        steps = [step for step, bar in shown.played if own.index <= bar < own.index + max(1, own.count)]
        x0, x1 = round(left + own.left * space, 2), round(left + own.right * space, 2)
        if steps:
            bars.append(LaidBar((steps[0], steps[-1]), x0, x1, staves))
        else:
            out.append((x0, x1))
    return WholeBars(tuple(bars), _joined(out, space))


def _joined(stretches: Sequence[tuple[float, float]], near: float) -> tuple[tuple[float, float], ...]:
    """Stretches with no more than a barline between them as one."""
    joined: list[tuple[float, float]] = []
    for x0, x1 in stretches:
        if joined and x0 - joined[-1][1] <= near:
            joined[-1] = (joined[-1][0], x1)
        else:
            joined.append((x0, x1))
    return tuple(joined)
