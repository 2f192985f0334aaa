"""The clefs and keys at a scanned line's head: read, held against other lines' keys, cut out of what touches them."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from collaparte.paper.cutting.scan_accidentals import (
    DOUBT,
    EXPECTED,
    FIRST,
    NATURALS,
    InOrder,
    KeySigns,
    key_of,
    name_of,
    width,
)
from collaparte.paper.cutting.scan_changes import NewKey, Stave, expected, taken_back, told
from collaparte.paper.cutting.scan_clefs import HeadInk, line_head
from collaparte.paper.cutting.scan_clefs import Signs as Clefs
from collaparte.paper.cutting.scan_heads import Kind, KnownHeads
from collaparte.paper.cutting.scan_keys import SIZE, SOFT, Key, Near, Signs, placed, wider
from collaparte.paper.cutting.scan_parts import Numbers, Pixels, Which, round_it
from collaparte.paper.cutting.scan_staves import Staves
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts

NEAR = 0.3
"""A key ends so little behind where its picture does, in spaces."""
MOSTLY, TOUCHED = 0.6, 0.2
"""Ink so much under a key's picture is all the key's; a sign that touches a note is so large (square spaces)."""
SAME = 0.5
"""Keys that end as near to one another are one, in spaces."""
SURE_OF = 2
"""So many signs in a key's order tell where the clef before them ends."""

LIKE = 0.5
"""Signs of another line's key are so like signs (a sharp on a scan whose print has spread: 0.62)."""
THROUGH = 0.6
"""More signs, so like signs, are a key though what follows touches them."""


class HeadSign(NamedTuple):
    """A clef or a key in a line's head: its box and its pixels, and what it is called."""

    kind: Kind
    box: Pixels
    mask: Dark
    name: str


@dataclass(slots=True)
class StaveSigns:
    """What was read in a stave's head: the parts that are its own, the column between clef and key, and both."""

    numbers: Numbers
    cut: int
    signs: list[HeadSign]

    @property
    def ends(self) -> int:
        """The column where its clef ends."""
        return next((sign.box[2] for sign in self.signs if sign.kind == "clef"), self.cut)


class Signatures:
    """A line's clefs and keys, of its `parts` that are still `free` and of each stave's `own`, in pixels as `space`.

    `at`: where its staves begin, and where its first bar was read to.
    """

    def __init__(
        self, parts: Parts, free: Which, own: Sequence[Which], staves: Staves, at: tuple[float, float], space: float
    ) -> None:
        self._parts, self._free, self._own, self._staves, self._at, self._space = parts, free, own, staves, at, space
        self.staves: list[StaveSigns] = []
        self.meter: int | None = None
        """Where it begins."""

    @property
    def heads(self) -> list[HeadInk]:
        """What may be the line's head, of each stave."""
        begins, bar = self._at
        there = self._free & (self._parts.x0 > begins - self._space)
        return [
            HeadInk(self._parts, there & own, stave, bar, self._space)
            for own, stave in zip(self._own, self._staves, strict=True)
        ]

    def read(self, known: KnownHeads, *, first: bool) -> Key | None:
        """Read the clefs and keys of a line, a part's `first` or another; its key, None where it has no clefs.

        A line of several staves without a clef for each is not sure: it has none.
        """
        sp, heads = self._space, self.heads
        found, self.meter = line_head(heads, known, first=first)
        names, in_order = [""] * len(heads), None
        if self.in_order:
            found, names, in_order = self.in_order
        elif found and (as_read := self._as_read(found)):
            names, in_order = as_read
        keys: list[Signs | None] = []
        for head, signs, name in zip(heads, found, names, strict=False):
            middle = sum(head.stave) / 2
            boxes = [
                HeadSign(
                    kind, pixels, mask, known.name(kind, mask, pixels[1] - middle, sp, name if kind == "key" else "")
                )
                for kind, pixels, mask in head.cut_at(*signs)
            ]
            numbers = signs.numbers if signs.end is None else self._ended(signs.numbers, signs.end)
            self.staves.append(StaveSigns(numbers, signs.cut, boxes))
            clef, key = (next((sign for sign in boxes if sign.kind == kind), None) for kind in ("clef", "key"))
            ends = clef.box[2] if clef else signs.cut
            keys.append(key and Signs(key.box[1] - middle, key.box[0] - ends, key.mask, key.name))
        whole = bool(self.staves) and all(stave.signs for stave in self.staves)
        last = max((sign.box[2] for stave in self.staves for sign in stave.signs), default=0)
        return Key(tuple(keys), sp, in_order, last <= (self.meter or 0)) if whole else None

    @cached_property
    def in_order(self) -> tuple[list[Clefs], list[str], KeySigns] | None:
        """Clefs and a key whose signs stand in a key's order, what that is called in each stave, and what it is."""
        heads = [[head] for head in self.heads]
        found = self._told(heads) or self._told([head.otherwise() for head in self.heads])
        if not found and (wide := self._told(heads, wide=True)) and wide[2].many > SURE_OF:
            return wide
        return found

    def _told(
        self, staves: Sequence[Sequence[HeadInk]], *, wide: bool = False
    ) -> tuple[list[Clefs], list[str], KeySigns] | None:
        """The same, of each stave's clefs as they may end; of signs that stand close or `wide` apart."""
        standing = [_likeliest(ways, wide=wide) for ways in staves]
        key = key_of([{key: at for key, (at, _) in stave.items()} for stave in standing])
        if key is None or (key.many < SURE_OF and any(head.ends is not None for ways in staves for head in ways)):
            return None
        each = [stave[key] for stave in standing]
        signs = [
            head.key_up_to(round(at.right * self._space), through=key.many > SURE_OF and at.likeness > THROUGH)
            for at, head in each
        ]
        whole = [one for one in signs if one]
        return (whole, [name_of(key, at.clef) for at, _ in each], key) if len(whole) == len(signs) else None

    def _as_read(self, found: Sequence[Clefs]) -> tuple[list[str], KeySigns] | None:
        """What the keys that were read behind the clefs are called in each stave, and what key it is: the likeliest of
        those that begin and end where they do."""
        standing: list[dict[KeySigns, InOrder]] = []
        for head, signs in zip(self.heads, found, strict=False):
            box = next((box for kind, box, _ in head.cut_at(*signs) if kind == "key"), None)
            first, last = ((x - head.cut) / self._space for x in box[::2]) if box else (0.0, 0.0)
            standing.append(
                {
                    key: at
                    for key, at in head.in_order().items()
                    if at.likeness > EXPECTED and abs(at.right - last) < SAME and abs(last - first - width(key)) < SAME
                }
            )
        both = [key for key in standing[0] if all(key in stave for stave in standing)]
        key = max(both, key=lambda key: min(stave[key].likeness for stave in standing), default=None)
        return ([name_of(key, stave[key].clef) for stave in standing], key) if key else None

    @property
    def how(self) -> tuple[bool, bool]:
        """Which lines are read first, whose keys others take: with a key in order, with one that was read."""
        return self.in_order is None, not any(head.has_key() for head in self.heads)

    def has_key(self, key: Key) -> bool:
        """Whether another line's key stands in the head."""
        return abs(key.space / self._space - 1) < SIZE and all(
            signs is None or self._place(k, signs) for k, signs in enumerate(key.staves)
        )

    def is_likeliest(self, key: KeySigns) -> bool:
        """Whether what stands behind the clefs is like a key, and not like any other or one more sign of it."""
        standing = [head.in_order() for head in self.heads]
        alike = {one: min(stave[one].likeness if one in stave else 0.0 for stave in standing) for one in standing[0]}
        others = (one for one in alike if one.sort != key.sort or one.many > key.many)
        return alike.get(key, 0.0) > LIKE and max((alike[one] for one in others), default=0.0) < DOUBT

    def change_key(self, key: Key) -> None:
        """Have another key than was read, which stands in the head: what else was read there is music."""
        parts = self._parts
        for k, (stave, signs) in enumerate(zip(self.staves, key.staves, strict=True)):
            stave.numbers = stave.numbers[parts.x0[stave.numbers] < stave.cut]
            stave.signs = [sign for sign in stave.signs if sign.kind == "clef"]
            at = self._place(k, signs) if signs else None
            stave.numbers = self._ended(stave.numbers, stave.ends)
            mine = self._free & self._own[k]
            mine[stave.numbers] = False
            if signs and at and (found := self._cut_out(np.flatnonzero(mine), at, signs.mask, stave.ends)):
                stave.signs.append(HeadSign("key", *found, signs.name))

    def _ended(self, numbers: Numbers, end: int) -> Numbers:
        """Those of some parts that end before a column; the others keep what is behind it, as music."""
        parts = self._parts
        across = parts.x1[numbers] > end
        for n in numbers[across].tolist():
            mask = parts.mask(n)
            mask[:, max(end - int(parts.x0[n]), 0) :] = False
            parts.take_out(n, mask)
        return numbers[~across]

    def told(self, column: float, old: KeySigns | None, *, signs: bool) -> NewKey | None:
        """The key that surely begins behind a barline (column) in the line's course, where one with `signs` holds."""
        staves = self._with_clefs()
        return told(staves, round(column), old, NATURALS if signs else FIRST) if staves else None

    def expected(
        self, columns: Sequence[float], new: KeySigns | None, old: KeySigns | None
    ) -> tuple[int, NewKey] | None:
        """Behind which of some barlines (columns) the next line's key begins: its place, and the key; None where it
        stands behind none."""
        staves, places = self._with_clefs(), [round(column) for column in columns]
        if staves and new:
            return expected(staves, places, new, old)
        taken = ((place, taken_back(staves, x, old)) for place, x in enumerate(places) if staves and old)
        return next(((place, found) for place, found in taken if found), None)

    def _with_clefs(self) -> list[Stave]:
        """The staves with the rows of their clefs; none where some has no clef."""
        clefs = [sign.box[1::2] for stave in self.staves for sign in stave.signs if sign.kind == "clef"]
        heads = self.heads
        return list(zip(heads, clefs, strict=True)) if len(clefs) == len(heads) else []

    def _place(self, k: int, signs: Signs) -> tuple[int, int] | None:
        """The row and column where a key's pixels begin in a stave."""
        sp, (top, bottom) = self._space, self._staves[k]
        row, column = (top + bottom) / 2 + signs.row, self.staves[k].ends + signs.column
        y, x = max(round(row - sp), 0), max(round(column - 2 * sp), 0)
        here = self._parts.labels[
            y : y + signs.mask.shape[0] + round(2 * sp), x : x + signs.mask.shape[1] + round(4 * sp)
        ]
        mine = np.append(self._free & self._own[k], False)
        return placed(signs, Near(y, x, mine[here]), (row, column), sp)

    def _cut_out(self, numbers: Numbers, at: tuple[int, int], mask: Dark, clef: int) -> tuple[Pixels, Dark] | None:
        """Take the ink under a key's picture, and all behind the clef and before its end; the box round it and its
        pixels, None where there is none."""
        parts, sp, reach = self._parts, self._space, round(SOFT * self._space)
        (row, column), (height, width) = at, mask.shape
        right = column + width + reach
        near = numbers[(parts.x0[numbers] < right) & (parts.x1[numbers] > clef)]
        if not len(near):
            return None
        x0, y0, x1, y1 = round_it(near, parts)
        x0, y0, x1, y1 = (min(x0, column - reach), min(y0, row - reach), max(x1, right), max(y1, row + height + reach))
        under = np.zeros((y1 - y0, x1 - x0), np.bool_)
        under[row - y0 : row - y0 + height, column - x0 : column - x0 + width] = mask
        under = wider(under, reach)
        out = np.zeros_like(under)
        for n in near.tolist():
            own = parts.drawn((n,), (x0, y0, x1, y1))
            inside = own & under
            mostly = inside.sum() > MOSTLY * own.sum() and parts.x1[n] < right + NEAR * sp
            if parts.x1[n] <= right or mostly:
                self._free[n] = False
                out |= own
            elif inside.sum() > TOUCHED * sp**2:
                parts.take_out(n, inside[parts.y0[n] - y0 : parts.y1[n] - y0, parts.x0[n] - x0 : parts.x1[n] - x0])
                out |= inside
        rows, columns = np.flatnonzero(out.any(axis=1)), np.flatnonzero(out.any(axis=0))
        if not len(rows):
            return None
        a, b, c, d = int(rows[0]), int(rows[-1]) + 1, int(columns[0]), int(columns[-1]) + 1
        return (x0 + c, y0 + a, x0 + d, y0 + b), out[a:b, c:d]


def _likeliest(ways: Sequence[HeadInk], *, wide: bool) -> dict[KeySigns, tuple[InOrder, HeadInk]]:
    """The keys that seem to stand behind a clef, which may end in some ways, each in its likeliest."""
    out: dict[KeySigns, tuple[InOrder, HeadInk]] = {}
    for head in ways:
        for key, at in head.in_order(wide=wide).items():
            if key not in out or at.likeness > out[key][0].likeness:
                out[key] = at, head
    return out
