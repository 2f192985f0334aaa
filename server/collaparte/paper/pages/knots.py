"""Where points of a bar come to stand on its line, and what is cut into strips by them."""

from itertools import pairwise

from collaparte.paper.pages.laying import Slice

Knots = list[tuple[float, float]]
"""Where points of a bar, in spaces from its left edge, stand in mm."""


def at(knots: Knots, x: float, outside: float | None = None) -> float:
    """The place in mm of point x of a bar; beyond its ends at the scale `outside`, or its neighbours'."""
    if x <= knots[0][0]:
        return knots[0][1] - (knots[0][0] - x) * (outside if outside is not None else 1.0)
    for (s0, p0), (s1, p1) in pairwise(knots):
        if x <= s1:
            return p0 + (p1 - p0) * (x - s0) / (s1 - s0) if s1 > s0 else p1
    return knots[-1][1] + (x - knots[-1][0]) * (outside if outside is not None else 1.0)


def strips(left: float, right: float, knots: Knots, u: float) -> tuple[Slice, ...]:
    """What lies between two points cut at the knots, `u` mm a space; gaps and columns that scale alike are one."""
    alike = 0.006 * u
    s0, p0 = round(left, 2), round(at(knots, left, u), 2)
    end, last = round(right, 2), round(at(knots, right, u), 2)
    points: list[tuple[float, float]] = []
    before = s0
    for s, p in knots:
        if left < s < right:
            s = round(s, 2)
            if s - before > 0.015 and end - s > 0.015:  # not where another stands
                points.append((s, round(p, 2)))
                before = s
    points.append((end, last) if end > before else (round(before + 0.01, 2), last))
    s1, p1 = points[0]
    if len(points) == 1:
        return (Slice(s0, s1, p0, p1),)
    out: list[Slice] = []
    scale = (p1 - p0) / (s1 - s0)
    for s2, p2 in points[1:]:
        following = (p2 - p1) / (s2 - s1)
        if abs(scale - following) >= alike:
            out.append(Slice(s0, s1, p0, p1))
            s0, p0, scale = s1, p1, following
        else:
            scale = (p2 - p0) / (s2 - s0)
        s1, p1 = s2, p2
    out.append(Slice(s0, s1, p0, p1))
    return tuple(out)
