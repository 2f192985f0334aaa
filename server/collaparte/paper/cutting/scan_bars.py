"""A sure line of a scan cut into its bars: columns of notes, what lies between them, the words over and under it.

What is left when staff lines and barlines are gone goes into strips of pixels: those with notes stay as they are, those
between them (beams, slurs, hairpins) stretch with the bar.
"""

from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from collaparte.paper.cutting.headcut import HEAD
from collaparte.paper.cutting.items import Item, Role, bar_at, grown
from collaparte.paper.cutting.scan_heads import Kind, KnownHeads
from collaparte.paper.cutting.scan_staff import without_barlines, without_staff
from collaparte.paper.reading import Box, Change, Reading
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts, connected

NEAR = 0.3
"""What comes so near to the stave, in spaces, is music."""
DUST = (0.2, 0.45, 1.2)
"""What is no larger than so many spaces is dust; out of the stave what is larger, too, so far from all else."""
LEFT_OVER = 2
"""What is left of a staff line is no thicker than the line by so many pixels."""
CLEF = 2.5
"""A clef or an accidental of the head reaches so far out of the stave, in spaces."""
BEHIND = 0.45
"""A key stands farther behind its clef than so many spaces, an F clef's dots nearer."""
SPAN = (4.0, 0.35)
"""Loose ink so wide, in spaces, and no higher than this share of its width is a slur, a hairpin, a bracket."""
LETTER = (0.25, 3.6, 4.0)
"""A letter is so high at least and at most, and so wide at most, in spaces;"""
BETWEEN = 0.65
"""those of a word stand so near."""
WORD = (1.1, 4.5)
"""Words are so high at least and at most, in spaces: what is lower is a dot or an accent, what is higher a pencil's."""
LONG = 1.6
"""Words wider than so many spaces begin where they begin."""
OVERHANG = 1.2
"""What reaches less than so many spaces over a barline is of one bar."""
NARROW = 3.0
"""Ink no wider than this, in spaces, stands together."""
MORE = 0.3
"""Where a group under a beam has so many spaces more ink, up and down, than beside it, a note stands."""
AROUND = 2.5
"""Spaces to both sides of a place where the beam alone is looked for."""
ROOM = 0.1
"""Clear spaces at both sides of a column,"""
APART = 0.3
"""and columns nearer than this are one."""
LAP = 2
"""Pixels by which a strip between columns lies under theirs, so that no seam shows."""
NOWHERE = (0.0, 0.0, 0.0, 0.0)

Numbers = npt.NDArray[np.intp]
Pixels = tuple[int, int, int, int]


class Strip(NamedTuple):
    """An object of a line, and its pixels: where its mask begins on the page (row, column), and the mask."""

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
        self.free = ~_left_over(parts, lines, thick) & ~_dust(parts, self.loose, sp)
        self.words = list(self._named())

    def head(self, known: KnownHeads) -> tuple[list[Strip], str]:
        """The line's clef and key, and what its key is called."""
        parts, sp, (top, bottom) = self.parts, self.space, self.stave
        stave = self.system.staves[0]
        middle = (parts.x0 + parts.x1) / 2
        here = (middle < self._x(self.system.bars[0].x0)) & (parts.x0 > self._x(stave.x0) - sp)
        here &= (parts.y1 > top - CLEF * sp) & (parts.y0 < bottom + CLEF * sp)
        here &= self.free & ~(self.loose & (parts.y1 - parts.y0 < sp))
        is_key = np.zeros(len(parts), np.bool_)
        right = 1e9
        for n in sorted(np.flatnonzero(here).tolist(), key=lambda n: int(parts.x0[n])):
            is_key[n] = parts.x0[n] > right + BEHIND * sp
            right = int(parts.x1[n]) if right == 1e9 else right if is_key[n] else max(right, int(parts.x1[n]))
        out, called = [], ""
        kinds: tuple[tuple[Kind, npt.NDArray[np.bool_]], ...] = (("clef", here & ~is_key), ("key", is_key))
        for kind, which in kinds:
            numbers = self._take(which)
            if len(numbers):
                strip = self._strip(Item([], NOWHERE, Role.SOLID), numbers)
                name = known.name(kind, strip.mask, strip.row - self.top - (top + bottom) / 2, sp)
                strip.item.style = (*HEAD, kind, name)
                out.append(strip)
                called = name if kind == "key" else called
        return out, called

    def key_change(self, change: Change) -> list[Strip]:
        """The signs of a change of key that was read in the line's course, one by one."""
        parts = self.parts
        x0, y0, x1, y1 = self._pixels(grown(change.box, 0.3 * self.system.space, self.system.space))
        middle = (parts.y0 + parts.y1) / 2
        inside = (parts.x0 > x0) & (parts.x1 < x1) & (middle > y0) & (middle < y1)
        bar = bar_at(self.system.bars, change.box[0])
        signs = _side_by_side(self._take(inside & self.free & ~self.loose), parts)
        return [self._strip(Item([], NOWHERE, Role.SOLID, bar=bar), sign) for sign in signs]

    def rest(self) -> Iterator[Strip]:
        """Words, and each bar's music in strips: what no head and no change of key has taken."""
        for item, numbers in self.words:
            yield self._strip(item, numbers)
        parts, sp = self.parts, self.space
        wide, tall = parts.x1 - parts.x0, parts.y1 - parts.y0
        spans = (wide > SPAN[0] * sp) & (tall < SPAN[1] * wide)
        letters = (tall > LETTER[0] * sp) & (tall < LETTER[1] * sp) & (wide < LETTER[2] * sp)
        for numbers in _near(np.flatnonzero(self.free & self.loose & ~spans & letters), parts, BETWEEN * sp):
            _, y0, _, y1 = _round(numbers, parts)
            if WORD[0] * sp < y1 - y0 < WORD[1] * sp:
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

    def _take(self, which: npt.NDArray[np.bool_]) -> Numbers:
        self.free &= ~which
        return np.flatnonzero(which)

    def _strip(self, item: Item, numbers: Numbers) -> Strip:
        box = _round(numbers, self.parts)
        item.box, item.system = self._box(box), self.place
        return Strip(item, box[1] + self.top, box[0] + self.left, self.parts.drawn(numbers.tolist(), box))

    def _named(self) -> Iterator[tuple[Item, Numbers]]:
        """Marks, signs and tempos that were read at the line's bars; its printed number goes."""
        bars = self.system.bars
        at = {bar.number + k: n for n, bar in enumerate(bars) for k in range(max(1, bar.count))}
        reading = self.reading
        found = [(m.box, m.bar, "start", m.page) for m in reading.marks]
        found += [(t.box, t.bar, "start", t.page) for t in reading.tempos]
        found += [(s.box, s.bar, s.at, s.page) for s in reading.signs]
        for box, bar, side, page in found:
            if page == self.number and bar in at and len(numbers := self._inside(box)):
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
        x0, _, x1, y1 = self._box(_round(numbers, self.parts))
        sp, stave = self.system.space, self.system.staves[0]
        item = Item([], NOWHERE, Role.WORDS, ("scanned",), above=y1 < (stave.top + stave.bottom) / 2, bar=bar)
        if at:
            item.anchor = "end" if at == "end" else "start"
        else:
            long = item.above and x1 - x0 > LONG * sp
            item.anchor = "left" if long else "centre"
            item.bar = bar_at(self.system.bars, x0 + 0.7 * sp if long else (x0 + x1) / 2)
        if item.bar < 0:
            item.bar, item.anchor = 0, "start"
        return item

    def _music(self) -> Iterator[Strip]:
        """Each bar's columns of notes, and what lies between them."""
        whose = self._whose()
        for n, bar in enumerate(self.system.bars):
            mine = whose == n
            there = np.flatnonzero(mine.any(axis=0))
            if not len(there):
                continue
            left, right = int(there[0]), int(there[-1]) + 1
            solid = [(left, right)] if bar.count > 1 else self._columns(mine, left, right)
            for a, b, role in _pieces(solid, left, right, [round(self._x(x)) for x in self._edges(n)]):
                x0, x1 = (a, b) if role is Role.SOLID else (max(a - LAP, left), min(b + LAP, right))
                rows = np.flatnonzero(mine[:, x0:x1].any(axis=1))
                if len(rows):
                    y0, y1 = int(rows[0]), int(rows[-1]) + 1
                    item = Item([], self._box((x0, y0, x1, y1)), role, system=self.place, bar=n)
                    yield Strip(item, y0 + self.top, x0 + self.left, mine[y0:y1, x0:x1])

    def _edges(self, place: int) -> tuple[float, float]:
        """Where a bar's own ink begins and ends, beside its barlines (points)."""
        bar, sp = self.system.bars[place], self.system.space
        middle = (bar.x0 + bar.x1) / 2
        left = max((b.x1 for b in self.system.barlines if abs(b.x - bar.x0) < sp and b.x < middle), default=bar.x0)
        right = min((b.x0 for b in self.system.barlines if abs(b.x - bar.x1) < sp and b.x > middle), default=bar.x1)
        return left, right

    def _whose(self) -> npt.NDArray[np.int16]:
        """For each pixel that is free its bar's place (-1: none): what goes on over a barline is cut in its middle."""
        parts = self.parts
        over = np.array([(self._x(a.x1) + self._x(b.x0)) / 2 for a, b in pairwise(self.system.bars)])
        first, last = np.searchsorted(over, parts.x0), np.searchsorted(over, parts.x1 - 1)
        reach, ends = OVERHANG * self.space, np.concatenate(([-1e9], over, [1e9]))
        for _ in over:
            last = last - ((last > first) & (parts.x1 - ends[last] < reach))
            first = first + ((last > first) & (ends[first + 1] - parts.x0 < reach))
        if not len(parts):
            return np.full(self.ink.shape, -1, np.int16)
        labels = parts.labels
        at = np.searchsorted(over, np.arange(labels.shape[1]))
        mine = (labels >= 0) & self.free[labels]
        return np.where(mine, np.clip(at[None, :], first[labels], last[labels]), -1).astype(np.int16)

    def _columns(self, mine: Dark, left: int, right: int) -> list[tuple[int, int]]:
        """Where notes, rests and signs of a bar stand, which must not be stretched."""
        parts, sp = self.parts, self.space
        mine, labels, width = mine[:, left:right], parts.labels[:, left:right], right - left
        here = np.unique(labels[mine])
        wide, tall = parts.x1[here] - parts.x0[here], parts.y1[here] - parts.y0[here]
        small = here[(wide <= NARROW * sp) & (tall > LETTER[0] * sp)]
        covers = np.zeros(width + 1, np.int32)
        np.add.at(covers, np.clip(parts.x0[small] - left, 0, width), 1)
        np.add.at(covers, np.clip(parts.x1[small] - left, 0, width), -1)
        is_wide = np.zeros(len(parts), np.bool_)
        is_wide[here[wide > NARROW * sp]] = True
        much = (mine & is_wide[labels]).sum(axis=0)
        around = round(AROUND * sp)
        padded = np.pad(much, around, constant_values=len(mine))
        least = np.lib.stride_tricks.sliding_window_view(padded, 2 * around + 1).min(axis=1)
        column = (np.cumsum(covers)[:-1] > 0) | (much - least > MORE * sp)
        edges = np.flatnonzero(np.diff(np.concatenate(([0], column.astype(np.int8), [0]))))
        room = round(ROOM * sp)
        out: list[tuple[int, int]] = []
        for a, b in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
            a, b = max(a - room, 0) + left, min(b + room, width) + left
            if out and a - out[-1][1] < APART * sp:
                out[-1] = (out[-1][0], b)
            else:
                out.append((a, b))
        return out


def _left_over(parts: Parts, lines: list[float], thick: float) -> npt.NDArray[np.bool_]:
    """Bits of staff lines where these are thicker than elsewhere."""
    away = np.abs(np.subtract.outer((parts.y0 + parts.y1 - 1) / 2, lines)).min(axis=1)
    out: npt.NDArray[np.bool_] = (away <= thick) & (parts.y1 - parts.y0 <= thick + LEFT_OVER)
    return out


def _dust(parts: Parts, loose: npt.NDArray[np.bool_], space: float) -> npt.NDArray[np.bool_]:
    size = np.maximum(parts.x1 - parts.x0, parts.y1 - parts.y0)
    out: npt.NDArray[np.bool_] = size <= DUST[0] * space
    for n in np.flatnonzero(loose & ~out & (size <= DUST[1] * space)):
        across = np.maximum(parts.x0, parts.x0[n]) - np.minimum(parts.x1, parts.x1[n])
        down = np.maximum(parts.y0, parts.y0[n]) - np.minimum(parts.y1, parts.y1[n])
        near = ~out & (np.maximum(across, down) < DUST[2] * space)
        out[n] = near.sum() <= 1
    return out


def _pieces(solid: list[tuple[int, int]], left: int, right: int, edges: list[int]) -> Iterator[tuple[int, int, Role]]:
    """A bar's columns and what lies between them, this cut at the bar's edges too."""
    at = left
    for a, b in [*solid, (right, right)]:
        for x in (*(x for x in edges if at < x < a), a):
            if x > at:
                yield at, x, Role.BEAM
                at = x
        if b > a:
            yield a, b, Role.SOLID
        at = b


def _round(numbers: Numbers, parts: Parts) -> Pixels:
    x0, y0, x1, y1 = parts.x0[numbers], parts.y0[numbers], parts.x1[numbers], parts.y1[numbers]
    return int(x0.min()), int(y0.min()), int(x1.max()), int(y1.max())


def _side_by_side(numbers: Numbers, parts: Parts) -> list[Numbers]:
    """Parts that stand over one another together, from left to right."""
    out: list[list[int]] = []
    right = -1
    for n in sorted(numbers.tolist(), key=lambda n: int(parts.x0[n])):
        if parts.x0[n] < right:
            out[-1].append(n)
        else:
            out.append([n])
        right = max(right, int(parts.x1[n]))
    return [np.array(group) for group in out]


def _near(numbers: Numbers, parts: Parts, between: float) -> list[Numbers]:
    """Parts that are letters of one word together: side by side, or a dot over its letter."""
    if not len(numbers):
        return []
    x0, y0, x1, y1 = (of[numbers].astype(np.float64) for of in (parts.x0, parts.y0, parts.x1, parts.y1))
    least = np.minimum.outer(y1 - y0, y1 - y0)
    across = np.maximum.outer(x0, x0) - np.minimum.outer(x1, x1)
    down = np.maximum.outer(y0, y0) - np.minimum.outer(y1, y1)
    joined = ((across < between) & (down < -0.2 * least)) | ((across < 0) & (down < between) & (least < between))
    group = np.arange(len(numbers))
    while True:
        low = np.where(joined, group[None, :], len(numbers)).min(axis=1)
        low = low[low]
        if np.array_equal(low, group):
            return [numbers[group == g] for g in np.unique(group)]
        group = low
