"""The system and the bar that are being cut: where they stand, what stands at their edges, what holds there."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from collaparte.paper.cutting.items import Item, Role
from collaparte.paper.reading import BarBox, Barline, System

LEAD = 1.0
"""Between a barline and the first notes engravers leave about so many spaces, behind a line's key twice as many (common
practice)."""
NARROW, CENTRED = 0.35, 0.65
"""A rest, or a sign that says what is played again, takes no more than this share of its bar, and has no less than this
share of the white behind it before it."""
CLEAR = 0.1
"""The bar's edge is so far left of its words and slurs, in spaces."""
HOOK = 0.5
"""The hook of an ending's bracket is narrower, in spaces."""
BEAM_OVER = ("beam",)
"""The style of a beam over a barline."""
OVER = 0.3
"""What reaches so far over a barline at both its sides, in spaces, goes over it."""


@dataclass(slots=True)
class Where:
    """The system that is being cut: its page, its place in the part, its objects and its staves' middles (points)."""

    page: int
    number: int
    system: System
    items: list[Item]
    middles: list[float]

    @property
    def space(self) -> float:
        return self.system.space


@dataclass(slots=True)
class Edges:
    """A bar's edges in points, the barlines there, and whether it is the first or the last of its system."""

    x0: float
    x1: float
    left: Barline | None
    right: Barline | None
    first: bool
    last: bool
    inner: bool = False
    """They are those of a part of a bar."""
    spare: float = 0.0
    """The white left of `x0` that the bar had in print, behind its line's head."""

    def margins(self, space: float) -> tuple[float, float]:
        """How far its ink may reach into the barlines: half of each, in points."""
        left = (self.left.x1 - self.left.x0) / 2 if self.left else 0.5 * space
        right = (self.right.x1 - self.right.x0) / 2 if self.right else 0.1 * space
        return left, right


@dataclass(slots=True)
class Heads:
    """Which line head is valid before a bar and at its start, and the pieces of a meter and a change printed in it."""

    before: int
    here: int
    change: tuple[int, ...] = ()
    change_width: float = 0.0
    meter: tuple[int, ...] = ()
    meter_width: float = 0.0
    meter_here: int = -1
    after: int = -1
    """The head that is valid behind a clef in the bar's course; -1: the one at its start."""
    courtesy: tuple[int, ...] = ()
    """The pieces a stave of a clef at its end that is the next bar's, and where that begins, and how wide it is."""
    courtesy_at: tuple[float, float] = (0.0, 0.0)


def spare(edges: Edges, bar: BarBox, mine: Sequence[Item], items: Iterable[Item], sp: float) -> float:
    """How much of the white behind its line's head a bar does without where a barline stands before it, in points.

    Nothing of it but what is kept to its start stands there: `mine` is its ink, `items` are its system's.
    """
    solid = [(i.box[0], i.box[2]) for i in mine if i.role in (Role.SOLID, Role.BEAM)]
    if bar.count > 1 or not solid:
        return 0.0
    first, last = min(a for a, _ in solid), max(b for _, b in solid)
    if last - first < NARROW * (edges.x1 - edges.x0) and first - edges.x0 > CENTRED * (edges.x1 - last):
        return 0.0
    near = [i.box[0] for i in mine if i.role is Role.WORDS and i.anchor != "start"]
    near += [i.box[0] for i in items if i.role is Role.THROUGH and not _is_rule(i, sp)]
    return max(min([first - LEAD * sp, *(x - CLEAR * sp for x in near)]) - edges.x0, 0.0)


def beams_over(items: Sequence[Item], system: System) -> list[Item]:
    """The system's items, a beam from bar to bar as what goes over barlines: each bar has its part, as of a slur.

    A strip of a scan's bar, which has no style, is that bar's own wherever it ends.
    """
    reach, lines = OVER * system.space, [(line.x0, line.x1) for line in system.barlines]

    def over(item: Item) -> bool:
        return any(item.box[0] < x0 - reach and x1 + reach < item.box[2] for x0, x1 in lines)

    return [
        replace(i, role=Role.THROUGH, style=BEAM_OVER) if i.role is Role.BEAM and i.style and over(i) else i
        for i in items
    ]


def _is_rule(item: Item, sp: float) -> bool:
    """The level line of an ending's bracket, which goes on to the bar's edge."""
    return item.style == ("bracket",) and item.box[2] - item.box[0] > HOOK * sp
