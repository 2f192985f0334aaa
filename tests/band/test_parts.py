"""The played order in a part's own bars."""

from hypothesis import given
from hypothesis import strategies as st

from band.bands import MD, RULER, Band, part, small_band
from collaparte.band.parts import PartOrder, PartStep, part_order
from collaparte.wire import commands as c

ALL = [bar.id for bar in RULER.bars]


def order_of(band: Band, part_id: str = "p-alto2") -> PartOrder:
    tune = band.state.tunes["bus"]
    return part_order(tune, tune.parts[part_id].current)


def test_repeats_are_followed_and_their_times_said() -> None:
    order = order_of(small_band())
    assert [step.bar for step in order.steps] == [*range(1, 13), *range(9, 41)]
    assert [step.position for step in order.steps] == list(range(44))
    assert [(step.bar, step.label) for step in order.steps if step.join] == [(9, "2nd time")]
    assert order.told == ()


def test_a_cut_leaves_out_exactly_its_bars_and_the_join_is_marked() -> None:
    band = small_band()
    band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    order = order_of(band)
    assert [step.bar for step in order.steps] == [*range(1, 13), *range(9, 20), *range(29, 41)]
    assert PartStep(bar=29, position=23, number=29, join=True) in order.steps


def test_bars_that_a_part_does_not_have_are_told() -> None:
    band = small_band()
    band.do(part("bus", "p-alto2", "2nd Alto", (*ALL[:18], None, *ALL[20:24], *ALL[25:]), "short"))
    order = order_of(band)
    assert order.told == ("Bars 19 to 20 are not in this part.", "Bar 25 is not in this part.")
    assert [step.bar for step in order.steps if step.number in (18, 21)] == [18, 20]
    # Positions still count in the played order, so that stands and hub mean the same bar.
    tune = band.state.tunes["bus"]
    bars = tune.parts["p-alto2"].current.bars
    assert all(tune.played.steps()[step.position].bar == bars[step.bar - 1] for step in order.steps)


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
    played = band.state.tunes["bus"].played.steps()
    there = [(n, step.bar) for n, step in enumerate(played) if step.bar in bars]
    assert [(step.position, bars[step.bar - 1]) for step in order.steps] == there
