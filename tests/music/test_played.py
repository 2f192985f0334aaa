"""What edits leave of an order, and the laws that make them safe to send in any order."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.music.form import written_order
from collaparte.music.played import Played, evaluate
from collaparte.wire.chart import Chart
from collaparte.wire.edits import Cut, Edit
from music.charts import chart, places, run_length
from music.test_form import any_chart

REPEATED = chart(12, starts=[3], ends={8: 2}, endings=[((1,), 7, 8), ((2,), 9, 9)])
"""1-2, then 3-6 with endings 7-8 and 9, then 10-12: 1-8 3-6 9-12."""
DAL_SEGNO = chart(12, signs=[("segno", 3), ("to-coda", 6), ("ds-al-coda", 9), ("coda", 10)])
"""1-9 3-6 10-12."""


def played(of: Chart, *cuts: tuple[int, int | None] | tuple[int, int | None, tuple[int, ...]]) -> Played:
    edits = [
        Edit(str(n), "t", Cut(f"b{first}", f"b{until}" if until else None, passes[0] if passes else ()))
        for n, (first, until, *passes) in enumerate(cuts)
    ]
    return evaluate(written_order(of), (bar.id for bar in of.bars), edits)


@pytest.mark.parametrize(
    ("of", "cuts", "expected"),
    [
        (chart(8), [(3, 6)], "1-2 6-8"),
        (chart(8), [(3, 6), (5, 7)], "1-2 7-8"),
        (chart(8), [(5, None)], "1-4"),
        # First bar up to, not including, the other: whatever comes between, at every time through.
        (REPEATED, [(4, 6)], "1-3 6-8 3 6 9-12"),
        # The repeat goes round the cut: what stands before it is played both times.
        (REPEATED, [(5, 10)], "1-4 3-4 10-12"),
        (REPEATED, [(4, 6, (2,))], "1-8 3 6 9-12"),
        # "Second time" is said of the cut's first bar; the second ending within it is that bar's first time.
        (REPEATED, [(5, 10, (2,))], "1-8 3-4 10-12"),
        (DAL_SEGNO, [(5, 8)], "1-4 8-9 3-4 10-12"),
        (DAL_SEGNO, [(3, 10, (2,))], "1-12"),
        # Up to a bar that stands earlier in print: on to where it next comes.
        (DAL_SEGNO, [(8, 3)], "1-7 3-6 10-12"),
        (DAL_SEGNO, [(5, None, (2,))], "1-9 3-4"),
    ],
)
def test_cut(of: Chart, cuts: list[tuple[int, int | None]], expected: str) -> None:
    assert run_length(places(played(of, *cuts).steps())) == expected


def test_ranges_are_positions_of_the_written_order() -> None:
    assert played(REPEATED, (4, 6)).cut == ((3, 4), (9, 10))
    assert played(REPEATED, (4, 6), (6, 7)).cut == ((3, 5), (9, 11))


def test_an_edit_that_names_chairs_or_unknown_bars_leaves_the_order_alone() -> None:
    of = chart(8)
    edits = [
        Edit("1", "t", Cut("b3", "b6"), chairs=("alto",)),
        Edit("2", "t", Cut("x", "b6")),
        Edit("3", "t", Cut("b2", "x")),
    ]
    assert evaluate(written_order(of), (bar.id for bar in of.bars), edits).cut == ()


@st.composite
def chart_and_edits(draw: st.DrawFn) -> tuple[Chart, list[Edit]]:
    of = draw(any_chart())
    bar = st.sampled_from([bar.id for bar in of.bars])
    cut = st.builds(Cut, bar, st.none() | bar, st.lists(st.integers(1, 3), max_size=2).map(tuple))
    cuts = draw(st.lists(cut, max_size=5))
    return of, [Edit(str(n), "t", what) for n, what in enumerate(cuts)]


@given(chart_and_edits(), st.randoms())
def test_any_order_of_arrival_gives_the_same(case: tuple[Chart, list[Edit]], rng: Random) -> None:
    of, edits = case
    bars, written = [bar.id for bar in of.bars], written_order(of)
    shuffled = edits + edits[:2]
    rng.shuffle(shuffled)
    assert evaluate(written, bars, shuffled) == evaluate(written, bars, edits)


@given(chart_and_edits())
def test_taking_one_back_restores_exactly_what_it_alone_left_out(case: tuple[Chart, list[Edit]]) -> None:
    of, edits = case
    bars, written = [bar.id for bar in of.bars], written_order(of)
    for n, edit in enumerate(edits):
        others = edits[:n] + edits[n + 1 :]
        without = evaluate(written, bars, others)
        assert without.left_out() == evaluate(written, bars, edits).left_out() - (
            evaluate(written, bars, [edit]).left_out() - without.left_out()
        )
    assert evaluate(written, bars, []).steps() == written.steps


@given(chart_and_edits())
def test_no_edit_invents_or_moves_a_bar(case: tuple[Chart, list[Edit]]) -> None:
    of, edits = case
    written = written_order(of)
    now = evaluate(written, [bar.id for bar in of.bars], edits)
    rest = iter(written.steps)
    assert all(step in rest for step in now.steps())
    assert sorted(now.positions() + list(now.left_out())) == list(range(len(written.steps)))
