"""Where lines and pages end: one optimum over both, by dynamic programming over breakpoints.

The total-fit idea is Knuth and Plass's ("Breaking Paragraphs into Lines", Software: Practice and Experience 11, 1981);
as in music setting, a line's head and the height of its ink belong to the edge between two breakpoints.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
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
SPARSE = 0.4
"""A page emptier than this looks as if something were missing: only a very good turn is worth it."""


@dataclass(frozen=True)
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


@dataclass(frozen=True, slots=True)
class Choice:
    """The chosen breaks: for each page, for each of its lines, the first and the last-plus-one step; and the cost."""

    pages: tuple[tuple[tuple[int, int], ...], ...]
    cost: float


class _Label(NamedTuple):
    """A way to have placed everything up to a breakpoint, its last line standing with its foot at `foot`."""

    full: float
    """The cost with that of what stays empty on the page, should it be turned here."""
    foot: float
    cost: float
    pages: int
    start: int
    turned: bool
    back: "_Label | None"


def choose(
    n: int,
    line: Callable[[int, int], Line | None],
    shape: PageShape,
    turn: Callable[[int], float],
    page_cost: float,
    most_pages: Callable[[int], int] = lambda least: least + (least + 3) // 4,
    end: Callable[[int], float] = lambda _: 0.0,
) -> Choice | None:
    """The cheapest breaks of `n` things. `line(i, j)` is the line of things i..j-1, or None when they do not fit (a
    longer one will not fit either); `turn(j)` and `end(j)`, 0 or more, are the costs of a page turn and of a line's end
    before thing j; `most_pages`, which never falls, is how many pages may be filled where `least` would do. None:
    nothing fits."""
    search = _Search(_edges(n, line, end, shape), shape, [0.0] + [page_cost + turn(i) for i in range(1, n)])
    best = search.run(None)
    if best is None:
        return None
    if best.pages > most_pages(1):
        limit = most_pages(search.fewest())
        if best.pages > limit:
            best = search.run(limit) or best
    return _unwind(best, n)


_made = tuple.__new__
"""Makes a `_Label` of its values at a fifth of the time that naming them takes."""


class _Edge(NamedTuple):
    """A line from one thing to thing `end`."""

    end: int
    kind: int
    """Lines to one end that are of one kind stand equally far from every line that may follow."""
    cost: float
    top: float
    """Its foot at the top of a page; that may be too low when the line is taller than the page."""
    lowest: float
    """How low its foot may be within a page."""
    away: tuple[float, ...]
    """How much lower its foot is than that of the line before it, by that line's kind."""


def _edges(
    n: int, line: Callable[[int, int], Line | None], end: Callable[[int], float], shape: PageShape
) -> list[list[_Edge]]:
    """From each thing, the lines that are worth choosing."""
    lines: list[Line] = []
    ends: list[int] = []
    starting: list[range] = []
    arriving: list[list[int]] = [[] for _ in range(n + 1)]
    for i in range(n):
        for j in range(i + 1, n + 1):
            candidate = line(i, j)
            if candidate is None:
                break
            if candidate.cost < float("inf"):
                arriving[j].append(len(lines))
                lines.append(candidate)
                ends.append(j)
        starting.append(range(starting[-1].stop if starting else 0, len(lines)))
    if not lines:
        return [[] for _ in range(n)]
    up, down = np.array([one.up for one in lines]), np.array([one.down for one in lines])
    upper = [a for i in range(n) for a in arriving[i] for _ in starting[i]]
    lower = [b for i in range(n) for _ in arriving[i] for b in starting[i]]
    distances = iter(shape.distances(down[upper], up[lower]).tolist())
    above, below = up.max(axis=1).tolist(), down.max(axis=1).tolist()
    kinds, rows = [0] * len(lines), []
    for i in range(n):
        known: dict[tuple[float, ...], int] = {}
        for a in arriving[i]:
            kinds[a] = known.setdefault(tuple(islice(distances, len(starting[i]))), len(known))
        rows.append(known)

    def edge(i: int, place: int, b: int) -> _Edge:
        staves = lines[b].staves
        top = max(shape.later if i else shape.first, above[b]) + staves
        away = tuple([row[place] + staves for row in rows[i]])
        return _Edge(ends[b], kinds[b], lines[b].cost + end(ends[b]), top, shape.height + 1e-9 - below[b], away)

    return [[edge(i, place, b) for place, b in enumerate(starting[i])] for i in range(n)]


class _Search:
    """Follows every way that may yet be the best: its cost so far and the least that the rest can cost say so."""

    def __init__(self, starting: list[list[_Edge]], shape: PageShape, turning: list[float]) -> None:
        self.n, self.starting = len(starting), starting
        self.shape, self.turning = shape, turning
        self._step = max(GRID, shape.height / FINEST)
        self._rest = self._least_rest()

    def _least_rest(self) -> list[list[float]]:
        """From each breakpoint, by the foot of the line before it in `_step`s: the least that the rest can cost.

        Every line is taken to stand as close to the one before as any there lets it, and emptiness to cost nothing.
        """
        step = self._step
        cells = int((self.shape.height + 1e-9) / step) + 1
        arrays, lists = [np.zeros(cells)] * (self.n + 1), [[0.0] * cells] * (self.n + 1)
        for i in range(self.n - 1, -1, -1):
            least, turned = np.full(cells, np.inf), float("inf")
            for end, _, cost, top, lowest, away in self.starting[i]:
                turned = min(turned, cost + lists[end][min(int(top / step), cells - 1)])
                if away:
                    nearest = min(away)
                    down = int(nearest / step)
                    fit = min(int((lowest - nearest) / step) + 1, cells - down)
                    if fit > 0:
                        within = least[:fit]
                        np.minimum(within, arrays[end][down : down + fit] + cost, out=within)
            np.minimum(least, turned + self.turning[i], out=least)
            arrays[i], lists[i] = least, least.tolist()
        return lists

    def _at_least(self, i: int, foot: float) -> float:
        """The least that the rest from breakpoint i on can cost, below a line whose foot is there."""
        rest = self._rest[i]
        return rest[min(int(foot / self._step), len(rest) - 1)]

    def run(self, limit: int | None) -> _Label | None:
        """The cheapest way to the end, on at most `limit` pages."""
        bound, pages = self._a_good_way()
        return self._within(bound + 1e-6 if limit is None or pages <= limit else float("inf"), limit)

    def _a_good_way(self) -> tuple[float, int]:
        """Cost and pages of the way that takes at every breakpoint what looks best; infinite where nothing fits."""
        at_least = self._at_least
        cost, foot, i, pages, kind = 0.0, 0.0, 0, 0, -1
        while i < self.n:
            turning = cost + self.turning[i] + (self.shape.emptiness(foot) if pages else 0.0)
            ways: list[tuple[float, float, float, int, int, int]] = []
            for edge in self.starting[i]:
                over = turning + edge.cost
                ways.append((over + at_least(edge.end, edge.top), over, edge.top, edge.end, edge.kind, 1))
                if pages and foot + edge.away[kind] <= edge.lowest:
                    within, here = cost + edge.cost, foot + edge.away[kind]
                    ways.append((within + at_least(edge.end, here), within, here, edge.end, edge.kind, 0))
            if not ways:
                return float("inf"), 0
            _, cost, foot, i, kind, turned = min(ways)
            pages += turned
        return cost, pages

    def _within(self, bound: float, limit: int | None) -> _Label | None:
        """The cheapest way, if it costs no more than `bound`: whatever would come to more is not followed."""
        step, at_least = self._step, self._at_least
        emptiness, empty, whole = self.shape.emptiness, self.shape.empty, self.shape.height
        ending: list[dict[int, list[_Label]]] = [{} for _ in range(self.n + 1)]
        ending[0] = {0: [_Label(0.0, 0.0, 0.0, 0, 0, False, None)]}
        for i in range(self.n):
            groups = [(kind, _best(labels, limit)) for kind, labels in ending[i].items()]
            if not groups:
                continue
            labels = [label for _, group in groups for label in group]
            starts = [min(labels)] if limit is None else labels
            for edge in self.starting[i]:
                j, _, own, top, lowest, away = edge
                over, after, rest = own + self.turning[i], emptiness(top), self._rest[j]
                most = bound - at_least(j, top)
                near = [s for s in starts if s.full + over <= most]
                new = [_Label(s.full + over + after, top, s.full + over, s.pages + 1, i, True, s) for s in near]
                # A dearer way than turning here is never needed: a new page has more room (unless pages are limited).
                beaten = new[0].full if new and limit is None else float("inf")
                if i:
                    for kind, group in groups:
                        distance = away[kind]
                        for o in group:
                            _, foot, cost, pages, _, _, _ = o
                            foot += distance
                            cost += own
                            if (
                                foot > lowest
                                or (cost >= beaten and foot >= top)
                                or cost + rest[int(foot / step)] > bound
                            ):
                                continue
                            # As `emptiness`, in place: this is the innermost loop.
                            share = 1 - foot / whole
                            full = cost + empty * (share * share + (share - SPARSE if share > SPARSE else 0.0))
                            if share <= 0:
                                full = cost
                            if full < beaten or foot < top:
                                new.append(_made(_Label, (full, foot, cost, pages, i, False, o)))
                if new:
                    ending[j].setdefault(edge.kind, []).extend(new)
        last = [label for group in ending[self.n].values() for label in _best(group, limit)]
        return min(last, key=lambda x: x.cost, default=None)

    def fewest(self) -> int:
        """The fewest pages possible: of the ways to one last line, that on fewest pages, then with most room, wins."""
        ending: list[dict[int, tuple[int, float]]] = [{} for _ in range(self.n + 1)]
        ending[0] = {0: (0, 0.0)}
        for i in range(self.n):
            if not ending[i]:
                continue
            pages = min(used for used, _ in ending[i].values())
            for edge in self.starting[i]:
                ways = [(pages + 1, edge.top)]
                if i:
                    here = [(used, foot + edge.away[kind]) for kind, (used, foot) in ending[i].items()]
                    ways += [way for way in here if way[1] <= edge.lowest]
                best = min(ways)
                ending[edge.end][edge.kind] = min(best, ending[edge.end].get(edge.kind, best))
        return min(used for used, _ in ending[self.n].values())


def _best(labels: list[_Label], limit: int | None) -> list[_Label]:
    """Only those that no other beats in room left and in cost with the page's emptiness (whose difference between two
    feet only shrinks as lines are added to both); and in pages, when they are limited."""
    labels.sort()
    out: list[_Label] = []
    if limit is None:
        lowest = float("inf")
        for label in labels:
            if label.foot < lowest:
                out.append(label)
                lowest = label.foot
        return out
    feet: dict[int, float] = {}
    for label in labels:
        if label.pages <= limit and all(label.foot < foot for pages, foot in feet.items() if pages <= label.pages):
            out.append(label)
            feet[label.pages] = min(label.foot, feet.get(label.pages, float("inf")))
    return out


def _unwind(last: _Label, n: int) -> Choice:
    pages: list[list[tuple[int, int]]] = []
    end = n
    label: _Label | None = last
    page: list[tuple[int, int]] = []
    while label is not None and label.back is not None:
        page.append((label.start, end))
        end = label.start
        if label.turned:
            pages.append(page[::-1])
            page = []
        label = label.back
    return Choice(tuple(tuple(p) for p in pages[::-1]), last.cost)
