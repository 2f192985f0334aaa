"""Clefs and keys at the heads of lines, and the height at which a bar number is clear of them."""

from itertools import pairwise

from collaparte.paper.cutting.table import BarCut, PieceTable
from collaparte.paper.pages.blocks import Block, rise
from collaparte.paper.pages.stacking import HEAD_FOOT, NUMBER_HEIGHT, number_width

NEAR = 2.0
"""Words that end so near a bar's right edge, in spaces, may have raised those of the next bar."""


class LineHeads:
    """A part's clefs and keys, for all lines that may begin with them."""

    def __init__(self, table: PieceTable, left: float) -> None:
        self._table, self._left = table, left
        """`left`: where clefs stand, for a bracket before them."""
        self._blocks: dict[int, list[Block]] = {}
        self._clear: dict[tuple[int, float], float] = {}
        self._before: dict[int, BarCut] = {}

    def left_behind(self, bar: BarCut) -> list[Block]:
        """The words over the barline before a bar that are the bar's before it in print, seen from this bar's edge."""
        if not self._before:
            self._before = {id(b): a for a, b in pairwise(self._table.bars)}
        before = self._before.get(id(bar))
        if before is None or before.system != bar.system:
            return []
        extents, edge = self._table.extents, before.width + before.margins[1] + bar.margins[0]
        boxes = [extents[w.piece] for w in before.words if w.above and w.stave == 0 and w.row < 0]
        return [Block(e.left - edge, e.right - edge, -e.bottom, -e.top) for e in boxes if e.right > before.width - NEAR]

    def over(self, head: int, number: int, join: bool) -> tuple[list[Block], float]:
        """The first stave's clef and key from the line's left edge, and the height at which a bar number is clear of
        them."""
        blocks = self._blocks.get(head)
        if blocks is None:
            of = self._table.heads[head]
            pieces = ((of.clef[0], self._left), (of.key[0], self._left + of.clef_width))
            boxes = [(self._table.extents[piece], x) for piece, x in pieces if piece >= 0]
            blocks = [Block(x + e.left, x + e.right, -e.bottom, -e.top) for e, x in boxes]
            self._blocks[head] = blocks
        wide = number_width(number, join)
        clear = self._clear.get((head, wide))
        if clear is None:
            place = Block(0.0, wide, HEAD_FOOT, HEAD_FOOT + NUMBER_HEIGHT)
            clear = self._clear[head, wide] = HEAD_FOOT + rise(place, blocks)
        return blocks, clear
