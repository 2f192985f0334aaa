"""A levelled scan without its staff lines."""

from collections.abc import Sequence

import numpy as np

from collaparte.paper.scans.bits import Bitmap, Bits, packed
from collaparte.paper.scans.staves import ScannedStave


def without_lines(dark: Bitmap, staves: Sequence[ScannedStave], thick: int) -> Bitmap:
    """The page without its staff lines: where a line is no thicker than a line, it goes."""
    out = dark.bits.copy()
    if not staves:
        return Bitmap(out, dark.width)
    most = thick + max(1, round(0.35 * thick))
    around = np.arange(-most - 2, most + 3)
    rows = np.array([[round(y) for y in stave.lines] for stave in staves]) + around[:, None, None]
    column = np.arange(dark.width)
    x0, x1 = np.array([(int(stave.x0) - 2, int(stave.x1) + 2) for stave in staves]).T[:, :, None]
    window = dark.bits[rows] & packed((x0 <= column) & (column < x1))[:, None]
    line = _of_run(window, most + 2)
    paper = ~(line & ~_more(line, most))
    for row, clear in zip(rows, paper, strict=True):
        for line_rows, line_clear in zip(row, clear, strict=True):
            out[line_rows] &= line_clear
    return Bitmap(out, dark.width)


def _of_run(window: Bits, middle: int) -> Bits:
    """In each column of each line the pixels that hang together with those within a row of the middle (first: rows)."""
    out = window.copy()
    for row in range(middle + 2, len(window)):
        out[row] &= out[row - 1]
    for row in range(middle - 2, -1, -1):
        out[row] &= out[row + 1]
    return out


def _more(rows: Bits, many: int) -> Bits:
    """The pixels that are dark in more than `many` of these rows (first)."""
    reached = np.zeros((many + 2, *rows.shape[1:]), dtype=rows.dtype)
    reached[0] = ~reached[0]
    for row in rows:
        reached[1:] |= reached[:-1] & row
    out: Bits = reached[-1]
    return out
