"""Filled paths: boxes as rules, frames as the four rules that are seen of them, anything else as blobs."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from collaparte.paper.reading import Box
from collaparte.paper.sight.path_boxes import bounds, is_closed, polygon_box, upright_box
from collaparte.paper.sight.strokes import Blob, Rule

NO_AREA = 1e-3
"""A filled box thinner than this, in points, paints nothing."""
SIDES = 8
"""A box drawn as a polygon has at most so many sides: four, or some of them in two pieces."""
BEAM = 5
"""A beam has four sides, and at times the way back to its first point."""
MOST_OF_A_SIGN = 6
"""A path of more boxes and beams than this is no sign; a sharp is four."""
MOST_STEPS = 40
"""An outline of level and upright edges with more than this is taken for a picture of something."""
NARROW, WIDE = 0.35, 1.2
"""Capitals are so many times as wide as they are high; an H-bar is wider."""
LINE = 3.0
"""Boxes of many in one path that are thinner than this, in points, are lines and no frames."""


def take_filled(items: Any, half: float, rules: list[Rule], blobs: list[Blob]) -> None:
    """A filled path, `half` a stroke wider on all sides: boxes are rules, anything else a blob."""
    if "c" in [item[0] for item in items]:
        add_blob(items, half, True, blobs)
        return
    polygons = _polygons(items)
    boxes = [upright_box(one[0]) if one[0][0] != "l" else polygon_box(one) for one in polygons]
    solid = [box for box in boxes if box is not None]
    many = len(polygons) > MOST_OF_A_SIGN and all(len(one) <= BEAM for one in polygons)
    if solid and (many or len(solid) == len(boxes)):
        rings = _rings(solid)
        for outer, inner in rings:
            ring_rules(outer, inner, rules)
        ringed = {box for ring in rings for box in ring}
        rules += [
            Rule(x0 - half, y0 - half, x1 + half, y1 + half)
            for x0, y0, x1, y1 in solid
            if (x0, y0, x1, y1) not in ringed and (half or min(x1 - x0, y1 - y0) > NO_AREA)
        ]
        for one, box in zip(polygons, boxes, strict=True):
            if box is None:
                add_blob(one, half, True, blobs)
        return
    stepped = _stepped(items)
    if stepped:
        rules += [Rule(x0 - half, y0 - half, x1 + half, y1 + half) for x0, y0, x1, y1 in stepped]
        _add_stepped(items, half, blobs)
        return
    add_blob(items, half, True, blobs)


def _rings(boxes: Sequence[Box]) -> list[tuple[Box, Box]]:
    """The boxes of one path that lie in another of it: frames, as what is inside would not be seen else."""
    large = [box for box in boxes if len(boxes) == 2 or min(box[2] - box[0], box[3] - box[1]) > LINE]
    out = []
    for outer in large:
        inner = [box for box in large if inside(box, outer)]
        if inner:
            out.append((outer, max(inner, key=lambda box: (box[2] - box[0]) * (box[3] - box[1]))))
    return out


def _polygons(items: Any) -> list[list[Any]]:
    """The polygons of few sides that make up a path without curves (lines and beams of a bar may be one); none where
    there is more."""
    out: list[list[Any]] = []
    last: Any = None
    for item in items:
        if item[0] == "l":
            if last is None or abs(item[1][0] - last[0]) > 0.001 or abs(item[1][1] - last[1]) > 0.001:
                out.append([])
            out[-1].append(item)
            last = None if is_closed(out[-1]) else item[2]
        else:
            out.append([item])
            last = None
    if any(len(one) > SIDES for one in out):
        return []
    return [one for one in out if len(out) == 1 or one[0][0] != "l" or _has_area(one)]


def _has_area(lines: Sequence[Any]) -> bool:
    """Whether an outline goes anywhere but to and fro on one level or upright line."""
    return all(max(v) - min(v) > NO_AREA for v in zip(*(point for _, *ends in lines for point in ends), strict=True))


def _stepped(items: Any) -> list[Box]:
    """The boxes, from left to right, of one outline whose edges are all level or upright (an H-bar with its ends)."""
    if not 6 <= len(items) <= MOST_STEPS or not all(item[0] == "l" for item in items) or not is_closed(items):
        return []
    levels = []
    for before, item in pairwise([items[-1], *items]):
        (xa, ya), (xb, yb) = item[1], item[2]
        if before is not item and before[2] != item[1] and item is not items[0]:
            return []
        if abs(ya - yb) < 0.03:
            levels.append((min(xa, xb), max(xa, xb), (ya + yb) / 2))
        elif abs(xa - xb) >= 0.03:
            return []
    edges = sorted({x for level in levels for x in level[:2]})
    boxes: list[Box] = []
    for left, right in pairwise(edges):
        crossed = sorted(y for x0, x1, y in levels if x0 < (left + right) / 2 < x1)
        boxes += [(left, top, right, foot) for top, foot in zip(crossed[::2], crossed[1::2], strict=False)]
    return [box for box in boxes if min(box[2] - box[0], box[3] - box[1]) > NO_AREA]


def inside(inner: Box, outer: Box) -> bool:
    """Whether one box lies in another and touches none of its sides."""
    return outer[0] < inner[0] and outer[1] < inner[1] and inner[2] < outer[2] and inner[3] < outer[3]


def ring_rules(outer: Box, inner: Box, rules: list[Rule]) -> None:
    """What is left of a box that another is taken out of: four rules."""
    rules.append(Rule(outer[0], outer[1], outer[2], inner[1]))
    rules.append(Rule(outer[0], inner[3], outer[2], outer[3]))
    rules.append(Rule(outer[0], outer[1], inner[0], outer[3]))
    rules.append(Rule(inner[2], outer[1], outer[2], outer[3]))


def _add_stepped(items: Any, half: float, blobs: list[Blob]) -> None:
    """An outline of level and upright edges that has a capital's proportions."""
    x0, y0, x1, y1 = bounds(items)
    if NARROW * (y1 - y0) < x1 - x0 < WIDE * (y1 - y0):
        blobs.append(Blob(x0 - half, y0 - half, x1 + half, y1 + half, tuple(items), True, True))


def add_blob(items: Any, half: float, filled: bool, blobs: list[Blob]) -> None:
    """A path that is no box; `half` as in `take_filled`."""
    kept = tuple(items)
    last = blobs[-1] if blobs else None
    if last and half and not filled and last.items == kept:  # stroked, as many programs do with what they just filled
        kept, (x0, y0, x1, y1) = last.items, last.box
    else:
        x0, y0, x1, y1 = bounds(items)
    blobs.append(Blob(x0 - half, y0 - half, x1 + half, y1 + half, kept, filled))
