"""Bars that go by earlier numbers: the rest of a bar that a sign splits, and endings that are numbered anew.

Which they are is told by printed numbers; a split bar also by its halves' lengths, and is then in doubt.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from collaparte.paper.reading import Change, Ending, Uncounted
from collaparte.paper.sight.bars import Segment
from collaparte.paper.sight.durations import FULL, Strokes, meter_quarters, quarters
from collaparte.paper.sight.lines import STRONG, MusicLine

SUM = (0.85, 1.3)
"""Two halves make between these shares of a bar; a triplet's notes seem longer than they are."""


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
    lines: Sequence[MusicLine], endings: Sequence[Ending], changes: Sequence[Change], lengths: Lengths
) -> tuple[list[Uncounted], list[int]]:
    """The bars of counted lines that go by earlier numbers, and those of them that no printed number settles."""
    facts = _facts(lines, 0)
    halves, anew = split_bars(lines, changes, lengths), endings_anew(endings)
    plain = _explained(facts, halves, [])
    again = _explained(facts, halves, anew)
    best, taken = (again, anew) if again.unexplained < plain.unexplained else (plain, [])
    last = facts[-1].bar if facts else -1
    refuted = best.left_out and not best.halves
    open_halves = [] if refuted else [bar for bar in halves if bar > last]
    out = [Uncounted(bar, 1, rest=True) for bar in (*best.halves, *open_halves)] + taken
    # Where printed numbers settle other split bars of the part, this one goes by the same custom.
    settled = bool(best.halves) and not best.left_out
    return sorted(out, key=lambda one: one.bar), [] if settled else open_halves


def unexplained(lines: Sequence[MusicLine], endings: Sequence[Ending], halves: Sequence[int], shift: int) -> int:
    """How many printed numbers nothing explains, if all bars counted `shift` more."""
    facts = _facts(lines, shift)
    return min(_explained(facts, halves, anew).unexplained for anew in ([], endings_anew(endings)))


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


def split_bars(lines: Sequence[MusicLine], changes: Sequence[Change], lengths: Lengths) -> list[int]:
    """By the count, the bars that make a whole one with the bar before a repeat sign or double barline."""
    found = []
    meters = [(change.bar, meter_quarters(change.meter)) for change in changes if change.meter]
    parts = [(line, n) for line in lines if line.bars for n in range(len(line.parts))]
    for (line, n), (after, m) in pairwise(parts):
        sign = line.parts[n].after
        if sign is None or sign.kind not in STRONG or line.counts[n].bars > 1 or after.counts[m].bars > 1:
            continue
        told = [meter for bar, meter in meters if bar <= line.bars[n].number]
        whole = told[-1] if told else lengths.usual([line] if after is line else [line, after])
        one = lengths.of(line, line.parts[n]) if whole else None
        if not whole or one is None or one >= FULL * whole:
            continue
        two = lengths.of(after, after.parts[m])
        if two is not None and two < FULL * whole and SUM[0] * whole < one + two < SUM[1] * whole:
            found.append(after.bars[m].number)
    return found


class _Explained(NamedTuple):
    halves: list[int]
    left_out: list[int]
    """Halves that printed numbers count as bars of their own."""
    unexplained: int


def _explained(facts: Sequence[_Fact], halves: Sequence[int], anew: Sequence[Uncounted]) -> _Explained:
    """Which halves account for where the printed numbers fall behind the count, and how many steps nothing does."""
    taken: list[int] = []
    left: list[int] = []
    unexplained, since = 0, _Fact(-1, 0)
    for fact in facts:
        between = [bar for bar in halves if since.bar < bar <= fact.bar]
        step = fact.behind - since.behind - sum(one.fewer for one in anew if since.bar < one.bar <= fact.bar)
        if step == 0:
            left += between
        elif step == len(between):
            taken += between
        else:
            unexplained += 1
        since = fact
    return _Explained(taken, left, unexplained)
