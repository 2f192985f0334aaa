"""A sure line of a scan cut into its bars: columns of notes, what lies between them, the words over and under it.

What is left when staff lines and barlines are gone goes into strips of pixels: those with notes stay as they are, those
between them (beams, slurs, hairpins) stretch with the bar.
"""

from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from collaparte.paper.cutting.barcut import BRACKET
from collaparte.paper.cutting.headcut import HEAD, SIGN
from collaparte.paper.cutting.ink import Shape
from collaparte.paper.cutting.items import Item, Role, bar_at, grown
from collaparte.paper.cutting.scan_brackets import WIDE, bracket
from collaparte.paper.cutting.scan_columns import columns, strips, whose
from collaparte.paper.cutting.scan_dust import dust
from collaparte.paper.cutting.scan_heads import Kind, KnownHeads
from collaparte.paper.cutting.scan_staff import left_over, without_barlines, without_staff
from collaparte.paper.cutting.scan_words import Loose, Numbers, Pixels, Which, beside, round_it, side_by_side
from collaparte.paper.reading import Box, Change, Reading
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import connected

NEAR = 0.3
"""What comes so near to the stave, in spaces, is music."""
CLEF = (2.3, 4.6)
"""A clef ends so far behind its beginning, in spaces, an F clef's dots among them (SMuFL fonts);"""
ALONE = 3.7
"""a head narrower than this is a clef alone."""
KEY = 8.0
"""A key is no wider than so many spaces."""
SIGN_TALL, TIGHT = (1.9, 5.2), 0.4
"""A sign of a key, or two, is so high at least and at most, in spaces, and begins so near behind the one before."""
SIGN_WIDE = 2.2
"""Two signs are no wider, in spaces."""
METER, METER_ROOM = 4.0, 0.5
"""A meter begins so near behind where the head was read to end, in spaces, and is so far behind what is before it."""
BLUR = 0.3
"""A figure of a meter fills its half of the stave but for so many spaces (common practice: it is two spaces high)."""
FIGURES = 3.3
"""Two figures side by side are no wider, in spaces;"""
C_TALL, C_WIDE = (1.8, 3.2), (1.4, 2.2)
"""a C, with its stroke or without, is so high and so wide at least and at most (SMuFL fonts: 2.0 or 2.9 by 1.7)."""
LONG = 1.6
"""Words wider than so many spaces begin where they begin."""
NUMBER = (3.0, 1.5)
"""An ending's number begins so near behind its bracket's hook and under its rule, in spaces."""
NOWHERE = (0.0, 0.0, 0.0, 0.0)

NOTHING = np.zeros((0, 0), np.bool_)


class Strip(NamedTuple):
    """An object of a line, and its pixels: where its mask begins on the page (row, column), and the mask.

    One without pixels says what is rigid and how high it is in another one's picture.
    """

    item: Item
    row: int
    column: int
    mask: Dark


class Line:
    """System `place` of page `number`, of one stave, in pixels from the topmost and leftmost of `mine`, its own ones.

    The reading lies on the page as the pixels do, each of `unit` points.
    """

    def __init__(self, mine: Dark, unit: float, reading: Reading, number: int, place: int) -> None:
        self.reading, self.number, self.place, self.unit = reading, number, place, unit
        self.system = reading.pages[number].systems[place]
        rows, columns = np.flatnonzero(mine.any(axis=1)), np.flatnonzero(mine.any(axis=0))
        self.top, self.left = int(rows[0]), int(columns[0])
        self.ink = mine[self.top : rows[-1] + 1, self.left : columns[-1] + 1].copy()
        self.space = self.system.space / unit
        stave = self.system.staves[0]
        self.stave = stave.top / unit - self.top, stave.bottom / unit - self.top
        lines = [y / unit - self.top for y in stave.lines]
        thick = without_staff(self.ink, lines, self.space)
        without_barlines(
            self.ink, self.stave, [(self._x(b.x0), self._x(b.x1)) for b in self.system.barlines], self.space
        )
        self.parts = connected(self.ink)
        parts, sp = self.parts, self.space
        self.loose = (parts.y1 < self.stave[0] - NEAR * sp) | (parts.y0 > self.stave[1] + NEAR * sp)
        self.free = ~left_over(parts, lines, thick) & ~dust(parts, self.loose, sp)
        self.under: list[tuple[int, int]] = []
        """Where brackets of endings open, in pixels."""
        self.words = list(self._named())

    def head(self, known: KnownHeads) -> tuple[list[Strip], str, float]:
        """The line's clef and key, what its key is called, and where its first bar begins (points)."""
        parts, sp, bar = self.parts, self.space, self._x(self.system.bars[0].x0)
        there = (parts.x0 > self._x(self.system.staves[0].x0) - sp) & self.free & ~self.loose
        signs = np.flatnonzero(there & ((parts.x0 + parts.x1) / 2 < bar))
        begins = self.system.bars[0].x0
        if not len(signs):
            return [], "", begins
        cut = self._behind_clef(signs)
        near = np.flatnonzero(there & (parts.x0 < bar + METER * sp) & (parts.x0 >= cut))
        meter = self._meter(near) if self.number == self.place == 0 else None
        if meter is not None:
            there &= parts.x1 <= meter
            signs = np.flatnonzero(there)
        if parts.x1[signs].max() > cut:
            signs = self._extended(signs, there)
        else:
            signs = np.concatenate((signs, self._missed(there & (parts.x0 > cut), known)))
        self.free[signs] = False
        out, called = [], ""
        for kind, strip in self._cut_at(signs, cut):
            middle = sum(self.stave) / 2
            name = known.name(kind, strip.mask, strip.row - self.top - middle, sp)
            strip.item.style = (*HEAD, kind, name)
            out.append(strip)
            called = name if kind == "key" else called
            begins = max(begins, strip.item.box[2])
        if meter is not None:  # it stands in the first bar: lines that begin later have none
            begins = (meter - METER_ROOM * sp + self.left) * self.unit
        return out, called, begins

    def _behind_clef(self, signs: Numbers) -> int:
        """The column between a clef and what stands behind it: the middle of the widest white where a clef may end,
        else of the least ink."""
        box = round_it(signs, self.parts)
        if box[2] - box[0] < ALONE * self.space:
            return box[2]
        much = self.parts.drawn(signs.tolist(), box).sum(axis=0)
        first, last = (round(at * self.space) for at in CLEF)
        here = much[first : min(last, len(much) - first // 5)]
        edges = np.flatnonzero(np.diff(np.concatenate(([False], here == here.min(), [False])).astype(np.int8)))
        a, b = max(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True), key=lambda gap: gap[1] - gap[0])
        return int(box[0] + first + (a + b) // 2)

    def _cut_at(self, signs: Numbers, cut: int) -> Iterator[tuple[Kind, Strip]]:
        """A head's signs before a column, its clef, and behind it, its key."""
        left, top, right, bottom = round_it(signs, self.parts)
        mask = self.parts.drawn(signs.tolist(), (left, top, right, bottom))
        kinds: tuple[tuple[Kind, int, int], ...] = (("clef", left, min(cut, right)), ("key", max(cut, left), right))
        for kind, x0, x1 in kinds:
            mine = mask[:, x0 - left : x1 - left]
            rows, columns = np.flatnonzero(mine.any(axis=1)), np.flatnonzero(mine.any(axis=0))
            if len(rows):
                mine = mine[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
                x, y = x0 + int(columns[0]), top + int(rows[0])
                box = self._box((x, y, x + mine.shape[1], y + mine.shape[0]))
                yield kind, Strip(Item([], box, Role.SOLID, system=self.place), y + self.top, x + self.left, mine)

    def _meter(self, numbers: Numbers) -> int | None:
        """Where a meter begins, two figures that fill the stave or a C round its middle."""
        parts, sp, (top, _) = self.parts, self.space, self.stave
        for group in side_by_side(numbers, parts):
            x0, y0, x1, y1 = round_it(group, parts)
            high, low, wide = (y0 - top) / sp, (y1 - top) / sp, (x1 - x0) / sp
            halves = (parts.y1[group] < top + (2 + BLUR) * sp) | (parts.y0[group] > top + (2 - BLUR) * sp)
            figures = abs(high) < BLUR and abs(low - 4) < BLUR and wide < FIGURES
            if figures and (halves.all() or len(group) == 1):
                return x0
            if abs(high + low - 4) < 2 * BLUR and C_TALL[0] < low - high < C_TALL[1] and C_WIDE[0] < wide < C_WIDE[1]:
                return x0
        return None

    def _extended(self, key: Numbers, there: Which) -> Numbers:
        """A key with those of its signs (`there`) that stand behind where it was read to end."""
        parts, sp = self.parts, self.space
        tall = parts.y1 - parts.y0
        sign = there & (tall > SIGN_TALL[0] * sp) & (tall < SIGN_TALL[1] * sp)
        sign &= parts.x1 - parts.x0 < SIGN_WIDE * sp
        while True:
            right = int(parts.x1[key].max())
            more = np.setdiff1d(np.flatnonzero(sign & (parts.x0 > right - sp) & (parts.x0 < right + TIGHT * sp)), key)
            more = more[parts.x1[more] > right]
            if not len(more):
                return key
            key = np.concatenate((key, more[:1]))

    def _missed(self, there: Which, known: KnownHeads) -> Numbers:
        """The signs of a key that was not read, at the left of those given."""
        parts, sp, none = self.parts, self.space, np.zeros(0, np.intp)
        numbers = np.flatnonzero(there & ~self.loose)
        if not len(numbers):
            return none
        left = int(parts.x0[numbers].min())
        near = numbers[parts.x0[numbers] < left + KEY * sp]
        x0, y0, x1, y1 = round_it(near, parts)
        mask = parts.drawn(near.tolist(), (x0, y0, x1, y1))
        wide = known.key_in(mask, y0 - sum(self.stave) / 2, sp)
        return none if wide is None else near[parts.x1[near] <= left + wide]

    def key_change(self, change: Change) -> list[Strip]:
        """The signs of a change of key that was read in the line's course, one by one."""
        parts = self.parts
        x0, y0, x1, y1 = self._pixels(grown(change.box, 0.3 * self.system.space, self.system.space))
        middle = (parts.y0 + parts.y1) / 2
        inside = (parts.x0 > x0) & (parts.x1 < x1) & (middle > y0) & (middle < y1)
        bar = bar_at(self.system.bars, (change.box[0] + change.box[2]) / 2)
        signs = side_by_side(self._take(inside & self.free & ~self.loose), parts)
        return [self._strip(Item([], NOWHERE, Role.SOLID, SIGN, bar=bar), sign) for sign in signs]

    def brackets(self) -> Iterator[tuple[Item, Shape]]:
        """Endings' brackets as strokes."""
        parts, sp = self.parts, self.space
        for n in np.flatnonzero(
            self.free & self.loose & (parts.x1 - parts.x0 > WIDE * sp) & (parts.y1 < self.stave[0])
        ):
            found = bracket(parts.mask(int(n)), sp)
            if found is None:
                continue
            self.free[n] = False
            x, y = (self.left + int(parts.x0[n])) * self.unit, (self.top + int(parts.y0[n])) * self.unit
            for shape, at in found.strokes(x, y, self.unit, self.system.space):
                item = Item(
                    [], shape.box, Role.THROUGH, BRACKET, system=self.place, bar=max(bar_at(self.system.bars, at), 0)
                )
                yield item, shape
            if found.opens:
                self.under.append((int(parts.x0[n]), int(parts.y0[n])))

    def rest(self) -> Iterator[Strip]:
        """Words, and each bar's music in strips: what no head and no change of key has taken."""
        for item, numbers in self.words:
            yield self._strip(item, numbers)
        for numbers in Loose(self.parts, self.stave, self.space).words(self.free & self.loose):
            self.free[numbers] = False
            yield self._strip(self._word(numbers, -1, ""), numbers)
        yield from self._music()

    def _x(self, points: float) -> float:
        return points / self.unit - self.left

    def _pixels(self, box: Box) -> Box:
        return (self._x(box[0]), box[1] / self.unit - self.top, self._x(box[2]), box[3] / self.unit - self.top)

    def _box(self, pixels: Pixels) -> Box:
        x0, y0, x1, y1 = pixels
        u = self.unit
        return ((x0 + self.left) * u, (y0 + self.top) * u, (x1 + self.left) * u, (y1 + self.top) * u)

    def _take(self, which: Which) -> Numbers:
        self.free &= ~which
        return np.flatnonzero(which)

    def _strip(self, item: Item, numbers: Numbers) -> Strip:
        box = round_it(numbers, self.parts)
        item.box, item.system = self._box(box), self.place
        return Strip(item, box[1] + self.top, box[0] + self.left, self.parts.drawn(numbers.tolist(), box))

    def _named(self) -> Iterator[tuple[Item, Numbers]]:
        """Marks, signs and tempos that were read at the line's bars; its printed number goes."""
        bars = self.system.bars
        at = {bar.number + k: n for n, bar in enumerate(bars) for k in range(max(1, bar.count))}
        reading = self.reading
        found = [(m.box, m.bar, "start", m.page) for m in reading.marks]
        found += [(t.box, t.bar, "tempo", t.page) for t in reading.tempos]
        found += [(s.box, s.bar, s.at, s.page) for s in reading.signs]
        found += [(i.box, i.bar, "", i.page) for i in reading.instructions]
        for box, bar, side, page in found:
            if page == self.number and bar in at and len(numbers := self._inside(box)):
                if side == "tempo":
                    numbers = beside(numbers, self.free & self.loose, self.parts, self.space)
                    self.free[numbers] = False
                yield self._word(numbers, at[bar], side), numbers
        if self.system.printed_number_box:
            self._inside(self.system.printed_number_box)

    def _inside(self, box: Box) -> Numbers:
        """Take what stands in a box over or under the stave."""
        parts = self.parts
        x0, y0, x1, y1 = self._pixels(grown(box, 0.3 * self.system.space, 0.3 * self.system.space))
        x, y = (parts.x0 + parts.x1) / 2, (parts.y0 + parts.y1) / 2
        small = parts.x1 - parts.x0 < x1 - x0 + self.space
        return self._take(self.free & self.loose & small & (x > x0) & (x < x1) & (y > y0) & (y < y1))

    def _word(self, numbers: Numbers, bar: int, at: str) -> Item:
        """Words that stand in a bar, at `at` of it where that was read."""
        x0, _, x1, y1 = self._box(round_it(numbers, self.parts))
        sp, stave = self.system.space, self.system.staves[0]
        item = Item([], NOWHERE, Role.WORDS, ("scanned",), above=y1 < (stave.top + stave.bottom) / 2, bar=bar)
        number = self._of_bracket(numbers)
        if number is not None:
            item.style, item.anchor, item.bar = BRACKET, "start", max(bar_at(self.system.bars, number), 0)
        elif at:
            item.anchor = "end" if at == "end" else "start"
        else:
            long = item.above and x1 - x0 > LONG * sp
            item.anchor = "left" if long else "centre"
            item.bar = bar_at(self.system.bars, x0 + 0.7 * sp if long else (x0 + x1) / 2)
        if item.bar < 0:
            item.bar, item.anchor = 0, "start"
        return item

    def _of_bracket(self, numbers: Numbers) -> float | None:
        """Where the bracket opens whose number this is (points); None when it is none's."""
        x0, y0, _, _ = round_it(numbers, self.parts)
        sp = self.space
        for x, y in self.under:
            if x <= x0 < x + NUMBER[0] * sp and y <= y0 < y + NUMBER[1] * sp:
                return (x + self.left + sp) * self.unit
        return None

    def _music(self) -> Iterator[Strip]:
        """Each bar's music as one picture, with the columns that must not be stretched and what lies between them."""
        over = np.array([(self._x(a.x1) + self._x(b.x0)) / 2 for a, b in pairwise(self.system.bars)])
        of_bar = whose(self.parts, self.free, over, self.space)
        for n, bar in enumerate(self.system.bars):
            mine = of_bar == n
            there = np.flatnonzero(mine.any(axis=0))
            if not len(there):
                continue
            left, right = int(there[0]), int(there[-1]) + 1
            solid = [(left, right)] if bar.count > 1 else columns(self.parts, mine, left, right, self.space)
            found = []
            for x0, x1, role in strips(solid, left, right):
                rows = np.flatnonzero(mine[:, x0:x1].any(axis=1))
                if len(rows):
                    box = self._box((x0, int(rows[0]), x1, int(rows[-1]) + 1))
                    found.append(Item([], box, role, system=self.place, bar=n))
            rows = np.flatnonzero(mine.any(axis=1))
            y0, y1 = int(rows[0]), int(rows[-1]) + 1
            # The picture is no column, as it stretches; as high as it is only in places, it has a strip's box.
            whole = Item([], found[0].box, Role.BEAM, system=self.place, bar=n)
            yield Strip(whole, y0 + self.top, left + self.left, mine[y0:y1, left:right])
            yield from (Strip(item, 0, 0, NOTHING) for item in found)
