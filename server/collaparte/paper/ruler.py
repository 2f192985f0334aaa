"""From readings to the ruler: what of a part can be compared with others, and the chart that agreeing parts make.

Positions are 0-based places in document order, the pickup included.
"""

from collections import Counter
from collections.abc import Callable, Container, Iterator, Sequence
from itertools import pairwise
from typing import Literal, NamedTuple, TypeVar

import msgspec

from collaparte.music import barsigns
from collaparte.music.jumpwords import Asked, asked, is_open, times_of
from collaparte.music.scorerepeats import behind_final
from collaparte.music.scoresigns import chart_signs, with_turns
from collaparte.paper.reading import Barline, BarlineKind, Reading, Sign, System
from collaparte.wire.chart import BarId, Chart, ChartBar, ChartEnding, ChartMark, ChartMeter, ChartRepeat
from collaparte.wire.outline import Outline

Side = Literal["start", "end"]

STARTS = (BarlineKind.REPEAT_START, BarlineKind.REPEAT_BOTH)
ENDS = (BarlineKind.REPEAT_END, BarlineKind.REPEAT_BOTH)


class _Mark(NamedTuple):
    at: int
    text: str


class _Sign(NamedTuple):
    at: int
    kind: str
    edge: Side

    @property
    def base(self) -> str:
        """The kind without where it leads."""
        return barsigns.base_of(self.kind)


class _Repeat(NamedTuple):
    at: int
    side: Side


class _Ending(NamedTuple):
    at: int
    last: int
    passes: tuple[int, ...]


class _Fewer(NamedTuple):
    at: int
    fewer: int
    rest: bool


_Thing = TypeVar("_Thing", _Mark, _Sign, _Repeat, _Ending, _Fewer, int)


def outline(reading: Reading) -> Outline:
    """What of a part can be compared with the other parts of its tune."""
    signs = {(f"repeat {r.side}", r.at + (r.side == "end")) for r in _repeats(reading)}
    signs |= {("double bar", after) for after in _after(reading, (BarlineKind.DOUBLE,))}
    signs |= {(s.kind, s.at + (s.edge == "end")) for s in _signs(reading)}
    signs |= {(_ending(e.passes), e.at) for e in _endings(reading)}
    return Outline(
        reading.positions,
        reading.pickup,
        tuple((mark.text, mark.at) for mark in sorted(_marks(reading))),
        tuple(sorted(signs, key=lambda sign: (sign[1], sign[0]))),
        tuple((one.at, one.fewer) for one in _uncounted(reading)),
    )


def chart_outline(ruler: Chart) -> Outline:
    """What of a ruler can be compared with a part; it knows of no double bars."""
    at = {bar.id: n for n, bar in enumerate(ruler.bars)}
    signs = {(f"repeat {r.side}", at[r.bar] + (r.side == "end")) for r in ruler.repeats}
    signs |= {(s.kind, at[s.bar] + (s.at == "end")) for s in ruler.signs}
    signs |= {(_ending(e.passes), at[e.bar]) for e in ruler.endings}
    pickup = bool(ruler.bars) and ruler.bars[0].number == 0
    numbers = [-pickup, *(bar.number for bar in ruler.bars)]
    return Outline(
        len(ruler.bars),
        pickup,
        tuple(sorted(((mark.text, at[mark.bar]) for mark in ruler.marks), key=lambda mark: mark[1])),
        tuple(sorted(signs, key=lambda sign: (sign[1], sign[0]))),
        tuple((n, one + 1 - two) for n, (one, two) in enumerate(pairwise(numbers)) if two != one + 1),
    )


def chart(readings: Sequence[Reading], ids: Sequence[BarId]) -> Chart:
    """The ruler that parts of one length make, the best first; `ids`: one a bar, in document order.

    A mark or sign holds when at least half of the parts have it; on scans, when more than half. Raises ValueError when
    the lengths differ.
    """
    if any(reading.positions != len(ids) for reading in readings):
        raise ValueError("the parts that make a ruler have as many bars as there are ids")
    first = 0 if readings[0].pickup else 1
    signs = [(sign.at, _as_said(sign, readings)) for sign in _held(readings, _signs)]
    signs = sorted([*signs, *_boxed(readings, {sign.base for _, sign in signs})], key=lambda one: one[0])
    again = next((sign.again for _, sign in signs if sign.again is not None), None)
    made = Chart(
        bars=tuple(_bars(readings, ids, first)),
        marks=tuple(ChartMark(mark.text, ids[mark.at]) for mark in _one_a_bar(readings)),
        signs=chart_signs(signs, ids),
        repeats=tuple(
            ChartRepeat(repeat.side, ids[repeat.at], times, again if repeat.side == "end" else None)
            for repeat, times in _with_times(_held(readings, _repeats), readings)
        ),
        endings=tuple(ChartEnding(e.passes, ids[e.at], ids[e.last]) for e in _held(readings, _endings)),
        meters=tuple(ChartMeter(meter.text, ids[meter.at]) for meter in _held(readings, _meters)),
        tempo=next((r.tempos[0].text for r in readings if r.tempos and r.tempos[0].bar <= 1), ""),
    )
    return msgspec.structs.replace(made, signs=with_turns(made, signs))


def _boxed(readings: Sequence[Reading], bases: Container[str]) -> Iterator[tuple[int, barsigns.Sign]]:
    """Marks that say "Coda" where one leaves for a coda and no sign says where to land (common practice)."""
    if "to-coda" in bases and "coda" not in bases:
        for mark in _one_a_bar(readings):
            said = asked(mark.text)
            if said and said.kind == "coda":
                yield mark.at, barsigns.Sign("coda", "start", label=said.coda)


def _as_said(sign: _Sign, readings: Sequence[Reading]) -> barsigns.Sign:
    """A sign with what its words name (which segno or coda, which time), as the best of the parts have it."""
    same = (one.text for reading in readings for one in reading.signs if _placed(reading, one) == sign)
    said = [found for text in same if (found := asked(text)) and barsigns.base_of(found.kind) == sign.base]
    says = max(said, key=lambda one: len(set(one[1:])), default=Asked(sign.kind))
    if sign.base in ("segno", "coda"):
        return barsigns.Sign(sign.kind, sign.edge, label=says.segno or says.coda)
    jump = sign.base in ("ds", "dc")
    label = says.segno if jump else says.coda
    return barsigns.Sign(
        sign.kind,
        sign.edge,
        "",
        label,
        says.passes,
        says.coda if jump else "",
        says.last,
        says.again,
        says.often,
        says.ending,
    )


def _bars(readings: Sequence[Reading], ids: Sequence[BarId], first: int) -> Iterator[ChartBar]:
    """The bars with the numbers that musicians call them by."""
    behind = {fewer.at: fewer for fewer in _held(readings, _uncounted)}
    number = first
    for n, bar in enumerate(ids):
        fewer = behind.get(n)
        number -= fewer.fewer if fewer else 0
        yield ChartBar(bar, number, counted=fewer is None or not fewer.rest)
        number += 1


def _held(readings: Sequence[Reading], found: Callable[[Reading], Iterator[_Thing]]) -> list[_Thing]:
    votes = Counter(thing for reading in readings for thing in set(found(reading)))
    return sorted((thing for thing, count in votes.items() if _enough(count, readings)))


def _enough(votes: int, readings: Sequence[Reading]) -> bool:
    """Whether so many parts carry a thing; what one of two scans has may be misread."""
    scans = all(any(page.scanned for page in reading.pages) for reading in readings)
    return 2 * votes > len(readings) - (not scans)


def _one_a_bar(readings: Sequence[Reading]) -> list[_Mark]:
    """The marks that hold, each under the name that most parts give it (the best part's, if they are even)."""
    found: dict[int, Counter[str]] = {}
    for reading in readings:
        for mark in _marks(reading):
            found.setdefault(mark.at, Counter())[mark.text] += 1
    return [
        _Mark(at, names.most_common(1)[0][0]) for at, names in sorted(found.items()) if _enough(names.total(), readings)
    ]


def _position(reading: Reading, number: int) -> int:
    """The place of the bar that musicians call `number`, kept within the part."""
    return min(max(number - (0 if reading.pickup else 1), 0), reading.positions - 1)


def _marks(reading: Reading) -> Iterator[_Mark]:
    for mark in reading.marks:
        yield _Mark(_position(reading, mark.bar), mark.text)


def _meters(reading: Reading) -> Iterator[_Mark]:
    for change in reading.changes:
        if change.meter:
            yield _Mark(_position(reading, change.bar), change.meter)


def _signs(reading: Reading) -> Iterator[_Sign]:
    for sign in reading.signs:
        yield _placed(reading, sign)


def _placed(reading: Reading, sign: Sign) -> _Sign:
    return _Sign(_position(reading, sign.bar), sign.kind.value, "end" if sign.at == "end" else "start")


def _endings(reading: Reading) -> Iterator[_Ending]:
    for ending in reading.endings:
        first, last = _position(reading, ending.bar), _position(reading, ending.last_bar)
        yield _Ending(first, max(first, last), ending.passes)


def _uncounted(reading: Reading) -> Iterator[_Fewer]:
    for one in reading.uncounted:
        yield _Fewer(_position(reading, one.bar), one.fewer, one.rest)


def _ending(passes: tuple[int, ...]) -> str:
    return f"ending {','.join(map(str, passes))}"


def _repeats(reading: Reading) -> Iterator[_Repeat]:
    for after in _after(reading, ENDS):
        if after > 0:
            yield _Repeat(after - 1, "end")
    for before in _after(reading, STARTS):
        if before < reading.positions:
            yield _Repeat(before, "start")


def _finals(reading: Reading) -> Iterator[int]:
    for after in _after(reading, (BarlineKind.FINAL,)):
        yield after - 1


def _with_times(repeats: Sequence[_Repeat], readings: Sequence[Reading]) -> Iterator[tuple[_Repeat, int]]:
    """The repeats with how often at least half of the parts say in words that each is played ("3x"); else twice."""
    said = [list(_counts(reading)) for reading in readings]
    finals = _held(readings, _finals)
    first, begun = 0, False
    for repeat in sorted(repeats, key=lambda one: (one.at + (one.side == "end"), one.side == "start")):
        times = 2
        if repeat.side == "end":
            closed = first if begun else behind_final(first, repeat.at, finals)
            if closed != first:
                first = closed
                yield _Repeat(first, "start"), times
            span = range(first, repeat.at + 1)
            votes = Counter(next((n for at, n in own if at in span), 2) for own in said)
            most, count = votes.most_common(1)[0]
            times = most if 2 * count >= len(readings) else 2
        yield repeat, times
        first, begun = repeat.at + (repeat.side == "end"), repeat.side == "start"


def left_open(reading: Reading) -> Iterator[tuple[str, int]]:
    """Words over repeated bars that leave it to a cue how often they are played, with the number of the last of these
    bars."""
    begun = 0
    said = [(one.text, _position(reading, one.bar)) for one in reading.instructions if is_open(one.text)]
    for after in sorted(_after(reading, ENDS)) if said else ():
        begun = max((start for start in _after(reading, STARTS) if begun <= start < after), default=begun)
        yield from ((text, after - (1 if reading.pickup else 0)) for text, at in said if begun <= at < after)
        begun = after


def _counts(reading: Reading) -> Iterator[tuple[int, int]]:
    for one in reading.instructions:
        times = times_of(one.text)
        if times:
            yield _position(reading, one.bar), times


def _after(reading: Reading, kinds: Sequence[BarlineKind]) -> set[int]:
    """The positions of the bars that begin at barlines of these kinds (the number of bars for the last barline)."""
    found = set()
    for page in reading.pages:
        for system in page.systems:
            found |= {_next(system, barline) for barline in system.barlines if barline.kind in kinds and system.bars}
    return found


def _next(system: System, barline: Barline) -> int:
    """The position of the bar that begins at a barline."""
    bars = system.bars
    if barline.line_start:
        return bars[0].index - 1
    before = [bar for bar in bars if (bar.x0 + bar.x1) / 2 < barline.x]
    return before[-1].index - 1 + before[-1].count if before else bars[0].index - 1
