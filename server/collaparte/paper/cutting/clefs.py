"""Clefs that change in mid-line: their ink, from which bar on they hold, and the line head that looks alike."""

from collections.abc import Sequence
from dataclasses import dataclass

from collaparte.paper.cutting.headcut import FoundHead, HeadFinder, octave
from collaparte.paper.cutting.items import Item, Role, union
from collaparte.paper.reading import Reading, System
from collaparte.paper.sight.changes import FIRST_SHARP

SMALL = (0.6, 0.95)
"""How high a clef in mid-line is, as a share of a line head's (common practice: it is set smaller);"""
WIDE = (1.2, 3.2)
"""how wide, in spaces;"""
USUAL = 0.8
"""its usual share;"""
LEVEL = 0.8
"""and how far its middle may stand from that of the same clef in a line's head, in spaces."""
SHARP = 6
"""An accidental of so many half spaces or more in height is a sharp; a flat is lower (SMuFL fonts and others)."""


@dataclass(slots=True)
class NewClef:
    """A clef in mid-line: its stave, the place of the bar whose ink it is, and its marks."""

    stave: int
    bar: int
    ink: list[Item]
    closes: bool
    """It stands behind all else of its stave in that bar, for the next bar."""
    lower: float = 0.0
    """So many spaces lower than in the clef before stand the signs of a key, where that is known."""
    name: str = ""
    """What it was read as (`Change.clef`)."""


def new_clefs(reading: Reading, finder: HeadFinder, page: int, place: int, items: Sequence[Item]) -> list[NewClef]:
    """The clefs in mid-line of the system that is `place` on its page, left to right; `items` are its objects."""
    system = finder.systems[(page, place)]
    read = _read(reading, page, system, items)
    return sorted(read or _by_shape(finder, page, place, items), key=lambda clef: clef.bar)


def _read(reading: Reading, page: int, system: System, items: Sequence[Item]) -> list[NewClef]:
    """Those whose signs were read."""
    sp, bars = system.space, system.bars
    out: list[NewClef] = []
    held: dict[int, float | None] = {}
    for c in reading.changes:
        if not c.clef or c.stave >= len(system.staves) or not bars:
            continue
        stave = system.staves[c.stave]
        inside = c.page == page and abs(c.box[1] - stave.top) <= sp and c.box[0] >= bars[0].x0
        solid = [i for i in items if inside and i.stave == c.stave and i.role is Role.SOLID]
        ink = [i for i in solid if c.box[0] - 0.3 * sp < i.box[0] and i.box[2] < c.box[2] + 0.3 * sp]
        middle = _measures(union(i.box for i in ink), system, c.stave)[1] if ink else 0.0
        ink += octave(ink, items, sp)
        place = FIRST_SHARP.get(c.clef)
        if ink and place is not None and c.clef == "c":  # it may stand on any line
            place += middle
        if ink:
            old = held.get(c.stave)
            bar = max(n for n, bar in enumerate(bars) if bar.x0 <= c.box[0])
            lower = place - old if place is not None and old is not None else 0.0
            out.append(NewClef(c.stave, bar, ink, _closes(ink, bar, solid, system), round(2 * lower) / 2, c.clef))
        if (c.page, c.box[1]) <= (page, stave.top + sp):
            held[c.stave] = place
    return out


def _closes(ink: Sequence[Item], bar: int, solid: Sequence[Item], system: System) -> bool:
    """Nothing of its stave stands behind it in its bar, and something before it; what a line ends with behind its last
    barline announces the next one's key and meter."""
    x0, _, x1, _ = union(i.box for i in ink)
    there = [i for i in solid if i.bar == bar and i not in ink and i.box[0] < system.bars[bar].x1]
    return not any(i.box[0] > x1 for i in there) and any(i.box[2] < x0 for i in there)


def _by_shape(finder: HeadFinder, page: int, place: int, items: Sequence[Item]) -> list[NewClef]:
    """Where no clef was read in mid-line, and the next line begins in another: what looks most like that one."""
    system, following = finder.systems[(page, place)], finder.next_head.get((page, place))
    if following is None or finder.heads[following].clef_name == finder.heads[(page, place)].clef_name:
        return []
    best: tuple[float, int, Item] | None = None
    for item in items:
        if item.role is Role.SOLID and item.bar >= 0:
            fit = _fit([item], system, item.stave, finder.heads[following], finder.systems[following])
            if fit is not None and (best is None or (fit, item.bar) < best[:2]):
                best = fit, item.bar, item
    if best is None:
        return []
    _, bar, item = best
    solid = [i for i in items if i.stave == item.stave and i.role is Role.SOLID]
    return [NewClef(item.stave, bar, [item], _closes([item], bar, solid, system))]


def alike(finder: HeadFinder, page: int, place: int, clef: NewClef, signs: Sequence[bool]) -> tuple[int, int] | None:
    """The line, by page and place, whose head has the same clef in full size: one with a key of these signs, if any,
    the next one, else the one most like."""
    system, following = finder.systems[(page, place)], finder.next_head.get((page, place))
    found: list[tuple[bool, bool, float, tuple[int, int]]] = []
    for where, head in finder.heads.items():
        read = finder.clef_read(where, clef.stave)
        if clef.name and read and read != clef.name:
            continue
        fit = _fit(clef.ink, system, clef.stave, head, finder.systems[where])
        if fit is not None:
            found.append((key_signs(head.key_name, clef.stave) != signs, where != following, fit, where))
    return min(found)[-1] if found else None


def first_sharp(name: str, ink: Sequence[Item], system: System, stave: int) -> float | None:
    """Where the first sharp of a key stands in a clef read as `name`, in spaces below the middle line."""
    place = FIRST_SHARP.get(name)
    if place is None or not ink:
        return None
    # A C clef may stand on any line (common practice).
    return (
        round(2 * (place - 2.0 + (_measures(union(i.box for i in ink), system, stave)[1] if name == "c" else 0.0))) / 2
    )


def key_signs(key_name: str, stave: int) -> list[bool]:
    """A head's key on a stave, by whether each of its signs is a sharp: their places are the clef's."""
    return [int(sign.split("@")[0]) >= SHARP for sign in key_name.split("|")[stave].split()]


def _fit(ink: Sequence[Item], here: System, stave: int, head: FoundHead, there: System) -> float | None:
    """How unlike a small clef is the one of a line's head on the same stave; None for another clef."""
    if stave >= len(head.clef) or not head.clef[stave]:
        return None
    full, small = union(i.box for i in head.clef[stave]), union(i.box for i in ink)
    (height, centre), (h, y) = _measures(full, there, stave), _measures(small, here, stave)
    w = (small[2] - small[0]) / here.space
    if not height:
        return None  # a damaged file's: ink of no height
    if not (SMALL[0] < h / height < SMALL[1] and WIDE[0] < w < WIDE[1] and abs(y - centre) < LEVEL):
        return None
    return abs(h / height - USUAL) + 0.5 * abs(y - centre)


def _measures(box: tuple[float, float, float, float], system: System, stave: int) -> tuple[float, float]:
    """How high it is, and how far below the stave's middle its own is, in spaces."""
    middle = (system.staves[stave].top + system.staves[stave].bottom) / 2
    return (box[3] - box[1]) / system.space, ((box[1] + box[3]) / 2 - middle) / system.space
