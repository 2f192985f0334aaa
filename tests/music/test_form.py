"""Written orders, by the MusicXML 4.0 texts (W3C, 2021) and by the conventions named beside the cases."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.music.form import LONGEST, written_order
from collaparte.wire.chart import Chart
from music.charts import chart, places, run_length

CASES = {
    "no signs": (chart(4), "1-4"),
    "a repeat (MusicXML repeat)": (chart(4, starts=[2], ends={3: 2}), "1-3 2-4"),
    "an end without a start goes to the top (Wikipedia, Repeat sign)": (chart(4, ends={3: 2}), "1-3 1-4"),
    # The human encoder's list for Beethoven op. 18/1 iii in the Humdrum corpus: back to after the previous end.
    "a second end without a start": (chart(5, ends={2: 2, 4: 2}), "1-2 1-4 3-5"),
    "two endings": (chart(5, ends={3: 2}, endings=[((1,), 3, 3), ((2,), 4, 4)]), "1-3 1-2 4-5"),
    "1,2 and 3 (Wikipedia: as many times as the highest number)": (
        chart(5, ends={3: 2}, endings=[((1, 2), 3, 3), ((3,), 4, 4)]),
        "1-3 1-3 1-2 4-5",
    ),
    "three endings": (
        chart(6, ends={3: 2, 4: 2}, endings=[((1,), 3, 3), ((2,), 4, 4), ((3,), 5, 5)]),
        "1-3 1-2 4 1-2 5-6",
    ),
    "played three times (MusicXML repeat@times)": (chart(4, starts=[2], ends={3: 3}), "1-3 2-3 2-4"),
    "a lone first ending: the last time goes on after it (common practice)": (
        chart(16, ends={5: 2}, endings=[((1,), 5, 5)]),
        "1-5 1-4 6-16",
    ),
    "D.C. al Fine": (chart(4, signs=[("fine", 2), ("dc-al-fine", 4)]), "1-4 1-2"),
    "plain D.C., once (MusicXML sound@dacapo)": (chart(3, signs=[("dc", 3)]), "1-3 1-3"),
    # Humdrum list of op. 18/1 iii: [A,A,B,B,C,C,D,A,B], sections 1-10, 11-85, 86-101, 102-145.
    "no repeats after a D.C.": (
        chart(145, ends={10: 2, 85: 2, 101: 2}, signs=[("fine", 85), ("dc-al-fine", 145)]),
        "1-10 1-85 11-101 86-145 1-85",
    ),
    "D.S. al Coda": (
        chart(7, signs=[("segno", 2), ("to-coda", 3), ("ds-al-coda", 5), ("coda", 6)]),
        "1-5 2-3 6-7",
    ),
    # Common practice: of two bare coda signs the first is where one leaves.
    "D.S. al Coda with two coda signs": (
        chart(7, signs=[("segno", 2), ("coda", 4), ("ds-al-coda", 5), ("coda", 6)]),
        "1-5 2-3 6-7",
    ),
    "D.S. al Fine": (chart(5, signs=[("segno", 2), ("fine", 3), ("ds-al-fine", 5)]), "1-5 2-3"),
    # First endings are skipped after a D.C. (High-Yield Music Theory vol. 1, 1.8).
    "endings, then D.C. al Fine": (
        chart(6, ends={2: 2}, endings=[((1,), 2, 2), ((2,), 3, 3)], signs=[("fine", 4), ("dc-al-fine", 6)]),
        "1-2 1 3-6 1 3-4",
    ),
    "D.S. al Coda over a repeat": (
        chart(8, starts=[2], ends={3: 2}, signs=[("segno", 2), ("to-coda", 4), ("ds-al-coda", 6), ("coda", 7)]),
        "1-3 2-6 2-4 7-8",
    ),
    "D.S. al Coda over endings": (
        chart(
            9,
            starts=[2],
            ends={3: 2},
            endings=[((1,), 3, 3), ((2,), 4, 4)],
            signs=[("segno", 2), ("to-coda", 5), ("ds-al-coda", 7), ("coda", 8)],
        ),
        "1-3 2 4-7 2 4-5 8-9",
    ),
    "To Coda inside the repeat": (
        chart(6, ends={3: 2}, signs=[("segno", 1), ("to-coda", 2), ("ds-al-coda", 4), ("coda", 5)]),
        "1-3 1-4 1-2 5-6",
    ),
    "D.C. al Coda": (chart(6, signs=[("to-coda", 2), ("dc-al-coda", 4), ("coda", 5)]), "1-4 1-2 5-6"),
    "two D.S., each to the segno before it": (
        chart(7, signs=[("segno", 1), ("ds", 3), ("segno", 4), ("ds", 6)]),
        "1-3 1-6 4-7",
    ),
    "D.S. without a Fine plays on to the end": (chart(4, signs=[("segno", 2), ("ds", 4)]), "1-4 2-4"),
    "back-to-back repeats": (chart(5, starts=[1, 3], ends={2: 2, 4: 2}), "1-2 1-4 3-5"),
    "D.C. al Fine in the second ending": (
        chart(5, ends={4: 2}, endings=[((1,), 4, 4), ((2,), 5, 5)], signs=[("fine", 2), ("dc-al-fine", 5)]),
        "1-4 1-3 5 1-2",
    ),
    "D.C. instead of a repeat sign in the first ending": (
        chart(5, endings=[((1,), 3, 3), ((2,), 4, 5)], signs=[("dc", 3)]),
        "1-3 1-2 4-5",
    ),
    "two codas": (
        chart(
            10,
            signs=[
                *(("segno", 1), ("to-coda", 2), ("to-coda", 3), ("ds-al-coda", 5)),
                *(("coda", 6), ("ds-al-coda", 7), ("coda", 8)),
            ],
        ),
        "1-5 1-2 6-7 1-3 8-10",
    ),
    # Common practice: what one comes to for the first time is repeated as it is written, wherever one comes from.
    "a repeat in the coda": (
        chart(9, starts=[7], ends={8: 2}, signs=[("segno", 2), ("to-coda", 3), ("ds-al-coda", 5), ("coda", 6)]),
        "1-5 2-3 6-8 7-9",
    ),
    "a repeat in the coda without a start": (
        chart(9, ends={8: 2}, signs=[("segno", 2), ("to-coda", 3), ("ds-al-coda", 5), ("coda", 6)]),
        "1-5 2-3 6-8 6-9",
    ),
    "a repeat in the coda without a start, with endings": (
        chart(
            10,
            ends={8: 2},
            endings=[((1,), 8, 8), ((2,), 9, 9)],
            signs=[("segno", 2), ("to-coda", 3), ("ds-al-coda", 5), ("coda", 6)],
        ),
        "1-5 2-3 6-8 6-7 9-10",
    ),
    "a repeat behind a plain D.S.": (
        chart(9, starts=[6], ends={8: 2}, signs=[("segno", 2), ("ds", 4)]),
        "1-4 2-8 6-9",
    ),
    "endings behind a plain D.C.": (
        chart(9, starts=[6], ends={7: 2}, endings=[((1,), 7, 7), ((2,), 8, 8)], signs=[("dc", 4)]),
        "1-4 1-7 6 8-9",
    ),
    # Common practice: what is printed is there to be played.
    "a plain D.S. before a D.S. al Coda goes past the To Coda": (
        chart(12, signs=[("segno", 2), ("to-coda", 3), ("ds", 6), ("ds-al-coda", 9), ("coda", 10)]),
        "1-6 2-9 2-3 10-12",
    ),
    "a plain D.S. before another goes past the Fine": (
        chart(9, signs=[("segno", 2), ("fine", 6), ("ds", 4), ("dc", 8)]),
        "1-4 2-8 1-6",
    ),
    "D.C. in the first of three endings": (
        chart(6, ends={4: 2}, endings=[((1,), 3, 3), ((2,), 4, 4), ((3,), 5, 5)], signs=[("dc", 3)]),
        "1-3 1-2 4 1-2 5-6",
    ),
    "a bracket drawn short of its repeat sign": (
        chart(6, ends={4: 2}, endings=[((1,), 3, 3), ((2,), 5, 6)]),
        "1-4 1-2 5-6",
    ),
}


@pytest.mark.parametrize(("written", "expected"), CASES.values(), ids=CASES.keys())
def test_order(written: Chart, expected: str) -> None:
    order = written_order(written)
    assert (run_length(places(order.steps)), order.diagnosis) == (expected, "")


def test_repeats_after_a_jump_where_the_chart_wants_them() -> None:
    """MusicXML repeat@after-jump."""
    written = chart(5, ends={2: 2}, signs=[("fine", 3), ("dc-al-fine", 5)])
    assert run_length(places(written_order(written, repeats_after_jump=True).steps)) == "1-2 1-5 1-2 1-3"


THREE = chart(
    12,
    starts=[2],
    ends={4: 2, 6: 2},
    endings=[((1,), 4, 4), ((2,), 5, 6), ((3,), 7, 7)],
    signs=[("segno", 2), ("ds", 10)],
)
"""1, 2-3 with endings 4, 5-6 and 7, 8-10 and a D.S., 11-12."""


@pytest.mark.parametrize(
    ("of", "ending", "expected", "told"),
    [
        (THREE, 0, "1-4 2-3 5-6 2-3 7-10 2-3 7-12", ""),
        (THREE, 1, "1-4 2-3 5-6 2-3 7-10 2-4 8-12", "names the first ending; from there on the order goes on behind"),
        (THREE, 2, "1-4 2-3 5-6 2-3 7-10 2-3 5-6 8-12", "names the second ending; from there on the order goes on"),
        (THREE, 3, "1-4 2-3 5-6 2-3 7-10 2-3 7-12", ""),
        (THREE, 4, "1-4 2-3 5-6 2-3 7-10 2-3 7-12", "names the fourth ending, but from bar 4 on there is none"),
        (chart(4, signs=[("segno", 2), ("ds", 3)]), 2, "1-3 2-4", "names the second ending, but comes to no endings"),
        # "1.2." and "3.": the second bracket.
        (
            chart(6, starts=[2], ends={3: 2}, endings=[((1, 2), 3, 3), ((3,), 4, 4)], signs=[("segno", 2), ("ds", 5)]),
            2,
            "1-3 2-3 2 4-5 2 4-6",
            "",
        ),
    ],
)
def test_a_jump_that_names_its_ending_takes_that(of: Chart, ending: int, expected: str, told: str) -> None:
    """Common practice: "D.S. al 2nd ending" passes the first, and its repeat is not taken again."""
    signs = tuple(msgspec.structs.replace(s, ending=ending) if s.kind == "ds" else s for s in of.signs)
    written = written_order(msgspec.structs.replace(of, signs=signs))
    assert run_length(places(written.steps)) == expected
    assert told in written.diagnosis if told else not written.diagnosis


def test_passes_count_how_often_a_bar_has_come() -> None:
    order = written_order(chart(6, ends={3: 2}, signs=[("segno", 1), ("to-coda", 2), ("ds-al-coda", 4), ("coda", 5)]))
    assert [step.pass_ for step in order.steps] == [1, 1, 1, 2, 2, 2, 1, 3, 3, 1, 1]


NONSENSE = {
    "one inside the other": chart(5, starts=[1, 2], ends={3: 2, 4: 2}),
    "no number": chart(4, ends={2: 2}, endings=[((), 2, 2)]),
    "no first ending": chart(4, ends={2: 2}, endings=[((2,), 2, 2)]),
    "no repeat sign after": chart(4, endings=[((1,), 2, 2), ((2,), 3, 3)]),
    "leave out a time": chart(5, ends={2: 2}, endings=[((1,), 2, 2), ((3,), 3, 3)]),
    "no segno": chart(4, signs=[("ds", 4)]),
    "no To Coda": chart(4, signs=[("dc-al-coda", 2), ("coda", 3)]),
    "no Coda": chart(4, signs=[("to-coda", 1), ("dc-al-coda", 3)]),
    "no Fine": chart(4, signs=[("dc-al-fine", 4)]),
    "never comes to a Fine": chart(6, signs=[("fine", 1), ("segno", 2), ("ds-al-fine", 5)]),
    f"more than {LONGEST}": chart(500, ends={500: 100}),
    "played 101 times": chart(4, ends={4: 101}),
    "an ending for time 101": chart(4, ends={2: 2}, endings=[(tuple(range(1, 101)), 2, 2), ((101,), 3, 3)]),
    "more than 200 jump signs": chart(300, signs=[("fine", bar) for bar in range(1, 202)]),
    "both D.S. and D.C.": chart(4, signs=[("segno", 2), ("ds", 4), ("dc", 4)]),
}


@pytest.mark.parametrize(("why", "written"), NONSENSE.items(), ids=NONSENSE.keys())
def test_nonsense_gives_the_bars_as_printed_and_says_so(why: str, written: Chart) -> None:
    order = written_order(written)
    assert places(order.steps) == list(range(1, len(written.bars) + 1))
    assert why in order.diagnosis and order.diagnosis.endswith("The bars stand in printed order.")


LEFT_ALONE = {
    # Common practice; by the text of MusicXML 4.0, `sound@tocoda`, "the second time".
    "it is taken the last time": (
        chart(7, starts=[1], ends={4: 3}, signs=[("to-coda", 2), ("coda", 6)]),
        "1-4 1-4 1-2 6-7",
    ),
    "The repeat that starts at bar 2 has no end": (chart(3, starts=[2]), "1-3"),
    "no D.S. or D.C. that leads to it": (chart(4, ends={2: 2}, signs=[("to-coda", 3)]), "1-2 1-4"),
    "no D.S. that goes back": (chart(3, signs=[("segno", 2)]), "1-3"),
    "is never reached": (
        chart(6, signs=[("segno", 1), ("to-coda", 2), ("ds-al-coda", 3), ("dc", 4), ("coda", 5)]),
        "1-3 1-2 5-6",
    ),
}


@pytest.mark.parametrize(("why", "case"), LEFT_ALONE.items(), ids=LEFT_ALONE.keys())
def test_a_sign_that_leads_nowhere_is_told_and_the_rest_followed(why: str, case: tuple[Chart, str]) -> None:
    order = written_order(case[0])
    assert run_length(places(order.steps)) == case[1]
    assert why in order.diagnosis


@st.composite
def any_chart(draw: st.DrawFn) -> Chart:
    """Signs strewn at random, sense or nonsense."""
    bars = draw(st.integers(1, 12))
    place = st.integers(1, bars)
    kinds = ["segno", "coda", "to-coda", "fine", "ds", "ds-al-coda", "ds-al-fine", "dc", "dc-al-coda", "dc-al-fine"]
    spans = st.tuples(place, place).map(sorted)
    return chart(
        bars,
        starts=draw(st.lists(place, max_size=3)),
        ends=draw(st.dictionaries(place, st.integers(1, 4), max_size=3)),
        endings=[
            (passes, first, last)
            for passes, (first, last) in draw(
                st.lists(st.tuples(st.lists(st.integers(0, 3), max_size=2).map(tuple), spans), max_size=3)
            )
        ],
        signs=draw(st.lists(st.tuples(st.sampled_from(kinds), place), max_size=5)),
    )


@given(any_chart(), st.booleans())
def test_any_signs_end_and_invent_no_bar(written: Chart, repeats_after_jump: bool) -> None:
    order = written_order(written, repeats_after_jump=repeats_after_jump)
    bars = [bar.id for bar in written.bars]
    assert 1 <= len(order.steps) <= LONGEST
    seen: dict[str, int] = {}
    for step in order.steps:
        assert step.bar in bars
        seen[step.bar] = seen.get(step.bar, 0) + 1
        assert step.pass_ == seen[step.bar]
    if "printed order" in order.diagnosis:
        assert [step.bar for step in order.steps] == bars
