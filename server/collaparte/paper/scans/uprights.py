"""Upright strokes from a stave's top to its bottom on a levelled scan, whatever they are: stems, barlines, letters."""

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.bits import Bitmap
from collaparte.paper.scans.page import runs
from collaparte.paper.scans.staves import ScannedStave

TORN = 0.78
"""At least this share of such a stroke's height is ink."""
WIDE = 0.4
"""A stroke wider than this is dark in all its columns; a figure is not."""


def through(dark: Bitmap, bare: Bitmap, stave: ScannedStave) -> list[tuple[int, int, float]]:
    """The upright strokes from a stave's top to its bottom: from, to, the share of its height that is dark."""
    space = stave.space
    x0, x1 = max(3, int(stave.x0 - 0.5 * space)), min(dark.width - 4, int(stave.x1 + 0.5 * space))
    return _columns(dark, bare, round(stave.top), round(stave.bottom) + 1, x0, x1, space)


def _columns(
    dark: Bitmap, bare: Bitmap, top: int, bottom: int, x0: int, x1: int, space: float
) -> list[tuple[int, int, float]]:
    """Where columns of a stave's height are dark throughout, leaning a little if need be: from, to, share."""
    height = bottom - top
    rows = dark.rows(top, bottom)[:, x0 - 1 : x1 + 3].view(np.uint8)
    whole, best = _leaning(rows[:, :-1]) / height, _leaning(rows[:, :-1] | rows[:, 1:]) / height
    tall = best > TORN
    tall[1:] |= tall[:-1].copy()
    there = np.flatnonzero(tall & (whole > 0.3)).tolist()
    if not there:
        return []
    off_lines = bare.rows(top, bottom)[:, x0 : x1 + 1].sum(axis=0, dtype=np.uint16) / height
    out = []
    for left, right in _in_a_row(there):
        share, inked = whole[left:right].tolist(), off_lines[left:right].tolist()
        solid = [n for n in range(right - left) if share[n] > 0.5 * max(share)]
        most = max(inked[n] for n in solid)
        for first, last in _in_a_row([n for n in solid if inked[n] > 0.45 * most]):
            cover = max(best[left + first : left + last].tolist())
            torn = last - first > WIDE * space and min(share[first + 1 : last - 1]) <= TORN
            if cover > TORN and not torn:
                out.append((x0 + left + first, x0 + left + last, cover))
    return out


def _in_a_row(numbers: Sequence[int]) -> list[tuple[int, int]]:
    """Stretches of rising numbers that follow one another: from, up to."""
    ends = [n for n in range(1, len(numbers)) if numbers[n] > numbers[n - 1] + 1]
    return [(numbers[a], numbers[b - 1] + 1) for a, b in pairwise([0, *ends, len(numbers)]) if b > a]


@lru_cache(maxsize=64)
def _thirds(height: int) -> tuple[tuple[int, int], ...]:
    """The rows, of so many, that a pixel's lean moves one way, not at all and the other way: from, up to."""
    return tuple((y0, y1) for y0, y1, _ in runs(np.linspace(-1, 1, height)))


def _leaning(rows: npt.NDArray[np.uint8]) -> npt.NDArray[np.int16]:
    """The dark pixels of each column but the outer ones: of it alone, or leaning by a pixel up and down from it."""
    above, about, below = (
        np.add.reduce(rows[y0:y1], axis=0, dtype=np.uint8).astype(np.int16) for y0, y1 in _thirds(len(rows))
    )
    lean = np.maximum(above[:-2] + below[2:], above[2:] + below[:-2])
    most: npt.NDArray[np.int16] = about[1:-1] + np.maximum(above[1:-1] + below[1:-1], lean)
    return most
