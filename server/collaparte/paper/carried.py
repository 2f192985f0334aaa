"""Bars of one reading of a page found again in another reading of it: by where they stand, not by their numbers."""

from collections.abc import Callable, Sequence

from collaparte.paper.reading import BarBox, Reading, System
from collaparte.wire.chart import BarId

SAME = 1.5
"""Staff spaces within which two bars begin at the same barline."""


Source = tuple[Reading, Sequence[BarId | None]]
"""A reading and the ids of its bars: `ids[i]` is that of bar index i+1."""


def carried(sources: Sequence[Source], after: Reading, mint: Callable[[], BarId]) -> tuple[BarId, ...]:
    """The ids of the bars of `after`, in document order: those that the bars there have in the first source that has.

    A bar that begins where none began, and one that goes beyond a rest's old count, gets a new id.
    """
    out: list[BarId | None] = [None] * after.positions
    taken: set[BarId] = set()
    for before, ids in sources:
        for page, system in _systems(after):
            olds = [bar for n, old in _systems(before) if n == page and _beside(old, system) for bar in old.bars]
            for bar in system.bars:
                old = None if bar.continued else _begins_with(bar, olds, SAME * system.space)
                for n in range(min(bar.count, old.count) if old else 0):
                    at = old.index - 1 + n if old else 0
                    id = ids[at] if at < len(ids) else None
                    if id is not None and id not in taken and out[bar.index - 1 + n] is None:
                        out[bar.index - 1 + n] = id
                        taken.add(id)
    return tuple(id if id is not None else mint() for id in out)


def _systems(reading: Reading) -> list[tuple[int, System]]:
    return [(n, system) for n, page in enumerate(reading.pages) for system in page.systems]


def _beside(one: System, other: System) -> bool:
    return min(one.bbox[3], other.bbox[3]) > max(one.bbox[1], other.bbox[1])


def _begins_with(bar: BarBox, olds: Sequence[BarBox], reach: float) -> BarBox | None:
    near = [old for old in olds if not old.continued and abs(old.x0 - bar.x0) <= reach]
    return min(near, key=lambda old: abs(old.x0 - bar.x0), default=None)
