"""What edits leave of an order, and the laws that make them safe to send in any order."""

import json
from pathlib import Path
from random import Random
from typing import Any

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collaparte.music.form import written_order
from collaparte.music.played import Played, evaluate
from collaparte.wire.chart import Chart
from collaparte.wire.edits import Cut, Edit, GoTo, Open, Pickup, PlayTimes, Signs, Tacet
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


VAMP = chart(20, starts=[3], ends={6: 3})
"""1-2, 3-6 three times, 7-20."""


@pytest.mark.parametrize(
    ("of", "what", "expected"),
    [
        # The stretch's own repeat: its rounds are counted.
        (VAMP, PlayTimes("b3", "b7", times=5), "1-6 3-6 3-6 3-6 3-20"),
        (VAMP, PlayTimes("b3", "b7", times=2), "1-6 3-20"),
        (REPEATED, PlayTimes("b3", "b10", times=3), "1-8 3-8 3-6 9-12"),
        # It goes on behind the repeat, which is a part of it.
        (VAMP, PlayTimes("b3", "b13", times=2), "1-6 3-6 3-12 3-6 3-6 3-20"),
        (VAMP, PlayTimes("b3", "b13", times=1), "1-20"),
        (chart(20, starts=[3], ends={6: 2}, endings=[((1,), 6, 6), ((2,), 7, 7)]), PlayTimes("b3", "b15", times=2),
         "1-6 3-5 7-14 3-6 3-5 7-20"),
        # A bracket is often over the last ending's first bar only.
        (chart(20, starts=[3], ends={6: 2}, endings=[((1,), 6, 6), ((2,), 7, 7)]), PlayTimes("b3", "b9", times=3),
         "1-6 3-6 3-5 7-20"),
    ],
)  # fmt: skip
def test_a_stretch_is_played_whole_or_as_the_repeat_that_it_is(of: Chart, what: PlayTimes, expected: str) -> None:
    now = evaluate(written_order(of), (bar.id for bar in of.bars), [Edit("e", "t", what)])
    assert run_length(places(now.steps())) == expected


def test_an_open_stretch_goes_round_as_far_as_it_was_said() -> None:
    now = evaluate(written_order(VAMP), (bar.id for bar in VAMP.bars), [Edit("e", "t", Open("b3", "b13"))])
    assert [(one.first, one.last) for one in now.again] == [(2, 19)], "3-6 three times and 7-12"
    now = evaluate(written_order(VAMP), (bar.id for bar in VAMP.bars), [Edit("e", "t", Open("b3", "b7"))])
    assert [(one.first, one.last) for one in now.again] == [(6, 9)], "its own repeat, the last but one of its rounds"


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


unhurried = settings(suppress_health_check=[HealthCheck.too_slow])
"""Charts with edits take long to draw on a busy machine; how long says nothing about the laws."""
CASES = json.loads((Path(__file__).parent.parent / "vectors" / "orders.json").read_text("utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_the_cases_that_hub_and_stand_share(case: dict[str, Any]) -> None:
    """Orders worked out by hand; the stand works the laid bars out of the same views (tests/tablet)."""
    form = case["chart"]
    of = chart(
        form["bars"],
        starts=form["starts"],
        ends={int(bar): times for bar, times in form["ends"].items()},
        endings=[(tuple(passes), first, last) for passes, first, last in form["endings"]],
        signs=[(kind, bar) for kind, bar in form["signs"]],
    )
    edits = [
        msgspec.convert({"id": f"e{n}", "tune": "t", "what": what, "made": n}, Edit)
        for n, what in enumerate(case["edits"], start=1)
    ]
    now = evaluate(written_order(of), [bar.id for bar in of.bars], edits)
    laid = now.laid()
    assert run_length(places(now.written)) == case["written"]
    assert run_length(places(now.steps())) == case["played"]
    assert run_length(places(now.written[one.position] for one in laid)) == case["page"]
    starts = [[n, one.starts] for n, one in enumerate(laid, start=1) if one.starts is not None]
    assert starts + [[n, "end"] for n, one in enumerate(laid, start=1) if one.ends] == case["signs"]
    assert [one.edit for one in now.held_off] == case["waits"]
    assert [[one.position, one.after, one.nth] for one in laid] == case["laid"]
    view = case["view"]
    assert [list(span) for span in now.cut] == view["cut"]
    assert [[a.first, a.last, a.more, a.times, a.signs, a.edit] for a in now.again] == view["again"]
    assert [[fold.first, fold.last, fold.by] for fold in now.folds] == view["folds"]
    assert [[p, p] for p in now.pickups] == [one for some in view["pickups"] for one in some["ranges"]]


@st.composite
def chart_and_edits(draw: st.DrawFn, *, only_cuts: bool = False) -> tuple[Chart, list[Edit]]:
    of = draw(any_chart())
    bar = st.sampled_from([bar.id for bar in of.bars])
    passes = st.lists(st.integers(1, 3), max_size=2).map(tuple)
    what: st.SearchStrategy[Any] = st.builds(Cut, bar, st.none() | bar, passes)
    if not only_cuts:
        what |= st.builds(PlayTimes, bar, st.none() | bar, passes, times=st.integers(1, 5))
        what |= st.builds(Open, bar, st.none() | bar, passes) | st.builds(Tacet, bar, st.none() | bar, passes)
        what |= st.builds(GoTo, bar, bar, passes) | st.builds(Pickup, bar)
        what |= st.builds(Signs, st.sampled_from(["repeats", "jumps"]))
    edit = st.tuples(what, st.integers(0, 3))
    made = draw(st.lists(edit, max_size=4))
    return of, [Edit(str(n), "t", one, made=when) for n, (one, when) in enumerate(made)]


@given(st.integers(2, 12), st.integers(0, 7), st.booleans(), st.integers(1, 20), st.integers(1, 20))
def test_a_reader_who_goes_by_the_repeat_signs_plays_what_is_played(
    begins: int, more: int, has_first: bool, out: int, until: int
) -> None:
    """Common practice: a repeat's end leads back to the sign that faces it, else to the beginning."""
    ends = begins + more
    endings = [((1,), ends, ends), ((2,), ends + 1, ends + 1)] if has_first and more else []
    of = chart(21, starts=[begins], ends={ends: 2}, endings=endings)
    first, after = sorted((out, until + 1))
    now = evaluate(written_order(of), [bar.id for bar in of.bars], [Edit("1", "t", Cut(f"b{first}", f"b{after}"))])
    page = [(int(now.written[one.position].bar[1:]), one) for one in now.laid()]
    heard: list[int] = []
    back, at, time = 0, 0, 1
    while at < len(page):
        bar, one = page[at]
        if one.starts is not None or (one.kept and bar == begins):
            back = at
        if not (endings and one.kept and bar == ends and time == 2):
            heard.append(bar)
        goes_back = (one.ends or (one.kept and bar == ends)) and time == 1
        at, time = (back, 2) if goes_back else (at + 1, time)
    assert [f"b{bar}" for bar in heard] == [step.bar for step in now.steps()]


@unhurried
@given(chart_and_edits(), st.randoms())
def test_any_order_of_arrival_gives_the_same(case: tuple[Chart, list[Edit]], rng: Random) -> None:
    of, edits = case
    bars, written = [bar.id for bar in of.bars], written_order(of)
    shuffled = edits + edits[:2]
    rng.shuffle(shuffled)
    assert evaluate(written, bars, shuffled) == evaluate(written, bars, edits)


@unhurried
@given(chart_and_edits(only_cuts=True))
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


@unhurried
@given(chart_and_edits())
def test_no_edit_invents_a_bar(case: tuple[Chart, list[Edit]]) -> None:
    of, edits = case
    written = written_order(of)
    now = evaluate(written, [bar.id for bar in of.bars], edits)
    assert sorted(now.positions() + list(now.left_out())) == list(range(len(written.steps)))
    assert set(now.steps()) <= {written.steps[position] for position in now.positions()}
    # What an edit holds off has no part in the order: it is as if it were not there.
    waiting = {one.edit for one in now.held_off}
    again = evaluate(written, [bar.id for bar in of.bars], [edit for edit in edits if edit.id not in waiting])
    assert (again.cut, again.again, again.folds) == (now.cut, now.again, now.folds)


def test_what_waits_leaves_nothing_out() -> None:
    """A "go to" leads on at one time and back at another; where it waits for a later edit it does neither. "Once only"
    of a stretch whose last time is cut waits, too: else nothing of it would be played."""
    da_capo = chart(2, signs=[("dc", 2)])
    edits = [Edit("0", "t", GoTo("b2", "b1")), Edit("1", "t", PlayTimes("b1", None, times=3), made=1)]
    now = evaluate(written_order(da_capo), [bar.id for bar in da_capo.bars], edits)
    assert (now.cut, [one.edit for one in now.held_off]) == ((), ["0"])
    edits = [Edit("0", "t", PlayTimes("b3", "b7", times=1)), Edit("1", "t", Cut("b3", "b7", (3,)), made=1)]
    now = evaluate(written_order(VAMP), [bar.id for bar in VAMP.bars], edits)
    assert run_length(places(now.steps())) == "1-6 3-20"
    assert [one.edit for one in now.held_off] == ["0"]


LONG_FIRST = chart(14, starts=[2], ends={10: 2, 11: 2}, endings=[((1,), 9, 10), ((2,), 11, 11), ((3,), 12, 12)])
"""1-8 with a first ending of two bars, 9-10, and two of one: nine bars are written out, eight stand between signs."""


@pytest.mark.parametrize(
    ("of", "first", "until", "times", "short", "signs"),
    [
        (REPEATED, 3, 10, 4, 8, [(3, 4)]),
        (REPEATED, 3, 10, 4, 0, []),
        # The first round is written out, the second stands between signs: those are for two rounds, not for four.
        (LONG_FIRST, 2, 13, 4, 8, [(2, 2)]),
        (LONG_FIRST, 2, 13, 4, 9, [(2, 4)]),
    ],
)
def test_a_repeat_sign_says_how_often_what_is_between_is_played(
    of: Chart, first: int, until: int, times: int, short: int, signs: list[tuple[int, int]]
) -> None:
    """Counted as a player does: each written-out round once, each between signs as often as they say."""
    edits = [Edit("e", "t", PlayTimes(f"b{first}", f"b{until}", times=times))]
    now = evaluate(written_order(of), [bar.id for bar in of.bars], edits, short=short)
    page = [(int(now.written[one.position].bar[1:]), one.starts) for one in now.laid()]
    assert [(bar, starts) for bar, starts in page if starts is not None] == signs
    assert sum(starts or 1 for bar, starts in page if bar == first) == times


@unhurried
@given(chart_and_edits(), st.sampled_from([0, 8]))
def test_the_time_a_bar_comes_is_counted_as_it_is_played(case: tuple[Chart, list[Edit]], short: int) -> None:
    of, edits = case
    now = evaluate(written_order(of), [bar.id for bar in of.bars], edits, short=short)
    comings = now.comings()
    heard = [now.written[place[0]].bar for place in comings]
    assert heard == [step.bar for step in now.steps()]
    opened = {now.written[p].bar for again in now.again if not again.times for p in range(again.first, again.last + 1)}
    for n, (bar, come) in enumerate(zip(heard, comings.values(), strict=True)):
        assert come == heard[: n + 1].count(bar) or (come == 0 and bar in opened)
    assert all((one.position, one.after, one.nth) in comings for one in now.laid() if not one.pickup)


@unhurried
@given(chart_and_edits(), st.sampled_from([0, 2, 8]))
def test_the_page_shows_what_is_played_in_order(case: tuple[Chart, list[Edit]], short: int) -> None:
    """Read with its repeat signs and folds, the page gives the played order."""
    of, edits = case
    written = written_order(of)
    now = evaluate(written, [bar.id for bar in of.bars], edits, short=short)
    laid = now.laid()
    keys = [(one.after, one.nth) for one in laid]
    assert keys == sorted(set(keys))
    folded = {fold.first + n: fold.by + n for fold in now.folds for n in range(fold.last - fold.first + 1)}
    shown = {one.position for one in laid}
    assert all(folded.get(position, position) in shown for position in now.positions())
    assert all(written.steps[position].bar == written.steps[by].bar for position, by in folded.items())
    out = now.left_out()
    assert all(one.position not in out or one.pickup for one in laid)
    under_signs = sum(
        again.more * sum(position not in out for position in range(again.first, again.last + 1))
        for again in now.again
        if again.signs
    )
    played_folds = sum(position not in out for position in folded)
    pickups = sum(one.pickup for one in laid)
    assert len(now.steps()) == len(laid) - pickups + under_signs + played_folds
    # Every sign that starts something ends it.
    assert sum(one.starts is not None for one in laid) == sum(one.ends for one in laid)
