"""Dates opened and closed by hand; what was decided for one goes with it, what is kept stays."""

import pytest

from band.bands import ALTO2, LEADER, MD, Band, small_band
from collaparte.band import history, views
from collaparte.band.apply import fold
from collaparte.band.decide import decide
from collaparte.band.roles import Refusal, Who
from collaparte.wire import commands as c
from collaparte.wire.codec import decode_event, encode
from collaparte.wire.edits import Cut, Edit
from collaparte.wire.events import EditMade
from collaparte.wire.views import DateView


def open_date(band: Band, id: str = "d1", name: str = "Tuesday") -> None:
    band.do(c.OpenDate(id, name, "rehearsal", "2026-11-24"), LEADER)


def held(band: Band, tune: str = "bus") -> set[str]:
    return set(band.state.tunes[tune].edits)


def test_one_date_at_a_time() -> None:
    band = small_band()
    assert views.date_view(band.state) == DateView()
    open_date(band)
    assert views.date_view(band.state) == DateView("d1", "Tuesday", "rehearsal", "2026-11-24")
    assert band.do(c.OpenDate("d1", "Tuesday", "rehearsal"), LEADER) == ()
    assert band.refused(c.OpenDate("d2", "Harbour", "gig"), LEADER) == '"Tuesday" is open: close it first.'
    band.do(c.CloseDate("d1"), MD)
    assert band.do(c.CloseDate("d1"), MD) == ()
    open_date(band, "d2", "Harbour")
    assert [date.open for date in history.date_rows(band.state)] == [True, False]


@pytest.mark.parametrize(
    ("command", "why"),
    [
        (c.OpenDate("d", " ", "gig"), "A date needs a name."),
        (c.OpenDate("", "Harbour", "gig"), "A date needs an id."),
        (
            c.OpenDate("d", "Harbour", "gig", "25.11."),
            '"25.11." is no day: write it as year-month-day, 2026-11-25 say.',
        ),
        (c.OpenDate("d", "Harbour", "gig", "2026-02-30"), '"2026-02-30" is no day'),
        (c.CloseDate("d"), "There is no such date to close."),
        (c.TakeOver("t", "d"), "There is no such date to take anything over from."),
        (c.KeepEdit("e", True), "There is no such edit to keep: it was taken back."),
    ],
)
def test_what_cannot_be_is_told(command: c.Command, why: str) -> None:
    assert why in small_band().refused(command)


def test_what_was_decided_for_a_date_goes_with_it_and_what_is_kept_stays() -> None:
    band = small_band()
    band.do(c.MakeCut("before", "bus", "B", "C"), MD)
    open_date(band)
    (made,) = band.do(c.MakeCut("tonight", "bus", "C", "D"), MD)
    assert isinstance(made, EditMade) and made.edit.date == "d1"
    band.do(c.MakeCut("always", "bus", "bar 2", "bar 4", kept=True), MD)
    revision = band.state.tunes["bus"].revision
    band.do(c.CloseDate("d1"), LEADER)
    # What was decided before any date was open was for the next one.
    assert held(band) == {"always"}
    assert band.state.tunes["bus"].played.cut == ((1, 2),)
    assert band.state.tunes["bus"].revision == revision + 1
    assert band.do(c.MakeEdit(made.edit), MD) == (), "one that went is not made again by a stand that was away"


def test_at_the_end_everything_may_be_kept() -> None:
    band = small_band()
    open_date(band)
    band.do(c.MakeCut("tonight", "bus", "C", "D"), MD)
    band.do(c.CloseDate("d1", keep=True), LEADER)
    assert band.state.tunes["bus"].edits["tonight"].edit.kept
    open_date(band, "d2", "Harbour")
    band.do(c.CloseDate("d2"), LEADER)
    assert held(band) == {"tonight"}


def test_an_edit_is_kept_and_no_longer_kept() -> None:
    band = small_band()
    open_date(band)
    band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    before = band.state
    band.do(c.KeepEdit("e", True), MD)
    assert views.tune_view(band.state, band.state.tunes["bus"]).edits[0].kept
    touched = views.touched(before, band.state)
    assert touched.tunes == {"bus"} and not touched.parts, "nothing is laid anew for it"
    assert band.do(c.KeepEdit("e", True), MD) == ()
    band.do(c.KeepEdit("e", False), MD)
    band.do(c.CloseDate("d1"), LEADER)
    assert held(band) == set()
    assert "Only the MD" in band.refused(c.KeepEdit("e", True), LEADER)


def test_the_position_belongs_to_the_date_and_nothing_stale_acts() -> None:
    band = small_band()
    open_date(band)
    band.do(c.Call("bus", "C"), LEADER)
    band.do(c.Next("ember"), LEADER)
    band.do(c.CloseDate("d1"), LEADER)
    here = views.position_view(band.state)
    assert (here.call, here.tune, here.next, here.previous, here.returns_to) == (3, None, None, None, None)
    for command in (c.Call("bus"), c.Next("bus"), c.MakeCut("e", "bus", "C", "D")):
        assert "came too late: the date is another since it was asked." in band.refused(command, call=2)
    open_date(band, "d2")
    assert "the date is another" in band.refused(c.Call("bus"), call=3)
    assert band.refused(c.From("C")) == "No tune has been called yet, so there is nothing to start from."


def test_a_date_closed_by_mistake_is_opened_again_as_it_was() -> None:
    band = small_band()
    open_date(band)
    band.do(c.Call("bus"), LEADER)
    band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    called = band.state.position.call
    band.do(c.CloseDate("d1"), LEADER)
    open_date(band)
    assert held(band) == {"e"} and band.state.tunes["bus"].played.cut == ((23, 31),)
    here = band.state.position
    assert (here.tune, here.returns_to) == ("bus", called), "every stand returns to where it was"
    band.do(c.TakeBackEdit("e"), MD)
    band.do(c.CloseDate("d1"), LEADER)
    open_date(band, "d2")
    band.do(c.CloseDate("d2"), LEADER)
    assert "only the last one can be opened again" in band.refused(c.OpenDate("d1", "Tuesday", "rehearsal"))


def test_an_edit_for_a_date_that_is_over_is_not_taken_from_a_stand() -> None:
    band = small_band()
    open_date(band)
    band.do(c.CloseDate("d1"), LEADER)
    late = Edit("e", "bus", Cut("b20", "b29"), "keys", "d1")
    assert band.refused(c.MakeEdit(late), MD) == 'That edit was for "Tuesday", which is closed.'


def test_as_at_the_last_rehearsal_to_look_at_and_to_take_over() -> None:
    band = small_band()
    open_date(band)
    band.do(c.MakeCut("a", "bus", "C", "D"), MD)
    band.do(c.MakeCut("b", "bus", "bar 2", "bar 4", kept=True), MD)
    band.do(c.CloseDate("d1"), LEADER)
    open_date(band, "d2", "Harbour")
    band.do(c.TakeBackEdit("b"), MD)
    band.do(c.MakeCut("c", "bus", "bar 36", "end"), MD)
    before = band.state
    rows = history.stood_rows(band.state, "d1")
    assert [(row.words, row.by, row.kept, row.holds) for row in rows] == [
        ("Cut C to D", "Keys", False, False),
        ("Cut bar 2 to bar 4", "Keys", True, False),
    ]
    assert [row.words for row in history.stood_rows(band.state, "d2")] == ["Cut bar 36 to the end"]

    band.do(c.TakeOver("t", "d1"), MD)
    assert band.state.tunes["bus"].played.cut == ((1, 2), (23, 31))
    assert all(row.holds for row in history.stood_rows(band.state, "d1"))
    assert band.do(c.TakeOver("t", "d1"), MD) == () == band.do(c.TakeOver("u", "d1"), MD)
    # What was for that date is for this one now; what was kept is kept.
    band.do(c.CloseDate("d2"), LEADER)
    assert band.state.tunes["bus"].played.cut == ((1, 2),)
    assert before.tunes["bus"].played.cut == ((39, 43),)


def test_one_tune_is_taken_over_alone() -> None:
    band = small_band()
    open_date(band)
    band.do(c.CloseDate("d1"), LEADER)
    open_date(band, "d2")
    band.do(c.MakeCut("c", "bus", "C", "D"), MD)
    band.do(c.TakeOver("t", "d1", "ember"), MD)
    assert held(band) == {"c"}
    band.do(c.TakeOver("u", "d1", "bus"), MD)
    assert held(band) == set()


def test_history_says_what_when_by_whom_on_which_date() -> None:
    band = small_band()
    open_date(band)
    band.do(c.Call("bus", "C"), LEADER)
    band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    band.do(c.KeepEdit("e", True), MD)
    band.do(c.GiveRole("alto2", "leader"), LEADER)
    band.do(c.TakeBackEdit("e"), MD)
    band.do(c.MakeCut("f", "bus", "C", "D"), MD)
    band.do(c.CloseDate("d1"), LEADER)
    band.do(c.Call("ember"), LEADER)
    decided = [(n, f"at {n}", event) for n, event in enumerate(band.log, 1)]
    rows = history.rows(band.state, decided)
    assert [(row.date, row.by, row.tune, row.words) for row in rows] == [
        ("d1", "Alto 1", "", "Opened: Tuesday (rehearsal)"),
        ("d1", "Alto 1", "Night Bus", "Called, from C"),
        ("d1", "Keys", "Night Bus", "Cut C to D"),
        ("d1", "Keys", "Night Bus", "Kept: cut C to D"),
        ("d1", "Alto 1", "", "Alto 2 may lead too"),
        ("d1", "Keys", "Night Bus", "C to D is back in"),
        ("d1", "Keys", "Night Bus", "Cut C to D"),
        ("d1", "Alto 1", "", "Closed, 1 edit gone with it"),
        ("", "Alto 1", "Ember", "Called"),
    ]
    assert rows[0].at == f"at {rows[0].seq}"


def test_the_lead_is_handed_on_until_the_date_is_closed() -> None:
    band = small_band()
    open_date(band)
    assert "Only the leader" in band.refused(c.Call("bus"), ALTO2)
    band.do(c.GiveRole("alto2", "leader"), LEADER)
    assert band.do(c.GiveRole("alto2", "leader"), LEADER) == ()
    band.do(c.Call("bus"), ALTO2)
    assert views.position_view(band.state).by == "Alto 2"
    assert views.roles_view(band.state, (), ("alto2",)).roles == ("leader",)
    assert views.roles_view(band.state, ("md",), ("keys",)).given == (("alto2", ("leader",)),)
    # Whoever leads may hand it on, and take it from another.
    band.do(c.GiveRole("drums", "leader"), ALTO2)
    band.do(c.TakeRole("drums", "leader"), LEADER)
    assert band.do(c.TakeRole("drums", "leader"), LEADER) == ()
    assert "Only the leader" in band.refused(c.Call("ember"), Who(("drums",), "drums"))
    band.do(c.CloseDate("d1"), LEADER)
    assert "Only the leader" in band.refused(c.Call("bus"), ALTO2)


def test_a_role_is_the_chairs_and_not_another_chairs() -> None:
    band = small_band()
    band.do(c.GiveRole("alto2", "md"), MD)
    decided = decide(band.state, c.MakeCut("e", "bus", "C", "D"), Who(("trumpet1",), "trumpet1"), 0)
    assert isinstance(decided, Refusal)
    assert band.refused(c.GiveRole("ghost", "md"), MD) == 'There is no chair "ghost" in this band.'


def test_of_two_leaders_the_last_word_by_the_hubs_order_stands() -> None:
    band = small_band()
    band.do(c.GiveRole("alto2", "leader"), LEADER)
    under = band.state.position.call
    band.do(c.Call("bus"), LEADER, call=under)
    # The second call was meant for the moment before the first: its asker is told, and may ask again.
    assert 'came too late: "Night Bus" has been called' in band.refused(c.Call("ember"), ALTO2, call=under)
    band.do(c.Call("ember"), ALTO2)
    assert (band.state.position.tune, views.position_view(band.state).by) == ("ember", "Alto 2")
    band.do(c.Next("bus"), LEADER)
    band.do(c.Next("ember"), ALTO2)
    assert band.state.position.next == "ember", "naming the next twice under one call: the last word"


def test_the_log_of_dates_is_the_state() -> None:
    band = small_band()
    open_date(band)
    band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    band.do(c.CloseDate("d1"), LEADER)
    open_date(band)
    assert fold(decode_event(encode(event)) for event in band.log) == band.state
