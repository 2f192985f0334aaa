"""Next, call, from, and a call taken back."""

from band.bands import LEADER, MD, small_band
from collaparte.band.views import position_view
from collaparte.wire import commands as c
from collaparte.wire.views import PositionView


def test_next_and_call_are_two_acts() -> None:
    band = small_band()
    band.do(c.Next("bus"), LEADER)
    assert position_view(band.state) == PositionView(call=0, tune=None, next="bus")
    band.do(c.Call("bus"), LEADER)
    assert position_view(band.state) == PositionView(call=1, tune="bus", by="Alto 1", previous=0)


def test_a_request_in_between_leaves_next_as_it_was() -> None:
    band = small_band()
    band.do(c.Next("bus"), LEADER)
    band.do(c.Call("ember"), LEADER)
    assert band.state.position.next == "bus"
    assert band.do(c.Next("bus"), LEADER) == ()
    band.do(c.Next(None), LEADER)
    assert band.state.position.next is None


def test_from_turns_to_a_place_under_a_new_number() -> None:
    band = small_band()
    assert band.refused(c.From("C"), MD) == "No tune has been called yet, so there is nothing to start from."
    band.do(c.Call("bus"), LEADER)
    band.do(c.From(" 2  before B "), MD)
    view = position_view(band.state)
    assert (view.call, view.tune, view.start, view.start_pass) == (2, "bus", "b7", 1)
    assert (view.words, view.by, view.previous) == ("2 before B", "Keys", 1)
    band.do(c.From("B second time"), MD)
    assert (band.state.position.start, band.state.position.start_pass) == ("b9", 2)


def test_a_place_that_is_cut_or_not_there_is_refused_with_the_nearest() -> None:
    band = small_band()
    band.do(c.Call("bus"), LEADER)
    band.do(c.MakeCut("e", "", "C", "D"), MD)
    assert band.refused(c.From("bar 22"), LEADER) == '"bar 22" is cut; the nearest that is played is D.'
    assert band.refused(c.Call("bus", "K"), LEADER) == 'There is no "K" in this tune; the nearest mark is "D".'
    assert band.refused(c.Call("ember", "C"), LEADER).startswith('No bars of "Ember" have been read')
    assert band.refused(c.Call("waltz"), LEADER) == 'There is no tune "waltz" in the library.'


def test_a_call_taken_back_returns_everyone_under_a_number_of_its_own() -> None:
    band = small_band()
    band.do(c.Call("bus"), LEADER)
    band.do(c.From("C"), LEADER)
    band.do(c.Next("ember"), LEADER)
    band.do(c.Call("ember"), LEADER)
    assert (band.state.position.call, band.state.position.next) == (3, None)
    band.do(c.TakeBackCall(3), LEADER)
    view = position_view(band.state)
    assert (view.call, view.tune, view.start, view.words) == (4, "bus", "b20", "C")
    assert (view.returns_to, view.previous, view.next) == (2, None, "ember")
    assert band.refused(c.TakeBackCall(4), LEADER) == "There is no call to take back."
    assert "cannot be taken back any more" in band.refused(c.TakeBackCall(3), LEADER)
    band.do(c.Call("ember"), LEADER)
    assert (band.state.position.call, band.state.position.returns_to) == (5, None)
    band.do(c.TakeBackCall(5), LEADER)
    assert (band.state.position.tune, band.state.position.returns_to) == ("bus", 4)


def test_the_first_call_taken_back_leaves_no_tune_on() -> None:
    band = small_band()
    band.do(c.Call("bus"), LEADER)
    band.do(c.TakeBackCall(1), LEADER)
    view = position_view(band.state)
    assert (view.call, view.tune, view.returns_to, view.previous) == (2, None, 0, None)
    assert band.refused(c.Call("bus"), LEADER, call=1).startswith("This call came too late: the call was taken back")
