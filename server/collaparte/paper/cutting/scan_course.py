"""Which keys hold in a scanned line's course: what its barlines, its end and the next line's head say together."""

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from collaparte.paper.cutting.scan_bars import Line
from collaparte.paper.cutting.scan_changes import NewKey
from collaparte.paper.cutting.scan_keys import Key
from collaparte.paper.reading import BarlineKind, Change, Mark, System

NEAR = 2.5
"""A barline stands so near to where its bar begins, in spaces."""


class Course(NamedTuple):
    """The keys that begin in a line's course, by the place of their bar; and changes that were read there instead."""

    keys: list[tuple[int, NewKey]]
    read: list[Change]
    sure: bool
    """Whether they lead to the next line's key."""
    goes_on: bool
    """That key is the one which holds at the line's end."""


def course(line: Line, key: Key, following: Key | None, maybe: Sequence[Change], marks: Sequence[Mark]) -> Course:
    """The course of a line with a key, as `_course`, which is not sure where signs of a new key touch a note."""
    found = _course(line, key, following, maybe, marks)
    return found if all(line.has_whole(*new) for new in found.keys) else found._replace(sure=False)


def _course(line: Line, key: Key, following: Key | None, maybe: Sequence[Change], marks: Sequence[Mark]) -> Course:
    """The course of a line with a key; `following`: that of the next line, if there is one on the page that is cut.

    `maybe`: changes of key that were read there, which may be accidentals: as a rule keys change at a mark or a double
    barline (common practice), elsewhere only where the next line says so.
    """
    now, first, signs, keys = key.signs, 1, key.wide > 0, list[tuple[int, NewKey]]()
    for place in _likely(line.system, maybe, marks):
        new = line.told(place, now, signs=signs)
        if new and new.key != now:
            keys.append((place, new))
            now, first, signs = new.key, place + 1, new.key is not None
    if following is None:
        return Course(keys, [], sure=True, goes_on=False)
    if (following.signs == now and (now or not following.wide)) if keys else following.name == key.name:
        return Course(keys, [], sure=True, goes_on=True)
    if (end := line.announced()) is not None:
        new = line.signs.told(end, now, signs=signs)
        if new and (new.key == following.signs or (following.wide and not following.signs)):
            return Course(keys, [], sure=True, goes_on=False)
        if following.signs and line.signs.expected([end], following.signs, now):
            return Course(keys, [], sure=True, goes_on=False)
    if (following.signs or not following.wide) and (found := line.expected(first, following.signs, now)):
        return Course([*keys, found], [], sure=True, goes_on=True)
    read = [] if keys or end is not None else in_all_staves(maybe, len(line.system.staves))
    return Course(keys, read, sure=bool(read) or end is not None, goes_on=bool(read))


def in_all_staves(maybe: Sequence[Change], many: int) -> list[Change]:
    """The changes of key that all staves have (common practice)."""
    staves = Counter(change.bar for change in maybe)
    return [change for change in maybe if staves[change.bar] == many]


def _likely(system: System, maybe: Sequence[Change], marks: Sequence[Mark]) -> list[int]:
    """The places of the bars in which a key may begin."""
    numbers = {change.bar for change in maybe} | {mark.bar for mark in marks}
    heavy = [line.x for line in system.barlines if line.kind not in (BarlineKind.SINGLE, BarlineKind.DASHED)]
    return [
        place
        for place, bar in enumerate(system.bars)
        if place and (bar.number in numbers or any(abs(x - bar.x0) < NEAR * system.space for x in heavy))
    ]
