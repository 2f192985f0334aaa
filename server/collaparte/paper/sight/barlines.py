"""Barlines: upright strokes exactly as tall as their staves that no note head touches."""

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import pairwise
from operator import attrgetter
from typing import NamedTuple

from collaparte.paper.reading import Barline, BarlineKind
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import Glyph, Rule

THICK = 0.3
"""In staff spaces: SMuFL's engraving defaults have 0.16 for a thin barline and 0.5 for a thick one."""
THICKER, MOST_THIN = 1.4, 0.45
"""A thick one is so many times as wide as a thin one, which is at most so many spaces wide."""
UNLIKE = (1.6, 0.1)
"""One of a barline's strokes is thick when so many times as wide as another, and so many spaces wider."""
JOINED = 0.85
"""Strokes nearer than this (in spaces, edge to edge) are one barline; SMuFL's default separation is 0.4."""
ASIDE = 1.5
"""One stave's barline stands this far from the others', in spaces, or is the same, set aside."""
REACH = 0.3
"""How far a barline may end from its stave's outer line, in spaces."""

FEWEST = 4
"""A stave of fewer lines is as high as an H-bar's ends (2 spaces, common practice)."""
H_BAR = (0.3, 1.6)
"""An H-bar is so many spaces thick, and longer than thick."""
AT_END = 0.6
"""The strokes at an H-bar's ends stand within so many spaces of them."""
AT_STEMS_END = 0.7
"""What may be a head is one if its middle is so near to a stem's end, in spaces: a slur's piece may touch a barline."""
CENTRED = 0.4
"""A repeat's two dots have their middle so near to the stave's, in spaces; of dots behind notes in two spaces that are
not the middle ones it lies a whole space off."""
NEAR_DOTS = 0.75
"""Dots nearer to a barline than this are its own, even behind notes."""


class Row(NamedTuple):
    """Glyphs of some sorts in order of their left edge, for quick looking up."""

    starts: list[float]
    glyphs: list[Glyph]

    @classmethod
    def of(cls, glyphs: Iterable[Glyph]) -> "Row":
        ordered = sorted(glyphs, key=attrgetter("x0"))
        return cls([g.x0 for g in ordered], ordered)

    def between(self, x0: float, x1: float) -> list[Glyph]:
        """Those whose left edge is from x0 to x1."""
        return self.glyphs[bisect_left(self.starts, x0) : bisect_right(self.starts, x1)]


def uprights(rules: Sequence[Rule], space: float) -> list[Rule]:
    """Upright strokes of a space's height or more; those that stand on each other also as one, dashes as dashed."""
    lowest, widest = 0.15 * space, 1.4 * space
    ordered = [
        ((r.x0 + r.x1) / 2, r.y0, n)
        for n, r in enumerate(rules)
        if (tall := r.y1 - r.y0) > lowest and (wide := r.x1 - r.x0) < widest and tall > 2 * wide
    ]
    ordered.sort()
    middles, pieces = [one[0] for one in ordered], [rules[one[2]] for one in ordered]
    out = [u for u in pieces if u.y1 - u.y0 >= space]
    at, count = 0, len(pieces)
    while at < count:
        to, end = at + 1, middles[at] + 0.08 * space
        while to < count and middles[to] < end:
            to += 1
        if to - at > 1:
            out += _stacked(sorted(pieces[at:to], key=attrgetter("y0")), space)
        at = to
    return out


def _stacked(pieces: list[Rule], space: float) -> list[Rule]:
    out: list[Rule] = []
    run, last_y1 = [pieces[0]], pieces[0].y1
    for piece in pieces[1:]:
        gap = piece.y0 - last_y1
        if gap <= 0.1 * space or (gap <= 0.7 * space and (piece.y1 - piece.y0 < 0.9 * space or piece.dashed)):
            run.append(piece)
            last_y1 = max(last_y1, piece.y1)
        else:
            if len(run) > 1:
                _close(run, space, out)
            run, last_y1 = [piece], piece.y1
    if len(run) > 1:
        _close(run, space, out)
    return out


def _close(run: list[Rule], space: float, out: list[Rule]) -> None:
    y0, y1 = run[0].y0, max(u.y1 for u in run)
    gaps = sum(max(0.0, b.y0 - a.y1) for a, b in pairwise(run))
    if y1 - y0 >= space:
        out.append(Rule(run[0].x0, y0, run[0].x1, y1, run[0].dashed or gaps > 0.3 * space))


def without_rest_ends(strokes: Sequence[Rule], rules: Sequence[Rule], staves: Sequence[StaveLines]) -> list[Rule]:
    """The strokes but those at the two ends of an H-bar: on a stave of two or three lines they may be as tall as it."""
    low = [stave for stave in staves if 1 < len(stave.lines) < FEWEST]
    ends: list[tuple[float, float, StaveLines]] = []
    for stave in low:
        space = stave.space
        bars = [
            r
            for r in rules
            if H_BAR[0] * space < r.y1 - r.y0 < H_BAR[1] * space
            and r.x1 - r.x0 > H_BAR[1] * space
            and abs((r.y0 + r.y1) / 2 - stave.middle) < REACH * space
        ]
        for bar in bars:
            at_ends = [[u for u in strokes if _stands_at(u, x, stave)] for x in (bar.x0, bar.x1)]
            if all(at_ends):
                ends += [(bar.x0, bar.x1, stave)]
    if not ends:
        return list(strokes)
    return [u for u in strokes if not any(_stands_at(u, x, stave) for x0, x1, stave in ends for x in (x0, x1))]


def _stands_at(stroke: Rule, x: float, stave: StaveLines) -> bool:
    middle = (stroke.y0 + stroke.y1) / 2
    near = abs((stroke.x0 + stroke.x1) / 2 - x) < AT_END * stave.space
    return near and abs(middle - stave.middle) < REACH * stave.space


def joining(strokes: Sequence[Rule], upper: StaveLines, lower: StaveLines) -> list[Rule]:
    """Strokes that run through both staves, from the top line of the upper to the bottom line of the lower.

    Those of a stave of few lines lie within its barlines' ends, and the line at its left edge ends at them.
    """
    reach = REACH * max(upper.space, lower.space)
    left, right = min(upper.x0, lower.x0) - 2 * upper.space, max(upper.x1, lower.x1) + upper.space
    return [
        u
        for u in strokes
        if u.y0 <= upper.lines[0] + reach and u.y1 >= lower.lines[-1] - reach and left <= u.x0 and u.x1 <= right
    ]


def thick_from(strokes: Iterable[Rule], staves: Sequence[StaveLines]) -> float:
    """The width from which on a page's barlines are thick: thin ones are the commonest strokes as tall as a stave."""
    if not staves:
        return 0.0
    space, tops, feet = staves[0].space, sorted(s.top for s in staves), sorted(s.bottom for s in staves)
    reach = REACH * space
    least = min(s.bottom - s.top for s in staves) - 2 * reach
    widths = Counter(
        round((u.x1 - u.x0) / space, 2)
        for u in strokes
        if u.y1 - u.y0 > least and _is_near(u.y0, tops, reach) and _is_near(u.y1, feet, reach)
    )
    usual = min(widths, key=lambda width: (-widths[width], width), default=0.0)
    return max(THICK, THICKER * min(usual, MOST_THIN)) * space


def _is_near(y: float, ordered: Sequence[float], reach: float) -> bool:
    at = bisect_right(ordered, y - reach)
    return at < len(ordered) and ordered[at] < y + reach


class Found(NamedTuple):
    """The barlines of one system from left to right, its left edge line too."""

    barlines: list[Barline]
    apart: bool
    """Some of its staves have barlines of their own, where the others have none."""


def find_barlines(staves: Sequence[StaveLines], strokes: Sequence[Rule], heads: Row, dots: Row, thick: float) -> Found:
    """What most staves of one system have; `thick`: see `thick_from`."""
    space = staves[0].space
    through, others = _through_enough(staves, strokes, heads)
    single = [
        stroke for stroke, _ in through if staves[0].x0 - space <= stroke.x0 and stroke.x1 <= staves[0].x1 + space
    ]
    single.sort(key=lambda u: u.x0)
    groups: list[list[Rule]] = []
    for stroke in single:
        if groups and stroke.x0 - groups[-1][-1].x1 < 0.02 * space:
            last = groups[-1][-1]
            if stroke.x1 > last.x1 + 0.02 * space or stroke.x1 - stroke.x0 > last.x1 - last.x0:
                groups[-1][-1] = Rule(last.x0, stroke.y0, max(last.x1, stroke.x1), stroke.y1, last.dashed)
        elif groups and stroke.x0 - groups[-1][-1].x1 < JOINED * space:
            groups[-1].append(stroke)
        else:
            groups.append([stroke])
    barlines = [_barline(group, staves, dots, heads, thick) for group in groups]
    return Found(barlines, bool(others) and _stand_apart(others, through, staves))


_Places = list[tuple[Rule, set[int]]]
"""Strokes and which staves they cross, from 0."""


def _stand_apart(others: _Places, through: _Places, staves: Sequence[StaveLines]) -> bool:
    """Whether some staves' barlines are not the others': they go on behind the last, or lack one and have another."""
    space, left = staves[0].space, staves[0].x0 + staves[0].space
    inner = [(rule.x1, covered) for rule, covered in through if rule.x0 > left]
    last = max((x for x, _ in inner), default=0.0)
    lacking = {n for _, covered in inner for n in range(len(staves)) if n not in covered}
    for rule, covered in others:
        off = all(abs(rule.x0 - x) > ASIDE * space for x, _ in inner)
        if inner and off and rule.x0 > left and (rule.x0 > last or not covered.isdisjoint(lacking)):
            return True
    return False


def _through_enough(staves: Sequence[StaveLines], strokes: Sequence[Rule], heads: Row) -> tuple[_Places, _Places]:
    """Strokes that cross more than half of the staves at one place, from outer line to outer line, and those that
    cross fewer."""
    found: list[tuple[Rule, set[int]]] = []
    reach = REACH * max(stave.space for stave in staves)
    first, last = min(stave.top for stave in staves) - reach, max(stave.bottom for stave in staves) + reach
    inner = [(stave.top + REACH * stave.space, stave.bottom - REACH * stave.space) for stave in staves]
    lowest, highest = max(top for top, _ in inner), min(foot for _, foot in inner)
    alone = {0} if len(staves) == 1 else None  # all that passes below covers it
    for stroke in strokes:
        y0, y1 = stroke.y0, stroke.y1
        if not (first <= y0 <= lowest and highest <= y1 <= last):
            continue
        covered = alone or {n for n, (top, foot) in enumerate(inner) if y0 <= top and y1 >= foot}
        if not covered or (not alone and not _ends_at_staves(stroke, staves)):
            continue
        if len(covered) == 1 and _is_stem(stroke, staves[min(covered)].space, heads):
            continue
        found.append((stroke, covered))
    found.sort(key=lambda pair: pair[0].x0)
    out: _Places = []
    others: _Places = []
    at = 0
    while at < len(found):
        to, covered = at, set[int]()
        while to < len(found) and found[to][0].x0 - found[at][0].x0 < 0.15 * staves[0].space:
            covered |= found[to][1]
            to += 1
        if 2 * len(covered) > len(staves) or (
            2 * len(covered) == len(staves) and found[at][0].x1 > staves[0].x1 - staves[0].space
        ):
            alike = [stroke for stroke, _ in found[at:to]]
            widest = max(alike, key=lambda u: (u.x1 - u.x0, u.y1 - u.y0)) if len(alike) > 1 else alike[0]
            out.append((widest, covered))
        else:
            others.append((found[at][0], covered))
        at = to
    return out, others


def _ends_at_staves(stroke: Rule, staves: Sequence[StaveLines]) -> bool:
    reach = REACH * staves[0].space
    return any(abs(stroke.y0 - s.top) <= reach for s in staves) and any(
        abs(stroke.y1 - s.bottom) <= reach for s in staves
    )


def _is_stem(stroke: Rule, space: float, heads: Row) -> bool:
    middle = (stroke.x0 + stroke.x1) / 2
    near = max(0.25 * space, (stroke.x1 - stroke.x0) / 2 + 0.1 * space)  # a head's edge lies in its stem, however thick
    beside = heads.between(middle - 2.2 * space, middle + near)
    return bool(beside) and any(
        stroke.y0 - 0.7 * space < (y := (head.y0 + head.y1) / 2) < stroke.y1 + 0.7 * space
        and (abs(head.x0 - middle) < near or abs(head.x1 - middle) < near)
        and (head.kind == "head" or min(abs(y - stroke.y0), abs(y - stroke.y1)) < AT_STEMS_END * space)
        for head in beside
    )


def _barline(group: list[Rule], staves: Sequence[StaveLines], dots: Row, heads: Row, thick_at: float) -> Barline:
    x0, x1 = group[0].x0, group[-1].x1
    left = right = None
    if len(group) > 1:
        left = _dots_beside(staves, dots, heads, x0, before=True)
        right = _dots_beside(staves, dots, heads, x1, before=False)
    thick = [u.x1 - u.x0 > thick_at for u in group]
    if left is not None and right is not None:
        kind = BarlineKind.REPEAT_BOTH
    elif left is not None:
        kind = BarlineKind.REPEAT_END
    elif right is not None:
        kind = BarlineKind.REPEAT_START
    elif any(thick) or (len(group) > 1 and _are_unlike(group, staves[0].space)):
        kind = BarlineKind.FINAL
    elif len(group) > 1:
        kind = BarlineKind.DOUBLE
    else:
        kind = BarlineKind.DASHED if group[0].dashed else BarlineKind.SINGLE
    return Barline(
        x=(x0 + x1) / 2,
        x0=x0 if left is None else left,
        x1=x1 if right is None else right,
        kind=kind,
    )


def _are_unlike(group: Sequence[Rule], space: float) -> bool:
    """Whether one stroke is much wider than another: the two of a double barline are alike."""
    widths = [stroke.x1 - stroke.x0 for stroke in group]
    return max(widths) > UNLIKE[0] * min(widths) and max(widths) - min(widths) > UNLIKE[1] * space


def _dots_beside(staves: Sequence[StaveLines], dots: Row, heads: Row, edge: float, *, before: bool) -> float | None:
    """The outer edge of a pair of repeat dots beside a barline, in any of the staves; None when there is none."""
    for stave in staves:
        space = stave.space
        low, high = (edge - 2.0 * space, edge) if before else (edge - 0.1 * space, edge + 1.6 * space)
        near = [dot for dot in dots.between(low, high) if stave.top < (dot.y0 + dot.y1) / 2 < stave.bottom]
        for dot in near:
            both = dot.kind == "letter" and abs((dot.y0 + dot.y1) / 2 - stave.middle) < CENTRED * space
            if dot.kind == "repeat-dots" or both:
                return dot.x0 if before else dot.x1
            for other in (one for one in near if one.kind == dot.kind == "dot"):
                apart = (other.y0 + other.y1 - dot.y0 - dot.y1) / 2
                centred = abs((other.y0 + other.y1 + dot.y0 + dot.y1) / 4 - stave.middle) < CENTRED * space
                level = abs(other.x0 - dot.x0) < 0.2 * space
                far = edge - dot.x1 > NEAR_DOTS * space
                dotted = before and far and _follows_head(dot, heads, space) and _follows_head(other, heads, space)
                if 0.7 * space < apart < 2.3 * space and centred and level and not dotted:
                    return dot.x0 if before else dot.x1
    return None


def _follows_head(dot: Glyph, heads: Row, space: float) -> bool:
    y = (dot.y0 + dot.y1) / 2
    return any(
        -0.1 * space < dot.x0 - head.x1 < 1.1 * space and abs((head.y0 + head.y1) / 2 - y) < 0.7 * space
        for head in heads.between(dot.x0 - 3.2 * space, dot.x0)
    )
