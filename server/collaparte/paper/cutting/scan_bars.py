"""A sure line of a scan cut into its bars: columns of notes, what lies between them, the words over and under it.

What is left when staff lines and barlines are gone goes into strips of pixels: those with notes stay as they are, those
between them (beams, slurs, hairpins) stretch with the bar.
"""

from collections.abc import Iterator
from functools import partial
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from collaparte.paper.cutting import scan_before as before
from collaparte.paper.cutting.barcut import BRACKET
from collaparte.paper.cutting.clefs import SMALL
from collaparte.paper.cutting.clefs import WIDE as WIDE_CLEF
from collaparte.paper.cutting.headcut import HEAD, SIGN
from collaparte.paper.cutting.ink import Shape
from collaparte.paper.cutting.items import Item, Role, bar_at, grown
from collaparte.paper.cutting.scan_accidentals import KeySigns
from collaparte.paper.cutting.scan_brackets import WIDE, bracket, hanging
from collaparte.paper.cutting.scan_changes import NewKey
from collaparte.paper.cutting.scan_columns import columns, strips, whose
from collaparte.paper.cutting.scan_dust import dust
from collaparte.paper.cutting.scan_freed import freed
from collaparte.paper.cutting.scan_numbers import old_numbers, places
from collaparte.paper.cutting.scan_parts import Numbers, Pixels, Which, round_it, side_by_side
from collaparte.paper.cutting.scan_signatures import Signatures
from collaparte.paper.cutting.scan_staff import left_over, settled, without_barlines, without_joined, without_staff
from collaparte.paper.cutting.scan_staves import divided, of_staves, outside, without_joint
from collaparte.paper.cutting.scan_straight import words_of
from collaparte.paper.cutting.scan_words import Loose, beside
from collaparte.paper.reading import BarlineKind, Box, Change, Reading
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import connected

METER_ROOM = 0.5
"""A meter is so far behind what is before it, in spaces."""
METER_WIDE = 4.0
"""A meter is no wider, in spaces."""
NEAR = 0.3
"""Signs reach so little over where they were read, in spaces."""
CLEF_TALL = {"g": 7.4, "f": 3.1, "c": 4.1}
"""How high clefs are in a line's head, in spaces (SMuFL fonts)."""
LONG = 1.6
"""Words wider than so many spaces begin where they begin."""
WORDED = 2.0
"""What was read and is so many times as wide as high is words, of which letters may not have been read."""
NUMBER = (3.0, 1.5)
"""An ending's number begins so near behind its bracket's hook and under its rule, in spaces."""
ANNOUNCED = 1.9
"""A key's sign is higher, in spaces."""
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
    """System `place` of page `number`, in pixels from over the topmost and from the leftmost of `mine`, its own ones.

    The reading lies on the page as the pixels do, each of `unit` points.
    """

    def __init__(self, mine: Dark, unit: float, reading: Reading, number: int, place: int) -> None:
        self.reading, self.number, self.place, self.unit = reading, number, place, unit
        self.system = reading.pages[number].systems[place]
        rows, columns = np.flatnonzero(mine.any(axis=1)), np.flatnonzero(mine.any(axis=0))
        self.space = sp = self.system.space / unit
        room = round(sp)  # over and under an outermost staff line
        self.top, self.left = max(int(rows[0]) - room, 0), int(columns[0])
        self.ink = mine[self.top : rows[-1] + 1 + room, self.left : columns[-1] + 1].copy()
        self.staves = [(stave.top / unit - self.top, stave.bottom / unit - self.top) for stave in self.system.staves]
        read = [y / unit - self.top for stave in self.system.staves for y in stave.lines]
        lines = settled(self.ink, read, sp)
        barlines = [(self._x(b.x0), self._x(b.x1)) for b in self.system.barlines]
        begins = before.begins(self.ink, lines, self._x(min(stave.x0 for stave in self.system.staves)), sp)
        thick = without_staff(self.ink, lines, barlines, sp)
        self.joined, self.begins = without_joint(self.ink, self.staves, begins, sp)
        """What joins its staves, and where they begin;"""
        self.begins_at = (self.begins + self.left) * unit
        """the same in points."""
        for stave in self.staves:
            without_barlines(self.ink, stave, barlines, sp)
        for (_, bottom), (top, _) in pairwise(self.staves):
            without_joined(self.ink, (bottom, top), barlines, sp)
        self.parts = connected(freed(self.ink, map(self._pixels, words_of(reading, number)), sp))
        before.parted(self.parts, self.staves, self.begins, sp)
        divided(self.parts, self.staves, sp)
        free = ~left_over(self.parts, lines, thick)
        self.of, self.loose = of_staves(self.parts, free, self.staves, sp)
        """Each part's stave, and whether it stands in none."""
        self.free = free & ~dust(self.parts, self.loose, sp)
        self.at_edge = ~self.loose & outside(self.parts, self.staves, sp)  # as letters close under a stave may
        self.under: list[tuple[int, int]] = []
        """Where brackets of endings open, in pixels."""
        self.words = list(self._named())
        bar = self._x(self.system.bars[0].x0)
        own = [~self.loose & (self.of == k) for k in range(len(self.staves))]
        for stave in own:
            self.free &= ~before.specks(self.parts, stave, self.begins, sp)
        self.signs = Signatures(self.parts, self.free, own, self.staves, (self.begins, bar), sp)

    def head(self) -> tuple[list[Strip], float]:
        """The line's clefs and keys as read, and where its first bar begins (points)."""
        sp = self.space
        out: list[Strip] = []
        begins = self.system.bars[0].x0
        for k, stave in enumerate(self.signs.staves):
            self.free[stave.numbers] = False
            for kind, pixels, mask, name in stave.signs:
                item = Item([], self._box(pixels), Role.SOLID, (*HEAD, kind, name), system=self.place, stave=k)
                out.append(Strip(item, pixels[1] + self.top, pixels[0] + self.left, mask))
        ends = max((strip.item.box[2] for strip in out), default=begins)
        meter, opens = self.signs.meter, self._opening()
        if out and opens is not None and (before := list(self._before(opens, ends))):
            return [*out, *before], begins
        begins = ends if ends > begins or self._has_notes(ends, begins) else begins
        if meter is not None and out and not self._has_ink(ends, meter):
            # It stands in the first bar: lines that begin later have none.
            begins = (meter - METER_ROOM * sp + self.left) * self.unit
        return out, begins

    def _opening(self) -> float | None:
        """Where the barline begins that opens the line (points): a repeat may, behind the meter (common practice)."""
        first = self.system.bars[0]
        starts = (BarlineKind.REPEAT_START, BarlineKind.REPEAT_BOTH)
        near = (b.x0 for b in self.system.barlines if b.kind in starts and b.x0 < (first.x0 + first.x1) / 2)
        return min(near, default=None)

    def _before(self, barline: float, x: float) -> Iterator[Strip]:
        """What stands from x up to the barline that opens the line (points): its meter, one object a stave."""
        parts = self.parts
        middle = (parts.x0 + parts.x1) / 2
        between = self.free & ~self.loose & (middle > self._x(x)) & (middle < self._x(barline))
        for k in range(len(self.staves)):
            mine = np.flatnonzero(between & (self.of == k))
            if len(mine) and np.ptp(round_it(mine, parts)[::2]) < METER_WIDE * self.space:
                self.free[mine] = False
                yield self._strip(Item([], NOWHERE, Role.SOLID, (*HEAD, "meter", "")), mine)

    def _has_notes(self, x0: float, x1: float) -> bool:
        """Whether there is music from the end of the head to where the first bar was read to begin (points)."""
        return self._has_ink(x0, self._x(x1)) and not any(x0 < line.x < x1 for line in self.system.barlines)

    def _has_ink(self, x0: float, column: float) -> bool:
        """Whether the staves have ink from the end of the head (points) to a column."""
        middle = (self.parts.x0 + self.parts.x1) / 2
        return bool(((middle > self._x(x0)) & (middle < column) & self.free & ~self.loose).any())

    def told(self, place: int, old: KeySigns | None, *, signs: bool) -> NewKey | None:
        """The key that surely begins in bar `place` of the line, where an `old` one holds, one with `signs` or none."""
        return self.signs.told(self._x(self.system.bars[place].x0), old, signs=signs)

    def expected(self, first: int, new: KeySigns | None, old: KeySigns | None) -> tuple[int, NewKey] | None:
        """The bar (place) from the `first` on in which the next line's key begins, and that key."""
        found = self.signs.expected([self._x(bar.x0) for bar in self.system.bars[first:]], new, old)
        return (first + found[0], found[1]) if found else None

    def announced(self) -> float | None:
        """The column of the last barline, if signs stand behind it: there the next line's key is told."""
        last = self._x(max((line.x1 for line in self.system.barlines), default=self.system.bbox[2]))
        tall = self.parts.y1 - self.parts.y0 > ANNOUNCED * self.space
        return last if (tall & self.free & ~self.loose & (self.parts.x0 > last + NEAR * self.space)).any() else None

    def changes(self, place: int, new: NewKey) -> list[Change]:
        """A new key in bar `place`, a change for each stave."""
        bar, fifths = self.system.bars[place], new.key.fifths if new.key else 0
        left, room = round(self._x(bar.x0)), round(NEAR * self.space)
        return [
            Change(bar.number, self.number, self._box((left, round(top), end + room, round(bottom))), k, fifths=fifths)
            for k, (end, (top, bottom)) in enumerate(zip(new.ends, self.staves, strict=True))
        ]

    def key_change(self, change: Change) -> list[Strip]:
        """The signs of a change of key that was read in the line's course, one by one."""
        signs = side_by_side(self._signs(change, self.system.space), self.parts)
        return [self._strip(self._sign(change), sign) for sign in signs if self._taken(sign)]

    def new_key(self, place: int, new: NewKey) -> list[Strip]:
        """The naturals of a key that begins in bar `place`, and its signs, in each stave."""
        out: list[Strip] = []
        for change, begins, name in zip(self.changes(place, new), new.begins, new.names, strict=True):
            numbers = self._signs(change, self.system.space)
            if not self._taken(numbers):
                continue
            x0, y0, x1, _ = box = round_it(numbers, self.parts)
            mask = self.parts.drawn(numbers.tolist(), box)
            cut = _white(mask, begins - x0, self.space) if new.key else x1 - x0
            for part, left, style in ((mask[:, :cut], x0, SIGN), (mask[:, cut:], x0 + cut, (*SIGN, "key", name))):
                rows, columns = np.flatnonzero(part.any(axis=1)), np.flatnonzero(part.any(axis=0))
                if len(rows):
                    ink = part[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
                    x, y = left + int(columns[0]), y0 + int(rows[0])
                    item = self._sign(change, style, (x, y, x + ink.shape[1], y + ink.shape[0]))
                    out.append(Strip(item, y + self.top, x + self.left, ink))
        return out

    def has_whole(self, place: int, new: NewKey) -> bool:
        """Whether all signs of a key that begins in bar `place` can be taken: none touches a note."""
        for change, end in zip(self.changes(place, new), new.ends, strict=True):
            numbers = self._signs(change, self.system.space)
            if not len(numbers) or self.parts.x1[numbers].max() < end - self.space / 2:
                return False
        return True

    def _sign(self, change: Change, style: tuple[str, ...] = SIGN, pixels: Pixels | None = None) -> Item:
        bar = bar_at(self.system.bars, (change.box[0] + change.box[2]) / 2)
        box = self._box(pixels) if pixels else NOWHERE
        return Item([], box, Role.SOLID, style, bar=bar, system=self.place, stave=change.stave)

    def _taken(self, numbers: Numbers) -> bool:
        """Take some parts; False when there are none."""
        self.free[numbers] = False
        return bool(len(numbers))

    def clef(self, change: Change) -> list[Strip]:
        """A clef that was read in the line's course, if it is as large as one there."""
        sign = self._signs(change, NEAR * self.system.space)
        if not len(sign):
            return []
        x0, y0, x1, y1 = round_it(sign, self.parts)
        usual = CLEF_TALL.get(change.clef, 0.0) * self.space
        low, high = (share * usual for share in SMALL)
        if not (low < y1 - y0 < high and WIDE_CLEF[0] * self.space < x1 - x0 < WIDE_CLEF[1] * self.space):
            return []
        self.free[sign] = False
        return [self._strip(Item([], NOWHERE, Role.SOLID, bar=bar_at(self.system.bars, change.box[0])), sign)]

    def _signs(self, change: Change, room: float) -> Numbers:
        """The signs of a change, which are up to so far over and under its box (points)."""
        parts = self.parts
        x0, y0, x1, y1 = self._pixels(grown(change.box, NEAR * self.system.space, room))
        middle = (parts.y0 + parts.y1) / 2
        inside = (parts.x0 > x0) & (parts.x1 < x1) & (middle > y0) & (middle < y1)
        return np.flatnonzero(inside & self.free & ~self.loose & (self.of == change.stave))

    def brackets(self) -> Iterator[tuple[Item, Shape]]:
        """Endings' brackets as strokes."""
        parts, sp = self.parts, self.space
        for n in np.flatnonzero(
            self.free & self.loose & (parts.x1 - parts.x0 > WIDE * sp) & (parts.y1 < self.staves[0][0])
        ):
            found = bracket(mask := parts.mask(int(n)), sp)
            if found is None:
                continue
            x, y = (self.left + int(parts.x0[n])) * self.unit, (self.top + int(parts.y0[n])) * self.unit
            for shape, at in found.strokes(x, y, self.unit, self.system.space):
                item = Item(
                    [], shape.box, Role.THROUGH, BRACKET, system=self.place, bar=max(bar_at(self.system.bars, at), 0)
                )
                yield item, shape
            if found.opens:
                self.under.append((int(parts.x0[n]), int(parts.y0[n])))
            self.free[n] = (left := hanging(mask, found, sp)).any()
            if self.free[n]:
                parts.take_out(int(n), mask & ~left)

    def rest(self) -> Iterator[Strip]:
        """Words, and each bar's music in strips: what no head and no change of key has taken."""
        for item, numbers in self.words:
            yield self._strip(item, numbers)
        for k, stave in enumerate(self.staves):
            mine = self.loose & (self.of == k)
            loose, edges = Loose(self.parts, stave, self.space), [self._x(bar.x1) for bar in self.system.bars]
            words = partial(loose.words, touching=self.at_edge & (self.of == k) & self.free)
            for find in (words, partial(loose.over, barlines=edges)):
                for numbers in find(mine & self.free):
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
        item.box, item.system, item.stave = self._box(box), self.place, int(np.bincount(self.of[numbers]).argmax())
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
                if side in ("tempo", "") or box[2] - box[0] > WORDED * (box[3] - box[1]):
                    numbers = beside(numbers, self.free & (self.loose | self.at_edge), self.parts, self.space)
                    self.free[numbers] = False
                yield self._word(numbers, at[bar], side), numbers
        if self.system.printed_number_box:
            self._inside(self.system.printed_number_box)
        systems = reading.pages[self.number].systems
        lines = [[(self._x(bar.x0), bar.number) for bar in v.bars] for v in systems[self.place : self.place + 2]]
        corner = self.begins, self.staves[0][0]
        old = old_numbers(self.parts, self.free & self.loose, lines, corner, places(systems), self.space)
        self.free[old] = False

    def _inside(self, box: Box) -> Numbers:
        """Take what stands in a box over or under the stave."""
        parts = self.parts
        x0, y0, x1, y1 = self._pixels(grown(box, 0.3 * self.system.space, 0.3 * self.system.space))
        x, y = (parts.x0 + parts.x1) / 2, (parts.y0 + parts.y1) / 2
        small = parts.x1 - parts.x0 < x1 - x0 + self.space
        out = self.loose | self.at_edge
        return self._take(self.free & out & small & (x > x0) & (x < x1) & (y > y0) & (y < y1))

    def _word(self, numbers: Numbers, bar: int, at: str) -> Item:
        """Words that stand in a bar, at `at` of it where that was read."""
        x0, _, x1, y1 = self._box(round_it(numbers, self.parts))
        sp, stave = self.system.space, self.system.staves[np.bincount(self.of[numbers]).argmax()]
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
        """Each bar's music as one picture a stave, with the columns that must not be stretched and what lies between
        them."""
        over = np.array([(self._x(a.x1) + self._x(b.x0)) / 2 for a, b in pairwise(self.system.bars)])
        of_bar = whose(self.parts, self.free, over, self.space)
        of_stave = self.of[self.parts.labels] if len(self.staves) > 1 else None
        for n in range(len(self.system.bars)):
            for k in range(len(self.staves)):
                mine = of_bar == n if of_stave is None else (of_bar == n) & (of_stave == k)
                there = np.flatnonzero(mine.any(axis=0))
                if len(there):
                    yield from self._strips(mine, int(there[0]), int(there[-1]) + 1, n, k)

    def _strips(self, mine: Dark, left: int, right: int, bar: int, stave: int) -> Iterator[Strip]:
        """A bar's own music in a stave, from left to right."""
        many = self.system.bars[bar].count > 1
        solid = [(left, right)] if many else columns(self.parts, mine, left, right, self.space)
        found = []
        for x0, x1, role in strips(solid, left, right):
            rows = np.flatnonzero(mine[:, x0:x1].any(axis=1))
            if len(rows):
                box = self._box((x0, int(rows[0]), x1, int(rows[-1]) + 1))
                found.append(Item([], box, role, system=self.place, stave=stave, bar=bar))
        rows = np.flatnonzero(mine.any(axis=1))
        y0, y1 = int(rows[0]), int(rows[-1]) + 1
        # The picture is no column, as it stretches; as high as it is only in places, it has a strip's box.
        whole = Item([], found[0].box, Role.BEAM, system=self.place, stave=stave, bar=bar)
        yield Strip(whole, y0 + self.top, left + self.left, mine[y0:y1, left:right])
        yield from (Strip(item, 0, 0, NOTHING) for item in found)


def _white(mask: Dark, near: int, space: float) -> int:
    """The column with the least ink near another one."""
    room = round(NEAR * space)
    first: int = min(max(near - room, 0), mask.shape[1])
    much = mask[:, first : max(near + room, 0)].sum(axis=0)
    least: int = int(much.argmin()) if len(much) else 0
    return first + least
