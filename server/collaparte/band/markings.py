"""Markings: what players add to their parts, who may see them, and who may erase them."""

import math
from typing import assert_never

import msgspec

from collaparte.band.library import no_tune
from collaparte.band.roles import Refusal, Who
from collaparte.band.state import Drawn, State, Tune, with_tune
from collaparte.music.ruler import indices
from collaparte.wire.commands import EraseMarking, MakeMarking
from collaparte.wire.events import Event, MarkingErased, MarkingMade
from collaparte.wire.markings import Ink, Marking, Note, PageInk, Point

Command = MakeMarking | EraseMarking

WORDS_MOST = 500
"""Characters of a note."""


def decide(state: State, command: Command, who: Who) -> tuple[Event, ...] | Refusal:
    """What comes of a command about markings. They wait out a hub that is away, so no call makes them stale."""
    match command:
        case MakeMarking(marking):
            return _make(state, marking, who)
        case EraseMarking(id):
            return _erase(state, id, who)
        case _:
            assert_never(command)


def _make(state: State, marking: Marking, who: Who) -> tuple[Event, ...] | Refusal:
    tune = state.tunes.get(marking.tune)
    if tune is None:
        return no_tune(marking.tune)
    if marking.chair not in state.chairs or marking.chair not in who.chairs:
        return Refusal("You can only mark the part of a chair that you sit at.")
    if not marking.id:
        return Refusal("A marking needs an id.")
    if any(marking.id in other.markings or marking.id in other.erased for other in state.tunes.values()):
        return ()
    wrong = _fault(tune, marking)
    if wrong:
        return Refusal(wrong)
    # The hub says whose section it is, so that nobody draws on the parts of another.
    section = state.chairs[marking.chair].section
    return (MarkingMade(marking=msgspec.structs.replace(marking, section=section)),)


def _fault(tune: Tune, marking: Marking) -> str:
    known = indices(tune.chart) if tune.chart else {}
    what = marking.what
    if marking.pass_ is not None and marking.pass_ < 1:
        return "A marking's time through the bar counts from 1."
    match what:
        case Note(at, text):
            points: tuple[Point, ...] = (at,)
            if not text.strip():
                return "A note needs words."
            if len(text) > WORDS_MOST:
                return f"A note may have {WORDS_MOST} characters; shorten it."
        case Ink(points, width):
            if not points or not 0 < width <= 10:
                return "A stroke needs points and a width of at most 10 staff spaces."
        case PageInk():
            inside = all(_within(value, 1) for point in what.points for value in (point.x, point.y, point.pressure))
            if not what.points or not 0 < what.width <= 1 or not inside:
                return "A stroke on a page needs points that lie on the page."
            return "The pages of a part count from 0." if any(point.page < 0 for point in what.points) else ""
        case _:
            assert_never(what)
    if any(point.bar not in known for point in points):
        return f'This marking names bars that "{tune.title}" does not have.'
    if not all(_within(p.fraction, 100) and _within(p.spaces, 1000) and _within(p.pressure, 1) for p in points):
        return "This marking lies far outside the page."
    return "This marking is on a stave above the first." if any(point.stave < 0 for point in points) else ""


def _within(value: float, most: float) -> bool:
    return math.isfinite(value) and abs(value) <= most


def _erase(state: State, id: str, who: Who) -> tuple[Event, ...] | Refusal:
    tune = next((tune for tune in state.tunes.values() if id in tune.markings), None)
    if tune is None:
        gone = any(id in other.erased for other in state.tunes.values())
        return () if gone else Refusal("There is no such marking to erase.")
    marking = tune.markings[id].marking
    if not who.chair or not sees(state, (who.chair,), marking):
        return Refusal("You can only erase your own markings and those that you share.")
    return (MarkingErased(marking=id, by=who.chair),)


def sees(state: State, chairs: tuple[str, ...], marking: Marking) -> bool:
    """Whether one who holds these chairs shares this marking: its own, its section's now, or the band's."""
    if marking.layer == "band" or marking.chair in chairs:
        return True
    sections = {state.chairs[chair].section for chair in chairs if chair in state.chairs}
    return marking.layer == "section" and marking.section in sections


def apply(state: State, event: MarkingMade | MarkingErased) -> State:
    """The state after one event about markings."""
    replace = msgspec.structs.replace
    match event:
        case MarkingMade(marking=marking):
            tune = state.tunes.get(marking.tune)
            if tune is None:
                return state
            drawn = Drawn(marking, state.seq)
            return with_tune(state, replace(tune, markings={**tune.markings, marking.id: drawn}))
        case MarkingErased(marking=id):
            tune = next((tune for tune in state.tunes.values() if id in tune.markings), None)
            if tune is None:
                return state
            markings = {other: drawn for other, drawn in tune.markings.items() if other != id}
            return with_tune(state, replace(tune, markings=markings, erased={**tune.erased, id: state.seq}))
        case _:
            assert_never(event)
