"""One line of music: where its head, bars, barlines, staff lines and words stand across the page."""

from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from collaparte.paper.cutting.rows import LONG, shifts
from collaparte.paper.cutting.table import Bracket, Head, Line, PieceTable
from collaparte.paper.pages import rules
from collaparte.paper.pages.across import Across, Sheet, Text
from collaparte.paper.pages.blocks import Block
from collaparte.paper.pages.joining import NATURAL, Signs
from collaparte.paper.pages.knots import Knots, at, hooked, of_bar, strips, up_to
from collaparte.paper.pages.laying import LaidLine, Placed, Slice
from collaparte.paper.pages.linefit import Fit
from collaparte.paper.pages.overhead import Thing, is_long, over_bar, raised
from collaparte.paper.pages.shown import Shown, inset, join_width
from collaparte.paper.pages.stacking import (
    AGAIN,
    COUNT_FOOT,
    LABEL,
    LABEL_HEIGHT,
    NUMBER,
    REST_LEAD,
    again,
    figures,
    is_numbered,
    label_width,
    number_width,
)
from collaparte.paper.pages.whole import whole_bars, whole_place


@dataclass(slots=True)
class Frame:
    """Where lines stand: left and right edge and the staff space, in mm."""

    left: float
    right: float
    space: float


def _flows(bar: Shown, following: Shown) -> bool:
    """The second follows the first as in print, though perhaps on a new line there."""
    return (
        not following.step.join
        and not following.redrawn
        and following.bar.index == bar.bar.index + max(1, bar.bar.count)
        and following.step.bar == bar.step.bar + max(1, bar.count)
    )


Found = OrderedDict[tuple[object, ...], Across]
"""Lines found for earlier orders, by their bars' measures and how they are spaced; the last used comes last."""
BEHIND, LEAST = 0.4, 0.6
"""A line goes on so far behind words that are said again, where there is so much of it left, in spaces."""
COUNTED = 2.4
"""Half of a long rest's count, and the white before it, in spaces."""
EASY = 0.1
"""Words moved so little to the left, in spaces, meet nothing."""
NARROW = 0.8
"""Type so narrow is still read with ease."""
HOOK, UNDER = 1.9, 1.9
"""How far an ending's hook comes down, and the type size of its number, in spaces."""
OVER_END = 0.2
"""Ink reaches so far over the barline that a line or a stretch ends with, in spaces."""
LINES_KEPT = 200
"""So many lines are kept, some 12 KB each: a part's in a few orders, on glass of two shapes."""


class LineComposer:
    """Draws lines of bars: each stave's middle line at its mm, each bar's gaps stretched by its factor."""

    def __init__(self, table: PieceTable, frame: Frame, found: Found) -> None:
        self.table = table
        self.frame = frame
        self.u = frame.space
        self.scale = round(frame.space, 4)
        self._found = found
        self._line = self._empty(table.staves)
        self._things: list[Thing] = []
        """What stands over the first stave of the line that is being found,"""
        self._inks: list[Callable[[], list[Thing]]] = []
        """and its bars' own ink there."""

    def across(self, shown: Sequence[Shown], fit: Fit) -> Across:
        """Where all stands across on a line that is cut into bars."""
        frame = self.frame
        key = (frame.left, frame.right, frame.space, fit.squash, *fit.factors, *[bar.id for bar in shown])
        line = self._found.get(key)
        if line is None:
            line = self._found[key] = self._across(shown, fit)
        else:
            self._found.move_to_end(key)
        return line

    def _across(self, shown: Sequence[Shown], fit: Fit) -> Across:
        table, u, squash = self.table, self.u, fit.squash
        line = self._line = self._empty(len(shown[0].bar.main))
        line.left, right = self.frame.left + (shown[0].indent + inset(table)) * u, self.frame.right
        self._things, self._inks = [], []
        first = shown[0]
        numbered = is_numbered(first.step.number, first.step.join)
        lead = number_width(first.step.number, first.step.join) * u if numbered else 0.0
        self._head(table.heads[first.bar.head_here], line.left)
        x = self.frame.left + first.head * u
        start = rules.at_start(first.left)
        # Common practice: key, meter, then the barline that opens a line.
        opening = rules.KINDS[start].width * u if start else 0.0
        if start:
            line.barline(start, x + first.signs.at_head * u * squash - opening)
        moved = shifts([s.rowed for s in shown])
        torn: dict[int, float] = {}
        for place, bar in enumerate(shown):
            if place:
                x += join_width(bar) * u * squash
                if bar.step.join:
                    self._join(bar, x, moved[place])
                self._signs(bar.signs, x, squash)
            else:
                self._naturals(bar.signs, x - opening, squash)
            begins = place == 0
            if bar.signs.meter >= 0:
                before = (bar.signs.at_head if begins else bar.signs.width) - bar.signs.meter_width
                self._meter(bar.signs, x + before * u * squash - (opening if begins else 0.0), squash)
            knots, end = of_bar(bar, x, fit.factors[place], squash, begins, fit.tails[place], u)
            kind = self._kind_after(shown, place)
            half = rules.KINDS[kind].width / 2 * u
            knots.append((bar.bar.width + bar.bar.margins[1], end + half))
            following = shown[place + 1] if place + 1 < len(shown) else None
            limit = right
            if following and following.count > 1:
                middle = (following.rigid + following.flex * fit.factors[place + 1]) / 2
                limit = min(right, end + 2 * half + (middle - COUNTED) * u * squash)
            ends = following is None or following.step.join
            self._bar(bar, shown[place - 1] if place else None, knots, end, limit, moved[place], lead, ends)
            torn = self._open(bar, knots, torn, following)
            line.bars.append((round(x, 2), round(end, 2)))
            if place == len(shown) - 1 and end + rules.KINDS[kind].width * u > right - 0.5 * u:
                end = right - rules.KINDS[kind].width * u
            line.barline(kind, end)
            x = end + rules.KINDS[kind].width * u
        self._clear([bar.adjacent for bar in shown])
        line.right = min(x, right)
        line.after = len(line.strokes)
        if numbered and not first.bar.continued:
            left, up = self.frame.left + 0.1 * u, -first.head_stack.number[1] * u
            size = round(NUMBER * u, 3)
            line.words.append(Text(str(first.step.number), round(left, 3), line.height(0, up), size, "number"))
            if first.step.join:
                self._join_sign(left + (figures(first.step.number) + 1.1) * u, up, -0.1 * u)
        return line

    def _empty(self, staves: int) -> Across:
        """A line of so many staves; a part may have more in some lines than in others."""
        table = self.table
        groups = tuple(group for group in table.groups if group.last < staves)
        parted = tuple(stave for stave in table.parted if stave < staves - 1)
        apart = table.apart or (1.0,) * len(table.lines)
        return Across(self.u, table.lines[:staves], apart[:staves], groups, parted)

    def whole(self, sheet: Sheet, shown: Shown, y: float) -> None:
        """A system that is not cut into bars: as printed, over the line's whole width; bars left out are struck out."""
        e = self.table.extents[shown.bar.whole]
        place = whole_place(self.table, shown, (self.frame.right - self.frame.left) / self.u)
        space = place.scale * self.u
        left = self.frame.left + place.left * space
        cut = Slice(e.left, e.right, round(left, 2), round(left + (e.right - e.left) * space, 2))
        sheet.placed.append(Placed(shown.bar.whole, round(y, 3), round(space, 4), (cut,)))
        staves = tuple(round(y + d * space, 2) for d in self.table.systems[shown.bar.system].staves)
        top, bottom = round(staves[0] - 2 * space, 2), round(staves[-1] + 2 * space, 2)
        found = whole_bars(shown, left - e.left * space, space, staves)
        sheet.lines.append(LaidLine(top, bottom, found.bars))
        for x0, x1 in found.left_out:
            sheet.rules += rules.struck(x0, x1, top - space, bottom + space, space)

    def _open(self, bar: Shown, knots: Knots, torn: dict[int, float], following: Shown | None) -> dict[int, float]:
        """Draw halves of slurs, whole where both stand side by side; which the next bar has to end, and from where."""
        going: dict[int, float] = {}
        if bar.redrawn or not bar.open:
            return going
        ends = {o.mate for o in following.open if not o.right} if following and _flows(bar, following) else set()
        for half in bar.open:
            x = at(knots, half.x, self.u)
            if half.mate >= 0 and half.right and half.mate in ends:
                going[half.mate] = x
            elif half.mate in torn and not half.right:
                e = self.table.extents[half.mate]
                cut = Slice(e.left, e.right, round(torn[half.mate], 2), round(x, 2))
                self._line.placed.append((half.mate, self._line.height(half.stave), (cut,)))
            else:
                self._stretched(half.piece, self._line.height(half.stave), knots)
        return going

    # -- parts of the line --------------------------------------------------------------------------------------------

    def _head(self, head: Head, x: float) -> None:
        for k, piece in enumerate(head.clef):
            self._rigid(piece, x, k)
        self._key(head, x + head.clef_width * self.u, 1.0)

    def _key(self, head: Head, x: float, squash: float) -> None:
        for k, piece in enumerate(head.key):
            self._rigid(piece, x, k, squash)

    def _signs(self, signs: Signs, x: float, squash: float) -> None:
        """Clef and key in mid-line, from x on."""
        u = self.u
        head = self.table.heads[signs.head]
        if signs.clef_width:
            for k, piece in enumerate(head.clef):
                self._rigid(piece, x, k, squash)
            x += signs.clef_width * u * squash
        if signs.key_width:
            self._key(head, x + 0.4 * u * squash, squash)
            self._naturals(signs, x, squash)

    def _naturals(self, signs: Signs, x: float, squash: float) -> None:
        u = self.u
        for k, places in enumerate(signs.naturals[: len(self._line.lines)]):
            for n, place in enumerate(places):
                at = x + (0.4 + n * NATURAL) * u * squash
                self._strokes(rules.natural(at, u), k, place * u)

    def _meter(self, signs: Signs, x: float, squash: float) -> None:
        for k, piece in enumerate(self.table.meters[signs.meter].pieces):
            self._rigid(piece, x + 0.4 * self.u * squash, k, squash)

    def _rigid(self, piece: int, x: float, stave: int, squash: float = 1.0) -> None:
        if piece < 0 or stave >= len(self._line.lines):
            return
        e = self.table.extents[piece]
        u = self.u
        cut = Slice(e.left, e.right, round(x + e.left * u * squash, 2), round(x + e.right * u * squash, 2))
        self._line.placed.append((piece, self._line.height(stave), (cut,)))

    def _join(self, bar: Shown, x: float, moved: dict[int, float]) -> None:
        """The join sign over the barline before x, and the number of the bar landed on."""
        u, line = self.u, self._line
        right, up = bar.stack.number
        down = moved.get(bar.stack.number_row, 0.0) - up
        x += right * u
        self._join_sign(x, down * u)
        height, size = line.height(0, down * u), round(NUMBER * u, 3)
        line.words.append(Text(str(bar.step.number), round(x - u, 3), height, size, "join", "end"))

    def _join_sign(self, x: float, *by: float) -> None:
        """Two short strokes left of x, as tall as the number beside them, which stands `by` below the first stave."""
        u, line = self.u, self._line
        top, foot = line.height(0, *by, -1.35 * u), line.height(0, *by)
        for dx in (-0.8, -0.35):
            line.strokes.append((round(x + dx * u, 3), round(x + (dx + 0.2) * u, 3), top, foot))

    def _strokes(self, strokes: list[rules.Stroke], stave: int, *by: float) -> None:
        """Strokes whose heights are from `by` below a stave's middle line."""
        height = self._line.height
        self._line.strokes += [(x0, x1, height(stave, *by, y0), height(stave, *by, y1)) for x0, y0, x1, y1 in strokes]

    def _kind_after(self, shown: Sequence[Shown], place: int) -> str:
        if place == len(shown) - 1:
            return rules.at_end(shown[place].right)
        following = shown[place + 1]
        return rules.junction(shown[place].right, following.left, following.adjacent)

    def _bar(
        self,
        bar: Shown,
        before: Shown | None,
        knots: Knots,
        x1: float,
        limit: float,
        moved: dict[int, float],
        lead: float,
        ends: bool,
    ) -> None:
        """Draw a bar that ends at x1, and its ink with it where a line `ends`; words at its end reach no further than
        `limit`, a line of words over it no further back than `lead` behind the line's left end."""
        begins = before is None
        joins = bar.step.join and bar.bar.number > bar.bar.under[0] > 0
        opens = joins and (before is None or before.bar.under != bar.bar.under)
        u, table, cut, line = self.u, self.table, bar.bar, self._line
        stack = bar.head_stack if begins else bar.stack
        if bar.redrawn:
            count = bar.count
            left = knots[1][1] + ((cut.meter_width - bar.before_meter(begins)) * u if bar.meter_shown else 0.0)
            pad = min(REST_LEAD * u, 0.2 * (x1 - left))
            for k in range(len(cut.main)):
                self._strokes(rules.bars_rest(left + pad, x1 - pad, u, count), k)
            if count > 1:
                middle, height = round((left + x1) / 2, 3), line.height(0, -COUNT_FOOT * u)
                line.words.append(Text(str(count), middle, height, round(2.4 * u, 3), "count", "middle"))
        else:
            if cut.change and not bar.starts[begins]:
                for k, piece in enumerate(cut.change):
                    self._rigid(piece, knots[1][1], k)
            shown = cut.main if bar.parted else (*cut.main, *cut.courtesy)
            for k, piece in enumerate(shown):
                if piece >= 0:
                    self._stretched(piece, line.height(k % len(cut.main)), knots, ends)
            for b in cut.brackets:
                closed = hooked(knots, table.extents[b.piece].right, u)
                self._stretched(b.piece, line.height(0, moved.get(b.row, 0.0) * u), closed)
                if opens:
                    self._opened(b, cut.under[1], knots, moved.get(b.row, 0.0) * u)
        if bar.meter_shown:
            for k, piece in enumerate(cut.meter):
                self._rigid(piece, knots[1][1] - bar.before_meter(begins) * u, k)
        for word in cut.words:
            if not bar.keeps(word):
                continue
            e = table.extents[word.piece]
            across, up = stack.moved.get(word.piece, (0.0, 0.0))
            x = at(knots, max(word.at, knots[1][0])) + (across - word.at) * u
            left, right = x + e.left * u, x + e.right * u
            printed = left
            left, right = self._within(
                left, right, lead if word.above else 0.0, limit if word.anchor == "end" else self.frame.right
            )
            if left < printed - EASY * u:
                up += bar.ended.get(word.piece, (0.0, 0.0))[1]
            height = line.height(word.stave, (moved.get(word.row if word.row >= 0 else word.after, 0.0) - up) * u)
            cut_out = Slice(e.left, e.right, round(left, 2), round(right, 2))
            line.placed.append((word.piece, height, (cut_out,)))
            if word.above and word.stave == 0:
                over = moved.get(word.row if word.row >= 0 else word.after, 0.0) - up
                box = Block(left / u, right / u, -e.bottom - over, -e.top - over)
                self._things.append(Thing(len(line.bars), box, len(line.placed) - 1 if word.row < 0 else -1))
        for one in cut.lines:
            self._spread_out(bar, one, knots, begins, moved)
        if bar.step.label:
            right, up = stack.label
            x = round(min(knots[1][1] + right * u, self.frame.right - label_width(bar.step.label) * u), 3)
            down = moved.get(stack.label_row, 0.0) - up
            line.words.append(Text(bar.step.label, x, line.height(0, down * u), round(LABEL * u, 3), "pass"))
            box = Block(x / u, x / u + label_width(bar.step.label), -down, LABEL_HEIGHT - down)
            self._things.append(Thing(len(line.bars), box))
        if not bar.redrawn:
            self._inks.append(partial(over_bar, len(line.bars), cut, table.extents, knots, moved, u))

    def _clear(self, following: Sequence[bool]) -> None:
        """Raise words that meet what stands over bars beside their own."""
        line, u = self._line, self.u
        if not any(is_long(thing) for thing in self._things):
            return
        things = [*self._things, *(thing for ink in self._inks for thing in ink())]
        for word, up, box in raised(things, [(x0 / u, x1 / u) for x0, x1 in line.bars], following):
            piece, height, cut = line.placed[word]
            line.placed[word] = piece, line.higher(height, up * u), cut
            line.raised.append(box)

    def _within(self, left: float, right: float, lead: float, limit: float) -> tuple[float, float]:
        """Words that end at `limit` at most: a line of words is narrowed somewhat; then they are moved left,
        and narrowed to the line where it is too short."""
        long = right - left > LONG * self.u
        if right > limit:
            right = max(limit, left + NARROW * (right - left)) if long else right
            left, right = left - right + limit, limit
        begin = self.frame.left + (lead if long else 0.0)
        if left < begin:
            left, right = begin, begin + right - left
        return left, min(right, max(limit, self.frame.right))

    def _spread_out(self, bar: Shown, one: Line, knots: Knots, begins: bool, moved: dict[int, float]) -> None:
        """A line of dashes or a trill's over a bar: from barline to barline where it comes from or goes on over them,
        behind its words where they are said again."""
        u, e, down = self.u, self.table.extents[one.piece], moved.get(one.row, 0.0)
        s0, s1 = one.ends[0] if one.came else e.left, one.ends[1] if one.goes else e.right
        x0 = knots[0][1] if one.came and not begins else at(knots, s0, u)
        x1 = knots[-1][1] if one.goes else at(knots, s1, u)
        scale = (x1 - x0) / max(s1 - s0, 0.1)
        left, right = x0 + (e.left - s0) * scale, x1 + (e.right - s1) * scale
        source = e.left
        if one.came and one.text and (begins or bar.step.join):
            block = again(one, bar.room if begins else None)
            x = max(knots[1][1] + block.x0 * u, self.frame.left)
            height, size = self._line.height(one.stave, (down - block.low) * u), round(AGAIN * u, 3)
            self._line.words.append(Text(f"({one.text})", round(x, 3), height, size, "note"))
            end = x + (block.x1 - block.x0 + BEHIND) * u
            if begins and end > left:
                source += (end - left) / scale
                left = end
        if right - left > LEAST * u:
            cut = Slice(round(source, 2), e.right, round(left, 2), round(right, 2))
            self._line.placed.append((one.piece, self._line.height(one.stave, down * u), (cut,)))

    def _opened(self, bracket: Bracket, number: str, knots: Knots, *by: float) -> None:
        """The hook and the number of an ending whose beginning was cut away, at the left end of what is left."""
        u, line = self.u, self._line
        x, top = max(at(knots, self.table.extents[bracket.piece].left, u), knots[0][1]), bracket.base * u
        foot = line.height(0, *by, top + HOOK * u)
        line.strokes.append((round(x, 3), round(x + 0.15 * u, 3), line.height(0, *by, top), foot))
        line.words.append(Text(number, round(x + 0.5 * u, 3), foot, round(UNDER * u, 3), "count"))

    def _stretched(self, piece: int, height: int, knots: Knots, ends: bool = False) -> None:
        e = self.table.extents[piece]
        cut = strips(e.left, e.right, knots, self.u)
        self._line.placed.append((piece, height, up_to(cut, knots[-1][1] + OVER_END * self.u) if ends else cut))
