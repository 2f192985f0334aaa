"""A segno of any face: an S with a stroke through it that rises to the right, and a dot at each side.

Each music font, and each hand, draws it in its own way (SMuFL's segno, U+E047, shows the usual one), so none may be
near to the known ones. What they share is told here; a percent sign has rings for the dots, the sign that repeats a
bar no S.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from collaparte.paper.sight.shapes import CELLS, NO_MATCH, Match, Picture, letter, music_sign, picture

Outline = npt.NDArray[np.float64]

ASPECT = (0.45, 1.1)
"""A segno's width over its height,"""
SIZE = (2.0, 5.0)
"""and its height in staff spaces: common practice is 3."""
DOT = (0.05, 0.22)
"""A dot's height over the sign's,"""
ROUND = (0.6, 1.6)
"""its width over its height,"""
OUTER = 0.35
"""and how far its middle is at least from the sign's, as a share of half the sign's width,"""
LEVEL = 0.45
"""and at most, up or down, of half its height."""
ROWS = (slice(3, 6), slice(10, 13))
"""Rows of cells through the S's upper bow and its lower one, where the stroke passes on one side of it."""
INKED = 0.5
BUILT = Match("segno", "", 0.15)
"""What is built so is as far off as a known sign may be."""
UNKNOWN = 0.2
"""Only what is further than this from all known signs and letters is looked at so."""


def looked_up(outline: Sequence[Outline], space: float) -> tuple[Match, Match]:
    """A shape's nearest music sign and letter; what is near none may be a segno by its build."""
    look = picture(outline)
    sign, as_letter = music_sign(look, space), letter(look)
    if len(outline) > 2 and min(sign.distance, as_letter.distance) > UNKNOWN:
        built = segno(outline, space)
        return (built, as_letter) if built.kind else (sign, as_letter)
    return sign, as_letter


def segno(outline: Sequence[Outline], space: float) -> Match:
    """A shape of several outlines (y downwards) as a segno by its build; no match when it is none."""
    dots: list[Outline] = []
    body: list[Outline] = []
    low, high = np.min([o.min(axis=0) for o in outline], axis=0), np.max([o.max(axis=0) for o in outline], axis=0)
    (width, height), middle = high - low, (low + high) / 2
    if not ASPECT[0] < width / height < ASPECT[1] or not SIZE[0] * space < height < SIZE[1] * space:
        return NO_MATCH
    for one in outline:
        size = one.max(axis=0) - one.min(axis=0)
        away = ((one.max(axis=0) + one.min(axis=0)) / 2 - middle) / (width / 2, height / 2)
        is_dot = DOT[0] < size[1] / height < DOT[1] and ROUND[0] < size[0] / size[1] < ROUND[1]
        (dots if is_dot else body).append(away if is_dot else one)
    if len(dots) != 2 or not body or dots[0][0] * dots[1][0] > 0:
        return NO_MATCH
    if any(abs(across) < OUTER or abs(down) > LEVEL for across, down in dots):
        return NO_MATCH
    return BUILT if _has_s(picture(body)) else NO_MATCH


def _has_s(body: Picture) -> bool:
    """Whether a stroke rises to the right from corner to corner, and beside it are the bows of an S."""
    cells = body.cells
    corners = cells[-4:, :4].max(), cells[:4, -4:].max()
    middle = cells[CELLS // 2 - 2 : CELLS // 2 + 2, CELLS // 2 - 3 : CELLS // 2 + 3].mean()
    return min(corners) > INKED and middle > INKED and all(_runs(cells[rows]) for rows in ROWS)


def _runs(rows: npt.NDArray[np.float32]) -> bool:
    """Whether most of these rows have ink twice, with paper between."""
    twice = 0
    for row in rows > INKED:
        starts = np.flatnonzero(np.diff(np.concatenate(([False], row)).astype(int)) == 1)
        twice += len(starts) >= 2
    return twice * 2 > len(rows)
