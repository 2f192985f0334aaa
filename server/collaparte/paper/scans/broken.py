"""Figures of bar numbers that came apart on faint scans: pieces that stand over one another, told as one."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from collaparte.paper.scans.cells import PixelBox, cells_of_parts
from collaparte.paper.scans.letters import CLASSES, classed, features, likeliest
from collaparte.paper.scans.parts import Parts
from collaparte.paper.scans.staves import ScannedStave

BEFORE, BEHIND = 4.0, 2.5
"""A line's number stands so far before and behind its stave's left end, in spaces,"""
OVER = (5.0, 0.2)
"""and so far over the stave."""
WIDE, TALL = 1.15, (0.9, 1.7)
"""Its figures are at most so wide, and so tall."""
HALF, APART = 0.5, 0.35
"""The sides of a nought that lost its ends are narrower than the first and less apart than the second (those of an 11
stand 0.5 apart)."""
CLEAR = 0.6
"""How likely a figure is that was put together (32 numbers of 300 scanned charts were whole so, none another one)."""
STROKE = "l"
"""The class of a 1 without its flag."""
Placed = tuple[int, int, int, int, int]
"""A group's box, x first, and its number."""


def with_figures_whole(
    parts: Parts, groups: Sequence[list[int]], staves: Sequence[ScannedStave], space: float
) -> list[list[int]]:
    """The groups of parts, those of one figure over a line's head as one; `space` in pixels."""
    boxes = [_round(parts, group) for group in groups]
    heads = [_over_head(boxes, stave, space) for stave in staves]
    noughts = [pair for head in heads for pair in _noughts(head, space)]
    found = [pile for head in heads for pile in _piles(head, space)] + noughts
    if not found:
        return list(groups)
    whole = [[part for n in pile for part in groups[n]] for pile in found]
    around = [_round(parts, group) for group in whole]
    wide, high = (np.array([box[k + 2] - box[k] for box in around], dtype=np.float32) for k in (0, 1))
    told = likeliest(classed(features(cells_of_parts(parts, whole, around), wide, high, space)))
    # The sides of a nought, where it is not told, are no figures either: one would be a 1.
    joined = [
        n
        for n, (at, chance) in enumerate(told)
        if found[n] in noughts or ((CLASSES[at].isdecimal() or CLASSES[at] == STROKE) and chance > CLEAR)
    ]
    gone = {group for n in joined for group in found[n]}
    return [group for n, group in enumerate(groups) if n not in gone] + [whole[n] for n in joined]


def _over_head(boxes: Sequence[PixelBox], stave: ScannedStave, space: float) -> list[Placed]:
    """What stands over a stave's head and is no larger than a figure, from left to right."""
    left, right = stave.x0 - BEFORE * space, stave.x0 + BEHIND * space
    top, bottom = stave.top - OVER[0] * space, stave.top - OVER[1] * space
    return sorted(
        (x0, x1, y0, y1, n)
        for n, (x0, y0, x1, y1) in enumerate(boxes)
        if left < x0 and x1 < right and top < y0 and y1 < bottom and y1 - y0 < TALL[1] * space
    )


def _piles(head: Sequence[Placed], space: float) -> list[list[int]]:
    """What stands over one another and is together as large as a figure."""
    piles: list[list[Placed]] = []
    for one in head:
        if piles and one[0] < max(other[1] for other in piles[-1]):
            piles[-1].append(one)
        else:
            piles.append([one])
    return [
        [one[4] for one in pile]
        for pile in piles
        if len(pile) > 1
        and max(one[1] for one in pile) - pile[0][0] < WIDE * space
        and TALL[0] * space < max(one[3] for one in pile) - min(one[2] for one in pile) < TALL[1] * space
    ]


def _noughts(head: Sequence[Placed], space: float) -> list[list[int]]:
    """Two upright strokes beside each other, as the sides of a nought."""
    return [
        [one[4], other[4]]
        for one, other in pairwise(head)
        if 0 <= other[0] - one[1] < APART * space
        and other[1] - one[0] < WIDE * space
        and all(x1 - x0 < HALF * space and y1 - y0 > TALL[0] * space for x0, x1, y0, y1, _ in (one, other))
    ]


def _round(parts: Parts, group: Sequence[int]) -> PixelBox:
    """The box round some parts."""
    x0, y0, x1, y1 = (edge[group].tolist() for edge in (parts.x0, parts.y0, parts.x1, parts.y1))
    return min(x0), min(y0), max(x1), max(y1)
