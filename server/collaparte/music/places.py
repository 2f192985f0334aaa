"""Places as musicians say them: "C", "4 before C", "third bar of D", "bar 33", "top", "pickup", "second ending",
"last 8", "C second time". Counting back is in printed bars, through the last ending.
"""

from collections.abc import Container, Sequence

import msgspec

from collaparte.music.counting import PlaceError
from collaparte.music.form import Step
from collaparte.music.marks import marked
from collaparte.music.ruler import bar_in_words, indices
from collaparte.music.spoken import LAST_TIME, ON_JUMP, Place, find, is_end
from collaparte.music.stretches import landings_of
from collaparte.music.wording import plain
from collaparte.music.words import count, ordinal
from collaparte.wire.chart import BarId, Chart, ChartBar

__all__ = ["Found", "Place", "PlaceError", "find", "is_end", "passes_said", "resolve", "say", "say_step"]


class Found(msgspec.Struct, frozen=True):
    """A place in an order: bar, pass, and its 0-based position."""

    bar: BarId
    pass_: int
    position: int


def resolve(words: str, chart: Chart, order: Sequence[Step], left_out: Container[int] = ()) -> Found:
    """Where these words are in a written order, the first time that it is played; raises `PlaceError`.

    `left_out`: positions that are cut.
    """
    place = find(words, chart, order)
    there = _positions(words, place, chart, order)
    if not there:
        nearest = _nearest(chart, order, place.bar, left_out, None)
        raise PlaceError(f'"{words.strip()}" is not played in this form{nearest}.')
    played = [position for position in there if position not in left_out]
    if not played:
        raise PlaceError(f'"{words.strip()}" is cut{_nearest(chart, order, place.bar, left_out, there[0])}.')
    return Found(place.bar, order[played[0]].pass_, played[0])


def passes_said(words: str, place: Place, chart: Chart, order: Sequence[Step]) -> tuple[int, ...]:
    """The passes of its bar that a place was said for, () when no time was said; raises `PlaceError`."""
    if place.pass_ is None:
        return ()
    return tuple(order[position].pass_ for position in _positions(words, place, chart, order))


def say(chart: Chart, bar: BarId) -> str:
    """A bar in words that find it again: its mark, "pickup", "bar 33", or "third bar of D" where numbers repeat."""
    at = indices(chart)
    marks = [mark for mark in chart.marks if len(marked(plain(mark.text), chart)) == 1 and at[mark.bar] <= at[bar]]
    nearest = max(marks, key=lambda mark: at[mark.bar], default=None)
    if nearest and nearest.bar == bar:
        return nearest.text.strip()
    own = chart.bars[at[bar]]
    alone = sum(_called(other) == _called(own) for other in chart.bars) == 1
    if alone or not nearest:
        return bar_in_words(own).removeprefix("the ")
    return f"{ordinal(at[bar] - at[nearest.bar] + 1)} bar of {nearest.text.strip()}"


def _called(bar: ChartBar) -> tuple[int, str, bool]:
    return bar.number, bar.label, bar.counted


def say_step(chart: Chart, step: Step) -> str:
    """A bar of an order in words, with "second time" when it is not the first time through."""
    words = say(chart, step.bar)
    return words if step.pass_ == 1 else f"{words} {ordinal(step.pass_)} time"


def _positions(words: str, place: Place, chart: Chart, order: Sequence[Step]) -> list[int]:
    """Where the place is in the order; one position when a time was said. Raises `PlaceError` for a time too many.

    "4 before C" is the time that leads to C; "third bar of D" the time that comes of D.
    """
    anchors = [position for position, step in enumerate(order) if step.bar == (place.anchor or place.bar)]
    if place.pass_ == LAST_TIME:
        anchors = anchors[-1:]
    elif place.pass_ == ON_JUMP:
        landed = next(iter(landings_of(chart, order)), None)
        anchors = [position for position in anchors if landed and position >= landed[0]][:1]
        if not anchors:
            bar = say(chart, place.anchor or place.bar)
            raise PlaceError(f'There is no "{words.strip()}": {bar} is not played after a D.S. or D.C.')
    elif place.pass_ is not None and anchors:
        if place.pass_ > len(anchors):
            bar = say(chart, place.anchor or place.bar)
            raise PlaceError(f'There is no "{words.strip()}": {bar} is played {count(len(anchors), "time")} only.')
        anchors = [anchors[place.pass_ - 1]]
    if place.anchor is None or place.anchor == place.bar:
        return anchors
    at = indices(chart)
    there = [position for position, step in enumerate(order) if step.bar == place.bar]
    if at[place.bar] < at[place.anchor]:
        leading = (max((position for position in there if position < anchor), default=None) for anchor in anchors)
    else:
        leading = (min((position for position in there if position > anchor), default=None) for anchor in anchors)
    return sorted({position for position in leading if position is not None})


def _nearest(chart: Chart, order: Sequence[Step], bar: BarId, left_out: Container[int], position: int | None) -> str:
    """ "; the nearest that is played is D", or "" when nothing is played at all."""
    played = [there for there in range(len(order)) if there not in left_out]
    if not played:
        return ""
    if position is None:
        at = indices(chart)
        there = min(played, key=lambda there: abs(at[order[there].bar] - at[bar]))
    else:
        there = next((there for there in played if there > position), played[-1])
    return f"; the nearest that is played is {say_step(chart, order[there])}"
