"""Slurs and lines of hairpins that their printed line's end breaks: what of them lies over its outermost bars."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from collaparte.paper.cutting.edges import Edges, Where
from collaparte.paper.cutting.ink import Page, Shape
from collaparte.paper.cutting.items import Item, Role
from collaparte.paper.cutting.stock import Part, PieceInk, Stock
from collaparte.paper.cutting.table import Open

TO_EDGE = 1.2
"""A hairpin that ends so near its line's last barline, in spaces, may go on."""


@dataclass(slots=True)
class Broken:
    """Half of a slur at its system's edge: its bar's place in the part, its note's end, its bulge (spaces, y down).

    One over several bars has, instead of its note's end, the point at the bar's other edge, and its slope there. A
    line of a hairpin has its `stroke`'s width (spaces) and, for a bulge, its slope; it `ends` here, or in another bar.
    """

    bar: int
    stave: int
    piece: int
    x: float
    y: float
    bulge: float
    right: bool
    slope: float | None = None
    stroke: float | None = None
    ends: bool = True


@dataclass(slots=True)
class TornCutter:
    """Cuts what line ends break in the bars of one part, in order; `broken` is for mending it."""

    pages: Sequence[Page]
    stock: Stock
    broken: list[Broken] = field(default_factory=list)
    bars: int = 0
    """How many bars were cut."""

    def cut(self, through: Sequence[Item], where: Where, edges: Edges, mine: Sequence[Item]) -> dict[int, Open]:
        """Of a stave's spans those that are broken at this bar, by their place, each with its half; `mine` is the bar's
        ink."""
        out: dict[int, Open] = {}
        for n, item in enumerate(through):
            if (edges.first or edges.last) and self._is_half(item, where, edges, mine):
                out[n] = self._half(item, where, edges)
            elif edges.first != edges.last and self._goes_on(item, where, edges, mine):
                out[n] = self._part_of_half(item, where, edges)
            elif self._is_broken_wedge(item, where, edges, mine):
                out[n] = self._part_of_wedge(item, where, edges)
        return out

    def _is_half(self, item: Item, where: Where, edges: Edges, mine: Sequence[Item]) -> bool:
        """A slur of this bar alone that goes on beyond its system's last barline or comes from before its first."""
        sp = where.space
        if item.style[:1] != ("curve",) or not bow_ends(item, self.pages[where.page]):
            return False
        if edges.last and item.box[0] > edges.x0 and item.box[2] > edges.x1 - 0.7 * sp:
            return True
        return edges.first and self._comes(item, edges, mine, sp) and item.box[2] < edges.x1 - 0.7 * sp

    def _comes(self, item: Item, edges: Edges, mine: Sequence[Item], sp: float) -> bool:
        """It begins before the first note of its line."""
        solid = [i.box[0] for i in mine if i.role is Role.SOLID and i.stave == item.stave]
        first = min(solid, default=edges.x1)
        return item.box[0] < min(first - 0.3 * sp, edges.x0 + 1.5 * sp)

    def _goes_on(self, item: Item, where: Where, edges: Edges, mine: Sequence[Item]) -> bool:
        """A slur over this and other bars of its system that goes on beyond this one's outer barline."""
        sp = where.space
        if edges.inner or item.style[:1] != ("curve",) or not bow_ends(item, self.pages[where.page]):
            return False
        if edges.last:
            return item.box[0] <= edges.x0 and item.box[2] > edges.x1 - 0.7 * sp
        return item.box[2] >= edges.x1 + sp and self._comes(item, edges, mine, sp)

    def _part_of_half(self, item: Item, where: Where, edges: Edges) -> Open:
        """What of such a slur lies over this bar."""
        sp, middle, right = where.space, where.middles[item.stave], edges.last
        before, after = edges.margins(sp)
        inner = edges.x0 - before if right else edges.x1 + after
        a, b = (inner - 0.04 * sp, item.box[2]) if right else (item.box[0], inner + 0.04 * sp)
        ink = PieceInk(where.page, edges.x0, middle, sp)
        ink.add(item, (a, item.box[1], b, item.box[3]), Part(0, (a, b), False))
        piece = self.stock.keep(ink)
        mark = self.pages[where.page].ink[item.marks[0]]
        assert isinstance(mark, Shape)
        y, slope = height_at(mark, inner)
        (_, y0), (_, y1) = bow_ends(item, self.pages[where.page])
        over, under = min(y0, y1) - item.box[1], item.box[3] - max(y0, y1)
        bulge = -over if over > under else under
        at = (inner - edges.x0) / sp
        self.broken.append(
            Broken(self.bars, item.stave, piece, at, (y - middle) / sp, bulge / sp, right, round(slope, 3))
        )
        return Open(piece, item.stave, round(at, 3), right)

    def _is_broken_wedge(self, item: Item, where: Where, edges: Edges, mine: Sequence[Item]) -> bool:
        """A line of a hairpin that goes on beyond its system's last barline, or comes from before its first note."""
        if edges.inner or item.style[:1] != ("line",) or not slanted(item, self.pages[where.page], where.space):
            return False
        goes = edges.last and item.box[2] > edges.x1 - TO_EDGE * where.space and item.box[0] < edges.x1
        comes = edges.first and self._comes(item, edges, mine, where.space)
        return goes != comes

    def _part_of_wedge(self, item: Item, where: Where, edges: Edges) -> Open:
        """What of such a line lies over this bar."""
        sp, middle = where.space, where.middles[item.stave]
        right = edges.last and item.box[2] > edges.x1 - TO_EDGE * sp
        ends = slanted(item, self.pages[where.page], where.space)
        assert ends is not None
        x0, y0, x1, y1, width = ends
        before, after = edges.margins(sp)
        inner = max(x0, edges.x0 - before) if right else min(x1, edges.x1 + after)
        a, b = (inner - 0.04 * sp, item.box[2]) if right else (item.box[0], inner + 0.04 * sp)
        ink = PieceInk(where.page, edges.x0, middle, sp)
        ink.add(item, (a, item.box[1], b, item.box[3]), Part(0, (a, b), False))
        piece = self.stock.keep(ink)
        slope = (y1 - y0) / (x1 - x0)
        y, at = y0 + slope * (inner - x0), (inner - edges.x0) / sp
        here = inner == (x0 if right else x1)
        broken = Broken(self.bars, item.stave, piece, at, (y - middle) / sp, slope, right, None, width / sp, here)
        self.broken.append(broken)
        return Open(piece, item.stave, round(at, 3), right)

    def _half(self, item: Item, where: Where, edges: Edges) -> Open:
        sp, middle = where.space, where.middles[item.stave]
        ink = PieceInk(where.page, edges.x0, middle, sp)
        ink.add(item, part=Part(0, None, False))
        piece = self.stock.keep(ink)
        (x0, y0), (x1, y1) = bow_ends(item, self.pages[where.page])
        right = edges.last and item.box[2] > edges.x1 - 0.7 * sp
        x, y = (x0, y0) if right else (x1, y1)
        over, under = min(y0, y1) - item.box[1], item.box[3] - max(y0, y1)
        bulge = -over if over > under else under
        at = (x - edges.x0) / sp
        if not edges.inner:
            self.broken.append(Broken(self.bars, item.stave, piece, at, (y - middle) / sp, bulge / sp, right))
        return Open(piece, item.stave, round(at, 3), right)


def bow_ends(item: Item, page: Page) -> list[tuple[float, float]]:
    """The left and the right end of a bow; nothing for any other shape."""
    mark = page.ink[item.marks[0]]
    if not isinstance(mark, Shape) or len(mark.path) != 1:
        return []
    sub = mark.path[0]
    curve = next((s for s in sub.segments if len(s) == 6), None)
    return sorted([(sub.x, sub.y), (curve[4], curve[5])]) if curve else []


def slanted(item: Item, page: Page, space: float) -> tuple[float, float, float, float, float] | None:
    """The ends of a straight stroke that is nearly level, left to right, and its width."""
    for mark in (page.ink[m] for m in item.marks):
        if not isinstance(mark, Shape) or mark.width is None or mark.dash or len(mark.path) != 1:
            continue
        sub = mark.path[0]
        if sub.closed or len(sub.segments) != 1 or len(sub.segments[0]) != 2:
            continue
        (x0, y0), (x1, y1) = sorted([(sub.x, sub.y), (sub.segments[0][0], sub.segments[0][1])])
        if 0.02 * space < abs(y1 - y0) < min(0.8 * (x1 - x0), 1.5 * space):
            return x0, y0, x1, y1, mark.width
    return None


def height_at(bow: Shape, x: float) -> tuple[float, float]:
    """The height of a bow's middle at x, and its slope there."""

    def at(x: float) -> float:
        ys: list[float] = []
        sub = bow.path[0]
        x0, y0 = sub.x, sub.y
        for s in sub.segments:
            points = [(x0, y0)]
            if len(s) == 6:
                for n in range(1, FINE + 1):
                    t = n / FINE
                    a, b, c, d = (1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3
                    points.append((a * x0 + b * s[0] + c * s[2] + d * s[4], a * y0 + b * s[1] + c * s[3] + d * s[5]))
            for (xa, ya), (xb, yb) in pairwise(points):
                if xa != xb and min(xa, xb) <= x <= max(xa, xb):
                    ys.append(ya + (yb - ya) * (x - xa) / (xb - xa))
                    break
            x0, y0 = s[-2], s[-1]
        return sum(ys) / len(ys) if ys else (bow.box[1] + bow.box[3]) / 2

    step = 0.01 * (bow.box[2] - bow.box[0])
    return at(x), (at(x + step) - at(x - step)) / (2 * step)


FINE = 24
"""Steps that a curve is looked at in."""
