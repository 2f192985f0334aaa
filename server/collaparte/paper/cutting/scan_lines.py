"""The lines of a scanned page that are cut into bars, and what the lines beside each say about it."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from collaparte.paper.cutting.items import Item
from collaparte.paper.cutting.scan_bars import Line, Strip
from collaparte.paper.cutting.scan_course import Course, course
from collaparte.paper.cutting.scan_heads import KnownHeads
from collaparte.paper.cutting.scan_keys import Key, in_force
from collaparte.paper.cutting.scan_pictures import Kept
from collaparte.paper.reading import SURE, Change, Reading, System


def in_bars(
    lines: dict[int, Line], reading: Reading, number: int, known: KnownHeads, kept: Kept
) -> tuple[list[Item], Reading]:
    """The objects of lines that are cut into bars; and the reading with its first bars and changes of key as seen here.

    An accidental may look like a new key: it is one where the next line has another. A line with a key that is not
    the one in force was misread: its signs touch something, or accidentals stand behind them.
    """
    read = reading.pages[number]
    items: list[Item] = []
    keys: dict[int, Key] = {}
    seen: dict[int, Key | None] = {}
    begins: dict[int, float] = {}
    maybe = [c for c in reading.changes if c.page == number and c.fifths is not None]
    # The first line may have a meter in its head as well, and takes from others what a key looks like.
    for s in sorted(lines, key=lambda s: (*lines[s].signs.how, number == s == 0)):
        seen[s] = lines[s].signs.read(known, first=number == s == 0)
        if seen[s] is None and len(read.systems[s].staves) > 1:
            del lines[s], seen[s]
    with_clef = {s: key for s in lines if (key := seen[s])}
    places = list(with_clef)
    seen_courses = {s: _course(s, lines, with_clef, reading, number, maybe) for s in places}
    changing = [bool(seen_courses[s].keys) or any(_is_in(c, read.systems[s]) for c in maybe) for s in places]
    true = in_force(
        list(with_clef.values()),
        known.key,
        changing,
        lambda n, key: lines[places[n]].signs.has_key(key),
        lambda n, key: lines[places[n]].signs.is_likeliest(key),
    )
    for s, key in zip(places, true, strict=True):
        if key.name != with_clef[s].name:
            lines[s].signs.change_key(key)
        keys[s] = known.key = key
    courses = {
        s: seen_courses[s]
        if all(keys.get(n) is with_clef.get(n) for n in (s, s + 1))
        else _course(s, lines, keys, reading, number, maybe)
        for s in keys
    }
    for s, way in courses.items():
        if not way.sure:
            del lines[s]
    for s, line in lines.items():
        head, begins[s] = line.head()
        items += [kept.picture(*strip) for strip in head]
    changes = [c for c in reading.changes if c not in maybe]
    for s, line in lines.items():
        signs: list[Strip] = []
        if s in courses:
            keys_here, read_here, _, goes_on = courses[s]
            changes += [change for place, new in keys_here for change in line.changes(place, new)] + read_here
            changes += _next(reading, number, s, keys) if keys_here and not (goes_on and s + 1 in lines) else []
            signs += [strip for place, new in keys_here for strip in line.new_key(place, new)]
            signs += [strip for change in read_here for strip in line.key_change(change)]
        for clef in [c for c in changes if c.page == number and c.clef and c.box[0] > begins[s]]:
            if _is_level(clef, read.systems[s]):
                found = line.clef(clef)
                signs += found
                if not found:  # it was read in something else
                    changes.remove(clef)
        items += [kept.stroke(*stroke) for stroke in line.brackets()]
        items += [kept.picture(*strip) for strip in (*signs, *line.rest())]
    systems = tuple(
        _from(v, begins[s], lines[s].begins_at) if s in lines else _unsure(v) for s, v in enumerate(read.systems)
    )
    pages = (*reading.pages[:number], replace(read, systems=systems), *reading.pages[number + 1 :])
    return items, replace(reading, changes=tuple(changes), pages=pages)


def lines_of(owner: npt.NDArray[np.int16], unit: float, reading: Reading, number: int) -> dict[int, Line]:
    """The systems that are sure, to be cut into bars, by their place."""
    systems = reading.pages[number].systems
    sure = (s for s, system in enumerate(systems) if system.confidence >= SURE and (owner == s).any())
    return {s: Line(owner == s, unit, reading, number, s) for s in sure}


def _from(system: System, x: float, left: float) -> System:
    """A system whose first bar begins at x, and whose staves do at `left` if there are several, or were read to begin
    within their head."""
    first, *others = system.bars
    several, read = len(system.staves) > 1, min(stave.x0 for stave in system.staves)
    moved = several or read - left > system.space
    staves = tuple(replace(stave, x0=left) for stave in system.staves) if moved else system.staves
    return replace(system, bars=(replace(first, x0=min(x, first.x1)), *others), staves=staves)


def _unsure(system: System) -> System:
    """A system that is laid whole."""
    return replace(system, confidence=min(system.confidence, SURE - 0.1))


def _course(
    s: int, lines: dict[int, Line], keys: dict[int, Key], reading: Reading, number: int, maybe: Sequence[Change]
) -> Course:
    """The course of line `s`, which has a key."""
    mine = [change for change in maybe if _is_in(change, reading.pages[number].systems[s])]
    return course(lines[s], keys[s], keys.get(s + 1), mine, [mark for mark in reading.marks if mark.page == number])


def _next(reading: Reading, number: int, s: int, keys: dict[int, Key]) -> list[Change]:
    """A change to the key that the line behind line `s` begins with, which is not the one that held before, or which is
    not known."""
    here = [(number, system) for system in reading.pages[number].systems[s + 1 :]]
    after = (
        [(number + 1, system) for system in reading.pages[number + 1].systems]
        if number + 1 < len(reading.pages)
        else []
    )
    place, system = next(iter(here + after), (number, None))
    signs = keys[s + 1].signs if here and s + 1 in keys else None
    fifths = signs.fifths if signs else 0
    staves = range(len(system.staves)) if system and system.bars else ()
    return [Change(system.bars[0].number, place, system.bbox, k, fifths=fifths) for k in staves] if system else []


def _is_in(change: Change, system: System) -> bool:
    """It was read in the course of a system, not in its head."""
    return system.bars[0].x1 < change.box[2] < system.bbox[2] and _is_level(change, system)


def _is_level(change: Change, system: System) -> bool:
    return change.box[1] < system.bbox[3] and change.box[3] > system.bbox[1]
