"""What laying a part once has worked out, and laying it in another order needs again: kept from one laying to the next.

Nothing in here changes what is laid; without it, it is worked out anew.
"""

from collections import OrderedDict

from collaparte.paper.cutting.table import PieceTable
from collaparte.paper.pages.compose import Found
from collaparte.paper.pages.linefit import Rows
from collaparte.paper.pages.meeting import Joints
from collaparte.paper.pages.showing import Showing


class Workings:
    """Of one table."""

    def __init__(self, table: PieceTable) -> None:
        self.showing = Showing(table)
        self.rows: Rows = {}
        self.joints: Joints = {}
        self.lines: Found = OrderedDict()
        self.heights: dict[tuple[object, float], float] = {}
        """By page and by the height asked for, that at which staves are laid."""
