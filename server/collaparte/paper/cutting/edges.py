"""The system and the bar that are being cut: where they stand, what stands at their edges, what holds there."""

from dataclasses import dataclass

from collaparte.paper.cutting.items import Item
from collaparte.paper.reading import Barline, System


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
    meter_in: bool = False
