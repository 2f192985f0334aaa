"""Clefs and keys at the heads of lines, and the height at which a bar number is clear of them."""

from collaparte.paper.cutting.table import PieceTable
from collaparte.paper.pages.stacking import HEAD_FOOT, NUMBER_HEIGHT, Block, number_width, rise


class LineHeads:
    """A part's clefs and keys, for all lines that may begin with them."""

    def __init__(self, table: PieceTable, left: float) -> None:
        self._table, self._left = table, left
        """`left`: where clefs stand, for a bracket before them."""
        self._blocks: dict[int, list[Block]] = {}
        self._clear: dict[tuple[int, float], float] = {}

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
