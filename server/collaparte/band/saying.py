"""Edits as they are told: the same words on every screen, in the command line, in the log, and to the player."""

from collections.abc import Iterable
from typing import assert_never

from collaparte.band.state import State, Tune
from collaparte.music import places
from collaparte.music.ruler import indices
from collaparte.music.stretches import rounds
from collaparte.music.words import ordinal
from collaparte.wire.chart import Chart
from collaparte.wire.edits import Cut, Edit, GoTo, Open, Pickup, PlayTimes, Signs, Tacet

Stretch = Cut | PlayTimes | Open | Tacet


def in_words(state: State, chart: Chart, edit: Edit) -> str:
    """An edit as it is told: "Cut C to D", "Play C to D 4 times", "Tacet C to D, second time only: Trumpet 1"."""
    what, who = edit.what, whose(state, edit)
    match what:
        case Cut():
            said = f"Cut {stretch(chart, what)}"
        case PlayTimes(times=1):
            said = f"Play {stretch(chart, what)} once only"
        case PlayTimes(times=times):
            said = f"Play {stretch(chart, what)} {times} times"
        case Open():
            said = f"Open until cued: {stretch(chart, what)}"
        case Tacet():
            said = f"Tacet {stretch(chart, what)}"
        case GoTo():
            said = f"At {places.say(chart, what.first)} go to {places.say(chart, what.to)}"
        case Signs(leave="repeats"):
            said = "No repeats, straight through"
        case Signs():
            said = f"No {jumps(chart)}"
        case Pickup():
            said = f"Keep {places.say(chart, what.bar)} as a pickup"
        case _:
            assert_never(what)
    tune = state.tunes.get(edit.tune)
    if tune and isinstance(what, PlayTimes | Open) and what.passes and what.passes == before_jumps(tune, chart, what):
        said += f", not after the {jumps(chart)}"
    elif not isinstance(what, Signs | Pickup):
        said += _times(what.passes)
    return said + (f": {who}" if who else "")


def before_jumps(tune: Tune, chart: Chart, what: PlayTimes | Open) -> tuple[int, ...]:
    """The times that a stretch comes before the first D.S. or D.C., where it comes back after one; else ()."""
    written = tune.written
    landed = min(written.jumped, default=len(written.steps))
    turns = [turn for together in rounds(written.steps, indices(chart), what.first, what.until) for turn in together]
    before = tuple(written.steps[turn.first].pass_ for turn in turns if turn.first < landed)
    return before if len(before) < len(turns) else ()


def taken_back(state: State, chart: Chart, edit: Edit) -> str:
    """How it is told that an edit holds no longer."""
    what = edit.what
    match what:
        case Cut():
            return sentence(f"{stretch(chart, what)} is back in")
        case PlayTimes() | Open():
            return sentence(f"{stretch(chart, what)} as written again")
        case Tacet():
            return sentence(f"{stretch(chart, what)} is not tacet any more: {whose(state, edit)}")
        case GoTo():
            return sentence(f"{places.say(chart, what.first)} is played again, as written")
        case Signs(leave="repeats"):
            return "With the repeats again"
        case Signs():
            return f"With the {jumps(chart)} again"
        case Pickup():
            return f"No pickup any more: {whose(state, edit)}"
        case _:
            assert_never(what)


def whose(state: State, edit: Edit) -> str:
    """The sections and chairs that an edit is for, as they are called; "" for everyone."""
    return listed((*edit.sections, *(state.called(chair) for chair in edit.chairs)))


def listed(names: Iterable[str]) -> str:
    """ "Trumpet 1, Trumpet 2 and Keys"."""
    names = tuple(names)
    return " and ".join((", ".join(names[:-1]), names[-1])) if len(names) > 1 else "".join(names)


def stretch(chart: Chart, what: Stretch) -> str:
    """ "C to D", "D to the end"."""
    return f"{places.say(chart, what.first)} to {places.say(chart, what.until) if what.until else 'the end'}"


def jumps(chart: Chart) -> str:
    """What the tune's jumps are called: "D.S.", "D.C.", or both."""
    kinds = {sign.kind[:2] for sign in chart.signs}
    return listed(name for kind, name in (("dc", "D.C."), ("ds", "D.S.")) if kind in kinds) or "D.S."


def _times(passes: tuple[int, ...]) -> str:
    return f", {listed(ordinal(pass_) for pass_ in passes)} time only" if passes else ""


def sentence(words: str) -> str:
    """Words with a capital to begin with."""
    return words[:1].upper() + words[1:]


def why_held_off(tune: Tune) -> dict[str, str]:
    """Edits that do not hold while another does, by id: "waits, since "Cut C to D" leaves nothing of it"."""
    reasons: dict[str, str] = {}
    for one in tune.played.held_off:
        holding, waiting = tune.edits.get(one.by), tune.edits.get(one.edit)
        if holding is None or waiting is None:
            continue
        if isinstance(holding.edit.what, PlayTimes | Open | GoTo) and tune.played.plays_again(one.by):
            reasons[one.edit] = f'Waits: "{holding.words}" was decided later for the same bars.'
        else:
            reasons[one.edit] = f'Waits: "{holding.words}" leaves nothing of it to play.'
    return reasons
