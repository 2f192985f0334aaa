"""Staves: groups of long thin level rules, evenly spaced, that begin and end together."""

from typing import NamedTuple

from collaparte.paper.strokes import Rule

MIN_SPACES = 8.0
"""A stave is longer than this many staff spaces; ledger lines and chord grids are shorter."""
SPACE_RANGE = (1.9, 12.0)
"""Staff spaces in points on A4: from half the smallest rastral size (3.7 mm, after Gould) to twice the largest (9 mm)."""
A4 = 842.0
"""The long side of A4 (ISO 216: 297 mm) in points; files with odd scales are measured by it."""


class Line(NamedTuple):
    """A level line, its pieces joined: the middle of its thickness, its ends, its thickness."""

    y: float
    x0: float
    x1: float
    thick: float


class StaveLines(NamedTuple):
    """A stave as found: its lines from the top, its ends, its staff space."""

    lines: tuple[float, ...]
    x0: float
    x1: float
    space: float
    thick: float

    @property
    def top(self) -> float:
        return self.lines[0]

    @property
    def bottom(self) -> float:
        return self.lines[-1]

    @property
    def middle(self) -> float:
        return (self.lines[0] + self.lines[-1]) / 2


def level_lines(rules: list[Rule], unit: float) -> list[Line]:
    """Thin level rules, those in one row that touch joined into one line; `unit`: a point of A4 on this page."""
    rows: list[tuple[float, float, float, float]] = []
    for x0, y0, x1, y1, dashed in rules:
        thick = y1 - y0
        if thick <= 2.6 * unit and x1 - x0 > 4 * thick and not dashed:
            rows.append(((y0 + y1) / 2, x0, x1, thick))
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
            if x0 <= line.x1 + 0.6 * unit and abs(line.thick - thick) < 0.35 * max(line.thick, thick):
                joined[n] = line._replace(x1=max(line.x1, x1))
                break
        else:
            joined.append(Line(y, x0, x1, thick))
    return joined


def find_staves(rules: list[Rule], side: float) -> list[StaveLines]:
    """All staves of four lines or more, cue-sized ones too, from the top; `side`: the page's long side in points."""
    unit = side / A4
    shortest = MIN_SPACES * SPACE_RANGE[0] * min(unit, 1.0)
    lines = [line for line in level_lines(rules, unit) if line.x1 - line.x0 > shortest]
    staves: list[StaveLines] = []
    for column in _columns(lines, unit):
        staves += _staves_of_column(column, unit)
    staves.sort(key=lambda s: (s.top, s.x0))
    return staves


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
    return StaveLines(tuple(r.y for r in rows), x0, x1, space, thick)
