"""Words and marks that were read, cut free of what large touches them: a pencil's ring, a stem, a slur."""

from collections.abc import Iterable

import numpy as np

from collaparte.paper.cutting.scan_brackets import bracket
from collaparte.paper.cutting.scan_words import LETTER
from collaparte.paper.reading import Box
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import connected

SOFT = 0.15
"""A box of what was read is that much too small, in spaces."""
A_STROKE = 0.2
"""What has less ink within a box, in square spaces, only passes by."""


def freed(ink: Dark, boxes: Iterable[Box], space: float) -> Dark:
    """The ink without those pixels at the edges of `boxes` (of what was read, in pixels as `space`) where something
    larger than letters and marks goes on beyond them: what is in a box is then connected with nothing outside."""
    out, parts = ink.copy(), connected(ink)
    height, width = ink.shape
    large = (parts.x1 - parts.x0 > LETTER[2] * space) | (parts.y1 - parts.y0 > LETTER[1] * space)
    for box in boxes:
        reach = SOFT * space
        x0, y0 = (max(round(at - reach), 0) for at in box[:2])
        x1, y1 = min(round(box[2] + reach), width - 1), min(round(box[3] + reach), height - 1)
        if x1 <= x0 or y1 <= y0:
            continue
        edges = (np.s_[y0, x0 : x1 + 1], np.s_[y1, x0 : x1 + 1], np.s_[y0 : y1 + 1, x0], np.s_[y0 : y1 + 1, x1])
        inside = parts.labels[y0 + 1 : y1, x0 + 1 : x1]
        across = np.unique(np.concatenate([parts.labels[edge] for edge in edges]))
        for n in across[across >= 0].tolist():
            if large[n] and (inside == n).sum() > A_STROKE * space**2 and not bracket(parts.mask(n), space):
                for edge in edges:
                    out[edge] &= parts.labels[edge] != n
    return out
