"""The set: order, alternatives, segue and straight through, breaks and times."""

import json
from pathlib import Path
from typing import Any

import msgspec
import pytest

from band.bands import LEADER, RULER, Band, small_band
from collaparte.band import setlist, timing
from collaparte.band.apply import fold
from collaparte.band.views import set_view, touched, tune_view
from collaparte.wire import commands as c
from collaparte.wire.chart import Chart, ChartBar, ChartMeter, ChartRepeat
from collaparte.wire.events import SetPut
from collaparte.wire.setlist import SetItem

BREAK = SetItem(notes="Break", seconds=1200)


def gig() -> Band:
    """bus, on to ember (or waltz), then a break, then coda."""
    band = small_band()
    for tune in ("waltz", "coda"):
        band.do(c.AddTune(tune, tune.title()))
    band.do(
        c.SetTheSet(
            (
                SetItem("bus", then="segue", key=" Eb ", notes="Horns  stand up"),
                SetItem("ember", then="on", seconds=200),
                SetItem("waltz", instead=True, then="on"),
                BREAK,
                SetItem("coda", then="on"),
            )
        ),
        LEADER,
    )
    return band


def test_the_set_as_it_is_shown() -> None:
    band = gig()
    view = set_view(band.state)
    assert [row.tune for row in view.tunes] == ["bus", "ember", "waltz", "coda"]
    assert view.items[0] == SetItem("bus", then="segue", key="Eb", notes="Horns stand up")
    assert view.by == "Alto 1"
    assert band.do(c.SetTheSet(view.items, view.revision), LEADER) == ()


def test_a_set_that_another_changed_is_looked_at_again() -> None:
    band = gig()
    revision = band.state.set.revision
    band.do(c.SetTheSet((SetItem("bus"),), revision), LEADER)
    why = band.refused(c.SetTheSet((SetItem("ember"),), revision), LEADER)
    assert why == "The set was changed by Alto 1 since you looked at it: look again, then change it."
    band.do(c.SetTheSet((SetItem("ember"),)), LEADER)


@pytest.mark.parametrize(
    ("items", "why"),
    [
        ((SetItem("bus", id="x"), SetItem("bus", id="x")), '"Night Bus" is in that set twice as the same row'),
        ((SetItem("bus", id="x" * 65),), 'The id of a row of "Night Bus" is longer than 64 characters; shorten it.'),
        ((SetItem(notes="Break", id="x"),), "A break has a name and a length only"),
        ((SetItem("polka"),), 'There is no tune "polka" in the library.'),
        ((SetItem("bus", instead=True),), '"Night Bus" stands in for the tune before it, but there is none before it.'),
        ((SetItem("ember"), BREAK, SetItem("bus", instead=True)), "there is none before it"),
        ((SetItem(key="Eb"),), "A break has a name and a length only"),
        ((SetItem("bus", seconds=0),), '"Night Bus" cannot take 0 seconds'),
        ((SetItem("bus", seconds=14401),), '"Night Bus" cannot take 14401 seconds'),
        ((SetItem("bus", key="x" * 25),), 'The key of "Night Bus" is longer than 24 characters; shorten it.'),
        ((SetItem("bus", notes="x" * 201),), 'The notes on "Night Bus" are longer than 200 characters; shorten them.'),
        ((SetItem("bus", notes="\u0007"),), 'What is said of "Night Bus" has characters that cannot be shown'),
    ],
)
def test_a_set_that_makes_no_sense_changes_nothing(items: tuple[SetItem, ...], why: str) -> None:
    assert why in small_band().refused(c.SetTheSet(items), LEADER)


def test_a_new_tune_is_the_last_of_the_set() -> None:
    band = gig()
    before = band.state
    band.do(c.AddTune("late", "Late"))
    assert band.state.set.items == (*before.set.items, SetItem("late"))
    assert touched(before, band.state).set


def test_straight_through_names_the_next_by_itself() -> None:
    band = gig()
    band.do(c.Call("bus"), LEADER)
    assert band.state.position.next == "ember", "the first of two alternatives"
    band.do(c.Call("ember"), LEADER)
    assert band.state.position.next is None, "a break comes: nothing is named by itself"
    band.do(c.Call("coda"), LEADER)
    assert band.state.position.next is None, "the end"


def test_the_leaders_plan_comes_before_what_the_set_says() -> None:
    band = gig()
    band.do(c.Next("coda"), LEADER)
    band.do(c.Call("bus"), LEADER)
    assert band.state.position.next == "coda"
    band.do(c.From("C"), LEADER)
    assert band.state.position.next == "coda"


def test_a_tune_played_instead_goes_on_to_the_same_place() -> None:
    band = gig()
    without_break = tuple(item for item in band.state.set.items if item.tune)
    band.do(c.SetTheSet(without_break), LEADER)
    for tune in ("ember", "waltz"):
        band.do(c.Call(tune), LEADER)
        assert band.state.position.next == "coda"


def test_a_call_taken_back_takes_the_next_that_it_named() -> None:
    band = gig()
    band.do(c.Next("bus"), LEADER)
    band.do(c.Call("bus"), LEADER)
    assert band.state.position.next == "ember"
    band.do(c.TakeBackCall(1), LEADER)
    assert (band.state.position.tune, band.state.position.next) == (None, "bus")
    band.do(c.Call("bus"), LEADER)
    band.do(c.Next("coda"), LEADER)
    band.do(c.TakeBackCall(3), LEADER)
    assert band.state.position.next == "coda", "what the leader named since is still the plan"


def test_a_call_out_of_order_and_a_request_leave_the_set_as_it_is() -> None:
    band = gig()
    order = band.state.set
    band.do(c.Call("coda"), LEADER)
    band.do(c.SetTheSet(order.items[:2]), LEADER)
    band.do(c.Call("waltz"), LEADER)
    assert band.state.position.tune == "waltz" and band.state.position.next is None
    assert band.state.set.items == order.items[:2]


def test_a_log_of_the_first_release_has_tunes_only() -> None:
    band = small_band()
    state = fold([SetPut(tunes=("ember", "bus"))], band.state)
    assert state.set.items == (SetItem("ember"), SetItem("bus")) and state.set_order == ("ember", "bus")


def test_how_long_the_set_takes_and_when_the_break_comes() -> None:
    items = gig().state.set.items
    found = setlist.times(items, {"bus": 241, "waltz": 9999}.get)
    assert found == setlist.Times(music=441, breaks=1200, unknown=1, stretches=(441, 0))
    assert setlist.times((), lambda _: None) == setlist.Times(0, 0, 0, (0,))


VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "set.json").read_text("utf-8"))


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: str(len(case["items"])))
def test_it_takes_as_long_as_the_stand_says(case: dict[str, Any]) -> None:
    items = msgspec.convert(case["items"], tuple[SetItem, ...])
    found = setlist.times(items, VECTORS["lasts"].get)
    assert found._asdict() == {
        name: tuple(value) if name == "stretches" else value for name, value in case.items() if name != "items"
    }


def bars(count: int, *meters: tuple[str, int], tempo: str = "= 120", pickup: bool = False) -> Chart:
    ids = [f"b{n}" for n in range(count)]
    return Chart(
        bars=tuple(ChartBar(id, n if pickup else n + 1) for n, id in enumerate(ids)),
        meters=tuple(ChartMeter(text, ids[at]) for text, at in meters),
        tempo=tempo,
        repeats=(ChartRepeat("end", ids[-1]),),
    )


@pytest.mark.parametrize(
    ("chart", "seconds"),
    [
        # By hand: bars x beats / beats a minute x 60; each is played twice.
        (bars(16, ("4/4", 0)), 64),
        (bars(16, ("3/4", 0), tempo="Jazz waltz (= 160)"), 36),
        (bars(16, ("6/8", 0), tempo="= 80"), 48),
        (bars(16, ("2/2", 0), tempo="Fast = 100"), 38),
        (bars(16, ("4/4", 0), ("2/4", 8)), 48),
        (bars(16, ("4/4", 0), tempo="Medium swing = (= 144)"), 53),
        (bars(16, ("4/4", 0), tempo="= c. 60,5"), 127),
        (bars(16, ("4/4", 0), tempo="Slowly"), None),
        (bars(16), None),
        (bars(16, ("4/4", 2)), None),
        (bars(16, ("5/8", 0)), None),
        (bars(16, ("C", 0)), None),
    ],
)
def test_how_long_a_tune_takes(chart: Chart, seconds: int | None) -> None:
    band = small_band()
    band.do(c.MintRuler("ember", chart))
    assert timing.seconds(band.state.tunes["ember"]) == seconds


def test_a_cut_makes_it_shorter() -> None:
    band = small_band()
    assert timing.seconds(band.state.tunes["ember"]) is None
    band.do(c.AddTune("x", "X"))
    timed = Chart(RULER.bars, RULER.marks, repeats=RULER.repeats, tempo="= 132", meters=(ChartMeter("4/4", "b1"),))
    band.do(c.MintRuler("x", timed))
    assert tune_view(band.state, band.state.tunes["x"]).seconds == 80
    band.do(c.MakeCut("e", "x", "C", "D"))
    assert tune_view(band.state, band.state.tunes["x"]).seconds == 64
