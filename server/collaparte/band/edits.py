"""Edits: what the MD decides about the order of the bars, made, told in words, and taken back."""

from typing import assert_never

import msgspec

from collaparte.band.library import no_tune, worked_out
from collaparte.band.roles import MD, Refusal, Who, stale
from collaparte.band.state import Held, State, Tune, with_tune
from collaparte.music import places
from collaparte.music.form import Step
from collaparte.music.played import cut_positions
from collaparte.music.ruler import indices
from collaparte.music.words import ordinal
from collaparte.wire.chart import Chart
from collaparte.wire.commands import MakeCut, MakeEdit, TakeBackEdit
from collaparte.wire.edits import Cut, Edit
from collaparte.wire.events import EditMade, EditTakenBack, Event

Command = MakeCut | MakeEdit | TakeBackEdit


def decide(state: State, command: Command, who: Who, call: int | None) -> tuple[Event, ...] | Refusal:
    """What comes of a command about edits.

    An edit offered whole (`MakeEdit`) may come without a call: it was acknowledged once, by a hub that is gone.
    """
    if not who.may(MD):
        return Refusal("Only the MD may cut, or take a cut back.")
    match command:
        case MakeCut():
            return stale(state, call, "This cut") or _cut(state, command, who.by(MD))
        case MakeEdit(edit):
            return (stale(state, call, "This edit") if call is not None else None) or _offer(state, edit)
        case TakeBackEdit(id):
            return stale(state, call, "This taking back") or _take_back(state, id, who.by(MD))
        case _:
            assert_never(command)


def _cut(state: State, command: MakeCut, by: str) -> tuple[Event, ...] | Refusal:
    name = command.tune or state.position.tune
    if name is None:
        return Refusal("No tune has been called yet, so say which tune to cut.")
    tune = state.tunes.get(name)
    if tune is None:
        return no_tune(name)
    if tune.chart is None:
        return Refusal(f'No bars of "{tune.title}" have been read, so it cannot be cut.')
    try:
        what = _spoken(tune.chart, tune.written.steps, command.first, command.until)
    except places.PlaceError as error:
        return Refusal(str(error))
    edit = Edit(id=command.id, tune=tune.id, what=what, author=by, kept=command.kept)
    made = _offer(state, edit)
    out = cut_positions(tune.written.steps, indices(tune.chart), what)
    if made and not isinstance(made, Refusal) and out <= tune.played.left_out():
        return Refusal(f"{_sentence(_range(tune.chart, what))} is cut already.")
    return made


def _spoken(chart: Chart, order: tuple[Step, ...], first: str, until: str) -> Cut:
    """A cut from its two places as they were said; raises `PlaceError`."""
    begin = places.find(first, chart, order)
    passes = places.passes_said(first, begin, chart, order) if _time_matters(begin, order) else ()
    if places.is_end(until):
        return Cut(begin.bar, None, passes)
    end = places.find(until, chart, order)
    if end.bar == begin.bar:
        raise places.PlaceError(f'From "{first.strip()}" to "{until.strip()}" there is nothing to cut.')
    if end.pass_ is not None and _time_matters(end, order):
        # "C to D second time" is said of both: the time through C that leads to that D.
        leading = _leading_to(places.resolve(until, chart, order).position, begin, order)
        if leading is None or (passes and passes != (leading,)):
            raise places.PlaceError(f'"{first.strip()}" does not lead to "{until.strip()}"; say the time once.')
        passes = (leading,)
    return Cut(begin.bar, end.bar, passes)


def _leading_to(position: int, begin: places.Place, order: tuple[Step, ...]) -> int | None:
    """Which time through a bar leads to a position of the order."""
    return next((step.pass_ for step in reversed(order[:position]) if step.bar == begin.bar), None)


def _time_matters(place: places.Place, order: tuple[Step, ...]) -> bool:
    return sum(step.bar == place.bar for step in order) > 1


def _offer(state: State, edit: Edit) -> tuple[Event, ...] | Refusal:
    """An edit in bar ids; one that is known already, or was taken back, is left as it is."""
    tune = state.tunes.get(edit.tune)
    if tune is None:
        return no_tune(edit.tune)
    if not edit.id:
        return Refusal("An edit needs an id.")
    if any(edit.id in other.edits or edit.id in other.taken_back for other in state.tunes.values()):
        return ()
    chart, cut = tune.chart, edit.what
    known = indices(chart) if chart else {}
    if chart is None or any(bar is not None and bar not in known for bar in (cut.first, cut.until)):
        return Refusal(f'This edit names bars that "{tune.title}" does not have.')
    if edit.chairs:
        return Refusal("A cut is for everyone; it cannot be for some chairs only.")
    out = cut_positions(tune.written.steps, known, cut)
    if not out:
        return Refusal(
            f"{_sentence(_range(chart, cut))} does not come in that order in this tune, so there is nothing to cut."
        )
    if len(out | tune.played.left_out()) == len(tune.written.steps):
        return Refusal(f'That would leave nothing of "{tune.title}" to play.')
    return (EditMade(edit=edit, words=in_words(chart, cut)),)


def _take_back(state: State, id: str, by: str) -> tuple[Event, ...] | Refusal:
    tune = holder(state, id)
    if tune is None:
        gone = any(id in other.taken_back for other in state.tunes.values())
        return () if gone else Refusal("There is no such edit to take back.")
    chart = tune.chart
    range = _range(chart, tune.edits[id].edit.what) if chart else tune.edits[id].words
    words = f"{_sentence(range)} is back in"
    return (EditTakenBack(edit=id, by=by, words=words),)


def holder(state: State, edit: str) -> Tune | None:
    """The tune on which an edit holds."""
    return next((tune for tune in state.tunes.values() if edit in tune.edits), None)


def in_words(chart: Chart, cut: Cut) -> str:
    """A cut as it is told: "Cut C to D", "Cut C to the end, second time only"."""
    times = " and ".join(ordinal(pass_) for pass_ in cut.passes)
    return f"Cut {_range(chart, cut)}" + (f", {times} time only" if times else "")


def _range(chart: Chart, cut: Cut) -> str:
    return f"{places.say(chart, cut.first)} to {places.say(chart, cut.until) if cut.until else 'the end'}"


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def apply(state: State, event: EditMade | EditTakenBack) -> State:
    """The state after one event about edits."""
    replace = msgspec.structs.replace
    match event:
        case EditMade(edit=edit, words=words):
            tune = state.tunes.get(edit.tune)
            if tune is None:
                return state
            tune = replace(tune, edits={**tune.edits, edit.id: Held(edit, words)}, revision=tune.revision + 1)
        case EditTakenBack(edit=id):
            tune = holder(state, id)
            if tune is None:
                return state
            edits = {other: held for other, held in tune.edits.items() if other != id}
            tune = replace(tune, edits=edits, taken_back=tune.taken_back | {id}, revision=tune.revision + 1)
        case _:
            assert_never(event)
    return with_tune(state, worked_out(tune))
