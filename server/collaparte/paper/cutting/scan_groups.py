"""Ink of a scan that stands in no stave, in groups that belong to one line: words, marks, pencil."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from collaparte.paper.cutting.scan_parts import Numbers, Pixels, round_it
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
    pixels: npt.NDArray[np.int16],
    dark: Dark,
    parts: Parts,
    owner: npt.NDArray[np.int16],
    space: float,
    brackets: Sequence[Sequence[float]],
) -> list[tuple[Numbers, Pixels]]:
    """Loose ink that stands together: numbers of parts, and the box round them in pixels.

    What is in an ending's bracket (boxes in pixels) stands with it alone: words over it may be the line's above."""
    free = dark & (pixels == -1)
    height, width = free.shape
    numbers = np.flatnonzero(owner == -1)
    apart = _frames(numbers, parts, space)
    for box in brackets:
        mine = (
            np.setdiff1d(_within(numbers, parts, box), np.concatenate(apart)) if apart else _within(numbers, parts, box)
        )
        apart += [mine] if len(mine) else []
    out = [(mine, round_it(mine, parts)) for mine in apart]
    for mine, (x0, y0, x1, y1) in out:
        free[y0:y1, x0:x1] &= ~np.isin(parts.labels[y0:y1, x0:x1], mine)
    numbers = np.setdiff1d(numbers, np.concatenate(apart)) if apart else numbers
    padded = np.pad(free, ((0, -height % CELL), (0, -width % CELL)))
    cells: Dark = np.asarray(padded.reshape(padded.shape[0] // CELL, CELL, -1, CELL).any(axis=(1, 3)), dtype=np.bool_)
    for axis, reach in ((1, BESIDE), (0, OVER)):
        for _ in range(max(1, round(reach * space / 2 / CELL))):
            cells = cells | np.roll(cells, 1, axis) | np.roll(cells, -1, axis)
    together = connected(cells)
    if not len(numbers):
        return out
    # Any pixel of a part tells its group.
    flat = parts.labels.ravel()
    there = np.flatnonzero(flat >= 0)
    pixel = np.zeros(len(parts), np.intp)
    pixel[flat[there]] = there
    rows, columns = pixel[numbers] // width, pixel[numbers] % width
    group = together.labels[rows // CELL, columns // CELL]
    for g in np.unique(group):
        mine = numbers[group == g]
        box = round_it(mine, parts)
        tall = box[3] - box[1] > TALL * space
        out += [(some, round_it(some, parts)) for some in taken_apart(mine, parts, space)] if tall else [(mine, box)]
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
