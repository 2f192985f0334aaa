"""The boxes of a path's segments: which of them are boxes themselves, and how far they reach."""

from math import sqrt
from typing import Any

from collaparte.paper.reading import Box


def upright_box(item: Any) -> Box | None:
    """The box that one segment is; None when it is none that is parallel to the page's edges."""
    if item[0] == "re":
        x0, y0, x1, y1 = item[1]
        return (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    if item[0] == "qu":
        points = item[1]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        x0, y0, x1, y1 = min(xs), min(ys), max(xs), max(ys)
        if all(min(x - x0, x1 - x) < 0.03 and min(y - y0, y1 - y) < 0.03 for x, y in points):
            return (x0, y0, x1, y1)
    return None


def is_closed(items: Any) -> bool:
    """Whether lines end where they began."""
    (xa, ya), (xb, yb) = items[0][1], items[-1][2]
    return bool(abs(xa - xb) < 0.03 and abs(ya - yb) < 0.03)


def polygon_box(items: Any) -> Box | None:
    """The box that lines go round; None when they go round another shape."""
    points = [item[1] for item in items] + [items[-1][2]]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    x0, y0, x1, y1 = min(xs), min(ys), max(xs), max(ys)
    if x1 - x0 < 0.02 or y1 - y0 < 0.02:
        return None
    if len(items) > 4:  # a side may be drawn in two, or begin in its middle
        points = [
            points[n]
            for n in range(len(points))
            if not any(
                abs(points[n - 1][k] - points[n][k]) + abs(points[n][k] - points[(n + 1) % len(points)][k]) < 0.03
                for k in (0, 1)
            )
        ]
    for x, y in points:
        if min(x - x0, x1 - x) >= 0.03 or min(y - y0, y1 - y) >= 0.03:
            return None
    corners = {(x - x0 < x1 - x, y - y0 < y1 - y) for x, y in points}
    return (x0, y0, x1, y1) if len(corners) == 4 else None


def bounds(items: Any) -> Box:
    """The box of a path's segments (at least one), in points, curves as far as they go."""
    xs: list[float] = []
    ys: list[float] = []
    curves = []
    for item in items:
        sort = item[0]
        if sort in "lc":
            (xa, ya), (xb, yb) = item[1], item[-1]
            xs += (xa, xb)
            ys += (ya, yb)
            if sort == "c":
                curves.append(item)
        else:
            points = item[1] if sort == "qu" else (item[1][:2], item[1][2:])
            for x, y in points:
                xs.append(x)
                ys.append(y)
    left, top, right, foot = min(xs), min(ys), max(xs), max(ys)
    for _, (xa, ya), (xb, yb), (xc, yc), (xd, yd) in curves:  # beyond its ends none goes further than its controls
        if not (left <= xb <= right and left <= xc <= right):
            low, high = _reach(xa, xb, xc, xd)
            left, right = min(left, low), max(right, high)
        if not (top <= yb <= foot and top <= yc <= foot):
            low, high = _reach(ya, yb, yc, yd)
            top, foot = min(top, low), max(foot, high)
    return (left, top, right, foot)


def _reach(a: float, b: float, c: float, d: float) -> tuple[float, float]:
    """How far a cubic goes along one axis: its control points often lie well outside its ink."""
    low, high = (a, d) if a < d else (d, a)
    if low <= b <= high and low <= c <= high:
        return low, high
    square, line, first = d - 3 * c + 3 * b - a, 2 * (c - 2 * b + a), b - a
    turns: tuple[float, ...] = ()
    if abs(square) < 1e-9:
        turns = (-first / line,) if abs(line) > 1e-9 else ()
    elif (under := line * line - 4 * square * first) >= 0:
        root = sqrt(under)
        turns = ((-line - root) / (2 * square), (-line + root) / (2 * square))
    for t in turns:
        if 0 < t < 1:
            u = 1 - t
            at = u * u * u * a + 3 * u * u * t * b + 3 * u * t * t * c + t * t * t * d
            low, high = min(low, at), max(high, at)
    return low, high


def turned_item(item: Any, turn: Any) -> Any:
    """A segment turned with its page; `turn` as in `page_ink`."""
    a, b, c, d, e, f = turn

    def turned(point: Any) -> tuple[float, float]:
        x, y = point
        return (a * x + c * y + e, b * x + d * y + f)

    if item[0] == "re":
        x0, y0, x1, y1 = item[1]
        (xa, ya), (xb, yb) = turned((x0, y0)), turned((x1, y1))
        return ("re", (min(xa, xb), min(ya, yb), max(xa, xb), max(ya, yb)))
    if item[0] == "qu":
        return ("qu", tuple(turned(point) for point in item[1]))
    return (item[0], *(turned(point) for point in item[1:]))
