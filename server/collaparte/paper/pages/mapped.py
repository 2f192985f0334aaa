"""Ink put through a piece's slices: rigid marks moved whole, lines bent point by point, spans cut at the barline."""

from collections.abc import Sequence
from itertools import pairwise
from math import hypot

from collaparte.paper.cutting.ink import Shape, Subpath
from collaparte.paper.pages.laying import Slice
from collaparte.paper.reading import Box

STEPS = 16
"""Straight steps a curve is drawn with where it is bent or cut; finer than a printer's dot at page size."""


class Along:
    """Where x (spaces from the piece's origin) comes to stand (mm), by the piece's slices."""

    def __init__(self, slices: Sequence[Slice]) -> None:
        self.slices = slices
        self.knots = [s.sx0 for s in slices[1:]]

    def slice_at(self, x: float) -> Slice:
        for cut in self.slices:
            if x <= cut.sx1:
                return cut
        return self.slices[-1]

    def __call__(self, x: float) -> float:
        cut = self.slice_at(x)
        return cut.x0 + (x - cut.sx0) * self.scale(x)

    def scale(self, x: float) -> float:
        """mm a space at x; where a slice has no width, as in its neighbours' mean."""
        cut = self.slice_at(x)
        if cut.sx1 > cut.sx0:
            return (cut.x1 - cut.x0) / (cut.sx1 - cut.sx0)
        first, last = self.slices[0], self.slices[-1]
        return (last.x1 - first.x0) / max(last.sx1 - first.sx0, 1e-6)

    def straight(self, x0: float, x1: float) -> bool:
        """x0..x1 lies in one slice."""
        cut = self.slice_at((x0 + x1) / 2)
        return cut.sx0 - 0.05 <= x0 and x1 <= cut.sx1 + 0.05


def flattened(path: Sequence[Subpath], knots: Sequence[float]) -> list[Subpath]:
    """Curves as straight steps, and straight lines broken at the x of each knot."""
    out: list[Subpath] = []
    for sub in path:
        new = Subpath(sub.x, sub.y, closed=sub.closed)
        x, y = sub.x, sub.y
        segments = list(sub.segments)
        if sub.closed and (not segments or (segments[-1][-2], segments[-1][-1]) != (sub.x, sub.y)):
            segments.append((sub.x, sub.y))
        for s in segments:
            if len(s) == 6:
                for n in range(1, STEPS + 1):
                    t = n / STEPS
                    a, b, c, d = (1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3
                    new.segments.append(
                        (a * x + b * s[0] + c * s[2] + d * s[4], a * y + b * s[1] + c * s[3] + d * s[5])
                    )
            else:
                x1, y1 = s
                low, high = min(x, x1), max(x, x1)
                inner = [k for k in knots if low < k < high]
                for k in inner if x1 > x else inner[::-1]:
                    new.segments.append((k, y + (y1 - y) * (k - x) / (x1 - x)))
                new.segments.append((x1, y1))
            x, y = s[-2], s[-1]
        out.append(new)
    return out


def dashed(path: Sequence[Subpath], dash: Sequence[float]) -> list[Subpath]:
    """The dashes of a dashed line that is drawn in straight steps; `dash` has lengths of ink and of white in turns."""
    out: list[Subpath] = []
    for sub in path:
        inked, left, place = True, dash[0], 0
        x, y = sub.x, sub.y
        for x1, y1 in sub.segments:
            length = hypot(x1 - x, y1 - y)
            dx, dy = ((x1 - x) / length, (y1 - y) / length) if length else (0.0, 0.0)
            while length > 1e-9:
                on = min(left, length)
                if inked:
                    out.append(Subpath(x, y, [(x + dx * on, y + dy * on)]))
                x, y, length, left = x + dx * on, y + dy * on, length - on, left - on
                if left < 1e-9:
                    place += 1
                    inked, left = not inked, max(dash[place % len(dash)], 1e-3)
    return out


def pulled(path: Sequence[Subpath], box: Box, left: float | None, right: float | None) -> list[Subpath]:
    """A level rule whose ends are moved out to `left` and `right`."""
    middle = (box[0] + box[2]) / 2

    def move(x: float) -> float:
        if x < middle:
            return x if left is None else x + left - box[0]
        return x if right is None else x + right - box[2]

    return [Subpath(move(s.x), s.y, [(move(q[0]), q[1]) for q in s.segments], s.closed) for s in path]


def clipped(shape: Shape, path: Sequence[Subpath], low: float, high: float) -> list[Subpath]:
    """What of straight-stepped subpaths lies between two x: areas stay closed, strokes stay open."""
    out: list[Subpath] = []
    for sub in path:
        points = [(sub.x, sub.y)] + [(s[0], s[1]) for s in sub.segments]
        if shape.width is None:
            for edge, keep in ((low, 1), (high, -1)):
                points = _half_plane(points, edge, keep)
            if len(points) > 2:
                out.append(Subpath(*points[0], segments=list(points[1:]), closed=True))
        else:
            out += _stroke(points, low, high)
    return out


def _half_plane(points: list[tuple[float, float]], edge: float, keep: int) -> list[tuple[float, float]]:
    out: list[tuple[float, float]] = []
    for n, (x1, y1) in enumerate(points):
        x0, y0 = points[n - 1]
        in0, in1 = (x0 - edge) * keep >= 0, (x1 - edge) * keep >= 0
        if in0 != in1:
            out.append((edge, y0 + (y1 - y0) * (edge - x0) / (x1 - x0)))
        if in1:
            out.append((x1, y1))
    return out


def _stroke(points: list[tuple[float, float]], low: float, high: float) -> list[Subpath]:
    out: list[Subpath] = []
    for (x0, y0), (x1, y1) in pairwise(points):
        a, b = (x0, y0), (x1, y1)
        if max(x0, x1) < low or min(x0, x1) > high:
            continue
        if x0 != x1:

            def at(x: float, x0: float = x0, y0: float = y0, x1: float = x1, y1: float = y1) -> tuple[float, float]:
                return (x, y0 + (y1 - y0) * (x - x0) / (x1 - x0))

            a = at(min(max(x0, low), high))
            b = at(min(max(x1, low), high))
        if out and (out[-1].segments[-1][0], out[-1].segments[-1][1]) == a:
            out[-1].segments.append(b)
        else:
            out.append(Subpath(*a, segments=[b]))
    return out
