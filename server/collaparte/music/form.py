"""Form: the order in which the bars are played as written, from the signs of a chart.

Conventions followed where the signs alone do not decide:
- After a D.C. or D.S. repeats are not taken again (Humdrum expansion list of Beethoven op. 18/1 iii) and first endings
  are skipped (High-Yield Music Theory vol. 1, 1.8), unless the chart says so, or somebody does with
  `repeats_after_jump`, which holds over the print. A repeat that one comes to for the first time, behind a D.S. or in a
  coda, is taken (common practice).
- Where no D.C. or D.S. leads to a To Coda, it is left at on the last time through its repeat (common practice; by the
  text of MusicXML 4.0, `sound@tocoda`, on the second).
- A D.C. or D.S. is taken the first time it is reached, once (MusicXML 4.0, `sound@dacapo`, `sound@dalsegno`), unless
  it names its passes (`sound@time-only`): times through its bar, counted over the whole order.
"""

from collections.abc import Iterable
from contextlib import suppress
from typing import NamedTuple

import msgspec

from collaparte.music.jumps import Jump, Jumps, jumps
from collaparte.music.ruler import bar_in_words
from collaparte.music.sections import Ending, Nonsense, Section, Sections, sections
from collaparte.music.words import ordinal
from collaparte.wire.chart import BarId, Chart

LONGEST = 20_000
"""Bars of an order; more come only of misread counts (a show's book has some 5,000)."""


class Step(NamedTuple):
    """One bar of an order and which time through it this is, counted from 1 over the whole order."""

    bar: BarId
    pass_: int


def run_length(positions: Iterable[int]) -> str:
    """Positions one after the other, written short: "1-34 19-33 35"."""
    runs: list[list[int]] = []
    for position in positions:
        if runs and runs[-1][1] == position - 1:
            runs[-1][1] = position
        else:
            runs.append([position, position])
    return " ".join(str(first) if first == last else f"{first}-{last}" for first, last in runs)


class Written(msgspec.Struct, frozen=True):
    """The written order; `diagnosis` says in sentences what could not be followed, "" if nothing.

    `again`, `jumped`: positions (0-based) at which a repeat begins once more, and at which a D.S. or D.C. has landed.
    `closed`: those of the last bars of repeats, in their last time.
    """

    steps: tuple[Step, ...]
    diagnosis: str = ""
    again: tuple[int, ...] = ()
    jumped: tuple[int, ...] = ()
    closed: tuple[int, ...] = ()


def written_order(chart: Chart, *, repeats_after_jump: bool | None = None) -> Written:
    """The order of a chart that has no `ruler.fault`; signs that contradict each other give the bars as printed.

    `repeats_after_jump`: whether all repeats are taken again after a D.S. or D.C.; None: as the chart says.
    """
    try:
        repeated, jumped = sections(chart), jumps(chart)
        walk, note = _walked(chart, repeated, jumped, repeats_after_jump)
    except Nonsense as nonsense:
        return Written(_steps(chart, range(len(chart.bars))), f"{nonsense} The bars stand in printed order.")
    notes = " ".join(filter(None, (*repeated.notes, *jumped.notes, *walk.notes(), note)))
    return Written(_steps(chart, walk.walked), notes, tuple(walk.again), tuple(walk.jumped), tuple(walk.closed))


def _walked(chart: Chart, repeated: Sections, jumped: Jumps, again: bool | None) -> tuple["_Walk", str]:
    """The walk that comes to all jumps, if one does, and a sentence about it or ""; raises `Nonsense`."""
    walk = _Walk(chart, repeated, jumped, again)
    try:
        walk.go()
    except Nonsense as astray:
        # A Fine or To Coda in a first ending is come to only where repeats are taken again.
        walk = _Walk(chart, repeated, jumped, True)
        try:
            walk.go()
        except Nonsense:
            raise astray from None
        return walk, f"{str(astray).removesuffix('.')} by last endings, so repeats are taken again."
    if not walk.missed():
        return walk, ""
    # "2nd time to Coda" in a repeat, and a D.S. behind it: the second time is the one after the D.S.
    others = [jumped.without_turns()] if any(spot.passes for spot in jumped.to_codas.values()) else []
    # A plain D.C. or D.S. in front of another goes past Fine and To Coda, or that other would be there for nothing.
    for other in (*others, jumped.as_said()):
        instead = _Walk(chart, repeated, other, again)
        with suppress(Nonsense):
            instead.go()
            if not instead.missed():
                return instead, ""
    return walk, ""


def repeated_after_jump(chart: Chart, written: Written) -> bool | None:
    """Whether an order of this chart takes all repeats again after its jumps; None: it would be the same order."""
    if not (written.jumped and written.again):
        return None
    again, straight = (written_order(chart, repeats_after_jump=taken) for taken in (True, False))
    return None if again.steps == straight.steps else written.steps == again.steps


def _steps(chart: Chart, order: range | list[int]) -> tuple[Step, ...]:
    ids, came = [bar.id for bar in chart.bars], [0] * len(chart.bars)
    steps = []
    for index in order:
        came[index] += 1
        steps.append(Step(ids[index], came[index]))
    return tuple(steps)


class _Walk:
    """One walk through a chart, bar after bar, as a player's eye goes."""

    def __init__(self, chart: Chart, repeated: Sections, jumped: Jumps, repeats_after_jump: bool | None) -> None:
        self.chart = chart
        self.jumps = jumped
        self.repeats_after_jump = repeats_after_jump
        self.sections = repeated.sections
        self.section_at: list[Section | None] = [None] * len(chart.bars)
        for section in repeated.sections:
            for index in range(section.first, section.last + 1):
                self.section_at[index] = section
        self.jump_at: dict[int, list[Jump]] = {}
        for jump in jumped.jumps:
            self.jump_at.setdefault(jump.edge, []).append(jump)
        self.section: Section | None = None
        self.jumped_from: Section | None = None
        self.names: Jump | None = None
        """A jump that names an ending, until one comes to endings."""
        self.called: Ending | None = None
        """The ending that was named, while one is on the way to it."""
        self.told: list[str] = []
        self.time = 1
        """Which time through the section."""
        self.came = [0] * len(chart.bars)
        """How often each bar has come."""
        self.walked: list[int] = []
        """0-based bar indices in the order played."""
        self.stops = self._stops()
        self.taken: list[Jump] = []
        self.left_at: set[int] = set()
        """Edges of To Coda signs that were followed."""
        self.owes = ""
        """What the last jump is on its way to: "coda", "fine" or ""."""
        self.again: list[int] = []
        self.closed: list[int] = []
        """Positions in the order at which a repeat begins once more."""
        self.jumped: list[int] = []
        """Positions in the order at which a jump has landed."""

    def go(self) -> None:
        """Walk; raises `Nonsense`."""
        order = self.walked
        index: int | None = self._enter(0)
        while index is not None and index < len(self.chart.bars):
            last = self.stops[index]
            order += range(index, last + 1)
            for bar in range(index, last + 1):
                self.came[bar] += 1
            if len(order) > LONGEST:
                raise Nonsense(f"The repeats come to more than {LONGEST} bars.")
            index = self._after(last)
        self._settle()

    def _stops(self) -> list[int]:
        """For each bar the first one, itself or later, behind which something may happen but the next bar."""
        edges = {len(self.chart.bars), *self.jumps.fines, *self.jumps.to_codas, *self.jump_at}
        for section in self.sections:
            edges |= {section.first, section.last + 1, *(end + 1 for end in section.ends)}
            edges |= {edge for ending in section.endings for edge in (ending.first, ending.last + 1)}
        stops, stop = [0] * len(self.chart.bars), 0
        for bar in reversed(range(len(self.chart.bars))):
            stop = bar if bar + 1 in edges else stop
            stops[bar] = stop
        return stops

    def missed(self) -> list[Jump]:
        """Jumps that the walk never came to."""
        return [jump for jump in self.jumps.jumps if jump not in self.taken]

    def notes(self) -> list[str]:
        """Sentences about jumps that the walk never came to, and about a To Coda that no jump leads to."""
        notes = [f"The {jump.name} at {self._bar(jump.edge - 1)} is never reached." for jump in self.missed()]
        notes += self.told
        for edge, spot in self.jumps.to_codas.items():
            if not self.jumps.jumps and not (spot.passes and edge in self.left_at):
                orphan = f"There is a To Coda at {self._bar(edge - 1)} but no D.S. or D.C. that leads to it"
                notes.append(f"{orphan}; it is taken the last time." if edge in self.left_at else f"{orphan}.")
        return notes

    def _enter(self, index: int) -> int:
        """Go to this bar, or to the ending whose turn it is."""
        if index >= len(self.chart.bars):
            return index
        section = self.section_at[index]
        if section is not self.section:
            self.section = section
            self.time = self._time(section, index) if section else 1
        if section and section.endings and index == section.endings[0].first:
            ending = section.ending_on(self.time)
            return ending.first if ending else self._enter(section.last + 1)
        return index

    def _time(self, section: Section, index: int) -> int:
        """Which time through a section it is when one comes to it, or jumps to a bar of it, anew."""
        if not self.came[index] or self._again(section):
            return 1
        if self.names and section.endings:
            jump, self.names = self.names, None
            self.called = self._called(section, jump)
            if self.called:
                return min(self.called.passes)
        return min(self.came[index] + 1, section.times) if section is self.jumped_from else section.times

    def _called(self, section: Section, jump: Jump) -> Ending | None:
        """The ending of a section that a jump names; None: the last one, which is taken anyway."""
        ending = section.ending_called(jump.ending)
        names = self._names(jump)
        if ending is None:
            where = self._bar(section.endings[0].first)
            self.told.append(f"{names}, but from {where} on there is none; the last is taken.")
        elif ending is not section.endings[-1]:
            self.told.append(f"{names}; from there on the order goes on behind the last one.")
            return ending
        return None

    def _names(self, jump: Jump) -> str:
        return f"The {jump.name} at {self._bar(jump.edge - 1)} names the {ordinal(jump.ending)} ending"

    def _after(self, index: int) -> int | None:
        """The bar after this one; None: it was the last."""
        edge, section, time = index + 1, self.section, self.came[index]
        fine, leave = self.jumps.fines.get(edge), self.jumps.to_codas.get(edge)
        ends = fine and (time in fine.passes if fine.passes else self._may_end())
        leaves = leave and (time in leave.passes if leave.passes else self._may_leave(edge))
        back = section and index in section.ends and self.time < section.times and not self.called
        if section and back and not ((ends or leaves) and self._only_now(section, index)):
            self.time += 1
            self.again.append(len(self.walked))
            return self._enter(section.first)
        if section and (index in section.ends or any(index == ending.last for ending in section.endings)):
            self.closed.append(len(self.walked) - 1)
            self.called = None
        if ends:
            self.owes = ""
            return None
        if leaves:
            coda = self.jumps.coda_after(self._jump(), edge)
            if coda is not None:
                self.left_at.add(edge)
                self.owes = ""
                return self._land(coda)
        for jump in self.jump_at.get(edge, ()):
            if time in jump.passes if jump.passes else jump not in self.taken:
                if jump != self._jump():
                    self._settle()
                self.taken.append(jump)
                self.jumped.append(len(self.walked))
                self.owes = jump.until
                return self._land(jump.target, jump)
        if section and any(index == ending.last for ending in section.endings):
            return self._enter(section.last + 1)
        return self._enter(edge)

    def _again(self, section: Section) -> bool:
        """Whether a section's repeats are taken after a jump."""
        said = self.repeats_after_jump
        return bool(section.after_jump if said is None else said and section.ends)

    def _only_now(self, section: Section, index: int) -> bool:
        """Whether a bar stands in an ending that is not played at any later time."""
        ending = next((one for one in section.endings if one.first <= index <= one.last), None)
        return ending is not None and max(ending.passes) <= self.time

    def _may_end(self) -> bool:
        """Whether a Fine that names no pass holds now: after a jump, unless that is on its way elsewhere."""
        return bool(self.taken) and self._last_taken() and self.owes != "coda" and self._as_said("fine")

    def _as_said(self, until: str) -> bool:
        """Whether the last jump may lead to a Fine or coda."""
        return not self.jumps.only_as_said or self.owes == until or not self.missed()

    def _may_leave(self, edge: int) -> bool:
        """Whether a To Coda that names no pass holds now: once, after a jump to it; or, without any, the last time."""
        if edge in self.left_at:
            return False
        if self.jumps.jumps:
            led = bool(self.taken) and self._last_taken() and self.owes != "fine" and self._as_said("coda")
            return led and self.jumps.leads_to(self._jump(), edge)
        return self.section is not None and 1 < self.section.times == self.time

    def _last_taken(self) -> bool:
        """Whether the last jump is not to be taken again: "D.S. al Coda, twice" leads to the coda the second time."""
        jump = self._jump()
        return jump is None or not jump.passes or self.came[jump.edge - 1] >= max(jump.passes)

    def _jump(self) -> Jump | None:
        return self.taken[-1] if self.taken else None

    def _land(self, index: int, jump: Jump | None = None) -> int:
        self.jumped_from, self.section = self.section, None
        self.names, self.called = jump if jump and jump.ending else None, None
        return self._enter(index)

    def _settle(self) -> None:
        """A jump that promised a coda or a Fine must have come to it."""
        if self.names:
            self.told.append(f"{self._names(self.names)}, but comes to no endings.")
            self.names = None
        if self.owes:
            jump, sign = self.taken[-1], {"coda": "To Coda", "fine": "Fine"}[self.owes]
            raise Nonsense(f"The {jump.name} at {self._bar(jump.edge - 1)} never comes to a {sign}.")

    def _bar(self, index: int) -> str:
        return bar_in_words(self.chart.bars[max(index, 0)])
