"""What stands at bars (marks, signs, endings, tempos, changes), held by its place while bars are corrected."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Generic, Literal, TypeVar

import msgspec

from collaparte.paper.drawn_lines import Line
from collaparte.paper.reading import Change, Ending, Instruction, Mark, Sign, TempoWord

Thing = TypeVar("Thing", Mark, Sign, Ending, TempoWord, Change, Instruction)


@dataclass
class Anchor:
    """An edge of a bar: its line, its x, and how many bars into a rest; `line` None: beyond the part's end."""

    line: Line | None
    x: float
    edge: Literal["start", "end"]
    into: int = 0
    number: int = 0
    """As it was read."""

    def now(self) -> int:
        """The number of the bar whose edge that is now."""
        if self.line is None or not self.line.bars:
            return self.number
        if self.edge == "start":
            bar = self.line.bar_starting(self.x) or self.line.bars[0]
            return bar.number + min(self.into, bar.count - 1)
        bar = self.line.bar_ending(self.x) or self.line.bars[-1]
        return bar.number + max(bar.count - 1 - self.into, 0)

    def follow(self, *own: float) -> None:
        """Go over to a barline that was put in, when one of the thing's `own` x is nearer to it than to its old one."""
        if self.line is None or not self.line.added:
            return
        nearest = min(self.line.added, key=lambda x: min(abs(x - o) for o in own))
        if min(abs(nearest - o) for o in own) < min(abs(self.x - o) for o in own):
            self.x, self.into = nearest, 0


@dataclass
class Standing(Generic[Thing]):
    """A thing and the bar that it stands at; `last`: for an ending, its last bar."""

    thing: Thing
    at: Anchor
    last: Anchor | None = None

    def follow(self) -> None:
        """Go over to the barlines that were put in where the thing is printed."""
        x0, x1 = self.thing.box[0], self.thing.box[2]
        if self.last is not None:
            self.at.follow(x0)
            self.last.follow(x1)
        else:
            self.at.follow((x0 + x1) / 2, x0 if self.at.edge == "start" else x1)

    def now(self) -> Thing:
        """The thing at the bar where it stands now."""
        if isinstance(self.thing, Ending):
            assert self.last is not None
            first = self.at.now()
            return msgspec.structs.replace(self.thing, bar=first, last_bar=max(first, self.last.now()))
        return msgspec.structs.replace(self.thing, bar=self.at.now())


def anchor(lines: Sequence[Line], number: int, edge: Literal["start", "end"]) -> Anchor:
    """Where the bar of this number begins or ends, before anything is corrected."""
    # Of a bar broken over a line the first half begins and the second ends.
    for line in lines if edge == "start" else reversed(lines):
        for bar in line.bars:
            if bar.number <= number < bar.number + bar.count and not (bar.continued and edge == "start"):
                into = number - bar.number if edge == "start" else bar.number + bar.count - 1 - number
                return Anchor(line, bar.x0 if edge == "start" else bar.x1, edge, into, number)
    return Anchor(None, 0.0, edge, 0, number)


def standing(lines: Sequence[Line], things: Sequence[Thing]) -> list[Standing[Thing]]:
    """Things with the places of their bars."""
    out = []
    for thing in things:
        edge: Literal["start", "end"] = "end" if isinstance(thing, Sign) and thing.at == "end" else "start"
        last = anchor(lines, thing.last_bar, "end") if isinstance(thing, Ending) else None
        out.append(Standing(thing, anchor(lines, thing.bar, edge), last))
    return out


def take_up(things: Sequence[Standing[Thing]], line: Line, lines: Sequence[Line]) -> None:
    """Have those that are printed nearest to a line stand at it: it was not read, so they went to the next one."""
    there = [one for one in lines if one.page == line.page]
    for thing in things:
        middle = (thing.thing.box[1] + thing.thing.box[3]) / 2
        if thing.thing.page == line.page and line is min(there, key=partial(_under, middle)):
            bar = line.bars[0] if thing.at.edge == "start" else line.bars[-1]
            thing.at = Anchor(line, bar.x0 if thing.at.edge == "start" else bar.x1, thing.at.edge)


def _under(y: float, line: Line) -> float:
    """How far a line is from what stands at a height: over its own line rather than under another."""
    _, top, _, bottom = line.system.bbox
    return max(top - y, 2 * (y - bottom), 0.0)


def found(things: Sequence[Standing[Thing]], page: int, x: float, y: float, reach: float) -> Standing[Thing] | None:
    """The thing printed at a place, within `reach` points."""

    def away(one: Standing[Thing]) -> float:
        x0, y0, x1, y1 = one.thing.box
        return max(x0 - x, x - x1, y0 - y, y - y1, 0.0)

    near = [one for one in things if one.thing.page == page and away(one) <= reach]
    return min(near, key=away, default=None)
