"""Words that reach over their bar's end: where a line ends there they are moved left, and raised clear of other ink.

Lengths are staff spaces, as in `stacking`.
"""

from collections.abc import Callable, Sequence

from msgspec.structs import replace

from collaparte.paper.cutting.table import Word
from collaparte.paper.pages.blocks import CLEAR, Block, meet, rise
from collaparte.paper.pages.stacking import (
    JOIN_SIGN,
    LABEL_HEIGHT,
    LOOSE,
    NUMBER_HEIGHT,
    Over,
    Stack,
    figures,
    label_width,
)

OVER_IT = 0.5
"""Words may reach so far over the barline that ends a line."""
FAR = 2.0
"""Moved no further to the left, in spaces, they stay under what was set over them."""
Ended = dict[int, tuple[float, float]]
"""By piece: how far to the left of its place within a line it stands, and how much higher."""


def at_end(
    over: Over, before: Callable[[], Over] | None, stacks: Sequence[Stack], besides: Sequence[Block] = ()
) -> Ended:
    """The words over the first stave that stand higher, and those under the last that stand lower (less than 0), where
    their bar ends a line; `before`: the bar before it, `stacks`: what stands over the bar's left edge, in a line and
    at its head, `besides`: what is set there anew, the number where a join lands and "2nd time"."""
    out: Ended = {}
    for word in over.kept:
        left = over.extent(word.piece).right - over.width
        if not word.above and word.stave == len(over.bar.main) - 1 and word.row < 0 and left > OVER_IT:
            if down := _down(over, before, word, left):
                out[word.piece] = left, -round(down, 3)
            continue
        if not word.above or word.stave or word.row >= 0 or word.anchor == "centre" or left < OVER_IT:
            continue
        others = replace(over, kept=[w for w in over.kept if w is not word])
        blocks = others.fixed()
        blocks += [others.box(w).moved(*s.moved.get(w.piece, (0.0, 0.0))) for s in stacks for w in others.edge]
        blocks = [_from_its_end(over, b) for b in blocks]
        if before is not None:
            wide, earlier = over.nearest(over.width), before()
            blocks += [_from_its_end(earlier, b).moved(-wide, 0.0) for b in earlier.all()]
        box = over.box(word)
        box = box.across(box.x0 - box.x1, 0.0).moved(0.0, stacks[-1].moved.get(word.piece, (0.0, 0.0))[1])
        up = rise(box, blocks)
        anew = [_from_its_end(over, b) for b in besides]
        if left > FAR and any(meet(b, box.moved(0.0, up)) for b in anew):
            up += rise(box.moved(0.0, up), blocks + anew)
        if up:
            out[word.piece] = left, round(up, 3)
    return out


def _down(over: Over, before: Callable[[], Over] | None, word: Word, left: float) -> float:
    """How much lower words under the last stave stand to be under all that the bars over them have there."""
    own = over.extent(word.piece)
    inks = [over.extent(over.bar.main[-1])] if over.bar.main[-1] >= 0 else []
    inks += [over.extent(w.piece) for w in over.kept if w is not word and not w.above and w.stave == word.stave]
    if before is not None and own.left < left:
        main = before().bar.main[-1]
        inks += [over.extent(main)] if main >= 0 else []
    lowest = max((ink.bottom for ink in inks if ink.right > own.left - left), default=0.0)
    return max(lowest + CLEAR - own.top, 0.0)


def _from_its_end(over: Over, block: Block) -> Block:
    """Wherever a block of the bar may stand, seen from the bar's right edge."""
    end = over.nearest(over.width)
    return block.across((block.x0 - over.width) * LOOSE, over.nearest(block.x1) - end)


def label_block(over: Over, stack: Stack, label: str) -> Block:
    """Where a label stands in a bar's stack, as high as its row may rise with it,"""
    (x, foot), climb = stack.label, _climb(over, stack.label_row)
    return Block(x, x + label_width(label), foot, foot + LABEL_HEIGHT + climb, climb, stack.label_row)


def number_block(over: Over, stack: Stack, number: int) -> Block:
    """and the number where a join lands, within a line."""
    (x, foot), climb = stack.number, _climb(over, stack.number_row)
    return Block(x - figures(number) - JOIN_SIGN, x, foot, foot + NUMBER_HEIGHT + climb, climb, stack.number_row)


def _climb(over: Over, row: int) -> float:
    """How far a line may raise what moves with a row of this bar."""
    bases = [w.base for w in over.kept if w.row == row] + [b.base for b in over.bar.brackets if b.row == row]
    return max(bases) - over.reach[row][0] if row >= 0 and bases else 0.0
