"""What a bar that is shown needs of width and height, beside the bar before it and at the head of a line."""

from functools import partial

from msgspec.structs import replace

from collaparte.paper.cutting.rows import is_long, rowed
from collaparte.paper.cutting.table import BarCut, Open, PieceTable, Word
from collaparte.paper.pages import rules
from collaparte.paper.pages.blocks import Block
from collaparte.paper.pages.ended import at_end, label_block, number_block
from collaparte.paper.pages.heads import LineHeads
from collaparte.paper.pages.held import held
from collaparte.paper.pages.joining import Signs, due
from collaparte.paper.pages.names import indent
from collaparte.paper.pages.shown import JOIN_WIDTH, LEAD, Shown, head_width
from collaparte.paper.pages.stacking import (
    HEAD_FOOT,
    LABEL_HEIGHT,
    NUMBER_HEIGHT,
    TIGHT,
    Over,
    Reach,
    again,
    at_head,
    figures,
    in_line,
    label_width,
    over_stave,
    reaching_over,
)

REST_WIDTH = 9.0
"""Width of a multi-bar rest that is drawn anew."""
WIDE_REST, WIDE_BAR = 22.0, 14.0
"""A multi-bar rest printed wider than this, or whose H-bar is, is drawn anew as well."""
ONE_HEIGHT = 0.3
"""Two ties are at one height but for so much, in spaces: notes side by side are half a space apart."""
BETWEEN, CLEAR_INK = 3.0, 0.4
"""The least white between two staves, and between the ink of both there, in spaces,"""
CLEAR_WORDS, OFF_STAVE = 0.8, 1.5
"""under rows of words, and from those to the next stave: nearer they would seem to be that one's (common practice)."""
REACHING = 1.0
"""Words that end so much further right than their bar, in spaces, reach over others."""
UNMOVED = 0.0, 0.0


def measure(
    table: PieceTable, shown: Shown, before: Shown | None, after: BarCut | None, reach: Reach, heads: LineHeads,
    opening: bool,
) -> None:  # fmt: skip
    """Find what is measured of a bar. `after`: the next one, where a label may reach over it; `opening`: the music
    begins with it, when there is none before."""
    bar = shown.bar
    shown.rowed = rowed(bar)
    if before is None and opening and bar.whole < 0:
        shown.indent = indent(table, len(bar.main))
    shown.redrawn = bar.whole < 0 and bar.count > 1 and (shown.count != bar.count or _is_wide(table, bar))
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
        shown.starts = shown.left_out(False), shown.left_out(True)
        shown.head, shown.room = head_width(table, shown)
        return
    if before is not None:
        follows = bar.index == before.bar.index + max(1, before.bar.count) or (
            bar.continued and bar.index == before.bar.index
        )
        whole = before.redrawn is False or before.count == before.bar.count
        shown.adjacent = follows and whole and not shown.step.join and bar.system == before.bar.system
    if before is not None or opening:
        shown.signs = _signs(table, shown, before)
    shown.open = bar.open
    if shown.step.join or (before is None and opening):
        shown.open = tuple(_landed(half, before) for half in bar.open if half.landed != -1 or _goes_on(half, before))
    shown.starts = shown.left_out(False), shown.left_out(True)
    shown.head, shown.room = head_width(table, shown)
    if shown.redrawn:
        words = [table.extents[w.piece] for w in bar.words if w.anchor in ("left", "start") and shown.keeps(w)]
        wide = max((e.right for e in words if not is_long(e)), default=0.0)
        meter = bar.meter_width - bar.change_width if shown.meter_shown else 0.0
        shown.rigid = max(4.0 + meter, wide + 0.6)
        shown.flex = max(REST_WIDTH + meter - shown.rigid, 2.0)
    else:
        start = shown.starts[False]
        columns = shown.columns = shown.columns_from(start)
        # Before the first note, or between a key or a meter there and that.
        ends = [start, *(b for _, b in columns)]
        gaps = (a - before for (a, _), before in zip(columns, ends, strict=False) if a > before)
        lead = min(next(gaps, 0.0), LEAD) if shown.leads else 0.0
        shown.rigid = sum(b - a for a, b in columns) + lead
        shown.flex = max(shown.width - start - shown.rigid, 0.0) * bar.ease
    shown.rigid += shown.signs.width
    shown.held = held(bar, table.extents, table.meters[bar.meter_here].name if bar.meter_here >= 0 else "")
    _stack(table, shown, before, after, reach, heads)
    _heights(table, shown)


def _landed(half: Open, before: Shown | None) -> Open:
    return half if half.landed is None or _goes_on(half, before) else replace(half, piece=half.landed, mate=-1)


def _goes_on(tie: Open, before: Shown | None) -> bool:
    """The bar before ends in a tie from the same note, as where a stretch that begins like its next bar is repeated."""
    if before is None or before.redrawn or tie.tie is None:
        return False
    return any(stave == tie.stave and abs(height - tie.tie) < ONE_HEIGHT for stave, height in before.bar.ties)


def _signs(table: PieceTable, shown: Shown, before: Shown | None) -> Signs:
    bar = shown.bar
    from_its_start = shown.step.bar == bar.index
    return due(
        table,
        before.bar if before else None,
        bar,
        join=shown.step.join,
        key_printed=bool(bar.change) and not shown.redrawn,
        meter_printed=from_its_start and bool(bar.meter),
    )


def _stack(
    table: PieceTable, shown: Shown, before: Shown | None, after: BarCut | None, reach: Reach, heads: LineHeads
) -> None:
    """Find what stands over the bar's left edge, within a line and at the head of one."""
    step = shown.step
    over = _over(table, shown, reach)
    earlier = partial(_over, table, before, reach) if before else None
    if over.edge:
        over.left = heads.left_behind(shown.bar)
    behind = [b.moved(TIGHT * shown.width, 0.0) for b in over_stave(table, after)] if after else []
    kind = rules.junction(before.right, shown.left, shown.adjacent) if before else ""
    width = rules.KINDS[kind].width + (JOIN_WIDTH if step.join else 0.0)
    labels = reaching_over(before.step.label, before.width, (before.stack, before.head_stack)) if before else []
    narrower = bool(over.edge) and before is not None and width < rules.KINDS[_printed(before.bar, shown.bar)].width
    if not shown.adjacent or narrower or over.gone or step.label or labels:
        near = bool(over.edge or step.join or step.label)
        landed = step.number if step.join else None
        besides = [*_drawn(shown.signs), *behind, *(b.moved(-width, 0.0) for b in labels)]
        shown.stack = in_line(over, earlier() if earlier and near else None, width, landed, step.label, besides,
            shown.starts[False],
        )  # fmt: skip
    number = 0 if shown.bar.continued else step.number
    blocks, clear = heads.over(shown.bar.head_here, number, step.join)
    if shown.indent:
        blocks = [block.moved(shown.indent, 0.0) for block in blocks]
    shown.head_stack = at_head(
        over, blocks, shown.head, shown.room, shown.starts[True], number, step.join, step.label, clear, behind
    )
    stacks = shown.stack, shown.head_stack
    besides = [label_block(over, stack, step.label) for stack in stacks if step.label]
    besides += [number_block(over, shown.stack, step.number)] if step.join else []
    shown.ended = at_end(over, earlier, stacks, besides)


def _printed(before: BarCut, bar: BarCut) -> str:
    """The barline that stands between them in print."""
    return rules.junction(before.right, bar.left, True)


def _drawn(signs: Signs) -> list[Block]:
    """About the room that a clef and a key take at a join."""
    width = signs.clef_width + signs.key_width
    return [Block(0.0, width, -3.0, 4.0 if signs.clef_width else 3.0)] if width else []


def _over(table: PieceTable, shown: Shown, reach: Reach) -> Over:
    kept: list[Word] = []
    gone: list[Word] = []
    for word in shown.bar.words:
        (kept if shown.keeps(word) else gone).append(word)
    return Over(table, shown.bar, kept, [w for w in gone if w.jump or w.count], reach, shown.redrawn, shown.width)


def _heights(table: PieceTable, shown: Shown) -> None:
    bar = shown.bar
    staves = len(bar.main)
    halves = [2.0] * staves
    for k, apart in enumerate(table.apart[:staves]):
        halves[k] = rules.half(table.lines[k], apart)
    tops, bottoms, sung = [*halves], [*halves], [*halves]
    if halves[-1] > 2.0:
        shown.boxes.append((0.0, shown.width, 0.0, halves[-1] - 2.0, -1, 0.0))
    if halves[0] > 2.0:
        shown.boxes.append((0.0, shown.width, halves[0] - 2.0, 0.0, -1, 0.0))
    if shown.redrawn:
        tops[0] = 4.6
        shown.boxes.append((0.0, REST_WIDTH, 2.6, 0.0, -1, 0.0))
        pieces = [(w.piece, w.stave, _moves(w)) for w in bar.words if shown.keeps(w)]
    else:
        pieces = [(p, k, -1) for k, p in enumerate(bar.main) if p >= 0] + [(b.piece, 0, b.row) for b in bar.brackets]
        pieces += [(o.piece, o.stave, -1) for o in shown.open]
        if bar.lines:
            pieces += [(line.piece, line.stave, line.row) for line in bar.lines]
        pieces += [(w.piece, w.stave, _moves(w)) for w in bar.words if shown.keeps(w)]
    within, at_head = shown.stack.moved, shown.head_stack.moved
    for piece, k, row in pieces:
        e = table.extents[piece]
        if k < staves:
            if tops[k] < -e.top:
                tops[k] = -e.top
            if bottoms[k] < e.bottom:
                bottoms[k] = e.bottom
            if row >= 0 and sung[k] < e.bottom:
                sung[k] = e.bottom
            _, up = within.get(piece, UNMOVED)
            further, higher = at_head.get(piece, UNMOVED)
            lift = higher - up
            up = up - e.top - 2.0 if k == 0 else 0.0
            down = e.bottom - 2.0 if k == staves - 1 else 0.0
            if up > 0 or down > 0 or lift:
                shown.boxes.append((e.left, e.right + further, max(up, 0.0), max(down, 0.0), row, lift))
    for piece, (left, higher) in shown.ended.items():
        e, (_, up) = table.extents[piece], within.get(piece, UNMOVED)
        lift = up + higher
        reach = max(lift - e.top - 2.0, 0.0), max(e.bottom - lift - 2.0, 0.0)
        shown.boxes.append((e.left - left, e.right - left, *reach, -1, 0.0))
    due = table.meters[shown.signs.meter].pieces if shown.signs.meter >= 0 else ()
    for pieces_here, left in ((bar.meter if shown.meter_shown else (), 0.0), (due, -shown.signs.meter_width)):
        for k, piece in enumerate(pieces_here[:staves]):
            if piece >= 0:
                e = table.extents[piece]
                up, down = -e.top - 2.0 if k == 0 else 0.0, e.bottom - 2.0 if k == staves - 1 else 0.0
                shown.boxes.append((left + e.left, left + e.right, max(up, 0.0), max(down, 0.0), -1, 0.0))
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
    for one in (line for line in bar.lines if line.came and line.text):
        for block in (again(one, shown.room), *([again(one, None)] if shown.step.join else [])):
            up = block.high - 2.0 if one.stave == 0 else 0.0
            down = -block.low - 2.0 if one.stave == staves - 1 else 0.0
            shown.boxes.append((block.x0, block.x1, max(up, 0.0), max(down, 0.0), one.row, 0.0))
    rows = {(_moves(w), w.stave, w.above) for w in bar.words if _moves(w) >= 0 and shown.keeps(w)} if staves > 1 else ()
    ways = ((row, k - 1, -1) if above else (row, k, 1) for row, k, above in rows)
    shown.inside = tuple([way for way in ways if 0 <= way[1] < staves - 1])
    printed = table.systems[bar.system].staves
    # What reaches over other bars is as clear of their ink as in print where staves are no nearer than there.
    far = {(w.stave, w.above) for w in bar.words if table.extents[w.piece].right > shown.width + REACHING}
    for k in range(staves - 1):
        clear = max(bottoms[k] + tops[k + 1] + CLEAR_INK, halves[k] + halves[k + 1] + BETWEEN)
        if sung[k] > halves[k]:
            clear = max(clear, sung[k] + max(tops[k + 1] + CLEAR_WORDS, halves[k + 1] + OFF_STAVE))
        natural = printed[k + 1] - printed[k] if k + 1 < len(printed) else clear
        between = (k, False) in far or (k + 1, True) in far
        shown.inner.append(natural if between else min(clear, natural))


def _is_wide(table: PieceTable, bar: BarCut) -> bool:
    if bar is table.bars[0] and bar.meter_here < 0:
        return False  # a meter that was not told apart, as a scan's, is in its ink
    body = bar.width - bar.change_width - bar.meter_width
    return body > WIDE_REST or any(b - a > WIDE_BAR for a, b in bar.columns)


def _moves(word: Word) -> int:
    """The row that a word moves with on a line, or -1."""
    return word.row if word.row >= 0 else word.after
