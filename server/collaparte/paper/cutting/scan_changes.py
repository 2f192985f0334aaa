"""Changes of key in a scanned line's course: which signs, or naturals that take a key back, stand behind a barline.

Common practice: a key's naturals stand where its signs did, before the new key's signs.
"""

from collections.abc import Sequence
from typing import NamedTuple

from collaparte.paper.cutting.scan_accidentals import (
    BEFORE,
    EXPECTED,
    LOOKS,
    NATURALS,
    InOrder,
    KeySigns,
    key_of,
    name_of,
    width,
)
from collaparte.paper.cutting.scan_clefs import HeadInk

TAKEN = 0.48
"""How like naturals (correlation) all are that take a key back (688 bars: at least 0.52; accidentals at most 0.41, but
for one where one is a key)."""
ALONE = 0.57
"""the same of one natural that nothing else tells of (129 lines of two engravers: 0.62; half notes with stems down
0.52);"""
SURE = 0.55
"""How like signs those of a key of three or more are that nothing else tells of (0.62; accidentals 0.52);"""
ONE = 0.5
"""one sign behind naturals that is less like one than this is none."""
AFTER = 0.9
"""Behind naturals a key's signs begin so near, in spaces."""


class NewKey(NamedTuple):
    """A key that begins behind a barline (None: one without signs): in each stave the column where its own signs begin,
    behind naturals, where they end, and what it is called there."""

    key: KeySigns | None
    begins: list[int]
    ends: list[int]
    names: list[str]


Stave = tuple[HeadInk, tuple[int, int]]
"""A stave's ink, and the first and last row of the clef that holds in it."""


def told(staves: Sequence[Stave], column: int, old: KeySigns | None, first: float) -> NewKey | None:
    """The key that surely follows an `old` one behind a column, by what stands there alone: its signs begin so near, in
    spaces."""
    taken = taken_back(staves, column, old, ALONE if old.many == 1 else TAKEN) if old else None
    columns, space = [column] * len(staves), staves[0][0].space
    standing = _standing(staves, columns, first)
    key = key_of(standing)
    if key and key != old and key.many > 1 and _likeness(standing, key) > LOOKS.get((key.sort, key.many), SURE):
        new = _new(standing, key, taken.ends if taken else None, columns, space)
        if not taken or all(end - last > space for end, last in zip(new.ends, taken.ends, strict=True)):
            return new
    if not taken:
        return None
    columns = [end + round(BEFORE * space) for end in taken.ends]
    standing = _standing(staves, columns, AFTER)
    if key := key_of(standing):
        return _new(standing, key, taken.ends, columns, space)
    one = max((_likeness(standing, key) for key in standing[0] if key.many == 1), default=0.0)
    return None if one > ONE else taken


def taken_back(staves: Sequence[Stave], column: int, old: KeySigns, alike: float = TAKEN) -> NewKey | None:
    """No key, where naturals behind a column, so like ones at least, take all signs of an `old` one back."""
    ends: list[int] = []
    for head, clef in staves:
        naturals = head.naturals_behind(column, clef, old)
        again = head.in_order_behind(column, clef).get(old)  # the same key may be told anew
        if naturals and naturals.likeness > max(alike, again.likeness if again else 0.0):
            ends.append(column + round(naturals.right * head.space))
    return NewKey(None, ends, ends, [""] * len(ends)) if len(ends) == len(staves) else None


def expected(
    staves: Sequence[Stave], places: Sequence[int], new: KeySigns, old: KeySigns | None
) -> tuple[int, NewKey] | None:
    """Behind which of some places (columns) the next line's key stands: where its signs are the most like signs."""
    best: tuple[float, int] | None = None
    for place, column in enumerate(places):
        likeness = _likeness(_standing(staves, [column] * len(staves), NATURALS), new)
        if likeness > max(EXPECTED, best[0] if best else 0.0):
            best = likeness, place
    if best is None:
        return None
    column = places[best[1]]
    taken = taken_back(staves, column, old) if old else None
    if taken:
        columns = [end + round(BEFORE * staves[0][0].space) for end in taken.ends]
        after = _standing(staves, columns, AFTER)
        if _likeness(after, new) > EXPECTED:
            return best[1], _new(after, new, taken.ends, columns, staves[0][0].space)
    columns = [column] * len(staves)
    return best[1], _new(_standing(staves, columns, NATURALS), new, None, columns, staves[0][0].space)


Standing = Sequence[dict[KeySigns, InOrder]]
"""What may stand in each stave."""


def _standing(staves: Sequence[Stave], columns: Sequence[int], first: float) -> Standing:
    return [head.in_order_behind(column, clef, first) for (head, clef), column in zip(staves, columns, strict=True)]


def _likeness(standing: Standing, key: KeySigns) -> float:
    return min((stave[key].likeness if key in stave else 0.0 for stave in standing), default=0.0)


def _new(
    standing: Standing, key: KeySigns, begins: Sequence[int] | None, columns: Sequence[int], space: float
) -> NewKey:
    """A key that stands so behind some columns; where no naturals tell where its own signs begin, they are as wide as
    so many."""
    found = [stave[key] for stave in standing]
    ends = [column + round(at.right * space) for at, column in zip(found, columns, strict=True)]
    wide = round(width(key) * space)
    return NewKey(key, list(begins or (end - wide for end in ends)), ends, [name_of(key, at.clef) for at in found])
