"""The lines of a reading as they are corrected: barlines added, moved and taken away, with the bars between them."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import msgspec

from collaparte.paper.reading import BarBox, Barline, BarlineKind, Box, Reading, Stave, System

ON_IT = 0.6
"""Staff spaces within which a barline is the one meant: the same ink, read again, is nearer; another barline is not."""
BESIDE = 1.2
"""Staff spaces within which a barline that was put in by hand is taken for the one that another reading finds."""
NO_BAR = 4.5
"""A repeat's start nearer than this (in spaces) behind a line's head stands at the line's start; no bar is between."""
REACH = 8.0
"""Staff spaces above and below a system within which a place is still its own."""
HEAD = 7.0
"""Staff spaces of a line's head where no other line of the part shows how wide heads are: a clef and two signs."""
THIN = 0.16
"""A barline's width in staff spaces (SMuFL engraving defaults, thinBarlineThickness, from memory)."""


@dataclass(eq=False)
class Bar:
    """One bar as drawn."""

    x0: float
    x1: float
    count: int = 1
    confidence: float = 1.0
    starts_in_rest: bool = False
    ends_in_rest: bool = False
    number: int = 0
    index: int = 0
    continued: bool = False
    silence: tuple[float, float] = (0.0, 0.0)
    beats: tuple[float, ...] = ()

    def at(self, x: float) -> bool:
        """Whether its middle lies left of x."""
        return (self.x0 + self.x1) / 2 < x


@dataclass(eq=False)
class Line:
    """One system; `touched`: somebody said something about it, so it is as a person left it; `settled`: that it is
    right."""

    page: int
    system: System
    barlines: list[Barline]
    bars: list[Bar]
    touched: bool = False
    settled: bool = False
    added: list[float] = field(default_factory=list)
    """x of barlines that the reading does not have."""

    @property
    def space(self) -> float:
        return self.system.space

    @property
    def open_end(self) -> bool:
        """Its last bar goes on in the next line."""
        last = max((b.x0 for b in self.barlines if b.kind is not BarlineKind.DASHED), default=0.0)
        return bool(self.bars) and last < self.bars[-1].x1 - 0.5 * self.space

    def barline_near(self, x: float, reach: float) -> Barline | None:
        """The barline nearest to x within so many staff spaces."""
        near = min(self.barlines, key=lambda line: abs(line.x - x), default=None)
        return near if near is not None and abs(near.x - x) <= reach * self.space else None

    def bar_holding(self, x: float) -> Bar | None:
        """The bar at x, or the one next to it at the line's ends."""
        return min(self.bars, key=lambda bar: max(bar.x0 - x, x - bar.x1, 0.0), default=None)

    def bar_starting(self, x: float) -> Bar | None:
        """The bar that starts nearest to x."""
        return min((bar for bar in self.bars if not bar.continued), key=lambda bar: abs(bar.x0 - x), default=None)

    def bar_ending(self, x: float) -> Bar | None:
        """The bar that ends nearest to x."""
        return min(self.bars, key=lambda bar: abs(bar.x1 - x), default=None)

    def put_barline(self, x: float, kind: BarlineKind) -> None:
        """A barline where there is none: it parts the bar there, closes the last one, or begins the line."""
        sp = self.space
        left, right = x - THIN * sp / 2, x + THIN * sp / 2
        self.added.append(x)
        bar = next((bar for bar in self.bars if bar.x0 < x < bar.x1), None)
        starts = kind in (BarlineKind.REPEAT_START, BarlineKind.REPEAT_BOTH)
        first = self.bars[0] if self.bars else None
        if bar is None or kind is BarlineKind.DASHED:
            if first and x <= first.x0:
                self._keep(Barline(x, left, right, kind, line_start=True))
            elif self.bars and x >= self.bars[-1].x1 and self.open_end:
                self.bars[-1].x1 = left
                self._keep(Barline(x, left, right, kind))
            else:
                self._keep(Barline(x, left, right, kind))
            return
        if bar is first and starts and x - bar.x0 < NO_BAR * sp and not bar.continued:
            bar.x0 = right
            self._keep(Barline(x, left, right, kind, line_start=True))
            return
        self._keep(Barline(x, left, right, kind))
        if bar is self.bars[-1] and self.open_end and bar.x1 - x < 2 * sp:
            bar.x1 = left
            return
        # A rest's figure stands over its middle: the wider part keeps the count.
        wider_first = x - bar.x0 >= bar.x1 - x
        second = replace(bar, x0=right, starts_in_rest=False, continued=False, confidence=1.0)
        second.count, bar.count = (1, bar.count) if wider_first else (bar.count, 1)
        bar.x1, bar.ends_in_rest, bar.confidence = left, False, 1.0
        bar.silence, second.silence = (bar.silence[0], 0.0), (0.0, bar.silence[1])
        self.bars.insert(self.bars.index(bar) + 1, second)

    def take_barline(self, barline: Barline) -> None:
        """Take a barline away; the bars at its sides become one."""
        self.barlines.remove(barline)
        before = [bar for bar in self.bars if bar.at(barline.x)]
        after = self.bars[len(before) :]
        if not before or not after:
            if before and not after and not self._between(before[-1].x0, self.system.bbox[2] + self.space):
                before[-1].x1 = max(before[-1].x1, self.system.bbox[2])
            return
        one, two = before[-1], after[0]
        if self._between((one.x0 + one.x1) / 2, (two.x0 + two.x1) / 2):
            return
        one.x1, one.count = two.x1, max(one.count, two.count)
        one.ends_in_rest, one.confidence = two.ends_in_rest, 1.0
        one.silence = (one.silence[0], two.silence[1])
        self.bars.remove(two)

    def move_barline(self, barline: Barline, x: float) -> None:
        """The same barline at another x; the bars at its sides give way."""
        shift = x - barline.x
        moved = msgspec.structs.replace(barline, x=x, x0=barline.x0 + shift, x1=barline.x1 + shift, confidence=1.0)
        before = [bar for bar in self.bars if bar.at(barline.x)]
        after = self.bars[len(before) :]
        if (before and before[-1].x0 >= moved.x0) or (after and after[0].x1 <= moved.x1):
            # Beyond its neighbours it is another barline.
            self.take_barline(barline)
            self.put_barline(x, barline.kind)
            return
        self.barlines.remove(barline)
        self._keep(moved)
        if before and abs(before[-1].x1 - barline.x0) < self.space:
            before[-1].x1 = moved.x0
        if after and abs(after[0].x0 - barline.x1) < self.space:
            after[0].x0 = moved.x1

    def be_kind(self, barline: Barline, kind: BarlineKind) -> None:
        """The barline is of this kind, and sure."""
        self.barlines[self.barlines.index(barline)] = msgspec.structs.replace(barline, kind=kind, confidence=1.0)

    def _keep(self, barline: Barline) -> None:
        self.barlines.append(barline)
        self.barlines.sort(key=lambda one: one.x)

    def _between(self, left: float, right: float) -> bool:
        return any(left < b.x < right for b in self.barlines if b.kind is not BarlineKind.DASHED)

    def as_system(self, confidence: float, doubt: str) -> System:
        """The system with what became of its bars and barlines."""
        return msgspec.structs.replace(
            self.system,
            barlines=tuple(self.barlines),
            bars=tuple(
                BarBox(
                    bar.index,
                    bar.number,
                    bar.count,
                    bar.x0,
                    bar.x1,
                    bar.confidence,
                    bar.starts_in_rest,
                    bar.ends_in_rest,
                    bar.continued,
                    bar.silence,
                    bar.beats,
                )
                for bar in self.bars
            ),
            confidence=confidence,
            doubt=doubt,
        )


def lines_of(reading: Reading) -> list[Line]:
    """All lines of a reading, in order."""
    return [
        Line(n, system, list(system.barlines), [_bar(box) for box in system.bars])
        for n, page in enumerate(reading.pages)
        for system in page.systems
    ]


def _bar(box: BarBox) -> Bar:
    return Bar(
        box.x0,
        box.x1,
        box.count,
        box.confidence,
        box.starts_in_rest,
        box.ends_in_rest,
        box.number,
        box.index,
        box.continued,
        box.silence,
        box.beats,
    )


def line_at(lines: Sequence[Line], page: int, x: float, y: float) -> Line | None:
    """The line that a place belongs to: the nearest one above or below it that reaches there."""

    def away(line: Line) -> float:
        _, top, _, bottom = line.system.bbox
        return max(top - y, y - bottom, 0.0)

    near = [
        line
        for line in lines
        if line.page == page
        and line.system.bbox[0] - 12 * line.space <= x <= line.system.bbox[2] + 4 * line.space
        and away(line) <= REACH * line.space
    ]
    return min(near, key=away, default=None)


def line_drawn(page: int, staves: Sequence[tuple[float, float, float, float]], lines: Sequence[Line]) -> Line:
    """A system that a person drew (x0, top, x1, bottom of each stave), with the bars of what was read over it.

    Where nothing was, it is one bar; its head is as wide as those of the part's other lines.
    """
    drawn = sorted(staves, key=lambda stave: stave[1])
    own = tuple(
        Stave(top, bottom, tuple(top + n * (bottom - top) / 4 for n in range(5)), x0, x1)
        for x0, top, x1, bottom in drawn
    )
    space = (drawn[0][3] - drawn[0][1]) / 4
    box = (min(s.x0 for s in own), own[0].top, max(s.x1 for s in own), own[-1].bottom)
    under = max(covered(box, page, lines), key=lambda line: len(line.bars), default=None)
    if under is not None and under.bars:
        system = msgspec.structs.replace(under.system, bbox=box, space=space, staves=own)
        return Line(page, system, under.barlines, under.bars, touched=True)
    heads = sorted((line.system.head_x1 - line.system.bbox[0]) / line.space for line in lines)
    head = box[0] + (heads[len(heads) // 2] if heads else HEAD) * space
    end = Barline(box[2] - THIN * space / 2, box[2] - THIN * space, box[2])
    system = System(box, space, own, (end,), (), min(head, end.x0 - space))
    return Line(page, system, [end], [Bar(system.head_x1, end.x0)], touched=True)


def covered(box: Box, page: int, lines: Sequence[Line]) -> list[Line]:
    """The lines that lie at least half within a box, or it in them."""
    out = []
    for line in lines:
        _, top, _, bottom = line.system.bbox
        shared = min(bottom, box[3]) - max(top, box[1])
        if line.page == page and shared > 0.5 * min(bottom - top, box[3] - box[1]):
            out.append(line)
    return out
