"""Where what was read on a scanned page lies on the page set straight, and whose it is."""

import re
from collections.abc import Iterator, Sequence
from typing import TypeVar

from msgspec.structs import astuple, replace

from collaparte.paper.cutting.items import grown, union
from collaparte.paper.reading import (
    Box,
    Change,
    Ending,
    HeadWord,
    Instruction,
    Mark,
    MultiRest,
    Reading,
    Sign,
    Stave,
    StaveHead,
    System,
    TempoWord,
)
from collaparte.paper.scans.page import Bent

AWAY, END = (6.0, 4.0), 6.0
"""What stands farther before a line's first bar or behind it, in spaces, was set at the end of the line before, if it
ends so near to that."""
CHORD = re.compile(r"[A-G][#b♯♭]?[0-9]")
"""So a chord's name begins, whatever of it was misread; a title hardly does."""
BLUR = 0.5
"""Soft edges reach so far round what was read, in spaces."""

Thing = TypeVar("Thing", Mark, MultiRest, Sign, TempoWord, HeadWord, Change, Instruction)


def named(reading: Reading, number: int) -> Iterator[tuple[Box, int]]:
    """Boxes of what was read, and the system that has its bar; the head's words have the next."""
    systems = reading.pages[number].systems
    at = {bar.number + k: (s, bar) for s, v in enumerate(systems) for bar in v.bars for k in range(max(1, bar.count))}
    read: list[Mark | Sign | TempoWord] = [*reading.marks, *reading.signs, *reading.tempos]
    for thing in read:
        if thing.page == number and thing.bar in at:
            s, bar = at[thing.bar]
            x, sp = (thing.box[0] + thing.box[2]) / 2, systems[s].space
            begins = s > 0 and bar is systems[s].bars[0] and thing.box[2] > systems[s - 1].bbox[2] - END * sp
            before = begins and not bar.x0 - AWAY[0] * sp < x < bar.x1 + AWAY[1] * sp
            yield grown(thing.box, 1.0, 1.0), s - 1 if before else s
    yield from brackets(reading, number)
    for word in reading.head:
        if word.page == number == 0 and not CHORD.match(word.text):
            yield grown(word.box, 1.0, 1.0), len(systems)
    for s, system in enumerate(systems):
        if system.printed_number_box:
            yield grown(system.printed_number_box, 1.0, 1.0), s


def words_of(reading: Reading, number: int) -> list[Box]:
    """Boxes of all words, marks and signs that were read on a page."""
    found: list[Mark | Sign | TempoWord | Instruction | HeadWord] = [*reading.marks, *reading.signs, *reading.tempos]
    found += [*reading.instructions, *reading.head]
    return [thing.box for thing in found if thing.page == number]


def brackets(reading: Reading, number: int) -> Iterator[tuple[Box, int]]:
    """Boxes of the endings' brackets, and the system that each stands over."""
    systems = reading.pages[number].systems
    for ending in reading.endings:
        for page, box in ((ending.page, ending.box), *ending.further):
            below = (s for s, system in enumerate(systems) if (system.bbox[1] + system.bbox[3]) / 2 > box[3])
            if page == number and (s := next(below, None)) is not None:
                yield grown(box, BLUR * systems[s].space, BLUR * systems[s].space), s


def _onto(bent: Bent, x: float, y: float) -> tuple[float, float]:
    """The place on the straight page of a place on the page as displayed: `Bent.back` undone."""
    at_x, at_y = x, y
    for _ in range(6):
        back_x, back_y = bent.back(at_x, at_y)
        at_x, at_y = at_x + x - back_x, at_y + y - back_y
    return at_x, at_y


def _box(box: Box, bent: Bent) -> Box:
    return union([(*_onto(bent, x, y), *_onto(bent, x, y)) for x in (box[0], box[2]) for y in (box[1], box[3])])


def straight(reading: Reading, number: int, bent: Bent) -> Reading:
    """The reading with all that is of page `number` where it lies on the page set straight."""

    def moved(things: Sequence[Thing]) -> tuple[Thing, ...]:
        return tuple(replace(t, box=_box(t.box, bent)) if t.page == number else t for t in things)

    page = reading.pages[number]
    page = replace(page, systems=tuple(_system(system, bent) for system in page.systems))
    return replace(
        reading,
        marks=moved(reading.marks),
        multirests=moved(reading.multirests),
        signs=moved(reading.signs),
        endings=tuple(_ending(ending, number, bent) for ending in reading.endings),
        tempos=moved(reading.tempos),
        head=moved(reading.head),
        changes=moved(reading.changes),
        instructions=moved(reading.instructions),
        pages=(*reading.pages[:number], page, *reading.pages[number + 1 :]),
    )


def _ending(ending: Ending, number: int, bent: Bent) -> Ending:
    further = tuple((page, _box(box, bent) if page == number else box) for page, box in ending.further)
    return replace(ending, box=_box(ending.box, bent) if ending.page == number else ending.box, further=further)


def _system(system: System, bent: Bent) -> System:
    staves = tuple(_stave(stave, bent) for stave in system.staves)
    middle = (system.bbox[1] + system.bbox[3]) / 2

    def across(x: float) -> float:
        return _onto(bent, x, middle)[0]

    x0, x1 = across(system.bbox[0]), across(system.bbox[2])
    number = system.printed_number_box
    return replace(
        system,
        bbox=(x0, staves[0].top, x1, staves[-1].bottom),
        staves=staves,
        bars=tuple(replace(bar, x0=across(bar.x0), x1=across(bar.x1)) for bar in system.bars),
        barlines=tuple(replace(b, x=across(b.x), x0=across(b.x0), x1=across(b.x1)) for b in system.barlines),
        head_x1=across(system.head_x1),
        printed_number_box=number and _box(number, bent),
    )


def _stave(stave: Stave, bent: Bent) -> Stave:
    x, y = (stave.x0 + stave.x1) / 2, (stave.top + stave.bottom) / 2
    lines = tuple(_onto(bent, x, line)[1] for line in stave.lines)

    def across(edge: float) -> float:
        return _onto(bent, edge, y)[0]

    head = stave.head and StaveHead(*(None if at is None else across(at) for at in astuple(stave.head)))
    return replace(
        stave, top=lines[0], bottom=lines[-1], lines=lines, x0=across(stave.x0), x1=across(stave.x1), head=head
    )
