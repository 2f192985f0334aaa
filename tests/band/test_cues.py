"""An open stretch is cued, and who plays it next is said: now or not at all."""

import pytest

from band.bands import ALTO2, LEADER, MD, Band, small_band
from collaparte.band.views import NOW, position_view, slips
from collaparte.wire import commands as c
from collaparte.wire.views import Slip


def open_band() -> Band:
    """ "Night Bus" is on, and open from C to D."""
    band = small_band()
    band.do(c.SayEdit("e", "bus", "open", "C", "D"), MD)
    band.do(c.Call("bus"), LEADER)
    return band


def test_a_cue_says_that_the_next_ending_is_the_last_and_where_it_goes_on() -> None:
    band = open_band()
    made = band.do(c.Cue("e"), MD)
    assert slips(band.state, made) == [Slip("bus", "Last time: C to D, then D", "e", at=NOW)]
    assert position_view(band.state).cued == ("e",)
    assert band.do(c.Cue("e"), LEADER) == (), "once more changes nothing"
    back = band.do(c.Cue("e", last=False), MD)
    assert [slip.words for slip in slips(band.state, back)] == ["Not yet: C to D is still open"]
    assert position_view(band.state).cued == ()


def test_over_a_written_repeat_the_last_time_goes_on_behind_its_last_round() -> None:
    band = small_band()
    band.do(c.SayEdit("e", "bus", "open", "B", "bar 13"), MD)
    band.do(c.Call("bus"), LEADER)
    made = band.do(c.Cue("e"), MD)
    assert slips(band.state, made)[0].words == "Last time: B to bar 13, then bar 13"


def test_who_plays_next_is_said_by_chair_or_in_any_words() -> None:
    band = open_band()
    said = band.do(c.NamePlayer("e", "alto2"), LEADER)
    assert slips(band.state, said)[0].words == "C to D, next: Alto 2"
    assert position_view(band.state).players == {"e": "Alto 2"}
    assert band.do(c.NamePlayer("e", "alto2"), MD) == ()
    band.do(c.NamePlayer("e", " trumpets,  then drums "), MD)
    assert position_view(band.state).players == {"e": "trumpets, then drums"}
    band.do(c.NamePlayer("e", ""), MD)
    assert position_view(band.state).players == {}


@pytest.mark.parametrize("next_call", [c.Call("bus"), c.From("B"), c.TakeBackCall(1)])
def test_what_was_cued_holds_for_its_call_only(next_call: c.Command) -> None:
    band = open_band()
    band.do(c.Cue("e"), MD)
    band.do(c.NamePlayer("e", "alto2"), MD)
    band.do(next_call)
    assert (band.state.position.cued, band.state.position.players) == ((), {})
    assert "came too late" in band.refused(c.Cue("e", last=False), MD, call=1)


@pytest.mark.parametrize(
    ("before", "why"),
    [
        ([c.TakeBackEdit("e")], "That stretch is not open any more, so there is nothing to cue."),
        ([c.MakeCut("2", "bus", "C", "D")], "That stretch is not open, so there is nothing to cue."),
        ([c.Call("ember")], '"Night Bus" is not on, so there is nothing to cue in it.'),
    ],
)
def test_where_nothing_is_open_nothing_is_cued(before: list[c.Command], why: str) -> None:
    band = open_band()
    for command in before:
        band.do(command)
    assert band.refused(c.Cue("e"), MD) == why


def test_only_who_leads_or_directs_may_cue() -> None:
    assert open_band().refused(c.Cue("e"), ALTO2) == "Only the MD or the leader may cue."
    assert "60 letters" in open_band().refused(c.NamePlayer("e", "x" * 61), MD)
