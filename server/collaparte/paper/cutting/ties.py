"""Slurs and ties that a printed line's end broke in two: made one again for when their bars stand in one line."""

from collections.abc import Sequence
from dataclasses import dataclass

from msgspec.structs import replace

from collaparte.paper.cutting.barcut import Broken
from collaparte.paper.cutting.ink import Page, Shape, Subpath, path_box
from collaparte.paper.cutting.stock import Part, PieceInk, Stock
from collaparte.paper.cutting.table import BarCut

END, MIDDLE = 0.09, 0.24
"""The thickness of a slur at its ends and in its middle, in staff spaces (common practice)."""


@dataclass(slots=True)
class Mender:
    """Joins the broken ends of one part; what it draws is added to the page's ink."""

    stock: Stock
    pages: Sequence[Page]

    def mend(self, bars: Sequence[BarCut], broken: Sequence[Broken]) -> list[BarCut]:
        """The bars with the halves that belong together told, by the piece that shows them whole."""
        mates: dict[int, int] = {}
        for n, bar in enumerate(bars[:-1]):
            after = bars[n + 1]
            if after.system == bar.system or after.index != bar.index + max(1, bar.count):
                continue
            for stave in range(len(bar.main)):
                left = [b for b in broken if b.bar == n and b.stave == stave and b.right]
                right = [b for b in broken if b.bar == n + 1 and b.stave == stave and not b.right]
                if len(left) != len(right):
                    continue
                for a, b in zip(_by_height(left), _by_height(right), strict=True):
                    if a.bulge * b.bulge > 0:
                        mates[a.piece] = mates[b.piece] = self._whole(a, b, bar)
        return [replace(bar, open=tuple(replace(o, mate=mates.get(o.piece, -1)) for o in bar.open)) for bar in bars]

    def _whole(self, a: Broken, b: Broken, bar: BarCut) -> int:
        """A new bow from the note that the left half begins at to the note that the right half ends at."""
        sp = self.stock.inks[a.piece].space
        length = max(bar.width - a.x + b.x + 0.2, 1.0)
        bulge = max(a.bulge, b.bulge, key=abs)
        shape = bow(length * sp, a.y * sp, b.y * sp, bulge * sp, sp)
        page = self.stock.inks[a.piece].page
        ink = PieceInk(page, 0.0, 0.0, sp, [Part(len(self.pages[page].ink), None, False)], [shape.box])
        self.pages[page].ink.append(shape)
        return self.stock.keep(ink)


def _by_height(halves: Sequence[Broken]) -> list[Broken]:
    return sorted(halves, key=lambda b: b.y)


def bow(length: float, y0: float, y1: float, bulge: float, space: float) -> Shape:
    """A slur from (0, y0) to (length, y1), its middle `bulge` off the straight line between (points, y down)."""
    path = Subpath(0.0, y0 - END * space / 2, closed=True)
    near, far = length * 0.25, length * 0.75
    # A cubic's middle lies at three quarters of its control points' height.
    outer, inner = ((bulge + side * (MIDDLE - END) * space / 2) * 4 / 3 for side in (-1, 1))
    up, down = -END * space / 2, END * space / 2
    rise = y1 - y0
    path.segments.append((near, y0 + rise * 0.25 + outer + up, far, y0 + rise * 0.75 + outer + up, length, y1 + up))
    path.segments.append((length, y1 + down))
    path.segments.append((far, y0 + rise * 0.75 + inner + down, near, y0 + rise * 0.25 + inner + down, 0.0, y0 + down))
    return Shape(path_box([path]), [path], (0.0,))
