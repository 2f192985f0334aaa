"""A reading of scanned pages, its boxes turned back onto the pages as they lie in the file."""

from collections.abc import Mapping
from typing import TypeVar

from msgspec.structs import replace

from collaparte.paper.reading import (
    BarBox,
    Barline,
    Change,
    Ending,
    HeadWord,
    Mark,
    MultiRest,
    PageReading,
    Reading,
    Sign,
    Stave,
    System,
    TempoWord,
)
from collaparte.paper.scans.page import Bent

Boxed = TypeVar("Boxed", Mark, MultiRest, Sign, Ending, TempoWord, HeadWord, Change)


def placed_back(reading: Reading, bent: Mapping[int, Bent]) -> Reading:
    """The reading with what was read on the pages of `bent` where it lies on them as displayed."""

    def moved(things: tuple[Boxed, ...]) -> tuple[Boxed, ...]:
        return tuple(replace(t, box=bent[t.page].box_back(t.box)) if t.page in bent else t for t in things)

    return replace(
        reading,
        marks=moved(reading.marks),
        multirests=moved(reading.multirests),
        signs=moved(reading.signs),
        endings=moved(reading.endings),
        tempos=moved(reading.tempos),
        head=moved(reading.head),
        changes=moved(reading.changes),
        pages=tuple(_page(page, bent[n]) if n in bent else page for n, page in enumerate(reading.pages)),
    )


def _page(page: PageReading, bent: Bent) -> PageReading:
    return replace(page, systems=tuple(_system(system, bent) for system in page.systems))


def _system(system: System, bent: Bent) -> System:
    x0, top, x1, bottom = system.bbox
    middle = (top + bottom) / 2

    def across(x: float) -> float:
        return bent.back(x, middle)[0]

    staves = tuple(_stave(stave, bent) for stave in system.staves)
    bars = tuple(_bar(bar, across(bar.x0), across(bar.x1)) for bar in system.bars)
    barlines = tuple(_barline(b, across(b.x), across(b.x0), across(b.x1)) for b in system.barlines)
    number = system.printed_number_box
    return replace(
        system,
        bbox=(across(x0), staves[0].top, across(x1), staves[-1].bottom),
        staves=staves,
        bars=bars,
        barlines=barlines,
        head_x1=across(system.head_x1),
        printed_number_box=bent.box_back(number) if number else None,
    )


def _bar(bar: BarBox, x0: float, x1: float) -> BarBox:
    return replace(bar, x0=x0, x1=x1)


def _barline(barline: Barline, x: float, x0: float, x1: float) -> Barline:
    return replace(barline, x=x, x0=x0, x1=x1)


def _stave(stave: Stave, bent: Bent) -> Stave:
    middle_x, middle_y = (stave.x0 + stave.x1) / 2, (stave.top + stave.bottom) / 2
    lines = tuple(bent.back(middle_x, y)[1] for y in stave.lines)
    return replace(
        stave,
        top=lines[0],
        bottom=lines[-1],
        lines=lines,
        x0=bent.back(stave.x0, middle_y)[0],
        x1=bent.back(stave.x1, middle_y)[0],
    )
