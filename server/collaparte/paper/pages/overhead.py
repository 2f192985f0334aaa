"""Words that reach over other bars than their own: raised on their line until they are clear of what those have there.

In print nothing meets them. In another order, or moved left from a line's end ("D.S. al Coda (no repeats)"), they come
to stand over bars that were not near. Lengths are staff spaces; heights up from the first stave's middle line.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from collaparte.paper.cutting.table import BarCut, Extent
from collaparte.paper.pages.blocks import Block, rise
from collaparte.paper.pages.knots import Knots, at

OUTSIDE, LONG = 1.0, 6.0
"""Words so long that reach so far beyond their bar may meet what they do not meet in print."""
TOUCH = 0.2
"""Boxes that overlap by no more do not meet: no ink fills its box."""


class Thing(NamedTuple):
    """What stands over a bar: its place in the line, its box, and for words that may rise which of them they are."""

    bar: int
    box: Block
    word: int = -1


class Raised(NamedTuple):
    """Words that stand so much higher than they would by themselves, and their box then."""

    word: int
    up: float
    box: Block


def is_long(thing: Thing) -> bool:
    """Words that may have to rise."""
    return thing.word >= 0 and thing.box.x1 - thing.box.x0 > LONG


def raised(things: Sequence[Thing], bars: Sequence[tuple[float, float]], following: Sequence[bool]) -> list[Raised]:
    """Which words are to be raised, those first that reach out least; `bars` are the bars' left and right edges, and
    `following` is which of them follow as in print: there, bars side by side are clear of each other."""
    out: list[Raised] = []
    far = {id(t): reach for t in things if is_long(t) and (reach := _outside(t.box, *bars[t.bar])) > OUTSIDE}
    stood = [t for t in things if id(t) not in far]
    for thing in sorted((t for t in things if id(t) in far), key=lambda t: far[id(t)]):
        box = thing.box
        if any(_meet(t.box, box) for t in stood if not _side_by_side(t.bar, thing.bar, following)):
            up = rise(box, [t.box for t in stood])
            box = box.moved(0.0, up)
            out.append(Raised(thing.word, up, box))
        stood.append(Thing(thing.bar, box))
    return out


def over_bar(
    place: int, cut: BarCut, extents: Sequence[Extent], knots: Knots, moved: Mapping[int, float], u: float
) -> list[Thing]:
    """A bar's own ink over its first stave and its endings' brackets, without their hooks; `moved` are its rows."""
    ink = [(e, -e.bottom, -e.top) for e in cut.over]
    for b in cut.brackets:
        y = -b.base - moved.get(b.row, 0.0)
        ink.append((extents[b.piece], y - TOUCH, y + TOUCH))
    return [Thing(place, Block(at(knots, e.left) / u, at(knots, e.right) / u, low, high)) for e, low, high in ink]


def _side_by_side(one: int, other: int, following: Sequence[bool]) -> bool:
    return one == other or (abs(one - other) == 1 and following[max(one, other)])


def _outside(box: Block, left: float, right: float) -> float:
    return max(left - box.x0, box.x1 - right)


def _meet(one: Block, other: Block) -> bool:
    across = min(one.x1, other.x1) - max(one.x0, other.x0)
    return across > TOUCH and min(one.high, other.high) - max(one.low, other.low) > TOUCH
