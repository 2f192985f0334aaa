"""Systems: staves joined at the left edge or by their barlines, with what belongs to them."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from operator import attrgetter

from collaparte.paper.reading import Barline, Box
from collaparte.paper.sight.barlines import (
    Found,
    Row,
    find_barlines,
    joining,
    thick_from,
    uprights,
    without_rest_ends,
)
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import OUTLINE, Glyph, PageInk, Rule
from collaparte.paper.sight.unjoined import players

SMALL = 0.84
"""A stave smaller than this share of the page's usual one is an ossia or a cue, and counts no bars."""


BRACKET = 2.5
"""What joins staves reaches no further over them, in spaces."""
LEVEL, BESIDE = 0.05, 0.35
"""Letters of one row have one foot, and stand so near to one another, in sizes."""
DOTS = frozenset(("dot", "repeat-dots", "letter"))
LEDGER, THIN = (0.9, 3.6), 0.35
"""A ledger line is so many spaces long, and no thicker."""
OUT = 1.6
"""A head this far from its stave, in spaces, is under or over its first ledger line,"""
STEP = 0.3, 1.3
"""and so many spaces from the one before it."""
NOTES = frozenset(("head", "rest", "flag", "repeat-bar", "h-bar", "dot", "accidental", "clef", "meter"))


@dataclass(slots=True)
class Skeleton:
    """One system before its bars are counted: its staves, barlines, the ink between its neighbours."""

    staves: list[StaveLines]
    space: float
    barlines: list[Barline]
    y_above: float
    y_below: float
    glyphs: list[Glyph] = field(default_factory=list)
    """Signs and letters between the neighbouring systems, in order of their left edge."""
    apart: bool = False
    """Some of its staves have barlines of their own."""
    x0: float = field(init=False)
    x1: float = field(init=False)
    bbox: Box = field(init=False)

    def __post_init__(self) -> None:
        self.x0, self.x1 = min(s.x0 for s in self.staves), max(s.x1 for s in self.staves)
        self.bbox = (self.x0, self.staves[0].top, self.x1, self.staves[-1].bottom)


def usual_space(staves: Sequence[StaveLines]) -> float:
    """The staff space that most of the staves' length has."""
    spaces = sorted((s.space, s.x1 - s.x0) for s in staves)
    half = sum(length for _, length in spaces) / 2
    for space, length in spaces:
        half -= length
        if half <= 0:
            return space
    return spaces[-1][0]


def find_systems(ink: PageInk, found: list[StaveLines], together: int = 1, *, no_stems: bool = False) -> list[Skeleton]:
    """The page's systems in reading order; cue-sized staves are left out. `together`: staves of each system on pages
    before; `no_stems`: no upright rule is a stem."""
    if not found:
        return []
    space = usual_space(found)
    staves = [s for s in found if s.space >= SMALL * space]
    strokes = uprights(ink.rules, space)
    heads = Row.of([] if no_stems else _heads(ink.glyphs, space))
    # Some music fonts call a repeat's two dots a colon.
    dots = Row.of([g for g in ink.glyphs if g.kind in DOTS and (g.kind != "letter" or g.value == ":")])
    thick = thick_from(strokes, staves)
    lowest = 0.8 * min(s.bottom - s.top for s in staves)
    tall = without_rest_ends([u for u in strokes if u.y1 - u.y0 > lowest], ink.rules, staves)
    tall.sort(key=attrgetter("y0"))
    begun = [u.y0 for u in tall]
    long = [u for u in strokes if u.y1 - u.y0 > 7 * SMALL * space and _ends_at_a_stave(u, staves)]

    def barlines(group: list[StaveLines]) -> Found:
        first, last = bisect_left(begun, min(s.top for s in group) - space), bisect_left(begun, group[-1].bottom)
        near = tall[first:last]  # a barline begins about where a stave does
        found = find_barlines(group, near, heads, dots, thick)
        return found._replace(barlines=_without_left_edge(found.barlines, group))

    groups = [(group, barlines(group)) for group in _joined(staves, long)]
    together = players([(group, found.barlines) for group, found in groups], together)
    if together > 1:
        whole = [[s for staves, _ in groups[n : n + together] for s in staves] for n in range(0, len(groups), together)]
        groups = [(group, barlines(group)) for group in whole]
    systems = [Skeleton(group, group[0].space, found.barlines, 0.0, 0.0, [], found.apart) for group, found in groups]
    systems.sort(key=lambda s: (s.bbox[1], s.bbox[0]))
    systems = [system for column in _page_columns(systems) for system in _rows(column)]
    _share_out(systems, ink)
    return systems


def _heads(glyphs: Sequence[Glyph], space: float) -> list[Glyph]:
    """Note heads, and shapes taken for letters that may be some: not those beside another letter of their row."""
    if OUTLINE not in [g.font for g in glyphs]:
        return [g for g in glyphs if g.kind == "head"]
    letters = Row.of(g for g in glyphs if g.font == OUTLINE and g.kind == "letter")
    return [g for g in glyphs if g.kind == "head" or (_may_be_head(g, space) and not _is_in_word(g, letters))]


def _is_in_word(glyph: Glyph, letters: Row) -> bool:
    near = letters.between(glyph.x0 - 2 * glyph.size, glyph.x1 + BESIDE * glyph.size)
    return any(
        other is not glyph
        and abs(other.y - glyph.y) < LEVEL * glyph.size
        and min(abs(other.x0 - glyph.x1), abs(glyph.x0 - other.x1)) < BESIDE * glyph.size
        for other in near
    )


def _may_be_head(glyph: Glyph, space: float) -> bool:
    """A shape taken for a letter, as large as a note head."""
    return (
        glyph.font == OUTLINE
        and 0.8 * space < glyph.x1 - glyph.x0 < 2 * space
        and 0.7 * space < glyph.y1 - glyph.y0 < 1.3 * space
    )


def _ends_at_a_stave(stroke: Rule, staves: Sequence[StaveLines]) -> bool:
    """Whether a stroke begins or ends about where a stave does, as what joins staves does and a page's border not."""
    return any(
        abs(stroke.y0 - s.top) < BRACKET * s.space or abs(stroke.y1 - s.bottom) < BRACKET * s.space for s in staves
    )


def _joined(staves: list[StaveLines], strokes: list[Rule]) -> list[list[StaveLines]]:
    groups: list[list[StaveLines]] = []
    for stave in staves:
        for group in groups:
            last = group[-1]
            overlap = min(last.x1, stave.x1) - max(last.x0, stave.x0)
            if overlap > 0.5 * (stave.x1 - stave.x0) and joining(strokes, last, stave):
                group.append(stave)
                break
        else:
            groups.append([stave])
    return groups


def _without_left_edge(barlines: list[Barline], staves: Sequence[StaveLines]) -> list[Barline]:
    x0, space = min(s.x0 for s in staves), staves[0].space
    return [b for b in barlines if b.x > x0 + 0.9 * space or b.kind.startswith("repeat")]


def _page_columns(systems: list[Skeleton]) -> list[list[Skeleton]]:
    """Two pages printed side by side are read one after the other: all systems left or right of one upright line."""
    for edge in sorted(s.x1 for s in systems):
        left, right = [s for s in systems if s.x1 <= edge], [s for s in systems if s.x0 > edge]
        if left and right and max(len(left), len(right)) > 1 and len(left) + len(right) == len(systems):
            return [left, *_page_columns(right)]
    return [systems] if systems else []


def _rows(systems: list[Skeleton]) -> list[Skeleton]:
    """Reading order: systems side by side on one row go from left to right."""
    out: list[Skeleton] = []
    at = 0
    while at < len(systems):
        to = at + 1
        while to < len(systems) and systems[to].bbox[1] < systems[at].bbox[3] - systems[at].space:
            to += 1
        out += sorted(systems[at:to], key=lambda s: s.x0)
        at = to
    return out


def _share_out(systems: list[Skeleton], ink: PageInk) -> None:
    for system in systems:
        above = [s for s in systems if s.bbox[3] <= system.bbox[1] and _beside(s, system)]
        below = [s for s in systems if s.bbox[1] >= system.bbox[3] and _beside(s, system)]
        system.y_above = max((s.bbox[3] for s in above), default=0.0)
        system.y_below = min((s.bbox[1] for s in below), default=ink.height)
    ordered = sorted(ink.glyphs, key=attrgetter("x0"))
    middles = [(glyph.y0 + glyph.y1) / 2 for glyph in ordered]
    by_height = sorted(range(len(ordered)), key=middles.__getitem__)
    heights = [middles[n] for n in by_height]
    away: set[int] = set()
    for upper, lower in ((s, t) for s in systems for t in systems if t.bbox[1] == s.y_below and _beside(s, t)):
        out, x0, x1 = OUT * upper.space, min(upper.x0, lower.x0), max(upper.x1, lower.x1)
        gap = by_height[bisect_right(heights, upper.bbox[3] + out) : bisect_left(heights, upper.y_below - out)]
        heads = ((n, ordered[n]) for n in gap if ordered[n].kind == "head" and x0 < ordered[n].x0 < x1)
        away |= {n for n, head in heads if _leads_away(head, upper, ink.rules)}
    for system in systems:
        low, high = system.x0 - 12 * system.space, system.x1 + 3 * system.space
        _, top, _, bottom = system.bbox
        highest = (top + system.y_above) / 2 if system.y_above > 0.0 else 0.0
        lowest = (bottom + system.y_below) / 2 if system.y_below < ink.height else ink.height
        first, last = bisect_right(heights, system.y_above), bisect_left(heights, system.y_below)
        to, end = bisect_right(heights, highest, first, last), bisect_left(heights, lowest, first, last)
        own = by_height[to:end]
        if away:
            own = [n for n in own if n not in away or ordered[n].kind not in NOTES]
        beyond = by_height[first:to] + by_height[end:last]
        own += [n for n in beyond if ordered[n].kind not in NOTES or n in away]
        system.glyphs = [glyph for n in sorted(own) if (glyph := ordered[n]).x0 > low and glyph.x1 < high]


def _leads_away(head: Glyph, upper: Skeleton, rules: Sequence[Rule]) -> bool:
    """Whether the ledger lines of a head under this line and over the next lead to the further one."""
    middle, space = (head.y0 + head.y1) / 2, upper.space
    steps = [
        (r.y0 + r.y1) / 2 - middle
        for r in rules
        if r.x0 < head.x1
        and r.x1 > head.x0
        and abs(r.y0 - middle) < STEP[1] * space
        and r.y1 - r.y0 < THIN * space
        and LEDGER[0] * space < r.x1 - r.x0 < LEDGER[1] * space
    ]
    above, below = (any(way * step > STEP[0] * space for step in steps) for way in (-1, 1))
    return above != below and above == (middle > (upper.bbox[3] + upper.y_below) / 2)


def _beside(one: Skeleton, other: Skeleton) -> bool:
    return min(one.x1, other.x1) > max(one.x0, other.x0)
