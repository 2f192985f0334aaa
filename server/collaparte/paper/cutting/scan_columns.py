"""A bar of a scan: which ink is its own, and the columns that its notes stand in."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from collaparte.paper.cutting.items import Role
from collaparte.paper.cutting.scan_parts import Which
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts

LEAST = 0.25
"""What is lower than this, in spaces, is a bit of a line."""
OVERHANG = 1.2
"""What reaches less than so many spaces over a barline is of one bar."""
NARROW = 3.0
"""Ink no wider than this, in spaces, stands together."""
MORE = 0.3
"""Where a group under a beam has so many spaces more ink, up and down, than beside it, a note stands."""
AROUND = 2.5
"""Spaces to both sides of a place where the beam alone is looked for."""
ROOM = 0.1
"""Clear spaces at both sides of a column,"""
APART = 0.3
"""and columns nearer than this are one."""

Places = npt.NDArray[np.float64]


def whose(parts: Parts, free: Which, over: Places, space: float) -> npt.NDArray[np.int16]:
    """For each pixel of `free` parts its bar's place (-1: none): what goes on over a barline (`over`) is cut there."""
    first, last = np.searchsorted(over, parts.x0), np.searchsorted(over, parts.x1 - 1)
    reach, ends = OVERHANG * space, np.concatenate(([-1e9], over, [1e9]))
    for _ in over:
        last = last - ((last > first) & (parts.x1 - ends[last] < reach))
        first = first + ((last > first) & (ends[first + 1] - parts.x0 < reach))
    if not len(parts):
        return np.full(parts.shape, -1, np.int16)
    labels = parts.labels
    at = np.searchsorted(over, np.arange(labels.shape[1]))
    mine = (labels >= 0) & free[labels]
    return np.where(mine, np.clip(at[None, :], first[labels], last[labels]), -1).astype(np.int16)


def columns(parts: Parts, mine: Dark, left: int, right: int, space: float) -> list[tuple[int, int]]:
    """Where notes, rests and signs of a bar (`mine`, from left to right) stand, which must not be stretched."""
    mine, labels, width = mine[:, left:right], parts.labels[:, left:right], right - left
    here = np.unique(labels[mine])
    wide, tall = parts.x1[here] - parts.x0[here], parts.y1[here] - parts.y0[here]
    small = here[(wide <= NARROW * space) & (tall > LEAST * space)]
    covers = np.zeros(width + 1, np.int32)
    np.add.at(covers, np.clip(parts.x0[small] - left, 0, width), 1)
    np.add.at(covers, np.clip(parts.x1[small] - left, 0, width), -1)
    is_wide = np.zeros(len(parts), np.bool_)
    is_wide[here[wide > NARROW * space]] = True
    much = (mine & is_wide[labels]).sum(axis=0)
    around = round(AROUND * space)
    padded = np.pad(much, around, constant_values=len(mine))
    least = np.lib.stride_tricks.sliding_window_view(padded, 2 * around + 1).min(axis=1)
    column = (np.cumsum(covers)[:-1] > 0) | (much - least > MORE * space)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], column.astype(np.int8), [0]))))
    room = round(ROOM * space)
    out: list[tuple[int, int]] = []
    for a, b in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        a, b = max(a - room, 0) + left, min(b + room, width) + left
        if out and a - out[-1][1] < APART * space:
            out[-1] = (out[-1][0], b)
        else:
            out.append((a, b))
    return out


def strips(solid: list[tuple[int, int]], left: int, right: int) -> Iterator[tuple[int, int, Role]]:
    """A bar's columns and what lies between them."""
    at = left
    for a, b in [*solid, (right, right)]:
        if a > at:
            yield at, a, Role.BEAM
        if b > a:
            yield a, b, Role.SOLID
        at = b
