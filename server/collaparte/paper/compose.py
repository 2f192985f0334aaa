"""One line of music on the page: its head, bars, barlines, staff lines and words, at a given height."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from collaparte.paper import rules
from collaparte.paper.joining import NATURAL, Signs
from collaparte.paper.laying import Dot, LaidBar, LaidLine, Placed, Rule, Slice, Words
from collaparte.paper.rows import shifts
from collaparte.paper.shown import JOIN_WIDTH, LEAD, Shown, head_width, inset
from collaparte.paper.stacking import LABEL, NUMBER, figures, label_width
from collaparte.paper.table import Head, PieceTable


@dataclass(slots=True)
class Sheet:
    """What a page gathers while it is composed."""

    placed: list[Placed] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    dots: list[Dot] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    lines: list[LaidLine] = field(default_factory=list)


@dataclass(slots=True)
class Frame:
    """Where lines stand: left and right edge and the staff space, in mm."""

    left: float
    right: float
    space: float


def whole_scale(table: PieceTable, shown: Shown, width: float) -> float:
    """What a system laid whole is scaled by to fill a line of `width` spaces; never enlarged."""
    e = table.extents[shown.bar.whole]
    return min(1.0, width / (e.right - e.left))


def _flows(bar: Shown, following: Shown) -> bool:
    """The second follows the first as in print, though perhaps on a new line there."""
    return (
        not following.step.join
        and not following.redrawn
        and following.bar.index == bar.bar.index + max(1, bar.bar.count)
        and following.step.bar == bar.step.bar + max(1, bar.count)
    )


def join_width(shown: Shown) -> float:
    return JOIN_WIDTH if shown.step.join else 0.0


Cuts = dict[tuple[object, ...], tuple[Slice, ...]]
"""A piece cut at a bar's knots, by the piece and the knots; kept for other orders."""
MOST_CUTS = 500
"""So many are kept, some 3 KB each."""


class LineComposer:
    """Draws lines of bars: each stave's middle line at its mm, each bar's gaps stretched by its factor."""

    def __init__(self, table: PieceTable, sheet: Sheet, frame: Frame, cuts: Cuts) -> None:
        self.table = table
        self.sheet = sheet
        self.frame = frame
        self.u = frame.space
        self._scale = round(frame.space, 4)
        self._cuts = cuts
        if len(cuts) > MOST_CUTS:
            cuts.clear()

    def line(
        self,
        shown: Sequence[Shown],
        middles: list[float],
        factors: Sequence[float],
        squash: float,
        tails: Sequence[float],
    ) -> None:
        """Draw the line; `squash` below 1 narrows all of it when one bar is wider than the page; `tails` is the room
        after each bar for words that reach beyond it."""
        table, u = self.table, self.u
        x0, right = self.frame.left + inset(table) * u, self.frame.right
        first = shown[0]
        if first.bar.whole >= 0:
            self._whole(first, middles[0])
            return
        head = table.heads[first.bar.head_here]
        self._head(head, x0, middles)
        x = self.frame.left + head_width(table, first) * u
        start = rules.at_start(first.left)
        if start:
            self._barline(start, x - rules.KINDS[start].width * u, middles)
        bars: list[LaidBar] = []
        staves = tuple([round(m, 2) for m in middles])
        moved = shifts([s.bar for s in shown])
        torn: dict[int, float] = {}
        for place, bar in enumerate(shown):
            if place:
                x += join_width(bar) * u * squash
                if bar.step.join:
                    self._join(bar, x, middles)
                self._signs(bar.signs, x, middles, squash)
            begins = place == 0
            if bar.signs.meter >= 0:
                self._meter(bar.signs, x + (0.0 if begins else bar.signs.in_head * u * squash), middles, squash)
            knots, end = self._knots(bar, x, factors[place], squash, begins, tails[place])
            kind = self._kind_after(shown, place)
            half = rules.KINDS[kind].width / 2 * u
            knots.append((bar.bar.width + bar.bar.margins[1], end + half))
            self._bar(bar, knots, middles, begins, x, end, moved[place])
            mended = {o.mate for o in bar.bar.open if not o.right} & set(torn)
            following = shown[place + 1] if place + 1 < len(shown) else None
            torn = self._open(bar, knots, middles, torn, mended, following)
            bars.append(LaidBar((bar.first, bar.last), round(x, 2), round(end, 2), staves))
            if place == len(shown) - 1 and end + rules.KINDS[kind].width * u > right - 0.5 * u:
                end = right - rules.KINDS[kind].width * u
            self._barline(kind, end, middles)
            x = end + rules.KINDS[kind].width * u
        self._staff(x0, min(x, right), middles)
        if first.step.number > 1:
            left, y = self.frame.left + 0.1 * u, middles[0] - first.head_stack.number[1] * u
            number = Words(str(first.step.number), round(left, 3), round(y, 3), round(NUMBER * u, 3))
            self.sheet.words.append(number)
            if first.step.join:
                self._join_sign(left + (figures(first.step.number) + 1.1) * u, y - 0.1 * u)
        top, bottom = middles[0] - 2 * u, middles[-1] + 2 * u
        self.sheet.lines.append(LaidLine(round(top, 2), round(bottom, 2), tuple(bars)))

    def _whole(self, shown: Shown, y: float) -> None:
        """A system that was not read for sure: as printed, over the line's whole width."""
        e = self.table.extents[shown.bar.whole]
        space = whole_scale(self.table, shown, (self.frame.right - self.frame.left) / self.u) * self.u
        cut = Slice(e.left, e.right, round(self.frame.left, 2), round(self.frame.left + (e.right - e.left) * space, 2))
        self.sheet.placed.append(Placed(shown.bar.whole, round(y, 3), round(space, 4), (cut,)))
        staves = tuple(round(y + d * space, 2) for d in self.table.systems[shown.bar.system].staves)
        bar = LaidBar((shown.first, shown.last), round(self.frame.left, 2), round(self.frame.right, 2), staves)
        self.sheet.lines.append(LaidLine(round(staves[0] - 2 * space, 2), round(staves[-1] + 2 * space, 2), (bar,)))

    def _open(
        self, bar: Shown, knots: list[tuple[float, float]], middles: list[float], torn: dict[int, float],
        mended: set[int], following: Shown | None,
    ) -> dict[int, float]:  # fmt: skip
        """Draw halves of slurs, whole where both stand side by side; which the next bar has to end, and from where."""
        going: dict[int, float] = {}
        if bar.redrawn:
            return going
        ends = {o.mate for o in following.bar.open if not o.right} if following and _flows(bar, following) else set()
        for half in bar.bar.open:
            x = at(knots, half.x, self.u)
            if half.mate >= 0 and half.right and half.mate in ends:
                going[half.mate] = x
            elif half.mate in mended and not half.right:
                e = self.table.extents[half.mate]
                cut = Slice(e.left, e.right, round(torn[half.mate], 2), round(x, 2))
                self.sheet.placed.append(Placed(half.mate, round(middles[half.stave], 3), self._scale, (cut,)))
            else:
                self.sheet.placed.append(self._slices(half.piece, middles[half.stave], knots))
        return going

    # -- parts of the line --------------------------------------------------------------------------------------------

    def _staff(self, x0: float, x1: float, middles: list[float]) -> None:
        lines = self.table.lines
        for k, y in enumerate(middles):
            self.sheet.rules += rules.stave(x0, x1, y, self.u, lines[k] if k < len(lines) else 5)
        if len(middles) > 1:
            self.sheet.rules += rules.brace(x0, middles, self.u)

    def _barline(self, kind: str, x: float, middles: list[float]) -> None:
        drawn, dots = rules.barline(kind, x, self.u, middles, self.table.lines)
        self.sheet.rules += drawn
        self.sheet.dots += dots

    def _head(self, head: Head, x: float, middles: list[float]) -> None:
        for k, piece in enumerate(head.clef):
            self._rigid(piece, x, middles[k])
        self._key(head, x + head.clef_width * self.u, middles, 1.0)

    def _key(self, head: Head, x: float, middles: list[float], squash: float) -> None:
        for k, piece in enumerate(head.key):
            self._rigid(piece, x, middles[k], squash)

    def _signs(self, signs: Signs, x: float, middles: list[float], squash: float) -> None:
        """Clef and key in mid-line, from x on."""
        u = self.u
        head = self.table.heads[signs.head]
        if signs.clef_width:
            for k, piece in enumerate(head.clef):
                self._rigid(piece, x, middles[k], squash)
            x += signs.clef_width * u * squash
        if signs.key_width:
            self._key(head, x + 0.4 * u * squash, middles, squash)
        for y, places in zip(middles, signs.naturals, strict=False):
            for n, place in enumerate(places):
                at = x + (0.4 + n * NATURAL) * u * squash
                self.sheet.rules += rules.natural(at, y + place * u, u)

    def _meter(self, signs: Signs, x: float, middles: list[float], squash: float) -> None:
        for k, piece in enumerate(self.table.meters[signs.meter].pieces):
            self._rigid(piece, x + 0.4 * self.u * squash, middles[k], squash)

    def _rigid(self, piece: int, x: float, y: float, squash: float = 1.0) -> None:
        if piece < 0:
            return
        e = self.table.extents[piece]
        u = self.u
        cut = Slice(e.left, e.right, round(x + e.left * u * squash, 2), round(x + e.right * u * squash, 2))
        self.sheet.placed.append(Placed(piece, round(y, 3), self._scale, (cut,)))

    def _join(self, bar: Shown, x: float, middles: list[float]) -> None:
        """The join sign over the barline before x, and the number of the bar landed on."""
        u = self.u
        right, up = bar.stack.number
        x, y = x + right * u, middles[0] - up * u
        self._join_sign(x, y)
        words = Words(str(bar.step.number), round(x - u, 3), round(y, 3), round(NUMBER * u, 3), "join", "end")
        self.sheet.words.append(words)

    def _join_sign(self, x: float, y: float) -> None:
        """Two short strokes left of x, as tall as the number beside them, which stands at y."""
        u = self.u
        for dx in (-0.8, -0.35):
            left, right = round(x + dx * u, 3), round(x + (dx + 0.2) * u, 3)
            self.sheet.rules.append(Rule(left, round(y - 1.35 * u, 3), right, round(y, 3)))

    def _kind_after(self, shown: Sequence[Shown], place: int) -> str:
        if place == len(shown) - 1:
            return rules.at_end(shown[place].right)
        following = shown[place + 1]
        return rules.junction(shown[place].right, following.left, following.adjacent)

    def _knots(
        self, bar: Shown, x: float, factor: float, squash: float, begins: bool, tail: float
    ) -> tuple[list[tuple[float, float]], float]:
        """Where points of the bar (spaces from its left edge) come to stand (mm), and its right edge."""
        u = self.u
        cut = bar.bar
        start = cut.change_width if begins and cut.change else 0.0
        left_margin = 0.5 if begins else rules.KINDS[bar.left or "single"].width / 2
        knots = [(start - cut.margins[0], x - left_margin * u), (start, x)]
        if room := bar.signs.meter_width if begins else bar.signs.width:
            x += room * u * squash
            knots = [(start - cut.margins[0], x - 0.1 * u), (start, x)]
        if bar.redrawn:
            end = x + (bar.rigid - bar.signs.width + bar.flex * factor) * u * squash
            return [*knots, (cut.width, end)], end
        at, place = start, x
        lead = LEAD if len(cut.columns) > 1 else 0.0
        for a, b in cut.columns:
            if b <= start + 1e-6:
                continue
            gap = max(a - at, 0.0)
            fixed = min(gap, lead)
            place += (fixed + (gap - fixed) * factor) * u * squash
            lead = 0.0
            knots.append((a, place))
            place += (b - a) * u * squash
            knots.append((b, place))
            at = b
        place += ((cut.width - at) * factor + tail) * u * squash
        knots.append((cut.width, place))
        return knots, place

    def _bar(
        self, bar: Shown, knots: list[tuple[float, float]], middles: list[float], begins: bool,
        x0: float, x1: float, moved: dict[int, float],
    ) -> None:  # fmt: skip
        u, table, cut = self.u, self.table, bar.bar
        stack = bar.head_stack if begins else bar.stack
        if bar.redrawn:
            count = bar.count
            left = knots[1][1] + (cut.meter_width * u if bar.step.bar == cut.index else 0.0)
            pad = min(1.2 * u, 0.2 * (x1 - left))
            for y in middles:
                self.sheet.rules += rules.bars_rest(left + pad, x1 - pad, y, u, count)
            if count > 1:
                middle, y = round((left + x1) / 2, 3), round(middles[0] - 2.7 * u, 3)
                self.sheet.words.append(Words(str(count), middle, y, round(2.4 * u, 3), "count", "middle"))
        else:
            if cut.change and not begins:
                for k, piece in enumerate(cut.change):
                    self._rigid(piece, knots[1][1], middles[k])
            for k, piece in enumerate(cut.main):
                if piece >= 0:
                    self.sheet.placed.append(self._slices(piece, middles[k], knots))
            for b in cut.brackets:
                self.sheet.placed.append(self._slices(b.piece, middles[0] + moved.get(b.row, 0.0) * u, knots))
        if bar.step.bar == cut.index:
            for k, piece in enumerate(cut.meter):
                self._rigid(piece, knots[1][1], middles[k])
        for word in cut.words:
            if not bar.keeps(word):
                continue
            e = table.extents[word.piece]
            across, up = stack.moved.get(word.piece, (0.0, 0.0))
            x = at(knots, max(word.at, knots[1][0])) + (across - word.at) * u
            left, right = x + e.left * u, x + e.right * u
            over = right - self.frame.right
            if over > 0:
                left, right = left - over, right - over
            under = self.frame.left - left
            if under > 0:
                left, right = left + under, right + under
            y = middles[word.stave] + (moved.get(word.row if word.row >= 0 else word.after, 0.0) - up) * u
            cut_out = Slice(e.left, e.right, round(left, 2), round(right, 2))
            self.sheet.placed.append(Placed(word.piece, round(y, 3), self._scale, (cut_out,)))
        if bar.step.label:
            right, up = stack.label
            x = min(x0 + right * u, self.frame.right - label_width(bar.step.label) * u)
            y = middles[0] - up * u
            self.sheet.words.append(Words(bar.step.label, round(x, 3), round(y, 3), round(LABEL * u, 3), "pass"))

    def _slices(self, piece: int, y: float, knots: list[tuple[float, float]]) -> Placed:
        key = (piece, self.u, *knots)
        cut = self._cuts.get(key)
        if cut is None:
            cut = self._cuts[key] = self._cut(piece, knots)
        return Placed(piece, round(y, 3), self._scale, cut)

    def _cut(self, piece: int, knots: list[tuple[float, float]]) -> tuple[Slice, ...]:
        """The piece cut at the knots; gaps and columns that scale alike are one slice."""
        e, u = self.table.extents[piece], self.u
        left, right, alike = e.left, e.right, 0.006 * u
        points = [(round(left, 2), round(at(knots, left, u), 2))]
        points += [(round(s, 2), round(p, 2)) for s, p in knots if left < s < right]
        points.append((round(right, 2), round(at(knots, right, u), 2)))
        points = _apart(points)
        (s0, p0), (s1, p1) = points[:2]
        out: list[Slice] = []
        scale = (p1 - p0) / (s1 - s0)
        for s2, p2 in points[2:]:
            if abs(scale - (p2 - p1) / (s2 - s1)) >= alike:
                out.append(Slice(s0, s1, p0, p1))
                s0, p0 = s1, p1
            s1, p1 = s2, p2
            scale = (p1 - p0) / (s1 - s0)
        out.append(Slice(s0, s1, p0, p1))
        return tuple(out)


def _apart(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Points in order without those that stand where another does; the ends stay."""
    end, last = points[-1]
    before, kept = points[0][0], points[:1]
    for point in points[1:-1]:
        if point[0] - before > 0.015 and end - point[0] > 0.015:
            kept.append(point)
            before = point[0]
    return [*kept, points[-1] if end > before else (round(before + 0.01, 2), last)]


def at(knots: list[tuple[float, float]], x: float, outside: float | None = None) -> float:
    """The place in mm of point x of a bar; beyond its ends at the scale `outside`, or its neighbours'."""
    if x <= knots[0][0]:
        return knots[0][1] - (knots[0][0] - x) * (outside if outside is not None else 1.0)
    for (s0, p0), (s1, p1) in pairwise(knots):
        if x <= s1:
            return p0 + (p1 - p0) * (x - s0) / (s1 - s0) if s1 > s0 else p1
    return knots[-1][1] + (x - knots[-1][0]) * (outside if outside is not None else 1.0)
