"""Dust on a scan: specks that are no dot of anything."""

import numpy as np

from collaparte.paper.cutting.scan_parts import Which
from collaparte.paper.scans.parts import Parts

DUST = (0.22, 0.45, 1.2)
"""What is no larger than so many spaces is dust; out of the stave what is larger, too, so far from all else."""

NOISE, CELL, MANY = 0.8, 4.0, 6
"""Beside the staves what is no larger than so many spaces is noise of a shadow or a dark edge where a square of so many
spaces has so much dust."""
EDGE = 1.5
"""What lies within so many spaces of the page's left or right edge, where nothing is printed, is its dark edge."""


def dust(parts: Parts, loose: Which, space: float) -> Which:
    """Which parts are dust; those that are not `loose` stand in a stave. `space` in pixels."""
    size = np.maximum(parts.x1 - parts.x0, parts.y1 - parts.y0)
    out: Which = size <= DUST[0] * space
    for n in np.flatnonzero(loose & ~out & (size <= DUST[1] * space)):
        across = np.maximum(parts.x0, parts.x0[n]) - np.minimum(parts.x1, parts.x1[n])
        down = np.maximum(parts.y0, parts.y0[n]) - np.minimum(parts.y1, parts.y1[n])
        near = ~out & (np.maximum(across, down) < DUST[2] * space)
        out[n] = near.sum() <= 1
    return out


def noise(parts: Parts, left: float, right: float, space: float) -> Which:
    """Which parts are noise beside a page's staves, which run from `left` to `right` (pixels as `space`)."""
    size = np.maximum(parts.x1 - parts.x0, parts.y1 - parts.y0)
    out: Which = ((parts.x1 < left - space) | (parts.x0 > right + space)) & (size <= NOISE * space)
    wide, tall = (int(side / CELL / space) + 1 for side in parts.shape[::-1])
    cell = (parts.y0 / CELL / space).astype(np.intp) * wide + (parts.x0 / CELL / space).astype(np.intp)
    many = np.bincount(cell[out & (size <= DUST[1] * space)], minlength=wide * tall)
    edge = (parts.x1 < EDGE * space) | (parts.x0 > parts.shape[1] - EDGE * space)
    return (out & (many >= MANY)[cell]) | edge
