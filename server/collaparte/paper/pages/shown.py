"""From the order's steps to the bars as they will be shown, with what each needs of width and height.

Widths are staff spaces. A gap between columns stretches by one factor over a line; columns and a little of the
gap at the bar's start do not.
"""

import itertools
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from msgspec.structs import replace

from collaparte.paper.cutting.table import BarCut, PieceTable, Word
from collaparte.paper.pages import rules
from collaparte.paper.pages.joining import NO_SIGNS, Signs, due
from collaparte.paper.pages.laying import Step
from collaparte.paper.pages.stacking import (
    HEAD_FOOT,
    LABEL_HEIGHT,
    NUMBER_HEIGHT,
    TIGHT,
    Block,
    LineHeads,
    Over,
    Reach,
    Stack,
    again,
    at_head,
    figures,
    in_line,
    label_width,
    rows_reach,
)

REST_WIDTH = 9.0
"""Width of a multi-bar rest that is drawn anew."""
WIDE_REST, WIDE_BAR = 22.0, 14.0
"""A multi-bar rest printed wider than this, or whose H-bar is, is drawn anew as well."""
LEAD = 1.0
"""So much of a bar's first gap never stretches."""
HEAD_GAP = 0.9
"""From the key to the first bar's origin when no barline stands between."""
JOIN_WIDTH = 1.2
"""Room for the join sign."""
ENDS, STARTS = ("repeat-end", "repeat-both"), ("repeat-start", "repeat-both")
MOST_KNOWN = 1000
"""The measures of so many bars are kept, some 2 KB each: a long part in a few orders."""


@dataclass(slots=True)
class Shown:
    """One bar on the page: the piece table's bar, the steps that it shows, and how many bars it counts."""

    bar: BarCut
    first: int
    last: int
    count: int
    step: Step
    redrawn: bool
    """A multi-bar rest whose count is not the printed one: drawn anew."""
    adjacent: bool
    """It follows the bar before it in print, in the same system."""
    left: str = ""
    right: str = ""
    """The barlines at its sides as they hold in this order: a repeat that the order writes out is none."""
    signs: Signs = NO_SIGNS
    """What differs from the bar before and is not printed in this one: drawn at its start."""
    rigid: float = 0.0
    flex: float = 0.0
    head: float = 0.0
    """The width of the head of a line that begins with it, up to the bar's own left edge."""
    taken_back: bool = False
    """The key printed in it is one without signs."""
    id: int = 0
    """Bars of one part with the same number here measure the same in everything."""
    boxes: list[tuple[float, float, float, float, int, float]] = field(default_factory=list)
    """Its ink: left and right from its left edge, the reach above the first stave and below the last, the row it moves
    with, and how much higher it stands when the bar begins a line."""
    idle: bool = False
    """The order writes jumps out: their signs are not shown."""
    between_signs: bool = False
    """It stands in a repeat whose end is shown as a sign, so how often that is played is shown too."""
    stack: Stack = field(default_factory=Stack)
    """What stands over its left edge within a line."""
    head_stack: Stack = field(default_factory=Stack)
    """The same where it begins a line."""
    played: list[tuple[int, int]] = field(default_factory=list)
    """Of a whole system, the steps and the bars that they play."""
    inner: list[float] = field(default_factory=list)
    """The least distances between neighbouring staves' middle lines."""

    def keeps(self, word: Word) -> bool:
        """Is the word shown? A redrawn rest drops its count, and what stands at an end that is left out."""
        if (word.jump and self.idle) or (word.count and not self.between_signs):
            return False
        if not self.redrawn:
            return True
        if word.anchor == "end":
            return self.step.bar + self.count == self.bar.index + self.bar.count
        return word.anchor != "centre" and self.step.bar == self.bar.index

    def take(self, of: "Shown") -> None:
        """Take what is measured of a bar; it depends on the bar before it, and on nothing else of the order."""
        self.id, self.redrawn, self.adjacent, self.signs = of.id, of.redrawn, of.adjacent, of.signs
        self.taken_back = of.taken_back
        self.rigid, self.flex, self.head, self.inner = of.rigid, of.flex, of.head, of.inner
        self.boxes, self.stack, self.head_stack = of.boxes, of.stack, of.head_stack

    @property
    def least(self) -> float:
        """The least width of a line of it alone."""
        end = rules.KINDS[rules.at_end(self.right)].width + self.bar.overhang
        return self.head - self.spare + self.rigid + self.flex * self.bar.squeeze + end

    @property
    def spare(self) -> float:
        """The width saved when this bar begins a line: a change of key is then in the line's head."""
        return self.signs.in_head + self.left_out(True) - self.left_out(False)

    def left_out(self, begins: bool) -> float:
        """The width of a printed change of key that is not shown, when the bar begins a line or not.

        A key taken back, with no signs of its own, is shown there too: no head could say it.
        """
        gone = self.signs.restated or (begins and not self.taken_back)
        return self.bar.change_width if self.bar.change and gone and not self.redrawn else 0.0


class Showing:
    """A part's bars, to be shown in any order; what was once measured of them is known from then on."""

    def __init__(self, table: PieceTable) -> None:
        self.table = table
        self._reach = rows_reach(table)
        self._heads = LineHeads(table, inset(table))
        self._cuts: dict[int, BarCut] = {}
        self._parts: dict[int, list[BarCut]] = {}
        for bar in table.bars:
            self._parts.setdefault(bar.index, []).append(bar)
            if not bar.continued:
                for index in range(bar.index, bar.index + max(1, bar.count)):
                    self._cuts[index] = bar
        whole_or_not = [one for bar in table.bars for one in (bar, *bar.parts)]
        self._jumps = {id(bar) for bar in whole_or_not if any(word.jump for word in bar.words)}
        self._counts = {id(bar) for bar in whole_or_not if any(word.count for word in bar.words)}
        self._known: dict[tuple[object, ...], Shown] = {}
        self._ids = itertools.count(1)

    def show(self, order: Sequence[Step], opening: bool = True, width: float = float("inf")) -> list[Shown]:
        """The bars to be laid for `order`; steps that name no bar of the part are left out.

        `opening`: the music begins here, and is no tail behind a page that already shows the meter. `width`: bars that
        cannot be made so narrow are shown in parts, if they can be split.
        """
        out = self._measured(self._bars(order), order, opening)
        wide = {id(one.bar) for one in out if one.bar.parts and one.least > width}
        return self._measured(self._in_parts(out, wide), order, opening) if wide else out

    def _measured(self, out: list[Shown], order: Sequence[Step], opening: bool) -> list[Shown]:
        times = Counter(step.bar for step in order)
        idle = any(step.join or step.pass_ > 1 for step in order)
        if len(self._known) > MOST_KNOWN:
            self._known.clear()
        for place, shown in enumerate(out):
            shown.idle = idle
            _sides(shown, out[place + 1] if place + 1 < len(out) else None, times)
        _tonights_signs(out, order)
        inside = False
        for shown in reversed(out):
            inside = inside or shown.right in ENDS
            shown.between_signs = inside
            inside = inside and shown.left not in STARTS
        key: tuple[object, ...] = ("opening",) if opening else ()
        for place, shown in enumerate(out):
            jumps = idle and id(shown.bar) in self._jumps
            counts = shown.between_signs and id(shown.bar) in self._counts
            own = id(shown.bar), shown.step, shown.count, shown.left, shown.right, jumps, counts
            known = self._known.get((*key, *own))
            if known is not None:
                shown.take(known)
            else:
                _measure(self.table, shown, out[place - 1] if place else None, self._reach, self._heads, opening)
                shown.id = next(self._ids)
                self._known[(*key, *own)] = shown
            key = own
        return out

    def _in_parts(self, shown: Sequence[Shown], wide: Collection[int]) -> list[Shown]:
        """The bars anew, the wide ones in their parts."""
        out: list[Shown] = []
        for one in shown:
            for piece in one.bar.parts if id(one.bar) in wide else (one.bar,):
                later = piece is not one.bar and piece is not one.bar.parts[0]
                step = replace(one.step, join=False, label="", starts=False) if later else one.step
                out.append(Shown(piece, one.first, one.last, 0 if later else one.count, step, False, False))
        return out

    def _bars(self, order: Sequence[Step]) -> list[Shown]:
        out: list[Shown] = []
        for n, step in enumerate(order):
            found = self._cuts.get(step.bar)
            if found is None:
                continue
            before = out[-1] if out else None
            if (
                before is not None and before.bar is found and found.whole >= 0
            ):  # fmt: skip
                before.last = n
                before.played.append((n, step.bar))
                continue
            if (
                before is not None and before.bar is found and found.count > 1 and not step.join
                and step.bar == order[before.last].bar + 1 and step.pass_ == order[before.last].pass_ and not step.label
                and not step.starts and not order[before.last].ends
            ):  # fmt: skip
                before.last = n
                before.count += 1
                continue
            for piece in self._parts[found.index]:
                count = 0 if piece.continued else 1
                own = replace(step, join=False, label="", starts=False) if piece.continued else step
                out.append(Shown(piece, n, n, count, own, False, False, played=[(n, step.bar)]))
        return out


def _sides(shown: Shown, after: Shown | None, times: Mapping[int, int]) -> None:
    bar, step = shown.bar, shown.step
    followed = _is_written_out(step, times)
    shown.left = "double" if followed and "repeat" in bar.left else bar.left
    shown.right = bar.right
    if after is not None and after.bar.continued and after.first == shown.first:
        shown.right = after.left = "none"
        return
    if bar.continued:
        shown.left = "none"
    if bar.count > 1 and step.bar + shown.count < bar.index + bar.count and bar.whole < 0:
        shown.right = "single"  # the rest's last bar is not shown
    elif "repeat" in bar.right and (followed or (after is not None and after.step.join and not step.kept)):
        shown.right = "double"
    elif bar.right in STARTS and after is not None and _is_written_out(after.step, times):
        shown.right = "double" if bar.right == "repeat-start" else "repeat-end"


def _is_written_out(step: Step, times: Mapping[int, int]) -> bool:
    """Whether the bar comes in the order as often as it is played, so that no repeat sign is meant for it."""
    return not step.kept and (step.pass_ > 1 or times[step.bar] > 1)


def _tonights_signs(out: Sequence[Shown], order: Sequence[Step]) -> None:
    """Set the repeat signs that the order asks for, whatever is printed there."""
    for place, shown in enumerate(out):
        before = out[place - 1] if place else None
        goes_on = place + 1 < len(out) and out[place + 1].bar.continued
        if shown.step.starts:
            ended = before is not None and before.right in ("repeat-end", "repeat-both")
            shown.left = (
                "repeat-both" if ended and before is not None and before.right == "repeat-both" else "repeat-start"
            )
            if before is not None:
                before.right = "repeat-both" if ended else "repeat-start"
        if order[shown.last].ends and not goes_on:
            shown.right = "repeat-both" if shown.right in ("repeat-start", "repeat-both") else "repeat-end"


def _measure(
    table: PieceTable, shown: Shown, before: Shown | None, reach: Reach, heads: LineHeads, opening: bool
) -> None:
    bar = shown.bar
    shown.redrawn = bar.whole < 0 and bar.count > 1 and (shown.count != bar.count or _is_wide(bar))
    shown.taken_back = bool(bar.change) and not table.heads[bar.head_here].key_width
    if bar.whole >= 0:
        e = table.extents[bar.whole]
        shown.boxes.append(
            (
                0.0,
                e.right - e.left,
                max(-e.top - 2.0, 0.0),
                max(e.bottom - table.systems[bar.system].staves[-1] - 2.0, 0.0),
                -1,
                0.0,
            )
        )
        shown.inner = [
            b - a for a, b in zip(table.systems[bar.system].staves, table.systems[bar.system].staves[1:], strict=False)
        ]
        shown.inner += [0.0] * (table.staves - 1 - len(shown.inner))
        shown.flex = 1.0
        shown.head = head_width(table, shown)
        return
    if before is not None:
        follows = bar.index == before.bar.index + max(1, before.bar.count) or (
            bar.continued and bar.index == before.bar.index
        )
        whole = before.redrawn is False or before.count == before.bar.count
        shown.adjacent = follows and whole and not shown.step.join and bar.system == before.bar.system
    if before is not None or opening:
        shown.signs = _signs(table, shown, before)
    shown.head = head_width(table, shown)
    if shown.redrawn:
        words = [table.extents[w.piece].right for w in bar.words if w.anchor == "left" and shown.keeps(w)]
        wide = max(words, default=0.0)
        meter = bar.meter_width if shown.step.bar == bar.index else 0.0
        shown.rigid = max(4.0 + meter, wide + 0.6)
        shown.flex = max(REST_WIDTH + meter - shown.rigid, 2.0)
    else:
        start = shown.left_out(False)
        columns = [(a - start, b - start) for a, b in bar.columns if b > start + 1e-6]
        lead = min(columns[0][0], LEAD) if len(columns) > 1 else 0.0
        shown.rigid = sum(b - a for a, b in columns) + lead
        shown.flex = max(bar.width - start - shown.rigid, 0.0) * bar.ease
    shown.rigid += shown.signs.width
    _stack(table, shown, before, reach, heads)
    _heights(table, shown)


def _signs(table: PieceTable, shown: Shown, before: Shown | None) -> Signs:
    bar = shown.bar
    from_its_start = shown.step.bar == bar.index
    return due(
        table,
        before.bar if before else None,
        bar,
        join=shown.step.join,
        key_printed=bool(bar.change) and not shown.redrawn,
        meter_printed=from_its_start and (bool(bar.meter) or (bar.meter_in and not shown.redrawn)),
    )


def _stack(table: PieceTable, shown: Shown, before: Shown | None, reach: Reach, heads: LineHeads) -> None:
    """Find what stands over the bar's left edge, within a line and at the head of one."""
    step = shown.step
    over = _over(table, shown, reach)
    if not shown.adjacent or over.gone or step.label:
        kind = rules.junction(before.right, shown.left, shown.adjacent) if before else ""
        width = rules.KINDS[kind].width + (JOIN_WIDTH if step.join else 0.0)
        near = bool(over.edge or step.join or step.label)
        earlier = _over(table, before, reach) if before and near else None
        landed = step.number if step.join else None
        shown.stack = in_line(over, earlier, width, landed, step.label, _drawn(shown.signs))
    number = 0 if shown.bar.continued else step.number
    blocks, clear = heads.over(shown.bar.head_here, number, step.join)
    start = shown.left_out(True)
    shown.head_stack = at_head(over, blocks, shown.head, start, number, step.join, step.label, clear)


def _drawn(signs: Signs) -> Block | None:
    """About the room that a clef and a key take at a join."""
    width = signs.clef_width + signs.key_width
    return Block(0.0, width, -3.0, 4.0 if signs.clef_width else 3.0) if width else None


def _over(table: PieceTable, shown: Shown, reach: Reach) -> Over:
    kept: list[Word] = []
    gone: list[Word] = []
    for word in shown.bar.words:
        (kept if shown.keeps(word) else gone).append(word)
    return Over(table, shown.bar, kept, [w for w in gone if w.jump or w.count], reach, shown.redrawn)


def head_width(table: PieceTable, shown: Shown) -> float:
    """The room that the line's head takes when `shown` begins the line, in spaces, up to that bar's own left edge."""
    head = table.heads[shown.bar.head_here]
    width = head.clef_width + (head.key_width if head.key_width else 0.0) + inset(table)
    kind = rules.at_start(shown.left)
    gap = HEAD_GAP - 0.2 if kind else max(0.0, 1.3 - _first_column(shown))
    return width + gap + rules.KINDS[kind].width


def join_width(shown: Shown) -> float:
    return JOIN_WIDTH if shown.step.join else 0.0


def inset(table: PieceTable) -> float:
    """Room for the bracket or the brace of several staves."""
    return 1.1 if table.groups else 0.0


def _first_column(shown: Shown) -> float:
    bar = shown.bar
    start = shown.left_out(True)
    return next((a - start for a, _ in bar.columns if a >= start - 1e-6), 1.3) if not shown.redrawn else 1.0


def _heights(table: PieceTable, shown: Shown) -> None:
    bar = shown.bar
    staves = table.staves
    tops, bottoms = [2.0] * staves, [2.0] * staves
    if shown.redrawn:
        tops[0] = 4.6
        shown.boxes.append((0.0, REST_WIDTH, 2.6, 0.0, -1, 0.0))
        pieces = [(w.piece, w.stave, _moves(w)) for w in bar.words if shown.keeps(w)]
    else:
        pieces = [(p, k, -1) for k, p in enumerate(bar.main) if p >= 0] + [(b.piece, 0, b.row) for b in bar.brackets]
        pieces += [(o.piece, o.stave, -1) for o in bar.open]
        pieces += [(w.piece, w.stave, _moves(w)) for w in bar.words if shown.keeps(w)]
    for piece, k, row in pieces:
        e = table.extents[piece]
        if k < staves:
            tops[k], bottoms[k] = max(tops[k], -e.top), max(bottoms[k], e.bottom)
            _, up = shown.stack.moved.get(piece, (0.0, 0.0))
            further, higher = shown.head_stack.moved.get(piece, (0.0, 0.0))
            lift = higher - up
            up = up - e.top - 2.0 if k == 0 else 0.0
            down = e.bottom - 2.0 if k == staves - 1 else 0.0
            if up > 0 or down > 0 or lift:
                shown.boxes.append((e.left, e.right + further, max(up, 0.0), max(down, 0.0), row, lift))
    if shown.step.label:
        (x, low), (at, foot) = shown.stack.label, shown.head_stack.label
        end = max(x, at) + label_width(shown.step.label)
        start = min(x, at, TIGHT * bar.width - label_width(shown.step.label))
        row = max(shown.stack.label_row, shown.head_stack.label_row)
        shown.boxes.append((start, end, low + LABEL_HEIGHT - 2.0, 0.0, row, foot - low))
    higher = shown.head_stack.number[1] - HEAD_FOOT
    if higher > 0:
        shown.boxes.append((-4.0, 0.0, 0.0, 0.0, -1, higher + HEAD_FOOT + NUMBER_HEIGHT - 2.0))
    if shown.step.join:
        x, low = shown.stack.number
        high = low + NUMBER_HEIGHT - 2.0
        shown.boxes.append((x - figures(shown.step.number) - 1.2, x, high, 0.0, shown.stack.number_row, -high))
    for one in bar.resumed:
        for block in (again(one, True), *([] if shown.adjacent else [again(one, False)])):
            up = block.high - 2.0 if one.stave == 0 else 0.0
            down = -block.low - 2.0 if one.stave == staves - 1 else 0.0
            shown.boxes.append((block.x0, block.x1, max(up, 0.0), max(down, 0.0), -1, 0.0))
    printed = table.systems[bar.system].staves
    for k in range(staves - 1):
        clear = bottoms[k] + tops[k + 1] + 0.4
        natural = printed[k + 1] - printed[k] if k + 1 < len(printed) else clear
        shown.inner.append(min(max(clear, 7.0), natural))


def _is_wide(bar: BarCut) -> bool:
    body = bar.width - bar.change_width - bar.meter_width
    return body > WIDE_REST or any(b - a > WIDE_BAR for a, b in bar.columns)


def _moves(word: Word) -> int:
    """The row that a word moves with on a line, or -1."""
    return word.row if word.row >= 0 else word.after
