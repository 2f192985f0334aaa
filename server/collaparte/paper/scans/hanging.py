"""What hangs on an upright stroke of a levelled scan, and where it ends: a stem is told from a barline by that."""

import re
from collections.abc import Sequence

import numpy as np

from collaparte.paper.scans.bits import Bitmap, Dark, between, unpacked
from collaparte.paper.scans.staves import ScannedStave

BESIDE = 0.4
"""Ink so many spaces beside a stroke belongs to it: a head, a beam, a flag."""
HOLE = 0.45
"""White of this height inside ink is the hole of a hollow head."""
LINE = 0.5
"""Ink no taller than this on both sides of a stroke is a line across it: a slur, a hairpin, a pencil's."""
AT_END = 0.4
"""What hangs on a stem hangs at one of its ends, at most so many spaces away."""
WHITE = b"\0\0\0"
"""A stroke ends where there are so many white pixels."""
_INK = re.compile(b"\1+")


def healed(dark: Bitmap, bare: Bitmap, y0: int, y1: int, staves: Sequence[ScannedStave]) -> Dark:
    """Some rows of the page without lines, heads cut by lines healed."""
    out = bare.bits[y0:y1].copy()
    for stave in staves:
        reach = max(2, round(0.2 * stave.space))
        if not (y0 <= stave.bottom + reach + 1 and stave.top - reach - 1 <= y1):
            continue
        for y in stave.lines:
            low, high = round(y) - reach, round(y) + reach + 1
            if y0 < high and low < y1:
                rows = slice(max(low, y0), min(high, y1))
                out[rows.start - y0 : rows.stop - y0] |= dark.bits[rows] & (bare.bits[low - 1] & bare.bits[high])
    return unpacked(out, bare.width)


def hung(
    ground: Dark, left: int, right: int, y0: int, y1: int, space: float, before: int, after: int, enough: float
) -> float:
    """How tall the ink is that hangs on a stroke, in pixels; thin lines that cross it are left out.

    What is `enough` need not be the tallest.
    """
    low, high = max(0, int(y0 - 1.0 * space)), min(ground.shape[0], int(y1 + 1.0 * space))
    reach = max(4, round(BESIDE * space))
    x0, x1 = max(0, left - reach), min(ground.shape[1], right + reach)
    near = ground[low:high, x0:x1].T.tobytes()
    tall = high - low
    sides = []
    for edge, way, room in ((left, -1, before), (right - 1, 1, after)):
        columns = range(edge + 2 * way, edge + way * (min(reach, room - 2) + 1), way)
        sides.append([near[tall * (c - x0) : tall * (c - x0 + 1)] for c in columns if x0 <= c < x1])
    runs = [_runs_of(side[0]) if side else [] for side in sides]
    if not any(runs):
        return 0.0
    inked = ground[y0:y1, left:right].any(axis=1).tobytes()
    first, last = inked.find(b"\1"), inked.rfind(b"\1")
    ends = (y0 - low + first, y0 - low + last) if first >= 0 else (y0 - low, y1 - low)
    most, by = LINE * space, 0.35 * space
    tallest = 0.0
    for n, (side, other) in enumerate(zip(sides, (runs[1], runs[0]), strict=True)):
        kept = [
            r
            for r in runs[n]
            if r[1] - r[0] > most
            or not any(o[0] < r[1] + by and o[1] > r[0] - by and o[1] - o[0] <= most for o in other)
        ]
        for m, column in enumerate(side):
            kept = _touching(_runs_of(column) if m else runs[n], kept)
            tallest = max(tallest, _tallest(kept, HOLE * space, ends, AT_END * space))
            if tallest >= enough:
                return tallest
            if not kept:
                break
    return tallest


def _runs_of(column: bytes) -> list[tuple[int, int]]:
    """The runs of ink in a column of pixels, by its rows."""
    return [run.span() for run in _INK.finditer(column)]


def _touching(runs: Sequence[tuple[int, int]], kept: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """The runs that touch one of those that were kept in the column before."""
    out = []
    for run in runs:
        for y0, y1 in kept:
            if run[0] <= y1 and run[1] >= y0:
                out.append(run)
                break
    return out


def _tallest(runs: Sequence[tuple[int, int]], hole: float, ends: tuple[int, int], near: float) -> float:
    """The tallest run of ink at one of the stroke's ends, over white of at most `hole`."""
    best, begin, end = 0.0, 0, 0
    for n, (y0, y1) in enumerate(runs):
        if n == 0 or y0 - end > hole:
            begin = y0
        end = y1
        if begin - near < ends[0] < end + near or begin - near < ends[1] < end + near:
            best = max(best, float(end - begin))
    return best


def ends(dark: Bitmap, left: int, right: int, top: int, bottom: int) -> tuple[int, int]:
    """How far a stroke runs on above and below its stave, over holes of two pixels."""
    reach, height = 2 * (bottom - top), len(dark.bits)
    few = right - left < 3
    first, inside = between(left - few, right + few)
    for low, high in ((max(0, top - reach), min(height, bottom + reach)), (0, height)):
        part = dark.bits[low:high, first : first + len(inside)] & inside
        if few:
            column = np.logical_or.reduce(part, axis=1).tobytes()
        else:
            column = (np.bitwise_count(part).sum(axis=1, dtype=np.uint8) > 0.4 * (right - left)).tobytes()
        above, below = column.rfind(WHITE, 0, top - low), column.find(WHITE, bottom - low)
        if above >= 0 and below >= 0:
            break
    y0 = above + len(WHITE) if above >= 0 else 2
    y1 = below if below >= 0 else len(column) - len(WHITE)
    first, last = column.find(b"\1", y0, top - low), column.rfind(b"\1", bottom - low, y1)
    return (low + first if first >= 0 else top), (low + last + 1 if last >= 0 else bottom)


def too_tall(y0: int, y1: int, top: int, bottom: int, space: float, others: Sequence[ScannedStave]) -> bool:
    """Whether a stroke runs over its stave's edge without ending at another stave's."""
    reach = 0.35 * space
    above = y0 < top - reach and not any(abs(y0 - s.top) <= 1.5 * reach for s in others)
    below = y1 > bottom + reach and not any(abs(y1 - s.bottom) <= 1.5 * reach for s in others)
    return above or below
