"""Brackets of endings on a scan, found by their looks and drawn anew, so that they reach from barline to barline."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from collaparte.paper.cutting.ink import Shape, Subpath
from collaparte.paper.scans.page import Dark

WIDE, TALL = 4.0, 3.5
"""A bracket is so wide at least and so high at most, in spaces."""
RULE = 0.5
"""Its level rule, and each hook, is no thicker than this, in spaces,"""
FULL = 0.9
"""and has ink in so much of its length."""
WAVY = 0.08
"""Its rule's upper edge is off a straight line by less than this, in spaces (the mean): more is pencil's."""
HOOK = 0.7
"""A hook is so long at least, in spaces."""
THIN = 0.13
"""A rule is drawn so thick, in spaces (as thick as a staff line, common practice)."""


class Bracket(NamedTuple):
    """A rule from left to right at a height, and how far down its hooks reach (0: none), all in pixels."""

    left: float
    right: float
    y: float
    opens: float
    closes: float

    def strokes(self, x: float, y: float, unit: float, space: float) -> Iterator[tuple[Shape, float]]:
        """Its rule and its hooks as shapes in points, with the x that tells their bar; pixel 0 is at (x, y)."""
        left, right, top = x + self.left * unit, x + self.right * unit, y + self.y * unit
        yield _stroke(left, top, right, top, space), left + space
        if self.opens:
            yield _stroke(left, top, left, top + self.opens * unit, space), left + 0.5 * space
        if self.closes:
            yield _stroke(right, top, right, top + self.closes * unit, space), right - 0.5 * space


def bracket(mask: Dark, space: float) -> Bracket | None:
    """The bracket that some connected ink is, from the top left of `mask`; None when it is none. `space` in pixels."""
    height, width = mask.shape
    thick = max(2, round(RULE * space))
    if width < WIDE * space or height > TALL * space or mask[:thick].any(axis=0).mean() < FULL:
        return None
    if _wavy(mask[:, thick : width - thick]) > WAVY * space:
        return None
    # Under the rule there is nothing but hooks at its ends.
    inner = mask[2 * thick :, 2 * thick : width - 2 * thick]
    if inner.size and inner.any(axis=0).mean() > 1 - FULL:
        return None
    ends = [mask[:, :thick].any(axis=1).sum(), mask[:, width - thick :].any(axis=1).sum()]
    opens, closes = (float(end) if end > HOOK * space else 0.0 for end in ends)
    return Bracket(0.5, width - 0.5, _height(mask[:, 2 * thick : width - 2 * thick]), opens, closes)


def _height(rule: Dark) -> float:
    """The row of its middle, whatever hangs from it here and there (a number, pencil): the median of its columns."""
    inked = rule[:, rule.any(axis=0)]
    if not inked.size:
        return 1.0
    first = inked.argmax(axis=0)
    below = np.pad(inked, ((0, 1), (0, 0))) | (np.arange(len(inked) + 1)[:, None] < first)
    return float(np.median(first) + np.median(below.argmin(axis=0))) / 2


def hanging(mask: Dark, found: Bracket, space: float) -> Dark:
    """What touches a bracket that was found in `mask` and is none of it: its number, pencil."""
    out, thick = mask.copy(), max(2, round(RULE * space))
    out[: round(found.y) + thick] = False
    for hook, columns in ((found.opens, slice(0, thick)), (found.closes, slice(-thick, None))):
        out[: round(hook), columns] = False
    return out if out.any(axis=1).sum() > HOOK * space else np.zeros_like(out)


def _wavy(rule: Dark) -> float:
    """How far its upper edge is off a straight line, in pixels (the mean)."""
    columns = np.flatnonzero(rule.any(axis=0))
    edge = rule.argmax(axis=0)[columns]
    return float(np.abs(edge - np.polyval(np.polyfit(columns, edge, 1), columns)).mean()) if len(columns) > 1 else 0.0


def _stroke(x0: float, y0: float, x1: float, y1: float, space: float) -> Shape:
    half = THIN * space / 2
    return Shape(
        (x0 - half, y0 - half, x1 + half, y1 + half), [Subpath(x0, y0, [(x1, y1)])], (0.0,), width=THIN * space, cap=2
    )
