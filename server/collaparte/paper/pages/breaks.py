"""Where lines and pages end: one optimum over both, by dynamic programming over breakpoints.

The total-fit idea is Knuth and Plass's ("Breaking Paragraphs into Lines", Software: Practice and Experience 11, 1981);
as in music setting, a line's head and the height of its ink belong to the edge between two breakpoints.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from collaparte.paper.pages.meeting import SPARSE, SPARSER, Ahead, Joints, Line, PageShape, look_ahead, reckon, step

SHARES = 0.1, 0.3, 1.0
"""Of the way from the least that the best can cost to what a good way costs, the search looks so far, one by one,"""
AT_ONCE = 40.0
"""but at once where no more than this is between them: then the good way is mostly the best (716 choices of 80 parts
took half as long as when the search always began near, the longest as well)."""
CLOSE = 1e-6
"""Costs nearer than this are the same."""


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
    best = search.cheapest()
    if best is None:
        return None
    if best.pages > most_pages(1):
        pages, cost = search.fewest()
        limit = most_pages(pages)
        if best.pages > limit:
            within = _on_fewer(search, limit, (best.pages, best.cost), (pages, cost))
            if _in_a_run(within, in_a_run) <= _in_a_run(best, in_a_run):
                best = within
    return _unwind(best, n)


def _on_fewer(search: "_Search", limit: int, many: tuple[int, float], few: tuple[int, float]) -> "_Label":
    """The cheapest way on at most `limit` pages; `many` and `few` are the pages and costs of the cheapest way of all,
    on more pages, and of some way on no more.

    A price on every page makes the free search find it, when the price is right: that at which two ways cost the same,
    until no third costs less (Lagrangian relaxation; H. Everett, "Generalized Lagrange Multiplier Method", Operations
    Research 11, 1963). Where no price gives just so many pages, what lies between the two is searched page by page.
    """
    while True:
        price = (few[1] - many[1]) / (many[0] - few[0])
        dear = search.priced(price)
        found = dear.cheapest(few[1] + price * few[0])
        assert found is not None
        true = found.pages, found.cost - price * found.pages
        if found.pages == limit:
            return found._replace(cost=true[1])
        if found.cost > few[1] + price * few[0] - CLOSE:
            last = dear.within(few[1] + price * limit + CLOSE, limit, price)
            return last._replace(cost=last.cost - price * last.pages)
        if found.pages > limit:
            many = true
        else:
            few = true


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
        self.aheads, self.shape, self.turning = aheads, shape, turning
        self._step = step(shape)
        self._rest = [ahead.rest for ahead in aheads]

    def _at_least(self, i: int, kind: int, foot: float) -> float:
        """The least that the rest from breakpoint i on can cost, below a line of the kind whose foot is there."""
        rest = self._rest[i][kind]
        return rest[min(int(foot / self._step), len(rest) - 1)]

    def priced(self, price: float) -> "_Search":
        """The same where every page costs so much more."""
        turning = [cost + price for cost in self.turning]
        return _Search(reckon(self.aheads, turning, self.shape), self.shape, turning)

    def cheapest(self, bound: float = float("inf")) -> _Label | None:
        """The cheapest way to the end, if it costs no more than `bound`."""
        # Of a bound twice as far from the least that it can cost, a search follows many times the ways: first nearer.
        least, most = self._at_least(0, 0, 0.0), min(self._a_good_way(), bound)
        shares = SHARES[-1:] if most - least <= AT_ONCE else SHARES
        for share in shares if most < float("inf") else ():
            if found := self._within(least + share * (most - least) + CLOSE, None):
                return min(found, key=lambda x: x.cost)
        return None

    def within(self, bound: float, limit: int, price: float) -> _Label:
        """The way on at most `limit` pages that is cheapest without the price of its pages, of those up to `bound`."""
        return min(self._within(bound, limit), key=lambda x: x.cost - price * x.pages)

    def _a_good_way(self) -> float:
        """The cost of the way that takes at every breakpoint what looks best; infinite where nothing fits."""
        at_least = self._at_least
        cost, foot, i, kind = 0.0, 0.0, 0, -1
        while i < self.n:
            turning = cost + self.turning[i] + (self.shape.emptiness(foot) if i else 0.0)
            ways: list[tuple[float, float, float, int, int]] = []
            for edge in self.starting[i]:
                own, own_kind, top = edge.cost, edge.kind, edge.begun.top
                over, j = turning + own, i + edge.on
                ways.append((over + at_least(j, own_kind, top), over, top, j, own_kind))
                if i and (here := foot + edge.begun.away[kind]) <= edge.begun.lowest:
                    within = cost + own
                    ways.append((within + at_least(j, own_kind, here), within, here, j, own_kind))
            if not ways:
                return float("inf")
            _, cost, foot, i, kind = min(ways)
        return cost

    def _within(self, bound: float, limit: int | None) -> list[_Label]:
        """Ways, the cheapest among them, if it costs no more than `bound`: what would come to more is not followed."""
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
                own, own_kind, begun, j = edge.cost, edge.kind, edge.begun, i + edge.on
                top, lowest = begun.top, begun.lowest
                over, after, rest = own + self.turning[i], emptiness(top), self._rest[j][own_kind]
                most = bound - at_least(j, own_kind, top)
                near = [s for s in starts if s.full + over <= most]
                new = [_Label(s.full + over + after, top, s.full + over, s.pages + 1, i, True, s) for s in near]
                # A dearer way than turning here is never needed: a new page has more room (unless pages are limited).
                beaten = new[0].full if new and limit is None else float("inf")
                if i:
                    for kind, group in groups:
                        distance = begun.away[kind]
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
                            more = SPARSER * (share - SPARSE) if share > SPARSE else 0.0
                            full = cost + empty * (share * share + more)
                            if share <= 0:
                                full = cost
                            if full < beaten or foot < top:
                                new.append(_made(_Label, (full, foot, cost, pages, i, False, o)))
                if new:
                    ending[j].setdefault(own_kind, []).extend(new)
        return [label for group in ending[self.n].values() for label in _best(group, limit)]

    def fewest(self) -> tuple[int, float]:
        """The fewest pages possible, and the cost of a way on so many: of the ways to one last line, that on fewest
        pages, then with most room, wins."""
        emptiness = self.shape.emptiness
        ending: list[dict[int, tuple[int, float, float]]] = [{} for _ in range(self.n + 1)]
        ending[0] = {0: (0, self.shape.height, 0.0)}
        for i in range(self.n):
            if not ending[i]:
                continue
            pages = min(used for used, _, _ in ending[i].values())
            over = min(cost + emptiness(foot) for used, foot, cost in ending[i].values() if used == pages)
            over += self.turning[i]
            for edge in self.starting[i]:
                begun = edge.begun
                best = pages + 1, begun.top, over + edge.cost
                for kind, (used, foot, cost) in ending[i].items() if i else ():
                    here = used, foot + begun.away[kind], cost + edge.cost
                    if here < best and here[1] <= begun.lowest:
                        best = here
                there = ending[i + edge.on]
                if edge.kind not in there or best < there[edge.kind]:
                    there[edge.kind] = best
        pages, _, cost = min(ending[self.n].values())
        return pages, cost


def _best(labels: list[_Label], limit: int | None) -> list[_Label]:
    """Only those that no other beats in room left and in cost with the page's emptiness (whose difference between two
    feet only shrinks as lines are added to both); when pages are limited, of those on as many."""
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
        if label.pages <= limit and label.foot < feet.get(label.pages, float("inf")):
            out.append(label)
            feet[label.pages] = label.foot
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
