"""What was decided, on which date: in rows to be read, kept for later, and taken over from an earlier date."""

from collections.abc import Iterable
from typing import assert_never

import msgspec

from collaparte.band.dates import stood
from collaparte.band.edits import holder
from collaparte.band.roles import MD, Refusal, Who
from collaparte.band.state import Held, State, Tune, with_tune
from collaparte.wire.commands import KeepEdit, TakeOver
from collaparte.wire.edits import Edit
from collaparte.wire.events import (
    Called,
    CallTakenBack,
    Cued,
    DateBegun,
    DateEnded,
    EditKept,
    EditMade,
    EditTakenBack,
    Event,
    PlayerNamed,
    RepeatsSaid,
    RoleGiven,
    RoleTaken,
    SetPut,
)
from collaparte.wire.views import DateRow, HistoryRow, StoodRow

Command = KeepEdit | TakeOver

TOLD = (
    *(DateBegun, DateEnded, SetPut, Called, CallTakenBack),
    *(EditMade, EditTakenBack, EditKept, RepeatsSaid, Cued, PlayerNamed, RoleGiven, RoleTaken),
)
"""The kinds of events that history tells of."""


def decide(state: State, command: Command, who: Who) -> tuple[Event, ...] | Refusal:
    """What comes of keeping an edit, or of taking over those of an earlier date."""
    if not who.may(MD):
        return Refusal("Only the MD may keep what was decided, or take it over from an earlier date.")
    match command:
        case KeepEdit():
            return _keep(state, command, who.by(MD))
        case TakeOver():
            return _take_over(state, command, who.by(MD))
        case _:
            assert_never(command)


def _keep(state: State, command: KeepEdit, by: str) -> tuple[Event, ...] | Refusal:
    tune = holder(state, command.edit)
    if tune is None:
        return Refusal("There is no such edit to keep: it was taken back.")
    held = tune.edits[command.edit]
    if held.edit.kept == command.kept:
        return ()
    return (EditKept(edit=command.edit, kept=command.kept, by=by, words=held.words),)


def _take_over(state: State, command: TakeOver, by: str) -> tuple[Event, ...] | Refusal:
    if command.date not in state.dates:
        return Refusal("There is no such date to take anything over from.")
    if command.tune and command.tune not in state.tunes:
        return Refusal(f'There is no tune "{command.tune}" in the library.')
    if not command.id:
        return Refusal("Taking over needs an id.")
    if any(edit.startswith(f"{command.id}-") for tune in state.tunes.values() for edit in tune.edits):
        return ()
    then = [held for held in stood(state, command.date) if command.tune in ("", held.edit.tune)]
    wanted = {_same(held.edit) for held in then}
    tunes = [tune for tune in state.tunes.values() if command.tune in ("", tune.id)]
    holding = {_same(held.edit) for tune in tunes for held in tune.edits.values()}
    extra = [held for tune in tunes for held in tune.edits.values() if _same(held.edit) not in wanted]
    back = [EditTakenBack(edit=held.edit.id, by=by, words=f"No longer: {_lowered(held.words)}") for held in extra]
    missing = [held for held in then if _same(held.edit) not in holding]
    made = [_again(held, f"{command.id}-{n}", state.date) for n, held in enumerate(missing, 1)]
    return (*back, *made)


def _same(edit: Edit) -> bytes:
    """What two edits share that do the same."""
    return msgspec.json.encode(msgspec.structs.replace(edit, id="", author="", date="", kept=False, at="", made=0))


def _again(held: Held, id: str, date: str) -> EditMade:
    return EditMade(edit=msgspec.structs.replace(held.edit, id=id, date=date), words=held.words)


def _lowered(words: str) -> str:
    return words[:1].lower() + words[1:]


def apply(state: State, event: EditKept) -> State:
    """The state with an edit kept for later dates, or not."""
    tune = holder(state, event.edit)
    if tune is None:
        return state
    held = tune.edits[event.edit]
    replace = msgspec.structs.replace
    kept = replace(held, edit=replace(held.edit, kept=event.kept))
    return with_tune(state, replace(tune, edits={**tune.edits, event.edit: kept}))


def date_rows(state: State) -> tuple[DateRow, ...]:
    """Every date, the newest first."""
    dates = sorted(state.dates.values(), key=lambda date: date.first, reverse=True)
    return tuple(DateRow(date.id, date.name, date.kind, date.day, date.id == state.date) for date in dates)


def stood_rows(state: State, date: str) -> tuple[StoodRow, ...]:
    """The edits as at the end of a date."""
    now = {_same(held.edit) for tune in state.tunes.values() for held in tune.edits.values()}
    return tuple(
        StoodRow(
            tune=held.edit.tune,
            title=state.title(held.edit.tune),
            words=held.words,
            by=state.called(held.edit.author),
            kept=held.edit.kept,
            holds=_same(held.edit) in now,
        )
        for held in stood(state, date)
    )


def rows(state: State, decided: Iterable[tuple[int, str, Event]]) -> tuple[HistoryRow, ...]:
    """Events (sequence, time, event) as rows, in the order given; those that history does not tell of are left out."""
    found = []
    for seq, at, event in decided:
        if isinstance(event, TOLD):
            tune, by, words = _told(state, event)
            date = date_of(state, seq)
            what = str(event.__struct_config__.tag)
            found.append(HistoryRow(seq, at, date, state.called(by), what, state.title(tune), words))
    return tuple(found)


def date_of(state: State, seq: int) -> str:
    """The date that was open at a sequence; "" if none was."""
    within = (date for date in state.dates.values() if date.first <= seq <= (date.last or state.seq))
    return next((date.id for date in within), "")


def _told(state: State, event: Event) -> tuple[str, str, str]:
    """The tune, whose decision it was, and the words."""
    match event:
        case EditMade(edit=edit, words=words):
            return edit.tune, edit.author, f"{words} (kept)" if edit.kept else words
        case EditTakenBack(edit=edit_id, by=by, words=words):
            return _tune_of(state, edit_id), by, words or "An edit was taken back"
        case Cued(edit=edit_id, by=by, words=words) | PlayerNamed(edit=edit_id, by=by, words=words):
            return _tune_of(state, edit_id), by, words
        case EditKept(edit=edit_id, kept=kept, by=by, words=words):
            return _tune_of(state, edit_id), by, f"{'Kept' if kept else 'Not kept'}: {_lowered(words)}"
        case RepeatsSaid(tune=tune, by=by, words=words):
            return tune, by, words
        case Called(tune=tune, by=by, words=words):
            return tune, by, f"Called, from {words}" if words else "Called"
        case CallTakenBack(by=by):
            return "", by, "The call was taken back"
        case SetPut(tunes=tunes, by=by):
            return "", by, f"The set was put in order: {_counted(len(tunes), 'tune')}"
        case DateBegun(name=name, kind=kind, by=by):
            return "", by, f"Opened: {name} ({kind})"
        case DateEnded(by=by, gone=gone, kept=kept):
            left = (f", {_counted(len(kept), 'edit')} kept" if kept else "") + (
                f", {_counted(len(gone), 'edit')} gone with it" if gone else ""
            )
            return "", by, f"Closed{left}"
        case RoleGiven(chair=chair, role=role, by=by):
            return "", by, f"{state.called(chair)} may {_doing(role)} too"
        case RoleTaken(chair=chair, role=role, by=by):
            return "", by, f"{state.called(chair)} may no longer {_doing(role)}"
        case _:
            return "", "", ""


def _doing(role: str) -> str:
    return "lead" if role == "leader" else "direct"


def _tune_of(state: State, edit: str) -> str:
    def had(tune: Tune) -> bool:
        return edit in tune.edits or edit in tune.taken_back

    return next((tune.id for tune in state.tunes.values() if had(tune)), "")


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
