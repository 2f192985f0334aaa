"""Parts of a scan as pictures of 16 x 16 cells of ink coverage, as `sight.shapes` knows signs and letters."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.bits import Dark, Places
from collaparte.paper.scans.parts import Parts
from collaparte.paper.sight.shapes import CELLS, Cells

BLOCK = 48
"""Pieces are pictured so many at a time."""
PixelBox = tuple[int, int, int, int]


def cells_of_parts(parts: Parts, groups: Sequence[Sequence[int]], boxes: Sequence[PixelBox]) -> Cells:
    """The picture of each group of parts, given the box round it: n x 256, from the parts' runs."""
    piece = np.full(len(parts), -1, dtype=np.intp)
    piece[[number for group in groups for number in group]] = np.repeat(
        np.arange(len(groups)), [len(group) for group in groups]
    )
    x0, y0, x1, y1 = np.array(boxes, dtype=np.intp).T
    whose = np.repeat(piece, np.diff(parts.runs.first))
    mine = np.flatnonzero(whose >= 0)
    whose = whose[mine]
    wide, high = (x1 - x0).astype(np.float32), y1 - y0
    # One row a piece more, for the sums over all of its rows.
    begin = np.cumsum(high + 1) - high - 1
    row = begin[whose] + parts.runs.row[mine] - y0[whose]
    order = np.argsort(row, kind="stable")
    row, mine, whose = row[order], mine[order], whose[order]
    scale = (CELLS / wide)[whose]
    left = (parts.runs.left[mine] - x0[whose]).astype(np.float32) * scale
    right = (parts.runs.right[mine] - x0[whose]).astype(np.float32) * scale
    out = np.empty((len(groups), CELLS * CELLS), dtype=np.float32)
    for n in range(0, len(groups), BLOCK):
        some = slice(n, n + BLOCK)
        first, last = np.searchsorted(row, (begin[n], begin[some][-1] + high[some][-1]))
        out[n : n + BLOCK] = _filled(row[first:last] - begin[n], left[first:last], right[first:last], high[some])
    return out


def _filled(row: Places, left: Cells, right: Cells, high: Places) -> Cells:
    """The pictures of pieces so high from their runs, in cells across; the rows of each follow those before it."""
    cell = np.arange(CELLS, dtype=np.float32)[:, None]
    covered = np.minimum(right, cell + 1)
    covered -= np.maximum(left, cell)
    np.maximum(covered, 0, out=covered)
    over = np.zeros((CELLS, len(row) + 1), dtype=np.float64)
    np.cumsum(covered, axis=1, out=over[:, 1:])
    begin = np.cumsum(high + 1) - high - 1
    before = np.cumsum(np.bincount(row + 1, minlength=int((high + 1).sum()) + 1))
    edge = np.arange(CELLS + 1) * high[:, None] / CELLS
    whole = np.minimum(edge.astype(np.intp), high[:, None])
    at = begin[:, None] + whole
    sums = over[:, before[at]]
    sums += (over[:, before[at + 1]] - sums) * (edge - whole)
    shares = np.diff(sums, axis=2) * (CELLS / high)[:, None]
    out: Cells = shares.transpose(1, 2, 0).reshape(len(high), -1).astype(np.float32)
    return out


def cells_of(mask: Dark) -> Cells:
    """The picture of what fills its box: 256."""
    out: Cells = shares(mask.shape[0], CELLS).T @ mask.astype(np.float32) @ shares(mask.shape[1], CELLS)
    return out.ravel()


@lru_cache(maxsize=512)
def shares(length: int, cells: int) -> npt.NDArray[np.float32]:
    """How much of each cell each of `length` pixels fills."""
    edges = np.linspace(0, length, cells + 1)
    pixel = np.arange(length)[:, None]
    overlap = np.clip(np.minimum(pixel + 1, edges[1:]) - np.maximum(pixel, edges[:-1]), 0, None)
    out: npt.NDArray[np.float32] = (overlap * cells / length).astype(np.float32)
    return out
