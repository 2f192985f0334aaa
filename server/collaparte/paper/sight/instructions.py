"""Words to the player over or under the stave: mutes, another instrument, a solo, how often a repeat is played, or
that this is left to a cue, and those that speak of a jump without saying which."""

from collections.abc import Sequence

from collaparte.music.instructions import kind_of
from collaparte.music.jumpwords import about_jumps, is_open, times_of
from collaparte.paper.reading import BarlineKind, Box, Instruction
from collaparte.paper.sight.lines import AT_BAR, MusicLine, begins_at_note, line_below, line_near
from collaparte.paper.sight.words import Phrase

FURTHEST = 12.0
"""Spaces from the stave at most."""
ENDS = (BarlineKind.REPEAT_END, BarlineKind.REPEAT_BOTH)


def find_instructions(
    pages: Sequence[tuple[Sequence[MusicLine], Sequence[Phrase]]], used: set[tuple[int, Box]]
) -> list[Instruction]:
    """Instructions in document order; `used`: phrases (page, box) that are something else."""
    found: list[Instruction] = []
    for lines, phrases in pages:
        for phrase in phrases if lines else ():
            if (lines[0].page, phrase.box) in used:
                continue
            count, jump = times_of(phrase.text) is not None, about_jumps(phrase.text)
            told = count or jump or is_open(phrase.text) or kind_of(phrase.text)
            line = _line_of(lines, phrase) if told else None
            if line is None:
                continue
            bar = line.bar_begun(phrase.x0)
            start, distance = line.bar_starting([phrase.x0])
            if distance < 3 * line.space and not (distance > AT_BAR * line.space and begins_at_note(line, phrase.x0)):
                bar = start
            if jump:
                bar = line.bar_holding(phrase.x1 - line.space)  # jumps stand at the ends of their bars
            if count:
                bar = _ended_there(line, phrase) or bar
            found.append(Instruction(phrase.text.strip(), bar, line.page, phrase.box))
    found.sort(key=lambda one: (one.page, one.bar, one.box[0]))
    return found


def _ended_there(line: MusicLine, phrase: Phrase) -> int | None:
    """The last bar of the repeat whose end sign the words are set to, or over (common practice)."""
    for bar, end in line.bars_ending(phrase.x0, phrase.x1):
        if end and end.kind in ENDS and (line.ends_at(end, phrase.x1) or phrase.x0 < end.x < phrase.x1):
            return bar
    return None


def _line_of(lines: Sequence[MusicLine], phrase: Phrase) -> MusicLine | None:
    """The line that the words stand at, if any is near: between two, the one at whose notes alone they begin."""
    at = [line for line in (line_near(lines, phrase.box), line_below(lines, phrase.box)) if line is not None]
    near = [line for line in at if _away(line, phrase) < FURTHEST * line.space]
    aligned = [line for line in near if begins_at_note(line, phrase.x0)]
    return next(iter(aligned or near), None)


def _away(line: MusicLine, phrase: Phrase) -> float:
    return max(line.system.bbox[1] - phrase.y1, phrase.y0 - line.system.bbox[3])
