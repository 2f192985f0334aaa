"""Slurs, ties and hairpins that a printed line's end broke in two: one again where their bars stand in one line."""

from collections.abc import Sequence
from dataclasses import dataclass
from dataclasses import replace as replaced

from msgspec.structs import replace

from collaparte.paper.cutting.ink import Page, Shape, Subpath, path_box
from collaparte.paper.cutting.stock import Part, PieceInk, Stock
from collaparte.paper.cutting.table import BarCut
from collaparte.paper.cutting.torn import Broken

END, MIDDLE = 0.09, 0.24
"""The thickness of a slur at its ends and in its middle, in staff spaces (common practice)."""
LINES = 2
"""A hairpin's."""
EASED = 0.3
"""Where two halves meet, each turns down towards the end of its printed line: this much of that is kept."""


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
                for kind in (_bows, _lines):
                    pairs = list(zip(kind(left), kind(right), strict=False))
                    alike = len(kind(left)) == len(kind(right)) and (kind is _bows or len(pairs) == LINES)
                    fits = [a.bulge * b.bulge > 0 for a, b in pairs]
                    if not alike or (kind is _lines and not all(fits)):
                        continue
                    if kind is _lines:
                        pairs = _level(pairs)
                    for (a, b), fit in zip(pairs, fits, strict=True):
                        if fit:
                            mates[a.piece] = mates[b.piece] = self._whole(a, b, bar)
        return [replace(bar, open=tuple(replace(o, mate=mates.get(o.piece, -1)) for o in bar.open)) for bar in bars]

    def _whole(self, a: Broken, b: Broken, bar: BarCut) -> int:
        """A new bow from the note that the left half begins at to the note that the right half ends at."""
        sp = self.stock.inks[a.piece].space
        length = max(bar.width - a.x + b.x + 0.2, 1.0)
        bulge = max(a.bulge, b.bulge, key=abs)
        shape = bow(length * sp, a.y * sp, b.y * sp, bulge * sp, sp, a.slope, b.slope)
        if a.stroke:
            shape = line(length * sp, a.y * sp, b.y * sp, a.stroke * sp)
        page = self.stock.inks[a.piece].page
        ink = PieceInk(page, 0.0, 0.0, sp, [Part(len(self.pages[page].ink), None, False)], [shape.box])
        self.pages[page].ink.append(shape)
        return self.stock.keep(ink)


def _bows(halves: Sequence[Broken]) -> list[Broken]:
    return sorted((b for b in halves if b.stroke is None), key=lambda b: b.y)


def _lines(halves: Sequence[Broken]) -> list[Broken]:
    """A hairpin's lines, the upper one first; where they meet in its point, by how they leave it."""
    lines = [b for b in halves if b.stroke is not None]
    return sorted(lines, key=lambda b: (round(b.y, 1), b.bulge if b.right else -b.bulge))


def _level(pairs: Sequence[tuple[Broken, Broken]]) -> list[tuple[Broken, Broken]]:
    """A hairpin's lines round one height: printed lines have its halves at two. A half that goes on in another bar
    stays at its own; of two that end here the one further from the stave is clear of both bars' notes."""
    heights = [sum(pair[side].y for pair in pairs) / len(pairs) for side in (0, 1)]
    if all(one.ends for pair in pairs for one in pair):
        level = max(heights) if sum(heights) > 0 else min(heights)
    else:
        level = heights[0] if pairs[0][1].ends else heights[1]
    moved = [level - height for height in heights]
    return [
        (
            replaced(a, y=a.y + moved[0]) if a.ends else a,
            replaced(b, y=b.y + moved[1]) if b.ends else b,
        )
        for a, b in pairs
    ]


def line(length: float, y0: float, y1: float, width: float) -> Shape:
    """A straight stroke from (0, y0) to (length, y1)."""
    box = (0.0, min(y0, y1) - width / 2, length, max(y0, y1) + width / 2)
    return Shape(box, [Subpath(0.0, y0, [(length, y1)])], (0.0,), width)


def bow(
    length: float,
    y0: float,
    y1: float,
    bulge: float,
    space: float,
    slope0: float | None = None,
    slope1: float | None = None,
) -> Shape:
    """A slur from (0, y0) to (length, y1), its middle `bulge` off the straight line between (points, y down).

    An end with a slope is none: the slur goes on there, as thick as in its middle, and bulges no more."""
    near, far, rise = length * 0.25, length * 0.75, y1 - y0
    # A cubic's middle lies at three quarters of its control points' height.
    arch = bulge * 4 / 3 if slope0 is None and slope1 is None else 0.0
    c0, c1 = y0 + rise * 0.25 + arch, y0 + rise * 0.75 + arch
    if slope0 is not None:
        c0 = y0 + slope0 * near * EASED
        c1 = y0 + 0.2 * rise if slope1 is None else c1
    if slope1 is not None:
        c0 = y1 - 0.2 * rise if slope0 is None else c0
        c1 = y1 - slope1 * near * EASED
    thick0, thick1 = (space / 2 * (END if slope is None else MIDDLE) for slope in (slope0, slope1))
    # The middle's thickness, seen from the control points.
    thick = space / 2 * (END + (MIDDLE - END) * 4 / 3)
    thick = space / 2 * MIDDLE if slope0 is not None and slope1 is not None else thick
    path = Subpath(0.0, y0 - thick0, closed=True)
    path.segments.append((near, c0 - thick, far, c1 - thick, length, y1 - thick1))
    path.segments.append((length, y1 + thick1))
    path.segments.append((far, c1 + thick, near, c0 + thick, 0.0, y0 + thick0))
    return Shape(path_box([path]), [path], (0.0,))
