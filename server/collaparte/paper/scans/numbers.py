"""Printed bar numbers of scanned lines: which of them hold, and which lines they bear out."""

from collections.abc import Iterable, Mapping, Sequence
from statistics import median
from typing import NamedTuple

from collaparte.paper.reading import BarlineKind
from collaparte.paper.sight.bars import STARTS
from collaparte.paper.sight.lines import MusicLine

CLEAR = 0.9
"""A barline whose stroke is at least so likely is not in doubt."""
AGREES, GOES_ON = 1.0, 0.1
"""What a number is worth that is what the count from the one before leads to, and one that is only higher."""
LEAPS = 60
"""A number is at most so much higher than the count leads to: more bars of rest are hardly missed in one line."""
OVER = 4
"""The count is at most so many bars, or one in so many, too high: barlines are hardly seen where none are."""
WHOLE = 0.65
"""A first bar at least so wide, beside its line's others, is no pickup (measured: docs/reference/accuracy.md)."""
SHORT = 0.6
"""A pickup is narrower than this beside its line's others, and the bar behind it is not."""
BEYOND = 0.95
"""A barline so likely is beyond doubt."""
NARROWEST, WIDEST = 0.5, 1.6
"""Bars of a line are no narrower and no wider than so many of its others, unless a barline was missed or is none: nine
lines in ten, and of those that miss one six in a hundred (measured on 100 charts);"""
MANY = 8
"""So many bars tell how wide a part's are."""
TWICE = 2.0
"""where a number bears the line out, too, this is enough."""
ROOM = 2.0
"""Between a line's head and a repeat's start wider than this, in spaces, there may be a pickup."""


class Stretch(NamedTuple):
    """The lines from one printed number up to the next (or the end)."""

    first: int
    last: int
    """Up to but not including this line."""
    number: int
    """Of its first bar."""
    bars: int | None
    """How many bars the numbers say it has; None at the end."""


def heads_that_hold(lines: Sequence[MusicLine]) -> dict[int, int]:
    """The printed number of each line whose number holds; those that were misread are taken off their lines.

    A number holds when it is the best row's: rising, and led to by the count as often as can be.
    """
    found = [(n, p.number) for n, line in enumerate(lines) if n and (p := line.printed) is not None and p.bar == 0]
    best: list[tuple[float, list[tuple[int, int]]]] = [(0.0, [(0, 1)])]
    for n, number in found:
        options = []
        for worth, row in best:
            at, before = row[-1]
            off = number - before - counted(lines, at, n)
            right = off == 0 or (off == -1 and len(row) == 1)
            high = max(OVER, counted(lines, at, n) // OVER)
            if number > before and (right or -high <= off < LEAPS):
                options.append((worth + (AGREES if right else GOES_ON), [*row, (n, number)]))
        if options:
            best.append(max(options, key=lambda option: option[0]))
    _, row = max(best, key=lambda option: option[0])
    held = dict(row[1:])
    for n, number in found:
        if held.get(n) != number:
            lines[n].numbers = [p for p in lines[n].numbers if p is not lines[n].printed]
            lines[n].printed = None
    return held


def counted(lines: Sequence[MusicLine], first: int, last: int) -> int:
    """Bars on the lines from one up to another."""
    return sum(c.bars for line in lines[first:last] for c in line.counts)


def has_pickup(lines: Sequence[MusicLine], held: dict[int, int]) -> bool | None:
    """Whether the first number that holds leaves a bar uncounted; None when it does not say."""
    if not held:
        return None
    first = min(held)
    return {0: False, 1: True}.get(counted(lines, 0, first) - (held[first] - 1))


def stretches(lines: Sequence[MusicLine], held: dict[int, int], pickup: bool) -> list[Stretch]:
    """The part's lines between the numbers that hold."""
    out: list[Stretch] = []
    at, number = 0, 0 if pickup else 1
    for n in sorted(held):
        out.append(Stretch(at, n, number, held[n] - number))
        at, number = n, held[n]
    out.append(Stretch(at, len(lines), number, None))
    return out


def borne_out(lines: Sequence[MusicLine], parts: Sequence[Stretch], blurred: Mapping[int, list[float]]) -> set[int]:
    """The lines between two numbers that the count leads from one to the other.

    `blurred`: lines with strokes that could be barlines and were not taken, and where these are. Of what could be
    wrong there may be one sort in a stretch: a barline too few, one too many, a rest misread; two sorts could make up
    for each other, and so could two rests. Before the first number the first bar must be as wide as a whole one, or as
    narrow as a pickup where the number says that it is one, and nothing in doubt up to its end: a pickup, and a barline
    that was missed, cannot be told apart there else. Behind the last number a line must be plain.
    """
    out: set[int] = set()
    agreed = False
    for n, part in enumerate(parts):
        mine = range(part.first, part.last)
        if part.bars is None:
            # Behind a last number that the count leads to lines go by their own looks while these are plain.
            usual = _usual_width(lines[line] for line in out)
            for line in mine if agreed else ():
                if line in blurred or not _is_plain(lines[line], usual):
                    break
                out.add(line)
            continue
        agreed = part.bars == counted(lines, part.first, part.last)
        if not agreed:
            continue
        doubts = [
            sum(line in blurred for line in mine),
            sum(b.confidence < CLEAR for line in mine for b in lines[line].barlines),
            sum(c.confidence < CLEAR for line in mine for c in lines[line].counts),
        ]
        ends = all(lines[line].parts and not lines[line].open_end for line in mine)
        clear = not doubts[0] and all(b.confidence >= BEYOND for line in mine for b in lines[line].barlines)
        pickup = None if part.number else clear
        begins = n or (not doubts[1] and not doubts[2] and _begins(lines, blurred.get(0, []), pickup))
        if ends and begins and sum(many > 0 for many in doubts) <= 1 and doubts[2] <= 1:
            out |= set(mine)
    return out


def _usual_width(lines: Iterable[MusicLine]) -> float | None:
    """The width of most bars of music, in spaces; None when they are few."""
    widths = [
        (part.x1 - part.x0) / line.space
        for line in lines
        for part, count in zip(line.parts, line.counts, strict=True)
        if count.box is None
    ]
    return median(widths) if len(widths) >= MANY else None


def _is_plain(line: MusicLine, usual: float | None) -> bool:
    """Whether every barline of a line is beyond doubt, its bars are evenly wide, and none is a rest of many.

    `usual`: the width of other lines' bars in spaces, for a line of few.
    """
    widths = [(part.x1 - part.x0) / line.space for part in line.parts]
    if len(widths) > 2:
        others: list[float | None] = [median(widths[:n] + widths[n + 1 :]) for n in range(len(widths))]
    else:
        others = [usual] * len(widths)
    return (
        bool(widths)
        and not line.open_end
        and all(b.confidence >= BEYOND for b in line.barlines)
        and all(count.bars == 1 and count.confidence >= CLEAR for count in line.counts)
        and all(
            other is not None and NARROWEST * other < width < WIDEST * other
            for width, other in zip(widths, others, strict=True)
        )
    )


def _begins(lines: Sequence[MusicLine], blurred: Sequence[float], pickup: bool | None) -> bool:
    """Whether the part's first bar is what the number behind it says: a pickup, or else (None) a whole bar.

    A whole one is a rest of many bars or hardly narrower than its line's others. A pickup is narrow, or every barline
    up to the number is beyond doubt (`pickup` is true), so that none is one too many.
    """
    first = lines[0]
    if not first.parts or any(x < first.parts[0].x1 for x in blurred):
        return False
    before = first.parts[0].before
    if before is not None and (before.kind not in STARTS or before.x0 - first.head.x1 > ROOM * first.space):
        return False  # what was left out as the head's may be a pickup whose notes were not seen
    widths = [p.x1 - p.x0 for p, c in zip(first.parts, first.counts, strict=True) if c.box is None]
    if first.counts[0].box is not None:
        return first.counts[0].bars > 1 and pickup is None
    if len(widths) < 3:
        return False
    usual = median(widths[1:])
    if max(widths) > TWICE * usual:
        return False  # two bars in one would make up for a pickup that was taken for a bar
    if pickup is None:
        return widths[0] > WHOLE * usual
    after = first.parts[0].after
    if after is None or after.kind is not BarlineKind.SINGLE:
        return False  # before a repeat's start a meter that was not told looks like a pickup
    return (pickup and bool(first.parts[0].music)) or widths[0] < SHORT * usual < widths[1]
