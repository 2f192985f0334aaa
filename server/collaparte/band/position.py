"""Where the band is: next, call, from, and taking a call back."""

from typing import assert_never

import msgspec

from collaparte.band.library import no_tune
from collaparte.band.racing import on_one_row, overtaken, with_latest
from collaparte.band.roles import LEADER, MD, Refusal, Who, called_since, stale
from collaparte.band.setlist import following, meant
from collaparte.band.state import Made, Position, State, Tune
from collaparte.music import places
from collaparte.wire.commands import Call, From, Next, TakeBackCall
from collaparte.wire.events import Called, CallTakenBack, Event, NextNamed

Command = Next | Call | From | TakeBackCall


def decide(state: State, command: Command, who: Who, call: int | None) -> tuple[Event, ...] | Refusal:
    """What comes of a command about where the band is; `call`: the number under which it was asked."""
    match command:
        case Next(tune, said):
            if not who.may(LEADER):
                return Refusal("Only the leader may name the next tune.")
            if tune is not None and tune not in state.tunes:
                return no_tune(tune)
            item = meant(state, tune, said) if tune is not None else ""
            same = (state.position.next, state.position.next_item) == (tune, item)
            named = () if same else (NextNamed(tune=tune, by=who.by(LEADER), item=item),)
            return stale(state, call, "This next") or named
        case Call(tune, start, said, in_turn):
            if not who.may(LEADER):
                return Refusal("Only the leader may call a tune.")
            if tune not in state.tunes:
                return no_tune(tune)
            item = meant(state, tune, said, stay=True)
            made = _call(state, state.tunes[tune], item, start, who.by(LEADER), who)
            since = overtaken(state.position, call, who)
            return _last_word(state, made, stale(state, call, "This call"), since, named=not in_turn)
        case From(start):
            if not who.may(LEADER, MD):
                return Refusal("Only the leader or the MD may say where to start.")
            on = state.tunes.get(state.position.tune or "")
            if on is None:
                return Refusal("No tune has been called yet, so there is nothing to start from.")
            made = _call(state, on, state.position.item, start, who.by(LEADER, MD), who)
            since = overtaken(state.position, call, who)
            # A place is one of the tune that was on when it was said.
            return _last_word(state, made, stale(state, call, 'This "from"'), since, named=on_one_row(since))
        case TakeBackCall(number):
            if not who.may(LEADER):
                return Refusal("Only the leader may take back a call.")
            return _take_back(state, number, who.by(LEADER))
        case _:
            assert_never(command)


def _last_word(
    state: State, made: Called | Refusal, late: Refusal | None, since: tuple[Made, ...], *, named: bool
) -> tuple[Event, ...] | Refusal:
    """What comes of a call: in time, it is made; `late`, it is refused, unless others' calls came `since` and all at
    once. Then it is the last word if it `named` where to go, and is made already if it says the same as theirs."""
    if late is None:
        return made if isinstance(made, Refusal) else (made,)
    if since and isinstance(made, Called) and _is_where_the_band_is(state, made):
        return ()
    if not since or not named:
        return late
    return made if isinstance(made, Refusal) else (msgspec.structs.replace(made, came_after=True),)


def _is_where_the_band_is(state: State, made: Called) -> bool:
    here = state.position
    return (made.tune, made.item, made.start, made.start_pass) == (here.tune, here.item, here.start, here.start_pass)


def _call(state: State, tune: Tune, item: str, start: str, by: str, who: Who) -> Called | Refusal:
    number = state.position.call + 1
    words = " ".join(start.split())
    then, then_item = _then(state, tune.id, item)
    called = Called(
        call=number,
        tune=tune.id,
        start=None,
        start_pass=1,
        by=by,
        then=then,
        item=item,
        then_item=then_item,
        at=who.now,
        device=who.device,
    )
    if not words:
        return called
    if tune.chart is None:
        return Refusal(f'No bars of "{tune.title}" have been read, so it can only be called from its first page.')
    try:
        found = places.resolve(words, tune.chart, tune.written.steps, tune.played.left_out())
    except places.PlaceError as error:
        return Refusal(str(error))
    return msgspec.structs.replace(called, start=found.bar, start_pass=found.pass_, words=words)


def _then(state: State, tune: str, item: str) -> tuple[str | None, str]:
    """The row that this call names next by itself: none while the leader has another plan."""
    here = state.position
    plan = here.next, here.next_item
    planned = here.next is not None and plan not in ((tune, item), (here.then, here.then_item))
    return (None, "") if planned else following(state.set.items, tune, item) or (None, "")


def _take_back(state: State, number: int, by: str) -> tuple[Event, ...] | Refusal:
    here = state.position
    if number != here.call:
        since = called_since(state)
        return Refusal(f"That call cannot be taken back any more: {f'{since} since' if since else 'no call stands'}.")
    if here.before is None:
        return Refusal("There is no call to take back.")
    return (CallTakenBack(call=number, now=number + 1, by=by),)


def apply(state: State, event: NextNamed | Called | CallTakenBack) -> State:
    """The state after one event about where the band is."""
    here = state.position
    replace = msgspec.structs.replace
    match event:
        case NextNamed():
            return replace(state, position=replace(here, next=event.tune, next_item=event.item))
        case Called():
            # What was next is on now; a request in between leaves the plan as it was.
            is_on = (here.next, here.next_item) == (event.tune, event.item)
            after = (None, "") if is_on else (here.next, here.next_item)
            if event.then:
                after = (event.then, event.then_item)
            position = Position(
                call=event.call,
                tune=event.tune,
                start=event.start,
                start_pass=event.start_pass,
                by=event.by,
                words=event.words,
                next=after[0],
                before=replace(here, before=None, latest=()),
                then=event.then,
                item=event.item,
                next_item=after[1],
                then_item=event.then_item,
                latest=here.latest,
                came_after=event.came_after,
                device=event.device,
            )
            row = (here.tune, here.item)
            position = with_latest(position, Made(event.call, event.tune, event.item, row, event.device, event.at))
        case CallTakenBack():
            before = here.before or Position()
            # A tune that the leader named since is still the plan; one that the call itself named is not.
            by_itself = here.next is None or (here.next, here.next_item) == (here.then, here.then_item)
            plan = before if by_itself else here
            position = replace(before, call=event.now, returns_to=before.call, next=plan.next, next_item=plan.next_item)
            # What was cued under an earlier call was meant for another time round.
            position = replace(position, cued=(), players={})
        case _:
            assert_never(event)
    return replace(state, position=position)
