"""Where lines and pages end: one optimum over both, by dynamic programming over breakpoints.

The total-fit idea is Knuth and Plass's ("Breaking Paragraphs into Lines", Software: Practice and Experience 11, 1981);
as in music setting, a line's head and the height of its ink belong to the edge between two breakpoints.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from collaparte.paper.pages.meeting import SPARSE, Ahead, Joints, Line, PageShape, look_ahead, step


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
    lines: Callable[[int], Sequence[Line]],
    shape: PageShape,
    turn: Callable[[int], float],
    page_cost: float,
    most_pages: Callable[[int], int] = lambda least: 5 * least // 4,
    end: Callable[[int], float] = lambda _: 0.0,
    joints: Joints | None = None,
    in_a_run: Callable[[int], bool] = lambda _: False,
) -> Choice | None:
    """The cheapest breaks of `n` things. `lines(i)` are the lines that begin with thing i: of it alone, of two things,
    and so on while they fit; `turn(j)` and `end(j)`, 0 or more, are the costs of a page turn and of a line's end
    before thing j; `most_pages`, which never falls, is how many pages may be filled where `least` would do; more only
    where fewer turns are then `in_a_run`, so that nobody has time for them. `joints` are of the same lines, and spare
    what an earlier choice has found. None: nothing fits."""
    turning = [0.0] + [page_cost + turn(i) for i in range(1, n)]
    aheads = look_ahead(n, lines, end, turning, shape, {} if joints is None else joints)
    search = _Search(aheads, shape, turning)
    best = search.run(None)
    if best is None:
        return None
    if best.pages > most_pages(1):
        limit = most_pages(search.fewest())
        if best.pages > limit:
            within = search.run(limit)
            if within is not None and _in_a_run(within, in_a_run) <= _in_a_run(best, in_a_run):
                best = within
    return _unwind(best, n)


def _in_a_run(last: _Label, in_a_run: Callable[[int], bool]) -> int:
    """How many of its turns are in a run."""
    count, label = 0, last
    while label.back is not None:
        count += label.turned and label.start > 0 and in_a_run(label.start)
        label = label.back
    return count


_made = tuple.__new__
"""Makes a `_Label` of its values at a fifth of the time that naming them takes."""


class _Search:
    """Follows every way that may yet be the best: its cost so far and the least that the rest can cost say so."""

    def __init__(self, aheads: list[Ahead], shape: PageShape, turning: list[float]) -> None:
        self.n = len(aheads) - 1
        self.starting = [ahead.edges for ahead in aheads]
        self.shape, self.turning = shape, turning
        self._step = step(shape)
        self._rest = [ahead.rest for ahead in aheads]

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
                ways.append((over + at_least(i + edge.on, edge.top), over, edge.top, i + edge.on, edge.kind, 1))
                if pages and foot + edge.away[kind] <= edge.lowest:
                    within, here = cost + edge.cost, foot + edge.away[kind]
                    ways.append((within + at_least(i + edge.on, here), within, here, i + edge.on, edge.kind, 0))
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
            for on, own_kind, own, top, lowest, away in self.starting[i]:
                j = i + on
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
                    ending[j].setdefault(own_kind, []).extend(new)
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
                there = ending[i + edge.on]
                there[edge.kind] = min(best, there.get(edge.kind, best))
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
