"""Lines that may follow each other: how near they may stand, and the least that what lies ahead can cost.

What was found at a breakpoint, and of all that lies ahead of it, is known again in another order of the same lines.
"""

from array import array
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import islice
from math import ceil
from operator import add
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

GRID = 0.5
"""Distances between lines are rounded up to this (in the heights' unit), so that few heights need be told apart."""
FINEST = 400
"""Into so many steps at most is a page's height told apart when the least cost of the rest is reckoned."""
INFINITE = float("inf")
SPARSE = 0.4
"""A page emptier than this looks as if something were missing: only a very good turn is worth it."""


@dataclass(eq=False)
class Line:
    """A candidate line: its own cost, its staves' height, and its ink's reach above and below them, strip by strip."""

    cost: float
    """Infinite: never worth choosing, though a longer line may be."""
    staves: float
    up: Floats
    down: Floats

    @cached_property
    def above(self) -> float:
        return float(self.up.max())

    @cached_property
    def below(self) -> float:
        return float(self.down.max())


@dataclass(frozen=True, slots=True)
class PageShape:
    """Heights in one unit: the page between its margins, where the first stave stands, and the least clear gap."""

    height: float
    first: float
    """The first stave's top on the first page; on later pages it is `later`."""
    later: float
    gap: float
    pitch: float
    """The least distance from the bottom of one line's staves to the top of the next one's."""
    empty: float = 0.0
    """The weight of emptiness: a page part empty costs by the square of its empty share, and by what of that share is
    more than `SPARSE`; the last page nothing."""
    foot: float = 0.0
    """What stands below the music at the foot of the last page takes so much,"""
    footless: float = 0.0
    """and this is what it costs when there is no room for it."""

    def emptiness(self, foot: float) -> float:
        """The cost of ending a page whose last staves end at `foot`."""
        share = 1 - foot / self.height
        return self.empty * (share * share + max(0.0, share - SPARSE)) if share > 0 else 0.0

    def distance(self, upper: Line, lower: Line) -> float:
        """From the bottom of the upper line's staves to the top of the lower one's, so that no ink meets."""
        reach: float = max(map(add, upper.down.tolist(), lower.up.tolist()))
        return ceil(max(self.pitch, reach + self.gap) / GRID - 1e-9) * GRID

    def distances(self, down: Floats, up: Floats) -> Floats:
        """The same of many pairs: the one's reach below and the other's above, strip by strip in the last axis."""
        reach = (down + up).max(axis=-1)
        apart: Floats = np.ceil(np.maximum(self.pitch, reach + self.gap) / GRID - 1e-9) * GRID
        return apart


class Edge(NamedTuple):
    """A line of `on` things."""

    on: int
    kind: int
    """Lines to one end that are of one kind stand equally far from every line that may follow."""
    cost: float
    top: float
    """Its foot at the top of a page; that may be too low when the line is taller than the page."""
    lowest: float
    """How low its foot may be within a page."""
    away: tuple[float, ...]
    """How much lower its foot is than that of the line before it, by that line's kind."""


class Joint(NamedTuple):
    """A breakpoint: the lines that end there and those that begin."""

    ending: list[Line]
    """Kept, as a joint is known by which lines meet there."""
    kinds: list[int]
    """Of each line that ends there."""
    starting: list[Line]
    reach: list[tuple[float, float]]
    """Of each line that begins there, above and below."""
    away: list[tuple[float, ...]]
    """Of each line that begins there, from each kind to its foot."""


class Ahead(NamedTuple):
    """What lies ahead of a breakpoint: the lines that begin there, and the least that all of it can cost.

    Of that, `rest` is by the kind of the line before it and by that line's foot, in steps: the least of all feet within
    a step.
    """

    edges: list[Edge]
    cells: list[Floats]
    rest: "list[array[float]]"
    """The same as `cells`, quicker to look at one by one."""


class _Known(NamedTuple):
    """For pages of one shape, by the lines (their `id`) that meet at a breakpoint."""

    joints: dict[tuple[object, ...], Joint]
    aheads: dict[tuple[object, ...], Ahead]


Joints = dict[PageShape, _Known]
"""What was found in earlier orders of the same lines."""
ORDERS_KEPT = 3
"""So many orders' worth is kept, some 3 KB a breakpoint."""


def step(shape: PageShape) -> float:
    """How finely the foot of a line is told apart in `Ahead.rest`."""
    return max(GRID, shape.height / FINEST)


def look_ahead(
    n: int,
    lines: Callable[[int], Sequence[Line]],
    end: Callable[[int], float],
    turning: Sequence[float],
    shape: PageShape,
    joints: Joints,
) -> list[Ahead]:
    """What lies ahead of each breakpoint and of the end; as for `breaks.choose`, `turning` with what a page costs."""
    known = joints.setdefault(shape, _Known({}, {}))
    if max(len(known.joints), len(known.aheads)) > ORDERS_KEPT * n:
        known.joints.clear()
        known.aheads.clear()
    starting: list[list[Line]] = []
    places: list[list[tuple[int, int]]] = []
    ending: list[list[Line]] = [[] for _ in range(n + 1)]
    for i in range(n):
        here: list[Line] = []
        there: list[tuple[int, int]] = []
        for on, one in enumerate(lines(i), 1):
            if one.cost < INFINITE:
                there.append((on, len(ending[i + on])))
                here.append(one)
                ending[i + on].append(one)
        starting.append(here)
        places.append(there)
    names: list[tuple[object, ...]] = [(i == 0, *map(id, ending[i]), None, *map(id, starting[i])) for i in range(n)]
    _join(known.joints, {names[i]: (ending[i], starting[i]) for i in range(n) if names[i] not in known.joints}, shape)
    met = [known.joints[name] for name in names]

    empty = _emptiness(shape)
    out = [_ahead([], [np.zeros(len(empty[0]))])] * (n + 1)
    behind: object = end(n)
    for i in range(n - 1, -1, -1):
        # Named by all that stands behind it: what follows a cut is found as it was before it.
        name = (names[i], turning[i], end(i), behind)
        ahead = known.aheads.get(name)
        if ahead is None:
            joint, first, edges = met[i], shape.later if i else shape.first, []
            for at, (on, place) in enumerate(places[i]):
                one, (above, below) = joint.starting[at], joint.reach[at]
                kind = met[i + on].kinds[place] if i + on < n else 0
                top, lowest = max(first, above) + one.staves, shape.height + 1e-9 - below
                cost, away = one.cost + end(i + on), joint.away[at]
                if i + on == n and shape.foot:
                    if top <= lowest - shape.foot:
                        edges.append(Edge(on, kind, cost, top, lowest - shape.foot, away))
                    cost += shape.footless
                edges.append(Edge(on, kind, cost, top, lowest, away))
            kinds = len(joint.away[0]) if joint.away else 0
            ahead = _ahead(edges, _least(edges, out[i:], kinds, turning[i], empty[i > 0], step(shape)))
            known.aheads[name] = ahead
        out[i] = ahead
        behind = id(ahead)
    return out


def reckon(aheads: Sequence[Ahead], turning: Sequence[float], shape: PageShape) -> list[Ahead]:
    """The same where turns cost `turning`."""
    out, empty = list(aheads), _emptiness(shape)
    for i in range(len(turning) - 1, -1, -1):
        edges, kinds = aheads[i].edges, len(aheads[i].rest) if i else 0
        out[i] = _ahead(edges, _least(edges, out[i:], kinds, turning[i], empty[i > 0], step(shape)))
    return out


@lru_cache(maxsize=8)
def _emptiness(shape: PageShape) -> tuple[Floats, Floats]:
    """The least that turning costs by what stays empty of the page, by the step of its foot: at the beginning, where
    there is no page yet, and later."""
    steps = int((shape.height + 1e-9) / step(shape)) + 1
    later = np.array([shape.emptiness((at + 1) * step(shape)) for at in range(steps - 1)] + [0.0])
    return np.zeros(steps), later


def _ahead(edges: list[Edge], least: list[Floats]) -> Ahead:
    return Ahead(edges, least, [array("d", row.tobytes()) for row in least])


def _join(
    known: dict[tuple[object, ...], Joint],
    fresh: dict[tuple[object, ...], tuple[list[Line], list[Line]]],
    shape: PageShape,
) -> None:
    """Find how far apart the lines stand that meet at each of the `fresh` joints, all at once."""
    ended = [one for ending, _ in fresh.values() for one in ending]
    begun = [one for _, starting in fresh.values() for one in starting]
    upper: list[int] = []
    lower: list[int] = []
    over = under = 0
    for ending, starting in fresh.values():
        upper += [place for place in range(over, over + len(ending)) for _ in starting]
        lower += [*range(under, under + len(starting))] * len(ending)
        over, under = over + len(ending), under + len(starting)
    up, down = np.array([one.up for one in begun]), np.array([one.down for one in begun])
    feet = np.array([one.down for one in ended])
    distances = iter(shape.distances(feet[upper], up[lower]).tolist() if upper else ())
    above = up.max(axis=1, initial=0.0).tolist() if begun else ()
    below = down.max(axis=1, initial=0.0).tolist() if begun else ()
    reach = zip(above, below, strict=True)
    for name, (ending, starting) in fresh.items():
        rows: dict[tuple[float, ...], int] = {}
        kinds = [rows.setdefault(tuple(islice(distances, len(starting))), len(rows)) for _ in ending]
        away = [tuple([row[place] + one.staves for row in rows]) for place, one in enumerate(starting)]
        known[name] = Joint(ending, kinds, starting, list(islice(reach, len(starting))), away)


def _least(
    edges: Sequence[Edge], aheads: Sequence[Ahead], kinds: int, turning: float, empty: Floats, step: float
) -> list[Floats]:
    """The least cost of what lies ahead, by the kind of the line before and by the step of its foot."""
    steps, turned = len(empty), INFINITE
    for on, kind, cost, top, _, _ in edges:
        turned = min(turned, cost + aheads[on].rest[kind][min(int(top / step), steps - 1)])
    over = empty + (turned + turning)
    least = [over] + [over.copy() for _ in range(kinds - 1)]
    for on, kind, cost, _, lowest, away in edges:
        # Of a distance that is no whole number of steps, some feet come to the next step.
        behind = aheads[on].cells[kind] + cost
        for row, distance in zip(least, away, strict=False):
            down = int(distance / step)
            fit = int((lowest - distance) / step) + 1
            for reached in (down,) if down * step == distance else (down, down + 1):
                here = min(fit, steps - reached)
                if here > 0:
                    within = row[:here]
                    np.minimum(within, behind[reached : reached + here], out=within)
    return least
