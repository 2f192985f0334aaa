"""Which chair people mean: by its name however it is written, its instrument, its section, or its kin. Pure."""

from collections.abc import Mapping
from difflib import get_close_matches

from collaparte.band.instruments import plain
from collaparte.band.names import chair_of
from collaparte.band.state import Chair

KEYS = ("Piano", "Keyboard", "Organ")
"""One player's instruments: who says "Keys" means whichever the band has (common practice)."""
LIKE = 0.45
"""Names less alike than this (share of letters in order) are not offered instead."""


def chairs_meant(name: str, chairs: Mapping[str, Chair]) -> tuple[str, ...]:
    """Ids of the chairs that `name` may mean: one when it is clear, several when it is not, none when there is none."""
    said, heard = plain(name).strip(), chair_of(name)
    names = {id: plain(chair.name).strip() for id, chair in chairs.items()}
    known = {id: chair_of(chair.name) for id, chair in chairs.items()}
    same = [id for id, other in names.items() if other == said]
    if heard and not same:
        same = [id for id, other in known.items() if other == heard]
    if heard and not same:
        alike = {id: other for id, other in known.items() if other and other.instrument == heard.instrument}
        same = [id for id, other in alike.items() if not (other.numbers and heard.numbers)]
    if not same:
        same = [id for id, chair in chairs.items() if plain(chair.section).strip() == said]
    if heard and not same and heard.instrument in KEYS:
        keys = {id: other for id, other in known.items() if other and other.instrument in KEYS}
        same = [id for id, other in keys.items() if not (other.numbers and heard.numbers) or other[1:] == heard[1:]]
    if not same:
        same = [id for id, other in names.items() if said and set(said.split()) <= set(other.split())]
    return tuple(same)


def nearest(name: str, chairs: Mapping[str, Chair]) -> tuple[str, ...]:
    """Ids of the chairs whose names are most like `name`; all of them when none is."""
    names = {plain(chair.name): id for id, chair in chairs.items()}
    return tuple(names[near] for near in get_close_matches(plain(name), names, 3, LIKE)) or tuple(chairs)
