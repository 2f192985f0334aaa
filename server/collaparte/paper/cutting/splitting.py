"""A wide bar in parts, each from one beat to another, for lines that are too narrow for all of it."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from msgspec.structs import replace

from collaparte.paper.cutting.barcut import BarCutter
from collaparte.paper.cutting.edges import BEAM_OVER, Edges, Heads, Where
from collaparte.paper.cutting.items import Item, Role
from collaparte.paper.cutting.table import BarCut
from collaparte.paper.reading import BarBox

BEFORE = 3.0
"""A beat's own ink (accidentals, a grace note) begins at most so far left of its head, in spaces."""
CLEAN = 0.35
"""The least white between two parts; an accidental stands nearer to its note."""
LEAST = 7.0
"""The least width of a part."""
OPEN = "none"
"""No barline."""


def split(
    cutter: BarCutter, where: Where, bar: BarBox, mine: Sequence[Item], edges: Edges, heads: Heads
) -> tuple[BarCut, ...]:
    """The parts of a bar whose own objects are `mine`; none when it has no beat with clean white before it."""
    places = _places(bar, mine, edges, where.space)
    if not places:
        return ()
    ends = [edges.x0, *places, edges.x1]
    later = Heads(heads.here, heads.here, meter_here=heads.meter_here)
    out: list[BarCut] = []
    for n, (x0, x1) in enumerate(pairwise(ends)):
        first, last = n == 0, n == len(places)
        own = [i for i in mine if (first or _kept_at(i) >= x0) and (last or _kept_at(i) < x1)]
        silence = (bar.silence[0] if first else 0.0, bar.silence[1] if last else 0.0)
        box = replace(
            bar, continued=not first or bar.continued, silence=silence,
            starts_in_rest=first and bar.starts_in_rest, ends_in_rest=last and bar.ends_in_rest,
        )  # fmt: skip
        at = Edges(
            x0, x1, edges.left if first else None, edges.right if last else None,
            edges.first and first, edges.last and last, inner=True, spare=edges.spare if first else 0.0,
        )  # fmt: skip
        cut = cutter.cut(where, box, own, at, heads if first else later)
        out.append(replace(cut, left=cut.left if first else OPEN, right=cut.right if last else OPEN))
    return tuple(out)


def _places(bar: BarBox, mine: Iterable[Item], edges: Edges, space: float) -> list[float]:
    """Where the bar may be split: in the white before a beat that nothing rigid crosses."""
    groups: list[tuple[float, float]] = []
    rigid = (i for i in mine if i.role in (Role.SOLID, Role.BEAM) or i.style == BEAM_OVER)
    for a, b in sorted((i.box[0], i.box[2]) for i in rigid):
        if groups and a - groups[-1][1] < CLEAN * space:
            groups[-1] = groups[-1][0], max(groups[-1][1], b)
        else:
            groups.append((a, b))
    out: list[float] = []
    for x in bar.beats:
        for before, group in pairwise(groups):
            if not group[0] - 0.1 * space < x < group[1] or x - group[0] > BEFORE * space:
                continue
            place = max((before[1] + group[0]) / 2, group[0] - space)
            if place - (out[-1] if out else edges.x0) >= LEAST * space and edges.x1 - place >= LEAST * space:
                out.append(place)
    return out


def _kept_at(item: Item) -> float:
    """The point that decides to which part an object goes."""
    if item.role is Role.WORDS and item.anchor in ("left", "start"):
        return item.box[0] + 0.1
    return (item.box[0] + item.box[2]) / 2
