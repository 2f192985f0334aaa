"""Brackets of endings on a scan that pencil joins to the line above: they are the line's that they stand over."""

import numpy as np

from collaparte.paper.cutting.scan_parts import Pixels
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts

LEVEL, WIDE = 1.5, 5.0
"""A rule is found by level runs of pixels so long, and is so long in all, in spaces,"""
THICK = 0.35
"""within so many over and under the row that has most of it;"""
GAP, RULE = 0.4, 0.35
"""what tears it is no wider, and it is no thicker, in spaces: a beam is half a space thick (common practice)."""
HOOK, THIN = (0.7, 3.5), 0.5
"""A hook goes down so far at least and at most, and is no thicker, in spaces; a stem goes up, too;"""
ENDS = 4.0
"""it stands so near to an end of what looks like the rule, as pencil goes on beside it."""
NUMBER = 3.0
"""An ending's number stands so near behind its bracket's hook, in spaces."""


def bracket_of(parts: Parts, number: int, rows: tuple[int, int], space: float) -> list[Pixels]:
    """Boxes in which a part is a bracket between two rows: its rule, its hooks, its number; none without a hook."""
    runs, mine = parts.runs, parts.runs.of(number)
    row, long = runs.row[mine], runs.right[mine] - runs.left[mine]
    level = (long >= LEVEL * space) & (row >= rows[0]) & (row < rows[1])
    if long[level].sum() < WIDE * space:
        return []
    thick = round(THICK * space)
    much = np.bincount(row[level] - rows[0], long[level], rows[1] - rows[0])
    y = rows[0] + int(np.convolve(much, np.ones(thick), "same").argmax())
    mask, x0, y0 = parts.mask(number), int(parts.x0[number]), int(parts.y0[number])
    top, bottom = max(y - thick, y0), y + thick + 1
    ink = np.flatnonzero(mask[top - y0 : bottom - y0].any(axis=0))
    out: list[Pixels] = []
    for stretch in np.split(ink, np.flatnonzero(np.diff(ink) > GAP * space) + 1):
        first, last = int(stretch[0]), int(stretch[-1]) + 1
        if np.median(mask[top - y0 : bottom - y0, first:last].sum(axis=0)) > RULE * space:
            continue
        over = mask[max(top - y0 - thick, 0) : top - y0, first:last]
        hooks = [hook for hook in _hooks(mask[bottom - y0 :, first:last], space) if not over[:, slice(*hook[:2])].any()]
        opens = [hook for hook in hooks if hook[0] < ENDS * space][:1]
        closes = [hook for hook in hooks if hook[1] > last - first - ENDS * space and hook not in opens][-1:]
        left = first + (opens[0][0] if opens else 0)
        right = first + closes[0][1] if closes else last
        if not (opens or closes) or right - left < WIDE * space:
            continue
        under = [(first + a, first + b, deep) for a, b, deep in (*opens, *closes)]
        under += [(first + b, first + b + round(NUMBER * space), deep) for _, b, deep in opens]
        out.append((x0 + left, top, x0 + right, bottom))
        out += [(x0 + a, bottom, x0 + b, bottom + deep) for a, b, deep in under]
    return out


def _hooks(under: Dark, space: float) -> list[tuple[int, int, int]]:
    """What hangs from a rule and is no thicker than a stroke: its columns, and how far down it goes."""
    deep = np.pad(under, ((0, 1), (0, 0))).argmin(axis=0)
    low, high = (round(size * space) for size in HOOK)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], (deep >= low).astype(np.int8), [0]))))
    found = zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
    return [(a, b, int(deep[a:b].max())) for a, b in found if b - a <= THIN * space and deep[a:b].max() <= high]
