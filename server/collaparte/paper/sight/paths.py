"""Painted paths as straight rules and other shapes; white boxes take away what they cover."""

from collections import defaultdict
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from math import sqrt
from typing import Any

from collaparte.paper.reading import Box
from collaparte.paper.sight.strokes import Blob, Rule

WHITE = 0.93
"""Ink lighter than this, in each channel, is paper."""
BLACK = (0.0, 0.0, 0.0)
SOLID = "[] 0"
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
RECENT = 8
"""White boxes cover at most so many rules painted just before."""
made = tuple.__new__
"""Makes a `Glyph` or `Rule` of its values in half the time that naming them takes."""
Cover = tuple[Box, int]
"""A white box, and when it was painted."""


@lru_cache(maxsize=256)
def is_paper(colour: tuple[float, ...] | None, opacity: float | None) -> bool:
    """Whether a colour paints nothing that is seen on white paper."""
    return colour is None or opacity == 0 or all(c > WHITE for c in colour)


def take_plain(drawing: dict[str, Any], rules: list[Rule], outlined: list[tuple[Box, float, bool]]) -> bool:
    """The commonest drawings at once, one black line or box; False when this is another."""
    items = drawing["items"]
    if len(items) != 1:
        return False
    item, sort = items[0], drawing["type"]
    if sort == "s":
        if drawing["color"] != BLACK or drawing["stroke_opacity"] != 1 or drawing["dashes"] != SOLID:
            return False
        half = max(drawing["width"] / 2, 0.05)
        if item[0] == "l":
            (xa, ya), (xb, yb) = item[1], item[2]
            if xa == xb:
                low, high = (ya, yb) if ya < yb else (yb, ya)
                rules.append(made(Rule, (xa - half, low, xa + half, high, False)))
                return True
            if ya == yb:
                low, high = (xa, xb) if xa < xb else (xb, xa)
                rules.append(made(Rule, (low, ya - half, high, ya + half, False)))
                return True
        elif item[0] == "re" and drawing["width"]:
            outlined.append((item[1], half, False))
            return True
    elif sort == "f" and item[0] == "re" and drawing["fill"] == BLACK and drawing["fill_opacity"] == 1:
        x0, y0, x1, y1 = item[1]
        if x1 - x0 > NO_AREA and y1 - y0 > NO_AREA and not (outlined and _is_within(item[1], outlined[-1])):
            rules.append(made(Rule, (x0, y0, x1, y1, False)))
        return True
    return False


def _is_within(box: Box, outlined: tuple[Box, float, bool]) -> bool:
    """Whether a box lies in a line just painted, of which it is the inside: many programs stroke what they fill."""
    (x0, y0, x1, y1), half, dashed = outlined
    return (
        x0 - half <= box[0]
        and box[2] <= x1 + half
        and y0 - half <= box[1]
        and box[3] <= y1 + half
        and not dashed
        and _is_thin(outlined[0], half)
    )


def take(
    drawing: dict[str, Any],
    turn: Any,
    rules: list[Rule],
    blobs: list[Blob],
    outlined: list[tuple[Box, float, bool]],
    covers: list[Cover],
) -> None:
    """Any drawing: its ink is added to `rules`, `blobs` and `outlined`, white boxes to `covers`."""
    sort = drawing["type"]
    if is_white(drawing) and _boxes(drawing["items"]):
        take_outlined(outlined, rules)
        outlined.clear()
        _cover(drawing, turn, rules, blobs, covers)
        return
    stroked = "s" in sort and not is_paper(drawing.get("color"), drawing.get("stroke_opacity"))
    filled = "f" in sort and not is_paper(drawing.get("fill"), drawing.get("fill_opacity"))
    if not stroked and not filled:
        return
    items = drawing["items"] if turn is None else [_turned_item(item, turn) for item in drawing["items"]]
    half = (drawing.get("width") or 0.0) / 2 if stroked else 0.0
    if filled:
        take_filled(items, half, rules, blobs)
    elif half:
        dashes = drawing.get("dashes") or ""
        _take_stroked(items, max(half, 0.05), not dashes.startswith("[]") and dashes != "", rules, blobs, outlined)


def is_white(drawing: dict[str, Any]) -> bool:
    """Whether a box paints paper over what lies under it."""
    fill, line = drawing.get("fill"), drawing.get("color")
    return (fill is not None or line is not None) and is_paper(fill, 1.0) and is_paper(line, 1.0)


def _boxes(items: Any) -> list[Box]:
    """The upright boxes that a path is made of; a page that was turned has them as four lines."""
    if 3 <= len(items) <= 5 and all(item[0] == "l" for item in items) and _is_closed(items):
        box = _polygon_box(items)
        return [box] if box else []
    return [box for item in items if item[0] in ("re", "qu") and (box := _upright_box(item))]


def _cover(drawing: dict[str, Any], turn: Any, rules: list[Rule], blobs: list[Blob], covers: list[Cover]) -> None:
    """A white box leaves nothing of what it covers, and a frame of a solid box just painted that is larger."""
    half = (drawing.get("width") or 0.0) / 2 if "s" in drawing["type"] else 0.0
    for box in _boxes(drawing["items"] if turn is None else [_turned_item(i, turn) for i in drawing["items"]]):
        white = (box[0] - half, box[1] - half, box[2] + half, box[3] + half)
        recent = rules[-RECENT:]
        del rules[-RECENT:]
        for rule in recent:
            if _inside(white, rule[:4]):
                _ring_rules(rule[:4], white, rules)
            elif not _inside(rule[:4], white):
                rules.append(rule)
        if drawing.get("fill") is not None and drawing.get("fill_opacity", 1.0) == 1:
            rules[:] = [rule for rule in rules if not _inside(rule[:4], white)]
            blobs[:] = [blob for blob in blobs if not _inside(blob[:4], white)]
            covers.append((white, drawing["seqno"]))


def _take_stroked(
    items: Any,
    half: float,
    dashed: bool,
    rules: list[Rule],
    blobs: list[Blob],
    outlined: list[tuple[Box, float, bool]],
) -> None:
    if 3 <= len(items) <= 5 and all(item[0] == "l" for item in items) and _is_closed(items):
        box = _polygon_box(items)
        if box is not None:
            outlined.append((box, half, dashed))
            return
    others = []
    for item in items:
        if item[0] == "l":
            (xa, ya), (xb, yb) = item[1], item[2]
            if abs(xa - xb) <= 0.02 + 0.002 * abs(ya - yb):
                x = (xa + xb) / 2
                rules.append(Rule(x - half, min(ya, yb), x + half, max(ya, yb), dashed))
                continue
            if abs(ya - yb) <= 0.02 + 0.002 * abs(xa - xb):
                y = (ya + yb) / 2
                rules.append(Rule(min(xa, xb), y - half, max(xa, xb), y + half, dashed))
                continue
        else:
            box = _upright_box(item)
            if box is not None:
                outlined.append((box, half, dashed))
                continue
        others.append(item)
    if others:
        _add_blob(others, half, False, blobs)


def take_outlined(outlined: list[tuple[Box, float, bool]], rules: list[Rule]) -> None:
    """Stroked rectangles: solid when also filled or hardly wider than their own line, else a frame's four sides."""
    if not outlined:
        return
    filled = _filled([box for box, half, _ in outlined if not _is_thin(box, half)], rules)
    rules[:] = [rule for rule in rules if rule[:4] not in filled]
    for box, half, dashed in outlined:
        if _is_thin(box, half) or box in filled:
            x0, y0, x1, y1 = box
            rules.append(made(Rule, (x0 - half, y0 - half, x1 + half, y1 + half, dashed)))
        else:
            _sides(box, half, dashed, rules)


def _is_thin(box: Box, half: float) -> bool:
    return box[2] - box[0] <= 2.5 * half or box[3] - box[1] <= 2.5 * half


def _filled(boxes: Sequence[Box], rules: Sequence[Rule]) -> set[Box]:
    """Those of the boxes that are rules too, if not to the last digit."""
    painted = {rule[:4] for rule in rules}
    found = painted.intersection(boxes)
    bare = [box for box in boxes if box not in found]
    near: dict[int, list[Rule]] = defaultdict(list)
    for rule in rules if bare else ():
        near[round(rule.x0)].append(rule)
    for box in bare:
        if any(_same(box, rule) for key in (-1, 0, 1) for rule in near.get(round(box[0]) + key, ())):
            found.add(box)
    return found


def _same(box: Box, rule: Rule) -> bool:
    (xa, ya, xb, yb), (xc, yc, xd, yd, _) = box, rule
    return abs(xa - xc) < 0.2 and abs(ya - yc) < 0.2 and abs(xb - xd) < 0.2 and abs(yb - yd) < 0.2


def _sides(box: Box, half: float, dashed: bool, rules: list[Rule]) -> None:
    x0, y0, x1, y1 = box
    rules.append(Rule(x0 - half, y0 - half, x1 + half, y0 + half, dashed))
    rules.append(Rule(x0 - half, y1 - half, x1 + half, y1 + half, dashed))
    rules.append(Rule(x0 - half, y0 - half, x0 + half, y1 + half, dashed))
    rules.append(Rule(x1 - half, y0 - half, x1 + half, y1 + half, dashed))


def take_filled(items: Any, half: float, rules: list[Rule], blobs: list[Blob]) -> None:
    """A filled path, `half` a stroke wider on all sides: boxes are rules, anything else a blob."""
    if any(item[0] == "c" for item in items):
        _add_blob(items, half, True, blobs)
        return
    polygons = _polygons(items)
    boxes = [_upright_box(one[0]) if one[0][0] != "l" else _polygon_box(one) for one in polygons]
    solid = [box for box in boxes if box is not None]
    many = len(polygons) > MOST_OF_A_SIGN and all(len(one) <= BEAM for one in polygons)
    if solid and (many or len(solid) == len(boxes)):
        rings = _rings(solid)
        for outer, inner in rings:
            _ring_rules(outer, inner, rules)
        ringed = {box for ring in rings for box in ring}
        rules += [
            Rule(x0 - half, y0 - half, x1 + half, y1 + half)
            for x0, y0, x1, y1 in solid
            if (x0, y0, x1, y1) not in ringed and (half or min(x1 - x0, y1 - y0) > NO_AREA)
        ]
        for one, box in zip(polygons, boxes, strict=True):
            if box is None:
                _add_blob(one, half, True, blobs)
        return
    stepped = _stepped(items)
    if stepped:
        rules += [Rule(x0 - half, y0 - half, x1 + half, y1 + half) for x0, y0, x1, y1 in stepped]
        _add_stepped(items, half, blobs)
        return
    _add_blob(items, half, True, blobs)


def _rings(boxes: Sequence[Box]) -> list[tuple[Box, Box]]:
    """The boxes of one path that lie in another of it: frames, as what is inside would not be seen else."""
    large = [box for box in boxes if len(boxes) == 2 or min(box[2] - box[0], box[3] - box[1]) > LINE]
    out = []
    for outer in large:
        inner = [box for box in large if _inside(box, outer)]
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
            last = None if _is_closed(out[-1]) else item[2]
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
    if not 6 <= len(items) <= MOST_STEPS or not all(item[0] == "l" for item in items) or not _is_closed(items):
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


def _inside(inner: Box, outer: Box) -> bool:
    return outer[0] < inner[0] and outer[1] < inner[1] and inner[2] < outer[2] and inner[3] < outer[3]


def _ring_rules(outer: Box, inner: Box, rules: list[Rule]) -> None:
    rules.append(Rule(outer[0], outer[1], outer[2], inner[1]))
    rules.append(Rule(outer[0], inner[3], outer[2], outer[3]))
    rules.append(Rule(outer[0], outer[1], inner[0], outer[3]))
    rules.append(Rule(inner[2], outer[1], outer[2], outer[3]))


def _upright_box(item: Any) -> Box | None:
    if item[0] == "re":
        x0, y0, x1, y1 = item[1]
        return (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    if item[0] == "qu":
        points = item[1]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        x0, y0, x1, y1 = min(xs), min(ys), max(xs), max(ys)
        if all(min(x - x0, x1 - x) < 0.03 and min(y - y0, y1 - y) < 0.03 for x, y in points):
            return (x0, y0, x1, y1)
    return None


def _is_closed(items: Any) -> bool:
    (xa, ya), (xb, yb) = items[0][1], items[-1][2]
    return bool(abs(xa - xb) < 0.03 and abs(ya - yb) < 0.03)


def _polygon_box(items: Any) -> Box | None:
    points = [item[1] for item in items] + [items[-1][2]]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    x0, y0, x1, y1 = min(xs), min(ys), max(xs), max(ys)
    if x1 - x0 < 0.02 or y1 - y0 < 0.02:
        return None
    if len(items) > 4:  # a side may be drawn in two, or begin in its middle
        points = [
            points[n]
            for n in range(len(points))
            if not any(
                abs(points[n - 1][k] - points[n][k]) + abs(points[n][k] - points[(n + 1) % len(points)][k]) < 0.03
                for k in (0, 1)
            )
        ]
    if all(min(x - x0, x1 - x) < 0.03 and min(y - y0, y1 - y) < 0.03 for x, y in points):
        corners = {(x - x0 < x1 - x, y - y0 < y1 - y) for x, y in points}
        if len(corners) == 4:
            return (x0, y0, x1, y1)
    return None


def _add_stepped(items: Any, half: float, blobs: list[Blob]) -> None:
    """An outline of level and upright edges that has a capital's proportions."""
    x0, y0, x1, y1 = bounds(items)
    if NARROW * (y1 - y0) < x1 - x0 < WIDE * (y1 - y0):
        blobs.append(Blob(x0 - half, y0 - half, x1 + half, y1 + half, tuple(items), True, True))


def _add_blob(items: Any, half: float, filled: bool, blobs: list[Blob]) -> None:
    x0, y0, x1, y1 = bounds(items)
    blobs.append(Blob(x0 - half, y0 - half, x1 + half, y1 + half, tuple(items), filled))


def bounds(items: Any) -> Box:
    """The box of a path's segments (at least one), in points, curves as far as they go."""
    xs: list[float] = []
    ys: list[float] = []
    for item in items:
        if item[0] == "re":
            xs += (item[1][0], item[1][2])
            ys += (item[1][1], item[1][3])
        elif item[0] == "c":
            _, (xa, ya), (xb, yb), (xc, yc), (xd, yd) = item
            xs += _reach(xa, xb, xc, xd)
            ys += _reach(ya, yb, yc, yd)
        else:
            points = item[1] if item[0] == "qu" else item[1:]
            for x, y in points:
                xs.append(x)
                ys.append(y)
    return (min(xs), min(ys), max(xs), max(ys))


def _reach(a: float, b: float, c: float, d: float) -> tuple[float, float]:
    """How far a cubic goes along one axis: its control points often lie well outside its ink."""
    low, high = (a, d) if a < d else (d, a)
    if low <= b <= high and low <= c <= high:
        return low, high
    square, line, first = d - 3 * c + 3 * b - a, 2 * (c - 2 * b + a), b - a
    if abs(square) < 1e-9:
        turns = [-first / line] if abs(line) > 1e-9 else []
    else:
        under = line * line - 4 * square * first
        turns = [(-line + sign * sqrt(under)) / (2 * square) for sign in (-1, 1)] if under >= 0 else []
    for t in turns:
        if 0 < t < 1:
            u = 1 - t
            at = u * u * u * a + 3 * u * u * t * b + 3 * u * t * t * c + t * t * t * d
            low, high = min(low, at), max(high, at)
    return low, high


def _turned_item(item: Any, turn: Any) -> Any:
    a, b, c, d, e, f = turn

    def turned(point: Any) -> tuple[float, float]:
        x, y = point
        return (a * x + c * y + e, b * x + d * y + f)

    if item[0] == "re":
        x0, y0, x1, y1 = item[1]
        (xa, ya), (xb, yb) = turned((x0, y0)), turned((x1, y1))
        return ("re", (min(xa, xb), min(ya, yb), max(xa, xb), max(ya, yb)))
    if item[0] == "qu":
        return ("qu", tuple(turned(point) for point in item[1]))
    return (item[0], *(turned(point) for point in item[1:]))
