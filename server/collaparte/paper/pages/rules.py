"""What is drawn anew on a laid page: staff lines, barlines with their dots, braces, rests with a new count.

Widths in staff spaces, near those of common music fonts' defaults (common practice).
"""

from dataclasses import dataclass

from collaparte.paper.pages.laying import Rule

STAFF_LINE = 0.1
THIN = 0.17
THICK = 0.5
BRACKET_REACH = 0.35
"""How far the bracket of several staves stands out above and below them."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A barline's strokes (left edge, width) and dots (middle) from its left edge, and its whole width."""

    strokes: tuple[tuple[float, float], ...]
    dots: tuple[float, ...]
    width: float


KINDS = {
    "": Drawn((), (), 0.0),
    "none": Drawn((), (), 0.0),
    "single": Drawn(((0.0, THIN),), (), THIN),
    "dashed": Drawn(((0.0, THIN),), (), THIN),
    "double": Drawn(((0.0, THIN), (0.5, THIN)), (), 0.5 + THIN),
    "final": Drawn(((0.0, THIN), (0.55, THICK)), (), 0.55 + THICK),
    "repeat-end": Drawn(((0.65, THIN), (1.2, THICK)), (0.2,), 1.2 + THICK),
    "repeat-start": Drawn(((0.0, THICK), (0.88, THIN)), (1.5,), 1.7),
    "repeat-both": Drawn(((0.65, THIN), (1.2, THICK), (2.08, THIN)), (0.2, 2.7), 2.9),
}


STRUCK = 1.1
"""Bars that are left out of a line that cannot be cut have an upright stroke every so many spaces."""


def struck(x0: float, x1: float, y0: float, y1: float, space: float) -> list[Rule]:
    """Bars from x0 to x1 mm struck out, from y0 to y1: a frame filled with upright strokes, the music still seen."""
    half, edge = STAFF_LINE / 2 * space, 2 * STAFF_LINE * space
    count = max(2, round((x1 - x0) / (STRUCK * space)))
    at = [x0 + (x1 - x0) * n / count for n in range(count + 1)]
    strokes = [Rule(round(x - half, 3), round(y0, 3), round(x + half, 3), round(y1, 3)) for x in at]
    level = [Rule(round(x0, 3), round(y - edge / 2, 3), round(x1, 3), round(y + edge / 2, 3)) for y in (y0, y1)]
    return [*strokes, *level]


def junction(before: str, after: str, adjacent: bool) -> str:
    """The barline between two bars in one line, from the kinds printed at their sides."""
    if adjacent:
        return before or after or "single"
    ends, starts = _halves(before)[0], _halves(after)[1]
    if ends == "repeat-end" and starts == "repeat-start":
        return "repeat-both"
    if starts == "repeat-start":
        return "repeat-start"
    return ends or "single"


def at_end(kind: str) -> str:
    """What of a barline stands at a line's end."""
    return _halves(kind)[0] or "single"


def at_start(kind: str) -> str:
    """What of a barline stands at a line's start: only a repeat's."""
    return _halves(kind)[1]


def _halves(kind: str) -> tuple[str, str]:
    if kind == "repeat-start":
        return "single", "repeat-start"
    if kind == "repeat-both":
        return "repeat-end", "repeat-start"
    return kind, ""


def dashes(x: float, space: float, top: float, bottom: float) -> list[Rule]:
    """A dashed barline with its left edge at x mm."""
    out: list[Rule] = []
    y = top
    while y < bottom - 1e-9:
        out.append(_rule(x, y, x + THIN * space, min(y + 0.5 * space, bottom)))
        y += space
    return out


def half(lines: int, apart: float = 1.0) -> float:
    """Half the height of a stave's barlines, in spaces; a one-line stave's reach one space each way."""
    return max((lines - 1) / 2 * apart, 1.0)


def dots(lines: int, apart: float = 1.0) -> float:
    """How far over and under a stave's middle the dots of a repeat stand: in the spaces nearest to it that lie so."""
    return (1.0 if lines > 1 and lines % 2 == 0 else 0.5) * apart


def _rule(x0: float, y0: float, x1: float, y1: float) -> Rule:
    return Rule(round(x0, 3), round(y0, 3), round(x1, 3), round(y1, 3))


def stave(x0: float, x1: float, middle: float, space: float, lines: int, apart: float = 1.0) -> list[Rule]:
    """The staff lines from x0 to x1 mm."""
    half = STAFF_LINE * space / 2
    first = middle - (lines - 1) / 2 * apart * space
    x0, x1 = round(x0, 3), round(x1, 3)
    heights = [first + n * apart * space for n in range(lines)]
    return [Rule(x0, round(y - half, 3), x1, round(y + half, 3)) for y in heights]


def joined(x: float, top: float, bottom: float, space: float) -> Rule:
    """The line that joins several staves at their left, from the first's top to the last's bottom."""
    half = STAFF_LINE * space / 2
    return _rule(x, top - half, x + THIN * space, bottom + half)


def bracket(x: float, top: float, bottom: float, space: float) -> list[Rule]:
    """A bracket at the left of staves from the first's top to the last's bottom."""
    left, reach = x - 0.9 * space, BRACKET_REACH * space
    top, bottom = top - reach, bottom + reach
    return [
        _rule(left, top, left + 0.4 * space, bottom),
        _rule(left, top, x + 0.2 * space, top + 0.15 * space),
        _rule(left, bottom - 0.15 * space, x + 0.2 * space, bottom),
    ]


def brace(x: float, top: float, bottom: float, space: float) -> Rule:
    """The box of a brace there."""
    half = STAFF_LINE * space / 2
    return _rule(x - 1.1 * space, top - half, x - 0.15 * space, bottom + half)


BRACE = ((0.1, 0.17, 0.75, 0.37, 0.0, 0.5), (1.2, 0.37, 0.55, 0.17, 1.0, 0.0))
"""The upper half of a brace, out and back, as curves in a box of width and height 1; it begins at the right, on top."""


Stroke = tuple[float, float, float, float]
"""Left, top, right, bottom in mm, top and bottom from a stave's middle line or a place on it."""


def bars_rest(x0: float, x1: float, space: float, count: int) -> list[Stroke]:
    """A rest of `count` bars between x0 and x1 mm: an H-bar, or a whole rest for one."""
    if count == 1:
        centre = (x0 + x1) / 2
        return [_stroke(centre - 0.6 * space, -space, centre + 0.6 * space, -0.5 * space)]
    return [
        _stroke(x0, -0.35 * space, x1, 0.35 * space),
        _stroke(x0, -space, x0 + 0.18 * space, space),
        _stroke(x1 - 0.18 * space, -space, x1, space),
    ]


def natural(x: float, space: float) -> list[Stroke]:
    """A natural whose left edge is x, around its line or space."""
    strokes = ((0.0, -1.4, 0.13, 0.65), (0.55, -0.65, 0.68, 1.4), (0.0, -0.65, 0.68, -0.35), (0.0, 0.35, 0.68, 0.65))
    return [_stroke(x + a * space, b * space, x + c * space, d * space) for a, b, c, d in strokes]


def _stroke(x0: float, y0: float, x1: float, y1: float) -> Stroke:
    return round(x0, 3), y0, round(x1, 3), y1
