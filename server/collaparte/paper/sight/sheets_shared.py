"""Where a sheet that several parts share can be cut: along white from edge to edge."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from collaparte.paper.reading import Box
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.strokes import PageInk

WHITE = 1.5
"""A cut goes through a strip without ink that is at least so many spaces wide."""


def halves(lines: Sequence[MusicLine], begins: Sequence[MusicLine], ink: PageInk) -> tuple[Box, ...]:
    """The areas of a page, one for each part on it, in reading order; none where no white strip parts them.

    `begins`: the lines, the page's first left out, that begin a part.
    """
    starts = [0, *(lines.index(line) for line in begins), len(lines)]
    groups = [lines[a:b] for a, b in pairwise(starts)]
    areas = [(0.0, 0.0, ink.width, ink.height)]
    for before, after in pairwise(groups):
        cut = _cut(before, after, areas[-1], ink)
        if cut is None:
            return ()
        areas[-1:] = cut
    return tuple(areas) if len(areas) > 1 else ()


def _cut(before: Sequence[MusicLine], after: Sequence[MusicLine], area: Box, ink: PageInk) -> tuple[Box, Box] | None:
    """What is left of an area for one part, and for the part after it, beside it or below."""
    x0, y0, x1, y1 = area
    space = after[0].space
    right, left = max(line.system.x1 for line in before), min(line.system.x0 for line in after)
    foot, top = max(line.system.bbox[3] for line in before), min(line.system.bbox[1] for line in after)
    boxes = [one.box for things in (ink.rules, ink.blobs, ink.glyphs) for one in things]
    here = [box for box in boxes if box[0] < x1 and box[2] > x0 and box[1] < y1 and box[3] > y0]
    if right < left:
        x = _white(((box[0], box[2]) for box in here), right, left, WHITE * space)
        return ((x0, y0, x, y1), (x, y0, x1, y1)) if x else None
    if foot < top:
        y = _white(((box[1], box[3]) for box in here), foot, top, WHITE * space)
        return ((x0, y0, x1, y), (x0, y, x1, y1)) if y else None
    return None


def _white(ink: Iterable[tuple[float, float]], low: float, high: float, least: float) -> float | None:
    """The middle of the widest stretch between two places that nothing reaches into; None when it is too narrow."""
    at, best = low, (0.0, 0.0)
    for start, end in sorted((a, b) for a, b in ink if b > low and a < high):
        best = max(best, (start - at, (start + at) / 2))
        at = max(at, end)
    best = max(best, (high - at, (high + at) / 2))
    return best[1] if best[0] >= least else None
