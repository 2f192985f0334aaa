"""Objects of a page's ink, and how their boxes lie."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Literal

from collaparte.paper.reading import BarBox, Box, System


class Role(IntEnum):
    """What an object is to laying."""

    SOLID = 0
    """Rigid ink that stands in a stave or grows out of one: heads, stems, accidentals, rests."""
    BEAM = 1
    THROUGH = 2
    """Ink that follows the bar's stretching: slurs, hairpins, brackets, extenders."""
    WORDS = 3
    """Rigid ink that floats: words, chord names, dynamics, framed marks."""
    DROPPED = 4
    """Staff lines, barlines, braces: drawn anew on the page."""


@dataclass(slots=True)
class Item:
    """Some marks (indices in the page's ink) that are one thing; `style` is alike for things of one kind."""

    marks: list[int]
    box: Box
    role: Role
    style: tuple[object, ...] = ()
    system: int = -1
    stave: int = 0
    above: bool = True
    """It stands above (or in) its stave rather than below."""
    bar: int = -1
    """Its bar's place in the system, from 0; -1 before the first."""
    origin: tuple[float, float] | None = None
    """Where its bar's edge and stave would be, when it is printed at the end of the line before (points)."""
    anchor: Literal["left", "centre", "start", "end"] = "centre"
    """`left`, `centre`, `start` or `end`: what of the bar it keeps to when the bar is stretched."""
    letters: str = ""
    pointed: int = -1
    """The stave of its system that a hook of it points to; -1: none."""
    base: float | None = None
    """The baseline (points) of the sung words that a hyphen stands between; the top of a diagram."""


def union(boxes: Iterable[Box]) -> Box:
    """The box round all of `boxes` (at least one)."""
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return (min(x0), min(y0), max(x1), max(y1))


def grown(box: Box, dx: float, dy: float) -> Box:
    """The box with `dx` more at each side and `dy` more above and below."""
    return (box[0] - dx, box[1] - dy, box[2] + dx, box[3] + dy)


def touch(a: Box, b: Box) -> bool:
    """Whether two boxes overlap or touch."""
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]


def inside(a: Box, b: Box) -> bool:
    """The middle of `a` lies in `b`."""
    x, y = (a[0] + a[2]) / 2, (a[1] + a[3]) / 2
    return b[0] <= x <= b[2] and b[1] <= y <= b[3]


SET_TO, A_NOTE = 0.25, 0.8
"""Words begin at the left end of their note (common practice), so near in spaces; a note is so wide at least."""


def set_to(box: Box, notes: Iterable[Item], sp: float, near: float = SET_TO) -> bool:
    """Whether something begins where one of the notes or rests does, to so many spaces."""
    return any(abs(i.box[0] - box[0]) < near * sp and i.box[2] - i.box[0] > A_NOTE * sp for i in notes)


def absorb(group: Item, item: Item) -> None:
    """Make an item part of a group; the style is the first lettered one's."""
    if not group.letters:
        group.style = item.style
    group.marks += item.marks
    group.letters += item.letters
    group.box = union((group.box, item.box))


class Rows:
    """Boxes by their left edge, to find those that may touch a box without looking at all."""

    def __init__(self, items: Sequence[Item]) -> None:
        self.items = sorted(items, key=lambda i: i.box[0])
        self.left = [i.box[0] for i in self.items]
        self.widest = max((i.box[2] - i.box[0] for i in items), default=0.0)

    def near(self, box: Box) -> list[Item]:
        first = bisect_left(self.left, box[0] - self.widest)
        last = bisect_right(self.left, box[2])
        return [i for i in self.items[first:last] if touch(i.box, box)]


def nearest_system(box: Box, systems: Sequence[System]) -> int:
    """The system whose staves the box is nearest to, by its middle."""
    y = (box[1] + box[3]) / 2
    return min(range(len(systems)), key=lambda s: max(systems[s].bbox[1] - y, y - systems[s].bbox[3], 0.0))


def bar_at(bars: Sequence[BarBox], x: float) -> int:
    """The place of the bar that x lies in; -1 in the line's head."""
    if not bars or x < bars[0].x0 - 1e-6:
        return -1
    for place, bar in enumerate(bars):
        following = bars[place + 1].x0 if place + 1 < len(bars) else 1e9
        if x < (bar.x1 + following) / 2:
            return place
    return len(bars) - 1
