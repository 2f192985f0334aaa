"""Where what was read on a scanned page lies on the page set straight, and whose it is."""

from collections.abc import Iterator

from msgspec.structs import replace

from collaparte.paper.cutting.items import grown, union
from collaparte.paper.reading import SURE, Box, Mark, PageReading, Reading, Sign, Stave, System, TempoWord
from collaparte.paper.scans.page import Bent

AWAY = (6.0, 4.0)
"""What stands farther before its bar or behind it, in spaces, was set at the end of the line before."""
BLUR = 0.5
"""Soft edges reach so far round what was read, in spaces."""
WHOLE = SURE - 0.1
"""No system of a scan is surer than this to laying, which lays it whole then."""


def named(reading: Reading, number: int, bent: Bent) -> Iterator[tuple[Box, int]]:
    """Boxes of what was read, on the straight page, and the system that has its bar; the head's words have the next."""
    systems = reading.pages[number].systems
    at = {bar.number + k: (s, bar) for s, v in enumerate(systems) for bar in v.bars for k in range(max(1, bar.count))}
    read: list[Mark | Sign | TempoWord] = [*reading.marks, *reading.signs, *reading.tempos]
    for thing in read:
        if thing.page == number and thing.bar in at:
            s, bar = at[thing.bar]
            x, sp = (thing.box[0] + thing.box[2]) / 2, systems[s].space
            before = s > 0 and not bar.x0 - AWAY[0] * sp < x < bar.x1 + AWAY[1] * sp
            yield grown(_box(thing.box, bent), 1.0, 1.0), s - 1 if before else s
    yield from brackets(reading, number, bent)
    for word in reading.head:
        if word.page == number == 0:
            yield grown(_box(word.box, bent), 1.0, 1.0), len(systems)
    for s, system in enumerate(systems):
        if system.printed_number_box:
            yield grown(_box(system.printed_number_box, bent), 1.0, 1.0), s


def brackets(reading: Reading, number: int, bent: Bent) -> Iterator[tuple[Box, int]]:
    """Boxes of the endings' brackets, on the straight page, and the system that each stands over."""
    systems = reading.pages[number].systems
    for ending in reading.endings:
        for page, box in ((ending.page, ending.box), *ending.further):
            below = (s for s, system in enumerate(systems) if (system.bbox[1] + system.bbox[3]) / 2 > box[3])
            if page == number and (s := next(below, None)) is not None:
                yield grown(_box(box, bent), BLUR * systems[s].space, BLUR * systems[s].space), s


def _onto(bent: Bent, x: float, y: float) -> tuple[float, float]:
    """The place on the straight page of a place on the page as displayed: `Bent.back` undone."""
    at_x, at_y = x, y
    for _ in range(6):
        back_x, back_y = bent.back(at_x, at_y)
        at_x, at_y = at_x + x - back_x, at_y + y - back_y
    return at_x, at_y


def _box(box: Box, bent: Bent) -> Box:
    return union([(*_onto(bent, x, y), *_onto(bent, x, y)) for x in (box[0], box[2]) for y in (box[1], box[3])])


def straight(page: PageReading, bent: Bent) -> PageReading:
    return replace(page, systems=tuple(_system(system, bent) for system in page.systems))


def _system(system: System, bent: Bent) -> System:
    staves = tuple(_stave(stave, bent) for stave in system.staves)
    middle = (system.bbox[1] + system.bbox[3]) / 2

    def across(x: float) -> float:
        return _onto(bent, x, middle)[0]

    x0, x1 = across(system.bbox[0]), across(system.bbox[2])
    bars = tuple(replace(bar, x0=across(bar.x0), x1=across(bar.x1)) for bar in system.bars)
    # Its pieces are its whole ink, however sure its bars are.
    sure = min(system.confidence, WHOLE)
    box = (x0, staves[0].top, x1, staves[-1].bottom)
    return replace(system, bbox=box, staves=staves, bars=bars, confidence=sure)


def _stave(stave: Stave, bent: Bent) -> Stave:
    x, y = (stave.x0 + stave.x1) / 2, (stave.top + stave.bottom) / 2
    lines = tuple(_onto(bent, x, line)[1] for line in stave.lines)
    left, right = (_onto(bent, edge, y)[0] for edge in (stave.x0, stave.x1))
    return replace(stave, top=lines[0], bottom=lines[-1], lines=lines, x0=left, x1=right)
