"""Cuts as the MD says them, told in words, and taken back."""

import msgspec
import pytest

from band.bands import MD, RULER, Band, part, small_band
from collaparte.band.parts import part_order
from collaparte.band.state import State
from collaparte.band.views import slips, tune_view
from collaparte.music.instructions import binding
from collaparte.music.places import resolve
from collaparte.wire import commands as c
from collaparte.wire.chart import BarId, ChartSign
from collaparte.wire.edits import Cut, Edit
from collaparte.wire.outline import Asides
from collaparte.wire.views import EditRow, Slip


def bars_played(state: State) -> list[BarId]:
    return [step.bar for step in state.tunes["bus"].played.steps()]


def test_from_c_to_d_is_c_up_to_not_including_d() -> None:
    band = small_band()
    whole = bars_played(band.state)
    made = band.do(c.MakeCut("e", "bus", "C", "D"), msgspec.structs.replace(MD, at="2026-11-25T21:34"))
    out = [f"b{number}" for number in range(20, 29)]
    assert bars_played(band.state) == [bar for bar in whole if bar not in out]
    view = tune_view(band.state, band.state.tunes["bus"])
    assert view.edits == (EditRow("e", "Cut C to D", "Keys", "b20", "b29", at="2026-11-25T21:34"),)
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
        # In one breath; of bars by number the last one is meant too (common practice).
        ("C to D", "", "Cut C to D", Cut("b20", "b29")),
        ("from letter C up to D", "", "Cut C to D", Cut("b20", "b29")),
        ("bars 22-25", "", "Cut bar 22 to bar 26", Cut("b22", "b26")),
        ("22 to 28", "", "Cut bar 22 to D", Cut("b22", "b29")),
        ("last 4 of C", "", "Cut bar 25 to D", Cut("b25", "b29")),
        ("first 4 of C", "", "Cut C to bar 24", Cut("b20", "b24")),
        ("all of C", "", "Cut C to D", Cut("b20", "b29")),
        ("D to the end", "", "Cut D to the end", Cut("b29", None)),
    ],
)
def test_said_as_musicians_say_it(first: str, until: str, words: str, what: Cut) -> None:
    band = small_band()
    band.do(c.MakeCut("e", "bus", first, until), MD)
    held = band.state.tunes["bus"].edits["e"]
    assert (held.words, held.edit) == (words, Edit("e", "bus", what, author="keys", made=band.state.seq))


@pytest.mark.parametrize(
    ("command", "why"),
    [
        (c.MakeCut("e", "bus", "C", ""), 'Say up to where as well, as "C to the end".'),
        (c.MakeCut("e", "", "C", "D"), "No tune has been called yet, so say which tune to change."),
        (c.MakeCut("e", "waltz", "C", "D"), 'There is no tune "waltz" in the library.'),
        (c.MakeCut("e", "ember", "C", "D"), 'No bars of "Ember" have been read, so its order cannot be changed.'),
        (c.MakeCut("e", "bus", "C", "K"), 'There is no "K" in this tune; the nearest mark is "D".'),
        (c.MakeCut("e", "bus", "C", "bar 20"), 'From "C" to "bar 20" there is nothing.'),
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


def say(id: str, kind: str, first: str = "", until: str = "", **more: object) -> c.SayEdit:
    """What the MD says about "Night Bus"."""
    return msgspec.convert({"id": id, "tune": "bus", "kind": kind, "first": first, "until": until, **more}, c.SayEdit)


@pytest.mark.parametrize(
    ("said", "words", "back"),
    [
        (say("e", "times", "C", "D", times=4), "Play C to D 4 times", "C to D as written again"),
        # Bars 9 to 12 come twice in a row; both times are one repeat, which is decided anew.
        (say("e", "times", "B", "bar 13", times=1), "Play B to bar 13 once only", "B to bar 13 as written again"),
        (say("e", "open", "C", "D"), "Open until cued: C to D", "C to D as written again"),
        (
            say("e", "tacet", "C", "end", chairs=["keys"], sections=["Saxes"]),
            "Tacet C to the end: Saxes and Keys",
            "C to the end is not tacet any more: Saxes and Keys",
        ),
        (say("e", "go-to", "C", "D"), "At C go to D", "C is played again, as written"),
        (say("e", "go-to", "D", "B"), "At D go to B", "D is played again, as written"),
        (say("e", "no-repeats"), "No repeats, straight through", "With the repeats again"),
    ],
)
def test_every_kind_is_told_in_words(said: c.SayEdit, words: str, back: str) -> None:
    band = small_band()
    whole = band.state.tunes["bus"].played
    made = band.do(said, MD)
    assert slips(band.state, made)[0].words == words
    assert (
        tune_view(band.state, band.state.tunes["bus"]).edits[0].kind
        == band.state.tunes["bus"].edits["e"].edit.what.__struct_config__.tag
    )
    taken = band.do(c.TakeBackEdit("e"), MD)
    assert [slip.words for slip in slips(band.state, taken)] == [back]
    assert band.state.tunes["bus"].played == whole


@pytest.mark.parametrize(
    ("said", "why"),
    [
        (say("e", "times", "C", "D", times=0), "A stretch is played 1 to 99 times, not 0."),
        (say("e", "times", "C", "D", times=1), "C to D is played like that already."),
        (say("e", "times", "D", "C", times=3), "C does not come after D in print."),
        (say("e", "open", "C", "K"), 'There is no "K" in this tune; the nearest mark is "D".'),
        (
            say("e", "open", "C", "D", chairs=["alto1"]),
            "A change of the order is for everyone; it cannot be for some chairs only.",
        ),
        (say("e", "tacet", "C", "D"), "Say who is tacet: chairs or sections."),
        (say("e", "tacet", "C", "D", chairs=["tuba"]), 'There is no chair "tuba" in this band.'),
        (say("e", "tacet", "C", "D", sections=["Strings"]), 'There is no section "Strings" in this band.'),
        (say("e", "go-to", "C", "C"), "There is no way from C to C in this tune."),
        (say("e", "no-jumps"), "This tune has no D.S. or D.C. to leave out."),
        (say("e", "pickup", "bar 28", chairs=["alto1"]), "Bar 28 is not the last bar of a cut."),
    ],
)
def test_what_cannot_be_is_refused_in_words(said: c.SayEdit, why: str) -> None:
    band = small_band()
    before = band.state
    assert band.refused(said, MD) == why
    assert band.state == before


def test_of_two_that_contradict_the_later_holds_and_the_other_says_why_it_waits() -> None:
    band = small_band()
    band.do(say("1", "times", "C", "D", times=4), MD)
    four = band.state.tunes["bus"].played
    band.do(say("2", "open", "C", "D"), MD)
    rows = tune_view(band.state, band.state.tunes["bus"]).edits
    assert [row.why for row in rows] == ['Waits: "Open until cued: C to D" was decided later for the same bars.', ""]
    band.do(c.TakeBackEdit("2"), MD)
    assert band.state.tunes["bus"].played == four
    assert [row.why for row in tune_view(band.state, band.state.tunes["bus"]).edits] == [""]


def test_a_cut_that_swallows_an_open_stretch_says_so_and_gives_it_back() -> None:
    band = small_band()
    band.do(say("1", "open", "C", "D"), MD)
    open_ = band.state.tunes["bus"].played
    band.do(c.MakeCut("2", "bus", "4 before C", "D"), MD)
    rows = tune_view(band.state, band.state.tunes["bus"]).edits
    assert rows[0].why == 'Waits: "Cut bar 16 to D" leaves nothing of it to play.'
    assert band.refused(say("3", "times", "C", "D", times=3), MD) == (
        "C to D is cut; take the cut back before you have it played again."
    )
    band.do(c.TakeBackEdit("2"), MD)
    assert band.state.tunes["bus"].played == open_


def test_after_a_jump_nothing_is_played_again_unless_its_time_is_said() -> None:
    """As with printed repeats (common practice): C comes twice, the second time after the D.S."""
    band = small_band()
    band.do(c.AddTune("dal", "Dal Segno"))
    signs = (ChartSign("segno", "b9", "start"), ChartSign("ds", "b40", "end"))
    band.do(c.MintRuler("dal", msgspec.structs.replace(RULER, repeats=(), signs=signs)))
    band.do(c.SayEdit("e", "dal", "open", "C", "D"), MD)
    assert band.state.tunes["dal"].edits["e"].words == "Open until cued: C to D, not after the D.S."
    band.do(c.SayEdit("f", "dal", "times", "C second time", "D", times=3), MD)
    assert band.state.tunes["dal"].edits["f"].words == "Play C to D 3 times, second time only"
    assert [row.times for row in tune_view(band.state, band.state.tunes["dal"]).again] == [0, 3]
    band.do(c.SayEdit("g", "dal", "no-jumps"), MD)
    assert band.state.tunes["dal"].edits["g"].words == "No D.S."
    assert (
        tune_view(band.state, band.state.tunes["dal"]).edits[1].why == 'Waits: "No D.S." leaves nothing of it to play.'
    )


def test_tacet_is_for_its_chairs_and_leaves_the_order_alone() -> None:
    band = small_band()
    whole = bars_played(band.state)
    band.do(say("e", "tacet", "C", "D", chairs=["keys"], sections=["Saxes"]), MD)
    assert bars_played(band.state) == whole
    (some,) = tune_view(band.state, band.state.tunes["bus"]).tacet
    written = band.state.tunes["bus"].written.steps
    assert set(some.chairs) == {"keys", "alto1", "alto2"}
    assert [written[p].bar for first, last in some.ranges for p in (first, last)] == ["b20", "b28"]


def test_a_pickup_is_kept_by_those_who_are_told() -> None:
    band = small_band()
    band.do(c.MakeCut("1", "bus", "C", "D"), MD)
    band.do(say("2", "pickup", "1 before D", sections=["Saxes"]), MD)
    tune = band.state.tunes["bus"]
    assert tune.edits["2"].words == "Keep bar 28 as a pickup: Alto 1 and Alto 2"
    assert [tune.written.steps[p].bar for p in tune.played.pickups] == ["b28"]
    assert bars_played(band.state).count("b28") == 0


def with_asides(band: Band) -> None:
    """The second alto has a mute in bar 22, opens in 26, goes to flute in 27 and leads out of bar 28."""
    said = Asides((28, 12), ((22, "cup mute"), (26, "open"), (27, "to flute"), (35, "solo")))
    brought = part("bus", "p-alto2", "2nd Alto", (bar.id for bar in RULER.bars), "v2")
    band.do(msgspec.structs.replace(brought, asides=said))


def test_what_a_chair_must_know_of_a_cut_is_on_its_own_slip_and_at_the_join() -> None:
    band = small_band()
    with_asides(band)
    made = band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    assert slips(band.state, made) == [
        Slip("bus", "Cut C to D", "e"),
        Slip("bus", "Still holds: open, to flute", "e", ("alto2",)),
    ]
    tune = band.state.tunes["bus"]
    order = part_order(tune, tune.parts["p-alto2"].current)
    assert [(step.bar, step.label) for step in order.steps if step.label] == [(29, "open, to flute")]


def test_what_holds_is_set_at_the_first_bar_where_a_cut_begins_the_tune() -> None:
    band = small_band()
    with_asides(band)
    band.do(c.MakeCut("e", "bus", "top", "D"), MD)
    tune = band.state.tunes["bus"]
    order = part_order(tune, tune.parts["p-alto2"].current)
    assert (order.steps[0].bar, order.steps[0].label) == (29, "open, to flute")


def test_the_md_is_told_who_has_notes_leading_out_of_a_cut_until_they_keep_them() -> None:
    band = small_band()
    with_asides(band)
    band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    row = tune_view(band.state, band.state.tunes["bus"]).edits[0]
    assert (row.leads, row.leads_from) == (("alto2",), "bar 28")
    band.do(say("k", "pickup", row.leads_from, chairs=list(row.leads)), MD)
    view = tune_view(band.state, band.state.tunes["bus"])
    assert (view.edits[0].leads, view.pickups[0].chairs) == ((), ("alto2",))


@pytest.mark.parametrize(
    ("left_out", "landing", "bind"),
    [
        (["Cup mute", "open"], [], ("open",)),
        (["Cup mute"], ["open"], ()),
        (["(Harmon mute)", "to Flute", "mf", "like the wind"], ["solo"], ("Harmon mute", "to Flute")),
        (["pizz.", "a tempo", "arco"], [], ("a tempo", "arco")),
        (["Solo (open)"], [], ("Solo (open)",)),
        (["2", "Trumpet"], [], ()),
    ],
)
def test_which_instructions_bind(left_out: list[str], landing: list[str], bind: tuple[str, ...]) -> None:
    """The trade's words: common practice."""
    assert binding(left_out, landing) == bind
