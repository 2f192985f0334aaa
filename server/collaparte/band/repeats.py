"""Whether a tune's repeats are taken again after its D.S. or D.C.: how the chart is meant, for every date."""

import msgspec

from collaparte.band import saying
from collaparte.band.library import no_tune, worked_out
from collaparte.band.roles import LIBRARIAN, MD, Refusal, Who
from collaparte.band.state import State, Tune, with_tune
from collaparte.music.form import Written
from collaparte.wire.commands import TakeRepeats
from collaparte.wire.events import Event, RepeatsSaid


def decide(state: State, command: TakeRepeats, who: Who) -> tuple[Event, ...] | Refusal:
    """What comes of saying so."""
    if not who.may(MD, LIBRARIAN):
        return Refusal("Only the MD or the librarian may say whether repeats are taken after a D.S. or D.C.")
    tune = state.tunes.get(command.tune)
    if tune is None:
        return no_tune(command.tune)
    if tune.repeats_said == command.taken:
        return ()
    if tune.chart is None or tune.repeats_after_jump is None:
        return Refusal(f'"{tune.title}" has no repeats that come again after a D.S. or D.C.')
    if not _with(tune, command.taken).played.positions():
        return Refusal(f'That would leave nothing of "{tune.title}" to play; take a cut back first.')
    how = {None: "as printed", True: "taken again", False: "not taken again"}[command.taken]
    words = f"Repeats after the {saying.jumps(tune.chart)}: {how}"
    return (RepeatsSaid(tune=tune.id, taken=command.taken, by=who.by(MD, LIBRARIAN), words=words),)


def _with(tune: Tune, taken: bool | None) -> Tune:
    return worked_out(msgspec.structs.replace(tune, repeats_said=taken, written=Written(())))


def apply(state: State, event: RepeatsSaid) -> State:
    """The state with the repeats taken so."""
    tune = state.tunes.get(event.tune)
    if tune is None:
        return state
    return with_tune(state, msgspec.structs.replace(_with(tune, event.taken), revision=tune.revision + 1))
