"""Pencil on a grey scan, told from print by its brightness: what is written over a barline makes no stem of it."""

from statistics import median
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.bits import Bitmap
from collaparte.paper.scans.page import Bent, Floats, Grey, Whole

NEAR, FAR = 0.25, 0.65
"""What stands beside a stroke is looked at so far from it, from and to, in spaces,"""
BEYOND = 1.0
"""and so far over its stave and under it."""
FEWEST = 20
"""So many pixels of ink tell what it is."""
LIGHTER, DARK = 30, 0.25
"""Pencil's ink is lighter than the stroke by so much, of 255, all but less than this share of it (on 64 pages what
stood beside 20 of 25 barlines was, and beside one of 677 other strokes)."""


class Pencil(NamedTuple):
    """A page's brightness, and how it lies beside the page set straight."""

    grey: Grey
    bare: Bitmap
    bent: Bent

    def is_beside(self, left: int, right: int, top: int, bottom: int, space: float) -> bool:
        """Whether the ink beside a stroke through a stave, in pixels, is lighter than it: pencil, no head or beam."""
        near, far = round(NEAR * space), round(FAR * space) + 1
        x0, y0, y1 = left - far, max(top - round(BEYOND * space), 0), bottom + round(BEYOND * space)
        if x0 < 0:
            return False
        ink = self.bare.box(x0, y0, right + far, y1)
        ink[:, far - near : far - near + right - left + 2 * near] = False
        y, x = np.nonzero(ink)
        if len(y) < FEWEST:
            return False
        middle = (left + right) / 2
        height = bottom - top
        across = np.concatenate((np.full(height, middle), x + x0))
        down = np.concatenate((np.arange(top, bottom), y + y0))
        seen = self._brightness(across, down, middle, (top, bottom))
        limit = median(seen[:height].tolist()) + LIGHTER
        return int(np.count_nonzero(seen[height:] <= limit)) < DARK * len(y)

    def _brightness(self, x: Floats, y: Whole, middle: float, across: tuple[int, int]) -> npt.NDArray[np.uint8]:
        """The brightness of places near a stroke; between its two ends the page is taken for even."""
        scale = self.bent.scale
        (at_x, at_y), (to_x, to_y) = (self.bent.back(middle * scale, end * scale) for end in across)
        share = (y - across[0]) / (across[1] - across[0])
        columns = ((at_x + share * (to_x - at_x)) / scale + x - middle).astype(np.intp)
        rows = ((at_y + share * (to_y - at_y)) / scale).astype(np.intp)
        height, width = self.grey.shape
        out: npt.NDArray[np.uint8] = self.grey[rows.clip(0, height - 1), columns.clip(0, width - 1)]
        return out
