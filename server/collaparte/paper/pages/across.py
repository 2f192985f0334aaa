"""A line of music whose places across the page are found and whose height is still open: found once, set anywhere.

A height is a number here: of a stave's middle line and what is added to it, one sum after the other and never both at
once, so that the same line set at the same height is the same to the last digit.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import msgspec

from collaparte.paper.cutting.table import Group
from collaparte.paper.pages import rules
from collaparte.paper.pages.blocks import Block
from collaparte.paper.pages.laying import Dot, LaidBar, LaidLine, Placed, Rule, Slice, Words
from collaparte.paper.pages.shown import Shown


@dataclass(slots=True)
class Sheet:
    """What a page gathers while it is composed."""

    placed: list[Placed] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    dots: list[Dot] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    braces: list[Rule] = field(default_factory=list)
    lines: list[LaidLine] = field(default_factory=list)


class Text(msgspec.Struct, frozen=True):
    """Words to be set at a height."""

    text: str
    x: float
    height: int
    size: float
    style: str
    anchor: str = "start"


@dataclass(slots=True)
class Across:
    """What stands on one line, `space` mm a staff space, all places across in mm; `lines` of each stave and how far
    `apart` they are, and what joins the staves; barlines do not go on below `parted`."""

    space: float
    lines: tuple[int, ...]
    apart: tuple[float, ...]
    groups: tuple[Group, ...] = ()
    parted: tuple[int, ...] = ()
    left: float = 0.0
    right: float = 0.0
    """The ends of its staff lines."""
    placed: list[tuple[int, int, tuple[Slice, ...]]] = field(default_factory=list)
    """Pieces, each with its height and its slices."""
    strokes: list[tuple[float, float, int, int]] = field(default_factory=list)
    """Left, right, and the heights of top and bottom."""
    dashed: list[tuple[int, float]] = field(default_factory=list)
    """Dashed barlines: behind how many strokes, and where."""
    dots: list[tuple[float, int, float]] = field(default_factory=list)
    words: list[Text] = field(default_factory=list)
    after: int = 0
    """So many strokes stand before the staff lines, the others behind them."""
    bars: list[tuple[float, float]] = field(default_factory=list)
    raised: list[Block] = field(default_factory=list)
    """Words that stand higher than their bars alone would have them, in spaces."""
    _heights: dict[tuple[int, tuple[float, ...]], int] = field(default_factory=dict)
    _ends: list[tuple[int, int]] = field(init=False)
    """The heights of barlines' ends, of each stretch of staves."""
    _half: list[float] = field(init=False)
    """Half the height of each stave's barlines, in mm."""

    def __post_init__(self) -> None:
        half = self._half = [rules.half(*one) * self.space for one in zip(self.lines, self.apart, strict=True)]
        self._ends = [
            (self.height(first, -half[first]), self.height(end, half[end]))
            for first, end in zip((0, *(n + 1 for n in self.parted)), (*self.parted, len(half) - 1), strict=True)
        ]

    def height(self, stave: int, *by: float) -> int:
        """The number of a height: so many mm, one after the other, below `stave`'s middle line."""
        return self._heights.setdefault((stave, by), len(self._heights))

    def higher(self, height: int, up: float) -> int:
        """The number of a height so many mm over another."""
        (stave, by) = next(one for one, n in self._heights.items() if n == height)
        return self.height(stave, *by, -up)

    def barline(self, kind: str, x: float) -> None:
        """A barline through all staves, its left edge at x."""
        space, drawn = self.space, rules.KINDS[kind]
        if kind == "dashed":
            self.dashed.append((len(self.strokes), x))
        elif drawn.strokes:
            self.strokes += [
                (round(x + offset * space, 3), round(x + (offset + width) * space, 3), top, bottom)
                for top, bottom in self._ends
                for offset, width in drawn.strokes
            ]
        if drawn.dots:
            r = round(0.22 * space, 3)
            self.dots += [
                (round(x + dot * space, 3), self.height(stave, side * rules.dots(*lines) * space), r)
                for dot in drawn.dots
                for stave, lines in enumerate(zip(self.lines, self.apart, strict=True))
                for side in (-1, 1)
            ]

    def set_down(self, sheet: Sheet, middles: list[float], shown: Sequence[Shown], scale: float) -> None:
        """Add the line to a page, its staves' middle lines there; `shown` are the bars it was found for."""
        ys: list[float] = []
        for stave, by in self._heights:
            y = middles[stave]
            for more in by:
                y += more
            ys.append(round(y, 3))
        sheet.placed += [Placed(piece, ys[y], scale, cut) for piece, y, cut in self.placed]
        strokes = [Rule(x0, ys[y0], x1, ys[y1]) for x0, x1, y0, y1 in self.strokes]
        behind = strokes[self.after :]
        del strokes[self.after :]
        tops = [middle - half for middle, half in zip(middles, self._half, strict=True)]
        feet = [middle + half for middle, half in zip(middles, self._half, strict=True)]
        for place, x in reversed(self.dashed):
            strokes[place:place] = rules.dashes(x, self.space, tops[0], feet[-1])
        sheet.rules += strokes
        for middle, lines, apart in zip(middles, self.lines, self.apart, strict=True):
            sheet.rules += rules.stave(self.left, self.right, middle, self.space, lines, apart)
        if len(middles) > 1:
            sheet.rules.append(rules.joined(self.left, tops[0], feet[-1], self.space))
        for group in self.groups:
            top, foot = tops[group.first], feet[group.last]
            if group.brace:
                sheet.braces.append(rules.brace(self.left, top, foot, self.space))
            else:
                sheet.rules += rules.bracket(self.left, top, foot, self.space)
        sheet.rules += behind
        sheet.dots += [Dot(x, ys[y], r) for x, y, r in self.dots]
        sheet.words += [Words(w.text, w.x, ys[w.height], w.size, w.style, w.anchor) for w in self.words]  # type: ignore[arg-type]
        staves = tuple([round(middle, 2) for middle in middles])
        bars: list[LaidBar] = []
        for bar, (x0, x1) in zip(shown, self.bars, strict=True):
            if bars and bar.bar.continued:
                x0 = bars.pop().x0
            bars.append(LaidBar((bar.first, bar.last), x0, x1, staves))
        top = middles[0] - max(2 * self.space, self._half[0])
        bottom = middles[-1] + max(2 * self.space, self._half[-1])
        sheet.lines.append(LaidLine(round(top, 2), round(bottom, 2), tuple(bars)))
