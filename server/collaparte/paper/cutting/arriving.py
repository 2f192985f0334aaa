"""What comes over a barline: slurs, of which a bar that a cut lands in shows less, and ties, which have a height."""

from collections.abc import Sequence
from dataclasses import dataclass

from collaparte.paper.cutting.edges import BEAM_OVER, OVER, Edges
from collaparte.paper.cutting.ink import Page
from collaparte.paper.cutting.items import Item, Role
from collaparte.paper.cutting.torn import bow_ends

A_HEAD = 1.1
"""Ink of a stave this wide, in spaces, is no accidental: a black note head has 1.18 (SMuFL fonts)."""
BEFORE = 0.7
"""What ends so near before its printed line's last barline goes on on the next line, in spaces."""
LEVEL = 0.3
"""The ends of a tie are level but for so much, in spaces."""


@dataclass(slots=True)
class Over:
    """A stave's spans at one bar whose ink is `mine`; `middle` is its height on the page, `sp` a space, in points."""

    page: Page
    mine: Sequence[Item]
    stave: int
    middle: float
    edges: Edges
    sp: float

    def arriving(self, spans: Sequence[Item]) -> list[Item]:
        """The slurs and ties that come from the bar before over a barline, and what else ends at the first note.

        A beam does not: without its part the note would be longer.
        """
        left = self.edges.left
        if left is None:
            return []
        over = [i for i in spans if i.box[0] < left.x0 - OVER * self.sp and left.x1 < i.box[2]]
        return [i for i in over if i.style[:1] == ("curve",) or (self.at_first(i) and i.style != BEAM_OVER)]

    def at_first(self, item: Item) -> bool:
        """It ends at the bar's first note or before."""
        return item.box[2] < self.first()[1] + OVER * self.sp

    def first(self) -> tuple[float, float]:
        """From where to where the bar's first note or chord stands."""
        notes = (i for i in self.mine if i.role is Role.SOLID and i.stave == self.stave)
        wide = ((i.box[0], i.box[2]) for i in notes if i.box[2] - i.box[0] > A_HEAD * self.sp)
        return min(wide, default=(self.edges.x1, self.edges.x1))

    def ties(self, spans: Sequence[Item]) -> list[tuple[int, float]]:
        """The stave and the heights of the ties that go on over the bar's right barline."""
        x0, x1 = self.edges.x0, self.edges.x1
        end = x1 - BEFORE * self.sp if self.edges.last else x1 + OVER * self.sp
        heights = [self.tie(i) for i in spans if x0 < i.box[0] < x1 and i.box[2] > end]
        return [(self.stave, height) for height in heights if height is not None]

    def tie(self, item: Item) -> float | None:
        """The height of a tie's ends below the stave's middle, in spaces; None for anything else."""
        ends = bow_ends(item, self.page)
        if item.style[:1] != ("curve",) or not ends:
            return None
        (_, y0), (_, y1) = ends
        return round(((y0 + y1) / 2 - self.middle) / self.sp, 3) if abs(y0 - y1) < LEVEL * self.sp else None
