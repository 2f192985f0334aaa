"""Every part plays the same bars in the same order, whatever is in it: as the stands are shown and laid it.

The rule is the trade's: "Always use the same repeats (roadmap) for score and parts" (the Metropole Orkest's guide for
arrangers).
"""

from collections.abc import Sequence

from hypothesis import given, settings
from hypothesis import strategies as st

from band.bands import MD, RULER, Band, part, small_band
from collaparte.band.decide import decide
from collaparte.band.parts import in_words_only, part_order
from collaparte.band.roles import Refusal
from collaparte.band.state import Tune
from collaparte.band.views import tune_view
from collaparte.hub.tails import NO_BAR, laying_steps
from collaparte.paper.pages.laying import Step
from collaparte.wire import commands as c
from collaparte.wire.chart import BarId, Chart, ChartEnding, ChartRepeat, ChartSign
from collaparte.wire.views import TuneView

BARS = [bar.id for bar in RULER.bars]
FORMS = (
    RULER,
    Chart(RULER.bars, RULER.marks, repeats=(ChartRepeat("start", "b3"), ChartRepeat("end", "b16", 3))),
    Chart(
        RULER.bars,
        RULER.marks,
        repeats=(ChartRepeat("start", "b9"), ChartRepeat("end", "b18")),
        endings=(ChartEnding((1,), "b17", "b18"), ChartEnding((2,), "b19", "b20")),
        signs=(
            ChartSign("segno", "b5", "start"),
            ChartSign("to-coda", "b16", "end"),
            ChartSign("ds-al-coda", "b30", "end"),
            ChartSign("coda", "b33", "start"),
        ),
    ),
    Chart(RULER.bars, RULER.marks, signs=(ChartSign("fine", "b20", "end"), ChartSign("dc-al-fine", "b40", "end"))),
)

_PLACES = st.sampled_from(["top", "A", "B", "C", "D", "bar 11", "bar 33", "4 before C", "end", "B second time"])
_SAID = st.builds(
    c.SayEdit,
    st.sampled_from(["e1", "e2", "e3", "e4"]),
    st.just("bus"),
    st.sampled_from(["cut", "times", "open", "tacet", "go-to", "no-repeats", "no-jumps"]),
    _PLACES,
    _PLACES,
    st.integers(1, 4),
    st.sampled_from([(), ("alto1",)]),
)


@st.composite
def copies(draw: st.DrawFn) -> list[BarId | None]:
    """One copyist's part: bars that it lacks or that are not known of it, bars that are no one else's, and a stretch
    that is written out where the others have a repeat. How its rests and bar lines are drawn does not come into it."""
    bars: list[BarId | None] = list(BARS)
    if draw(st.booleans()):
        first, last = sorted((draw(st.integers(0, 39)), draw(st.integers(0, 39))))
        lost = draw(st.booleans())
        bars[first:last] = [None] * (last - first) if lost else []
    if draw(st.booleans()):
        bars.insert(draw(st.integers(0, len(bars))), None)
    if draw(st.booleans()) and {"b9", "b12"} <= set(bars) and bars.index("b12") - bars.index("b9") == 3:
        at = bars.index("b12") + 1
        bars[at:at] = ["b9", "b10", "b11", "b12"]
    return bars


def page_of(view: TuneView) -> list[BarId]:
    """The bars that stand on a page that has them all, by what every stand is shown of the tune."""
    out = {p for first, last in view.cut for p in range(first, last + 1)}
    folded = {p for fold in view.folds for p in range(fold.first, fold.last + 1)}
    bars = [step.bar for step in view.written]
    page: list[BarId] = []
    for position, bar in enumerate(bars):
        page += [] if position in out | folded else [bar]
        for again in view.again:
            if again.last == position and not again.signs:
                page += [bars[p] for p in range(again.first, again.last + 1) if p not in out] * again.more
    return page


def laid(tune: Tune, part_id: str) -> tuple[Step, ...]:
    """What a stand's pages are made of: a step for each bar of the order, one after the other."""
    return laying_steps(part_order(tune, tune.parts[part_id].current), len(tune.played.laid()))


def band_of(form: Chart, parts: Sequence[Sequence[BarId | None]]) -> Band:
    band = small_band()
    band.do(c.MendRuler("bus", form))
    for n, bars in enumerate(parts):
        band.do(part("bus", f"p{n}", f"Part {n}", bars, version=f"v{n}"))
        # Drums have nothing to play, as in many a ballad; the last part is on two chairs.
        for chair in (("alto2",), ("trumpet1", "keys"))[n % 2]:
            band.do(c.SeatParts("bus", chair, (f"p{n}",)))
    return band


@settings(max_examples=120, deadline=None)
@given(st.sampled_from(FORMS), st.lists(copies(), min_size=2, max_size=4), st.lists(_SAID, max_size=4))
def test_every_part_plays_the_same_bars_in_the_same_order(
    form: Chart, parts: list[list[BarId | None]], said: list[c.SayEdit]
) -> None:
    band = band_of(form, parts)
    for edit in said:
        if not isinstance(decide(band.state, edit, MD, band.state.position.call), Refusal):
            band.do(edit, MD)
    tune = band.state.tunes["bus"]
    view = tune_view(band.state, tune)
    page = page_of(view)
    assert tune.seated("drums") == ()
    for n, bars in enumerate(parts):
        if in_words_only(tune, tune.parts[f"p{n}"].current):
            continue
        steps = laid(tune, f"p{n}")
        own = set(bars)
        # A step is the same bar on every part, or an empty place on one that does not have it.
        assert [bars[step.bar - 1] if step.bar != NO_BAR else None for step in steps] == [
            bar if bar in own else None for bar in page
        ]
        for m in range(n):
            if in_words_only(tune, tune.parts[f"p{m}"].current):
                continue
            for one, other in zip(steps, laid(tune, f"p{m}"), strict=True):
                if NO_BAR not in (one.bar, other.bar):
                    assert (one.number, one.pass_, one.kept) == (other.number, other.pass_, other.kept)
        # Tonight's repeat signs bound the same stretches everywhere, as far as a part has bars of them.
        bounded = between_signs(steps)
        assert bounded == [here for whole in between_signs(signs_of(tune)) if (here := whole & places(steps))]


def places(steps: Sequence[Step]) -> set[int]:
    return {at for at, step in enumerate(steps) if step.bar != NO_BAR}


def signs_of(tune: Tune) -> tuple[Step, ...]:
    """The order as a part has it that has every bar."""
    return tuple(Step(1, 0, starts=one.starts is not None, ends=one.ends) for one in tune.played.laid())


def between_signs(steps: Sequence[Step]) -> list[set[int]]:
    """The places between each pair of repeat signs, both of which must be there."""
    found: list[set[int]] = []
    start: int | None = None
    for at, step in enumerate(steps):
        if step.starts:
            assert start is None, "a repeat starts inside another"
            start = at
        if step.ends:
            assert start is not None, "a repeat ends that has not started"
            found.append({n for n in range(start, at + 1) if steps[n].bar != NO_BAR})
            start = None
    assert start is None, "a repeat starts and never ends"
    return found


def test_repeat_signs_move_to_a_bar_that_the_part_has() -> None:
    whole: list[BarId | None] = list(BARS)
    lacks = [None if bar in ("b20", "b28") else bar for bar in BARS]
    none_of_it = [None if bar in BARS[19:28] else bar for bar in BARS]
    band = band_of(RULER, [whole, lacks, none_of_it])
    band.do(c.SayEdit("e", "bus", "open", "C", "D"), MD)
    tune = band.state.tunes["bus"]
    signs = [[(step.bar, step.starts, step.ends) for step in laid(tune, f"p{n}")] for n in range(3)]
    assert [[one for one in part if one[1] or one[2]] for part in signs] == [
        [(20, True, False), (28, False, True)],
        [(21, True, False), (27, False, True)],
        [],
    ]
