"""Lines that may follow each other: how near they may stand, and the least that what lies ahead can cost.

What was found at a breakpoint, and of all that lies ahead of it, is known again in another order of the same lines.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice
from math import ceil
from operator import add
from typing import NamedTuple, TypeVar

import msgspec
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

GRID = 0.5
"""Distances between lines are rounded up to this (in the heights' unit), so that few heights need be told apart."""
FINEST = 400
"""Into so many steps at most is a page's height told apart when the least cost of the rest is reckoned."""
INFINITE = float("inf")
SPARSE = 0.4
"""A page emptier than this looks as if something were missing: only a very good turn is worth it,"""
SPARSER = 2.0
"""so that what is more than this share counts so much beside the square of all."""


class Line(msgspec.Struct, eq=False):
    """A candidate line: its own cost, its staves' height, and its ink's reach above and below them, strip by strip."""

    cost: float
    """Infinite: never worth choosing, though a longer line may be."""
    staves: float
    up: Floats
    down: Floats

    @property
    def above(self) -> float:
        return float(self.up.max())

    @property
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
    """The weight of emptiness: a page part empty costs by the square of its empty share, and `SPARSER` times what of
    that share is more than `SPARSE`; the last page nothing."""
    foot: float = 0.0
    """What stands below the music at the foot of the last page takes so much,"""
    footless: float = 0.0
    """and this is what it costs when there is no room for it."""
    title: float = 0.0
    """The first page's title takes so much, with the white under it: no ink of the first line reaches higher."""

    def emptiness(self, foot: float) -> float:
        """The cost of ending a page whose last staves end at `foot`."""
        share = 1 - foot / self.height
        more = SPARSER * (share - SPARSE) if share > SPARSE else 0.0
        return self.empty * (share * share + more) if share > 0 else 0.0

    def distance(self, upper: Line, lower: Line) -> float:
        """From the bottom of the upper line's staves to the top of the lower one's, so that no ink meets."""
        reach: float = max(map(add, upper.down.tolist(), lower.up.tolist()))
        return ceil(max(self.pitch, reach + self.gap) / GRID - 1e-9) * GRID

    def distances(self, reach: Floats) -> Floats:
        """The same of many pairs, whose ink together reaches so far at most."""
        apart: Floats = np.ceil(np.maximum(self.pitch, reach + self.gap) / GRID - 1e-9) * GRID
        return apart


class Begun(msgspec.Struct, frozen=True):
    """A line that begins at a breakpoint, as what stands before it sees it."""

    top: float
    """Its foot at the top of a page; that may be too low when the line is taller than the page."""
    lowest: float
    """How low its foot may be within a page."""
    away: tuple[float, ...]
    """How much lower its foot is than that of the line before it, by that line's kind."""
    slides: "list[Slide]"
    """By that kind: feet of the line before, from 0 on, to feet of this line."""
    at_top: int
    """The step of `top`."""


Slide = tuple[tuple[int, int], ...]
"""From which step on, and how many steps. Of a distance that is no whole number of steps some feet come to the next
step, so that there are two."""


class Edge(msgspec.Struct, frozen=True):
    """A line of `on` things."""

    on: int
    kind: int
    """Lines to one end that are of one kind stand equally far from every line that may follow."""
    cost: float
    begun: Begun


class Joint(msgspec.Struct, eq=False):
    """A breakpoint: the lines that end there and those that begin."""

    kinds: list[int]
    """Of each line that ends there."""
    begun: list[Begun]


class Ahead(msgspec.Struct, eq=False):
    """What lies ahead of a breakpoint: the lines that begin there, and the least that all of it can cost.

    Of that, `rest` is by the kind of the line before it and by that line's foot, in steps: the least of all feet within
    a step.
    """

    edges: list[Edge]
    cells: list[Floats]
    rest: list[memoryview]
    """The same as `cells`, quicker to look at one by one."""


class _Known(NamedTuple):
    """For pages of one shape, the last used last: by the lines that meet at a breakpoint, and by all that is behind."""

    joints: dict[tuple[object, ...], Joint]
    aheads: dict[tuple[object, ...], Ahead]


Joints = dict[PageShape, _Known]
"""What was found in earlier orders of the same lines."""
KEPT = 500
"""Of so many breakpoints at least what was found last is kept, some 3 KB each: a long part in a few orders."""


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
    starting: list[list[tuple[int, int, Line]]] = []
    ending: list[list[Line]] = [[] for _ in range(n + 1)]
    names: list[tuple[object, ...]] = []
    for i in range(n):
        here: list[tuple[int, int, Line]] = []
        for j, one in enumerate(lines(i), i + 1):
            if one.cost < INFINITE:
                here.append((j, len(ending[j]), one))
                ending[j].append(one)
        starting.append(here)
        # All lines that end at i are found by now.
        names.append((i == 0, *ending[i], None, *[one for _, _, one in here]))
    fresh = {name: (ending[i], starting[i]) for i, name in enumerate(names) if name not in known.joints}
    _join(known.joints, {name: (above, [one for _, _, one in below]) for name, (above, below) in fresh.items()}, shape)
    met = [known.joints[name] for name in names]
    _keep(known.joints, dict(zip(names, met, strict=True)))

    empty, fine = _emptiness(shape), step(shape)
    steps = len(empty[0])
    out = [_ahead([], [np.zeros(steps)])] * (n + 1)
    used: dict[tuple[object, ...], Ahead] = {}
    ends = [end(i) for i in range(n + 1)]
    kinds = [*(joint.kinds for joint in met), [0] * len(ending[n])]
    behind: object = ends[n]
    for i in range(n - 1, -1, -1):
        # Named by all that stands behind it: what follows a cut is found as it was before it.
        name = (met[i], turning[i], ends[i], behind)
        ahead = known.aheads.get(name)
        if ahead is None:
            edges = []
            for (j, place, one), begun in zip(starting[i], met[i].begun, strict=True):
                cost = one.cost + ends[j]
                if j == n and shape.foot:
                    lowest = begun.lowest - shape.foot
                    if begun.top <= lowest:
                        edges.append(Edge(j - i, 0, cost, _begun(begun.top, lowest, begun.away, fine, steps)))
                    cost += shape.footless
                edges.append(Edge(j - i, kinds[j][place], cost, begun))
            ahead = _ahead(edges, _least(edges, out, i, turning[i], empty[i > 0]))
        used[name] = out[i] = behind = ahead
    _keep(known.aheads, used)
    return out


_Found = TypeVar("_Found", Joint, Ahead)


def _keep(known: dict[tuple[object, ...], _Found], used: dict[tuple[object, ...], _Found]) -> None:
    """Make what was used the last to be forgotten, and forget what is too much."""
    for name in used:
        known.pop(name, None)
    for name in list(islice(known, max(len(known) + len(used) - KEPT, 0))):
        del known[name]
    known.update(used)


def reckon(aheads: Sequence[Ahead], turning: Sequence[float], shape: PageShape) -> list[Ahead]:
    """The same where turns cost `turning`."""
    out, empty = list(aheads), _emptiness(shape)
    for i in range(len(turning) - 1, -1, -1):
        edges = aheads[i].edges
        out[i] = _ahead(edges, _least(edges, out, i, turning[i], empty[i > 0]))
    return out


@lru_cache(maxsize=8)
def _emptiness(shape: PageShape) -> tuple[Floats, Floats]:
    """The least that turning costs by what stays empty of the page, by the step of its foot: at the beginning, where
    there is no page yet, and later."""
    steps = int((shape.height + 1e-9) / step(shape)) + 1
    later = np.array([shape.emptiness((at + 1) * step(shape)) for at in range(steps - 1)] + [0.0])
    return np.zeros(steps), later


def _ahead(edges: list[Edge], least: list[Floats]) -> Ahead:
    return Ahead(edges, least, [row.data for row in least])


def _join(
    known: dict[tuple[object, ...], Joint],
    fresh: dict[tuple[object, ...], tuple[list[Line], list[Line]]],
    shape: PageShape,
) -> None:
    """Find how far apart the lines stand that meet at each of the `fresh` joints, all at once."""
    every = list(dict.fromkeys(one for pair in fresh.values() for those in pair for one in those))
    if not every:
        known.update((name, Joint([], [])) for name in fresh)
        return
    places = {one: place for place, one in enumerate(every)}
    upper: list[int] = []
    lower: list[int] = []
    for ending, starting in fresh.values():
        under = [places[one] for one in starting]
        for one in ending:
            upper += [places[one]] * len(under)
            lower += under
    up, down = np.array([one.up for one in every]).T, np.array([one.down for one in every]).T
    reach = down.take(upper, axis=1)
    reach += up.take(lower, axis=1)
    distances = shape.distances(reach.max(axis=0, initial=0.0)).tolist()
    above, below = up.max(axis=0, initial=0.0).tolist(), down.max(axis=0, initial=0.0).tolist()
    fine, steps = step(shape), len(_emptiness(shape)[0])
    at = 0
    for name, (ending, starting) in fresh.items():
        rows: dict[tuple[float, ...], int] = {}
        kinds: list[int] = []
        for _ in ending:
            kinds.append(rows.setdefault(tuple(distances[at : at + len(starting)]), len(rows)))
            at += len(starting)
        first, title = (shape.first, shape.title) if name[0] else (shape.later, 0.0)
        begun: list[Begun] = []
        aways = zip(*rows, strict=True) if rows else ((),) * len(starting)
        for one, apart in zip(starting, aways, strict=True):
            place, staves = places[one], one.staves
            away = tuple([distance + staves for distance in apart])
            highest = above[place] + title
            top = (first if first > highest else highest) + staves
            begun.append(_begun(top, shape.height + 1e-9 - below[place], away, fine, steps))
        known[name] = Joint(kinds, begun)


def _begun(top: float, lowest: float, away: tuple[float, ...], fine: float, steps: int) -> Begun:
    """Where the page's height is told apart in `steps`, each so `fine`."""
    slides: list[Slide] = []
    for distance in away:
        down, fit = int(distance / fine), int((lowest - distance) / fine) + 1
        if fit <= 0 or down >= steps:  # of a damaged page, further off than any glass is high
            slides.append(())
        elif down * fine == distance:
            slides.append(((down, min(fit, steps - down)),))
        else:
            slides.append(((down, min(fit, steps - down)), (down + 1, min(fit, steps - down - 1))))
    return Begun(top, lowest, away, slides, min(int(top / fine), steps - 1))


def _least(edges: Sequence[Edge], aheads: Sequence[Ahead], i: int, turning: float, empty: Floats) -> list[Floats]:
    """The least cost of what lies ahead of breakpoint i, by the kind of the line before and by the step of its foot."""
    turned = min([e.cost + aheads[i + e.on].rest[e.kind][e.begun.at_top] for e in edges], default=INFINITE)
    over = empty + (turned + turning)
    kinds = len(edges[0].begun.away) if edges else 1
    least = [over, *[over.copy() for _ in range(kinds - 1)]]
    behind = np.empty_like(empty)
    for edge in edges:
        np.add(aheads[i + edge.on].cells[edge.kind], edge.cost, out=behind)
        for row, slide in zip(least, edge.begun.slides, strict=False):
            for start, here in slide:
                within = row[:here]
                np.minimum(within, behind[start : start + here], out=within)
    return least
