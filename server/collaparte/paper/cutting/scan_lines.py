"""The lines of a scanned page that are cut into bars, and what the lines beside each say about it."""

from collections import Counter
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from collaparte.paper.cutting.items import Item
from collaparte.paper.cutting.scan_bars import Line
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
    changing = [any(_is_in(c, read.systems[s]) for c in maybe) for s in places]
    true = in_force(list(with_clef.values()), known.key, changing, lambda n, key: lines[places[n]].signs.has_key(key))
    for s, key in zip(places, true, strict=True):
        if key.name != with_clef[s].name:
            lines[s].signs.change_key(key)
        keys[s] = known.key = key
    for s, line in lines.items():
        signs, begins[s] = line.head()
        items += [kept.picture(*strip) for strip in signs]
    changes = [c for c in reading.changes if c not in maybe]
    for s, line in lines.items():
        new: list[Change] = []
        if s in keys and s + 1 in keys and keys[s].name != keys[s + 1].name:
            following = keys[s + 1].signs
            new = (line.changes_to(following) if following else []) or _in_all_staves(maybe, read.systems[s])
        changes += new
        signs = [strip for change in new for strip in line.key_change(change)]
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


def _in_all_staves(maybe: Sequence[Change], system: System) -> list[Change]:
    """The changes of key in the course of a system that all its staves have (common practice)."""
    mine = [change for change in maybe if _is_in(change, system)]
    staves = Counter(change.bar for change in mine)
    return [change for change in mine if staves[change.bar] == len(system.staves)]


def _is_in(change: Change, system: System) -> bool:
    """It was read in the course of a system, not in its head."""
    return system.bars[0].x1 < change.box[2] < system.bbox[2] and _is_level(change, system)


def _is_level(change: Change, system: System) -> bool:
    return change.box[1] < system.bbox[3] and change.box[3] > system.bbox[1]
