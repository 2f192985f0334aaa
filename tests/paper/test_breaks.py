"""Where lines and pages end: against brute force, an independent shortest path, and a published example."""

import random
from collections.abc import Callable
from itertools import combinations, pairwise, takewhile

import networkx
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from collaparte.paper.pages.breaks import Choice, choose
from collaparte.paper.pages.meeting import Joints, Line, PageShape

BEGINNING = (0, -1, 0.0, 0)
ENDLESS = PageShape(height=1e9, first=0.0, later=0.0, gap=0.0, pitch=0.0)


def beginning(line: Callable[[int, int], Line | None], n: int) -> Callable[[int], list[Line]]:
    """The lines that begin with each thing, as `choose` asks for them."""

    def lines(i: int) -> list[Line]:
        return [one for one in takewhile(lambda one: one is not None, (line(i, j) for j in range(i + 1, n + 1))) if one]

    return lines


def words(widths: list[int], width: int) -> tuple[int, list[tuple[int, int]]]:
    """Least sum of squared slacks of lines of words one space apart, as `choose` finds it."""

    def line(i: int, j: int) -> Line | None:
        used = sum(widths[i:j]) + j - i - 1
        return Line(float((width - used) ** 2), 1.0, np.zeros(1), np.zeros(1)) if used <= width else None

    found = choose(len(widths), beginning(line, len(widths)), ENDLESS, lambda _: 0.0, 0.0)
    assert found is not None
    return int(found.cost), [part for page in found.pages for part in page]


def greedy(widths: list[int], width: int) -> int:
    cost, used = 0, -1
    for w in widths:
        if used + 1 + w > width:
            cost, used = cost + (width - used) ** 2, -1
        used += 1 + w
    return cost + (width - used) ** 2


def test_published_example() -> None:
    """The example of the encyclopedia article "Line wrap and word wrap" (Wikipedia): AAA BB CC DDDDD, six wide.

    Its greedy lines cost 17 and its least raggedness 11 (lines AAA / BB CC / DDDDD); here the last line counts too.
    """
    assert greedy([3, 2, 2, 5], 6) == 17
    assert words([3, 2, 2, 5], 6) == (11, [(0, 1), (1, 3), (3, 4)])


@given(st.lists(st.integers(1, 8), min_size=1, max_size=40))
def test_one_page_is_a_shortest_path(widths: list[int]) -> None:
    """Lines only: the same cost as networkx finds by Bellman-Ford over all lines that fit."""
    graph = networkx.DiGraph()
    graph.add_nodes_from(range(len(widths) + 1))
    for i in range(len(widths)):
        for j in range(i + 1, len(widths) + 1):
            used = sum(widths[i:j]) + j - i - 1
            if used <= 12:
                graph.add_edge(i, j, weight=(12 - used) ** 2)
    expected = networkx.shortest_path_length(graph, 0, len(widths), weight="weight", method="bellman-ford")
    assert words(widths, 12)[0] == expected


IN_A_RUN = 40.0
"""The cost of a turn that nobody has time for."""


class Music:
    """A random part: bars with widths and heights of ink, costs of lines and turns."""

    def __init__(self, seed: int, n: int, empty: float) -> None:
        chance = random.Random(seed)
        self.n = n
        self.width = [chance.randint(2, 6) for _ in range(n)]
        self.up = [chance.choice([0.0, 1.0, 2.5, 4.0]) for _ in range(n)]
        self.down = [chance.choice([0.0, 0.5, 1.5, 3.0]) for _ in range(n)]
        self.turns = [chance.choice([0.0, 3.0, 14.0, IN_A_RUN]) for _ in range(n)]
        foot = chance.choice([0.0, 3.0, 7.0])
        self.shape = PageShape(
            height=20.0, first=8.0, later=2.0, gap=1.0, pitch=2.0, empty=empty, foot=foot, footless=9.0 if foot else 0.0
        )

    def line(self, i: int, j: int) -> Line | None:
        used = sum(self.width[i:j])
        if used > 12 and j - i > 1:
            return None
        up = np.array([max(self.up[i:j]), self.up[i]])
        down = np.array([self.down[j - 1], max(self.down[i:j])])
        return Line(float((12 - used) ** 2), 4.0, up, down)

    def cost(
        self, lines: list[tuple[int, int]], turned: tuple[bool, ...], page_cost: float
    ) -> tuple[float, int] | None:
        """Of lines with a page turn before those that `turned` says: cost and pages, None when a page overflows."""
        total, pages, foot, above = 0.0, 0, 0.0, None
        for (i, j), turn in zip(lines, (True, *turned), strict=True):
            line = self.line(i, j)
            if line is None:
                return None
            total += line.cost
            if turn:
                if pages:
                    share = max(0.0, self.shape.height - foot) / self.shape.height
                    sparse = 2 * max(0.0, share - 0.4)
                    total += page_cost + self.turns[i] + self.shape.empty * (share**2 + sparse)
                foot = max(self.shape.later if pages else self.shape.first, line.above) + 4.0
                pages += 1
            else:
                assert above is not None
                foot += self.shape.distance(above, line) + 4.0
                if foot + line.below > self.shape.height:
                    return None
            above = line
        assert above is not None
        total += self.footless(foot, above)
        return total, pages

    def footless(self, foot: float, last: Line) -> float:
        """What it costs that the last line leaves no room for what stands at the page's foot."""
        room = self.shape.height - self.shape.foot - last.below
        return self.shape.footless if foot > room else 0.0

    def runs(self, lines: list[tuple[int, int]], turned: tuple[bool, ...]) -> int:
        """How many turns are in a run."""
        return sum(turn and self.turns[i] == IN_A_RUN for (i, _), turn in zip(lines[1:], turned, strict=True))

    def ways(self, page_cost: float, most: int | None = None) -> networkx.DiGraph:
        """Every way to place the part on at most so many pages: a node is where a line ended, which line that was, how
        low it stands, and on which page if they are counted."""
        graph = networkx.DiGraph()
        waiting: list[tuple[int, int, float, int]] = [BEGINNING]
        known = set(waiting)
        while waiting:
            at = i, start, foot, page = waiting.pop()
            if i == self.n:
                last = self.line(start, i)
                assert last is not None
                graph.add_edge(at, "end", weight=self.footless(foot, last))
            for j in range(i + 1, self.n + 1):
                line = self.line(i, j)
                if line is None:
                    break
                share = max(0.0, 1 - foot / self.shape.height)
                empty = self.shape.empty * (share**2 + 2 * max(0.0, share - 0.4))
                turned = max(self.shape.later if i else self.shape.first, line.above) + 4.0
                steps = {}
                if most is None or page < most:
                    turned_to = page + (most is not None)
                    steps[j, i, turned, turned_to] = line.cost + (page_cost + self.turns[i] + empty if i else 0.0)
                if i:
                    above = self.line(start, i)
                    assert above is not None
                    reach = max(a + b for a, b in zip(above.down, line.up, strict=True)) + self.shape.gap
                    here = foot + np.ceil(2 * max(self.shape.pitch, reach)) / 2 + 4.0
                    if here + line.below <= self.shape.height:
                        steps[j, i, here, page] = min(line.cost, steps.get((j, i, here, page), float("inf")))
                for to, cost in steps.items():
                    graph.add_edge(at, to, weight=cost)
                    if to not in known:
                        known.add(to)
                        waiting.append(to)
        return graph

    def brute(self, page_cost: float) -> list[float]:
        """The least cost over every way to break, on at most 1.25 times the fewest pages; on more where fewer turns
        are in a run then. Where several ways cost the same and it depends on which is taken, both costs."""
        ways: list[tuple[float, int, int]] = []
        for k in range(self.n):
            for cuts in combinations(range(1, self.n), k):
                lines = list(pairwise((0, *cuts, self.n)))
                for mask in range(2 ** (len(lines) - 1)):
                    turned = tuple(bool(mask >> b & 1) for b in range(len(lines) - 1))
                    found = self.cost(lines, turned, page_cost)
                    if found:
                        ways.append((*found, self.runs(lines, turned)))
        fewest = min(pages for _, pages, _ in ways)
        within = _cheapest([way for way in ways if way[1] <= 1.25 * fewest])
        cheapest = _cheapest(ways)
        if any(pages <= 1.25 * fewest for _, pages, _ in cheapest):
            return [cheapest[0][0]]
        found_runs = [(a[2], b[2]) for a in within for b in cheapest]
        costs = [within[0][0]] if any(a <= b for a, b in found_runs) else []
        return costs + ([cheapest[0][0]] if any(a > b for a, b in found_runs) else [])


def _cheapest(ways: list[tuple[float, int, int]]) -> list[tuple[float, int, int]]:
    least = min(cost for cost, _, _ in ways)
    return [way for way in ways if way[0] <= least + 1e-6]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 7), st.sampled_from([0.0, 25.0]), st.sampled_from([0.0, 10.0]))
def test_lines_and_pages_equal_brute_force(seed: int, n: int, empty: float, page_cost: float) -> None:
    music = Music(seed, n, empty)
    found = choose(
        n, beginning(music.line, n), music.shape, lambda j: music.turns[j], page_cost,
        in_a_run=lambda j: music.turns[j] == IN_A_RUN,
    )  # fmt: skip
    assert found is not None
    lines = [line for page in found.pages for line in page]
    turned = tuple(k == 0 for page in found.pages for k in range(len(page)))[1:]
    again = music.cost(lines, turned, page_cost)
    assert again is not None, "a page overflows"
    assert again[0] == pytest.approx(found.cost)
    assert any(found.cost == pytest.approx(cost) for cost in music.brute(page_cost))


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.integers(8, 40), st.sampled_from([0.0, 25.0]), st.sampled_from([0.0, 10.0]))
def test_longer_parts_equal_a_shortest_path(seed: int, n: int, empty: float, page_cost: float) -> None:
    """As cheap as networkx finds by Dijkstra's algorithm over all ways to place lines, on any number of pages."""
    music = Music(seed, n, empty)
    found = choose(
        n, beginning(music.line, n), music.shape, lambda j: music.turns[j], page_cost, most_pages=lambda _: n
    )
    expected = networkx.dijkstra_path_length(music.ways(page_cost), BEGINNING, "end")
    assert found is not None
    assert found.cost == pytest.approx(expected)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.integers(8, 24), st.sampled_from([0.0, 25.0, 300.0]))
@example(730, 30, 0.0)  # no price on pages gives eight of them: a mean of seven and nine is cheaper
def test_on_fewer_pages_equal_a_shortest_path(seed: int, n: int, empty: float) -> None:
    """As cheap as networkx finds by Dijkstra's algorithm over all ways on no more pages, for every number of them."""
    music = Music(seed, n, empty)

    def chosen(most_pages: Callable[[int], int]) -> Choice:
        found = choose(n, beginning(music.line, n), music.shape, lambda j: music.turns[j], 0.0, most_pages=most_pages)
        assert found is not None
        return found

    free, least = chosen(lambda _: n), chosen(lambda least: least)
    for pages in range(len(least.pages), len(free.pages)):
        found = chosen(lambda _, pages=pages: pages)  # type: ignore[misc]
        expected = networkx.dijkstra_path_length(music.ways(0.0, pages), BEGINNING, "end")
        assert len(found.pages) <= pages
        assert found.cost == pytest.approx(expected)


def test_every_thing_once_in_order() -> None:
    music = Music(3, 40, 25.0)
    found = choose(40, beginning(music.line, 40), music.shape, lambda j: music.turns[j], 10.0)
    assert found is not None
    lines = [line for page in found.pages for line in page]
    assert [i for i, _ in lines] == [0, *(j for _, j in lines[:-1])]
    assert lines[-1][1] == 40


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([0.0, 25.0]))
def test_what_was_found_in_one_order_serves_in_another(seed: int, empty: float) -> None:
    """Whole, with things cut out, and whole again: as if each had been chosen without the others."""
    chance, known, lines = random.Random(seed), Joints(), {}
    whole = Music(seed, 30, empty)

    def choice(kept: list[int], joints: Joints | None) -> Choice | None:
        music = Music(seed, len(kept), empty)
        for own in ("width", "up", "down", "turns"):
            setattr(music, own, [getattr(whole, own)[n] for n in kept])

        def line(i: int, j: int) -> Line | None:
            # Known by its identity, as the fitter keeps its lines.
            return lines.setdefault(tuple(kept[i:j]), music.line(i, j))

        return choose(len(kept), beginning(line, len(kept)), music.shape, lambda j: music.turns[j], 10.0, joints=joints)

    for _ in range(4):
        a, b = sorted(chance.sample(range(31), 2))
        for kept in (list(range(30)), [*range(a), *range(b, 30)]):
            if kept:
                assert choice(kept, known) == choice(kept, None)
