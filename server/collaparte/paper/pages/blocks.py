"""Boxes of ink over a stave, and how one is raised to stand clear of others.

Lengths are staff spaces; heights up from the stave's middle line.
"""

from collections.abc import Sequence

import msgspec
from msgspec.structs import replace

CLEAR = 0.25
"""The least room between two things, across and up."""


class Block(msgspec.Struct, frozen=True):
    """A box of ink: from x0 to x1, from `low` to `high`."""

    x0: float
    x1: float
    low: float
    high: float
    climb: float = 0.0
    """So much of its height is for a line that raises its row."""
    row: int = -1
    """The row that it stands in, or beyond: it moves with it."""
    base: float = 0.0
    """The printed height of that row in its bar (y, spaces)."""

    def moved(self, right: float, up: float) -> "Block":
        x0, x1, low, high = self.x0 + right, self.x1 + right, self.low + up, self.high + up
        return Block(x0, x1, low, high, self.climb, self.row, self.base)

    def across(self, x0: float, x1: float) -> "Block":
        """The same at other places across."""
        return Block(x0, x1, self.low, self.high, self.climb, self.row, self.base)

    def seen_from(self, other: "Block") -> "Block":
        """Where it stands beside another that moves with the same row: a line sets the row of both at one height."""
        if self.row < 0 or self.row != other.row:
            return self
        up = self.base - other.base
        return replace(self, low=self.low + up, high=self.high - self.climb + up)


def over_or_under(one: Block, other: Block) -> bool:
    return one.x0 < other.x1 + CLEAR and one.x1 > other.x0 - CLEAR


def meet(one: Block, other: Block) -> bool:
    """Whether two boxes overlap."""
    return one.x0 < other.x1 and other.x0 < one.x1 and one.low < other.high and other.low < one.high


def rise(block: Block, others: Sequence[Block]) -> float:
    """The least that the block is to be raised to stand clear of the others."""
    up = 0.0
    near = [o.seen_from(block) for o in others if over_or_under(o, block)]
    while True:
        low, high = block.low + up - CLEAR, block.high + up + CLEAR
        hit = [o.high for o in near if o.low < high - 1e-6 and o.high > low + 1e-6]
        if not hit:
            return up
        higher = min(hit) + CLEAR - block.low
        if higher <= up:  # a damaged file's places may be so far off that nothing is gained
            return up
        up = higher
