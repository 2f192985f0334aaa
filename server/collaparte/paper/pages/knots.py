"""Where points of a bar come to stand on its line, and what is cut into strips by them."""

from bisect import bisect_left

from collaparte.paper.pages import rules
from collaparte.paper.pages.laying import Slice
from collaparte.paper.pages.shown import LEAD, Shown, head_gap

OFF_KEY = 0.2
"""What comes from the line before begins so far behind the key, in spaces."""
A_HAIR = 0.01
A_HOOK = 0.3
"""An ending's hook is narrower, in spaces."""

Knots = list[tuple[float, float]]
"""Where points of a bar, in spaces from its left edge, stand in mm."""


def at(knots: Knots, x: float, outside: float | None = None) -> float:
    """The place in mm of point x of a bar; beyond its ends at the scale `outside`, or its neighbours'."""
    if x <= knots[0][0]:
        return knots[0][1] - (knots[0][0] - x) * (outside if outside is not None else 1.0)
    place = bisect_left(knots, (x,))
    if place == len(knots):
        return knots[-1][1] + (x - knots[-1][0]) * (outside if outside is not None else 1.0)
    (s0, p0), (s1, p1) = knots[place - 1], knots[place]
    return p0 + (p1 - p0) * (x - s0) / (s1 - s0) if s1 > s0 else p1


def strips(left: float, right: float, knots: Knots, u: float) -> tuple[Slice, ...]:
    """What lies between two points cut at the knots, `u` mm a space; gaps and columns that scale alike are one."""
    alike = 0.006 * u
    s0, p0 = s1, p1 = round(left, 2), round(at(knots, left, u), 2)
    end, last = round(right, 2), round(at(knots, right, u), 2)
    out: list[Slice] = []
    scale = 0.0
    for s, p in knots:
        if left < s < right:
            s = round(s, 2)
            if s - s1 > 0.015 and end - s > 0.015:  # not where another stands
                p = round(p, 2)
                following = (p - p1) / (s - s1)
                if s1 == s0:
                    scale = following
                elif abs(scale - following) >= alike:
                    out.append(Slice(s0, s1, p0, p1))
                    s0, p0, scale = s1, p1, following
                else:
                    scale = (p - p0) / (s - s0)
                s1, p1 = s, p
    if end <= s1:
        end = round(s1 + 0.01, 2)
    if s1 > s0 and abs(scale - (last - p1) / (end - s1)) >= alike:
        out.append(Slice(s0, s1, p0, p1))
        s0, p0 = s1, p1
    out.append(Slice(s0, end, p0, last))
    return tuple(out)


def up_to(cut: tuple[Slice, ...], end: float) -> tuple[Slice, ...]:
    """What of strips lies left of `end` mm: print draws a pedal's line on under the next line's key."""
    if cut[-1].x1 <= end:
        return cut
    out: list[Slice] = []
    for s0, s1, x0, x1 in ((c.sx0, c.sx1, c.x0, c.x1) for c in cut if c.x0 < end):
        share = min(1.0, (end - x0) / (x1 - x0)) if x1 > x0 else 1.0
        out.append(Slice(s0, round(s0 + (s1 - s0) * share, 2), x0, round(x0 + (x1 - x0) * share, 2)))
    return tuple(out) or cut


def of_bar(
    bar: Shown, x: float, factor: float, squash: float, begins: bool, tail: float, u: float
) -> tuple[Knots, float]:
    """Where points of the bar (spaces from its left edge) come to stand (mm), and its right edge."""
    cut = bar.bar
    start = bar.starts[begins]
    left_margin = max(head_gap(bar) - OFF_KEY, 0.0) if begins else rules.KINDS[bar.left or "single"].width / 2
    knots = [(start - cut.margins[0], x - left_margin * u), (start, x)]
    if room := bar.signs.at_head if begins else bar.signs.width:
        x += room * u * squash
        knots = [(start - cut.margins[0], x - 0.1 * u), (start, x)]
    if bar.redrawn:
        end = x + (bar.rigid - bar.signs.width + bar.flex * factor) * u * squash
        return [*knots, (cut.width, end)], end
    factor *= cut.ease
    reached, place = start, x
    lead = LEAD if bar.leads else 0.0
    for a, b in bar.columns_from(start) if start != bar.starts[False] else bar.columns:
        gap = a - reached if a > reached else 0.0
        fixed = gap if gap < lead else lead
        place += (fixed + (gap - fixed) * factor) * u * squash
        if gap:
            lead = 0.0
        knots.append((a, place))
        place += (b - a) * u * squash
        knots.append((b, place))
        reached = b
    place += (bar.width - reached) * factor * u * squash
    if tail:  # what stands behind the last note keeps off the room for words
        knots.append((bar.width - A_HAIR, place))
    place += tail * u * squash
    knots.append((bar.width, place))
    return knots, place


def hooked(knots: Knots, right: float, u: float) -> Knots:
    """The knots for an ending's bracket up to `right` (spaces): it reaches no further than the barline that is drawn,
    which a repeat's end that is written out makes narrower, and its hook is as thick as printed."""
    hook, end = right - A_HOOK, knots[-1][1]
    if right <= knots[-1][0] + A_HAIR:
        return knots
    return [
        *(one for one in knots if one[0] < hook and one[1] < end - A_HOOK * u),
        (hook, end - A_HOOK * u),
        (right, end),
    ]
