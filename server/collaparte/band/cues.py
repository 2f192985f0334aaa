"""Cues: when an open stretch ends, and who plays it next. They hold for the call under which they were given."""

from typing import assert_never

import msgspec

from collaparte.band import saying
from collaparte.band.edits import holder
from collaparte.band.roles import LEADER, MD, Refusal, Who, stale
from collaparte.band.state import State, Tune
from collaparte.music import places
from collaparte.music.played import loops_of
from collaparte.music.ruler import indices
from collaparte.wire.commands import Cue, NamePlayer
from collaparte.wire.edits import Edit, Open
from collaparte.wire.events import Cued, Event, PlayerNamed

Command = Cue | NamePlayer

MOST_WORDS = 60
"""Characters of who plays next: it is one line on the smallest stand."""


def decide(state: State, command: Command, who: Who, call: int | None) -> tuple[Event, ...] | Refusal:
    """What comes of a command about an open stretch of the tune that is on."""
    if not who.may(MD, LEADER):
        return Refusal("Only the MD or the leader may cue.")
    refused = stale(state, call, "This cue")
    if refused:
        return refused
    tune = holder(state, command.edit)
    if tune is None:
        return Refusal("That stretch is not open any more, so there is nothing to cue.")
    edit = tune.edits[command.edit].edit
    if not isinstance(edit.what, Open) or not tune.played.plays_again(edit.id):
        return Refusal("That stretch is not open, so there is nothing to cue.")
    if tune.id != state.position.tune:
        return Refusal(f'"{tune.title}" is not on, so there is nothing to cue in it.')
    match command:
        case Cue(last=last):
            if last == (edit.id in state.position.cued):
                return ()
            words = _cue(tune, edit, edit.what, last=last)
            return (Cued(edit=edit.id, call=state.position.call, last=last, by=who.by(MD, LEADER), words=words),)
        case NamePlayer(who=named):
            return _name(state, tune, edit, edit.what, named, who.by(MD, LEADER))
        case _:
            assert_never(command)


def _cue(tune: Tune, edit: Edit, what: Open, *, last: bool) -> str:
    """ "Last time through C to D, then on", or that it goes on being open."""
    assert tune.chart is not None
    stretch = saying.stretch(tune.chart, what)
    if not last:
        return f"Not yet: {stretch} is still open"
    end = max(loop.block.last for loop in loops_of(tune.written, indices(tune.chart), edit))
    out = tune.played.left_out()
    after = next((p for p in range(end + 1, len(tune.played.written)) if p not in out), None)
    where = f"then {places.say(tune.chart, tune.played.written[after].bar)}" if after is not None else "then the end"
    return f"Last time: {stretch}, {where}"


def _name(state: State, tune: Tune, edit: Edit, what: Open, named: str, by: str) -> tuple[Event, ...] | Refusal:
    assert tune.chart is not None
    name = state.chairs[named].name if named in state.chairs else " ".join(named.split())
    if len(name) > MOST_WORDS:
        return Refusal(f"Say in {MOST_WORDS} letters at most who plays next.")
    if state.position.players.get(edit.id, "") == name:
        return ()
    stretch = saying.stretch(tune.chart, what)
    words = f"{stretch}, next: {name}" if name else f"{stretch}: nobody is next"
    return (PlayerNamed(edit=edit.id, who=name, by=by, words=saying.sentence(words)),)


def apply(state: State, event: Cued | PlayerNamed) -> State:
    """The state after one event about an open stretch."""
    here = state.position
    match event:
        case Cued(edit=edit, call=call, last=last):
            if call != here.call:
                return state
            others = tuple(one for one in here.cued if one != edit)
            here = msgspec.structs.replace(here, cued=(*others, edit) if last else others)
        case PlayerNamed(edit=edit, who=who):
            players = {one: name for one, name in here.players.items() if one != edit}
            here = msgspec.structs.replace(here, players={**players, edit: who} if who else players)
        case _:
            assert_never(event)
    return msgspec.structs.replace(state, position=here)
