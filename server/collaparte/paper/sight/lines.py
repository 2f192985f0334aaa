"""A line of music while it is read: its system, bars, counts, and where things stand on it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from collaparte.paper.reading import BarBox, Barline, BarlineKind, Box
from collaparte.paper.sight.bars import Segment
from collaparte.paper.sight.heads import Signature
from collaparte.paper.sight.systems import Skeleton
from collaparte.paper.sight.words import Phrase

STRONG = frozenset(kind for kind in BarlineKind if kind not in (BarlineKind.SINGLE, BarlineKind.DASHED))
"""Barlines where a section ends or begins."""


class Count(NamedTuple):
    """How many bars a bar as drawn stands for, how sure that is, and the box of a multi-bar rest with its number."""

    bars: int
    confidence: float
    box: Box | None


class Printed(NamedTuple):
    """A printed bar number: over which bar of its line (from 0), and whether it stands at the line's head."""

    number: int
    phrase: Phrase
    bar: int
    at_head: bool


ONE = Count(1, 1.0, None)
SET_TO = 0.7
"""Spaces from a barline within which something was set to begin or end at it."""


@dataclass(slots=True)
class MusicLine:
    """One system with what was read on it; `bars` are filled when the count is known."""

    page: int
    system: Skeleton
    head: Signature
    parts: list[Segment]
    barlines: list[Barline]
    counts: list[Count]
    heads: list[Signature] = field(default_factory=list)
    """What each stave begins with; `head` is as wide as the widest."""
    printed: Printed | None = None
    numbers: list[Printed] = field(default_factory=list)
    misprinted: list[Printed] = field(default_factory=list)
    """Where its number stands, but neither the count nor the numbers around bear it out."""
    bars: list[BarBox] = field(default_factory=list)
    next_number: int = 0
    is_last: bool = False
    confidence: float = 1.0
    doubt: str = ""
    space: float = field(init=False)

    def __post_init__(self) -> None:
        self.space = self.system.space

    @property
    def open_end(self) -> bool:
        return bool(self.parts) and self.parts[-1].after is None

    def bar_starting(self, xs: Sequence[float]) -> tuple[int, float]:
        """The number of the bar whose start is nearest to one of the x, and how far away that start is."""
        number, nearest = self.next_number - self.is_last, self._end_distance(xs)
        left, right = min(xs), max(xs)
        for bar, (low, high) in zip(self.bars, self._starts(), strict=True):
            # Of a start off all of them, most of a line's, nothing more is asked.
            if bar.continued or low - right >= nearest or left - high >= nearest:
                continue
            distance = min([max(low - x, x - high, 0.0) for x in xs])
            if distance < nearest - 1e-6:
                number, nearest = bar.number, distance
        return number, nearest

    def bars_ending(self, x0: float, x1: float) -> list[tuple[int, Barline | None]]:
        """The bars that end under something from x0 to x1, right where it begins, or right behind it, with their
        barlines. Without such a barline: the bar that holds its middle, and None.
        """
        reach = 5 * self.space
        under: list[tuple[int, Barline | None]] = [
            (bar.number + bar.count - 1, part.after)
            for bar, part in zip(self.bars, self.parts, strict=True)
            if part.after is not None and x0 - SET_TO * self.space < part.after.x1 and part.after.x0 < x1 + reach
        ]
        return under or [(self.bar_holding((x0 + x1) / 2), None)]

    def begins_at(self, end: Barline, x: float) -> bool:
        """Whether something whose left end is x was set to begin at the barline."""
        return end.x0 - 0.5 * self.space <= x < end.x1 + SET_TO * self.space

    def ends_at(self, end: Barline, x: float) -> bool:
        """Whether something whose right end is x was set to end at the barline."""
        return min(abs(end.x0 - x), abs(end.x1 - x), abs(end.x - x)) < SET_TO * self.space

    def bar_holding(self, x: float) -> int:
        """The number of the bar at x (a multi-bar rest's last)."""
        for bar in self.bars:
            if x < bar.x1:
                return bar.number + bar.count - 1
        return self.next_number - 1

    def bar_begun(self, x: float) -> int:
        """The number of the bar at x (a multi-bar rest's first)."""
        return next((bar.number for bar in self.bars if x < bar.x1), self.next_number - 1)

    def _starts(self) -> list[tuple[float, float]]:
        out = []
        for n, part in enumerate(self.parts):
            if n == 0:
                out.append((self.system.x0, part.x0))
            else:
                before = part.before
                out.append((before.x0, before.x1) if before is not None else (part.x0, part.x0))
        return out

    def _end_distance(self, xs: Sequence[float]) -> float:
        if self.is_last or not self.parts or self.parts[-1].after is None:
            return 1e6
        end = self.parts[-1].after
        return min(max(end.x0 - x, x - end.x1, 0.0) for x in xs)


def line_below(lines: Sequence[MusicLine], box: Box) -> MusicLine | None:
    """The line that something stands above: the first below it that it overlaps from left to right."""
    best: tuple[float, MusicLine] | None = None
    y, x = (box[1] + box[3]) / 2, (box[0] + box[2]) / 2
    for line in lines:
        x0, top, x1, bottom = line.system.bbox
        if x0 - 12 * line.space <= x <= x1 + 4 * line.space and y < (top + bottom) / 2:
            distance = top - y
            if best is None or distance < best[0]:
                best = (distance, line)
    return best[1] if best else None


def line_near(lines: Sequence[MusicLine], box: Box) -> MusicLine | None:
    """The line nearest above or below something, whichever is nearer."""
    best: tuple[float, MusicLine] | None = None
    x = (box[0] + box[2]) / 2
    for line in lines:
        x0, top, x1, bottom = line.system.bbox
        if x0 - 12 * line.space <= x <= x1 + 4 * line.space:
            distance = max(top - box[3], box[1] - bottom)
            if best is None or distance < best[0]:
                best = (distance, line)
    return best[1] if best else None


AT_BAR = 1.0
"""Words set to a bar begin so near its start, in spaces."""
SET_TO = 0.3
"""Words over a note begin at its left end (common practice), so near in spaces."""


def begins_at_note(line: MusicLine, x: float, near: float = SET_TO) -> bool:
    """Whether something that begins at `x` begins where a note or a rest of the line does, to so many spaces."""
    return any(abs(sign.x0 - x) < near * line.space for part in line.parts for sign in part.music)
