"""Line heads: which ink is clef, which key, which meter; and changes of key in mid-line."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from collaparte.paper.cutting.items import Item, Role
from collaparte.paper.reading import Change, Reading, StaveHead, System

HEAD = ("head",)
"""The style of a scan's clef, key or meter, with which of them it is and what it is called,"""
SIGN = ("sign",)
"""and of one of a new key's signs in mid-line, or of all of them, with what it is called."""
OCTAVES = ("8", "15")
BEHIND = 0.2
"""What begins farther behind the last sign of a stave's head than this many spaces is no sign."""


@dataclass(slots=True)
class FoundHead:
    """One system's head, a list of objects a stave."""

    clef: list[list[Item]] = field(default_factory=list)
    key: list[list[Item]] = field(default_factory=list)
    meter: list[list[Item]] = field(default_factory=list)
    meter_x: float | None = None
    notes_x: float | None = None
    """Where on a stave notes begin before another stave's last sign: grace notes, often."""
    clef_name: str = ""
    key_name: str = ""


class HeadFinder:
    """The heads of all systems of a part, by (page, system)."""

    def __init__(self, reading: Reading, everything: Sequence[list[Item]]) -> None:
        self.systems = {(n, s): system for n, p in enumerate(reading.pages) for s, system in enumerate(p.systems)}
        self._keys = {(c.page, c.bar, c.stave): c for c in reading.changes if c.fifths is not None}
        self._clefs = [c for c in reading.changes if c.clef]
        order = list(self.systems)
        self.next_head = dict(pairwise(order))
        self.heads = {
            (n, s): self._find(system, [i for i in everything[n] if i.system == s])
            for (n, s), system in self.systems.items()
        }

    def _find(self, system: System, items: list[Item]) -> FoundHead:
        sp = system.space
        found = FoundHead()
        clefs: list[str] = []
        keys: list[str] = []
        for k, stave in enumerate(system.staves):
            head = [
                i for i in items
                if i.bar < 0 and i.stave == k and i.role is Role.SOLID and i.box[0] > stave.x0 - 0.2 * sp
            ]  # fmt: skip
            groups = _groups(head, sp)
            if stave.head and stave.head.end is not None:
                end = stave.head.end + BEHIND * sp
                notes = [x for group in groups if (x := min(i.box[0] for i in group)) > end]
                groups = groups[: len(groups) - len(notes)]
                found.notes_x = min((x for x in (found.notes_x, *notes) if x is not None), default=None)
            middle = (stave.top + stave.bottom) / 2
            clef, key, meter = _by_name(head) or (
                _as_read(groups, stave.head, sp) if stave.head else _by_shape(groups, middle, sp)
            )
            found.clef.append(clef + octave(clef, items, sp))
            found.key.append(key)
            found.meter.append(meter)
            if meter:
                x = min(i.box[0] for i in meter)
                found.meter_x = x if found.meter_x is None else min(x, found.meter_x)
            clefs.append(sign_name(found.clef[-1], middle, sp))
            keys.append(sign_name(key, middle, sp))
        found.clef_name, found.key_name = "|".join(clefs), "|".join(keys)
        return found

    def clef_read(self, where: tuple[int, int], stave: int) -> str:
        """What the clef at a line's head was read as (`Change.clef`); empty: it is not known."""
        system, page = self.systems[where], where[0]
        if stave >= len(system.staves) or not system.bars:
            return ""
        top, first = system.staves[stave].top, system.bars[0].x0
        before = [
            (c.page, c.box[1] > top - system.space, c.box[1], c.box[0], c.clef)
            for c in self._clefs
            if c.stave == stave
            and (
                (c.page, c.box[1]) < (page, top - system.space)
                or (c.page == page and abs(c.box[1] - top) <= system.space and c.box[0] < first)
            )
        ]
        return max(before)[-1] if before else ""

    def meter_in(self, page: int, system: int, mine: Sequence[Item], x0: float, x1: float) -> list[list[Item]]:
        """The figures of a meter between two places of a line, a list a stave; empty when there are none."""
        here = self.systems[(page, system)]
        out: list[list[Item]] = []
        for k, stave in enumerate(here.staves):
            near = [i for i in mine if i.stave == k and i.role is Role.SOLID and x0 < i.box[0] and i.box[2] < x1]
            middle = (stave.top + stave.bottom) / 2
            out.append(
                [i for group in _groups(near, here.space) if _is_meter(group, middle, here.space) for i in group]
            )
        return out if any(out) else []

    def keys_at(self, page: int, bar: int) -> list[Change]:
        """The changes of key read at the start of a bar, of any stave."""
        return [key for (of, at, _), key in self._keys.items() if (of, at) == (page, bar)]

    def change(self, page: int, system: int, place: int, mine: list[Item], x0: float) -> list[list[Item]]:
        """The accidentals of a change of key at the bar's start, a list a stave; empty when there is none."""
        if place == 0:
            return []
        here = self.systems[(page, system)]
        if not any(stave.head for stave in here.staves) and all(i.style[:1] != SIGN for i in mine):
            return self._change_by_shape(page, system, mine, x0)
        out: list[list[Item]] = []
        for k in range(len(here.staves)):
            key = self._keys.get((page, here.bars[place].number, k))
            out.append(_signs_in(key, [i for i in mine if i.stave == k], here.space) if key else [])
        return out if any(out) else []

    def _change_by_shape(self, page: int, system: int, mine: list[Item], x0: float) -> list[list[Item]]:
        """The same where no clef was read: what looks like the next line's key."""
        here = self.systems[(page, system)]
        sp = here.space
        following = self.next_head.get((page, system))
        if following and self.heads[following].key_name == self.heads[(page, system)].key_name:
            return []
        out: list[list[Item]] = []
        for k in range(len(here.staves)):
            solid = [i for i in mine if i.stave == k and i.role is Role.SOLID]
            run: list[Item] = []
            edge = x0
            for group in _groups(solid, sp):
                left = min(i.box[0] for i in group)
                if left - edge > (2.2 if not run else 0.75) * sp or not _is_accidental(group, sp):
                    break
                run += group
                edge = max(i.box[2] for i in group)
            name = sign_name(run, (here.staves[k].top + here.staves[k].bottom) / 2, sp)
            if following:
                wanted = self.heads[following].key_name.split("|")
                ok = bool(run) and (k >= len(wanted) or name.endswith(wanted[k]))
            else:
                ok = len(run) >= 2
            clear = min((i.box[0] for i in solid if i not in run), default=1e9)
            out.append(run if ok and clear - edge > 0.45 * sp else [])
        return out if any(out) else []


def _signs_in(key: Change, items: Sequence[Item], sp: float) -> list[Item]:
    """The accidentals among a change's signs, which may hold a clef and a meter as well."""
    left, right = key.box[0] - 0.2 * sp, key.box[2] + 0.2 * sp
    if signs := [i for i in items if i.style[:1] == SIGN]:
        return signs
    solid = [i for i in items if i.role is Role.SOLID and left < i.box[0] and i.box[2] < right]
    groups = _groups(solid, sp)
    if key.meter:
        groups = groups[:-1]
    return [i for group in groups if _is_accidental(group, sp) for i in group]


def octave(clef: Sequence[Item], items: Sequence[Item], sp: float) -> list[Item]:
    """The figure right over or under a clef that says how many notes higher or lower it is (common practice)."""
    if not clef:
        return []
    x0, y0, x1, y1 = _size(clef)
    figures = (i for i in items if i.role is Role.WORDS and i.letters.strip("() ") in OCTAVES)
    near = (i for i in figures if x0 < (i.box[0] + i.box[2]) / 2 < x1 and i.box[3] > y0 - sp and i.box[1] < y1 + sp)
    return list(near)


Parts = tuple[list[Item], list[Item], list[Item]]
"""Clef, key and meter of one stave's head."""


def _by_name(head: Sequence[Item]) -> Parts | None:
    """The same where pictures tell it (scans); None where they do not."""
    named = [i for i in head if i.style[:1] == HEAD]
    clef, key, meter = ([i for i in named if i.style[1] == kind] for kind in ("clef", "key", "meter"))
    return (clef, key, meter) if named else None


def _as_read(groups: Sequence[Sequence[Item]], head: StaveHead, sp: float) -> Parts:
    parts: Parts = ([], [], [])
    for group in groups:
        x = min(i.box[0] for i in group) + 0.1 * sp
        is_meter, is_key = (start is not None and x >= start for start in (head.meter, head.key))
        parts[2 if is_meter else 1 if is_key else 0].extend(group)
    return parts


def _by_shape(groups: Sequence[Sequence[Item]], middle: float, sp: float) -> Parts:
    """Where the clef's shape is not known, by what stands where; a head without a clef that was read."""
    clef: list[Item] = []
    key: list[Item] = []
    meter: list[Item] = []
    for n, group in enumerate(groups):
        if n == 0:
            clef += group
        elif meter or _is_meter(group, middle, sp):
            meter += group
        elif n == 1 and not _is_accidental(group, sp) and group[0].box[0] - clef[-1].box[2] < 0.35 * sp:
            clef += group
        else:
            key += group
    return clef, key, meter


def sign_name(items: Sequence[Item], middle: float, sp: float) -> str:
    """What tells one clef or key from another: each object's size and height, in half spaces; on scans its picture."""
    if items and items[0].style[:1] in (HEAD, SIGN) and len(items[0].style) > 2:
        return str(items[0].style[2])
    return " ".join(
        f"{round((i.box[3] - i.box[1]) / sp * 2)}@{round(((i.box[1] + i.box[3]) / 2 - middle) / sp * 2)}"
        for i in sorted(items, key=lambda i: i.box[0])
    )


def _groups(items: list[Item], sp: float) -> list[list[Item]]:
    """Objects that overlap in x, left to right."""
    out: list[list[Item]] = []
    right = -1e9
    for item in sorted(items, key=lambda i: i.box[0]):
        if out and item.box[0] < right - 0.1 * sp:
            out[-1].append(item)
        else:
            out.append([item])
        right = max(right, item.box[2]) if out[-1] != [item] else item.box[2]
    return out


def _size(group: Sequence[Item]) -> tuple[float, float, float, float]:
    x0 = min(i.box[0] for i in group)
    y0 = min(i.box[1] for i in group)
    x1 = max(i.box[2] for i in group)
    y1 = max(i.box[3] for i in group)
    return x0, y0, x1, y1


def _is_meter(group: Sequence[Item], middle: float, sp: float) -> bool:
    """Two figures that fill the stave, or a C round the middle line."""
    x0, y0, x1, y1 = _size(group)
    w, h = (x1 - x0) / sp, (y1 - y0) / sp
    if abs((y0 + y1) / 2 - middle) > 0.3 * sp:
        return False
    return 3.6 < h < 4.5 or (w > 1.2 and 1.6 < h < 2.3) or (w > 1.35 and 2.3 <= h < 3.6)


def _is_accidental(group: Sequence[Item], sp: float) -> bool:
    x0, y0, x1, y1 = _size(group)
    return len(group) <= 2 and 0.5 < (x1 - x0) / sp < 1.75 and 1.9 < (y1 - y0) / sp < 3.4
