"""The library: tunes, their rulers, their parts and who plays them."""

from typing import assert_never

import msgspec

from collaparte.band import texts
from collaparte.band.roles import LIBRARIAN, Refusal, Who
from collaparte.band.state import Part, State, Tune, Version, with_tune
from collaparte.music import ruler
from collaparte.music.folding import SHORT
from collaparte.music.form import repeated_after_jump, written_order
from collaparte.music.played import evaluate
from collaparte.wire.commands import AddTune, BringPart, MintRuler, SeatParts
from collaparte.wire.events import Event, PartBrought, PartsSeated, RulerMinted, TuneAdded
from collaparte.wire.setlist import SetItem

Command = AddTune | MintRuler | BringPart | SeatParts


def decide(state: State, command: Command, who: Who) -> tuple[Event, ...] | Refusal:
    """What comes of a command about tunes and parts."""
    if not who.may(LIBRARIAN):
        return Refusal("Only the librarian may bring in tunes and parts and say who plays them.")
    if isinstance(command, AddTune):
        wrong = texts.fault(command.title, "A tune") or ("" if command.id else "A tune needs an id.")
        if not wrong and command.id in state.tunes:
            wrong = f'"{state.title(command.id)}" is in the library already.'
        return Refusal(wrong) if wrong else (TuneAdded(tune=command.id, title=texts.tidy(command.title)),)
    tune = state.tunes.get(command.tune)
    if tune is None:
        return no_tune(command.tune)
    match command:
        case MintRuler():
            return _mint(tune, command)
        case BringPart():
            return _bring(tune, command)
        case SeatParts():
            return _seat(state, tune, command)
        case _:
            assert_never(command)


def no_tune(tune: str) -> Refusal:
    """Refuses a tune that is not there."""
    return Refusal(f'There is no tune "{tune}" in the library.')


def _mint(tune: Tune, command: MintRuler) -> tuple[Event, ...] | Refusal:
    if tune.chart == command.chart:
        return ()
    if tune.chart is not None:
        return Refusal(f'"{tune.title}" has its bars already; they are never counted anew.')
    wrong = ruler.fault(command.chart)
    return Refusal(wrong) if wrong else (RulerMinted(tune=tune.id, chart=command.chart),)


def _bring(tune: Tune, command: BringPart) -> tuple[Event, ...] | Refusal:
    wrong = texts.fault(command.name, "A part")
    if not wrong and not (command.part and command.version and command.original):
        wrong = f'The part "{texts.tidy(command.name)}" came without its id or its file.'
    known = ruler.indices(tune.chart) if tune.chart else {}
    if not wrong and any(bar is not None and bar not in known for bar in command.bars):
        wrong = f'The part "{texts.tidy(command.name)}" names bars that "{tune.title}" does not have.'
    if wrong:
        return Refusal(wrong)
    brought = PartBrought(
        tune=tune.id,
        part=command.part,
        name=texts.tidy(command.name),
        original=command.original,
        pages=command.pages,
        version=command.version,
        reading=command.reading,
        table=command.table,
        pieces=command.pieces,
        bars=command.bars,
        as_printed=command.as_printed,
        file_name=command.file_name,
        outline=command.outline,
        corrected=command.corrected,
        asides=command.asides,
    )
    part = tune.parts.get(command.part)
    # The same file again, under whatever name, changes nothing.
    same = part is not None and part.name == brought.name and _same(part.current, _version(brought))
    return () if same else (brought,)


def _same(one: Version, other: Version) -> bool:
    kept = {"file_name": one.file_name, "outline": one.outline or other.outline, "asides": one.asides or other.asides}
    return one == msgspec.structs.replace(other, **kept)


def _seat(state: State, tune: Tune, command: SeatParts) -> tuple[Event, ...] | Refusal:
    if command.chair not in state.chairs:
        return Refusal(f'There is no chair "{command.chair}" in this band.')
    missing = next((part for part in command.parts if part not in tune.parts), None)
    if missing is not None:
        return Refusal(f'"{tune.title}" has no part "{missing}".')
    parts = tuple(dict.fromkeys(command.parts))
    if tune.seats.get(command.chair) == parts:
        return ()
    return (PartsSeated(tune=tune.id, chair=command.chair, parts=parts),)


def apply(state: State, event: TuneAdded | RulerMinted | PartBrought | PartsSeated) -> State:
    """The state after one event about tunes and parts. A new tune is the last of the set."""
    replace = msgspec.structs.replace
    if isinstance(event, TuneAdded):
        last = replace(state.set, items=(*state.set.items, SetItem(event.tune)), revision=state.set.revision + 1)
        return with_tune(replace(state, set=last), Tune(event.tune, event.title))
    tune = state.tunes.get(event.tune)
    if tune is None:
        return state
    match event:
        case RulerMinted():
            return with_tune(state, worked_out(replace(tune, chart=event.chart)))
        case PartBrought():
            before = tune.parts[event.part].versions if event.part in tune.parts else ()
            if before and before[-1].version == event.version and (before[-1].corrected or not event.corrected):
                before = before[:-1]  # the same pages laid anew; beside them stays what was read without corrections
            kept = tune.parts[event.part].corrections if event.part in tune.parts else {}
            part = Part(event.part, event.name, (*before, _version(event)), kept)
            brought = worked_out(replace(tune, parts={**tune.parts, event.part: part}))
            # A copyist who writes repeats out has them written out in every part.
            revision = tune.revision + (brought.played != tune.played)
            return with_tune(state, replace(brought, revision=revision))
        case PartsSeated():
            return with_tune(state, replace(tune, seats={**tune.seats, event.chair: event.parts}))
        case _:
            assert_never(event)


def worked_out(tune: Tune) -> Tune:
    """The tune with its written and played order made anew from chart and edits."""
    if tune.chart is None:
        return tune
    written, again = tune.written, tune.repeats_after_jump
    if not written.steps:
        written = written_order(tune.chart, repeats_after_jump=tune.repeats_said)
        again = repeated_after_jump(tune.chart, written)
    edits = (held.edit for held in tune.edits.values())
    short = 0 if any(_written_out(part.current) for part in tune.parts.values()) else SHORT
    played = evaluate(written, (bar.id for bar in tune.chart.bars), edits, short=short)
    return msgspec.structs.replace(tune, written=written, repeats_after_jump=again, played=played)


def _written_out(version: Version) -> bool:
    """Whether a bar of the chart stands in a part more than once: each time may have other notes."""
    bars = [bar for bar in version.bars if bar is not None]
    return len(set(bars)) < len(bars)


def _version(event: PartBrought) -> Version:
    return Version(
        version=event.version,
        original=event.original,
        pages=event.pages,
        reading=event.reading,
        table=event.table,
        pieces=event.pieces,
        bars=event.bars,
        as_printed=event.as_printed,
        file_name=event.file_name,
        outline=event.outline,
        corrected=event.corrected,
        asides=event.asides,
    )
