"""A page as the pen left it: straight rules, other shapes, glyphs.

Lengths are points, origin top-left, the page as displayed. White ink and ink off the page are dropped.
"""

from collections import defaultdict
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from math import sqrt
from typing import Any, NamedTuple

import pymupdf

from collaparte.paper.reading import Box
from collaparte.paper.sight.drawn_fonts import drawn_fonts
from collaparte.paper.sight.fonts import Font, page_fonts

WHITE = 0.93
"""Ink lighter than this, in each channel, is paper."""


BLACK = (0.0, 0.0, 0.0)
SOLID = "[] 0"
NO_AREA = 1e-3
"""A filled box thinner than this, in points, paints nothing."""
OUTLINE = "outline"
"""The font that signs known by their shape are said to be of."""
FEW = 40
"""A page with fewer rules than this may be a picture of music; only then are its images looked at."""
SIDES = 8
"""A box drawn as a polygon has at most so many sides: four, or some of them in two pieces."""
BEAM = 5
"""A beam has four sides, and at times the way back to its first point."""
MOST_OF_A_SIGN = 6
"""A path of more boxes and beams than this is no sign; a sharp is four."""
MOST_STEPS = 40
"""An outline of level and upright edges with more than this is taken for a picture of something."""
TWICE = 0.1
"""The same letter painted again nearer than this, in its size, is one bold letter; the narrowest are .2 apart."""
ROW = 4.0
"""Letters are looked up in rows of so many points."""
RECENT = 8
"""White boxes cover at most so many rules painted just before."""


class Rule(NamedTuple):
    """A filled box parallel to the page's edges, drawn as a line stroke, a rectangle or a polygon."""

    x0: float
    y0: float
    x1: float
    y1: float
    dashed: bool = False


class Blob(NamedTuple):
    """Any other painted path: its box and its segments, for a look at its shape."""

    x0: float
    y0: float
    x1: float
    y1: float
    items: tuple[Any, ...]
    filled: bool


class Glyph(NamedTuple):
    """One sign of a font, or a shape known for one: its ink box, origin on the baseline, font size and sort."""

    x0: float
    y0: float
    x1: float
    y1: float
    x: float
    y: float
    size: float
    kind: str
    value: str
    font: str
    upright: bool = True


_made = tuple.__new__
"""Makes a `Glyph` or `Rule` of its values in half the time that naming them takes."""


Cover = tuple[Box, int]
"""A white box, and when it was painted."""


class PageInk(NamedTuple):
    """All ink of one page; `picture` is the share of the page that images cover."""

    width: float
    height: float
    rules: list[Rule]
    blobs: list[Blob]
    glyphs: list[Glyph]
    picture: float


def page_ink(document: pymupdf.Document, page: pymupdf.Page, seen: dict[int, Font]) -> PageInk:
    """Read one page's drawing operators; `seen` keeps fonts between pages of one document."""
    matrix = page.rotation_matrix
    turn = (matrix.a, matrix.b, matrix.c, matrix.d, matrix.e, matrix.f) if page.rotation else None
    width, height = page.rect.width, page.rect.height
    rules: list[Rule] = []
    blobs: list[Blob] = []
    outlined: list[tuple[Box, float, bool]] = []
    covers: list[Cover] = []
    for drawing in page.get_cdrawings():
        if turn is not None or not _take_plain(drawing, rules, outlined):
            _take(drawing, turn, rules, blobs, outlined, covers)
    _take_outlined(outlined, rules)
    trace = _text_trace(page)
    fonts = _fonts(document, page, seen, trace)
    found = _glyphs(trace, fonts, turn, (rules, blobs), covers)
    rules = [r for r in rules if r.x1 > 0 and r.y1 > 0 and r.x0 < width and r.y0 < height]
    blobs = [b for b in blobs if b.x1 > 0 and b.y1 > 0 and b.x0 < width and b.y0 < height]
    glyphs = [g for g in found if g.x1 >= 0 and g.y1 >= 0 and g.x0 <= width and g.y0 <= height]
    picture = _picture_share(page) if len(rules) < FEW else 0.0
    return PageInk(width, height, rules, blobs, glyphs, picture)


@lru_cache(maxsize=256)
def _is_paper(colour: tuple[float, ...] | None, opacity: float | None) -> bool:
    return colour is None or opacity == 0 or all(c > WHITE for c in colour)


def _take_plain(drawing: dict[str, Any], rules: list[Rule], outlined: list[tuple[Box, float, bool]]) -> bool:
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
                rules.append(_made(Rule, (xa - half, low, xa + half, high, False)))
                return True
            if ya == yb:
                low, high = (xa, xb) if xa < xb else (xb, xa)
                rules.append(_made(Rule, (low, ya - half, high, ya + half, False)))
                return True
        elif item[0] == "re" and drawing["width"]:
            outlined.append((item[1], half, False))
            return True
    elif sort == "f" and item[0] == "re" and drawing["fill"] == BLACK and drawing["fill_opacity"] == 1:
        x0, y0, x1, y1 = item[1]
        if x1 - x0 > NO_AREA and y1 - y0 > NO_AREA:
            rules.append(_made(Rule, (x0, y0, x1, y1, False)))
        return True
    return False


def _take(
    drawing: dict[str, Any],
    turn: Any,
    rules: list[Rule],
    blobs: list[Blob],
    outlined: list[tuple[Box, float, bool]],
    covers: list[Cover],
) -> None:
    sort = drawing["type"]
    if _is_white(drawing) and _boxes(drawing["items"]):
        _take_outlined(outlined, rules)
        outlined.clear()
        _cover(drawing, turn, rules, blobs, covers)
        return
    stroked = "s" in sort and not _is_paper(drawing.get("color"), drawing.get("stroke_opacity"))
    filled = "f" in sort and not _is_paper(drawing.get("fill"), drawing.get("fill_opacity"))
    if not stroked and not filled:
        return
    items = drawing["items"] if turn is None else [_turned_item(item, turn) for item in drawing["items"]]
    half = (drawing.get("width") or 0.0) / 2 if stroked else 0.0
    if filled:
        _take_filled(items, half, rules, blobs)
    elif half:
        dashes = drawing.get("dashes") or ""
        _take_stroked(items, max(half, 0.05), not dashes.startswith("[]") and dashes != "", rules, blobs, outlined)


def _is_white(drawing: dict[str, Any]) -> bool:
    """Whether a box paints paper over what lies under it."""
    fill, line = drawing.get("fill"), drawing.get("color")
    return (fill is not None or line is not None) and all(
        colour is None or _is_paper(colour, 1.0) for colour in (fill, line)
    )


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


def _take_outlined(outlined: list[tuple[Box, float, bool]], rules: list[Rule]) -> None:
    """Stroked rectangles: solid when also filled or hardly wider than their own line, else a frame's four sides."""
    filled: dict[int, list[Rule]] = defaultdict(list)
    for rule in rules if outlined else ():
        filled[round(rule.x0)].append(rule)
    for box, half, dashed in outlined:
        x0, y0, x1, y1 = box
        if (
            x1 - x0 <= 2.5 * half
            or y1 - y0 <= 2.5 * half
            or any(_same(box, rule) for key in (-1, 0, 1) for rule in filled.get(round(x0) + key, ()))
        ):
            rules.append(Rule(x0 - half, y0 - half, x1 + half, y1 + half, dashed))
        else:
            _sides(box, half, dashed, rules)


def _same(box: Box, rule: Rule) -> bool:
    return all(abs(one - other) < 0.2 for one, other in zip(box, rule[:4], strict=True))


def _sides(box: Box, half: float, dashed: bool, rules: list[Rule]) -> None:
    x0, y0, x1, y1 = box
    rules.append(Rule(x0 - half, y0 - half, x1 + half, y0 + half, dashed))
    rules.append(Rule(x0 - half, y1 - half, x1 + half, y1 + half, dashed))
    rules.append(Rule(x0 - half, y0 - half, x0 + half, y1 + half, dashed))
    rules.append(Rule(x1 - half, y0 - half, x1 + half, y1 + half, dashed))


def _take_filled(items: Any, half: float, rules: list[Rule], blobs: list[Blob]) -> None:
    polygons = _polygons(items)
    boxes = [_upright_box(one[0]) if one[0][0] != "l" else _polygon_box(one) for one in polygons]
    solid = [box for box in boxes if box is not None]
    many = len(polygons) > MOST_OF_A_SIGN and all(len(one) <= BEAM for one in polygons)
    if solid and (many or len(solid) == len(boxes)):
        if len(boxes) == len(solid) == 2 and _inside(solid[1], solid[0]):
            _ring_rules(solid[0], solid[1], rules)
        elif len(boxes) == len(solid) == 2 and _inside(solid[0], solid[1]):
            _ring_rules(solid[1], solid[0], rules)
        else:
            rules += [
                Rule(x0 - half, y0 - half, x1 + half, y1 + half)
                for x0, y0, x1, y1 in solid
                if half or min(x1 - x0, y1 - y0) > NO_AREA
            ]
            for one, box in zip(polygons, boxes, strict=True):
                if box is None:
                    _add_blob(one, half, True, blobs)
        return
    stepped = _stepped(items)
    if stepped:
        rules += [Rule(x0 - half, y0 - half, x1 + half, y1 + half) for x0, y0, x1, y1 in stepped]
        return
    _add_blob(items, half, True, blobs)


def _polygons(items: Any) -> list[list[Any]]:
    """The polygons of few sides that make up a path (lines and beams of a bar may be one); none where there is more."""
    out: list[list[Any]] = []
    last: Any = None
    for item in items:
        if item[0] == "l":
            if last is None or abs(item[1][0] - last[0]) > 0.001 or abs(item[1][1] - last[1]) > 0.001:
                out.append([])
            out[-1].append(item)
            last = None if _is_closed(out[-1]) else item[2]
        elif item[0] in ("re", "qu"):
            out.append([item])
            last = None
        else:
            return []
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


def _add_blob(items: Any, half: float, filled: bool, blobs: list[Blob]) -> None:
    xs: list[float] = []
    ys: list[float] = []
    for item in items:
        if item[0] == "re":
            xs += (item[1][0], item[1][2])
            ys += (item[1][1], item[1][3])
        elif item[0] == "c":
            xs += _reach(*(point[0] for point in item[1:]))
            ys += _reach(*(point[1] for point in item[1:]))
        else:
            points = item[1] if item[0] == "qu" else item[1:]
            for x, y in points:
                xs.append(x)
                ys.append(y)
    blobs.append(Blob(min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half, tuple(items), filled))


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


def _fonts(
    document: pymupdf.Document, page: pymupdf.Page, seen: dict[int, Font], trace: Sequence[dict[str, Any]]
) -> dict[str, Font]:
    """The page's fonts by name; those that may not tell their letters are judged by the glyphs in use."""
    fonts = page_fonts(document, page, seen)
    if len(fonts) < len({span["font"] for span in trace}):
        fonts |= drawn_fonts(document, page, seen)
    for name, font in fonts.items():
        if not font.told and not font.drawn:
            used = {(char[1], char[0]) for span in trace if span["font"] == name for char in span["chars"]}
            font.judge(sorted(used))
    return fonts


def _glyphs(
    trace: Sequence[dict[str, Any]],
    fonts: dict[str, Font],
    turn: Any,
    shapes: tuple[list[Rule], list[Blob]],
    covers: Sequence[Cover],
) -> list[Glyph]:
    """What the text is that nothing covers; glyphs of fonts that do not tell what they are become `shapes`."""
    rules, blobs = shapes
    out: list[Glyph] = []
    seen: defaultdict[tuple[int, int, int], list[tuple[float, float]]] = defaultdict(list)
    for span in trace:
        if span["type"] == 3 or _is_paper(span["color"], span["opacity"]):
            continue
        name = span["font"]
        font = fonts.get(name) or fonts.setdefault(name, Font(None))
        size, (cos, sin) = span["size"], span["dir"]
        if turn is not None:
            cos, sin = turn[0] * cos + turn[2] * sin, turn[1] * cos + turn[3] * sin
        upright = abs(sin) < 0.01 and cos > 0
        style = name.partition("+")[2] or name
        near = TWICE * size
        over = [white for white, seqno in covers if seqno > span["seqno"]]
        look = font.glyph
        for code, gid, (x, y), _bbox in span["chars"]:
            above, below = (gid, code, round((y - near) / ROW)), (gid, code, round((y + near) / ROW))
            if any(abs(x - u) < near and abs(y - v) < near for u, v in seen[above]) or (
                above != below and any(abs(x - u) < near and abs(y - v) < near for u, v in seen[below])
            ):
                continue  # letters painted twice to look bold
            at = (x, y)
            if turn is not None:
                x, y = turn[0] * x + turn[2] * y + turn[4], turn[1] * x + turn[3] * y + turn[5]
            if over and any(w[0] < x < w[2] and w[1] < y < w[3] for w in over):
                continue
            seen[gid, code, round(at[1] / ROW)].append(at)
            if font.drawn:
                _add_drawn(font.items(gid), (x, y, size, cos, sin), rules, blobs)
                continue
            (kind, value), (bx0, by0, bx1, by1) = look(gid, code)
            if upright:
                box = (x + bx0 * size, y - by1 * size, x + bx1 * size, y - by0 * size)
            else:
                box = _turned_box((bx0, by0, bx1, by1), x, y, size, cos, sin)
            out.append(_made(Glyph, (*box, x, y, size, kind, value, style, upright)))
    return out


def _add_drawn(items: Sequence[Any], at: tuple[float, ...], rules: list[Rule], blobs: list[Blob]) -> None:
    """A glyph as the path that it is, painted at its place: `at` is x, y, size and the cosine and sine of its turn."""
    if items:
        x, y, size, cos, sin = at
        a, b = size * cos, size * sin
        placed = [(item[0], *((x + a * u - b * v, y + b * u + a * v) for u, v in item[1:])) for item in items]
        _take_filled(placed, 0.0, rules, blobs)


def _turned_box(box: Box, x: float, y: float, size: float, cos: float, sin: float) -> Box:
    corners = [(box[i] * size, -box[j] * size) for i in (0, 2) for j in (1, 3)]
    xs = [x + u * cos - v * sin for u, v in corners]
    ys = [y + u * sin + v * cos for u, v in corners]
    return (min(xs), min(ys), max(xs), max(ys))


def _text_trace(page: pymupdf.Page) -> list[dict[str, Any]]:
    """The page's text with the fonts' full names, so that two subsets of one font stay apart."""
    before = pymupdf.TOOLS.set_subset_fontnames()
    pymupdf.TOOLS.set_subset_fontnames(True)
    try:
        trace: list[dict[str, Any]] = page.get_texttrace()
    finally:
        pymupdf.TOOLS.set_subset_fontnames(before)
    return trace


def _picture_share(page: pymupdf.Page) -> float:
    area = abs(page.rect)
    shares = [abs(pymupdf.Rect(image["bbox"]) & page.rect) / area for image in page.get_image_info()]
    return min(1.0, sum(shares)) if area else 0.0
