"""The names of a score's staves, before its first line."""

from collections.abc import Sequence

from collaparte.paper.cutting.table import Name, PieceTable
from collaparte.paper.pages.laying import Placed, Slice

MOST, LEAST = 11.0, 0.55
"""Names wider than so many spaces are set smaller, down to so much of their printed size."""
BEFORE = 0.8
"""The white between a name and its stave or its bracket, in spaces."""


def indent(table: PieceTable, staves: int) -> float:
    """By how much the first line is shorter for its names, in spaces."""
    wide = _widest(table, _shown(table, staves))
    return wide * _size(wide) + BEFORE if wide else 0.0


def before_line(table: PieceTable, middles: Sequence[float], left: float, space: float) -> list[Placed]:
    """The names, from `left` on, right before the line whose staves' middle lines are there (mm)."""
    shown = _shown(table, len(middles))
    wide = _widest(table, shown)
    unit = round(space * _size(wide), 4)
    right = left + wide * unit
    out = []
    for name in shown:
        e, y = table.extents[name.piece], (middles[name.first] + middles[name.last]) / 2
        cut = Slice(e.left, e.right, round(right + e.left * unit, 3), round(right + e.right * unit, 3))
        out.append(Placed(name.piece, round(y, 3), unit, (cut,)))
    return out


def _shown(table: PieceTable, staves: int) -> Sequence[Name]:
    """They are those of the staves of the part's first line."""
    return table.names if table.bars and len(table.bars[0].main) == staves else ()


def _widest(table: PieceTable, names: Sequence[Name]) -> float:
    return max((-table.extents[name.piece].left for name in names), default=0.0)


def _size(wide: float) -> float:
    return min(1.0, max(MOST / wide, LEAST)) if wide else 1.0
