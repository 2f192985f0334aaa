"""Cut one bar of a system: its rigid and its stretching ink a stave, its words, its endings' brackets."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from collaparte.music.jumpwords import times_of
from collaparte.paper.cutting import columns
from collaparte.paper.cutting.brackets import resumed
from collaparte.paper.cutting.ink import Glyph, Page, Shape
from collaparte.paper.cutting.items import Item, Role
from collaparte.paper.cutting.rows import Found
from collaparte.paper.cutting.stock import Part, PieceInk, Stock
from collaparte.paper.cutting.table import BarCut, Bracket, Extent, Open, Word
from collaparte.paper.reading import BarBox, Barline, Box, Reading, SignKind, System


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


BARLINE = 2.5
"""A repeat's end is no wider, in spaces, its dots included."""
TO_EDGE = 1.2
"""A hairpin that ends so near its line's last barline, in spaces, may go on."""
SQUEEZE = 0.55
"""What gaps may be squeezed to where no words stand."""


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
class BarCutter:
    """Cuts bars of one part; what it finds of words is gathered for `rows`."""

    reading: Reading
    pages: Sequence[Page]
    stock: Stock
    words: list[Found] = field(default_factory=list)
    broken: list[Broken] = field(default_factory=list)
    _bars: int = 0

    def cut(self, where: Where, bar: BarBox, mine: Sequence[Item], edges: Edges, heads: Heads) -> BarCut:
        """The bar whose own objects are `mine`; slurs and the like are taken from the whole system."""
        sp = where.space
        strips = [(0.0, w) for w in (heads.change_width, heads.meter_width) if w]
        mains: list[int] = []
        brackets: list[Bracket] = []
        halves: list[Open] = []
        over: tuple[Extent, ...] = ()
        crossing = 0
        for stave, middle in enumerate(where.middles):
            ink = PieceInk(where.page, edges.x0, middle, sp)
            for item in mine:
                if item.stave == stave and item.role in (Role.SOLID, Role.BEAM):
                    ink.add(item, part=Part(0, rigid=item.role is Role.SOLID))
                    if item.role is Role.SOLID:
                        strips.append(((item.box[0] - edges.x0) / sp, (item.box[2] - edges.x0) / sp))
            through = [i for i in where.items if i.role is Role.THROUGH and i.stave == stave]
            torn = [i for i in through if (edges.first or edges.last) and self._is_half(i, where, edges, mine)]
            halves += [self._half(i, where, edges) for i in torn]
            longer = [i for i in through if edges.first != edges.last and self._goes_on(i, where, edges, mine)]
            halves += [self._part_of_half(i, where, edges) for i in longer]
            torn += longer
            wedges = [i for i in through if self._is_broken_wedge(i, where, edges, mine)]
            halves += [self._part_of_wedge(i, where, edges) for i in wedges]
            torn += wedges
            spans = [i for i in through if i.style != BRACKET and i not in torn]
            crossing += self._spans(ink, spans, where, bar, edges)
            mains.append(self.stock.keep(ink))
            if stave == 0:
                over = _over(ink)
            bracket = PieceInk(where.page, edges.x0, middle, sp)
            self._spans(bracket, [i for i in through if i.style == BRACKET], where, bar, edges)
            if bracket.boxes:
                base = round((min(b[1] for b in bracket.boxes) - middle) / sp, 3)
                brackets.append(Bracket(self.stock.keep(bracket), stave, base, -1))
        words = [self._word(item, where, edges) for item in mine if item.role is Role.WORDS]
        width = (edges.x1 - edges.x0) / sp
        if bar.count > 1:  # the signs of one long rest stay together
            lead = max(heads.change_width, heads.meter_width)
            rest = [s for s in strips if s[0] >= lead]
            strips = [s for s in strips if s[0] < lead]
            strips += [(min(a for a, _ in rest), max(b for _, b in rest))] if rest else []
        merged = columns.merge(strips, width)
        left, right = edges.margins(sp)
        own = not bar.continued
        self._bars += not edges.inner
        return BarCut(
            index=bar.index,
            number=bar.number,
            count=bar.count,
            system=where.number,
            width=round(width, 3),
            columns=merged,
            main=tuple(mains),
            words=tuple(words),
            brackets=tuple(brackets),
            open=tuple(halves),
            head=heads.before,
            head_here=heads.here,
            change=heads.change,
            change_width=round(heads.change_width, 3),
            meter=heads.meter,
            meter_width=round(heads.meter_width, 3),
            meter_here=heads.meter_here,
            meter_in=heads.meter_in,
            left=edges.left.kind.value if edges.left else "",
            right=edges.right.kind.value if edges.right else "",
            margins=(round(left / sp, 3), round(right / sp, 3)),
            squeeze=columns.squeeze([self._floating(w) for w in words], merged),
            crossing=crossing,
            starts_in_rest=bar.starts_in_rest,
            ends_in_rest=bar.ends_in_rest,
            silence=bar.silence,
            mark=own and any(m.bar == bar.number for m in self.reading.marks),
            ending=next((e.number for e in self.reading.endings if own and e.bar == bar.number), 0),
            continued=bar.continued,
            over=over,
            resumed=resumed(where.items, edges.x0, where.middles, sp),
        )

    def _spans(self, ink: PieceInk, spans: Sequence[Item], where: Where, bar: BarBox, edges: Edges) -> int:
        """Take what of each span lies over this bar; how many go on over its right barline."""
        sp = where.space
        left, right = edges.margins(sp)
        # A hair over the barline's middle, so that no seam shows where two bars' parts of a slur meet.
        lo, hi = edges.x0 - left - 0.04 * sp, edges.x1 + right + 0.04 * sp
        crossing = 0
        for item in spans:
            if item.style == BRACKET and item.box[2] - item.box[0] < 0.5 * sp:  # a hook
                here = lo < (item.box[0] + item.box[2]) / 2 < hi if edges.inner else where.system.bars[item.bar] is bar
                if here:
                    ink.add(item, part=Part(0, None, False))
                continue
            a = max(-1e9 if edges.first else lo, item.box[0])
            b = min(1e9 if edges.last else hi, item.box[2])
            short = b - a < min(0.3 * sp, 0.9 * (item.box[2] - item.box[0]))
            if short or (b <= a and where.system.bars[item.bar] is not bar):
                continue
            pull = None
            if item.style == BRACKET:  # in print it ends at its line's edge; here it goes on to the barline
                pull = _pull(item, spans, lo if edges.first else None, hi if edges.last else None, sp)
                closed = edges.last and item.box[2] < hi + BARLINE * sp  # over its last barline, where its hook hangs
                a, b = max(a, lo), b if closed else min(b, hi)
                if pull:
                    a, b = (lo if pull[0] is not None else a), (hi if pull[1] is not None else b)
            clip = None if a <= item.box[0] and b >= item.box[2] and not pull else (a, b)
            ink.add(item, (a, item.box[1], b, item.box[3]), Part(0, clip, False, pull))
            crossing += item.box[2] > hi + 0.3 * sp and not edges.last
        return crossing

    def _is_half(self, item: Item, where: Where, edges: Edges, mine: Sequence[Item]) -> bool:
        """A slur of this bar alone that goes on beyond its system's last barline or comes from before its first."""
        sp = where.space
        if item.style[:1] != ("curve",) or len(self._ends(item, where)) != 2:
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
        if edges.inner or item.style[:1] != ("curve",) or len(self._ends(item, where)) != 2:
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
        (_, y0), (_, y1) = self._ends(item, where)
        over, under = min(y0, y1) - item.box[1], item.box[3] - max(y0, y1)
        bulge = -over if over > under else under
        at = (inner - edges.x0) / sp
        self.broken.append(
            Broken(self._bars, item.stave, piece, at, (y - middle) / sp, bulge / sp, right, round(slope, 3))
        )
        return Open(piece, item.stave, round(at, 3), right)

    def _is_broken_wedge(self, item: Item, where: Where, edges: Edges, mine: Sequence[Item]) -> bool:
        """A line of a hairpin that goes on beyond its system's last barline, or comes from before its first note."""
        if edges.inner or item.style[:1] != ("line",) or not self._slanted(item, where):
            return False
        goes = edges.last and item.box[2] > edges.x1 - TO_EDGE * where.space and item.box[0] < edges.x1
        comes = edges.first and self._comes(item, edges, mine, where.space)
        return goes != comes

    def _slanted(self, item: Item, where: Where) -> tuple[float, float, float, float, float] | None:
        """The ends of a straight stroke that is nearly level, left to right, and its width."""
        for mark in (self.pages[where.page].ink[m] for m in item.marks):
            if not isinstance(mark, Shape) or mark.width is None or mark.dash or len(mark.path) != 1:
                continue
            sub = mark.path[0]
            if sub.closed or len(sub.segments) != 1 or len(sub.segments[0]) != 2:
                continue
            (x0, y0), (x1, y1) = sorted([(sub.x, sub.y), (sub.segments[0][0], sub.segments[0][1])])
            if 0.02 * where.space < abs(y1 - y0) < min(0.8 * (x1 - x0), 1.5 * where.space):
                return x0, y0, x1, y1, mark.width
        return None

    def _part_of_wedge(self, item: Item, where: Where, edges: Edges) -> Open:
        """What of such a line lies over this bar."""
        sp, middle = where.space, where.middles[item.stave]
        right = edges.last and item.box[2] > edges.x1 - TO_EDGE * sp
        ends = self._slanted(item, where)
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
        broken = Broken(self._bars, item.stave, piece, at, (y - middle) / sp, slope, right, None, width / sp, here)
        self.broken.append(broken)
        return Open(piece, item.stave, round(at, 3), right)

    def _ends(self, item: Item, where: Where) -> list[tuple[float, float]]:
        """The left and the right end of a bow; nothing for any other shape."""
        mark = self.pages[where.page].ink[item.marks[0]]
        if not isinstance(mark, Shape) or len(mark.path) != 1:
            return []
        sub = mark.path[0]
        curve = next((s for s in sub.segments if len(s) == 6), None)
        return sorted([(sub.x, sub.y), (curve[4], curve[5])]) if curve else []

    def _half(self, item: Item, where: Where, edges: Edges) -> Open:
        sp, middle = where.space, where.middles[item.stave]
        ink = PieceInk(where.page, edges.x0, middle, sp)
        ink.add(item, part=Part(0, None, False))
        piece = self.stock.keep(ink)
        (x0, y0), (x1, y1) = self._ends(item, where)
        right = edges.last and item.box[2] > edges.x1 - 0.7 * sp
        x, y = (x0, y0) if right else (x1, y1)
        over, under = min(y0, y1) - item.box[1], item.box[3] - max(y0, y1)
        bulge = -over if over > under else under
        at = (x - edges.x0) / sp
        if not edges.inner:
            self.broken.append(Broken(self._bars, item.stave, piece, at, (y - middle) / sp, bulge / sp, right))
        return Open(piece, item.stave, round(at, 3), right)

    def _word(self, item: Item, where: Where, edges: Edges) -> Word:
        sp = where.space
        x, y = item.origin or (edges.x0, where.middles[item.stave])
        piece = self.stock.whole([item], where.page, x, y, sp)
        kept = {
            "left": item.box[0] + 0.3 * sp,
            "centre": (item.box[0] + item.box[2]) / 2,
            "start": edges.x0,
            "end": edges.x1,
        }[item.anchor]
        ink = self.pages[where.page].ink
        first = ink[min(item.marks, key=lambda m: ink[m].box[0])]
        base = first.m[5] if isinstance(first, Glyph) else item.box[3]
        self.words.append(Found(piece, item.style, item.above, where.number, item.stave, round((base - y) / sp, 3)))
        at = min(max(kept - edges.x0, 0.0), edges.x1 - edges.x0) / sp
        jump = any(s.page == where.page and _within(item.box, s.box) for s in self.reading.signs if s.kind != CODA)
        said = (i for i in self.reading.instructions if i.page == where.page and _within(item.box, i.box))
        count = any(times_of(i.text) for i in said)
        return Word(piece, item.stave, item.anchor, round(at, 3), item.above, jump=jump, count=count)

    def _floating(self, word: Word) -> tuple[Box, float]:
        """A word's box, those of other staves far away, and the point that it keeps to."""
        e = self.stock.extents[word.piece]
        return (e.left, e.top + 100 * word.stave, e.right, e.bottom + 100 * word.stave), word.at


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
BRACKET = ("bracket",)
CODA = SignKind.CODA


def _over(ink: PieceInk) -> tuple[Extent, ...]:
    """Its objects that reach above a stave of five lines."""
    boxes = [[round((v - o) / ink.space, 2) for v, o in zip(b, (ink.x, ink.y) * 2, strict=True)] for b in ink.boxes]
    return tuple(Extent(*b) for b in boxes if b[1] < -2.2)


def _within(box: Box, sign: Box) -> bool:
    """Most of the first is inside the second."""
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return sign[0] - 1 <= x <= sign[2] + 1 and sign[1] - 1 <= y <= sign[3] + 1


def _pull(
    rule: Item, brackets: Sequence[Item], left: float | None, right: float | None, sp: float
) -> tuple[float | None, float | None] | None:
    """Where a bracket's level rule should reach at its line's edges when it goes on beyond: it has no hook there."""
    if rule.box[3] - rule.box[1] > 0.4 * sp or rule.box[2] - rule.box[0] < 0.65 * sp:
        return None
    hooks = [u for u in brackets if u.box[2] - u.box[0] < 0.4 * sp and u.box[3] - u.box[1] > 0.65 * sp]

    def end(edge: float | None, at: float) -> float | None:
        if edge is None or abs(at - edge) > 2.5 * sp or any(abs(u.box[0] - at) < 0.6 * sp for u in hooks):
            return None
        return edge

    found = (end(left, rule.box[0]), end(right, rule.box[2]))
    return found if found != (None, None) else None
