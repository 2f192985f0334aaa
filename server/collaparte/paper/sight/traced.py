"""The outlines of a small two-level picture's ink: glyphs of bitmap fonts, signs that are masks."""

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

STEP = 0.8
"""Corners nearer than this to the line between their neighbours, in pixels, are steps of a slope or curve."""

BOX, EXACT = 0.93, 1.0
"""What stands alone and fills so much of its box is a box, with round corners at most: a rest of a bar or more."""

Point = tuple[float, float]


def outlines(ink: npt.NDArray[np.bool_]) -> list[list[Point]]:
    """The closed outlines in pixels, from the upper left corner, y downwards; ink is on their right hand."""
    ends = _edges(ink)
    rings: list[list[tuple[int, int]]] = []
    while ends:
        start = next(iter(ends))
        ring, at = [start], _next(ends, start)
        while at != start:
            ring.append(at)
            at = _next(ends, at)
        rings.append(ring)
    return [_plain(ring, BOX if len(rings) == 1 else EXACT) for ring in rings]


def _edges(ink: npt.NDArray[np.bool_]) -> dict[tuple[int, int], list[tuple[int, int]]]:
    """The sides of pixels that have ink on their right hand alone, by where they begin."""
    padded = np.pad(ink, 1)
    ends: defaultdict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
    # How the pixel beyond lies (down, across), and where the side begins and ends from the pixel's corner (x, y).
    sides = ((-1, 0, 0, 0, 1, 0), (0, 1, 1, 0, 1, 1), (1, 0, 1, 1, 0, 1), (0, -1, 0, 1, 0, 0))
    for down, across, x0, y0, x1, y1 in sides:
        beyond = np.roll(padded, (-down, -across), (0, 1))
        for row, column in np.argwhere(padded & ~beyond) - 1:
            ends[int(column) + x0, int(row) + y0].append((int(column) + x1, int(row) + y1))
    return ends


def _next(ends: dict[tuple[int, int], list[tuple[int, int]]], at: tuple[int, int]) -> tuple[int, int]:
    onward = ends[at].pop()
    if not ends[at]:
        del ends[at]
    return onward


def _plain(ring: Sequence[tuple[int, int]], box_from: float) -> list[Point]:
    """The ring without its steps: a box's four corners, else those by the rule of Douglas and Peucker."""
    points = np.array(ring, dtype=float)
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    x, y = points[:, 0], points[:, 1]
    area = float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2
    if abs(area) >= box_from * (x1 - x0) * (y1 - y0):
        box = [(float(x0), float(y0)), (float(x1), float(y0)), (float(x1), float(y1)), (float(x0), float(y1))]
        return box if area > 0 else box[::-1]  # round a hole it goes the other way
    far = int(np.argmax(((points - points[0]) ** 2).sum(axis=1)))
    half, rest = points[: far + 1], np.concatenate((points[far:], points[:1]))
    kept = [*_corners(half)[:-1], *_corners(rest)[:-1]]
    return [(float(x), float(y)) for x, y in kept]


def _corners(run: npt.NDArray[np.float64]) -> list[npt.NDArray[np.float64]]:
    """The ends of a run of points and what lies off the line between them."""
    keep, stack = {0, len(run) - 1}, [(0, len(run) - 1)]
    while stack:
        low, high = stack.pop()
        if high - low < 2:
            continue
        along = run[high] - run[low]
        off = run[low + 1 : high] - run[low]
        length = float(np.hypot(*along)) or 1.0
        distance = np.abs(off[:, 0] * along[1] - off[:, 1] * along[0]) / length
        worst = int(np.argmax(distance))
        if distance[worst] > STEP:
            middle = low + 1 + worst
            keep.add(middle)
            stack += [(low, middle), (middle, high)]
    return [run[n] for n in sorted(keep)]
