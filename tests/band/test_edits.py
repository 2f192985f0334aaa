"""Cuts as the MD says them, told in words, and taken back."""

import pytest

from band.bands import MD, RULER, small_band
from collaparte.band.state import State
from collaparte.band.views import slips, tune_view
from collaparte.music.places import resolve
from collaparte.wire import commands as c
from collaparte.wire.chart import BarId
from collaparte.wire.edits import Cut, Edit
from collaparte.wire.views import EditRow, Slip


def bars_played(state: State) -> list[BarId]:
    return [step.bar for step in state.tunes["bus"].played.steps()]


def test_from_c_to_d_is_c_up_to_not_including_d() -> None:
    band = small_band()
    whole = bars_played(band.state)
    made = band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    out = [f"b{number}" for number in range(20, 29)]
    assert bars_played(band.state) == [bar for bar in whole if bar not in out]
    view = tune_view(band.state, band.state.tunes["bus"])
    assert view.edits == (EditRow("e", "Cut C to D", "Keys", "b20", "b29"),)
    assert [view.written[position].bar for first, last in view.cut for position in range(first, last + 1)] == out
    assert slips(band.state, made) == [Slip("bus", "Cut C to D", "e")]
    back = band.do(c.TakeBackEdit("e"), MD)
    assert bars_played(band.state) == whole
    assert slips(band.state, back) == [Slip("bus", "C to D is back in", "e")]
    assert band.state.tunes["bus"].revision == view.revision + 1 == 2


@pytest.mark.parametrize(
    ("first", "until", "words", "what"),
    [
        ("D", "end", "Cut D to the end", Cut("b29", None)),
        ("4 before C", "C", "Cut bar 16 to C", Cut("b16", "b20")),
        ("B second time", "bar 11", "Cut B to bar 11, second time only", Cut("b9", "b11", (2,))),
        ("third bar of C", "D", "Cut bar 22 to D", Cut("b22", "b29")),
        ("B", "bar 11 second time", "Cut B to bar 11, second time only", Cut("b9", "b11", (2,))),
        ("bar 10 second time", "bar 12 last time", "Cut bar 10 to bar 12, second time only", Cut("b10", "b12", (2,))),
        ("2 before B", "bar 11 first time", "Cut bar 7 to bar 11, first time only", Cut("b7", "b11", (1,))),
    ],
)
def test_said_as_musicians_say_it(first: str, until: str, words: str, what: Cut) -> None:
    band = small_band()
    band.do(c.MakeCut("e", "bus", first, until), MD)
    held = band.state.tunes["bus"].edits["e"]
    assert (held.words, held.edit) == (words, Edit("e", "bus", what, author="keys"))


@pytest.mark.parametrize(
    ("command", "why"),
    [
        (c.MakeCut("e", "", "C", "D"), "No tune has been called yet, so say which tune to cut."),
        (c.MakeCut("e", "waltz", "C", "D"), 'There is no tune "waltz" in the library.'),
        (c.MakeCut("e", "ember", "C", "D"), 'No bars of "Ember" have been read, so it cannot be cut.'),
        (c.MakeCut("e", "bus", "C", "K"), 'There is no "K" in this tune; the nearest mark is "D".'),
        (c.MakeCut("e", "bus", "C", "bar 20"), 'From "C" to "bar 20" there is nothing to cut.'),
        (
            c.MakeCut("e", "bus", "D", "C"),
            "D to C does not come in that order in this tune, so there is nothing to cut.",
        ),
        (c.MakeCut("e", "bus", "top", "end"), 'That would leave nothing of "Night Bus" to play.'),
        (
            c.MakeCut("e", "bus", "B first time", "bar 12 second time"),
            '"B first time" does not lead to "bar 12 second time"; say the time once.',
        ),
        (c.MakeCut("", "bus", "C", "D"), "An edit needs an id."),
        (c.TakeBackEdit("e"), "There is no such edit to take back."),
        (c.MakeEdit(Edit("e", "bus", Cut("x", "b9"))), 'This edit names bars that "Night Bus" does not have.'),
        (
            c.MakeEdit(Edit("e", "bus", Cut("b1", "b9"), chairs=("alto1",))),
            "A cut is for everyone; it cannot be for some chairs only.",
        ),
    ],
)
def test_refused_in_words(command: c.Command, why: str) -> None:
    assert small_band().refused(command, MD) == why


def test_a_time_that_is_said_leaves_the_other_times_alone() -> None:
    band = small_band()
    whole = bars_played(band.state)
    band.do(c.MakeCut("e", "bus", "2 before B", "bar 11 first time"), MD)
    assert bars_played(band.state) == [bar for n, bar in enumerate(whole) if not 6 <= n < 10]


def test_what_is_cut_already_is_not_cut_again() -> None:
    band = small_band()
    band.do(c.MakeCut("1", "bus", "C", "D"), MD)
    assert band.refused(c.MakeCut("2", "bus", "bar 21", "bar 25"), MD) == "Bar 21 to bar 25 is cut already."
    band.do(c.MakeCut("3", "bus", "bar 18", "bar 25"), MD)
    band.do(c.TakeBackEdit("1"), MD)
    tune = band.state.tunes["bus"]
    assert resolve("bar 25", RULER, tune.written.steps, tune.played.left_out()).bar == "b25"


def test_all_that_is_left_cannot_be_cut_in_two_steps() -> None:
    band = small_band()
    band.do(c.MakeCut("1", "bus", "C", "end"), MD)
    assert band.refused(c.MakeCut("2", "bus", "A", "C"), MD) == 'That would leave nothing of "Night Bus" to play.'


def test_an_edit_offered_to_a_replaced_hub_is_taken_once_and_not_when_it_was_taken_back() -> None:
    band = small_band()
    edit = Edit("e", "bus", Cut("b20", "b29"), author="keys")
    assert len(band.do(c.MakeEdit(edit), MD)) == 1
    assert band.do(c.MakeEdit(edit), MD) == ()
    band.do(c.TakeBackEdit("e"), MD)
    assert band.do(c.TakeBackEdit("e"), MD) == ()
    assert band.do(c.MakeEdit(edit), MD) == ()
    assert band.state.tunes["bus"].edits == {}
