"""Where lines and pages end: one optimum over both, by dynamic programming over breakpoints.

The total-fit idea is Knuth and Plass's ("Breaking Paragraphs into Lines", Software: Practice and Experience 11, 1981);
as in music setting, a line's head and the height of its ink belong to the edge between two breakpoints.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import ceil
from operator import add
from typing import NamedTuple

GRID = 0.5
"""Distances between lines are rounded up to this (in the heights' unit), so that few heights need be told apart."""
SPARSE = 0.4
"""A page emptier than this looks as if something were missing: only a very good turn is worth it."""


@dataclass(frozen=True)
class Line:
    """A candidate line: its own cost, its staves' height, and its ink's reach above and below them, strip by strip."""

    cost: float
    """Infinite: never worth choosing, though a longer line may be."""
    staves: float
    up: tuple[float, ...]
    down: tuple[float, ...]

    @cached_property
    def above(self) -> float:
        return max(self.up)

    @cached_property
    def below(self) -> float:
        return max(self.down)


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
        reach: float = max(map(add, upper.down, lower.up))
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
    line: Callable[[int, int], Line | None],
    shape: PageShape,
    turn: Callable[[int], float],
    page_cost: float,
    most_pages: Callable[[int], int] = lambda least: least + (least + 3) // 4,
) -> Choice | None:
    """The cheapest breaks of `n` things. `line(i, j)` is the line of things i..j-1, or None when they do not fit (a
    longer one will not fit either); `turn(j)` >= 0 is the cost of a page turn before thing j. None: nothing fits."""
    search = _Search(n, line, shape, turn, page_cost)
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


class _Search:
    def __init__(
        self,
        n: int,
        line: Callable[[int, int], Line | None],
        shape: PageShape,
        turn: Callable[[int], float],
        page_cost: float,
    ) -> None:
        self.n, self.shape, self.page_cost = n, shape, page_cost
        self.turns = [0.0] + [turn(i) for i in range(1, n)]
        self.starting: list[list[tuple[int, Line]]] = []
        for i in range(n):
            found: list[tuple[int, Line]] = []
            for j in range(i + 1, n + 1):
                candidate = line(i, j)
                if candidate is None:
                    break
                if candidate.cost < float("inf"):
                    found.append((j, candidate))
            self.starting.append(found)
        self._distances: dict[tuple[int, int], float] = {}

    def _distance(self, upper: Line, lower: Line) -> float:
        key = (id(upper), id(lower))
        found = self._distances.get(key)
        if found is None:
            found = self._distances[key] = self.shape.distance(upper, lower)
        return found

    def _turned(self, line: Line, first: bool) -> float:
        """The foot of a line at the top of a page; it may stand too low when it is taller than the page."""
        return max(self.shape.first if first else self.shape.later, line.above) + line.staves

    def run(self, limit: int | None) -> _Label | None:
        """The cheapest way to the end, on at most `limit` pages."""
        height = self.shape.height + 1e-9
        ending: list[list[tuple[Line | None, list[_Label]]]] = [[] for _ in range(self.n + 1)]
        ending[0] = [(None, [_Label(0.0, 0.0, 0.0, 0, 0, False, None)])]
        for i in range(self.n):
            labels = [label for _, group in ending[i] for label in group]
            if not labels:
                continue
            turning = self.page_cost + self.turns[i] if i else 0.0
            cheapest = min(labels)
            starts = [cheapest] if limit is None else labels
            emptiness, empty, whole = self.shape.emptiness, self.shape.empty, self.shape.height
            alike = self._alike(ending[i], i, limit)
            for place, (j, line) in enumerate(self.starting[i]):
                top = self._turned(line, first=i == 0)
                over, after = line.cost + turning, emptiness(top)
                new = [_Label(s.full + over + after, top, s.full + over, s.pages + 1, i, True, s) for s in starts]
                # A dearer way than turning here is never needed: a new page has more room (unless pages are limited).
                beaten = new[0].full if limit is None else float("inf")
                lowest, own, staves = height - line.below, line.cost, line.staves
                for distances, group in alike:
                    away = distances[place] + staves
                    for o in group:
                        _, foot, cost, pages, _, _, _ = o
                        foot += away
                        cost += own
                        if foot > lowest or (cost >= beaten and foot >= top):
                            continue
                        # As `emptiness`, in place: this is the innermost loop.
                        share = 1 - foot / whole
                        full = cost + empty * (share * share + (share - SPARSE if share > SPARSE else 0.0))
                        if share <= 0:
                            full = cost
                        if full < beaten or foot < top:
                            new.append(_made(_Label, (full, foot, cost, pages, i, False, o)))
                ending[j].append((line, _best(new, limit)))
        return min((label for _, group in ending[self.n] for label in group), key=lambda x: x.cost, default=None)

    def _alike(
        self, ending: list[tuple[Line | None, list[_Label]]], i: int, limit: int | None
    ) -> list[tuple[tuple[float, ...], list[_Label]]]:
        """The labels of lines that stand equally far from every line that may follow, together: few of them remain."""
        groups: dict[tuple[float, ...], list[_Label]] = {}
        for upper, labels in ending:
            if upper is not None:
                key = tuple([self._distance(upper, line) for _, line in self.starting[i]])
                groups.setdefault(key, []).extend(labels)
        return [(key, _best(labels, limit)) for key, labels in groups.items()]

    def fewest(self) -> int:
        """The fewest pages possible: of the ways to one last line, that on fewest pages, then with most room, wins."""
        height = self.shape.height + 1e-9
        ending: list[list[tuple[Line | None, int, float]]] = [[] for _ in range(self.n + 1)]
        ending[0] = [(None, 0, 0.0)]
        for i in range(self.n):
            if not ending[i]:
                continue
            pages = min(e[1] for e in ending[i])
            for j, line in self.starting[i]:
                best = (pages + 1, self._turned(line, first=i == 0))
                for upper, used, foot in ending[i]:
                    if upper is not None:
                        here = foot + self._distance(upper, line) + line.staves
                        if here + line.below <= height:
                            best = min(best, (used, here))
                ending[j].append((line, *best))
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
