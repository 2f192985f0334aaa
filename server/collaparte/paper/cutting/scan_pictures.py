"""Ink of a scan as pictures: black on nothing, so that one may stand over another."""

import numpy as np
import pymupdf

from collaparte.paper.cutting.ink import Mark, Picture
from collaparte.paper.cutting.items import Item
from collaparte.paper.cutting.scan_clean import Clean
from collaparte.paper.scans.page import Dark, Grey

FRINGE = 2
"""Pixels round ink that are its soft edge."""


class Kept:
    """The marks of a page that are taken off it so far; `ink`: where there is any on the page."""

    def __init__(self, clean: Clean, ink: Dark) -> None:
        self.clean, self.ink = clean, ink
        self.marks: list[Mark] = []

    def picture(self, item: Item, row: int, column: int, mine: Dark) -> Item:
        """The item with its pixels, which begin at a row and a column of the page, if it has any."""
        return self.stroke(item, picture(self.clean, row, column, mine, self.ink)) if mine.size else item

    def stroke(self, item: Item, mark: Mark) -> Item:
        """The item with its mark."""
        self.marks.append(mark)
        item.marks.append(len(self.marks) - 1)
        return item


def picture(clean: Clean, row: int, column: int, mine: Dark, ink: Dark) -> Picture:
    """One's own ink, from a row and a column of the page on, black on nothing, so that it may stand over its
    neighbour's; `ink`: where there is any on the page."""
    (height, width), (rows, columns) = mine.shape, ink.shape
    up, left = min(FRINGE, row), min(FRINGE, column)
    down, right = min(FRINGE, rows - row - height), min(FRINGE, columns - column - width)
    wide = np.pad(mine, ((up, down), (left, right)))
    here = (slice(row - up, row + height + down), slice(column - left, column + width + right))
    grey = np.where(_wider(wide) & (wide | ~ink[here]), clean.grey[here], 255).astype(np.uint8)
    x0, y0 = here[1].start * clean.unit, here[0].start * clean.unit
    x1, y1 = here[1].stop * clean.unit, here[0].stop * clean.unit
    return Picture((x0, y0, x1, y1), (x1 - x0, 0.0, 0.0, y1 - y0, x0, y0), _clear_png(grey))


def _clear_png(grey: Grey) -> bytes:
    """Black, as opaque as the picture is dark."""
    height, width = grey.shape
    pixels = np.zeros((height, width, 2), np.uint8)
    pixels[..., 1] = 255 - grey
    return bytes(pymupdf.Pixmap(pymupdf.csGRAY, width, height, pixels.tobytes(), 1).tobytes("png"))


def _wider(mask: Dark) -> Dark:
    out = mask.copy()
    for _ in range(FRINGE):
        for axis in (0, 1):
            a, b = np.roll(out, 1, axis), np.roll(out, -1, axis)
            out = out | a | b
    return out
