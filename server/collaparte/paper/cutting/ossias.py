"""Ossias: what stands in a small stave over or under another goes with that one's system, each bar's with its bar."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from collaparte.paper.cutting.items import Item, Role, bar_at, union
from collaparte.paper.reading import Box, PageReading, System

OSSIA = ("ossia",)
"""The style of its staff lines."""
LINES = 5
LONG = 4.0
"""Its lines are no shorter, in spaces of the system's staves,"""
SMALL = (0.4, 0.95)
"""and so far apart at least and at most."""
CLEF = 6.0
"""Its clef stands at most so many of those left of its first barline."""


@dataclass(slots=True)
class Small:
    """A small stave's box, its lines, and the system and the stave it stands at."""

    box: Box
    lines: list[Item]
    system: int
    stave: int


def ossias(items: Sequence[Item], read: PageReading) -> None:
    """Give the ink of small staves its system; what hangs together with that follows."""
    for small in _staves(items, read):
        system = read.systems[small.system]
        x0, y0, x1, y1 = small.box
        first = next((bar for bar in system.bars if bar.x0 > x0), None)
        leads = first is not None and first.x0 - x0 < CLEF * system.space and first is not system.bars[0]
        for item in items:
            if item.role is Role.DROPPED or item.system >= 0 or item.box[3] < y0 or item.box[1] > y1:
                continue
            middle = (item.box[0] + item.box[2]) / 2
            if not x0 - system.space < middle < x1 + system.space:
                continue
            item.system, item.pointed = small.system, small.stave
            if leads and first is not None and middle < first.x0 and item.role is not Role.THROUGH:
                item.bar = bar_at(system.bars, first.x0)
            elif middle > x1 - system.space / 2 and item.role is not Role.THROUGH:  # the barline that closes it
                item.bar = bar_at(system.bars, x1 - system.space)
        for line in small.lines:
            line.style = OSSIA


def _staves(items: Sequence[Item], read: PageReading) -> Iterator[Small]:
    alike: dict[tuple[int, int], list[Item]] = defaultdict(list)
    for item in items:
        if item.role is Role.THROUGH and item.style[:1] == ("line",) and item.system < 0:
            alike[round(item.box[0]), round(item.box[2])].append(item)
    for row in alike.values():
        row.sort(key=lambda i: i.box[1])
        for n in range(len(row) - LINES + 1):
            lines = row[n : n + LINES]
            box = union(i.box for i in lines)
            system, stave = _nearest(box, read.systems)
            sp = read.systems[system].space
            apart = [b.box[1] - a.box[1] for a, b in pairwise(lines)]
            even = max(apart) - min(apart) < 0.1 * sp
            if even and SMALL[0] * sp < apart[0] < SMALL[1] * sp and box[2] - box[0] > LONG * sp:
                yield Small(box, lines, system, stave)
                break


def _nearest(box: Box, systems: Sequence[System]) -> tuple[int, int]:
    """The system and its stave that a box is nearest to."""
    away = [
        (max(stave.top - box[3], box[1] - stave.bottom), n, k)
        for n, system in enumerate(systems)
        for k, stave in enumerate(system.staves)
    ]
    return min(away)[1:]
