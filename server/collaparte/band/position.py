"""Where the band is: next, call, from, and taking a call back."""

from typing import assert_never

import msgspec

from collaparte.band.library import no_tune
from collaparte.band.roles import LEADER, MD, Refusal, Who, stale
from collaparte.band.setlist import following
from collaparte.band.state import Position, State, Tune
from collaparte.music import places
from collaparte.wire.commands import Call, From, Next, TakeBackCall
from collaparte.wire.events import Called, CallTakenBack, Event, NextNamed

Command = Next | Call | From | TakeBackCall


def decide(state: State, command: Command, who: Who, call: int | None) -> tuple[Event, ...] | Refusal:
    """What comes of a command about where the band is; `call`: the number under which it was asked."""
    match command:
        case Next(tune):
            if not who.may(LEADER):
                return Refusal("Only the leader may name the next tune.")
            if tune is not None and tune not in state.tunes:
                return no_tune(tune)
            refused = stale(state, call, "This next")
            named = () if state.position.next == tune else (NextNamed(tune=tune, by=who.by(LEADER)),)
            return refused or named
        case Call(tune, start):
            if not who.may(LEADER):
                return Refusal("Only the leader may call a tune.")
            if tune not in state.tunes:
                return no_tune(tune)
            return stale(state, call, "This call") or _call(state, state.tunes[tune], start, who.by(LEADER))
        case From(start):
            if not who.may(LEADER, MD):
                return Refusal("Only the leader or the MD may say where to start.")
            on = state.tunes.get(state.position.tune or "")
            if on is None:
                return Refusal("No tune has been called yet, so there is nothing to start from.")
            return stale(state, call, 'This "from"') or _call(state, on, start, who.by(LEADER, MD))
        case TakeBackCall(number):
            if not who.may(LEADER):
                return Refusal("Only the leader may take back a call.")
            return _take_back(state, number, who.by(LEADER))
        case _:
            assert_never(command)


def _call(state: State, tune: Tune, start: str, by: str) -> tuple[Event, ...] | Refusal:
    number = state.position.call + 1
    words = " ".join(start.split())
    then = _then(state, tune)
    if not words:
        return (Called(call=number, tune=tune.id, start=None, start_pass=1, by=by, then=then),)
    if tune.chart is None:
        return Refusal(f'No bars of "{tune.title}" have been read, so it can only be called from its first page.')
    try:
        found = places.resolve(words, tune.chart, tune.written.steps, tune.played.left_out())
    except places.PlaceError as error:
        return Refusal(str(error))
    called = Called(call=number, tune=tune.id, start=found.bar, start_pass=found.pass_, by=by, words=words, then=then)
    return (called,)


def _then(state: State, tune: Tune) -> str | None:
    """The tune that this call names next by itself: none while the leader has another plan."""
    here = state.position
    planned = here.next not in (None, tune.id, here.then)
    return None if planned else following(state.set.items, tune.id)


def _take_back(state: State, number: int, by: str) -> tuple[Event, ...] | Refusal:
    here = state.position
    if number != here.call:
        title = state.title(here.tune)
        since = f'"{title}" has been called since' if title else "no call stands"
        return Refusal(f"That call cannot be taken back any more: {since}.")
    if here.before is None:
        return Refusal("There is no call to take back.")
    return (CallTakenBack(call=number, now=number + 1, by=by),)


def apply(state: State, event: NextNamed | Called | CallTakenBack) -> State:
    """The state after one event about where the band is."""
    here = state.position
    replace = msgspec.structs.replace
    match event:
        case NextNamed():
            return replace(state, position=replace(here, next=event.tune))
        case Called():
            position = Position(
                call=event.call,
                tune=event.tune,
                start=event.start,
                start_pass=event.start_pass,
                by=event.by,
                words=event.words,
                # What was next is on now; a request in between leaves the plan as it was.
                next=event.then or (None if here.next == event.tune else here.next),
                before=replace(here, before=None),
                then=event.then,
            )
        case CallTakenBack():
            before = here.before or Position()
            # A tune that the leader named since is still the plan; one that the call itself named is not.
            next = before.next if here.next in (None, here.then) else here.next
            position = replace(before, call=event.now, returns_to=before.call, next=next)
            # What was cued under an earlier call was meant for another time round.
            position = replace(position, cued=(), players={})
        case _:
            assert_never(event)
    return replace(state, position=position)
