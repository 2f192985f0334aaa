"""The bars as they will be shown, with what each needs of width and height.

Widths are staff spaces. A gap between columns stretches by one factor over a line; columns and a little of the
gap at the bar's start do not.
"""

from collections.abc import Sequence

import msgspec

from collaparte.paper.cutting.rows import NOTHING, Rowed
from collaparte.paper.cutting.table import BarCut, Open, PieceTable, Word
from collaparte.paper.pages import rules
from collaparte.paper.pages.joining import NO_SIGNS, Signs
from collaparte.paper.pages.laying import Step
from collaparte.paper.pages.stacking import Stack

LEAD = 1.0
"""So much of a bar's first gap never stretches."""
HEAD_GAP = 0.9
"""From the key to the first bar's origin when no barline stands between."""
JOIN_WIDTH = 1.2
"""Room for the join sign."""


Columns = Sequence[tuple[float, float]]
"""Rigid strips, from left to right: their edges."""


class Shown(msgspec.Struct):
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
    starts: tuple[float, float] = (0.0, 0.0)
    """So much at its left edge is left out within a line, and where it begins one (see `left_out`)."""
    columns: Columns = ()
    """What of its columns is shown within a line."""
    rigid: float = 0.0
    flex: float = 0.0
    head: float = 0.0
    """The width of the head of a line that begins with it, up to the bar's own left edge."""
    room: float = 0.0
    """How much of it is behind the clef."""
    indent: float = 0.0
    """How much of it is before the staves, for their names."""
    taken_back: bool = False
    """The key printed in it is one without signs."""
    id: int = 0
    """Bars of one part with the same number here measure the same in everything."""
    boxes: list[tuple[float, float, float, float, int, float]] = []
    """Its ink: left and right from its left edge, the reach above the first stave and below the last, the row it moves
    with, and how much higher it stands when the bar begins a line."""
    idle: bool = False
    """The order writes jumps out or leaves them out: their signs are not shown."""
    between_signs: bool = False
    """It stands in a repeat that is shown between its printed signs, so how often that is played is shown too."""
    stack: Stack = msgspec.field(default_factory=Stack)
    """What stands over its left edge within a line."""
    head_stack: Stack = msgspec.field(default_factory=Stack)
    """The same where it begins a line."""
    ended: dict[int, tuple[float, float]] = {}
    """Words that stand higher where it ends a line: by piece how far left of their place, and how much higher."""
    parted: bool = False
    """Another bar follows in this order than in print: a clef before the barline that is for that one is not shown."""
    open: tuple[Open, ...] = ()
    """The halves of slurs that it shows: of those from a bar that does not stand before it in this order less."""
    played: list[tuple[int, int]] = []
    """Of a whole system, the steps and the bars that they play."""
    held: float = 0.0
    """How many quarters its last note lasts."""
    inner: list[float] = []
    """The least distances between neighbouring staves' middle lines."""
    inside: tuple[tuple[int, int, int], ...] = ()
    """Rows of words between staves: the row, the distance that it needs, and which way it takes more (1: down)."""
    rowed: Rowed = NOTHING
    """What of it moves with rows of words."""

    def keeps(self, word: Word) -> bool:
        """Is the word shown? A redrawn rest drops its count, and what stands at an end that is left out."""
        if (word.jump and self.idle) or (word.count and not self.between_signs) or word.again:
            return False
        if not self.redrawn:
            return True
        if word.anchor == "end":
            return self.step.bar + self.count == self.bar.index + self.bar.count
        return word.anchor != "centre" and self.step.bar == self.bar.index

    def take(self, of: "Shown") -> None:
        """Take what is measured of a bar; it depends on the bar before it, and on nothing else of the order."""
        self.id, self.redrawn, self.adjacent, self.signs = of.id, of.redrawn, of.adjacent, of.signs
        self.taken_back, self.starts, self.columns = of.taken_back, of.starts, of.columns
        self.rigid, self.flex, self.head, self.room = of.rigid, of.flex, of.head, of.room
        self.inner, self.inside, self.rowed = of.inner, of.inside, of.rowed
        self.open, self.held = of.open, of.held
        self.indent = of.indent
        self.boxes, self.stack, self.head_stack, self.ended = of.boxes, of.stack, of.head_stack, of.ended

    @property
    def width(self) -> float:
        """Its width as it is shown, of its printed signs."""
        return self.bar.courtesy_at if self.parted and self.bar.courtesy else self.bar.width

    @property
    def least(self) -> float:
        """The least width of a line of it alone."""
        end = rules.KINDS[rules.at_end(self.right)].width + self.bar.overhang
        return self.head - self.spare + self.rigid + self.flex * self.bar.squeeze + end

    @property
    def spare(self) -> float:
        """The width saved when this bar begins a line: a change of key is then in the line's head."""
        within, begun = self.starts
        return self.signs.in_head + begun - within

    def left_out(self, begins: bool) -> float:
        """The width of a printed change of key that is not shown, when the bar begins a line or not, or of a meter.

        A key taken back, with no signs of its own, is shown there too: no head could say it.
        """
        if self.redrawn:
            return 0.0
        if self.bar.change and not (self.signs.restated or (begins and not self.taken_back)):
            return 0.0
        return self.bar.change_width if self.meter_shown else max(self.bar.change_width, self.bar.meter_width)

    def columns_from(self, start: float) -> Columns:
        """What of its columns is shown behind `start`."""
        columns, end = self.bar.columns, self.width
        if not start and columns and columns[-1][0] < end - 1e-3 and columns[-1][1] <= end:
            return columns
        return [(max(a, start), min(b, end)) for a, b in columns if b > start + 1e-6 and a < end - 1e-3]

    @property
    def leads(self) -> bool:
        """Whether the white before its first column is kept as it is: there are others to give way."""
        return len(self.columns) > 1

    def before_meter(self, begins: bool) -> float:
        """What of its width before the meter printed in it is not shown."""
        return self.bar.change_width if self.redrawn else self.starts[begins]

    @property
    def meter_shown(self) -> bool:
        """Is the meter shown that is printed in it or in its line's head?"""
        return bool(self.bar.meter) and self.step.bar == self.bar.index and not self.signs.held


def head_width(table: PieceTable, shown: Shown) -> tuple[float, float]:
    """The width of the line's head when `shown` begins the line, in spaces, up to that bar's own left edge; and how
    much of it is behind the clef."""
    head = table.heads[shown.bar.head_here]
    kind = rules.at_start(shown.left)
    behind = head.key_width + head_gap(shown) + rules.KINDS[kind].width
    return shown.indent + inset(table) + head.clef_width + behind, behind


def head_gap(shown: Shown) -> float:
    """From the key to the bar's left edge, or to the barline that opens the line."""
    return HEAD_GAP - 0.2 if rules.at_start(shown.left) else max(0.0, 1.3 - _first_column(shown))


def join_width(shown: Shown) -> float:
    return JOIN_WIDTH if shown.step.join else 0.0


def inset(table: PieceTable) -> float:
    """Room for the bracket or the brace of several staves."""
    return 1.1 if table.groups else 0.0


def _first_column(shown: Shown) -> float:
    if shown.redrawn:
        return 1.0
    start = shown.starts[True]
    for a, _ in shown.bar.columns:
        if a >= start - 1e-6:
            return a - start
    return 1.3
