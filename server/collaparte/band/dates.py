"""Dates, opened and closed by hand, one at a time: what was decided for one goes with it, what is kept stays."""

import datetime
from collections.abc import Callable
from typing import assert_never

import msgspec

from collaparte.band import texts
from collaparte.band.library import worked_out
from collaparte.band.roles import LEADER, LIBRARIAN, MD, Refusal, Who
from collaparte.band.state import Date, Held, Position, State, Tune, with_tune
from collaparte.wire.commands import CloseDate, MakeEdit, OpenDate
from collaparte.wire.events import DateBegun, DateEnded, EditMade, Event

Command = OpenDate | CloseDate


def decide(state: State, command: Command, who: Who) -> tuple[Event, ...] | Refusal:
    """What comes of opening or closing a date."""
    if not who.may(LEADER, MD, LIBRARIAN):
        return Refusal("Only the leader, the MD or the librarian may open and close a date.")
    by = who.by(LEADER, MD, LIBRARIAN)
    match command:
        case OpenDate():
            return _open(state, command, by)
        case CloseDate():
            return _close(state, command, by)
        case _:
            assert_never(command)


def _open(state: State, command: OpenDate, by: str) -> tuple[Event, ...] | Refusal:
    name, day = texts.tidy(command.name), command.day.strip()
    wrong = texts.fault(name, "A date") or _day_fault(day)
    if not wrong and not command.id:
        wrong = "A date needs an id."
    if wrong:
        return Refusal(wrong)
    if state.date == command.id:
        return ()
    if state.date:
        return Refusal(f'"{state.dates[state.date].name}" is open: close it first.')
    known = state.dates.get(command.id)
    if known is not None and known is not last_closed(state):
        return Refusal(f'"{known.name}" was closed, and others after it; only the last one can be opened again.')
    opened = DateBegun(date=command.id, name=name, kind=command.kind, day=day, by=by, call=state.position.call + 1)
    return (opened,)


def _close(state: State, command: CloseDate, by: str) -> tuple[Event, ...] | Refusal:
    if command.date not in state.dates:
        return Refusal("There is no such date to close.")
    if command.date != state.date:
        return ()
    loose = tuple(held.edit.id for held in _held(state) if not held.edit.kept)
    gone, kept = ((), loose) if command.keep else (loose, ())
    return (DateEnded(date=command.date, by=by, call=state.position.call + 1, gone=gone, kept=kept),)


def _day_fault(day: str) -> str:
    """What is wrong with a day, in one sentence; "" if nothing is."""
    try:
        written = not day or datetime.date.fromisoformat(day).isoformat() == day
    except ValueError:
        written = False
    return "" if written else f'"{day[:40]}" is no day: write it as year-month-day, 2026-11-25 say.'


def last_closed(state: State) -> Date | None:
    """The date that was closed last."""
    closed = [date for date in state.dates.values() if date.last is not None]
    return max(closed, key=lambda date: date.last or 0, default=None)


def too_late(state: State, command: MakeEdit) -> Refusal | None:
    """Refuses an edit for a date that is over, offered by a stand that was away."""
    edit = command.edit
    known = any(edit.id in tune.edits or edit.id in tune.taken_back for tune in state.tunes.values())
    if known or edit.kept or edit.date in ("", state.date) or edit.date not in state.dates:
        return None
    return Refusal(f'That edit was for "{state.dates[edit.date].name}", which is closed.')


def dated(state: State, events: tuple[Event, ...]) -> tuple[Event, ...]:
    """The events with each new edit signed with the open date."""
    return tuple(
        msgspec.structs.replace(event, edit=msgspec.structs.replace(event.edit, date=state.date))
        if isinstance(event, EditMade) and not event.edit.date
        else event
        for event in events
    )


def stood(state: State, date: str) -> tuple[Held, ...]:
    """The edits as at the end of a date; of the open one, as they are."""
    return _held(state) if date == state.date else state.dates[date].held


def _held(state: State) -> tuple[Held, ...]:
    return tuple(held for tune in state.tunes.values() for held in tune.edits.values())


def apply(state: State, event: DateBegun | DateEnded) -> State:
    """The state after a date was opened or closed."""
    replace = msgspec.structs.replace
    match event:
        case DateBegun():
            known = state.dates.get(event.date)
            position = Position(call=event.call)
            if known is not None:
                state = _restored(state, known)
                position = replace(known.position, call=event.call, returns_to=known.position.call)
            date = Date(event.date, event.name, event.kind, event.day, known.first if known else state.seq)
            return replace(state, date=date.id, dates={**state.dates, date.id: date}, position=position)
        case DateEnded():
            open_ = state.dates.get(event.date)
            if open_ is None:
                return state
            closed = replace(open_, last=state.seq, held=_held(state), gone=event.gone, position=state.position)
            dates = {**state.dates, closed.id: closed}
            position = Position(call=event.call)
            return _without(replace(state, date="", dates=dates, position=position, given={}), event)
        case _:
            assert_never(event)


def _without(state: State, closed: DateEnded) -> State:
    """The state without the edits that went with a date, those that stay marked as kept."""
    gone, kept = frozenset(closed.gone), frozenset(closed.kept)
    replace = msgspec.structs.replace

    def left(tune: Tune) -> Tune:
        if gone.isdisjoint(tune.edits) and kept.isdisjoint(tune.edits):
            return tune
        edits = {
            id: replace(held, edit=replace(held.edit, kept=True)) if id in kept else held
            for id, held in tune.edits.items()
            if id not in gone
        }
        went = gone.intersection(tune.edits)
        revision = tune.revision + 1 if went else tune.revision
        return worked_out(replace(tune, edits=edits, taken_back=tune.taken_back | went, revision=revision))

    return _each(state, left)


def _restored(state: State, date: Date) -> State:
    """The state with the edits that had gone with a date, in force again."""
    gone = {held.edit.id: held for held in date.held if held.edit.id in date.gone}

    def back(tune: Tune) -> Tune:
        again = {id: held for id, held in gone.items() if held.edit.tune == tune.id and id not in tune.edits}
        if not again:
            return tune
        taken_back = tune.taken_back - again.keys()
        edits = {**tune.edits, **again}
        return worked_out(msgspec.structs.replace(tune, edits=edits, taken_back=taken_back, revision=tune.revision + 1))

    return _each(state, back)


def _each(state: State, change: Callable[[Tune], Tune]) -> State:
    for tune in state.tunes.values():
        changed = change(tune)
        if changed is not tune:
            state = with_tune(state, changed)
    return state
