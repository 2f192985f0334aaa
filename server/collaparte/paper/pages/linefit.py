"""Fit bars into a line: how far each bar's gaps stretch, what the line costs, and how its ink reaches up and down.

Lengths are staff spaces; costs are plain numbers that `breaks` weighs against those of pages.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate, pairwise, takewhile
from math import log

import msgspec
import numpy as np

from collaparte.paper.cutting.rows import shifts
from collaparte.paper.cutting.table import PieceTable
from collaparte.paper.pages import rules
from collaparte.paper.pages.meeting import Floats, Line
from collaparte.paper.pages.shown import Shown, join_width
from collaparte.paper.pages.skyline import Skylines, Stretch
from collaparte.paper.pages.whole import whole_reach

LOOSEST = 1.8
"""Lines looser than this are made only where nothing else fits."""
CALM = 1.1
"""Beyond this factor a line's multi-bar rests take what there is to fill, up to `REST_MOST`."""
REST_MOST = 2.0
RAGGED = 1.12
"""A short last line keeps near its printed spacing."""
FULL = 0.8
"""From this share of the page's width on, a last line is filled like the others."""
SPACING = 400.0
"""The cost of a line whose gaps are e times as wide as printed, or a share of one e-th."""
CROSSING = 14.0
"""The cost of a slur or bracket that a line's end breaks."""
APART = 0.8
"""The room between words that reach over a barline and those behind it: as between two names, not two letters."""
SPLIT = 60.0
"""The cost of a line that ends within a bar."""
IN_FOUR, IN_TWO, ODD = 5.0, 9.0, 14.0
"""The cost of a line that ends four bars or a multiple, two, or neither after a mark or a repeat; at a mark none."""
DIGITS = 12
"""Of factors: the last ones differ with where in an order a line stands, and the same bars are to be the same line."""
TOO_LOOSE = Line(float("inf"), 4.0, np.zeros(1), np.zeros(1))


class Fit(msgspec.Struct, frozen=True):
    """Each bar's factor for its gaps, the room after each for words, and what the whole line is narrowed to."""

    factors: list[float]
    tails: list[float]
    squash: float = 1.0


class Row(msgspec.Struct, frozen=True):
    """The lines that begin with one bar, by how many bars they have; they depend on no others than `bars`."""

    bars: tuple[int, ...]
    """Measures (`Shown.id`) of the bars looked at."""
    last: bool
    """The longest line ends where the music does."""
    lines: list[Line]
    """Their costs are without that of where they end."""


Rows = dict[tuple[float, int], list[Row]]
"""Rows found for earlier orders, by line width and first bar's measures, the last used first."""
MOST_ROWS, OF_A_BAR = 1000, 6
"""Rows of so many bars are kept, some 2 KB a row: a long part in a few orders. So many of each: as printed, as cut,
each time through."""


class _Candidate(msgspec.Struct, frozen=True):
    cost: float
    staves: float
    stretch: Stretch


class LineFitter:
    """Fits stretches of `shown` into lines of `width`; what is found is kept in `rows` for other orders."""

    def __init__(self, table: PieceTable, shown: Sequence[Shown], width: float, rows: Rows) -> None:
        self.table, self.shown, self.width, self._known = table, shown, width, rows
        self._tails = [_room(a, b) for a, b in pairwise(shown)]
        self._between = [
            rules.KINDS[rules.junction(a.right, b.left, b.adjacent)].width + join_width(b) + tail
            for (a, b), tail in zip(pairwise(shown), self._tails, strict=True)
        ]
        self._starts = [s.head for s in shown]
        self._heads = [start - s.spare for start, s in zip(self._starts, shown, strict=True)]
        self._ends = [rules.KINDS[rules.at_end(s.right)].width + s.bar.overhang for s in shown]
        self._rigid = _sums(s.rigid for s in shown)
        self._flex = _sums(s.flex for s in shown)
        self._least = _sums(s.flex * s.bar.squeeze for s in shown)
        self._rest = _sums(s.flex if s.bar.count > 1 else 0.0 for s in shown)
        self._joints = _sums([*self._between, 0.0])
        follows = [b.bar.whole >= 0 or len(b.bar.main) != len(a.bar.main) for a, b in pairwise(shown)]
        self._closing = [False, *follows, True]
        """Nothing can be added to a line that ends before bar j: the music ends there, a system follows whole, or bars
        of more or fewer staves do."""
        self._breaks = self._break_costs()
        self._rows = self._find_rows()
        self._lines = [row.lines for row in self._rows]

    def lines(self, i: int) -> list[Line]:
        """The lines that begin with bar i, for `breaks.choose`: of it alone, of two bars and so on; without the cost of
        where they end."""
        return self._lines[i]

    def know(self, i: int, j: int, line: Line) -> None:
        """The ink of the line of bars i..j-1 reaches further than was thought."""
        lines = self._lines[i]
        if lines[j - i - 1] is not line:
            self._lines[i] = [*lines[: j - i - 1], line, *lines[j - i :]]

    def end(self, j: int) -> float:
        """What it costs to end a line before bar j."""
        return self._breaks[j]

    def fit(self, i: int, j: int) -> Fit:
        """How the line of bars i..j-1 is spaced."""
        room, flex, least = self._room(i, j)
        tails = [*self._tails[i : j - 1], self.shown[j - 1].bar.overhang]
        factor = room / flex if flex > 0 else 1.0
        if self._closing[j] and self._stays_short(factor, room, flex):
            return Fit([RAGGED] * (j - i), tails)
        if factor >= least - 1e-9:
            return Fit([round(own, DIGITS) for own in self._factors(i, j, factor)], tails)
        body = self.width - self._heads[i] - room + flex * least
        squash = round((self.width - self._heads[i] - 0.3) / body, DIGITS)
        return Fit([round(least, DIGITS)] * (j - i), tails, squash)

    def inner(self, i: int, j: int) -> list[float]:
        """The distances between the middle lines of neighbouring staves."""
        return self._with_rows(
            i, j, [max(b.inner[k] for b in self.shown[i:j]) for k in range(len(self.shown[i].inner))]
        )

    def _with_rows(self, i: int, j: int, inner: list[float]) -> list[float]:
        """The same with room for rows of words between staves, which move to stand at one height."""
        bars = self.shown[i:j]
        if not any(bar.inside for bar in bars):
            return inner
        out = list(inner)
        for bar, moved in zip(bars, shifts([bar.rowed for bar in bars]), strict=True):
            for row, k, way in bar.inside if moved else ():
                if k < len(out):  # bars of more staves than others are looked at, too, and stand on no line with them
                    out[k] = max(out[k], bar.inner[k] + way * moved.get(row, 0.0))
        return out

    def _room(self, i: int, j: int) -> tuple[float, float, float]:
        """Of the line of bars i..j-1: the width left for its gaps, their printed width, and their least factor."""
        rigid = self._heads[i] + self._rigid[j] - self._rigid[i] + self._joints[j - 1] - self._joints[i]
        rigid += self._ends[j - 1]
        flex = self._flex[j] - self._flex[i]
        return self.width - rigid, flex, (self._least[j] - self._least[i]) / flex if flex else 1.0

    def _shares(self, i: int, j: int, factor: float) -> tuple[float, float]:
        """The factors of the bars of notes and of the multi-bar rests."""
        rest = self._rest[j] - self._rest[i]
        if factor <= CALM or rest <= 0:
            return factor, factor
        others = self._flex[j] - self._flex[i] - rest
        if others <= 0:
            return factor, factor
        room = factor * (others + rest)
        stretched = (room - CALM * others) / rest
        return (CALM, stretched) if stretched <= REST_MOST else ((room - REST_MOST * rest) / others, REST_MOST)

    def _factors(self, i: int, j: int, factor: float) -> list[float]:
        """Each bar's own factor: rests take what is too much for notes, words keep what they need."""
        bars = self.shown[i:j]
        if factor >= 1:
            notes, rests = self._shares(i, j, factor)
            return [rests if b.bar.count > 1 else notes for b in bars]
        room = factor * (self._flex[j] - self._flex[i])
        fixed: dict[int, float] = {}
        while True:
            free = sum(b.flex for n, b in enumerate(bars) if n not in fixed)
            share = (room - sum(bars[n].flex * q for n, q in fixed.items())) / free if free > 0 else factor
            more = {n: b.bar.squeeze for n, b in enumerate(bars) if n not in fixed and b.bar.squeeze > share + 1e-9}
            if not more:
                return [fixed.get(n, share) for n in range(len(bars))]
            fixed |= more

    # -- candidates ---------------------------------------------------------------------------------------------------

    def _find_rows(self) -> list[Row]:
        """For each bar, the lines that begin with it: as known from other orders, else all looked at at once."""
        if len(self._known) > MOST_ROWS:
            self._known.clear()
        ids = tuple(s.id for s in self.shown)
        rows = {i: self._known_row(i, ids) for i in range(len(ids))}
        fresh: dict[int, list[_Candidate | None]] = {}
        first: dict[tuple[tuple[int, ...], bool], int] = {}
        again: dict[int, int] = {}
        for i in (i for i, row in rows.items() if not row):
            found = list(self._from(i))
            seen = i + len(found)
            # The second time through these bars all is as the first time.
            again[i] = first.setdefault((ids[i : seen + 1], seen == len(ids)), i)
            if again[i] == i:
                fresh[i] = found
        alike = {i: self._lines_alike(i, ids) for i in fresh}
        ink = self._ink([c.stretch for i, found in fresh.items() for c in found[len(alike[i]) :] if c])
        for i, found in fresh.items():
            lines = alike[i]
            lines += [Line(c.cost, c.staves, *next(ink)) if c else TOO_LOOSE for c in found[len(lines) :]]
            if self.shown[i].bar.whole >= 0:
                lines = [self._whole(self.shown[i], line) for line in lines]
            seen = i + len(found)
            row = rows[i] = Row(ids[i : seen + 1], seen == len(ids), lines)
            known = self._known.setdefault((self.width, ids[i]), [])
            known.insert(0, row)
            del known[OF_A_BAR:]
        rows |= {i: rows[before] for i, before in again.items()}
        return [row for row in rows.values() if row]

    def _known_row(self, i: int, ids: tuple[int, ...]) -> Row | None:
        known = self._known.get((self.width, ids[i]), [])
        for at, row in enumerate(known):
            seen = i + len(row.bars)
            if row.bars == ids[i:seen] and not (row.last and seen < len(ids)):
                if at:
                    known.insert(0, known.pop(at))
                return row
        return None

    def _lines_alike(self, i: int, ids: tuple[int, ...]) -> list[Line]:
        """The first of a known row's lines: those that end before the bar that follows is another."""
        best: list[Line] = []
        for row in self._known.get((self.width, ids[i]), ()):
            alike = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(row.bars, ids[i:], strict=False)))
            best = max(best, row.lines[: alike - 1], key=len)
        return best

    def _ink(self, stretches: Sequence[Stretch]) -> Iterator[tuple[Floats, Floats]]:
        """How far the ink of each line reaches above and below."""
        # Of the lines that begin with one bar the last is the longest.
        bars = sorted({n for i, j in {one.i: one.j for one in stretches}.items() for n in range(i, j)})
        place = {n: at for at, n in enumerate(bars)}
        looked = Skylines(
            [self.shown[n] for n in bars],
            [self._starts[n] for n in bars],
            [self._head_foot(n) for n in bars],
            [self._between[n] for n in bars[:-1]],
        )
        moved = [Stretch(place[s.i], place[s.i] + s.j - s.i, s.notes, s.rests, s.each) for s in stretches]
        return zip(*looked.of(moved, self.width), strict=True)

    def _whole(self, shown: Shown, line: Line) -> Line:
        up, down = whole_reach(self.table, shown, self.width, line.staves)
        return Line(line.cost, line.staves, np.full_like(line.up, up), np.full_like(line.down, down))

    def _from(self, i: int) -> Iterator[_Candidate | None]:
        """Each line that begins with bar i, longer and longer until no more fits; None for one that is too loose."""
        shown, end = self.shown, len(self.shown)
        inner, squeeze = [0.0] * (self.table.staves - 1), 0.0
        room, flex, least = self._room(i, i + 1)
        for j in range(i + 1, end + 1):
            bar = shown[j - 1]
            staves = 4.0
            if inner:
                inner = list(map(max, inner, bar.inner))
                staves += sum(self._with_rows(i, j, inner))
            if bar.bar.whole >= 0:
                if j == i + 1:
                    yield _Candidate(0.0, staves, Stretch(i, j, 1.0, 1.0))
                return
            if bar.bar.squeeze > squeeze:
                squeeze = bar.bar.squeeze
            factor = room / flex if flex > 0 else 1.0
            if factor < least - 1e-9:
                if j > i + 1:
                    return
                yield _Candidate(SPACING + 1000 * (least - factor), staves, Stretch(i, j, least, least))
                room, flex, least = self._room(i, j + 1) if j < end else (0.0, 0.0, 0.0)
                continue
            if self._closing[j]:
                ragged = factor > RAGGED
                cost = 12.0 * max(0.0, min(factor, 6.0) - 2.0) if ragged else self._spacing(*self._shares(i, j, factor))
                short = self._stays_short(factor, room, flex)
                yield _Candidate(cost, staves, self._stretch(i, j, RAGGED if short else factor, squeeze))
                return
            stretch = self._stretch(i, j, factor, squeeze)
            room, flex, least = self._room(i, j + 1)
            if stretch.notes > LOOSEST and flex and room / flex >= least:
                yield None
            else:
                yield _Candidate(self._spacing(stretch.notes, stretch.rests), staves, stretch)

    def _stays_short(self, factor: float, room: float, flex: float) -> bool:
        """A last line that has too little music to be filled."""
        return factor > RAGGED and self.width - room + flex < FULL * self.width

    def _stretch(self, i: int, j: int, factor: float, squeeze: float) -> Stretch:
        if factor >= 1:
            return Stretch(i, j, *self._shares(i, j, factor))
        return Stretch(i, j, factor, factor, None if squeeze <= factor + 1e-9 else self._factors(i, j, factor))

    def _spacing(self, notes: float, rests: float) -> float:
        return SPACING * log(notes) ** 2 + (0.02 * SPACING * log(rests) ** 2 if rests > notes else 0.0)

    def _break_costs(self) -> list[float]:
        """What it costs to end a line before each bar."""
        costs, start = [0.0], 1
        for before, after in pairwise(self.shown):
            if before.bar.mark or "repeat" in before.left:
                start = before.bar.number
            cost = CROSSING * before.bar.crossing if after.adjacent else 0.0
            if after.bar.continued:
                cost += SPLIT
            elif not after.bar.mark:
                since = after.bar.number - start
                cost += IN_FOUR if since % 4 == 0 else IN_TWO if since % 2 == 0 else ODD
            costs.append(cost)
        return [*costs, 0.0]

    def _head_foot(self, i: int) -> float:
        """How far the clef that bar i begins a line with reaches below the staves."""
        piece = self.table.heads[self.shown[i].bar.head_here].clef[-1]
        clef = self.table.extents[piece].bottom - 2.0 if piece >= 0 else 0.0
        if len(self.shown[i].bar.main) < 2:
            return clef
        half = rules.half(self.table.lines[-1], self.table.apart[-1]) if self.table.apart else 2.0
        return max(clef, half - 2.0 + rules.BRACKET_REACH)


def _room(a: Shown, b: Shown) -> float:
    """The room after bar a, before b, for words that reach beyond a: none when b follows as in print, with the barline
    printed between them (a repeat sign that is not shown leaves less room)."""
    if (b.adjacent and a.right == a.bar.right) or not a.bar.overhang:
        return 0.0
    return max(0.0, a.bar.overhang - min(b.bar.inset, 1.0) + APART)


def _sums(values: Iterable[float]) -> list[float]:
    """Sums of the first n values, n from 0."""
    return [0.0, *accumulate(values)]
