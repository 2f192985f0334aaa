"""Bars that go by other numbers than the count's: the rest of a bar that a sign splits, endings that are numbered
anew, all bars of a part that begins at a later number.

Which they are is told by printed numbers; a split bar also by its halves' lengths, in doubt unless these make up a bar
exactly. A bar that is split at a plain barline, or longer than its meter, is told by lengths and numbers together.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from collaparte.paper.reading import SURE, Barline, Change, Ending, Uncounted
from collaparte.paper.sight.bars import Segment
from collaparte.paper.sight.durations import FULL, WHOLE_BAR, Strokes, meter_quarters, quarters
from collaparte.paper.sight.lines import STRONG, MusicLine

SUM = (0.85, 1.3)
"""Two halves make between these shares of a bar; a triplet's notes seem longer than they are."""
EXACT = 0.01
"""Two halves are a bar when they make it up but for so many quarters."""
LONG = 1.6
"""So many times as long as its meter is a bar without one: some programs count none of it."""
LEAP = 4
"""A part may begin so many bars on; fewer may have been missed before the first number."""


TOUCHING = 0.4
"""No note head is nearer to a barline than this, in spaces (0.43 was the least of 46,000, 0.52 is usual; measured)."""


class _Fact(NamedTuple):
    """A printed number: at which bar by the count, and by how many it is behind that."""

    bar: int
    behind: int


class Lengths:
    """How long bars last, in quarter notes, by the ink of their pages; each is looked at once."""

    def __init__(self, inks: Mapping[int, Strokes]) -> None:
        self._inks = inks
        self._known: dict[tuple[int, float], float | None] = {}

    def of(self, line: MusicLine, part: Segment) -> float | None:
        """None when it is not known; `line` is one of those that are read all the while."""
        bar = id(line), part.x0
        if bar not in self._known:
            ink = self._inks.get(line.page)
            self._known[bar] = quarters(part, line, ink) if ink else None
        return self._known[bar]

    def usual(self, lines: Sequence[MusicLine]) -> float | None:
        """How long bars are in these, when three or more say so."""
        lengths = [self.of(line, part) for line in lines for part in line.parts]
        known = [length for length in lengths if length is not None]
        return median(known) if len(known) > 2 else None


def find_uncounted(
    lines: Sequence[MusicLine],
    endings: Sequence[Ending],
    changes: Sequence[Change],
    lengths: Lengths,
    singly: bool = False,
) -> tuple[list[Uncounted], list[int]]:
    """The bars of counted lines that go by other numbers, and those of them that no printed number settles.

    `singly`: printed numbers count a short first bar, so they count all bars that are drawn.
    """
    facts = _facts(lines, 0)
    skipped = _skipped(facts, lines)
    if skipped:
        facts = [_Fact(fact.bar, fact.behind + skipped) for fact in facts]
    last = facts[-1].bar if facts else -1
    out = [Uncounted(1, -skipped)] if skipped else []
    agree = not any(fact.behind for fact in facts)
    if agree and not split_bars(lines, changes, lengths, last):
        return out, []  # halves before the last number would be counted by it
    halves, anew = split_bars(lines, changes, lengths), endings_anew(endings)
    plain, again = _explained(facts, halves, []), _explained(facts, halves, anew)
    if plain.unexplained and again.unexplained:
        unsigned = plainly_split(lines, changes, lengths)
        plain, again = _explained(facts, halves, [], unsigned), _explained(facts, halves, anew, unsigned)
    best, taken = (again, anew) if again.unexplained < plain.unexplained else (plain, [])
    refuted = (best.left_out or singly) and not best.halves
    open_halves = [] if refuted else [bar for bar in halves if bar > last]
    out += [Uncounted(bar, 1, rest=True) for bar in (*best.halves, *open_halves)] + taken
    # Where printed numbers settle other split bars of the part, this one goes by the same custom.
    settled = not best.left_out and not set(best.halves).isdisjoint(halves)
    exact = {split.bar for split in _splits(lines, changes, lengths, plainly=False, behind=last) if split.exact}
    unsettled = [] if settled else [bar for bar in open_halves if bar not in exact]
    return sorted(out, key=lambda one: one.bar), unsettled


def unexplained(
    lines: Sequence[MusicLine], endings: Sequence[Ending], halves: Sequence[int], plain: Sequence[int], shift: int
) -> int:
    """How many printed numbers nothing explains, if all bars counted `shift` more."""
    facts = _facts(lines, shift)
    return min(_explained(facts, halves, anew, plain).unexplained for anew in ([], endings_anew(endings)))


def _facts(lines: Sequence[MusicLine], shift: int) -> list[_Fact]:
    return [
        _Fact(line.bars[printed.bar].number, line.bars[printed.bar].number + shift - printed.number)
        for line in lines
        for printed in line.numbers
        if line.bars
    ]


def endings_anew(endings: Sequence[Ending]) -> list[Uncounted]:
    """What second and later endings leave out when each begins with the first one's number."""
    return [
        Uncounted(two.bar, one.last_bar + 1 - one.bar)
        for one, two in pairwise(endings)
        if two.bar == one.last_bar + 1 and two.passes[0] > one.passes[-1]
    ]


def _skipped(facts: Sequence[_Fact], lines: Sequence[MusicLine]) -> int:
    """How many bars before a part's first are counted elsewhere (an earlier movement, a page that is not here).

    All its numbers must be ahead by as many; before the first of them no bar may stand for more than was read.
    """
    ahead = -facts[0].behind if len(facts) > 1 else 0
    if ahead < 1 or any(fact.behind + ahead for fact in facts):
        return 0
    before = [
        bool(part.music) and count.bars == 1 and count.confidence >= SURE
        for line in lines
        for bar, part, count in zip(line.bars, line.parts, line.counts, strict=True)
        if bar.number < facts[0].bar
    ]
    return ahead if not before or (ahead >= LEAP and all(before)) else 0


def split_bars(lines: Sequence[MusicLine], changes: Sequence[Change], lengths: Lengths, behind: int = -1) -> list[int]:
    """By the count, the bars that make a whole one with the bar before a repeat sign or double barline; only those
    `behind` a bar."""
    return [split.bar for split in _splits(lines, changes, lengths, plainly=False, behind=behind)]


def plainly_split(lines: Sequence[MusicLine], changes: Sequence[Change], lengths: Lengths) -> list[int]:
    """Those before a plain barline, as where a verse's line ends, and those behind a bar far longer than its meter; to
    be asked only where printed numbers part with the count, as all bars are looked at."""
    return [split.bar for split in _splits(lines, changes, lengths, plainly=True)]


def numbers_agree(lines: Sequence[MusicLine]) -> bool:
    """Whether there are printed numbers, and all of them are the count's."""
    facts = _facts(lines, 0)
    return bool(facts) and not any(fact.behind for fact in facts)


class _Split(NamedTuple):
    """A bar, by the count, that is the rest of the one before."""

    bar: int
    exact: bool
    """The two make the bar that the meter says, neither more nor less."""


def _splits(
    lines: Sequence[MusicLine], changes: Sequence[Change], lengths: Lengths, *, plainly: bool, behind: int = -1
) -> list[_Split]:
    found: list[_Split] = []
    meters = [(change.bar, meter_quarters(change.meter)) for change in changes if change.meter]
    parts = [(line, n) for line in lines if line.bars for n in range(len(line.parts))]
    for (line, n), (after, m) in pairwise(parts):
        sign = line.parts[n].after
        if sign is None or (sign.kind in STRONG) is plainly or line.counts[n].bars > 1 or after.counts[m].bars > 1:
            continue
        if after.bars[m].number <= behind:
            continue
        told = [meter for bar, meter in meters if bar <= line.bars[n].number]
        whole = told[-1] if told else lengths.usual([line] if after is line else [line, after])
        one = lengths.of(line, line.parts[n]) if whole else None
        if not whole or one is None:
            continue
        exact = False
        if one < FULL * whole:
            two = lengths.of(after, after.parts[m])
            split = two is not None and two < FULL * whole and SUM[0] * whole < one + two < SUM[1] * whole
            exact = two is not None and bool(told) and abs(one + two - whole) < EXACT
        else:
            split = plainly and LONG * whole <= one < WHOLE_BAR
        if split and not (plainly and ((found and found[-1].bar == line.bars[n].number) or is_stem(sign, line))):
            found.append(_Split(after.bars[m].number, exact))
    return found


def is_stem(barline: Barline, line: MusicLine) -> bool:
    """Whether a note head touches what was taken for a plain barline."""
    reach = TOUCHING * line.space
    heads = [g for part in line.parts for g in part.music if g.kind == "head"]
    return any(g.x0 - reach < barline.x < g.x1 + reach for g in heads)


class _Explained(NamedTuple):
    halves: list[int]
    left_out: list[int]
    """Halves that printed numbers count as bars of their own."""
    unexplained: int


def _explained(
    facts: Sequence[_Fact], halves: Sequence[int], anew: Sequence[Uncounted], plain: Sequence[int] = ()
) -> _Explained:
    """Which halves account for where the printed numbers fall behind the count, and how many steps nothing does.

    `plain`: those that no sign tells; they do when there are just as many as the numbers ask for.
    """
    taken: list[int] = []
    left: list[int] = []
    unexplained, since = 0, _Fact(-1, 0)
    for fact in facts:
        between = [bar for bar in halves if since.bar < bar <= fact.bar]
        step = fact.behind - since.behind - sum(one.fewer for one in anew if since.bar < one.bar <= fact.bar)
        if step == 0:
            left += between
        elif step == len(between) or step == len(between) + sum(since.bar < bar <= fact.bar for bar in plain):
            taken += between
            taken += [bar for bar in plain if since.bar < bar <= fact.bar] if step > len(between) else []
        else:
            unexplained += 1
        since = fact
    return _Explained(taken, left, unexplained)
