"""What a cut leaves behind that still matters: who has notes leading out of it, which instructions bind behind it."""

from collections.abc import Iterable, Iterator

from collaparte.band.state import State, Tune, Version
from collaparte.music.instructions import binding
from collaparte.music.played import left_out_by
from collaparte.music.ruler import indices
from collaparte.music.stretches import Span, spans
from collaparte.wire.chart import BarId
from collaparte.wire.edits import Edit, Pickup


def still_bind(version: Version, left_out: Iterable[BarId], landing: BarId | None) -> tuple[str, ...]:
    """The instructions in bars left out, in order, that bind where the part goes on."""
    if version.asides is None or not version.asides.instructions:
        return ()
    said: dict[BarId, list[str]] = {}
    for index, words in version.asides.instructions:
        bar = version.bars[index - 1] if 0 < index <= len(version.bars) else None
        if bar is not None:
            said.setdefault(bar, []).append(words)
    inside = [words for bar in left_out for words in said.get(bar, ())]
    return binding(inside, said.get(landing, ()) if landing is not None else ())


def bind_by_chair(state: State, tune: Tune, edit: Edit) -> Iterator[tuple[str, tuple[str, ...]]]:
    """For each chair, the instructions that an edit leaves out and that still bind behind it."""
    gone = _left_out(tune, edit)
    steps = tune.written.steps
    for chair in state.chairs:
        words: dict[str, None] = {}
        for part in tune.seated(chair):
            for span in gone:
                landing = steps[span.last + 1].bar if span.last + 1 < len(steps) else None
                bars = (steps[position].bar for position in range(span.first, span.last + 1))
                words |= dict.fromkeys(still_bind(part.current, bars, landing) if landing else ())
        if words:
            yield chair, tuple(words)


def leading_out(state: State, tune: Tune, edit: Edit) -> tuple[BarId | None, tuple[str, ...]]:
    """The last bar that an edit leaves out, and the chairs with notes in it that lead into what follows; None where
    nobody has any, or all of them keep theirs."""
    steps, out = tune.written.steps, tune.played.left_out()
    ends = (span.last for span in _left_out(tune, edit))
    bars = dict.fromkeys(steps[end].bar for end in ends if end + 1 < len(steps) and end + 1 not in out)
    for bar in bars:
        kept = {
            chair
            for held in tune.edits.values()
            if isinstance(held.edit.what, Pickup) and held.edit.what.bar == bar
            for chair in held.edit.chairs
        }
        chairs = tuple(chair for chair in state.chairs if chair not in kept and _leads(tune, chair, bar))
        if chairs:
            return bar, chairs
    return None, ()


def _left_out(tune: Tune, edit: Edit) -> list[Span]:
    return spans(left_out_by(tune.written, indices(tune.chart), edit)) if tune.chart else []


def _leads(tune: Tune, chair: str, bar: BarId) -> bool:
    for part in tune.seated(chair):
        version = part.current
        leads = version.asides.leads_in if version.asides else ()
        if any(0 < index <= len(version.bars) and version.bars[index - 1] == bar for index in leads):
            return True
    return False
