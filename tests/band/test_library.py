"""Tunes, rulers, parts and the set."""

import pytest

from band.bands import RULER, part, small_band
from collaparte.band.views import set_view, touched
from collaparte.wire import commands as c
from collaparte.wire.chart import Chart, ChartBar, ChartEnding, ChartMark, ChartRepeat, ChartSign
from collaparte.wire.setlist import SetItem
from collaparte.wire.views import TuneRow


def test_the_set_in_order_then_the_rest_by_title() -> None:
    band = small_band()
    band.do(c.AddTune("waltz", "a Waltz"))
    band.do(c.AddTune("bus2", "Night Bus"))
    band.do(c.SetTheSet((SetItem("ember"), SetItem("bus"))))
    assert set_view(band.state).tunes == (
        TuneRow("ember", "Ember", True),
        TuneRow("bus", "Night Bus", True),
        TuneRow("waltz", "a Waltz", False),
        TuneRow("bus2", "Night Bus", False),
    )
    assert band.do(c.SetTheSet((SetItem("ember"), SetItem("bus")))) == ()


def test_a_newer_version_of_a_part_takes_its_place_and_the_same_file_changes_nothing() -> None:
    band = small_band()
    again = part("bus", "p-alto2", "2nd Alto", (bar.id for bar in RULER.bars))
    assert band.do(again) == ()
    band.do(part("bus", "p-alto2", "2nd Alto", ("b1", None), "v2"))
    kept = band.state.tunes["bus"].parts["p-alto2"]
    assert [version.version for version in kept.versions] == ["v1", "v2"]
    assert kept.current.bars == ("b1", None)


def test_a_chair_plays_none_one_or_several_parts() -> None:
    band = small_band()
    band.do(part("bus", "p-flute", "Flute", ()))
    assert band.do(c.SeatParts("bus", "alto2", ("p-alto2",))) == ()
    band.do(c.SeatParts("bus", "alto2", ("p-flute", "p-alto2", "p-flute")))
    band.do(c.SeatParts("bus", "alto1", ("p-flute",)))
    tune = band.state.tunes["bus"]
    assert [one.id for one in tune.seated("alto2")] == ["p-flute", "p-alto2"]
    assert [one.id for one in tune.seated("alto1")] == ["p-flute"]
    assert tune.seated("drums") == ()


def test_what_changed_is_shown_anew_and_nothing_else() -> None:
    band = small_band()
    before = band.state
    band.do(c.BringPart("ember", "p", "Lead", "o", None, "v", "r", "", "p", (), as_printed=True))
    now = touched(before, band.state)
    assert (now.parts, now.tunes) == ({"ember"}, frozenset())
    assert not (now.band or now.set or now.position or now.markings)
    before = band.state
    band.do(c.RenameChair("alto1", "Lead Alto"))
    assert touched(before, band.state).band
    before = band.state
    band.do(c.MakeCut("e", "bus", "C", "D"))
    now = touched(before, band.state)
    assert now.tunes == now.parts == {"bus"} and not now.band
    assert touched(band.state, band.state).tunes == frozenset()


BARS = (ChartBar("b1", 1), ChartBar("b2", 2))


@pytest.mark.parametrize(
    ("command", "why"),
    [
        (c.AddTune("bus", "Night Bus"), '"Night Bus" is in the library already.'),
        (c.AddTune("x", " "), "A tune needs a name."),
        (c.AddTune("", "X"), "A tune needs an id."),
        (
            c.SetTheSet((SetItem("bus", id="x"), SetItem("bus", id="x"))),
            '"Night Bus" is in that set twice as the same row; give one of them another id, or none.',
        ),
        (c.SetTheSet((SetItem("bus"), SetItem("waltz"))), 'There is no tune "waltz" in the library.'),
        (c.MintRuler("bus", Chart(BARS)), '"Night Bus" has its bars already; they are never counted anew.'),
        (c.MintRuler("ember", Chart()), "The chart has no bars."),
        (c.MintRuler("ember", Chart((BARS[0], BARS[0]))), "The chart has the same bar id twice."),
        (c.MintRuler("ember", Chart((ChartBar("", 1),))), "The chart has a bar without an id."),
        (
            c.MintRuler("ember", Chart(BARS, marks=(ChartMark("A", "x"),))),
            "The mark 'A' of the chart stands at a bar that the chart does not have ('x').",
        ),
        (
            c.MintRuler("ember", Chart(BARS, signs=(ChartSign("da-bar", "b1", "end"),))),
            "The chart has a sign of an unknown kind ('da-bar').",
        ),
        (
            c.MintRuler("ember", Chart(BARS, repeats=(ChartRepeat("end", "b1", 0),))),
            "The chart has a repeat that is played 0 times.",
        ),
        (
            c.MintRuler("ember", Chart(BARS, endings=(ChartEnding((1,), "b2", "b1"),))),
            "The chart has an ending whose last bar comes before its first.",
        ),
        (part("waltz", "p", "P", ()), 'There is no tune "waltz" in the library.'),
        (part("bus", "p", "P", ("x",)), 'The part "P" names bars that "Night Bus" does not have.'),
        (part("ember", "p", "P", ("b1",)), 'The part "P" names bars that "Ember" does not have.'),
        (part("bus", "", "P", ()), 'The part "P" came without its id or its file.'),
        (c.SeatParts("bus", "tuba", ()), 'There is no chair "tuba" in this band.'),
        (c.SeatParts("bus", "keys", ("p",)), '"Night Bus" has no part "p".'),
    ],
)
def test_refused_in_words(command: c.Command, why: str) -> None:
    band = small_band()
    assert band.refused(command) == why


def test_the_same_ruler_again_changes_nothing() -> None:
    assert small_band().do(c.MintRuler("bus", RULER)) == ()
