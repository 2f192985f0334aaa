"""Commands become events, or one sentence why not. Pure: the same state, command and asker give the same answer."""

from collections.abc import Callable
from typing import Any, get_args

import msgspec

from collaparte.band import (
    chairs,
    corrections,
    cues,
    dates,
    edits,
    history,
    library,
    markings,
    position,
    repeats,
    roles,
    setlist,
)
from collaparte.band.roles import Refusal, Who, stranger
from collaparte.band.state import State
from collaparte.wire.commands import Command, MakeEdit, SetTheSet, TakeRepeats
from collaparte.wire.events import Event

_AnyTime = Callable[[State, Any, Who], tuple[Event, ...] | Refusal]
_Timely = Callable[[State, Any, Who, int | None], tuple[Event, ...] | Refusal]

_ANY_TIME: dict[type, _AnyTime] = {
    command: subject.decide
    for subject in (chairs, corrections, library, markings, dates, roles, history)
    for command in get_args(subject.Command)
} | {SetTheSet: setlist.decide, TakeRepeats: repeats.decide}
_TIMELY: dict[type, _Timely] = {
    command: subject.decide for subject in (position, edits, cues) for command in get_args(subject.Command)
}


def decide(state: State, command: Command, who: Who, call: int | None = None) -> tuple[Event, ...] | Refusal:
    """What the band decides on a command: events to log, none when it is so already, or a refusal.

    `call`: the number of the call under which it was asked (`wire.messages.Do.call`).
    """
    refused = stranger(state, who)
    if refused is not None:
        return refused
    who = msgspec.structs.replace(who, roles=who.roles | roles.given(state, who.chairs))
    if type(command) in _TIMELY:
        late = dates.too_late(state, command) if isinstance(command, MakeEdit) else None
        decided = late or _TIMELY[type(command)](state, command, who, call)
    else:
        decided = _ANY_TIME[type(command)](state, command, who)
    return decided if isinstance(decided, Refusal) else dates.dated(state, decided)
