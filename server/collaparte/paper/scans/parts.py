"""Connected parts of ink on a scan: boxes, and each part's own pixels."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.page import Dark

Numbers = npt.NDArray[np.intp]


@dataclass(slots=True)
class Parts:
    """Connected parts (touching at corners counts), numbered from 0; boxes end after their last pixel."""

    x0: Numbers
    y0: Numbers
    x1: Numbers
    y1: Numbers
    area: Numbers
    labels: npt.NDArray[np.int32]
    """For each pixel its part's number, -1 for paper."""

    def __len__(self) -> int:
        return len(self.x0)

    def mask(self, number: int) -> Dark:
        """The part's own pixels in its box."""
        box = self.labels[self.y0[number] : self.y1[number], self.x0[number] : self.x1[number]]
        out: Dark = box == number
        return out

    def free(self, number: int, within: Dark) -> bool:
        """Make the parts of `within`, pixels in part `number`'s box, parts of their own; False when there are none."""
        x0, y0 = int(self.x0[number]), int(self.y0[number])
        loose = connected(within)
        large = [n for n in range(len(loose)) if loose.y1[n] - loose.y0[n] > 0.25 * within.shape[0]]
        if not large:
            return False
        box = self.labels[y0 : y0 + within.shape[0], x0 : x0 + within.shape[1]]
        for n in large:
            box[loose.labels == n] = len(self)
            for name, value in (("x0", x0), ("y0", y0), ("x1", x0), ("y1", y0), ("area", 0)):
                setattr(self, name, np.append(getattr(self, name), getattr(loose, name)[n] + value))
        return True


def connected(dark: Dark) -> Parts:
    """The connected parts of a page."""
    height, width = dark.shape
    padded = np.zeros((height, width + 2), dtype=np.int8)
    padded[:, 1:-1] = dark
    edges = np.diff(padded, axis=1).ravel()
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    group = _grouped(starts, ends, width + 1)
    row, left, right = starts // (width + 1), starts % (width + 1), ends % (width + 1)
    _, group = np.unique(group, return_inverse=True)
    count = int(group.max()) + 1 if len(group) else 0
    x0, y0 = np.full(count, width), np.full(count, height)
    x1, y1 = np.zeros(count, dtype=np.intp), np.zeros(count, dtype=np.intp)
    np.minimum.at(x0, group, left)
    np.minimum.at(y0, group, row)
    np.maximum.at(x1, group, right)
    np.maximum.at(y1, group, row + 1)
    area = np.bincount(group, weights=right - left, minlength=count).astype(np.intp)
    labels = np.full((height, width), -1, dtype=np.int32)
    labels[dark] = np.repeat(group, right - left)
    return Parts(x0, y0, x1, y1, area, labels)


def _grouped(starts: Numbers, ends: Numbers, pitch: int) -> Numbers:
    """A number for each run of pixels, the same for runs that touch; rows are `pitch` apart."""
    low = np.searchsorted(ends, starts + pitch, side="left")
    high = np.searchsorted(starts, ends + pitch, side="right")
    touching = np.maximum(high - low, 0)
    upper = np.repeat(np.arange(len(starts)), touching)
    first = np.repeat(low - np.concatenate(([0], np.cumsum(touching)[:-1])), touching)
    lower = first + np.arange(len(upper))
    group = np.arange(len(starts))
    while True:
        a, b = group[upper], group[lower]
        apart = a != b
        if not apart.any():
            return group
        upper, lower, a, b = upper[apart], lower[apart], a[apart], b[apart]
        np.minimum.at(group, np.maximum(a, b), np.minimum(a, b))
        while True:
            further = group[group]
            if np.array_equal(further, group):
                break
            group = further
