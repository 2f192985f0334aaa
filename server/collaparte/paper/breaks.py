"""Where lines and pages end: one optimum over both, by dynamic programming over breakpoints.

The total-fit idea is Knuth and Plass's ("Breaking Paragraphs into Lines", Software: Practice and Experience 11, 1981);
as in music setting, a line's head and the height of its ink belong to the edge between two breakpoints.
"""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Line:
    """A candidate line: its own cost, its staves' height, and its ink's reach above and below them, strip by strip."""

    cost: float
    """Infinite: never worth choosing, though a longer line may be."""
    staves: float
    up: tuple[float, ...]
    down: tuple[float, ...]

    @property
    def above(self) -> float:
        return max(self.up)

    @property
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

    def distance(self, upper: Line, lower: Line) -> float:
        """From the bottom of the upper line's staves to the top of the lower one's, so that no ink meets."""
        return max(self.pitch, max(map(float.__add__, upper.down, lower.up)) + self.gap)


@dataclass(frozen=True, slots=True)
class Choice:
    """The chosen breaks: for each page, for each of its lines, the first and the last-plus-one step; and the cost."""

    pages: tuple[tuple[tuple[int, int], ...], ...]
    cost: float


@dataclass(slots=True)
class _Label:
    cost: float
    foot: float
    """The bottom of the last line's staves on this page."""
    pages: int
    start: int
    line: Line | None
    back: "_Label | None"
    turned: bool


def choose(
    n: int,
    line: Callable[[int, int], Line | None],
    shape: PageShape,
    turn: Callable[[int], float],
    page_cost: float,
    most_pages: Callable[[int], int] = lambda least: least + (least + 3) // 4,
) -> Choice | None:
    """The cheapest breaks of `n` things. `line(i, j)` is the line of things i..j-1, or None when they do not fit (a longer
    one will not fit either); `turn(j)` is the cost of turning the page before thing j. None when nothing fits."""
    best = _search(n, line, shape, turn, page_cost, None)
    if best is None:
        return None
    if best.pages <= most_pages(1):
        return _unwind(best, n)
    fewest = _search(n, line, shape, lambda _j: 0.0, 1e6, None)
    if fewest is not None and best.pages > most_pages(fewest.pages):
        limited = _search(n, line, shape, turn, page_cost, most_pages(fewest.pages))
        best = limited or best
    return _unwind(best, n)


def _search(
    n: int, line: Callable[[int, int], Line | None], shape: PageShape, turn: Callable[[int], float],
    page_cost: float, limit: int | None,
) -> _Label | None:  # fmt: skip
    labels: list[list[_Label]] = [[] for _ in range(n + 1)]
    labels[0] = [_Label(0.0, 0.0, 0, 0, None, None, False)]
    distances: dict[tuple[int, int], float] = {}
    for i in range(n):
        if not labels[i]:
            continue
        turning = turn(i) if i else 0.0
        for j in range(i + 1, n + 1):
            candidate = line(i, j)
            if candidate is None:
                break
            if candidate.cost == float("inf"):
                continue
            for label in labels[i]:
                away = 0.0
                if label.line is not None:
                    key = (id(label.line), id(candidate))
                    away = distances[key] if key in distances else distances.setdefault(key, shape.distance(label.line, candidate))
                for new in _placed(label, candidate, shape, i, away, turning, page_cost):
                    if limit is None or new.pages <= limit:
                        _keep(labels[j], new, limit is not None)
    return min(labels[n], key=lambda x: x.cost, default=None)


def _placed(
    label: _Label, line: Line, shape: PageShape, i: int, away: float, turning: float, page_cost: float
) -> list[_Label]:
    """The line on the same page, where it fits, and on a new one."""
    out: list[_Label] = []
    if label.pages:
        foot = label.foot + away + line.staves
        if foot + line.below <= shape.height + 1e-9:
            out.append(_Label(label.cost + line.cost, foot, label.pages, i, line, label, False))
    first = shape.first if not label.pages else shape.later
    foot = max(first, line.above) + line.staves
    if foot + line.below <= shape.height + 1e-9 or not out:
        cost = label.cost + line.cost + (page_cost + turning if label.pages else 0.0)
        out.append(_Label(cost, foot, label.pages + 1, i, line, label, True))
    return out


def _keep(kept: list[_Label], new: _Label, by_page: bool) -> None:
    """Keep only labels that no other with the same last line beats in cost and in room left (and in pages, if limited)."""
    for old in kept:
        if old.line is new.line and old.cost <= new.cost and old.foot <= new.foot and (not by_page or old.pages <= new.pages):
            return
    kept[:] = [
        old for old in kept
        if not (old.line is new.line and new.cost <= old.cost and new.foot <= old.foot and (not by_page or new.pages <= old.pages))
    ]  # fmt: skip
    kept.append(new)


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
