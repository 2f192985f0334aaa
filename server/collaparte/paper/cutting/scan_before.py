"""Where a scanned line's staves begin, and what stands before them: pencil that runs into its head, specks."""

from collections.abc import Sequence

import numpy as np

from collaparte.paper.cutting.scan_parts import Which
from collaparte.paper.cutting.scan_staves import Staves
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts

FULL = 0.7
"""So many of a line's staff lines go on to the left of where they were read to begin;"""
TORN = 0.5
"""what tears them there is no wider, in spaces."""
LEAN = 0.2
"""A line is followed by so much of what its ink is off."""
BEFORE, BESIDE = 1.0, 0.1
"""Ink from so far before the staves, in spaces, is no clef; it is parted so near before them,"""
HEAD, OVER = 5.0, 2.0
"""when it has much ink in the line's head, which is so wide, and so high over and under a stave (SMuFL fonts: 1.8)."""
MUCH = 2.0
"""So many square spaces are much: a clef has more."""
SPECK, AWAY = 0.5, 0.2
"""What is no larger than so many spaces, and stands so far before all that is larger, is dust."""


def begins(ink: Dark, lines: Sequence[float], read: float, space: float) -> float:
    """The column where staff lines (rows, as `space` in pixels) begin, which were `read` to begin no farther left."""
    rows, torn = np.array(lines), 0
    first = column = min(max(round(read), 0), ink.shape[1])
    near = np.arange(-1, 2)
    while column and torn <= TORN * space:
        column -= 1
        at = np.clip(np.round(rows).astype(np.intp)[:, None] + near, 0, len(ink) - 1)
        dark = ink[at, column]
        many = dark.sum(axis=1)
        # They may lean where they were not read.
        rows += LEAN * np.divide((dark * near).sum(axis=1), many, out=np.zeros(len(rows)), where=many > 0)
        torn = torn + 1 if np.mean(many > 0) < FULL else 0
        first = first if torn else column
    return min(float(first), read)


def parted(parts: Parts, staves: Staves, left: float, space: float) -> None:
    """Part what runs from before the staves, which begin at `left`, into a line's head: a clef is the line's own."""
    column = round(left - BESIDE * space)
    for n in np.flatnonzero((parts.x0 <= left - BEFORE * space) & (parts.x1 > left + space))[::-1].tolist():
        x0, y0, mask = int(parts.x0[n]), int(parts.y0[n]), parts.mask(n)
        heads = [
            (top, bottom)
            for top, bottom in staves
            if mask[max(round(top) - y0, 0) : max(round(bottom) - y0, 0), round(left) - x0 :][
                :, : round(HEAD * space)
            ].sum()
            > MUCH * space**2
        ]
        if not heads or not x0 < column:
            continue
        parts.divide_across(n, column)
        for row in (round(heads[-1][1] + OVER * space), round(heads[0][0] - OVER * space)):
            if parts.y0[n + 1] < row < parts.y1[n + 1]:
                parts.divide(n + 1, row)
                if row < heads[0][0]:
                    break


def specks(parts: Parts, own: Which, left: float, space: float) -> Which:
    """Which of a stave's `own` parts are dust before its clef."""
    size = np.maximum(parts.x1 - parts.x0, parts.y1 - parts.y0)
    large = own & (size > SPECK * space) & (parts.x1 > left)
    first = parts.x0[large].min(initial=0 if not large.any() else parts.shape[1])
    out: Which = own & (size <= SPECK * space) & (parts.x1 <= first - AWAY * space)
    return out
