"""Connected parts of a scan's ink by their numbers: some of them, the box round them, which stand side by side."""

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.parts import Parts

Numbers = npt.NDArray[np.intp]
"""Some parts;"""
Which = npt.NDArray[np.bool_]
"""of each part, whether it is one of them."""
Pixels = tuple[int, int, int, int]
"""A box in pixels: its first column and row, and one after its last."""


def round_it(numbers: Numbers, parts: Parts) -> Pixels:
    """The box round some parts."""
    x0, y0, x1, y1 = parts.x0[numbers], parts.y0[numbers], parts.x1[numbers], parts.y1[numbers]
    return int(x0.min()), int(y0.min()), int(x1.max()), int(y1.max())


def side_by_side(numbers: Numbers, parts: Parts) -> list[Numbers]:
    """Parts that stand over one another together, from left to right."""
    out: list[list[int]] = []
    right = -1
    for n in sorted(numbers.tolist(), key=lambda n: int(parts.x0[n])):
        if parts.x0[n] < right:
            out[-1].append(n)
        else:
            out.append([n])
        right = max(right, int(parts.x1[n]))
    return [np.array(group) for group in out]
