"""Printed bar numbers over a scanned line that were not read as its line's: they go, as right ones are set anew."""

from collections.abc import Iterator, Sequence

import numpy as np

from collaparte.paper.cutting.scan_parts import Numbers, Pixels, Which, round_it
from collaparte.paper.reading import System
from collaparte.paper.scans import letters
from collaparte.paper.scans.cells import cells_of
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts

FIGURE = (0.7, 2.4, 3.6)
"""A figure is so high at least and at most, and so wide at most, in spaces, two that touch among them;"""
TWO = 1.1
"""these are so many times as wide as high."""
BESIDE, LEVEL = 0.6, 0.35
"""Those of one number stand so near and as level, in spaces."""
AT = 1.6
"""A number begins or has its middle so near to where its bar begins, in spaces."""
ALIKE = (1.3, 0.8)
"""A line's number stands so near to where other lines have theirs, across and down, in spaces."""
FEWEST = 4
"""Lower figures where a bar begins may be an ending's (the reader's own limit)."""
PIECES = (1.1, 0.3)
"""A number's broken figures stand so near to it, across and down, in spaces."""
ROUND = 0.8
"""A frame stands so close round its number, in spaces."""

Bars = Sequence[tuple[float, int]]
"""Where each bar of a line begins, in pixels, and its number."""
Place = tuple[float, float]
"""A number's right end from where its staves begin, and its middle below their top, in spaces."""


def places(systems: Sequence[System]) -> list[Place]:
    """Where the numbers stand that were read at lines' heads."""
    read = [(v, box) for v in systems if (box := v.printed_number_box)]
    return [((box[2] - v.bbox[0]) / v.space, ((box[1] + box[3]) / 2 - v.bbox[1]) / v.space) for v, box in read]


def old_numbers(
    parts: Parts, free: Which, lines: Sequence[Bars], corner: tuple[float, float], where: Sequence[Place], space: float
) -> Numbers:
    """The parts of a line's loose ink (`free`) that are old bar numbers, with their frames.

    `lines`: the bars of the line, and of the one below, whose numbers may be nearer to this one's ink; `corner`: where
    the line's staves begin; both in pixels as `space`.
    """
    wide, tall = parts.x1 - parts.x0, parts.y1 - parts.y0
    low, high, most = (size * space for size in FIGURE)
    likely = np.flatnonzero(free & (tall > low) & (tall < high) & (wide < most))
    out: list[int] = []
    for group in _beside(likely, parts, space):
        box = round_it(group, parts)
        near = {str(number) for bars in lines for number in _near(box, bars, space) if number >= FEWEST}
        right, middle = (box[2] - corner[0]) / space, ((box[1] + box[3]) / 2 - corner[1]) / space
        as_others = any(abs(right - x) < ALIKE[0] and abs(middle - y) < ALIKE[1] for x, y in where)
        if as_others and box[0] < lines[0][0][0]:
            out += [*_about(box, parts, free, space), *_frame(box, parts, free, space)]
        elif near and _figures(group, parts, space) in near:
            out += [*group.tolist(), *_frame(box, parts, free, space)]
    return np.array(out, np.intp)


def _near(box: Pixels, bars: Bars, space: float) -> Iterator[int]:
    """The numbers of bars that begin where something stands; of a line's first also over its head."""
    x0, _, x1, _ = box
    for n, (x, number) in enumerate(bars):
        if min(abs(x0 - x), abs((x0 + x1) / 2 - x)) < AT * space or (not n and x0 < x):
            yield number


def _beside(numbers: Numbers, parts: Parts, space: float) -> list[Numbers]:
    """Parts as high as one another that stand side by side."""
    out: list[list[int]] = []
    for n in sorted(numbers.tolist(), key=lambda n: int(parts.x0[n])):
        for group in out:
            last = group[-1]
            level = max(abs(parts.y0[n] - parts.y0[last]), abs(parts.y1[n] - parts.y1[last])) < LEVEL * space
            if level and 0 <= parts.x0[n] - parts.x1[last] + 0.2 * space < (BESIDE + 0.2) * space:
                group.append(n)
                break
        else:
            out.append([n])
    return [np.array(group) for group in out]


def _figures(numbers: Numbers, parts: Parts, space: float) -> str:
    """What stands there, in letters and figures."""
    masks = [half for n in numbers.tolist() for half in _halves(parts.mask(n))]
    high, wide = (np.array([mask.shape[axis] for mask in masks], np.float32) for axis in (0, 1))
    cells = np.stack([cells_of(mask) for mask in masks])
    likely = letters.likeliest(letters.classed(letters.features(cells, wide, high, space)))
    return "".join(letters.CLASSES[n] for n, _ in likely).replace("l", "1")


def _halves(mask: Dark) -> list[Dark]:
    """A figure, or two that touch, parted where their ink is least."""
    tall, wide = mask.shape
    if wide < TWO * tall:
        return [mask]
    third = wide // 3
    at = third + int(mask[:, third : wide - third].sum(axis=0).argmin())
    halves = (mask[:, :at], mask[:, at:])
    return [half[np.ix_(half.any(axis=1), half.any(axis=0))] for half in halves if half.any()]


def _about(box: Pixels, parts: Parts, free: Which, space: float) -> list[int]:
    """What stands where a number does, or beside it."""
    across, down = (room * space for room in PIECES)
    x = (parts.x0 + parts.x1) / 2
    level = (parts.y0 > box[1] - down) & (parts.y1 < box[3] + down)
    return np.flatnonzero(free & level & (x > box[0] - across) & (x < box[2] + across)).tolist()


def _frame(box: Pixels, parts: Parts, free: Which, space: float) -> list[int]:
    """What stands close round a number."""
    x0, y0, x1, y1 = box
    room = ROUND * space
    over = (parts.x0 < x0) & (parts.y0 < y0) & (parts.x1 > x1) & (parts.y1 > y1)
    close = (parts.x0 > x0 - room) & (parts.y0 > y0 - room) & (parts.x1 < x1 + room) & (parts.y1 < y1 + room)
    return np.flatnonzero(over & close & free).tolist()
