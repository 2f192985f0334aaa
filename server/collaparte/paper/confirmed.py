"""Scanned lines that the rest of the tune bears out: its other parts, or its score, have the same bars there. Pure.

Two parts of a tune are other ink, engraved and scanned apart: what is misread on one is hardly misread on the other
just so. Between two places that a scan and the tune both know (beginning, end, marks) as many bars on both sides mean
that every barline was found, unless one was missed and another was one too many; lines with a weak sign are not taken
for that reason. A printed number that says otherwise is overruled only when the tune bears out the whole part.
"""

from collections.abc import Iterator
from itertools import pairwise
from typing import TypeVar

from msgspec.structs import replace

from collaparte.music.align import key
from collaparte.music.consensus import beside
from collaparte.paper.doubts import MISMATCH
from collaparte.paper.reading import (
    BLURRED,
    SURE,
    BarBox,
    Change,
    Instruction,
    Mark,
    MultiRest,
    PageReading,
    Reading,
    Sign,
    System,
    TempoWord,
    Uncounted,
)
from collaparte.paper.ruler import outline
from collaparte.wire.outline import Outline

CONFIRMED = 0.995
"""Confidence of a line that the tune bears out (measured: docs/explanation/reading-measured.md)."""
PROVEN = 0.98
"""A scan whose lines are all so sure has printed numbers that bear it out: it goes into a tune by itself, others only
when the tune, or a person, bears them out."""
CONTRADICTED = 0.8
"""Confidence of a line at most whose bars the tune has at other places, where no printed number bears it out."""
ELSEWHERE = "The tune has other bars where line {} of page {} stands: look at its barlines and rests."
CLEAR = 0.9
"""A barline or a rest's count that is less likely leaves its line in doubt, whatever the tune says."""


def is_scan(reading: Reading) -> bool:
    """Whether some of its lines were seen on a picture."""
    return any(page.scanned and page.systems for page in reading.pages)


def all_sure(reading: Reading) -> Reading:
    """The reading of a part that its tune bears out whole: all lines of its scanned pages are called sure."""
    pages = tuple(
        replace(page, systems=tuple(replace(s, confidence=max(s.confidence, SURE)) for s in page.systems))
        if page.scanned
        else page
        for page in reading.pages
    )
    return replace(reading, pages=pages)


def confirmed(reading: Reading, tune: Outline) -> Reading:
    """The reading with those scanned lines called sure that the `tune` bears out, and those in doubt whose bars it has
    elsewhere; others stay as they are.

    Where both have as many bars, the tune says whether the first is a pickup: a scan seldom does.
    """
    if reading.confidence >= PROVEN or not is_scan(reading):
        return reading
    if reading.positions == tune.bars and reading.pickup != tune.pickup:
        reading = _renumbered(reading, tune.pickup)
    sure = set(_stretches(reading, tune))
    reading = _contradicted(reading, set(_elsewhere(reading, tune)))
    pages, lines = _borne_out(reading, sure, overrule=True)
    if not all(line.confidence >= PROVEN for line in lines):
        pages, lines = _borne_out(reading, sure, overrule=False)
    settled = {line.doubt for page in reading.pages for line in page.systems} - {line.doubt for line in lines}
    return replace(
        reading,
        pages=pages,
        confidence=min((line.confidence for line in lines), default=0.0),
        doubts=tuple(words for words in reading.doubts if words not in settled),
    )


def _stretches(reading: Reading, tune: Outline) -> Iterator[int]:
    """The places of the bars that stand where the tune has them, between two things that both know.

    Bars are compared by their numbers: a scan whose pickup was not seen has the others where the tune has them.
    """
    mine = outline(reading)
    shift = mine.pickup - tune.pickup
    astray = _astray(mine, tune, shift) | _guessed(reading)
    low, high = _too_few(reading), _too_many(reading)
    for one, two in pairwise(beside(mine, tune).anchors):
        span = range(one.part, two.part)
        steady = one.part - one.ruler == two.part - two.ruler == shift and (one.mark or not shift)
        # A barline that was missed and one that is none come to the right total together.
        if steady and astray.isdisjoint(span) and (low.isdisjoint(span) or high.isdisjoint(span)):
            yield from (at for at in span if at or not shift)


def _elsewhere(reading: Reading, tune: Outline) -> Iterator[int]:
    """The places of the bars between two things that both know, one of which the tune has at another place."""
    mine = outline(reading)
    shift = mine.pickup - tune.pickup
    for one, two in pairwise(beside(mine, tune).anchors):
        if not one.part - one.ruler == two.part - two.ruler == shift:
            yield from range(one.part, two.part)


def _contradicted(reading: Reading, elsewhere: set[int]) -> Reading:
    """The reading with the lines that hold such bars in doubt."""
    said: list[str] = []

    def line(system: System, n: int, page: int) -> System:
        if not SURE <= system.confidence < PROVEN or _places(system, reading).isdisjoint(elsewhere):
            return system
        said.append(ELSEWHERE.format(n, page))
        return replace(system, confidence=CONTRADICTED, doubt=said[-1])

    pages = tuple(
        replace(page, systems=tuple(line(system, n, at) for n, system in enumerate(page.systems, 1)))
        for at, page in enumerate(reading.pages, 1)
    )
    return replace(reading, pages=pages, doubts=(*reading.doubts, *said)) if said else reading


def _too_few(reading: Reading) -> set[int]:
    """Places of bars that may stand for more: a rest of several that was not told, two with a barline not seen."""
    return {
        _place(bar, reading)
        for page in reading.pages
        for line in page.systems
        for bar in line.bars
        if line.confidence <= BLURRED or (bar.count == 1 and MISMATCH != bar.confidence < CLEAR)
    }


def _too_many(reading: Reading) -> set[int]:
    """Places of the bars beside a stroke that may be no barline."""
    return {
        _place(bar, reading)
        for page in reading.pages
        for line in page.systems
        for barline in line.barlines
        if barline.confidence < CLEAR
        for bar in line.bars
        if bar.x0 - line.space < barline.x < bar.x1 + line.space
    }


def _guessed(reading: Reading) -> set[int]:
    """Places whose count was made to fit a printed number, by a guess or by a leap: a total says nothing of these.

    A misread rest and another one that was mended for it come to the right total together.
    """
    lines = [system for page in reading.pages for system in page.systems]
    bars = [(bar, line) for line in lines for bar in line.bars]
    out = {
        _place(bar, reading)
        for bar, line in bars
        if bar.count > 1 and bar.confidence < CLEAR and not _is_misnumbered(line)
    }
    for (one, _), (two, _) in pairwise(bars):
        ends = one.number + one.count - (1 if two.continued else 0)
        out |= {at - (not reading.pickup) for at in range(min(ends, two.number), max(ends, two.number))}
    return out


def _place(bar: BarBox, reading: Reading) -> int:
    """The bar's place by its number, as marks count, from 0."""
    return bar.number - (not reading.pickup)


def _places(system: System, reading: Reading) -> set[int]:
    """Those of all bars that a line stands for."""
    return {_place(bar, reading) + n for bar in system.bars for n in range(max(1, bar.count))}


def _astray(mine: Outline, tune: Outline, shift: int) -> set[int]:
    """Places of marks that the tune has elsewhere: the count is off there. One it does not have was misread."""
    theirs = {key(text): at for text, at in tune.marks}
    return {at for text, at in mine.marks if theirs.get(key(text), at - shift) != at - shift}


_Numbered = TypeVar("_Numbered", Mark, MultiRest, Sign, TempoWord, Change, Instruction, Uncounted, BarBox)


def _renumbered(reading: Reading, pickup: bool) -> Reading:
    """The reading with its first bar a pickup, or none after all."""
    by = -1 if pickup else 1

    def all_of(things: tuple[_Numbered, ...], at: str = "bar") -> tuple[_Numbered, ...]:
        return tuple(replace(one, **{at: getattr(one, at) + by}) for one in things)

    def line(system: System) -> System:
        return replace(system, bars=all_of(system.bars, "number"))

    return replace(
        reading,
        bars=reading.bars + by,
        pickup=pickup,
        marks=all_of(reading.marks),
        multirests=all_of(reading.multirests),
        signs=all_of(reading.signs),
        endings=tuple(replace(e, bar=e.bar + by, last_bar=e.last_bar + by) for e in reading.endings),
        tempos=all_of(reading.tempos),
        changes=all_of(reading.changes),
        instructions=all_of(reading.instructions),
        uncounted=all_of(reading.uncounted),
        pages=tuple(replace(page, systems=tuple(map(line, page.systems))) for page in reading.pages),
    )


def _borne_out(reading: Reading, sure: set[int], *, overrule: bool) -> tuple[tuple[PageReading, ...], list[System]]:
    """The pages and their lines, those within `sure` bars called so; `overrule`: whatever numbers say."""

    def told(page: PageReading) -> PageReading:
        return replace(page, systems=tuple(_line(system, sure, reading, overrule) for system in page.systems))

    pages = tuple(told(page) if page.scanned else page for page in reading.pages)
    return pages, [system for page in pages for system in page.systems]


def _line(system: System, sure: set[int], reading: Reading, overrule: bool) -> System:
    places = _places(system, reading)
    misnumbered = any(bar.confidence == MISMATCH for bar in system.bars)
    if misnumbered and not (overrule and _is_misnumbered(system)):
        return system
    if not places or not places <= sure or system.confidence >= CONFIRMED:
        return system
    return replace(system, confidence=CONFIRMED, doubt="")


def _is_misnumbered(system: System) -> bool:
    """Whether a printed number is against the count of all its bars: on a scan one in twelve is misread itself."""
    return len(system.bars) > 1 and all(bar.confidence == MISMATCH for bar in system.bars)
