"""Printed bar numbers of scanned lines: which of them hold, and which lines they bear out."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from statistics import median
from typing import NamedTuple

from collaparte.paper.reading import BarlineKind, Mark
from collaparte.paper.scans.chances import Chance, chances
from collaparte.paper.sight.bars import STARTS, plays
from collaparte.paper.sight.lines import MusicLine

CLEAR = 0.9
"""A barline whose stroke is at least so likely is not in doubt."""
AGREES, GOES_ON = 1.0, 0.1
"""What a number is worth that is what the count from the one before leads to, and one that is only higher."""
LEAPS = 60
"""A number is at most so much higher than the count leads to: more bars of rest are hardly missed in one line."""
OVER = 4
"""The count is at most so many bars, or one in so many, too high: barlines are hardly seen where none are."""
LIMIT = 0.02
"""Lines are sure while the chance that their count is off is less (of 1,000 sure bars fewer than one is wrong, since
most chances are far less: docs/reference/accuracy.md)."""
WHOLE, SHORT = 0.65, 0.6
"""A first bar that is no pickup is wider than this beside its line's others, and a pickup narrower than that."""
NOT_TOLD = 0.2
"""How likely a first bar is no first bar where a wide gap in the line's head may hold a pickup."""
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
    """The lines that the printed numbers bear out, whose bars are counted right with all but certainty.

    `blurred`: lines with strokes that could be barlines and were not taken, and where these are. Between two numbers
    that the count leads from one to the other a bar too few and one too many would have to make up for each other;
    before the first, a pickup for one of these; behind the last, chances add up from line to line.
    """
    out: set[int] = set()
    agreed = False
    off = chances(lines, blurred)
    for n, part in enumerate(parts):
        mine = range(part.first, part.last)
        if part.bars is None:
            if agreed:
                out |= set(going_on(mine, off))
            continue
        agreed = part.bars == counted(lines, part.first, part.last)
        few, many = (sum(off[line][kind] for line in mine) for kind in (0, 1))
        at_start = 0.0
        if n == 0:
            plain = begins_plainly(lines) if part.number else _is_pickup(lines[0])
            at_start = (few if part.number else many) + NOT_TOLD * (not plain)
        if agreed and few * many + at_start < LIMIT:
            out |= set(mine)
    return out


def going_on(mine: Iterable[int], off: Sequence[Chance]) -> Iterator[int]:
    """The lines behind a place that is sure, as long as all of them up to there are hardly wrong."""
    chance = 0.0
    for line in mine:
        chance += off[line].few + off[line].many
        if chance > LIMIT:
            break
        yield line


def begins_with_pickup(lines: Sequence[MusicLine], marks: Sequence[Mark]) -> bool | None:
    """Whether a part without printed numbers begins with a pickup, counted as bar 1 so far; None when nothing says.

    No mark stands at a pickup (common practice): where one stands at the first bar it is a whole one, and one at the
    second says that a narrow bar before it is a pickup.
    """
    first = lines[0]
    if not first.counts or not begins_plainly(lines):
        return None
    if first.counts[0].bars > 1:
        return False
    widths = [part.x1 - part.x0 for part, count in zip(first.parts, first.counts, strict=True) if count.box is None]
    at = min((mark.bar for mark in marks), default=0)
    if len(widths) < 3 or at not in (1, 2):
        return None
    beside = widths[0] / median(widths[1:])
    return False if at == 1 and beside > WHOLE else True if at == 2 and beside < SHORT else None


def _is_pickup(first: MusicLine) -> bool:
    """Whether the first bar is no meter, as one that was not told looks before a repeat's start."""
    after = first.parts[0].after if first.parts else None
    told = any(sign.kind == "meter" and sign.x1 <= first.head.x1 for sign in first.system.glyphs)
    return after is not None and (after.kind is BarlineKind.SINGLE or told)


def begins_plainly(lines: Sequence[MusicLine]) -> bool:
    """Whether nothing that was left out as the first line's head may be a pickup whose notes were not seen."""
    first = lines[0] if lines else None
    if first is None or not first.parts:
        return False
    before = first.parts[0].before
    if before is None:
        return True
    if before.kind not in STARTS:
        return False
    return before.x0 - first.head.x1 <= ROOM * first.space or plays(first.system, first.head.x1, before) is False
