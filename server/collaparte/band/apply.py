"""Events become state. Every event, known or not, advances the sequence by one."""

from collections.abc import Iterable
from typing import assert_never

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
from collaparte.band.state import State
from collaparte.wire.events import (
    BandNamed,
    Called,
    CallTakenBack,
    ChairAdded,
    ChairMoved,
    ChairRemoved,
    ChairRenamed,
    CorrectionMade,
    CorrectionTakenBack,
    Cued,
    DateBegun,
    DateEnded,
    EditKept,
    EditMade,
    EditTakenBack,
    Event,
    MarkingErased,
    MarkingMade,
    NextNamed,
    PartBrought,
    PartsSeated,
    PlayerNamed,
    RepeatsSaid,
    RoleGiven,
    RoleTaken,
    RulerMended,
    RulerMinted,
    SetPut,
    TuneAdded,
    Unknown,
)


def apply(state: State, event: Event) -> State:
    """The state after one more event. An event about what this release has never heard of does nothing."""
    state = msgspec.structs.replace(state, seq=state.seq + 1)
    match event:
        case BandNamed() | ChairAdded() | ChairRenamed() | ChairMoved() | ChairRemoved():
            return chairs.apply(state, event)
        case TuneAdded() | RulerMinted() | PartBrought() | PartsSeated():
            return library.apply(state, event)
        case SetPut():
            return setlist.apply(state, event)
        case DateBegun() | DateEnded():
            return dates.apply(state, event)
        case RoleGiven() | RoleTaken():
            return roles.apply(state, event)
        case NextNamed() | Called() | CallTakenBack():
            return position.apply(state, event)
        case EditMade() | EditTakenBack():
            return edits.apply(state, event)
        case RepeatsSaid():
            return repeats.apply(state, event)
        case EditKept():
            return history.apply(state, event)
        case Cued() | PlayerNamed():
            return cues.apply(state, event)
        case MarkingMade() | MarkingErased():
            return markings.apply(state, event)
        case CorrectionMade() | CorrectionTakenBack() | RulerMended():
            return corrections.apply(state, event)
        case Unknown():
            return state
        case _:
            assert_never(event)


def fold(events: Iterable[Event], state: State | None = None) -> State:
    """The state after all these events."""
    state = State() if state is None else state
    for event in events:
        state = apply(state, event)
    return state
