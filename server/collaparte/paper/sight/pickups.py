"""Whether a part begins with a pickup: by printed numbers, by marks that are numbers, by its first bar's length."""

from collections.abc import Callable, Sequence
from statistics import median

from collaparte.paper.reading import BarlineKind, Change, Ending, Mark
from collaparte.paper.sight.durations import FULL, meter_quarters
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.numbers import first_offset, offset
from collaparte.paper.sight.uncounted import (
    Lengths,
    endings_anew,
    numbers_agree,
    plainly_split,
    split_bars,
    unexplained,
)

TWO = 1.6
"""One bar is not so many times as long as its meter; a triplet's notes seem longer than they are."""
EXACT, MOST, FEW = 0.02, 0.75, 4
"""Of at least so many bars this share is as long as the meter says, but for so little of it, where lengths are
understood."""
ENDS = (BarlineKind.REPEAT_END, BarlineKind.REPEAT_BOTH)
Short = Callable[[], bool | None]
"""Whether the first bar is shorter than the others; None when its length is not understood."""


def has_pickup(lines: Sequence[MusicLine], short: Short) -> bool:
    """Printed numbers say whether the first bar counts; without them its length does. A rest of many bars counts."""
    if _begins_with_rests(lines):
        return False
    shift, agreeing, numbered = offset(lines)
    if numbered and 2 * agreeing > numbered and shift in (0, -1):
        # Numbers that fall back behind a whole first bar were printed twice or are wrong from there on.
        return shift == -1 and not (agreeing < numbered and first_offset(lines) == 0 and short() is False)
    return bool(short())


def is_counted(lines: Sequence[MusicLine], lengths: Lengths) -> bool:
    """Whether printed numbers count a first bar that is surely shorter than its meter, beside a whole one.

    A pickup is not counted (common practice), but some programs number all bars that they draw.
    """
    first = next((line for line in lines if line.parts), None)
    meter = meter_quarters(first.head.meter) if first else None
    if first is None or not meter or not any(line.numbers for line in lines) or _begins_with_rests(lines):
        return False
    lasts = lengths.of(first, first.parts[0])
    if lasts is None or lasts >= FULL * meter:
        return False
    others = [length for part in first.parts[1:] if (length := lengths.of(first, part)) is not None]
    return bool(others) and median(others) >= FULL * meter


def is_borne_out(lines: Sequence[MusicLine], lengths: Lengths) -> bool:
    """Whether no barline was missed between a first bar that is counted and the first number behind it, by which it
    would be a pickup after all: one of those bars would last as long as two."""
    meter = meter_quarters(lines[0].head.meter) or 0.0
    bars = [
        (line, n, any(printed.bar == n for printed in line.numbers)) for line in lines for n in range(len(line.parts))
    ]
    for line, n, numbered in bars[1:]:
        if numbered:
            return True
        length = lengths.of(line, line.parts[n])
        if line.counts[n].bars > 1 or length is None or length >= TWO * meter:
            return False
    return False


def is_made_up(lines: Sequence[MusicLine], lengths: Lengths) -> bool:
    """Whether the part's last bar, or the one before its first repeat's end, lacks what the short first bar lasts
    (common practice), and nearly all other bars are whole, so that lengths are well understood."""
    parts = [(line, part) for line in lines for part in line.parts]
    meter = meter_quarters(lines[0].head.meter) if lines else None
    first = lengths.of(*parts[0]) if meter else None
    if not meter or first is None or first >= FULL * meter:
        return False
    ends = [*[part for _, part in parts if part.after and part.after.kind in ENDS][:1], parts[-1][1]]
    inner = [length for line, part in parts[1:] if part not in ends and (length := lengths.of(line, part))]
    whole = sum(abs(length - meter) < EXACT * meter for length in inner)
    last = [lengths.of(line, part) for line, part in parts if part in ends]
    made_up = any(length is not None and abs(first + length - meter) < EXACT * meter for length in last)
    return made_up and len(inner) >= FEW and whole >= MOST * len(inner)


def _begins_with_rests(lines: Sequence[MusicLine]) -> bool:
    return bool(lines and lines[0].counts and lines[0].counts[0].bars > 1)


def told_by_marks(marks: Sequence[Mark], short: Short | None) -> bool | None:
    """Whether there is a pickup, counted as bar 1 so far; None where no mark says it.

    Marks that are bar numbers say it; where the first bar's length is not understood the first mark does, which stands
    at the first whole bar (common practice). `short`: None on pictures, whose first bar is told by its looks, too.
    """
    off = {int(mark.text) - mark.bar for mark in marks if mark.text.isdecimal()}
    numbers = sum(mark.text.isdecimal() for mark in marks)
    behind = not numbers and min((mark.bar for mark in marks), default=0) == 2
    if behind and short is not None and short() is None:
        return True
    if numbers < 2 or len(off) != 1 or numbers < len(marks):
        return None
    return {1: False, -1: True}.get(off.pop())


def with_bars_behind(
    lines: Sequence[MusicLine],
    endings: Sequence[Ending],
    changes: Sequence[Change],
    lengths: Lengths,
    pickup: bool,
    short: Short,
) -> bool:
    """Whether there is a pickup, where some bars may go by earlier numbers: as more numbers are explained."""
    if not any(line.numbers for line in lines) or _begins_with_rests(lines):
        return pickup
    if not pickup and numbers_agree(lines):
        return pickup  # a pickup would put the count ahead of all of them, which nothing explains
    halves = split_bars(lines, changes, lengths)
    plain = plainly_split(lines, changes, lengths) if unexplained(lines, endings, halves, (), 0) else ()
    if not (halves or plain or endings_anew(endings)):
        return pickup
    shift = 1 if pickup else -1
    now, other = (unexplained(lines, endings, halves, plain, by) for by in (0, shift))
    if now != other:
        return pickup if now < other else not pickup
    begins_short = short()
    return pickup if begins_short is None else begins_short
