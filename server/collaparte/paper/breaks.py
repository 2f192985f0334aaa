"""Where lines and pages end: one optimum over both, by dynamic programming over breakpoints.

The total-fit idea is Knuth and Plass's ("Breaking Paragraphs into Lines", Software: Practice and Experience 11, 1981);
as in music setting, a line's head and the height of its ink belong to the edge between two breakpoints.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import ceil
from operator import add
from typing import NamedTuple, Protocol

import numpy as np

GRID = 0.5
"""Distances between lines are rounded up to this (in the heights' unit), so that few heights need be told apart."""
FINEST = 400
"""Into so many steps at most is a page's height told apart when the least cost of the rest is reckoned."""
LIKELY = 1.25, 1.6
"""The best way is first looked for among those that cost so many times the least that any can: mostly it is there."""
SPARSE = 0.4
"""A page emptier than this looks as if something were missing: only a very good turn is worth it."""


class Candidate(Protocol):
    """A line that may be chosen: its own cost, its staves' height, and its ink's reach above and below them."""

    @property
    def cost(self) -> float:
        """Infinite: never worth choosing, though a longer line may be."""

    @property
    def staves(self) -> float: ...

    @property
    def least(self) -> tuple[float, float]:
        """How far its ink reaches above and below at the least: known before it is looked at strip by strip."""

    @property
    def up(self) -> tuple[float, ...]:
        """The reach above, 0 or more, strip by strip."""

    @property
    def down(self) -> tuple[float, ...]: ...

    @property
    def above(self) -> float:
        """The furthest reach above."""

    @property
    def below(self) -> float: ...


@dataclass(frozen=True)
class Line:
    """A line of which all is known."""

    cost: float
    staves: float
    up: tuple[float, ...]
    down: tuple[float, ...]

    @cached_property
    def above(self) -> float:
        return max(self.up)

    @cached_property
    def below(self) -> float:
        return max(self.down)

    @property
    def least(self) -> tuple[float, float]:
        return self.above, self.below


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

    def distance(self, upper: Candidate, lower: Candidate) -> float:
        """From the bottom of the upper line's staves to the top of the lower one's, so that no ink meets."""
        reach: float = max(map(add, upper.down, lower.up))
        return self.apart(reach)

    def apart(self, reach: float) -> float:
        """The distance between two lines' staves whose ink reaches so far towards each other."""
        return ceil(max(self.pitch, reach + self.gap) / GRID - 1e-9) * GRID


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
    line: Callable[[int, int], Candidate | None],
    shape: PageShape,
    turn: Callable[[int], float],
    page_cost: float,
    most_pages: Callable[[int], int] = lambda least: least + (least + 3) // 4,
) -> Choice | None:
    """The cheapest breaks of `n` things. `line(i, j)` is the line of things i..j-1, or None when they do not fit (a
    longer one will not fit either); `turn(j)` >= 0 is the cost of a page turn before thing j; `most_pages`, which never
    falls, is how many pages may be filled where `least` would do. None: nothing fits."""
    search = _Search(n, line, shape, turn, page_cost)
    best = search.run(None)
    if best is None:
        return None
    if best.pages > most_pages(search.fewest_at_best()):
        limit = most_pages(search.fewest())
        if best.pages > limit:
            best = search.run(limit) or best
    return _unwind(best, n)


_made = tuple.__new__
"""Makes a `_Label` of its values at a fifth of the time that naming them takes."""


class _Edge(NamedTuple):
    """A line to thing `end`, with what of it is known before its ink is looked at."""

    end: int
    line: Candidate
    cost: float
    staves: float
    turned: float
    """The least foot of it at the top of a later page."""
    height: float
    """The least that it takes below another line."""
    below: float


class _Search:
    """Follows every way that may yet be the best: its cost so far and the least that the rest can cost say so."""

    def __init__(
        self,
        n: int,
        line: Callable[[int, int], Candidate | None],
        shape: PageShape,
        turn: Callable[[int], float],
        page_cost: float,
    ) -> None:
        self.n, self.shape = n, shape
        self.turning = [0.0] + [page_cost + turn(i) for i in range(1, n)]
        self.starting: list[list[_Edge]] = []
        for i in range(n):
            found: list[_Edge] = []
            for j in range(i + 1, n + 1):
                candidate = line(i, j)
                if candidate is None:
                    break
                if candidate.cost < float("inf"):
                    above, below = candidate.least
                    staves = candidate.staves
                    turned = max(shape.later if i else shape.first, above) + staves
                    height = shape.apart(above) + staves
                    found.append(_Edge(j, candidate, candidate.cost, staves, turned, height, below))
            self.starting.append(found)
        self._distances: dict[tuple[int, int], float] = {}
        self._step = max(GRID, shape.height / FINEST)
        self._rest = self._least_rest()

    def _least_rest(self) -> list[list[float]]:
        """From each breakpoint, by the foot of the line before it in `_step`s: the least that the rest can cost.

        Every line is taken to stand as close to the one before as its own ink allows, and emptiness costs nothing.
        """
        height, step = self.shape.height + 1e-9, self._step
        cells = int(height / step) + 1
        rest: list[np.ndarray[tuple[int], np.dtype[np.float64]]] = [np.zeros(cells)] * (self.n + 1)
        for i in range(self.n - 1, -1, -1):
            least = np.full(cells, np.inf)
            turned = float("inf")
            for edge in self.starting[i]:
                after = rest[edge.end]
                turned = min(turned, edge.cost + float(after[min(int(edge.turned / step), cells - 1)]))
                down = int(edge.height / step)
                fit = min(int((height - edge.below - edge.height) / step) + 1, cells - down)
                if fit > 0:
                    np.minimum(least[:fit], after[down : down + fit] + edge.cost, out=least[:fit])
            rest[i] = np.minimum(least, turned + self.turning[i])
        return [found.tolist() for found in rest]

    def _distance(self, upper: Candidate, lower: Candidate) -> float:
        key = (id(upper), id(lower))
        found = self._distances.get(key)
        if found is None:
            found = self._distances[key] = self.shape.distance(upper, lower)
        return found

    def _turned(self, line: Candidate, first: bool) -> float:
        """The foot of a line at the top of a page; it may stand too low when it is taller than the page."""
        return max(self.shape.first if first else self.shape.later, line.above) + line.staves

    def run(self, limit: int | None) -> _Label | None:
        """The cheapest way to the end, on at most `limit` pages."""
        least = min((edge.cost + self._rest_after(edge.end, edge.turned) for edge in self.starting[0]), default=0.0)
        for more in LIKELY:
            if best := self._within(least * more + 1e-6, limit):
                return best
        return self._within(float("inf"), limit)

    def _rest_after(self, i: int, foot: float) -> float:
        rest = self._rest[i]
        return rest[min(int(foot / self._step), len(rest) - 1)]

    def _within(self, bound: float, limit: int | None) -> _Label | None:
        """The cheapest way, if it costs no more than `bound`: whatever would come to more is not followed."""
        height, step = self.shape.height + 1e-9, self._step
        emptiness, empty, whole = self.shape.emptiness, self.shape.empty, self.shape.height
        ending: list[list[tuple[Candidate | None, list[_Label]]]] = [[] for _ in range(self.n + 1)]
        ending[0] = [(None, [_Label(0.0, 0.0, 0.0, 0, 0, False, None)])]
        for i in range(self.n):
            labels = [label for _, group in ending[i] for label in group]
            if not labels:
                continue
            turning = self.turning[i]
            starts = [min(labels)] if limit is None else labels
            for edge in self.starting[i]:
                j, line, own, staves, rest = edge.end, edge.line, edge.cost, edge.staves, self._rest[edge.end]
                new: list[_Label] = []
                beaten, top, over = float("inf"), 0.0, own + turning
                near = [s for s in starts if s.full + over + self._rest_after(j, edge.turned) <= bound]
                if near:
                    top = self._turned(line, first=i == 0)
                    after = emptiness(top)
                    new = [_Label(s.full + over + after, top, s.full + over, s.pages + 1, i, True, s) for s in near]
                    # A dearer way than turning here is never needed: a new page has more room (unless pages are few).
                    beaten = new[0].full if limit is None else beaten
                deepest, most, away = height - edge.below - edge.height, bound - own, int(edge.height / step)
                for upper, group in ending[i]:
                    if upper is None:
                        continue
                    distance = -1.0
                    for o in group:
                        _, foot, cost, pages, _, _, _ = o
                        if foot > deepest or cost + rest[int(foot / step) + away] > most:
                            continue
                        if distance < 0:
                            distance = self._distance(upper, line) + staves
                            lowest = height - line.below
                        foot += distance
                        cost += own
                        if foot > lowest or (cost >= beaten and foot >= top) or cost + rest[int(foot / step)] > bound:
                            continue
                        # As `emptiness`, in place: this is the innermost loop.
                        share = 1 - foot / whole
                        full = cost + empty * (share * share + (share - SPARSE if share > SPARSE else 0.0))
                        if share <= 0:
                            full = cost
                        if full < beaten or foot < top:
                            new.append(_made(_Label, (full, foot, cost, pages, i, False, o)))
                if new:
                    ending[j].append((line, _best(new, limit)))
        return min((label for _, group in ending[self.n] for label in group), key=lambda x: x.cost, default=None)

    def fewest_at_best(self) -> int:
        """Fewer pages than this will not do: every line as close to the one before as its own ink allows."""
        height = self.shape.height + 1e-9
        best: list[tuple[int, float]] = [(0, float("inf"))] + [(self.n + 1, 0.0)] * self.n
        for i in range(self.n):
            pages, foot = best[i]
            for edge in self.starting[i]:
                here = foot + edge.height
                way = (pages, here) if here + edge.below <= height else (pages + 1, edge.turned)
                best[edge.end] = min(best[edge.end], way)
        return best[self.n][0]

    def fewest(self) -> int:
        """The fewest pages possible: of the ways to one last line, that on fewest pages, then with most room, wins."""
        height = self.shape.height + 1e-9
        ending: list[list[tuple[Candidate | None, int, float]]] = [[] for _ in range(self.n + 1)]
        ending[0] = [(None, 0, 0.0)]
        for i in range(self.n):
            if not ending[i]:
                continue
            pages = min(e[1] for e in ending[i])
            for edge in self.starting[i]:
                line = edge.line
                best = (pages + 1, self._turned(line, first=i == 0))
                for upper, used, foot in ending[i]:
                    if upper is not None:
                        here = foot + self._distance(upper, line) + line.staves
                        if here + line.below <= height:
                            best = min(best, (used, here))
                ending[edge.end].append((line, *best))
        return min(e[1] for e in ending[self.n])


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
