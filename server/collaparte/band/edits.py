"""Edits: what the MD decides about the order of the bars, made, told in words, and taken back."""

from typing import assert_never

import msgspec

from collaparte.band import saying
from collaparte.band.library import no_tune, worked_out
from collaparte.band.roles import MD, Refusal, Who, stale
from collaparte.band.state import Held, State, Tune, with_tune
from collaparte.music import breath, places
from collaparte.music.form import Step
from collaparte.music.played import left_out_by, loops_of
from collaparte.music.ruler import indices
from collaparte.music.stretches import between, rounds
from collaparte.wire.chart import BarId, Chart
from collaparte.wire.commands import MakeCut, MakeEdit, SayEdit, TakeBackEdit
from collaparte.wire.edits import MOST_TIMES, Cut, Edit, EditWhat, GoTo, Open, Pickup, PlayTimes, Signs, Tacet
from collaparte.wire.events import EditMade, EditTakenBack, Event

Command = MakeCut | MakeEdit | SayEdit | TakeBackEdit

Bounds = tuple[BarId, BarId | None, tuple[int, ...]]
"""First bar, the bar that it goes up to, and the times meant."""


def decide(state: State, command: Command, who: Who, call: int | None) -> tuple[Event, ...] | Refusal:
    """What comes of a command about edits.

    An edit offered whole (`MakeEdit`) may come without a call: it was acknowledged once, by a hub that is gone.
    """
    if not who.may(MD):
        return Refusal("Only the MD may change the order of the bars, or take a change back.")
    match command:
        case MakeCut():
            said = SayEdit(command.id, command.tune, "cut", command.first, command.until, kept=command.kept)
            return stale(state, call, "This cut") or _say(state, said, who)
        case SayEdit():
            return stale(state, call, "This change") or _say(state, command, who)
        case MakeEdit(edit):
            return (stale(state, call, "This edit") if call is not None else None) or _offer(state, edit)
        case TakeBackEdit(id):
            return stale(state, call, "This taking back") or _take_back(state, id, who.by(MD))
        case _:
            assert_never(command)


def _say(state: State, command: SayEdit, who: Who) -> tuple[Event, ...] | Refusal:
    """An edit from the words that it was said in."""
    name = command.tune or state.position.tune
    if name is None:
        return Refusal("No tune has been called yet, so say which tune to change.")
    tune = state.tunes.get(name)
    if tune is None:
        return no_tune(name)
    if tune.chart is None:
        return Refusal(f'No bars of "{tune.title}" have been read, so its order cannot be changed.')
    try:
        what = _spoken(tune, tune.chart, command)
    except places.PlaceError as error:
        return Refusal(str(error))
    edit = Edit(
        id=command.id,
        tune=tune.id,
        what=what,
        author=who.by(MD),
        kept=command.kept,
        chairs=command.chairs,
        sections=command.sections,
        at=who.at,
    )
    if isinstance(what, Pickup) and not _wrong_people(state, edit):
        # Who keeps it is decided now; a chair that joins the section later has other notes.
        edit = msgspec.structs.replace(edit, chairs=concerned_chairs(state, edit), sections=())
    made = _offer(state, edit)
    if isinstance(made, Refusal) or not made:
        return made
    return _in_vain(tune, tune.chart, edit) if _idle(tune, made[0].edit) else made


def _spoken(tune: Tune, chart: Chart, command: SayEdit) -> EditWhat:
    """What is meant, from its places as they were said; raises `PlaceError`."""
    order = tune.written.steps
    match command.kind:
        case "cut":
            return Cut(*_two_places(chart, order, command))
        case "times":
            what = PlayTimes(*_two_places(chart, order, command), times=command.times)
            return _before_jumps(tune, chart, what)
        case "open":
            return _before_jumps(tune, chart, Open(*_two_places(chart, order, command)))
        case "tacet":
            return Tacet(*_two_places(chart, order, command))
        case "go-to":
            first, to = (places.find(words, chart, order) for words in (command.first, command.until))
            return GoTo(first.bar, to.bar, _time_said(command.first, first, chart, order))
        case "no-repeats":
            return Signs("repeats")
        case "no-jumps":
            return Signs("jumps")
        case "pickup":
            return Pickup(places.find(command.first, chart, order).bar)
        case _:
            assert_never(command.kind)


def _two_places(chart: Chart, order: tuple[Step, ...], command: SayEdit) -> tuple[BarId, BarId | None, tuple[int, ...]]:
    """A stretch from its two places as they were said; raises `PlaceError`."""
    first, until = command.first, command.until
    if not until.strip():
        first, until = breath.ends_of(first, chart, order)
    begin = places.find(first, chart, order)
    passes = _time_said(first, begin, chart, order)
    if places.is_end(until):
        return begin.bar, None, passes
    end = places.find(until, chart, order)
    if end.bar == begin.bar:
        raise places.PlaceError(f'From "{first.strip()}" to "{until.strip()}" there is nothing.')
    if end.pass_ is not None and _time_matters(end, order):
        # "C to D second time" is said of both: the time through C that leads to that D.
        leading = _leading_to(places.resolve(until, chart, order).position, begin, order)
        if leading is None or (passes and passes != (leading,)):
            raise places.PlaceError(f'"{first.strip()}" does not lead to "{until.strip()}"; say the time once.')
        passes = (leading,)
    elif end.pass_ is not None and end.pass_ > 1 and not passes and _time_matters(begin, order):
        # "C to D second time" where D comes once: the second time through C, however far that leads.
        passes = places.passes_said(first, msgspec.structs.replace(begin, pass_=end.pass_), chart, order)
    else:
        _time_said(until, end, chart, order)
    return begin.bar, end.bar, passes


def _before_jumps(tune: Tune, chart: Chart, what: PlayTimes | Open) -> PlayTimes | Open:
    """A stretch to be played again: unless a time was said, not once more when it comes back after a D.S. or D.C. As
    with printed repeats, that is the custom."""
    place = indices(chart)
    if what.until is not None and place[what.until] <= place[what.first]:
        first, until = places.say(chart, what.first), saying.sentence(places.say(chart, what.until))
        raise places.PlaceError(f"{until} does not come after {first} in print.")
    passes = what.passes or saying.before_jumps(tune, chart, what)
    return msgspec.structs.replace(what, passes=passes)


def _leading_to(position: int, begin: places.Place, order: tuple[Step, ...]) -> int | None:
    """Which time through a bar leads to a position of the order."""
    return next((step.pass_ for step in reversed(order[:position]) if step.bar == begin.bar), None)


def _time_said(words: str, place: places.Place, chart: Chart, order: tuple[Step, ...]) -> tuple[int, ...]:
    """The passes that a place was said for, () where it comes but once; raises `PlaceError` for a time too many."""
    passes = places.passes_said(words, place, chart, order)
    return passes if _time_matters(place, order) else ()


def _time_matters(place: places.Place, order: tuple[Step, ...]) -> bool:
    return sum(step.bar == place.bar for step in order) > 1


def _idle(tune: Tune, edit: Edit) -> bool:
    """Whether an edit changes nothing of what is decided already."""
    if isinstance(edit.what, Tacet | Pickup):
        return any(held.edit.what == edit.what and _same_people(held.edit, edit) for held in tune.edits.values())
    now = _with(tune, edit).played
    before = tune.played
    return (now.cut, [(a.first, a.last, a.times) for a in now.again]) == (
        before.cut,
        [(a.first, a.last, a.times) for a in before.again],
    )


def _same_people(one: Edit, other: Edit) -> bool:
    return set(one.chairs) == set(other.chairs) and set(one.sections) == set(other.sections)


def _in_vain(tune: Tune, chart: Chart, edit: Edit) -> Refusal:
    """Refuses what would change nothing."""
    what = edit.what
    match what:
        case Cut():
            return Refusal(f"{saying.sentence(saying.stretch(chart, what))} is cut already.")
        case PlayTimes() | Open():
            stretch = saying.sentence(saying.stretch(chart, what))
            inside = between(tune.written.steps, indices(chart), what.first, what.until, what.passes)
            if inside <= tune.played.left_out():
                return Refusal(f"{stretch} is cut; take the cut back before you have it played again.")
            return Refusal(f"{stretch} is played like that already.")
        case _:
            return Refusal("That is decided already.")


def _with(tune: Tune, edit: Edit) -> Tune:
    return worked_out(msgspec.structs.replace(tune, edits={**tune.edits, edit.id: Held(edit, "")}))


def _offer(state: State, edit: Edit) -> tuple[EditMade, ...] | Refusal:
    """An edit in bar ids; one that is known already, or was taken back, is left as it is."""
    tune = state.tunes.get(edit.tune)
    if tune is None:
        return no_tune(edit.tune)
    if not edit.id:
        return Refusal("An edit needs an id.")
    if any(edit.id in other.edits or edit.id in other.taken_back for other in state.tunes.values()):
        return ()
    chart = tune.chart
    known = indices(chart) if chart else {}
    if chart is None or any(bar not in known for bar in bars_of(edit.what)):
        return Refusal(f'This edit names bars that "{tune.title}" does not have.')
    wrong = _wrong_people(state, edit) or _nothing_to_do(tune, chart, edit)
    if wrong:
        return Refusal(wrong)
    edit = edit if edit.made else msgspec.structs.replace(edit, made=state.seq + 1)
    if not _with(tune, edit).played.positions():
        return Refusal(f'That would leave nothing of "{tune.title}" to play.')
    return (EditMade(edit=edit, words=saying.in_words(state, chart, edit)),)


def bars_of(what: EditWhat) -> tuple[BarId, ...]:
    """The bars that an edit names."""
    match what:
        case Cut(first=first, until=until) | PlayTimes(first=first, until=until):
            return (first,) if until is None else (first, until)
        case Open(first=first, until=until) | Tacet(first=first, until=until):
            return (first,) if until is None else (first, until)
        case GoTo():
            return (what.first, what.to)
        case Pickup():
            return (what.bar,)
        case Signs():
            return ()
        case _:
            assert_never(what)


def _wrong_people(state: State, edit: Edit) -> str:
    """What is wrong with whom an edit is for, in one sentence; "" if nothing."""
    named = bool(edit.chairs or edit.sections)
    if not isinstance(edit.what, Tacet | Pickup):
        what = "A cut" if isinstance(edit.what, Cut) else "A change of the order"
        return f"{what} is for everyone; it cannot be for some chairs only." if named else ""
    if not named:
        what = "is tacet" if isinstance(edit.what, Tacet) else "keeps the pickup"
        return f"Say who {what}: chairs or sections."
    missing = next((chair for chair in edit.chairs if chair not in state.chairs), None)
    if missing is not None:
        return f'There is no chair "{missing}" in this band.'
    sections = {section.name for section in state.sections}
    unknown = next((section for section in edit.sections if section not in sections), None)
    return "" if unknown is None else f'There is no section "{unknown}" in this band.'


def _nothing_to_do(tune: Tune, chart: Chart, edit: Edit) -> str:
    """Why an edit could do nothing in this tune at all, in one sentence; "" if it can."""
    place, steps, what = indices(chart), tune.written.steps, edit.what
    match what:
        case Cut():
            if not left_out_by(tune.written, place, edit):
                stretch = saying.sentence(saying.stretch(chart, what))
                return f"{stretch} does not come in that order in this tune, so there is nothing to cut."
        case PlayTimes(times=times) if not 1 <= times <= MOST_TIMES:
            return f"A stretch is played 1 to {MOST_TIMES} times, not {times}."
        case PlayTimes() | Open():
            if not rounds(steps, place, what.first, what.until, what.passes):
                return f"{saying.sentence(saying.stretch(chart, what))} does not come in that order in this tune."
        case Tacet():
            if not between(steps, place, what.first, what.until, what.passes):
                return f"{saying.sentence(saying.stretch(chart, what))} does not come in that order in this tune."
        case GoTo():
            if not left_out_by(tune.written, place, edit) and not any(loops_of(tune.written, place, edit)):
                first, to = places.say(chart, what.first), places.say(chart, what.to)
                return f"There is no way from {first} to {to} in this tune."
        case Signs(leave="repeats"):
            if not tune.written.again:
                return "This tune has no repeats to leave out."
        case Signs():
            if not tune.written.jumped:
                return "This tune has no D.S. or D.C. to leave out."
        case Pickup():
            if not with_pickup(tune, what.bar):
                return f"{saying.sentence(places.say(chart, what.bar))} is not the last bar of a cut."
    return ""


def concerned(tune: Tune, edit: Edit) -> set[int]:
    """The positions of the written order at which some chairs are tacet or keep a pickup."""
    what = edit.what
    if isinstance(what, Tacet) and tune.chart is not None:
        return between(tune.written.steps, indices(tune.chart), what.first, what.until, what.passes)
    if isinstance(what, Pickup):
        return {position for position in tune.played.pickups if tune.written.steps[position].bar == what.bar}
    return set()


def concerned_chairs(state: State, edit: Edit) -> tuple[str, ...]:
    """The chairs that an edit is for, those of its sections included."""
    by_section = [chair for section in state.sections if section.name in edit.sections for chair in section.chairs]
    return tuple(dict.fromkeys((*edit.chairs, *by_section)))


def with_pickup(tune: Tune, bar: BarId) -> bool:
    """Whether a bar is the last one of what is cut, with music after it."""
    steps = tune.written.steps
    return any(last + 1 < len(steps) and steps[last].bar == bar for _, last in tune.played.cut)


def _take_back(state: State, id: str, by: str) -> tuple[Event, ...] | Refusal:
    tune = holder(state, id)
    if tune is None:
        gone = any(id in other.taken_back for other in state.tunes.values())
        return () if gone else Refusal("There is no such edit to take back.")
    held = tune.edits[id]
    others = {other: one for other, one in tune.edits.items() if other != id}
    if tune.chart and not worked_out(msgspec.structs.replace(tune, edits=others)).played.positions():
        return Refusal(f'That would leave nothing of "{tune.title}" to play; take another change back first.')
    words = saying.taken_back(state, tune.chart, held.edit) if tune.chart else f"Taken back: {held.words}"
    return (EditTakenBack(edit=id, by=by, words=words),)


def holder(state: State, edit: str) -> Tune | None:
    """The tune on which an edit holds."""
    return next((tune for tune in state.tunes.values() if edit in tune.edits), None)


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
