"""Places as musicians say them (common practice), on one chart with a pickup, endings and a D.S. al Coda."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.music import breath, places
from collaparte.music.form import written_order
from collaparte.music.words import number_of, ordinal, ordinal_of
from collaparte.wire.chart import Chart, ChartBar, ChartMark
from music.charts import chart
from music.test_form import any_chart

# Bar n is b(n+1), as the pickup comes first. Order: 0-17, 9-15, 18-36, 9-24, 37-40.
TUNE = chart(
    41,
    pickup=True,
    starts=[10],
    ends={18: 2},
    endings=[((1,), 17, 18), ((2,), 19, 20)],
    signs=[("segno", 10), ("to-coda", 25), ("ds-al-coda", 37), ("coda", 38)],
    marks={"A": 2, "B": 10, "C": 21, "D": 30, "Verse 2": 34},
)
ORDER = written_order(TUNE).steps


@pytest.mark.parametrize(
    ("words", "number", "pass_"),
    [
        ("C", 20, 1),
        ("c", 20, 1),
        (" From  C ", 20, 1),
        ("letter C", 20, 1),
        ("verse 2", 33, 1),
        ("Verse two", 33, 1),
        ("m. 33", 33, 1),
        ("bar 3 of D", 31, 1),
        ("pickup to D", 28, 1),
        ("last two bars of C", 27, 1),
        ("ending 2", 18, 1),
        ("8 from the end", 21, 2),
        ("second time at C", 20, 2),
        ("bar 33", 33, 1),
        ("33", 33, 1),
        ("bar four", 4, 1),
        ("top", 0, 1),
        ("from the top", 0, 1),
        ("pickup", 0, 1),
        ("third bar of D", 31, 1),
        ("3rd bar of D", 31, 1),
        ("last bar of A", 8, 1),
        ("2 after D", 31, 1),
        ("segno", 9, 1),
        ("the coda", 37, 1),
        ("second ending", 18, 1),
        ("1st ending", 16, 1),
        ("first time bar", 16, 1),
        ("last 8", 21, 2),
        ("last bar", 40, 1),
        ("C second time", 20, 2),
        ("C, last time", 20, 2),
        ("B third time", 9, 3),
        # Counting back is in printed bars, through the last ending; the time meant is the one that leads to C.
        ("the bar before C", 19, 1),
        ("2 before C", 18, 1),
        ("3 before C", 15, 2),
        ("four before C", 14, 2),
        ("4 bars before C second time", 14, 3),
        ("third bar of C second time", 22, 2),
        # Sloppily, as it is said across a room and typed with one finger.
        ("four before letter c", 14, 2),
        ("4 b4 C", 14, 2),
        ("four in front of C", 14, 2),
        ("C-4", 14, 2),
        ("C minus 4", 14, 2),
        ("the fourth bar before C", 14, 2),
        ("just before C", 19, 1),
        ("pick up to the letter C", 19, 1),
        ("D+2", 31, 1),
        ("D plus 2", 31, 1),
        ("two bars into D", 31, 1),
        ("D, third bar", 31, 1),
        ("D bar 3", 31, 1),
        ("measure 3 of letter D", 31, 1),
        ("third of D", 31, 1),
        ("let's take it from letter D please", 29, 1),
        ("“D”", 29, 1),
        ("@D", 29, 1),
        ("top of C", 20, 1),
        ("top of the coda", 37, 1),
        ("from the sign", 9, 1),
        ("second verse", 33, 1),
        ("V2", 33, 1),
        ("m33", 33, 1),
        ("b33", 33, 1),
        ("bar #33", 33, 1),
        ("number thirty-three", 33, 1),
        ("2nd volta", 18, 1),
        ("last ending", 18, 1),
        ("second ending of B", 18, 1),
        ("B second time bar", 18, 1),
        ("4 before the end", 37, 1),
        ("4th bar from the end", 37, 1),
        ("second to last bar", 39, 1),
        ("4 before the D.S.", 33, 1),
        ("2 before the To Coda", 23, 1),
        ("C (2nd time)", 20, 2),
        ("C on the D.S.", 20, 2),
        ("B after the D.S.", 9, 3),
        ("from the D.S.", 9, 3),
    ],
)
def test_a_place_is_found(words: str, number: int, pass_: int) -> None:
    found = places.resolve(words, TUNE, ORDER)
    assert (found.bar, found.pass_) == (f"b{number + 1}", pass_)
    assert ORDER[found.position] == (found.bar, found.pass_)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ("", 'Say a place, as "C", "4 before C" or "bar 33".'),
        ("E", 'There is no "E" in this tune; the nearest mark is "D".'),
        ("Verse 3", 'There is no "Verse 3" in this tune; the nearest mark is "Verse 2".'),
        ("bar 200", "There is no bar 200; the nearest is bar 40."),
        ("50 before A", 'There is no "50 before A", only 1 bar before that; the nearest is the pickup.'),
        ("60 after A", 'There is no "60 after A"; the nearest is the last bar, bar 40.'),
        ("C third time", 'There is no "C third time": C is played 2 times only.'),
        ("third ending", "This tune has no third ending."),
        ("last 500", "There is no last 500 in this tune; it has 62 bars."),
        (
            "60 over the bar of C",
            '"60 over the bar of C" is not understood; say it as "C", "4 before C" or "third bar of C".',
        ),
        # The third after D is counted with D or without it, by who says so.
        (
            "third bar after D",
            '"third bar after D" may be bar 31 or bar 32; say "third bar of D" or "3 after D".',
        ),
        ("after D", 'Say how many bars, as "2 after D".'),
        ("last 30 of C", 'There is no "last 30 of C"; bar 20 is 9 bars long.'),
        ("the end", 'The end is behind the last bar; say "last bar" or "last 8".'),
        ("the To Coda", 'The To Coda stands at the end of bar 24; say "bar 24", or "bar 25" for what follows.'),
        ("the Fine", "This tune has no Fine."),
        ("beat 3 of bar 12", 'A place is a whole bar; say "bar 12".'),
        ("C to D", '"C to D" is a stretch, from bar 20 to bar 29; say one place, as "bar 20".'),
        ("D on the D.S.", 'There is no "D on the D.S.": D is not played after a D.S. or D.C.'),
        ("from the D.C.", "No D.C. is played in this tune."),
    ],
)
def test_a_place_that_is_not_there_gets_a_sentence_with_the_nearest(words: str, why: str) -> None:
    with pytest.raises(places.PlaceError) as caught:
        places.resolve(words, TUNE, ORDER)
    assert str(caught.value) == why


def test_a_place_that_is_cut_names_the_next_that_is_played() -> None:
    out = {position for position, step in enumerate(ORDER) if 20 <= int(step.bar[1:]) - 1 < 29}
    with pytest.raises(places.PlaceError, match=r'^"C" is cut; the nearest that is played is D.$'):
        places.resolve("C", TUNE, ORDER, out)
    assert places.resolve("B", TUNE, ORDER, {9}).pass_ == 2
    with pytest.raises(places.PlaceError, match=r'^"top" is cut.$'):
        places.resolve("top", TUNE, ORDER, range(len(ORDER)))


def test_a_place_that_the_form_passes_over() -> None:
    tune = chart(6, signs=[("to-coda", 2), ("dc-al-coda", 3), ("coda", 5)], marks={"X": 4})
    with pytest.raises(places.PlaceError, match='"X" is not played in this form; the nearest that is played is bar 3'):
        places.resolve("X", tune, written_order(tune).steps)


def test_what_stands_twice_is_asked_for() -> None:
    tune = Chart(
        tuple(ChartBar(f"b{n}", number) for n, number in enumerate((1, 2, 3, 3, 4))),
        (ChartMark("Solo", "b0"), ChartMark("Solo", "b2"), ChartMark("A", "b1")),
    )
    order = written_order(tune).steps
    with pytest.raises(places.PlaceError, match=r'"solo" stands at bars 1 and 3; say which by its number.'):
        places.resolve("Solo", tune, order)
    with pytest.raises(places.PlaceError, match=r"There are 2 bars numbered 3; say which from a mark."):
        places.resolve("bar 3", tune, order)
    assert places.say(tune, "b3") == "third bar of A"
    assert places.resolve("third bar of A", tune, order).bar == "b3"
    with pytest.raises(places.PlaceError, match="no pickup; it begins at bar 1"):
        places.resolve("pickup", tune, order)


def test_marks_that_are_numbers_win_over_bars_and_bar_says_the_bar() -> None:
    tune = chart(40, marks={"1": 1, "2": 9, "3": 25})
    order = written_order(tune).steps
    assert places.resolve("2", tune, order).bar == "b9"
    assert places.resolve("bar 2", tune, order).bar == "b2"


def test_a_place_is_said_so_that_it_is_found_again() -> None:
    assert [places.say(TUNE, f"b{n}") for n in (1, 2, 3, 21, 34)] == ["pickup", "A", "bar 2", "C", "Verse 2"]
    assert places.say_step(TUNE, ORDER[-5]) == "bar 24 second time"
    for bar in TUNE.bars:
        assert places.resolve(places.say(TUNE, bar.id), TUNE, ORDER).bar == bar.id


@given(any_chart(), st.text(alphabet="abcAB 1234beforatlsndimgx,.", max_size=30))
def test_any_words_give_a_place_or_one_sentence(tune: Chart, words: str) -> None:
    order = written_order(tune).steps
    try:
        found = places.resolve(words, tune, order)
        assert order[found.position].bar == found.bar
    except places.PlaceError as error:
        assert str(error).endswith(".") and "\n" not in str(error)


WORDS = st.sampled_from(
    [
        "a",
        "the",
        "to",
        "of",
        "from",
        "C",
        "D",
        "4",
        "b4",
        "before",
        "after",
        "bar",
        "bars",
        "third",
        "3rd",
        "last",
        "second",
        "time",
        "ending",
        "ds",
        "d.s.",
        "on",
        "the",
        "plus",
        "-",
        "+",
        "to",
        "coda",
        "sign",
        "fine",
        "end",
        "top",
        "pickup",
        "into",
        "thirty-three",
        "verse",
        "two",
        "whole",
        "first",
        "33-40",
        "beat",
        "again",
        "repeat",
    ]
)


@given(any_chart(), st.lists(WORDS, max_size=12).map(" ".join))
def test_any_of_the_trades_words_give_a_place_or_one_sentence(tune: Chart, words: str) -> None:
    for of in (tune, TUNE):
        order = written_order(of).steps
        try:
            found = places.resolve(words, of, order)
            assert order[found.position].bar == found.bar
            first, until = breath.ends_of(words, of, order)
            assert first and until
        except places.PlaceError as error:
            assert str(error).endswith(".") and "\n" not in str(error)


@given(st.integers(1, 2000))
def test_ordinals_are_read_as_they_are_written(number: int) -> None:
    assert ordinal_of(ordinal(number)) == number
    assert number_of(str(number)) == number


def test_figures_alone_are_marks_where_the_tune_has_such_marks() -> None:
    """As "2" alone is; with "bar" they are bars, and so are they where one of them is no mark."""
    bars = tuple(ChartBar(f"b{n}", n) for n in range(1, 33))
    tune = Chart(bars, tuple(ChartMark(str(n + 1), f"b{8 * n + 1}") for n in range(4)))
    order = written_order(tune).steps
    assert breath.ends_of("2 to 4", tune, order) == breath.ends_of("2-4", tune, order) == ("2", "4")
    assert places.find("2", tune, order).bar == "b9"
    assert breath.ends_of("bars 2 to 4", tune, order) == ("bar 2", "bar 5")
    assert breath.ends_of("2 to 12", tune, order) == ("bar 2", "bar 13")
