"""Ink of a scan that stands in no stave, in groups that belong to one line: words, marks, pencil."""

from collections.abc import Sequence

import numpy as np

from collaparte.paper.cutting.scan_parts import Numbers, Pixels, Which, round_it
from collaparte.paper.cutting.scan_words import taken_apart
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts, connected

CELL = 4
"""Loose ink is grouped in squares of so many pixels,"""
BESIDE, OVER = 2.5, 0.3
"""when no farther apart than this, in spaces, side by side and one over the other."""
TALL = 3.5
"""What is higher, in spaces, may be words over one another."""
FRAME = (2.0, 7.0)
"""A framed mark is so wide and high at least and at most, in spaces; it stands over its system (common practice)."""
FRAMED = 0.8
"""Of a frame's sides so much is dark."""


def grouped(
    parts: Parts,
    free: Which,
    pencil: Which,
    space: float,
    brackets: Sequence[Sequence[float]],
) -> list[tuple[Numbers, Pixels]]:
    """Loose ink (`free`) that stands together: numbers of parts, and the box round them in pixels.

    What is in an ending's bracket (boxes in pixels) stands with it alone: words over it may be the line's above. So
    does what is written in `pencil`.
    """
    numbers = np.flatnonzero(free & ~pencil)
    apart = _frames(numbers, parts, space)
    for box in brackets:
        mine = (
            np.setdiff1d(_within(numbers, parts, box), np.concatenate(apart)) if apart else _within(numbers, parts, box)
        )
        apart += [mine] if len(mine) else []
    out = [(mine, round_it(mine, parts)) for mine in apart]
    numbers = np.setdiff1d(numbers, np.concatenate(apart)) if apart else numbers
    for some in (numbers, np.flatnonzero(free & pencil)):
        out += _together(some, parts, space)
    return out


def _together(numbers: Numbers, parts: Parts, space: float) -> list[tuple[Numbers, Pixels]]:
    """Those of some parts that stand near one another."""
    if not len(numbers):
        return []
    mine = np.append(np.zeros(len(parts), np.bool_), False)
    mine[numbers] = True
    ink = mine[parts.labels]
    height, width = ink.shape
    padded = np.pad(ink, ((0, -height % CELL), (0, -width % CELL)))
    cells: Dark = np.asarray(padded.reshape(padded.shape[0] // CELL, CELL, -1, CELL).any(axis=(1, 3)), dtype=np.bool_)
    for axis, reach in ((1, BESIDE), (0, OVER)):
        for _ in range(max(1, round(reach * space / 2 / CELL))):
            cells = cells | np.roll(cells, 1, axis) | np.roll(cells, -1, axis)
    together = connected(cells)
    # Any pixel of a part tells its group.
    first = parts.runs.first[numbers]
    rows, columns = parts.runs.row[first], parts.runs.left[first]
    group = together.labels[rows // CELL, columns // CELL]
    out: list[tuple[Numbers, Pixels]] = []
    for g in np.unique(group):
        some = numbers[group == g]
        box = round_it(some, parts)
        tall = box[3] - box[1] > TALL * space
        out += [(one, round_it(one, parts)) for one in taken_apart(some, parts, space)] if tall else [(some, box)]
    return out


def _within(numbers: Numbers, parts: Parts, box: Sequence[float]) -> Numbers:
    across = (parts.x0[numbers] >= box[0]) & (parts.x1[numbers] <= box[2])
    return numbers[across & (parts.y0[numbers] >= box[1]) & (parts.y1[numbers] <= box[3])]


def _frames(numbers: Numbers, parts: Parts, space: float) -> list[Numbers]:
    """Framed marks, each with what is in it: what stands beside one may be another system's."""
    low, high = (size * space for size in FRAME)
    wide, tall = parts.x1[numbers] - parts.x0[numbers], parts.y1[numbers] - parts.y0[numbers]
    likely = numbers[(wide > low) & (wide < high) & (tall > low) & (tall < high)]
    out = []
    for frame in (int(n) for n in likely if is_frame(parts, int(n), space)):
        box = (parts.x0[frame], parts.y0[frame], parts.x1[frame], parts.y1[frame])
        out.append(_within(numbers, parts, box))
    return out


def is_frame(parts: Parts, n: int, space: float) -> bool:
    """Whether a part is an upright frame, in pixels as `space`."""
    low, high = (size * space for size in FRAME)
    mask = parts.mask(n)
    if not all(low < size < high for size in mask.shape):
        return False
    edge = max(1, round(0.25 * space))
    sides = (mask[:edge].any(axis=0), mask[-edge:].any(axis=0), mask[:, :edge].any(axis=1), mask[:, -edge:].any(axis=1))
    return all(float(side.mean()) > FRAMED for side in sides)
