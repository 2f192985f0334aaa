"""Connected parts of ink on a scan: boxes, and the level runs of pixels that each part is made of."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.bits import WORD, Bits, Dark, Places, packed, runs


@dataclass(slots=True)
class Runs:
    """Level runs of pixels, sorted by the part they are of and then by row."""

    row: Places
    left: Places
    right: Places
    """One after the last pixel."""
    first: Places
    """Where each part's runs begin; one more for the end."""

    def of(self, number: int) -> slice:
        return slice(int(self.first[number]), int(self.first[number + 1]))


class Outer(NamedTuple):
    """For each row of each part how far its first and its last pixel are from the sides of the part's box."""

    left: Places
    right: Places
    first: Places
    """Where each part's rows begin; one more for the end."""

    def of(self, number: int) -> tuple[Places, Places]:
        mine = slice(int(self.first[number]), int(self.first[number + 1]))
        return self.left[mine], self.right[mine]


@dataclass
class Parts:
    """Connected parts (touching at corners counts), numbered from 0; boxes end after their last pixel."""

    x0: Places
    y0: Places
    x1: Places
    y1: Places
    area: Places
    runs: Runs
    shape: tuple[int, int]

    def __len__(self) -> int:
        return len(self.x0)

    def mask(self, number: int) -> Dark:
        """The part's own pixels in its box."""
        box = int(self.x0[number]), int(self.y0[number]), int(self.x1[number]), int(self.y1[number])
        return self.drawn((number,), box)

    def drawn(self, numbers: Sequence[int], box: tuple[int, int, int, int]) -> Dark:
        """The pixels of some parts in a box round them."""
        x0, y0, x1, y1 = box
        out = np.zeros((y1 - y0, x1 - x0 + 1), dtype=np.int8)
        for number in numbers:
            mine = self.runs.of(number)
            row = self.runs.row[mine] - y0
            out[row, self.runs.left[mine] - x0] = 1
            out[row, self.runs.right[mine] - x0] -= 1
        inside: Dark = np.add.accumulate(out, axis=1, dtype=np.int8)[:, :-1].view(np.bool_)
        return inside

    def outer(self) -> Outer:
        """Where each row's ink begins and ends: a connected part has some in each row of its box."""
        high = self.y1 - self.y0
        first = np.append(0, np.cumsum(high))
        new = np.ones(len(self.runs.row), dtype=np.bool_)
        new[1:] = self.runs.row[1:] != self.runs.row[:-1]
        new[self.runs.first[:-1]] = True
        begins = np.flatnonzero(new)
        ends = np.append(begins[1:], len(new)) - 1
        left = self.runs.left[begins] - np.repeat(self.x0, high)
        return Outer(left, np.repeat(self.x1, high) - self.runs.right[ends], first)

    @cached_property
    def labels(self) -> npt.NDArray[np.int32]:
        """For each pixel its part's number, -1 for paper."""
        out = np.full(self.shape[0] * self.shape[1], -1, dtype=np.int32)
        many = self.runs.right - self.runs.left
        begins = self.runs.row * self.shape[1] + self.runs.left - (np.cumsum(many) - many)
        number = np.repeat(np.arange(len(self), dtype=np.int32), np.diff(self.runs.first))
        out[np.repeat(begins, many) + np.arange(int(many.sum()))] = np.repeat(number, many)
        return out.reshape(self.shape)

    def divide(self, number: int, row: int) -> None:
        """Make a part's pixels from a row within it on a part of their own, which has the next number."""
        mine = self.runs.of(number)
        at = mine.start + int(np.searchsorted(self.runs.row[mine], row))
        self._replace(number, [self._runs(slice(mine.start, at)), self._runs(slice(at, mine.stop))])

    def divide_across(self, number: int, column: int) -> None:
        """The same of its pixels from a column within it on."""
        row, left, right = self._runs(self.runs.of(number))
        before, behind = left < column, right > column
        self._replace(
            number,
            [
                (row[before], left[before], np.minimum(right[before], column)),
                (row[behind], np.maximum(left[behind], column), right[behind]),
            ],
        )

    def _runs(self, which: slice) -> tuple[Places, Places, Places]:
        return self.runs.row[which], self.runs.left[which], self.runs.right[which]

    def _replace(self, number: int, halves: Sequence[tuple[Places, Places, Places]]) -> None:
        """Have parts of these runs for a part."""
        mine = self.runs.of(number)
        boxes = {
            "x0": [left.min() for _, left, _ in halves],
            "y0": [row.min() for row, _, _ in halves],
            "x1": [right.max() for _, _, right in halves],
            "y1": [row.max() + 1 for row, _, _ in halves],
            "area": [(right - left).sum() for _, left, right in halves],
        }
        for name, values in boxes.items():
            of = getattr(self, name)
            setattr(self, name, np.concatenate((of[:number], values, of[number + 1 :])))
        for name, found in zip(("row", "left", "right"), zip(*halves, strict=True), strict=True):
            of = getattr(self.runs, name)
            setattr(self.runs, name, np.concatenate((of[: mine.start], *found, of[mine.stop :])))
        ends = mine.start + np.cumsum([len(row) for row, _, _ in halves])
        more = int(ends[-1]) - mine.stop
        self.runs.first = np.concatenate((self.runs.first[: number + 1], ends, self.runs.first[number + 2 :] + more))
        self.__dict__.pop("labels", None)

    def take_out(self, number: int, within: Dark) -> None:
        """Take the pixels of `within`, some in a part's box but not all that it has, off the part."""
        left = self.mask(number) & ~within
        y, x = int(self.y0[number]), int(self.x0[number])
        edges = np.diff(np.pad(left, ((0, 0), (1, 1))).astype(np.int8), axis=1)
        (row, begins), (_, ends) = np.nonzero(edges == 1), np.nonzero(edges == -1)
        mine = self.runs.of(number)
        for name, values in (("row", row + y), ("left", begins + x), ("right", ends + x)):
            of = getattr(self.runs, name)
            setattr(self.runs, name, np.concatenate((of[: mine.start], values, of[mine.stop :])))
        self.runs.first[number + 1 :] += len(row) - (mine.stop - mine.start)
        self.x0[number], self.y0[number] = x + begins.min(), y + row.min()
        self.x1[number], self.y1[number] = x + ends.max(), y + row.max() + 1
        self.area[number] = int((ends - begins).sum())
        self.__dict__.pop("labels", None)

    def free(self, number: int, within: Dark) -> bool:
        """Make the parts of `within`, pixels in part `number`'s box, parts of their own; False when there are none."""
        x0, y0 = int(self.x0[number]), int(self.y0[number])
        loose = connected(within)
        large = [n for n in range(len(loose)) if loose.y1[n] - loose.y0[n] > 0.25 * within.shape[0]]
        for n in large:
            for name, value in (("x0", x0), ("y0", y0), ("x1", x0), ("y1", y0), ("area", 0)):
                setattr(self, name, np.append(getattr(self, name), getattr(loose, name)[n] + value))
            mine = loose.runs.of(n)
            for name, value in (("row", y0), ("left", x0), ("right", x0)):
                moved = getattr(loose.runs, name)[mine] + value
                setattr(self.runs, name, np.concatenate((getattr(self.runs, name), moved)))
            self.runs.first = np.append(self.runs.first, len(self.runs.row))
        return bool(large)


def connected(dark: Dark) -> Parts:
    """The connected parts of a page."""
    return connected_bits(packed(dark), dark.shape[1])


def connected_bits(bits: Bits, width: int) -> Parts:
    """The same of a page as bits."""
    starts, ends = runs(bits)
    return connected_runs(starts, ends, (len(bits), width), WORD * bits.shape[1])


def connected_runs(starts: Places, ends: Places, shape: tuple[int, int], pitch: int) -> Parts:
    """The same of a page as level runs, rows being `pitch` places apart."""
    group = _grouped(starts, ends, pitch)
    own = group == np.arange(len(group))
    group = (np.cumsum(own) - 1)[group]
    # Numbers of 16 bits are sorted several times as fast.
    order = np.argsort(group.astype(np.uint16) if len(group) < 1 << 16 else group, kind="stable")
    starts, ends, group = starts[order], ends[order], group[order]
    row, left = starts // pitch, starts % pitch
    right = left + ends - starts
    first = np.flatnonzero(np.concatenate(([True], group[1:] != group[:-1]))) if len(group) else np.zeros(0, np.intp)
    each = Runs(row, left, right, np.append(first, len(row)))
    if not len(first):
        none = np.zeros(0, dtype=np.intp)
        return Parts(none, none, none, none, none, each, shape)
    return Parts(
        np.minimum.reduceat(left, first),
        row[first],
        np.maximum.reduceat(right, first),
        row[each.first[1:] - 1] + 1,
        np.add.reduceat(right - left, first),
        each,
        shape,
    )


def _grouped(starts: Places, ends: Places, pitch: int) -> Places:
    """A number for each run of pixels, the same for runs that touch; rows are `pitch` apart."""
    every = np.arange(len(starts))
    # Two rows that rise are merged in a quarter of the time that looking one up in the other takes.
    merged = np.argsort(np.concatenate((starts, ends + pitch)), kind="stable")
    low = np.flatnonzero(merged < len(starts)) - every
    merged = np.argsort(np.concatenate((starts + pitch, ends)), kind="stable")
    high = np.flatnonzero(merged >= len(starts)) - every
    # Each run goes with the first that it touches in the row over it, then the others there go with that one.
    group = _followed(np.where(high > low, low, every))
    others = np.maximum(high - low - 1, 0)
    lower = np.repeat(every, others)
    upper = np.repeat(low + 1 - np.concatenate(([0], np.cumsum(others)[:-1])), others) + np.arange(len(lower))
    while True:
        a, b = group[upper], group[lower]
        apart = a != b
        if not apart.any():
            return group
        upper, lower, a, b = upper[apart], lower[apart], a[apart], b[apart]
        np.minimum.at(group, np.maximum(a, b), np.minimum(a, b))
        group = _followed(group)


def _followed(group: Places) -> Places:
    """Each number that leads to another led on to the last."""
    while True:
        further = group[group]
        if np.array_equal(further, group):
            return group
        group = further
