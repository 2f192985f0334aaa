"""Which curved shapes are bows (slurs, ties), and which are blocks of ink."""

from collections.abc import Iterator

from collaparte.paper.cutting.ink import Shape, Subpath

ROUND, HEAD = 1.9, 2.0
"""A head is less than so many times as wide as high, and narrower than so many spaces."""
FULL = 0.75
"""A bow tapers to both its ends, so two thirds of its box at most are ink (two parabolas); a rest fills more,"""
BLOCK = (0.4, 1.1, 2.6)
"""is so many spaces high at least and at most, and at most so many wide (common practice)."""


def is_curved(shape: Shape) -> bool:
    """Whether any of its outline is."""
    return any(len(s) == 6 for sub in shape.path for s in sub.segments)


def is_bow(shape: Shape, sp: float) -> bool:
    """A slur or tie: two curves and nothing much else. A head or flag may be as much, but is not so flat."""
    if len(shape.path) != 1 or len(shape.path[0].segments) > 4:
        return False
    x0, y0, x1, y1 = shape.box
    if x1 - x0 < ROUND * (y1 - y0) and x1 - x0 < HEAD * sp:
        return False
    return sum(len(s) == 6 for s in shape.path[0].segments) == 2


def is_block(shape: Shape, sp: float) -> bool:
    """A rest of a half or a whole, though its outline is curved as if by a pen."""
    x0, y0, x1, y1 = shape.box
    low, high, wide = (limit * sp for limit in BLOCK)
    if shape.width is not None or not (low < y1 - y0 < high and x1 - x0 < wide):
        return False
    return abs(sum(_area(sub) for sub in shape.path)) > FULL * (x1 - x0) * (y1 - y0)


def _area(sub: Subpath) -> float:
    """What a subpath encloses, with the sign of its sense."""
    points = list(_points(sub))
    pairs = zip(points, [*points[1:], points[0]], strict=True)
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs) / 2


def _points(sub: Subpath) -> Iterator[tuple[float, float]]:
    """Its corners, and each curve's middle."""
    x, y = sub.x, sub.y
    yield x, y
    for s in sub.segments:
        if len(s) == 6:
            yield (x + 3 * s[0] + 3 * s[2] + s[4]) / 8, (y + 3 * s[1] + 3 * s[3] + s[5]) / 8
        x, y = s[-2], s[-1]
        yield x, y
