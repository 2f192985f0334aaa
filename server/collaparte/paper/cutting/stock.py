"""The pieces of a part as they are cut, with their ink."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from collaparte.paper.cutting.items import Item, union
from collaparte.paper.cutting.table import Extent
from collaparte.paper.reading import Box


@dataclass(slots=True)
class Part:
    """A mark of a piece: its index in the page's ink, the x range (points) it is cut to, whether it stays rigid."""

    mark: int
    clip: tuple[float, float] | None = None
    rigid: bool = True
    pull: tuple[float | None, float | None] | None = None
    """Where the ends of a level rule are moved to (points), so that an ending's bracket reaches the barlines."""


@dataclass(slots=True)
class PieceInk:
    """Where a piece's ink is: page, origin and staff space in points, and its marks in painting order."""

    page: int
    x: float
    y: float
    space: float
    parts: list[Part] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)

    def add(self, item: Item, box: Box | None = None, part: Part | None = None) -> None:
        """Take an object's ink, whole and rigid unless `part` (whose mark does not count) says otherwise."""
        like = part or Part(0)
        self.parts += [Part(m, like.clip, like.rigid, like.pull) for m in item.marks]
        self.boxes.append(box or item.box)


@dataclass(slots=True)
class Stock:
    """All pieces so far: piece n has `extents[n]` and `inks[n]`."""

    extents: list[Extent] = field(default_factory=list)
    inks: list[PieceInk] = field(default_factory=list)

    def keep(self, ink: PieceInk) -> int:
        """The number of a new piece; -1 when it has no ink."""
        if not ink.boxes:
            return -1
        x0, y0, x1, y1 = union(ink.boxes)
        left, right = (round((x - ink.x) / ink.space, 3) for x in (x0, x1))
        top, bottom = (round((y - ink.y) / ink.space, 3) for y in (y0, y1))
        self.extents.append(Extent(left, top, right, bottom))
        ink.parts.sort(key=lambda p: p.mark)
        self.inks.append(ink)
        return len(self.inks) - 1

    def moved(self, piece: int, lower: float) -> int:
        """A piece of the same ink, so many spaces lower."""
        ink = self.inks[piece]
        return self.keep(replace(ink, y=ink.y - lower * ink.space, parts=list(ink.parts)))

    def whole(self, items: Iterable[Item], page: int, x: float, y: float, space: float) -> int:
        """A piece of whole objects."""
        ink = PieceInk(page, x, y, space)
        for item in items:
            ink.add(item)
        return self.keep(ink)

    def a_stave(
        self, staves: Sequence[Sequence[Item]], page: int, x: float, y: Sequence[float], space: float
    ) -> tuple[int, ...]:
        """One piece of whole objects for each stave."""
        return tuple(self.whole(items, page, x, y[k], space) for k, items in enumerate(staves))
