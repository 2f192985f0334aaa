"""Pencil on a grey scan told from print by its brightness: it is cut off the words and marks that it touches.

Print is black but where it is thin (rules, hair lines); pencil is grey however thick it is. A scan of two
levels, or of faded print, does not tell.
"""

import numpy as np
import numpy.typing as npt

from collaparte.paper.cutting.scan_parts import Which
from collaparte.paper.cutting.scan_words import is_written
from collaparte.paper.scans.page import Dark, Grey
from collaparte.paper.scans.parts import Parts, connected

REACH = 0.18
"""How dark ink is, is told by the darkest that is so near, in spaces."""
PALE = 50
"""Paler than this is pencil (of 255; on 60 scans print's letters 0 to 17, pencil 68 and more)."""
LETTER = (0.8, 3.6)
"""Letters, so high at least and at most, in spaces, say how dark print is;"""
FADED = 25
"""paler than this it does not tell."""
DARKEST = 2
"""Of a letter's pixels so many of a hundred are its darkest."""
STROKE, BLACK = 1.5, 0.15
"""A pencil's stroke is so wide or high at least, in spaces; what it is cut off has so many square spaces of print."""
STRAIGHT = 0.35
"""What is no wider or no higher than so many spaces is a stem, a rule;"""
RULED, LONG = 0.7, 1.8
"""strokes of which so much lies in level or upright runs so long, in spaces, are rules, brackets, frames."""


def cut_off(grey: Grey, dark: Dark, staves: Dark, space: float) -> tuple[Dark, Dark]:
    """The ink without those pixels of pencil's strokes that join them to print, but for those on `staves`; and which of
    these pixels are of ink that stands on staves: a slur may be as pale as pencil, and be a note's."""
    parts = connected(dark)
    on_staves = np.append(np.zeros(len(parts), np.bool_), False)
    on_staves[np.unique(parts.labels[staves])] = True
    if not tells(grey, parts, ~on_staves[:-1], space):
        return dark, np.zeros_like(dark)
    out = dark.copy()
    large = np.maximum(parts.x1 - parts.x0, parts.y1 - parts.y0) > STROKE * space
    for n in np.flatnonzero(large).tolist():
        mask, pale = _pale(grey, parts, n, space)
        here = (slice(int(parts.y0[n]), int(parts.y1[n])), slice(int(parts.x0[n]), int(parts.x1[n])))
        letters = _letters(mask & ~pale, space)
        if not letters.any():
            continue
        near = _round(letters)
        strokes = connected(pale & ~staves[here])
        for k in range(len(strokes)):
            y, x, stroke = int(strokes.y0[k]), int(strokes.x0[k]), strokes.mask(k)
            if max(stroke.shape) > STROKE * space and not is_ruled(stroke, space):
                tall, wide = stroke.shape
                out[here][y : y + tall, x : x + wide] &= ~(stroke & near[y : y + tall, x : x + wide])
    return out, dark & ~out & on_staves[parts.labels]


def _letters(black: Dark, space: float) -> Dark:
    """What of some black ink is as high as letters, or a frame: not the thick middle of a slur, a hairpin's point."""
    out = np.zeros_like(black)
    parts = connected(black)
    tall, wide = parts.y1 - parts.y0, parts.x1 - parts.x0
    for n in np.flatnonzero((tall > LETTER[0] * space) & (parts.area > BLACK * space**2)).tolist():
        mask = parts.mask(n)
        if wide[n] < LETTER[1] * space or is_ruled(mask, space) or is_written(mask):
            out[int(parts.y0[n]) : int(parts.y1[n]), int(parts.x0[n]) : int(parts.x1[n])] |= mask
    return out


def is_pencil(grey: Grey, parts: Parts, loose: Which, space: float) -> Which:
    """Which `loose` parts are pencil alone."""
    out = np.zeros(len(parts), np.bool_)
    if tells(grey, parts, loose, space):
        large = np.maximum(parts.x1 - parts.x0, parts.y1 - parts.y0) > STROKE * space
        for n in np.flatnonzero(loose & large).tolist():
            mask, pale = _pale(grey, parts, n, space)
            out[n] = (mask & ~pale).sum() < BLACK * space**2 and not is_ruled(mask, space)
    return out


def tells(grey: Grey, parts: Parts, loose: Which, space: float) -> bool:
    """Whether the page's letters are so dark that pencil is told from them."""
    tall, wide = parts.y1 - parts.y0, parts.x1 - parts.x0
    low, high = (size * space for size in LETTER)
    letters = np.flatnonzero(loose & (tall > low) & (tall < high) & (wide < high))
    darkest = [np.percentile(_of(grey, parts, n)[parts.mask(n)], DARKEST) for n in letters.tolist()]
    return bool(darkest) and float(np.median(darkest)) < FADED


def is_ruled(mask: Dark, space: float) -> bool:
    """Whether a stroke is level and upright rules."""
    if min(mask.shape) < STRAIGHT * space:
        return True
    long = max(2, round(LONG * space))
    ruled = _runs(mask, long) | _runs(mask.T, long).T
    return bool(ruled.sum() > RULED * mask.sum())


def _runs(mask: Dark, long: int) -> Dark:
    """The pixels of level runs so long at least."""
    edges = np.diff(np.pad(mask, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    (row, first), (_, end) = np.nonzero(edges == 1), np.nonzero(edges == -1)
    out = np.zeros((mask.shape[0], mask.shape[1] + 1), np.int8)
    some = end - first >= long
    np.add.at(out, (row[some], first[some]), 1)
    np.add.at(out, (row[some], end[some]), -1)
    return np.asarray(out.cumsum(axis=1)[:, :-1] > 0, np.bool_)


def _of(grey: Grey, parts: Parts, n: int) -> Grey:
    return grey[int(parts.y0[n]) : int(parts.y1[n]), int(parts.x0[n]) : int(parts.x1[n])]


def _pale(grey: Grey, parts: Parts, n: int, space: float) -> tuple[Dark, Dark]:
    """A part's pixels, and those of them near which it is nowhere black."""
    mask, reach = parts.mask(n), max(1, round(REACH * space))
    least: npt.NDArray[np.uint8] = np.where(mask, _of(grey, parts, n), 255).astype(np.uint8)
    for axis in (0, 1):
        wide = np.pad(least, [(reach * (axis == 0),) * 2, (reach * (axis == 1),) * 2], constant_values=255)
        size = least.shape[axis]
        least = np.min([wide.take(range(k, k + size), axis=axis) for k in range(2 * reach + 1)], axis=0)
    return mask, mask & (least > PALE)


def _round(mask: Dark) -> Dark:
    """A mask and the pixels that touch it."""
    wide = np.pad(mask, 1)
    rows, columns = mask.shape
    out = np.zeros_like(mask)
    for y in range(3):
        for x in range(3):
            out |= wide[y : y + rows, x : x + columns]
    return out
