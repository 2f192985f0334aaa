"""Clef, key and meter where a bar does not follow the one before it in print: what must be drawn for it to be right."""

import msgspec

from collaparte.paper.cutting.clefs import SHARP, key_signs
from collaparte.paper.cutting.table import BarCut, Head, PieceTable

CLEF_ROOM, KEY_ROOM, METER_ROOM = 0.5, 1.2, 0.9
"""Room round each of them, in staff spaces."""
NATURAL = 1.0
"""The width of a natural with its room."""
FLAT_RISE = 0.55
"""How far a flat's middle stands above its line or space."""


class Signs(msgspec.Struct, frozen=True):
    """Signs due at a bar's start and the room that they take, in spaces.

    Clef and key are those of the table's head `head`, drawn in mid-line only, since a line's head has them anyway;
    naturals and the meter are drawn at a line's start too.
    """

    head: int = -1
    clef_width: float = 0.0
    key_width: float = 0.0
    naturals: tuple[tuple[float, ...], ...] = ()
    """A stave's places (spaces below its middle line) of a key that is taken back by one without signs."""
    meter: int = -1
    """The place in the table's `meters`."""
    meter_width: float = 0.0
    restated: bool = False
    """The change of key printed in the bar is none after the bar before it in this order, and is not shown."""
    held: bool = False
    """Nor is the meter printed at its start, which holds already where a join lands in the bar."""

    @property
    def in_head(self) -> float:
        """The room that is not needed when the bar begins a line."""
        return self.clef_width + (0.0 if self.naturals else self.key_width)

    @property
    def at_head(self) -> float:
        """The room when the bar begins a line."""
        return self.width - self.in_head

    @property
    def width(self) -> float:
        """The room in mid-line."""
        return self.clef_width + self.key_width + self.meter_width


NO_SIGNS = Signs()


def due(
    table: PieceTable, before: BarCut | None, bar: BarCut, *, join: bool, key_printed: bool, meter_printed: bool
) -> Signs:
    """What `bar` needs after `before` (None: it is the first); `..._printed`: it shows that itself."""
    was = before.meter_here if before is not None else -1
    held = join and bool(bar.meter) and bar.meter_here == was
    meter = bar.meter_here if bar.meter_here not in (was, -1) and not meter_printed else -1
    clef_width, key_width = 0.0, 0.0
    naturals: tuple[tuple[float, ...], ...] = ()
    restated = before is None and key_printed  # the music begins here: nothing is taken back
    new = table.heads[bar.head_here]
    if before is not None and before.whole < 0:
        old = table.heads[before.head_here if before.head_after < 0 else before.head_after]
        # Without a join, a new clef was printed before the barline, in the bar before.
        if join and old.clef_name != new.clef_name:
            clef_width = new.clef_width + CLEF_ROOM
        # A printed change is one from the bar before it in print; a jump may come from another key.
        # A meter that is drawn, or not to be seen, stands behind the key (common practice).
        moved = held or meter >= 0
        restated = join and key_printed and (moved or not _one_key(old, table.heads[bar.head]))
        if (restated or not key_printed) and old is not new and not _one_key(old, new):
            if new.key_width:
                key_width = KEY_ROOM + new.key_width
            elif naturals := _taken_back(old, new):
                key_width = KEY_ROOM + NATURAL * max(map(len, naturals))
    meter_width = table.meters[meter].width + METER_ROOM if meter >= 0 else 0.0
    return Signs(bar.head_here, clef_width, key_width, naturals, meter, meter_width, restated, held)


def _taken_back(old: Head, new: Head) -> tuple[tuple[float, ...], ...]:
    """The places of a key's signs on each stave, as the new clef has them (common practice: a clef takes no key back);
    empty where it is not known how they stand there."""
    out: list[tuple[float, ...]] = []
    for k, key in enumerate(old.key_name.split("|")):
        clefs = [head.clef_name.split("|")[k : k + 1] for head in (old, new)]
        here, there = (head.sharps[k] if k < len(head.sharps) else None for head in (old, new))
        if clefs[0] == clefs[1]:
            out.append(_places(key))
        elif here is None or there is None:
            out.append(())
        else:
            out.append(tuple(place + there - here for place in _places(key)))
    return tuple(out) if any(out) else ()


def _one_key(one: Head, other: Head) -> bool:
    """Whether the staves that both have are in the same keys."""
    return all(a == b for a, b in zip(_signs(one), _signs(other), strict=False))


def _signs(head: Head) -> list[list[bool]]:
    """A head's key by how many signs it has on each stave, and whether each is a sharp."""
    return [key_signs(head.key_name, stave) for stave in range(head.key_name.count("|") + 1)]


def _parsed(key: str) -> list[tuple[int, int]]:
    pairs = (sign.split("@") for sign in key.split())
    return [(int(height), int(middle)) for height, middle in pairs]


def _places(key: str) -> tuple[float, ...]:
    """Where a key's signs stand on one stave, from its name in the table (height@middle, in half spaces)."""
    return tuple(middle / 2 + (0.0 if height >= SHARP else FLAT_RISE) for height, middle in _parsed(key))
