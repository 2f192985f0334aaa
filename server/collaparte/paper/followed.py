"""Corrections of one edition of a part put on the next, where the same lines of music stand on it."""

from collections.abc import Sequence

import msgspec

from collaparte.paper.drawn_lines import Line, line_at, lines_of
from collaparte.paper.reading import Reading
from collaparte.wire.corrections import BarlineHere, Place, Said, SystemHere

SAME = 0.7
"""Staff spaces within which a barline stands at the same place of its line."""
AS_IT_WAS = 1.0
"""Points within which a whole page stands as it did."""

Pairs = list[tuple[Line, Line]]


def followed(said: Sequence[Said], before: Reading, after: Reading) -> tuple[list[Said], list[Said]]:
    """Corrections of `before` for `after`, and those that cannot follow since their line is not there or is another."""
    old, new = lines_of(before), lines_of(after)
    pairs = _same_lines(old, new)
    there, lost = [], []
    for one in said:
        moved = _moved(one, old, pairs)
        if moved is None:
            lost.append(one)
        else:
            there.append(moved)
    return there, lost


def _moved(said: Said, old: Sequence[Line], pairs: Pairs) -> Said | None:
    if isinstance(said, SystemHere):
        return said if _page_is_same(said.page, old, pairs) else None
    changed: dict[str, object] = {}
    for name in said.__struct_fields__:
        place = getattr(said, name)
        if not isinstance(place, Place):
            continue
        line = line_at(old, place.page, place.x, place.y)
        new = next((new for one, new in pairs if one is line), None)
        if line is None or new is None:
            # Where nothing was read, the same page holds what was said of it.
            if line is not None or not _page_is_same(place.page, old, pairs):
                return None
            continue
        changed[name] = _place(place, line, new)
        if isinstance(said, BarlineHere) and said.to is not None:
            changed["to"] = _place(Place(place.page, said.to, place.y), line, new).x
    return msgspec.structs.replace(said, **changed)


def _place(place: Place, old: Line, new: Line) -> Place:
    scale = new.space / old.space
    (x0, top), (to_x, to_top) = old.system.bbox[:2], new.system.bbox[:2]
    return Place(new.page, to_x + (place.x - x0) * scale, to_top + (place.y - top) * scale)


def _page_is_same(page: int, old: Sequence[Line], pairs: Pairs) -> bool:
    own = [line for line in old if line.page == page]
    there = {
        id(one)
        for one, new in pairs
        if one.page == new.page == page
        and all(abs(a - b) <= AS_IT_WAS for a, b in zip(one.system.bbox, new.system.bbox, strict=True))
    }
    return bool(own) and all(id(line) in there for line in own)


def _same_lines(old: Sequence[Line], new: Sequence[Line]) -> Pairs:
    """Lines of two readings that are the same, in order: the longest such row."""
    best = [[0] * (len(new) + 1) for _ in range(len(old) + 1)]
    alike = [[_alike(one, other) for other in new] for one in old]
    for a in reversed(range(len(old))):
        for b in reversed(range(len(new))):
            here = best[a + 1][b + 1] + 1 if alike[a][b] else 0
            best[a][b] = max(here, best[a + 1][b], best[a][b + 1])
    out: Pairs = []
    a = b = 0
    while a < len(old) and b < len(new):
        if alike[a][b] and best[a][b] == best[a + 1][b + 1] + 1:
            out.append((old[a], new[b]))
            a, b = a + 1, b + 1
        elif best[a][b] == best[a + 1][b]:
            a += 1
        else:
            b += 1
    return out


def _alike(one: Line, other: Line) -> bool:
    """Whether two lines have as many staves, and the same barlines at the same places."""
    if len(one.system.staves) != len(other.system.staves) or len(one.barlines) != len(other.barlines):
        return False
    return all(
        a.kind is b.kind
        and abs((a.x - one.system.bbox[0]) / one.space - (b.x - other.system.bbox[0]) / other.space) <= SAME
        for a, b in zip(one.barlines, other.barlines, strict=True)
    )
