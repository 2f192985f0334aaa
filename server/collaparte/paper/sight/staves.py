"""Staves: groups of long thin level rules, evenly spaced, that begin and end together."""

from collections import Counter
from statistics import median

import msgspec
from msgspec.structs import replace

from collaparte.paper.sight.strokes import Glyph, Rule

MIN_SPACES = 8.0
"""A stave is longer than this many staff spaces; ledger lines and chord grids are shorter."""
SPACE_RANGE = (1.9, 12.0)
"""Staff spaces in points on A4: half the smallest rastral size (3.7 mm, after Gould) to twice the largest (9 mm)."""
A4 = 842.0
"""The long side of A4 (ISO 216: 297 mm) in points; files with odd scales are measured by it."""

JOINT = 1.2
"""Pieces of a line drawn at most so far apart, in points of A4, touch: round ends reach half a thickness further."""
SHORTEST = 0.12
"""A stave of one to three lines is longer than this share of the page's long side."""
ALIKE_BARS = 2
"""So many barlines of one height are centred on a stave of few lines that no sign told."""
ON_STAVES = frozenset(("head", "rest", "clef", "meter", "repeat-bar"))


class Line(msgspec.Struct, frozen=True, gc=False):
    """A level line, its pieces joined: the middle of its thickness, its ends, its thickness."""

    y: float
    x0: float
    x1: float
    thick: float


class StaveLines(msgspec.Struct, frozen=True, gc=False):
    """A stave as found: its lines from the top, its ends, its staff space, how far its barlines reach up and down."""

    lines: tuple[float, ...]
    x0: float
    x1: float
    space: float
    thick: float
    top: float
    """The outer line of an ordinary stave; of one with few lines, where its barlines begin."""
    bottom: float

    @property
    def middle(self) -> float:
        return (self.top + self.bottom) / 2


def level_lines(rules: list[Rule], side: float) -> list[Line]:
    """Thin level rules, those in one row that touch joined into one line; `side`: the page's long side in points."""
    unit = side / A4
    rows: list[tuple[float, float, float, float]] = []
    for rule in rules:
        thick = rule.y1 - rule.y0
        # Short ones too: a stave may be drawn in pieces, and between two strokes of a barline there is a piece as well.
        if thick <= 2.6 * unit and rule.x1 - rule.x0 > 0.5 * thick and not rule.dashed:
            rows.append(((rule.y0 + rule.y1) / 2, rule.x0, rule.x1, thick))
    rows.sort()
    lines: list[Line] = []
    at = 0
    while at < len(rows):
        to = at + 1
        while to < len(rows) and rows[to][0] - rows[at][0] < 0.12 * unit:
            to += 1
        lines += _joined(sorted(rows[at:to], key=lambda row: row[1]), unit)
        at = to
    return lines


def _joined(row: list[tuple[float, float, float, float]], unit: float) -> list[Line]:
    joined: list[Line] = []
    for y, x0, x1, thick in row:
        for n, line in enumerate(joined):
            if x0 <= line.x1 + JOINT * unit and abs(line.thick - thick) < 0.35 * max(line.thick, thick):
                joined[n] = replace(line, x1=max(line.x1, x1))
                break
        else:
            joined.append(Line(y, x0, x1, thick))
    return [line for line in joined if line.x1 - line.x0 > 4 * line.thick]


def find_staves(level: list[Line], side: float) -> list[StaveLines]:
    """All staves of four lines or more, cue-sized ones too, from the top; `side`: the page's long side in points."""
    unit = side / A4
    shortest = MIN_SPACES * SPACE_RANGE[0] * min(unit, 1.0)
    lines = [line for line in level if line.x1 - line.x0 > shortest]
    staves: list[StaveLines] = []
    for column in _columns(lines, unit):
        staves += _staves_of_column(column, unit)
    return distinct(staves)


def distinct(staves: list[StaveLines]) -> list[StaveLines]:
    """The staves from the top, without those that lie over a longer one: lines may be drawn twice."""
    out: list[StaveLines] = []
    for stave in sorted(staves, key=lambda s: (-len(s.lines), s.x0 - s.x1)):
        if not any(_overlaps(stave, other) for other in out):
            out.append(stave)
    return sorted(out, key=lambda s: (s.top, s.x0))


def _overlaps(one: StaveLines, other: StaveLines) -> bool:
    return min(one.bottom, other.bottom) - max(one.top, other.top) > 0.3 * (one.bottom - one.top) and min(
        one.x1, other.x1
    ) - max(one.x0, other.x0) > 0.3 * (one.x1 - one.x0)


def _columns(lines: list[Line], unit: float) -> list[list[Line]]:
    """Lines grouped by their two ends: only those that begin and end together can make a stave."""
    columns: list[list[Line]] = []
    for line in sorted(lines, key=lambda one: (round(one.x0), one.y)):
        for column in columns:
            last = column[-1]
            if abs(last.x0 - line.x0) < 1.5 * unit and abs(last.x1 - line.x1) < 2.5 * unit:
                column.append(line)
                break
        else:
            columns.append([line])
    for column in columns:
        column.sort(key=lambda one: one.y)
    return columns


def _staves_of_column(column: list[Line], unit: float) -> list[StaveLines]:
    rows = [column[0]]
    for line in column[1:]:
        if line.y - rows[-1].y > 0.8 * min(unit, 1.0):
            rows.append(line)
        elif line.thick > rows[-1].thick:
            rows[-1] = line
    staves: list[StaveLines] = []
    at = 0
    while at < len(rows) - 3:
        pitch = rows[at + 1].y - rows[at].y
        to = at + 1
        while (
            to + 1 < len(rows)
            and abs(rows[to + 1].y - rows[to].y - pitch) < 0.09 * pitch
            and _alike(rows[at], rows[to + 1])
        ):
            to += 1
        count = to - at + 1
        stave = _stave(rows[at : to + 1], unit) if 4 <= count <= 6 else None
        if stave is not None:
            staves.append(stave)
            at = to + 1
        else:
            at += 1
    return staves


def _alike(one: Line, other: Line) -> bool:
    return abs(one.thick - other.thick) < 0.4 * max(one.thick, other.thick)


def _stave(rows: list[Line], unit: float) -> StaveLines | None:
    space = (rows[-1].y - rows[0].y) / (len(rows) - 1)
    x0, x1 = min(r.x0 for r in rows), max(r.x1 for r in rows)
    thick = sum(r.thick for r in rows) / len(rows)
    low, high = SPACE_RANGE[0] * min(unit, 1.0), SPACE_RANGE[1] * max(unit, 1.0)
    if not low <= space <= high or thick > 0.3 * space or x1 - x0 < MIN_SPACES * space:
        return None
    return StaveLines(tuple(r.y for r in rows), x0, x1, space, thick, rows[0].y, rows[-1].y)


def few_line_staves(
    level: list[Line], rules: list[Rule], glyphs: list[Glyph] | None, found: list[StaveLines], side: float
) -> list[StaveLines]:
    """Staves of one to three lines (percussion, rhythm): long lines with barlines centred on them and signs on them.

    While no sign is told yet (`glyphs` is None) several barlines alike say where such a stave may be, and how large.
    """
    unit = side / A4
    theirs = {y for stave in found for y in stave.lines}
    lines = [
        line
        for line in level
        if line.y not in theirs
        and line.x1 - line.x0 > SHORTEST * side
        and not any(s.top - 0.5 < line.y < s.bottom + 0.5 for s in found)
    ]
    staves: list[StaveLines] = []
    for column in _columns(lines, unit) if lines else []:
        at = 0
        while at < len(column):
            group = column[at : at + 1]
            pitch = column[at + 1].y - column[at].y if at + 1 < len(column) else 0.0
            while 0 < pitch < SPACE_RANGE[1] * unit * 2 and at + len(group) < len(column) and len(group) < 3:
                if abs(column[at + len(group)].y - group[-1].y - pitch) > 0.1 * pitch:
                    break
                group.append(column[at + len(group)])
            stave = _with_barlines(group, rules, glyphs, unit)
            if stave is None and len(group) > 1:
                group = group[:1]
                stave = _with_barlines(group, rules, glyphs, unit)
            if stave is not None:
                staves.append(stave)
            at += len(group)
    return staves


def _with_barlines(group: list[Line], rules: list[Rule], glyphs: list[Glyph] | None, unit: float) -> StaveLines | None:
    middle = (group[0].y + group[-1].y) / 2
    x0, x1 = group[0].x0, group[0].x1
    signs = [
        g
        for g in glyphs or ()
        if g.kind in ON_STAVES and x0 < g.x1 and g.x0 < x1 and abs((g.y0 + g.y1) / 2 - middle) < 8 * unit
    ]
    if glyphs is not None and not signs:
        return None
    centred = [
        (round(tall, 1), rule.x1)
        for rule in rules
        if (tall := rule.y1 - rule.y0) > 3 * unit
        and abs((rule.y0 + rule.y1) / 2 - middle) < 0.1 * tall
        and rule.x1 - rule.x0 < 0.3 * tall
        and x0 - unit < rule.x0
        and rule.x1 < x1 + unit
        and tall < 6 * SPACE_RANGE[1] * unit
    ]
    # Stems may be centred on a line, too, and more of them than barlines: a stave ends in a barline.
    at_end = {tall for tall, right in centred if right > x1 - unit}
    heights = Counter(tall for tall, _ in centred if tall in at_end or not at_end)
    height = max(heights, key=lambda h: (heights[h], h), default=0.0)
    if not height or (glyphs is None and heights[height] < ALIKE_BARS):
        return None
    pitch = (group[-1].y - group[0].y) / (len(group) - 1) if len(group) > 1 else height / 4
    return StaveLines(
        tuple(line.y for line in group),
        x0,
        x1,
        median(g.size for g in signs) / 4 if signs else pitch,
        group[0].thick,
        middle - height / 2,
        middle + height / 2,
    )
