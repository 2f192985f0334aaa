"""What joins the staves of a system at their left: braces and brackets, as printed."""

from collections import Counter
from collections.abc import Iterable
from itertools import pairwise

from collaparte.paper.cutting.ink import Glyph, Mark, Page, Shape
from collaparte.paper.cutting.items import union
from collaparte.paper.cutting.table import Group
from collaparte.paper.reading import Box, Stave, System

REACH = 4.0
"""Spaces left of the staves that are looked at."""
WIDEST = 3.0
FEW = 0.3
"""Barlines of which fewer than this share go through from stave to stave do not."""
WIDER = 0.15
"""Staves' lines stand as far apart but for this, in spaces; a tablature's half as far again (common practice)."""
A_LINE = 0.3
"""An upright no wider than this, in spaces, joins the staves as a line."""


Joined = tuple[Group, ...]


def of_part(systems: Iterable[tuple[System, Joined]]) -> Joined:
    """What most of the systems with all the staves have; of each is told what joins its own."""
    every = list(systems)
    most = max((len(system.staves) for system, _ in every), default=1)
    full = [joined for system, joined in every if len(system.staves) == most]
    return Counter(full).most_common(1)[0][0] if most > 1 else ()


def parted(systems: Iterable[tuple[Page, System]]) -> tuple[int, ...]:
    """The staves (from 0) whose barlines do not go on to the next one in most of the systems with all the staves."""
    all_systems = list(systems)
    most = max((len(system.staves) for _, system in all_systems), default=1)
    full = [one for one in all_systems if len(one[1].staves) == most]
    through: Counter[int] = Counter()
    bars = 0
    for page, system in full if most > 1 else ():
        left = min(s.x0 for s in system.staves) + REACH * system.space
        xs = [line.x for line in system.barlines if line.x > left]
        bars += len(xs)
        for n, (upper, lower) in enumerate(pairwise(system.staves)):
            low, high = upper.bottom + _beyond(upper) * system.space, lower.top - _beyond(lower) * system.space
            uprights = [m.box for m in page.ink if m.box[1] < low and m.box[3] > high and _is_upright(m.box)]
            through[n] += sum(any(b[0] - system.space < x < b[2] + system.space for b in uprights) for x in xs)
    return tuple(n for n in range(most - 1) if bars and through[n] < FEW * bars)


def apart(system: System) -> tuple[float, ...]:
    """How far apart the lines of each of its staves are, in spaces; none where all are one."""
    lines = [s.lines for s in system.staves]
    out = tuple(round((v[-1] - v[0]) / (len(v) - 1) / system.space, 2) if len(v) > 1 else 1.0 for v in lines)
    return out if any(abs(one - 1) > WIDER for one in out) else ()


def _beyond(stave: Stave) -> float:
    """How far from a stave's outer line a barline's stroke to the next stave may begin: on one line alone, barlines are
    a space long to both sides (common practice)."""
    return 0.2 if len(stave.lines) > 1 else 1.2


def _is_upright(box: Box) -> bool:
    return box[2] - box[0] < 0.2 * (box[3] - box[1])


def of_system(page: Page, system: System) -> Joined:
    """What joins a system's staves."""
    if len(system.staves) < 2:
        return ()
    sp, staves = system.space, system.staves
    left = min(s.x0 for s in staves)
    pieces = [
        mark for mark in page.ink
        if left - REACH * sp < mark.box[0] and mark.box[2] < left + 0.2 * sp
        and mark.box[3] - mark.box[1] > 3 * sp and A_LINE * sp < mark.box[2] - mark.box[0] < WIDEST * sp
    ]  # fmt: skip
    out: set[Group] = set()
    for box, brace in _columns(sorted(pieces, key=lambda m: m.box[1]), sp):
        joined = [n for n, s in enumerate(staves) if box[1] < s.top + sp and box[3] > s.bottom - sp]
        if len(joined) > 1 and box[3] - box[1] < staves[joined[-1]].bottom - staves[joined[0]].top + 4 * sp:
            out.add(Group(joined[0], joined[-1], brace))
    return in_order(out)


def in_order(groups: Iterable[Group]) -> Joined:
    """From top to bottom, the outer ones first."""
    return tuple(sorted(groups, key=lambda g: (g.first, -g.last, g.brace)))


def _columns(pieces: Iterable[Mark], sp: float) -> list[tuple[Box, bool]]:
    """Pieces that stand on one another are one, such as the halves of a brace; and whether they are one."""
    out: list[tuple[Box, bool]] = []
    for mark in pieces:
        for n, (box, brace) in enumerate(out):
            if box[0] < mark.box[2] and mark.box[0] < box[2] and mark.box[1] < box[3] + 0.5 * sp:
                out[n] = union((box, mark.box)), brace or _is_brace(mark)
                break
        else:
            out.append((mark.box, _is_brace(mark)))
    return out


def _is_brace(mark: Mark) -> bool:
    """Curved all along; a bracket is straight but for its tips."""
    if not isinstance(mark, Shape):
        return isinstance(mark, Glyph)
    height = mark.box[3] - mark.box[1]
    straight = 0.0
    for sub in mark.path:
        y, start = sub.y, sub.y
        for s in sub.segments:
            straight = max(straight, abs(s[-1] - y)) if len(s) == 2 else straight
            y = s[-1]
        straight = max(straight, abs(start - y)) if sub.closed else straight
    return straight < 0.3 * height
