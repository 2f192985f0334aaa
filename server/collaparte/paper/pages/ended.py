"""Words that reach over their bar's end: where a line ends there they are moved left, and raised clear of other ink.

Lengths are staff spaces, as in `stacking`.
"""

from collections.abc import Callable, Sequence

from msgspec.structs import replace

from collaparte.paper.cutting.table import Word
from collaparte.paper.pages.blocks import CLEAR, Block, rise
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
        blocks = [_from_its_end(over, b) for b in (*blocks, *besides)]
        if before is not None:
            wide, earlier = over.nearest(over.width), before()
            blocks += [_from_its_end(earlier, b).moved(-wide, 0.0) for b in earlier.all()]
        box = over.box(word)
        box = box.across(box.x0 - box.x1, 0.0).moved(0.0, stacks[-1].moved.get(word.piece, (0.0, 0.0))[1])
        if up := rise(box, blocks):
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
    (x, foot), (high, low) = stack.label, over.reach.get(stack.label_row, (0.0, 0.0))
    return Block(x, x + label_width(label), foot, foot + LABEL_HEIGHT + low - high, low - high, stack.label_row)


def number_block(over: Over, stack: Stack, number: int) -> Block:
    """and the number where a join lands, within a line."""
    (x, foot), (high, low) = stack.number, over.reach.get(stack.number_row, (0.0, 0.0))
    wide = figures(number) + JOIN_SIGN
    return Block(x - wide, x, foot, foot + NUMBER_HEIGHT + low - high, low - high, stack.number_row)
