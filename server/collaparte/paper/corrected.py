"""A reading with what a person said of its pages put in. Pure: the reading stays as it is, and so do the corrections.

Systems are set right first, then barlines, rests and numbers, then what stands at the bars; within each the later
correction counts. Whatever was not said stays as it was read, at the ink where it stands.
"""

from collections.abc import Sequence

import msgspec

from collaparte.paper import recount
from collaparte.paper.drawn_lines import BESIDE, ON_IT, Bar, Line, covered, line_at, line_drawn, lines_of
from collaparte.paper.reading import (
    SILENT,
    BarlineKind,
    Box,
    Ending,
    Mark,
    MultiRest,
    Reading,
    Sign,
    SignKind,
    Uncounted,
)
from collaparte.paper.said import bars_named, still_said
from collaparte.paper.shared import half_at
from collaparte.paper.things import Anchor, Standing, Thing, anchor, found, standing, take_up
from collaparte.wire.corrections import (
    BarlineHere,
    Correction,
    EndingHere,
    HalfHere,
    LineIsRight,
    MarkHere,
    NoBarline,
    NoEnding,
    NoMark,
    NoSign,
    NoSystem,
    NumberHere,
    Place,
    RestHere,
    Said,
    SignHere,
    SystemHere,
)

NEAR = 1.5
"""Staff spaces within which a printed mark or sign is the one meant."""
NOWHERE = "A correction on page {} found no line of music there any more: look at that page."
NO_HALF = (
    "One of the parts on page {} was to be taken, but they cannot be told apart there any more: look at that page."
)


def corrected(reading: Reading, corrections: Sequence[Correction]) -> Reading:
    """The reading as corrected; without corrections it is the reading itself.

    A correction that finds no line of music where it was made changes nothing and is told among the doubts.
    """
    if not corrections:
        return reading
    halves = [one.said for one in corrections if isinstance(one.said, HalfHere)]
    lost = []
    if halves:
        alone = half_at(reading, halves[-1].at)
        lost = [] if alone else [NO_HALF.format(halves[-1].at.page + 1)]
        reading = alone or reading
    others = [one.said for one in corrections if not isinstance(one.said, HalfHere)]
    out = _Correcting(reading).run(others) if others else reading
    return msgspec.structs.replace(out, doubts=(*lost, *out.doubts)) if lost else out


class _Correcting:
    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.lines = lines_of(reading)
        self.marks = standing(self.lines, reading.marks)
        self.signs = standing(self.lines, reading.signs)
        self.endings = standing(self.lines, reading.endings)
        self.tempos = standing(self.lines, reading.tempos)
        self.instructions = standing(self.lines, reading.instructions)
        self.changes = standing(self.lines, reading.changes)
        self.uncounted = [(anchor(self.lines, one.bar, "start"), one) for one in reading.uncounted]
        self.said = bars_named(reading, self.lines)
        self.lost: list[str] = []

    def run(self, said: Sequence[Said]) -> Reading:
        for one in said:
            if isinstance(one, SystemHere | NoSystem):
                self._system(one)
        self.lines.sort(key=lambda line: (line.page, line.system.bbox[1]))
        for one in said:
            if isinstance(one, BarlineHere | NoBarline):
                self._barline(one)
            elif isinstance(one, RestHere | LineIsRight):
                self._line_or_rest(one)
        for thing in self._all():
            thing.follow()
        pickup, known = self._count(said)
        for one in said:
            if isinstance(one, MarkHere | NoMark):
                self._mark(one)
            elif isinstance(one, SignHere | NoSign):
                self._sign(one)
            elif isinstance(one, EndingHere | NoEnding):
                self._ending(one)
        return self._whole(pickup, known)

    def _all(self) -> list[Standing[Mark] | Standing[Sign] | Standing[Ending]]:
        return [*self.marks, *self.signs, *self.endings]

    def _line(self, place: Place) -> Line | None:
        line = line_at(self.lines, place.page, place.x, place.y)
        if line is None:
            self.lost.append(NOWHERE.format(place.page + 1))
        return line

    def _system(self, said: SystemHere | NoSystem) -> None:
        if isinstance(said, NoSystem):
            line = line_at(self.lines, said.at.page, said.at.x, said.at.y)
            if line is not None:
                self._replace([line], None)
            return
        if said.page >= len(self.reading.pages):
            self.lost.append(NOWHERE.format(said.page + 1))
            return
        drawn = line_drawn(said.page, said.staves, self.lines)
        gone = covered(drawn.system.bbox, said.page, self.lines)
        self._replace(gone, drawn)
        self.lines.append(drawn)
        if not gone:
            take_up(self.marks, drawn, self.lines)
            take_up(self.signs, drawn, self.lines)
            take_up(self.tempos, drawn, self.lines)
            take_up(self.instructions, drawn, self.lines)
        self.lines.sort(key=lambda line: (line.page, line.system.bbox[1]))

    def _replace(self, gone: Sequence[Line], by: Line | None) -> None:
        """What stood at these lines stands at the new one, or falls with them."""
        self.lines = [line for line in self.lines if line not in gone]
        _move(self.marks, gone, by)
        _move(self.signs, gone, by)
        _move(self.endings, gone, by)
        _move(self.tempos, gone, by)
        _move(self.instructions, gone, by)
        _move(self.changes, gone, by)

    def _barline(self, said: BarlineHere | NoBarline) -> None:
        line = self._line(said.at)
        if line is None:
            return
        line.touched = True
        there = line.barline_near(said.at.x, ON_IT)
        if isinstance(said, NoBarline):
            if there is not None:
                line.take_barline(there)
            return
        x = said.at.x if said.to is None else said.to
        beside = line.barline_near(x, BESIDE)
        if said.to is not None and there is not None and beside is not None and beside is not there:
            line.take_barline(there)
        elif said.to is not None and there is not None:
            line.move_barline(there, x)
        elif beside is None:
            line.put_barline(x, BarlineKind(said.kind or BarlineKind.SINGLE))
        now = line.barline_near(x, BESIDE)
        if now is not None and said.kind:
            line.be_kind(now, BarlineKind(said.kind))

    def _line_or_rest(self, said: RestHere | LineIsRight) -> None:
        line = self._line(said.at)
        if line is None:
            return
        line.touched = True
        if isinstance(said, LineIsRight):
            line.settled = True
        elif bar := line.bar_holding(said.at.x):
            bar.count, bar.confidence = said.count, 1.0
            bar.starts_in_rest = bar.ends_in_rest = said.count > 1 or (bar.starts_in_rest and bar.ends_in_rest)
            bar.silence = (SILENT, SILENT) if said.count > 1 else bar.silence

    def _count(self, said: Sequence[Said]) -> tuple[bool, list[recount.Fact]]:
        numbers: dict[int, tuple[Line, Bar, int]] = {}
        for one in said:
            if isinstance(one, NumberHere) and (line := self._line(one.at)) and (bar := line.bar_holding(one.at.x)):
                numbers[id(bar)] = (line, bar, one.number)
        recount.count(self.lines, self.reading.pickup)
        behind = [
            (self.lines.index(line), line.bars.index(bar), one.fewer)
            for line, bar, one in self._behind()
            if one.leap is None
        ]
        known = recount.facts(self.lines, list(numbers.values()), behind)
        return recount.settle(self.lines, self.reading.pickup, known), known

    def _behind(self) -> list[tuple[Line, Bar, Uncounted]]:
        """The bars that still begin where one that goes by an earlier number was read."""
        out = []
        for at, one in self.uncounted:
            bar = at.line.bar_starting(at.x) if at.line in self.lines and at.line else None
            if at.line and bar and abs(bar.x0 - at.x) < ON_IT * at.line.space:
                out.append((at.line, bar, msgspec.structs.replace(one, bar=bar.number)))
        return out

    def _start(self, place: Place) -> Anchor | None:
        """The start of the bar that begins nearest to a place."""
        line = self._line(place)
        bar = line.bar_starting(place.x) if line else None
        return Anchor(line, bar.x0, "start") if bar else None

    def _reach(self, place: Place) -> float:
        line = line_at(self.lines, place.page, place.x, place.y)
        return NEAR * (line.space if line else 5.0)

    def _box(self, place: Place, letters: int) -> Box:
        """About what so many letters take, printed around a place."""
        half = self._reach(place) / NEAR
        return (
            place.x - 0.8 * half * letters,
            place.y - 1.2 * half,
            place.x + 0.8 * half * letters,
            place.y + 1.2 * half,
        )

    def _mark(self, said: MarkHere | NoMark) -> None:
        there = found(self.marks, *_at(said.at), self._reach(said.at))
        if isinstance(said, NoMark):
            if there is not None:
                self.marks.remove(there)
            return
        at = self._start(said.to or said.at) if said.to or there is None else there.at
        if at is None:
            return
        if there is None:
            box = self._box(said.at, len(said.text))
            self.marks.append(Standing(Mark(said.text, 0, said.at.page, box), at))
        else:
            there.thing = msgspec.structs.replace(there.thing, text=said.text, confidence=1.0)
            there.at = at

    def _sign(self, said: SignHere | NoSign) -> None:
        there = found(self.signs, *_at(said.at), self._reach(said.at))
        if isinstance(said, NoSign):
            if there is not None:
                self.signs.remove(there)
            return
        place = said.to or said.at
        line = self._line(place)
        bar = (line.bar_starting if said.edge == "start" else line.bar_ending)(place.x) if line else None
        if there is not None and said.to is None and there.thing.at == said.edge:
            at = there.at
        elif bar is None:
            return
        else:
            at = Anchor(line, bar.x0 if said.edge == "start" else bar.x1, "start" if said.edge == "start" else "end")
        kind = SignKind(said.kind)
        if there is None:
            self.signs.append(Standing(Sign(kind, 0, said.edge, said.at.page, self._box(said.at, 2)), at))
        else:
            there.thing = msgspec.structs.replace(there.thing, kind=kind, at=said.edge, confidence=1.0)
            there.at = at

    def _ending(self, said: EndingHere | NoEnding) -> None:
        line = self._line(said.at)
        bar = line.bar_holding(said.at.x) if line else None
        if line is None or bar is None:
            return
        meant = said.instead if isinstance(said, EndingHere) and said.instead else said.at
        there = self._ending_at(meant) or self._ending_at(said.at)
        if isinstance(said, NoEnding):
            if there is not None:
                self.endings.remove(there)
            return
        until = self._line(said.until)
        last = until.bar_holding(said.until.x) if until else None
        if until is None or last is None:
            return
        first, end = Anchor(line, bar.x0, "start"), Anchor(until, last.x1, "end")
        if there is None:
            sp, top = line.space, line.system.bbox[1]
            right = last.x1 if until is line else line.system.bbox[2]
            box = (bar.x0, top - 4 * sp, right, top - 2 * sp)
            thing = Ending(min(said.passes), said.passes, bar.number, last.number, said.at.page, box)
            self.endings.append(Standing(thing, first, end))
        else:
            there.thing = msgspec.structs.replace(
                there.thing, number=min(said.passes), passes=said.passes, confidence=1.0
            )
            there.at, there.last = first, end

    def _ending_at(self, place: Place) -> Standing[Ending] | None:
        """The ending that the bar at a place is in."""
        line = self._line(place)
        bar = line.bar_holding(place.x) if line else None
        spans = [(one, one.now()) for one in self.endings] if bar else []
        return next((one for one, now in spans if bar and now.bar <= bar.number <= now.last_bar), None)

    def _whole(self, pickup: bool, known: Sequence[recount.Fact]) -> Reading:
        parted = self._parted(known)
        sure, doubts = recount.confidence(self.lines, known, parted)
        pages = list(self.reading.pages)
        for n, page in enumerate(pages):
            own = [at for at, line in enumerate(self.lines) if line.page == n]
            systems = tuple(self.lines[at].as_system(sure[at], doubts[at]) for at in own)
            why = "" if systems else page.as_printed
            pages[n] = msgspec.structs.replace(page, systems=systems, as_printed=why)
        bars = max((bar.number + bar.count - 1 for line in self.lines for bar in line.bars), default=0)
        marks = _sorted(self.marks)
        uncounted = [one for line, bar, one in self._behind() if one.leap is None or self._stays(line, bar, known)]
        uncounted += [
            Uncounted(self.lines[one.at[0]].bars[one.at[1]].number, one.fewer, leap=one.leap)
            for one in parted
            if one.leap
        ]
        uncounted.sort(key=lambda one: one.bar)
        return msgspec.structs.replace(
            self.reading,
            bars=bars,
            pickup=pickup,
            marks=tuple(marks),
            multirests=tuple(self._rests()),
            signs=tuple(_sorted(self.signs)),
            endings=tuple(_sorted(self.endings)),
            tempos=tuple(_sorted(self.tempos)),
            instructions=tuple(_sorted(self.instructions)),
            changes=tuple(thing.now() for thing in self.changes),
            pages=tuple(pages),
            confidence=min(sure, default=0.0),
            doubts=(*still_said(self.reading, self.said, self.lines, doubts, marks, uncounted), *self.lost),
            uncounted=tuple(uncounted),
        )

    def _stays(self, line: Line, bar: Bar, known: Sequence[recount.Fact]) -> bool:
        """Whether numbers leap there still: no number at a line's head stands behind, and nobody called it right."""
        last = known[-1][:2] if known else (-1, 0)
        return not line.settled and (self.lines.index(line), line.bars.index(bar)) > last

    def _parted(self, known: Sequence[recount.Fact]) -> list[recount.Parting]:
        leapt = [
            (self.lines.index(line), line.bars.index(bar), one.leap) for line, bar, one in self._behind() if one.leap
        ]
        scanned = any(page.scanned for page in self.reading.pages)
        return recount.partings(self.lines, known, leapt, scanned=scanned)

    def _rests(self) -> list[MultiRest]:
        out = []
        for line in self.lines:
            _, top, _, bottom = line.system.bbox
            for bar in line.bars:
                if bar.count > 1 and not bar.continued:
                    box = next((r.box for r in self.reading.multirests if _over(r, line, bar)), None)
                    box = box or (bar.x0, top, bar.x1, bottom)
                    out.append(MultiRest(bar.number, bar.count, line.page, box, bar.confidence))
        return out


def _at(place: Place) -> tuple[int, float, float]:
    return place.page, place.x, place.y


def _move(things: list[Standing[Thing]], gone: Sequence[Line], by: Line | None) -> None:
    for thing in list(things):
        at, last = thing.at, thing.last
        if by is None and at.line in gone:
            things.remove(thing)
        elif at.line in gone:
            at.line = by
        if last is not None and last.line in gone:
            last.line = by or at.line


def _over(rest: MultiRest, line: Line, bar: Bar) -> bool:
    x, y = (rest.box[0] + rest.box[2]) / 2, (rest.box[1] + rest.box[3]) / 2
    _, top, _, bottom = line.system.bbox
    reach = 6 * line.space
    return rest.page == line.page and bar.x0 < x < bar.x1 and top - reach < y < bottom + reach


def _sorted(things: Sequence[Standing[Thing]]) -> list[Thing]:
    return sorted((thing.now() for thing in things), key=lambda thing: (thing.bar, thing.page, thing.box))
