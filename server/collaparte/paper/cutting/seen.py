"""What of the ink that a page paints is seen: white covers what lies under it, and shows on dark ink alone."""

from collections.abc import Sequence
from itertools import pairwise

from collaparte.paper.cutting.ink import Glyph, Mark, Picture, Shape, Subpath, path_box
from collaparte.paper.reading import Box

LONG = 12.0
"""Points: two boxes in one path are letters or signs unless one of them is longer than this."""
MOST_POINTS = 7
"""A box drawn as an outline: its corners, the way back, and where a side was begun."""
NEAR = 40
"""White ink shows on one of so many marks painted before it, or on none."""


def seen(painted: Sequence[Mark]) -> list[Mark]:
    """What is painted without what white boxes cover, and without the white that lies on white.

    It would cover staff lines, which are drawn anew.
    """
    out: list[Mark] = []
    for mark in painted:
        if isinstance(mark, Shape) and mark.colour == (1.0,) and _is_box(mark):
            out = [m for m in out if not _covers(mark.box, m.box)]
        if isinstance(mark, Picture) or mark.colour != (1.0,) or any(_shows_on(mark, m) for m in out[-NEAR:]):
            out.append(mark)
    return out


def apart(path: list[Subpath], even_odd: bool) -> list[list[Subpath]]:
    """A filled path in parts: staff lines, barlines and stems may be boxes of one path; else it stays whole.

    `even_odd`: what two of its boxes cover is not filled; else only where they are drawn in opposite senses.
    """
    boxes = [path_box([sub]) for sub in path]
    long = len(path) > 2 or any(max(x1 - x0, y1 - y0) > LONG for x0, y0, x1, y1 in boxes)
    if len(path) < 2 or not long or not all(map(_is_upright, path, boxes)):
        return [path] if path else []
    by_place = sorted(zip(boxes, map(_is_clockwise, path), strict=True))
    for (a, sense), (b, other) in pairwise(by_place):
        if (_covers(a, b) or _covers(b, a)) and (even_odd or sense != other):
            return [path]  # a frame: a box with a box left out of it
    return [[sub] for sub in path]


def _is_box(shape: Shape) -> bool:
    """Whether a shape is a filled upright box."""
    return shape.width is None and len(shape.path) == 1 and _is_upright(shape.path[0], shape.box)


def _is_upright(sub: Subpath, box: Box) -> bool:
    """Whether an outline is that of its box."""
    x0, y0, x1, y1 = box
    points = [(sub.x, sub.y), *((s[-2], s[-1]) for s in sub.segments)]
    corners = {
        (x - x0 < x1 - x, y - y0 < y1 - y)
        for x, y in points
        if min(x - x0, x1 - x) < 0.01 and min(y - y0, y1 - y) < 0.01
    }
    return (
        len(points) <= MOST_POINTS
        and len(corners) == 4
        and all(len(s) == 2 for s in sub.segments)
        and all(min(x - x0, x1 - x, y - y0, y1 - y) < 0.01 for x, y in points)
    )


def _is_clockwise(sub: Subpath) -> bool:
    points = [(sub.x, sub.y), *((s[-2], s[-1]) for s in sub.segments)]
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True)) > 0


def _covers(box: Box, under: Box) -> bool:
    return box[0] <= under[0] and box[1] <= under[1] and box[2] >= under[2] and box[3] >= under[3]


def _shows_on(white: Glyph | Shape, under: Mark) -> bool:
    """A frame may be a dark shape with a white one on it, and a mark may be white letters on a dark shape."""
    if not isinstance(under, Shape) or under.colour == (1.0,):
        return False
    (x0, y0, x1, y1), (a0, b0, a1, b1) = white.box, under.box
    if x0 < a0 - 0.5 or y0 < b0 - 0.5 or x1 > a1 + 0.5 or y1 > b1 + 0.5:
        return False
    least = 0.4 if isinstance(white, Shape) else 0.02
    return (x1 - x0) * (y1 - y0) > least * (a1 - a0) * (b1 - b0)
