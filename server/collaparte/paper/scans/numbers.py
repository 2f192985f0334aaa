"""Printed bar numbers of scanned lines: which of them hold, and which lines they bear out."""

from collections.abc import Container, Iterable, Mapping, Sequence
from itertools import accumulate, pairwise
from typing import NamedTuple

from collaparte.paper.reading import Mark
from collaparte.paper.scans import beginning
from collaparte.paper.scans.chances import Chance
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
most chances are far less: docs/explanation/reading-measured.md)."""

MISREAD = 0.001
"""How often a number that holds is misread (1 of 1,990 on 641 charts; taken as twice that)."""
FEWEST = 4
"""Lower figures may number sections, and the first of these are their bars' numbers by chance."""


ODD = 2
"""A figure that is off by more bars is no bar's number."""


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
    found = list(read_heads(lines).items())
    before_line = [0, *accumulate(counted(lines, n, n + 1) for n in range(len(lines)))]
    best: list[tuple[float, list[tuple[int, int]]]] = [(0.0, [(0, 1)])]
    for n, number in found:
        options = []
        for worth, row in best:
            at, before = row[-1]
            bars = before_line[n] - before_line[at]
            off = number - before - bars
            right = off == 0 or (off == -1 and len(row) == 1)
            high = max(OVER, bars // OVER)
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


def led_to(lines: Sequence[MusicLine], parts: Sequence[Stretch]) -> list[Stretch]:
    """The stretches whose count leads from one number to the next."""
    return [part for part in parts if part.bars == counted(lines, part.first, part.last)]


def borne_out(
    lines: Sequence[MusicLine], agreed: Sequence[Stretch], off: Sequence[Chance], marks: Sequence[Mark] = ()
) -> set[int]:
    """The lines of stretches whose count leads to the next number that are counted right with all but certainty.

    `off`: the lines' chances. Between two numbers a bar too few and one too many would have to make up for each other;
    before the first, a pickup for one of these: the first mark (`marks`) may tell that, once bars have their numbers,
    which go wrong behind a line that no barline ends.
    """
    out: set[int] = set()
    for part in agreed:
        if marks and not _goes_on(lines, part):
            continue
        mine = range(part.first, part.last)
        few, many, both = _together(mine, off)
        at_start = beginning.wrong(lines, bool(part.number), few, many, marks) if part.first == 0 else 0.0
        if both + at_start < LIMIT:
            out |= set(mine)
    return out


def with_marks(
    sure: set[int], lines: Sequence[MusicLine], agreed: Sequence[Stretch], off: Sequence[Chance], marks: Sequence[Mark]
) -> set[int]:
    """The `sure` lines, of those before the first number the ones that its marks bear out, too: they may deny them."""
    told = borne_out(lines, agreed, off, marks)
    begins = {n for part in agreed if part.first == 0 and _goes_on(lines, part) for n in range(part.last)}
    return (sure - begins if marks else sure) | told


def _goes_on(lines: Sequence[MusicLine], part: Stretch) -> bool:
    """Whether a barline ends each line of a stretch but the last, so that its bars have their numbers."""
    return not any(line.open_end for line in lines[part.first : part.last - 1])


def beginnings(lines: Sequence[MusicLine], parts: Sequence[Stretch], sure: Container[int]) -> dict[int, int]:
    """The first numbers of lines that are borne out: counted right, whatever the one before leaves open."""
    return {
        n: part.number + counted(lines, part.first, n)
        for part in parts
        for n in range(part.first + 1, part.last)
        if n in sure
    }


def misread(lines: Sequence[MusicLine], parts: Sequence[Stretch], off: Sequence[Chance]) -> float:
    """How likely the last printed number is misread: hardly, where the count leads to it or was likely to be off so."""
    before = parts[-2] if len(parts) > 1 else None
    if before is None or before.bars is None:
        return 1.0
    wanting = before.bars - counted(lines, before.first, before.last)
    if not wanting:
        return 0.0
    few, many, _ = _together(range(before.first, before.last), off)
    return MISREAD / (MISREAD + (few if wanting > 0 else many))


def read_heads(lines: Sequence[MusicLine]) -> dict[int, int]:
    """The printed numbers at lines' heads as they were read."""
    return {n: p.number for n, line in enumerate(lines) if n and (p := line.printed) is not None and p.bar == 0}


def denied(read: Mapping[int, int], held: Mapping[int, int]) -> bool:
    """Whether a number behind the last that holds is higher than it and does not hold: the count may be off between."""
    last = max(held, default=0)
    return any(n > last and number > held.get(last, 1) for n, number in read.items())


def behind(mine: range, off: Sequence[Chance], start: float, told: Container[int]) -> set[int]:
    """The lines behind a place, wrong itself with the chance `start`, that are hardly wrong.

    Chances add up from line to line, up to one that is `told` to be counted right: what is wrong before it would have
    to make up for something else. What stands on such a line before its number is of the stretch that leads there.
    """
    out: set[int] = set()
    since, chance, led_to = mine.start, start, True
    for line in mine:
        if line in told:
            few, many, both = _together(range(since, line + 1), off)
            chance = both + start * (few + many + start) if since == mine.start else both
            if chance < LIMIT:
                whole = led_to or off[since].few + off[since].many <= LIMIT
                out |= set(range(since if whole else since + 1, line))
            since, led_to = line, chance < LIMIT
        chance += off[line].few + off[line].many
        if chance <= LIMIT:
            out.add(line)
    return out


def told_inside(lines: Sequence[MusicLine], marks: Sequence[Mark]) -> tuple[set[int], set[int]]:
    """Lines with figures off their heads, or marks, that are their bars' numbers, and lines that some disagree about.

    They are told where more of a part's are than not: one may be a chord's figure, or a section's number. Between two
    that are off by unlike bars, hardly more than one, there is a bar too many or too few, and before marks that are off
    by like bars there are as many.
    """
    found: dict[tuple[int, int, int], int] = {}
    marked: dict[tuple[int, int, int], int] = {}
    for n, line in enumerate(lines):
        numbers = {bar.number + k for bar in line.bars for k in range(bar.count)}
        over = [(p.number, line.bars[p.bar].number) for p in line.numbers if 0 < p.bar < len(line.bars)]
        named = [(int(m.text), m.bar) for m in marks if m.text.isdecimal() and m.bar in numbers]
        marked |= {(n, at, said): said - at for said, at in named if said >= FEWEST}
        found |= {(n, at, said): said - at for said, at in over if said >= FEWEST}
    found |= marked
    right = [n for (n, _, _), off in found.items() if not off]
    odd = set(range(_astray(sorted(marked.items()), len(lines)), len(lines)))
    if len(right) <= max(1, len(found) - len(right)):
        return set(), odd
    near = [(n, off) for (n, _, _), off in sorted(found.items()) if abs(off) <= ODD]
    odd |= {line for (n, off), (m, other) in pairwise(near) if off != other for line in range(n, m + 1)}
    return set(right) - odd, odd


def _astray(marked: Sequence[tuple[tuple[int, int, int], int]], end: int) -> int:
    """The line from which on marks, in order, are off by like bars as no sections' numbers are; `end`: none are."""
    before = 0
    for (line, _, _), off in marked:
        if off and sum(other == off for _, other in marked) > 1:
            return before
        before = before if off else line
    return end


def _together(mine: Iterable[int], off: Sequence[Chance]) -> tuple[float, float, float]:
    """How likely lines have a bar too few, one too many, and both, by causes that are not one."""
    each = [off[line] for line in mine]
    few, many = sum(chance.few for chance in each), sum(chance.many for chance in each)
    return few, many, max(few * many - sum(chance.alone for chance in each), 0.0)
