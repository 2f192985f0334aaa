"""The head of one stave of a scanned line: which parts of its ink are clef and key, and where its meter begins."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from collaparte.paper.cutting.scan_accidentals import (
    BEFORE,
    FIRST,
    WIDE,
    InOrder,
    KeySigns,
    naturals_in_order,
    signs_in_order,
)
from collaparte.paper.cutting.scan_heads import Kind, KnownHeads
from collaparte.paper.cutting.scan_parts import Numbers, Pixels, Which, round_it, side_by_side
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts

CLEF = (2.3, 4.6)
"""A clef ends so far behind its beginning, in spaces, an F clef's dots among them (SMuFL fonts);"""
LEAST, DOTS = 1.5, 0.45
"""it is so wide at least, in spaces, and its dots stand so near;"""
ALONE = 3.7
"""a head narrower than this is a clef alone."""
THIN = 0.6
"""Where what is left of staff lines joins a clef to a key, their ink is no higher in all, in spaces."""
KEY = 8.0
"""A key is no wider than so many spaces."""
SIGN_TALL, TIGHT = (1.9, 5.2), 0.4
"""A sign of a key, or two, is so high at least and at most, in spaces, and begins so near behind the one before."""
CLOSE = 0.6
"""Behind one that has more white behind it, in spaces, there is no other of the same key."""
SIGN_WIDE = 2.2
"""Two signs are no wider, in spaces."""
ACROSS = 0.4
"""What reaches so far into a key, in spaces, touches it;"""
BEYOND, A_SIGN = 0.6, (2.0, 3.7)
"""where its last sign goes on so far behind its end, it touches what is there, unless it is no wider and no higher than
a sign by itself."""
ALIKE = 0.6
"""What stands alike in all staves differs by less, in spaces."""
METER = 4.0
"""A meter begins so near behind where the head was read to end, in spaces."""
BLUR = 0.3
"""A figure of a meter fills its half of the stave but for so many spaces (common practice: it is two spaces high)."""
FIGURES = 3.3
"""Two figures side by side are no wider, in spaces;"""
C_TALL, C_WIDE = (1.8, 3.2), (1.4, 2.2)
"""a C, with its stroke or without, is so high and so wide at least and at most (SMuFL fonts: 2.0 or 2.9 by 1.7)."""


class Signs(NamedTuple):
    """A stave's clef and key, by their parts, and the column between the two; where they end, if they touch what is
    behind them."""

    numbers: Numbers
    cut: int
    end: int | None = None


class HeadInk(NamedTuple):
    """A line's ink, that of one of its staves which may be its head (`there`), the stave's top and bottom, and where
    the first bar was read to begin; all in pixels as `space`."""

    parts: Parts
    there: Which
    stave: tuple[float, float]
    bar: float
    space: float
    ends: int | None = None
    """The column where its clef ends, if its key told that."""

    def read(self) -> Numbers:
        """The parts that stand before the first bar as it was read, or where none do the clef; its dots are with it."""
        parts, sp = self.parts, self.space
        there = np.flatnonzero(self.there)
        if not len(there):
            return there
        there = there[np.argsort(parts.x0[there])]
        read = (parts.x0[there] + parts.x1[there]) / 2 < self.bar
        if not read.any() or parts.x1[there[read]].max() - parts.x0[there[0]] < LEAST * sp:
            read = np.arange(len(there)) == 0
        left, right = int(parts.x0[there[0]]), int(parts.x1[there[read]].max())
        for n in there[~read].tolist():
            no_wider = parts.x1[n] < left + CLEF[1] * sp or right - left < LEAST * sp
            if parts.x0[n] < right + DOTS * sp and no_wider:
                right = max(right, int(parts.x1[n]))
        return there[read | ((parts.x1[there] <= right) & (parts.x0[there] < right))]

    def has_key(self) -> bool:
        """Whether more than a clef was read."""
        signs = self.read()
        return bool(len(signs) and self.parts.x1[signs].max() > self._behind_clef(signs))

    @property
    def cut(self) -> int:
        """The column where its clef ends."""
        if self.ends is not None:
            return self.ends
        signs = self.read()
        return self._behind_clef(signs) if len(signs) else 0

    def otherwise(self) -> list["HeadInk"]:
        """The same, its clef ending at each column where it may."""
        signs = self.read()
        if not len(signs):
            return []
        box = round_it(signs, self.parts)
        first, last = (round(at * self.space) for at in CLEF)
        much = self.parts.drawn(signs.tolist(), box).sum(axis=0)[first:last]
        edges = np.flatnonzero(np.diff(np.concatenate(([False], much < THIN * self.space, [False])).astype(np.int8)))
        places = zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
        return [self._replace(ends=box[0] + first + (a + b) // 2) for a, b in places if b < len(much)]

    def key_up_to(self, right: int, *, through: bool) -> Signs | None:
        """Its clef and a key that ends so many columns behind it; where something else stands across that, it is cut
        `through`, or there is none."""
        right += self.cut
        signs = self.up_to(right, self.cut)
        parts, sp = self.parts, self.space
        across = self.there & (parts.x0 < right - ACROSS * sp) & (parts.x1 > self.cut)
        if np.setdiff1d(np.flatnonzero(across), signs.numbers).size:
            return Signs(np.union1d(np.flatnonzero(across), signs.numbers), self.cut, right) if through else None
        beyond = signs.numbers[parts.x1[signs.numbers] > right + BEYOND * sp]
        wide, tall = parts.x1[beyond] - parts.x0[beyond], parts.y1[beyond] - parts.y0[beyond]
        touches = ((wide > A_SIGN[0] * sp) | (tall > A_SIGN[1] * sp)).any()
        return signs._replace(end=right) if touches else signs

    def in_order(self, *, wide: bool = False) -> dict[KeySigns, InOrder]:
        """The keys whose signs seem to stand behind its clef, close to one another or `wide` apart."""
        signs, cut = self.read(), self.cut
        clef = next((box for kind, box, _ in self.cut_at(signs, cut) if kind == "clef"), None)
        return self.in_order_behind(cut, (clef[1], clef[3]), wide=wide) if clef else {}

    def in_order_behind(
        self, column: int, clef: tuple[int, int], first: float = FIRST, *, wide: bool = False
    ) -> dict[KeySigns, InOrder]:
        """The keys whose signs seem to stand behind a column, in the clef with these first and last rows: the first one
        so near, in spaces."""
        found = self._behind(column)
        return signs_in_order(*found, self._heights(clef), self.space, first, wide=wide) if found else {}

    def naturals_behind(self, column: int, clef: tuple[int, int], key: KeySigns) -> InOrder | None:
        """The naturals that seem to take all signs of a key back behind a column."""
        found = self._behind(column)
        return naturals_in_order(*found, self._heights(clef), self.space, key) if found else None

    def _behind(self, column: int) -> tuple[Dark, float] | None:
        """The ink from a little before a column on, as wide as a key may be, and the stave's middle in it."""
        parts, sp = self.parts, self.space
        left, right = max(column - round(BEFORE * sp), 0), column + round(WIDE * sp)
        near = np.flatnonzero(self.there & (parts.x0 < right) & (parts.x1 > left))
        if not len(near):
            return None
        x0, y0, x1, y1 = round_it(near, parts)
        ink = np.zeros((y1 - y0, right - left), np.bool_)
        a, b = max(x0, left), min(x1, right)
        ink[:, a - left : b - left] = parts.drawn(near.tolist(), (x0, y0, x1, y1))[:, a - x0 : b - x0]
        return ink, sum(self.stave) / 2 - y0

    def _heights(self, rows: tuple[int, int]) -> tuple[float, float]:
        """Rows as spaces under the stave's middle."""
        top, bottom = ((row - sum(self.stave) / 2) / self.space for row in rows)
        return top, bottom

    def meters(self) -> list[int]:
        """Where meters seem to begin, two figures that fill the stave or a C round its middle."""
        parts, sp, (top, _), read = self.parts, self.space, self.stave, self.read()
        if not len(read):
            return []
        near = self.there & (parts.x0 < self.bar + METER * sp) & (parts.x0 >= self._behind_clef(read))
        out = []
        for group in side_by_side(np.flatnonzero(near), parts):
            x0, y0, x1, y1 = round_it(group, parts)
            high, low, wide = (y0 - top) / sp, (y1 - top) / sp, (x1 - x0) / sp
            halves = (parts.y1[group] < top + (2 + BLUR) * sp) | (parts.y0[group] > top + (2 - BLUR) * sp)
            figures = abs(high) < BLUR and abs(low - 4) < BLUR and wide < FIGURES
            c = C_TALL[0] < low - high < C_TALL[1] and C_WIDE[0] < wide < C_WIDE[1]
            if (figures and (halves.all() or len(group) == 1)) or (c and abs(high + low - 4) < 2 * BLUR):
                out.append(x0)
        return out

    def signs(self, meter: int | None, known: KnownHeads) -> Signs:
        """Clef and key, which end where the `meter` begins if there is one."""
        parts, there, signs = self.parts, self.there, self.read()
        if not len(signs):
            return Signs(signs, 0)
        cut = self._behind_clef(signs)
        if meter is not None:
            there = there & (parts.x1 <= meter)
            signs = np.flatnonzero(there)
        if len(signs) and parts.x1[signs].max() > cut:
            return Signs(self._extended(signs, there), cut)
        return Signs(np.concatenate((signs, self._missed(cut, there & (parts.x0 > cut), known))), cut)

    def known(self, known: KnownHeads) -> Signs:
        """Its clef, and a key that other lines have."""
        clef = self.read()
        if not len(clef):
            return Signs(clef, 0)
        cut = self._behind_clef(clef)
        clef = clef[self.parts.x0[clef] < cut]
        return Signs(np.union1d(clef, self._missed(cut, self.there, known)), cut)

    def up_to(self, right: int, cut: int) -> Signs:
        """All that stands in the head up to a column, or where that is the clef's end the clef; signs of a key stand
        close behind one another."""
        parts = self.parts
        numbers = np.flatnonzero(self.there & ((parts.x0 + parts.x1) / 2 < max(right, cut)))
        end = int(parts.x1[numbers[parts.x0[numbers] < cut]].max(initial=cut))
        room = 0
        for group in side_by_side(numbers[parts.x0[numbers] >= cut], parts):
            x0, _, x1, _ = round_it(group, parts)
            if room and x0 - end > room:
                break
            end, room = max(end, x1), round(CLOSE * self.space)
        return Signs(numbers[parts.x1[numbers] <= end], cut)

    def cut_at(self, signs: Numbers, cut: int, end: int | None = None) -> Iterator[tuple[Kind, Pixels, Dark]]:
        """A head's signs before a column, its clef, and behind it, its key: each one's box and its pixels."""
        if not len(signs):
            return
        box = round_it(signs, self.parts)
        mask = self.parts.drawn(signs.tolist(), box)
        left, top, right = *box[:2], min(box[2], box[2] if end is None else end)
        kinds: tuple[tuple[Kind, int, int], ...] = (("clef", left, min(cut, right)), ("key", max(cut, left), right))
        for kind, x0, x1 in kinds:
            mine = mask[:, x0 - left : x1 - left]
            rows, columns = np.flatnonzero(mine.any(axis=1)), np.flatnonzero(mine.any(axis=0))
            if len(rows):
                mine = mine[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
                x, y = x0 + int(columns[0]), top + int(rows[0])
                yield kind, (x, y, x + mine.shape[1], y + mine.shape[0]), mine

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

    def _missed(self, cut: int, there: Which, known: KnownHeads) -> Numbers:
        """The signs of a key that was not read, behind a clef that ends at a column, among those that are `there`."""
        parts, sp, none = self.parts, self.space, np.zeros(0, np.intp)
        numbers = np.flatnonzero(there & (parts.x1 > cut + 1))
        if not len(numbers):
            return none
        left = max(int(parts.x0[numbers].min()), cut)
        near = numbers[parts.x0[numbers] < left + KEY * sp]
        x0, y0, x1, y1 = round_it(near, parts)
        mask = parts.drawn(near.tolist(), (x0, y0, x1, y1))[:, left - x0 :]
        wide = known.key_in(mask, y0 - sum(self.stave) / 2, sp)
        return none if wide is None else near[parts.x1[near] <= left + wide]


def line_head(heads: Sequence[HeadInk], known: KnownHeads, *, first: bool) -> tuple[list[Signs], int | None]:
    """Clef and key of each of a line's staves, and where its meter begins, if it is a part's `first`.

    Keys of several staves begin and end alike (common practice), else there is none; no signs at all where some stave
    has no clef.
    """
    meter, several = _meter(heads) if first else None, len(heads) > 1
    # Where the staves of a first line have no meter alike, what was read of it may be one: its key is looked for.
    found = [head.known(known) if several and first and meter is None else head.signs(meter, known) for head in heads]
    if not several:
        return found, meter
    if not all(len(signs.numbers) for signs in found):
        return [], None
    ends = {int(head.parts.x1[signs.numbers].max()) for head, signs in zip(heads, found, strict=True)}
    for right in sorted(ends, reverse=True):
        alike = [head.up_to(right, signs.cut) for head, signs in zip(heads, found, strict=True)]
        if _are_keys([_key(head, signs) for head, signs in zip(heads, alike, strict=True)], heads[0].space):
            return alike, meter
    return [head.up_to(0, signs.cut) for head, signs in zip(heads, found, strict=True)], meter


def _meter(heads: Sequence[HeadInk]) -> int | None:
    """Where all staves have a meter."""
    each = [head.meters() for head in heads]
    near = ALIKE * heads[0].space
    for x in each[0]:
        if all(any(abs(x - other) < near for other in stave) for stave in each):
            return min(other for stave in each for other in stave if abs(x - other) < near)
    return None


def _key(head: HeadInk, signs: Signs) -> Pixels | None:
    return next((box for kind, box, _ in head.cut_at(*signs) if kind == "key"), None)


def _are_keys(boxes: Sequence[Pixels | None], space: float) -> bool:
    """They are all as high as a sign at least, and begin and end alike."""
    keys = [box for box in boxes if box is not None and box[3] - box[1] > SIGN_TALL[0] * space]
    edges = [(box[0], box[2]) for box in keys]
    alike = all(max(side) - min(side) < ALIKE * space for side in zip(*edges, strict=True))
    return len(keys) == len(boxes) and alike
