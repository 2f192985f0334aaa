"""The played order in a part's own bars."""

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from band.bands import MD, RULER, Band, part, small_band
from collaparte.band.parts import PartOrder, PartStep, kept_pickups, part_order
from collaparte.hub.tails import laying_steps
from collaparte.wire import commands as c
from collaparte.wire.chart import ChartEnding, ChartRepeat, ChartSign

ALL = [bar.id for bar in RULER.bars]


def order_of(band: Band, part_id: str = "p-alto2") -> PartOrder:
    tune = band.state.tunes["bus"]
    return part_order(tune, tune.parts[part_id].current)


def test_a_short_repeat_stays_between_its_signs_and_a_long_one_is_written_out() -> None:
    band = small_band()
    order = order_of(band)
    assert [step.bar for step in order.steps] == list(range(1, 41))
    assert [step.number for step in order.steps if step.kept] == [9, 10, 11, 12]
    assert not any(step.join or step.label or step.starts or step.ends for step in order.steps)
    band.do(c.AddTune("long", "Long"))
    band.do(c.MintRuler("long", msgspec.structs.replace(RULER, repeats=(RULER.repeats[0], ChartRepeat("end", "b17")))))
    band.do(part("long", "p", "P", ALL))
    tune = band.state.tunes["long"]
    order = part_order(tune, tune.parts["p"].current)
    assert [step.bar for step in order.steps] == [*range(1, 18), *range(9, 41)]
    assert [step.position for step in order.steps] == list(range(49))
    assert [(step.bar, step.label) for step in order.steps if step.join] == [(9, "2nd time")]
    assert order.told == ()


def test_a_short_repeat_without_a_sign_at_its_start_gets_one_unless_it_is_the_first() -> None:
    band = small_band()
    ends = (ChartRepeat("end", "b4"), ChartRepeat("end", "b8"))
    signs = (
        ChartSign("dc-al-coda", "b20", "end"),
        ChartSign("to-coda", "b6", "end"),
        ChartSign("coda", "b37", "start"),
    )
    band.do(c.AddTune("bare", "Bare"))
    band.do(
        c.MintRuler("bare", msgspec.structs.replace(RULER, repeats=(*ends, ChartRepeat("end", "b40")), signs=signs))
    )
    band.do(part("bare", "p", "P", ALL))
    tune = band.state.tunes["bare"]
    order = part_order(tune, tune.parts["p"].current)
    assert [step.bar for step in order.steps] == [*range(1, 21), *range(1, 7), *range(37, 41)]
    # From the top it goes without saying; the second begins behind the first's end, the coda's where that begins.
    assert [(step.bar, step.label, step.kept) for step in order.steps if step.starts] == [(5, "", True), (37, "", True)]


def test_whether_the_printed_jumps_are_followed() -> None:
    band = small_band()
    band.do(c.AddTune("jumps", "Jumps"))
    signs = (ChartSign("segno", "b20", "start"), ChartSign("ds", "b30", "end"))
    band.do(c.MintRuler("jumps", msgspec.structs.replace(RULER, signs=signs)))
    band.do(part("jumps", "p", "P", ALL))

    def order(tune: str = "jumps", id: str = "p") -> PartOrder:
        return part_order(band.state.tunes[tune], band.state.tunes[tune].parts[id].current)

    assert order().followed is True and any(step.join for step in order().steps)
    band.do(c.SayEdit("e", "jumps", "no-jumps"), MD)
    left = order()
    assert left.followed is True and not any(step.join for step in left.steps)
    assert {step.followed for step in laying_steps(left, len(band.state.tunes["jumps"].played.laid()))} == {True}
    # A D.S. without a segno is told, and stands as printed, whatever is cut.
    band.do(c.AddTune("astray", "Astray"))
    band.do(c.MintRuler("astray", msgspec.structs.replace(RULER, signs=signs[1:], repeats=())))
    band.do(part("astray", "q", "Q", ALL))
    band.do(c.MakeCut("f", "astray", "C", "D"), MD)
    assert order("astray", "q").followed is False and any(step.join for step in order("astray", "q").steps)


def test_the_time_is_said_where_one_goes_back_and_not_at_an_ending_within_it() -> None:
    """Common practice: a third time through the body and a second through its ending are one return to a player."""
    band = small_band()
    band.do(c.AddTune("da-capo", "Da Capo"))
    ruler = msgspec.structs.replace(
        RULER,
        signs=(ChartSign("fine", "b20", "end"), ChartSign("dc-al-fine", "b30", "end")),
        repeats=(ChartRepeat("start", "b1"), ChartRepeat("end", "b12")),
        endings=(ChartEnding((1,), "b11", "b12"), ChartEnding((2,), "b13", "b14")),
    )
    band.do(c.MintRuler("da-capo", ruler))
    band.do(part("da-capo", "p", "P", ALL))
    tune = band.state.tunes["da-capo"]
    order = part_order(tune, tune.parts["p"].current)
    assert [(step.bar, step.label) for step in order.steps if step.join] == [
        *((1, "2nd time"), (13, "")),
        *((1, "3rd time"), (13, "")),
    ]


def test_the_time_is_said_as_the_player_hears_it_tonight() -> None:
    """Common practice: "3rd time" is the third time that these bars are played, whatever is printed."""
    band = small_band()
    band.do(c.AddTune("thrice", "Thrice"))
    endings = (ChartEnding((1,), "b19", "b20"), ChartEnding((2,), "b21", "b22"))
    signs = (ChartSign("segno", "b9", "start"), ChartSign("ds", "b30", "end"))
    repeats = (ChartRepeat("start", "b9"), ChartRepeat("end", "b20"))
    band.do(c.MintRuler("thrice", msgspec.structs.replace(RULER, repeats=repeats, endings=endings, signs=signs)))
    band.do(part("thrice", "p", "P", ALL))

    def labels() -> list[str]:
        tune = band.state.tunes["thrice"]
        return [step.label for step in part_order(tune, tune.parts["p"].current).steps if step.label]

    assert labels() == ["2nd time", "3rd time"]
    band.do(c.SayEdit("e", "thrice", "times", "bar 9", "bar 23", times=4), MD)
    assert labels() == ["2nd time", "3rd time", "4th time", "5th time"]
    band.do(c.TakeBackEdit("e"), MD)
    band.do(c.SayEdit("f", "thrice", "times", "bar 9", "bar 23", times=1), MD)
    assert labels() == ["2nd time"]
    band.do(c.TakeBackEdit("f"), MD)
    band.do(c.SayEdit("g", "thrice", "open", "bar 9", "bar 23"), MD)
    assert labels() == ["open", "last time", "last time"]


def test_a_cut_leaves_out_exactly_its_bars_and_the_join_is_marked() -> None:
    band = small_band()
    band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    order = order_of(band)
    assert [step.bar for step in order.steps] == [*range(1, 20), *range(29, 41)]
    assert PartStep(bar=29, position=19, number=29, join=True) in order.steps


def test_a_repeat_whose_beginning_or_end_is_cut_has_its_sign_at_the_next_bar() -> None:
    band = small_band()
    band.do(c.MakeCut("e", "bus", "bar 8", "bar 11"), MD)
    order = order_of(band)
    assert [(step.number, step.label) for step in order.steps if step.starts] == [(11, "")]
    assert [step.number for step in order.steps if step.ends] == [12]


def test_what_is_open_or_played_again_has_its_signs_and_says_how_often() -> None:
    band = small_band()
    band.do(c.SayEdit("e", "bus", "open", "C", "D"), MD)
    band.do(c.SayEdit("f", "bus", "times", "bar 33", "bar 37", times=3), MD)
    order = order_of(band)
    assert [step.bar for step in order.steps] == list(range(1, 41))
    assert [(step.bar, step.label) for step in order.steps if step.starts] == [(20, "open"), (33, "3 times")]
    assert [step.bar for step in order.steps if step.ends] == [28, 36]


def test_what_is_played_again_and_long_is_written_out_each_time() -> None:
    band = small_band()
    band.do(c.SayEdit("e", "bus", "times", "C", "D", times=3), MD)
    order = order_of(band)
    assert [step.bar for step in order.steps] == [*range(1, 29), *range(20, 29), *range(20, 41)]
    assert [(step.bar, step.label) for step in order.steps if step.label] == [(20, "2nd time"), (20, "3rd time")]


def test_a_kept_pickup_is_laid_for_its_chairs_only() -> None:
    band = small_band()
    band.do(c.MakeCut("1", "bus", "C", "D"), MD)
    band.do(c.SayEdit("2", "bus", "pickup", "bar 28", chairs=("alto2",)), MD)
    tune = band.state.tunes["bus"]
    part_ = tune.parts["p-alto2"]
    assert kept_pickups(tune, part_) == {"b28"}
    kept = part_order(tune, part_.current, kept_pickups(tune, part_))
    assert [(step.bar, step.label) for step in kept.steps if step.bar in range(19, 31)] == [
        *((19, ""), (28, "pickup")),
        *((29, ""), (30, "")),
    ]
    others = part_order(tune, part_.current)
    assert [step for step in kept.steps if step.label != "pickup"][:19] == list(others.steps)[:19]
    assert {step.bar for step in kept.steps} - {step.bar for step in others.steps} == {28}
    assert next(step.position for step in others.steps if step.bar >= 29) == 20, "its place stays empty"


def test_bars_that_a_part_does_not_have_are_told() -> None:
    band = small_band()
    band.do(part("bus", "p-alto2", "2nd Alto", (*ALL[:18], None, *ALL[20:24], *ALL[25:]), "short"))
    order = order_of(band)
    assert order.told == ("Bars 19 to 20 are not in this part.", "Bar 25 is not in this part.")
    assert [step.bar for step in order.steps if step.number in (18, 21)] == [18, 20]
    # Positions still count in the played order, so that stands and hub mean the same bar.
    tune = band.state.tunes["bus"]
    bars = tune.parts["p-alto2"].current.bars
    laid = [tune.written.steps[one.position].bar for one in tune.played.laid()]
    assert all(laid[step.position] == bars[step.bar - 1] for step in order.steps)


def test_a_repeat_written_out_by_the_copyist_has_its_own_bars_each_time() -> None:
    band = small_band()
    band.do(part("bus", "p-alto2", "2nd Alto", (*ALL[:12], *ALL[8:]), "written out"))
    order = order_of(band)
    assert [step.bar for step in order.steps] == list(range(1, 45))
    assert not any(step.join or step.label for step in order.steps)


def test_a_part_without_bars_is_told_the_edits_in_words() -> None:
    band = small_band()
    band.do(c.BringPart("bus", "sheet", "Words", "o", None, "v", "r", "", "p", (), as_printed=True))
    band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    assert order_of(band, "sheet") == PartOrder((), ("Cut C to D",))


@given(st.lists(st.none() | st.sampled_from(ALL), max_size=60), st.booleans())
def test_any_reading_of_a_part_plays_the_same_bars_in_the_same_order(bars: list[str | None], cut: bool) -> None:
    band = small_band()
    if cut:
        band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    band.do(part("bus", "p", "P", bars))
    order = order_of(band, "p")
    tune = band.state.tunes["bus"]
    laid = [tune.written.steps[one.position].bar for one in tune.played.laid()]
    there = [(n, bar) for n, bar in enumerate(laid) if bar in bars]
    assert [(step.position, bars[step.bar - 1]) for step in order.steps] == there
