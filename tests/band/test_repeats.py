"""Whether repeats are taken again after a D.S. or D.C.: said of a tune, kept with it, told in words."""

import msgspec

from band.bands import ALTO2, LEADER, MD, RULER, Band, small_band
from collaparte.band import history
from collaparte.band.apply import apply, fold
from collaparte.band.roles import EVERY_ROLE
from collaparte.band.state import State
from collaparte.band.views import slips, touched, tune_view
from collaparte.music.form import run_length
from collaparte.wire import commands as c
from collaparte.wire.chart import Chart, ChartRepeat, ChartSign
from collaparte.wire.edits import Cut, Edit
from collaparte.wire.views import Slip

MINUET = msgspec.structs.replace(
    RULER,
    repeats=(ChartRepeat("end", "b10"), ChartRepeat("start", "b11"), ChartRepeat("end", "b30")),
    signs=(ChartSign("fine", "b30", "end"), ChartSign("dc-al-fine", "b40", "end")),
)
"""Two parts, each repeated, and a trio; D.C. al Fine."""
STRAIGHT = "1-10 1-30 11-40 1-30"
"""After the D.C. the repeats are not taken, as in the Humdrum list of Beethoven op. 18/1 iii ([A,A,B,B,C,C,D,A,B])."""
AGAIN = "1-10 1-30 11-40 1-10 1-30 11-30"
"""With `after-jump="yes"` at both (MusicXML 4.0, `repeat`)."""


def minuet(chart: Chart = MINUET) -> Band:
    band = Band()
    band.do(c.NameBand("The Late Tram"))
    for id, section in (("alto1", "Saxes"), ("alto2", "Saxes"), ("keys", "Rhythm")):
        band.do(c.AddChair(id, id, section))
    band.do(c.AddTune("minuet", "Minuet in Mufti"))
    band.do(c.MintRuler("minuet", chart))
    return band


def order(state: State) -> str:
    return run_length(int(step.bar[1:]) for step in state.tunes["minuet"].played.steps())


def test_it_is_said_and_unsaid() -> None:
    band = minuet()
    before = band.state
    assert order(before) == STRAIGHT
    said = band.do(c.TakeRepeats("minuet", True), MD)
    tune = band.state.tunes["minuet"]
    assert order(band.state) == AGAIN
    assert (tune_view(band.state, tune).repeats_after_jump, tune.revision) == (True, 1)
    assert slips(band.state, said) == [Slip("minuet", "Repeats after the D.C.: taken again")]
    assert touched(before, band.state).tunes == touched(before, band.state).parts == {"minuet"}
    assert band.do(c.TakeRepeats("minuet", True), MD) == ()
    band.do(c.TakeRepeats("minuet", None), EVERY_ROLE)
    assert order(band.state) == STRAIGHT
    (row,) = history.rows(band.state, [(9, "2026-11-25T21:34:00+01:00", said[0])])
    assert (row.by, row.tune, row.words) == ("keys", "Minuet in Mufti", "Repeats after the D.C.: taken again")
    assert order(fold(band.log)) == STRAIGHT


def test_what_is_said_holds_over_what_is_printed() -> None:
    printed = (msgspec.structs.replace(one, after_jump=one.side == "end") for one in MINUET.repeats)
    band = minuet(msgspec.structs.replace(MINUET, repeats=tuple(printed)))
    assert (order(band.state), band.state.tunes["minuet"].repeats_after_jump) == (AGAIN, True)
    band.do(c.TakeRepeats("minuet", False), MD)
    assert order(band.state) == STRAIGHT
    band.do(c.TakeRepeats("minuet", None), MD)
    assert order(band.state) == AGAIN


def test_it_outlives_the_date_and_a_ruler_mended() -> None:
    band = minuet()
    band.do(c.OpenDate("d", "Harbour", "gig"))
    band.do(c.TakeRepeats("minuet", True), MD)
    band.do(c.CloseDate("d"))
    assert order(band.state) == AGAIN
    band.do(c.MendRuler("minuet", msgspec.structs.replace(MINUET, marks=())))
    assert order(band.state) == AGAIN


def test_without_repeats_leaves_out_those_after_the_jump_as_well() -> None:
    band = minuet()
    band.do(c.TakeRepeats("minuet", True), MD)
    band.do(c.SayEdit("e", "minuet", "no-repeats"), MD)
    assert order(band.state) == "1-40 1-30"
    band.do(c.TakeBackEdit("e"), MD)
    assert order(band.state) == AGAIN


def test_where_it_makes_no_difference_it_is_not_asked() -> None:
    band = small_band()
    bus = band.state.tunes["bus"]
    assert tune_view(band.state, bus).repeats_after_jump is None
    why = band.refused(c.TakeRepeats("bus", True), MD)
    assert why == '"Night Bus" has no repeats that come again after a D.S. or D.C.'
    assert 'no tune "ghost"' in band.refused(c.TakeRepeats("ghost", True), MD)
    assert "Only the MD or the librarian" in band.refused(c.TakeRepeats("bus", True), LEADER)
    assert "Only the MD or the librarian" in band.refused(c.TakeRepeats("bus", True), ALTO2)


def test_a_cut_that_would_leave_nothing_holds_it_off() -> None:
    signs = (ChartSign("segno", "b1", "start"), ChartSign("ds", "b2", "end"))
    two = Chart(RULER.bars[:2], repeats=(ChartRepeat("end", "b2"),), signs=signs)
    band = minuet(two)
    band.do(c.TakeRepeats("minuet", True), MD)
    assert order(band.state) == "1-2 1-2 1-2 1-2"
    band.do(c.MakeEdit(Edit("e1", "minuet", Cut("b2", None, (4,)))), MD)
    band.do(c.TakeRepeats("minuet", None), MD)
    band.do(c.MakeEdit(Edit("e2", "minuet", Cut("b1", "b2"))), MD)
    band.do(c.MakeEdit(Edit("e3", "minuet", Cut("b2", "b1"))), MD)
    assert order(band.state) == "2"
    before = band.state
    assert "would leave nothing" in band.refused(c.TakeRepeats("minuet", True), MD)
    assert band.state is before


def test_an_older_hub_has_never_heard_of_it() -> None:
    band = minuet()
    (said,) = band.do(c.TakeRepeats("minuet", True), MD)
    # A log of an earlier release has no such event: the tune is played as printed.
    assert order(fold(event for event in band.log if event is not said)) == STRAIGHT
    assert apply(State(), said).tunes == {}
