"""Painted paths as straight rules and other shapes; white boxes take away what they cover."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any

from collaparte.paper.reading import Box
from collaparte.paper.sight.filled import NO_AREA, add_blob, inside, ring_rules, take_filled
from collaparte.paper.sight.path_boxes import is_closed, polygon_box, turned_item, upright_box
from collaparte.paper.sight.strokes import Blob, Rule

WHITE = 0.93
"""Ink lighter than this, in each channel, is paper."""
BLACK = (0.0, 0.0, 0.0)
SOLID = "[] 0"
RECENT = 8
"""White boxes cover at most so many rules painted just before."""
Cover = tuple[Box, int]
"""A white box, and when it was painted."""
Outlined = tuple[Box, float, bool]
"""A stroked box, half its stroke, and whether that is dashed."""


@lru_cache(maxsize=256)
def is_paper(colour: tuple[float, ...] | None, opacity: float | None) -> bool:
    """Whether a colour paints nothing that is seen on white paper."""
    return colour is None or opacity == 0 or all(c > WHITE for c in colour)


def take_upright(
    drawings: Iterable[dict[str, Any]],
    rules: list[Rule],
    blobs: list[Blob],
    outlined: list[Outlined],
    covers: list[Cover],
) -> None:
    """Drawings of a page that is not turned; the commonest, one black line or box, at once, others as in `take`."""
    for drawing in drawings:
        items = drawing["items"]
        if len(items) != 1 or not _take_plain(drawing, items[0], rules, outlined):
            take(drawing, None, rules, blobs, outlined, covers)


def _take_plain(drawing: dict[str, Any], item: Any, rules: list[Rule], outlined: list[Outlined]) -> bool:
    sort = drawing["type"]
    if sort == "s":
        if drawing["color"] != BLACK or drawing["stroke_opacity"] != 1 or drawing["dashes"] != SOLID:
            return False
        half = drawing["width"] / 2
        half = half if half > 0.05 else 0.05
        if item[0] == "l":
            _, (xa, ya), (xb, yb) = item
            if xa == xb:
                low, high = (ya, yb) if ya < yb else (yb, ya)
                rules.append(Rule(xa - half, low, xa + half, high))
                return True
            if ya == yb:
                low, high = (xa, xb) if xa < xb else (xb, xa)
                rules.append(Rule(low, ya - half, high, ya + half))
                return True
        elif item[0] == "re" and drawing["width"]:
            outlined.append((item[1], half, False))
            return True
    elif sort == "f" and item[0] == "re" and drawing["fill"] == BLACK and drawing["fill_opacity"] == 1:
        x0, y0, x1, y1 = item[1]
        if x1 - x0 > NO_AREA and y1 - y0 > NO_AREA and not (outlined and _is_within(item[1], outlined[-1])):
            rules.append(Rule(x0, y0, x1, y1))
        return True
    return False


def _is_within(box: Box, outlined: Outlined) -> bool:
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
    outlined: list[Outlined],
    covers: list[Cover],
) -> None:
    """Any drawing: its ink is added to `rules`, `blobs` and `outlined`, white boxes to `covers`."""
    sort = drawing["type"]
    stroked = "s" in sort and not is_paper(drawing.get("color"), drawing.get("stroke_opacity"))
    filled = "f" in sort and not is_paper(drawing.get("fill"), drawing.get("fill_opacity"))
    if not stroked and not filled:
        if is_white(drawing) and _boxes(drawing["items"]):
            take_outlined(outlined, rules)
            outlined.clear()
            _cover(drawing, turn, rules, blobs, covers)
        return
    items = drawing["items"] if turn is None else [turned_item(item, turn) for item in drawing["items"]]
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
    """The upright boxes that a path is made of; a page that was turned has them as four lines, one line is a stroke."""
    if len(items) == 1 and items[0][0] == "l":
        _, (xa, ya), (xb, yb) = items[0]
        straight = abs(xa - xb) < NO_AREA or abs(ya - yb) < NO_AREA
        return [(min(xa, xb), min(ya, yb), max(xa, xb), max(ya, yb))] if straight else []
    if 3 <= len(items) <= 5 and all(item[0] == "l" for item in items) and is_closed(items):
        box = polygon_box(items)
        return [box] if box else []
    return [box for item in items if item[0] in ("re", "qu") and (box := upright_box(item))]


def _cover(drawing: dict[str, Any], turn: Any, rules: list[Rule], blobs: list[Blob], covers: list[Cover]) -> None:
    """A white box leaves nothing of what it covers, and a frame of a solid box just painted that is larger."""
    half = (drawing.get("width") or 0.0) / 2 if "s" in drawing["type"] else 0.0
    for box in _boxes(drawing["items"] if turn is None else [turned_item(i, turn) for i in drawing["items"]]):
        white = (box[0] - half, box[1] - half, box[2] + half, box[3] + half)
        recent = rules[-RECENT:]
        del rules[-RECENT:]
        for rule in recent:
            if inside(white, rule.box):
                ring_rules(rule.box, white, rules)
            elif not inside(rule.box, white):
                rules.append(rule)
        stroke = (
            len(drawing["items"]) == 1 and drawing["items"][0][0] == "l" and drawing.get("stroke_opacity", 1.0) == 1
        )
        if stroke or (drawing.get("fill") is not None and drawing.get("fill_opacity", 1.0) == 1):
            rules[:] = [rule for rule in rules if not inside(rule.box, white)]
            blobs[:] = [blob for blob in blobs if not inside(blob.box, white)]
            covers.append((white, drawing["seqno"]))


def _take_stroked(
    items: Any,
    half: float,
    dashed: bool,
    rules: list[Rule],
    blobs: list[Blob],
    outlined: list[Outlined],
) -> None:
    if 3 <= len(items) <= 5 and all(item[0] == "l" for item in items) and is_closed(items):
        box = polygon_box(items)
        if box is not None:
            outlined.append((box, half, dashed))
            return
    others = []
    for item in items if len(items) == 1 else _run_together(items):
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
        elif item[0] != "c" and (box := upright_box(item)) is not None:
            outlined.append((box, half, dashed))
            continue
        others.append(item)
    if others:
        add_blob(others, half, False, blobs)


def _run_together(items: Any) -> list[Any]:
    """A path's items; level or upright strokes that go on in the same line are one, as they look."""
    out: list[Any] = []
    for item in items:
        if out and item[0] == "l" == out[-1][0]:
            _, a, b = out[-1]
            _, c, d = item
            on = a[1] == b[1] == c[1] == d[1] and (b[0] - a[0]) * (d[0] - c[0]) > 0
            on = on or (a[0] == b[0] == c[0] == d[0] and (b[1] - a[1]) * (d[1] - c[1]) > 0)
            if on and b == c:
                out[-1] = ("l", a, d)
                continue
        out.append(item)
    return out


def take_outlined(outlined: list[Outlined], rules: list[Rule]) -> None:
    """Stroked rectangles: solid when also filled or hardly wider than their own line, else a frame's four sides."""
    thin = [_is_thin(box, half) for box, half, _ in outlined]
    frames = [one[0] for one, is_thin in zip(outlined, thin, strict=True) if not is_thin]
    filled = _filled(frames, rules) if frames else set()
    if filled:
        lefts = {box[0] for box in filled}
        rules[:] = [rule for rule in rules if rule.x0 not in lefts or rule.box not in filled]
    for (box, half, dashed), is_thin in zip(outlined, thin, strict=True):
        if is_thin or box in filled:
            x0, y0, x1, y1 = box
            rules.append(Rule(x0 - half, y0 - half, x1 + half, y1 + half, dashed))
        else:
            _sides(box, half, dashed, rules)


def _is_thin(box: Box, half: float) -> bool:
    return box[2] - box[0] <= 2.5 * half or box[3] - box[1] <= 2.5 * half


def _filled(boxes: Sequence[Box], rules: Sequence[Rule]) -> set[Box]:
    """Those of the boxes that are rules too, if not to the last digit."""
    lefts = {box[0] for box in boxes}
    found = {rule.box for rule in rules if rule.x0 in lefts}.intersection(boxes)
    bare = [box for box in boxes if box not in found]
    near: dict[int, list[Rule]] = defaultdict(list)
    for rule in rules if bare else ():
        near[round(rule.x0)].append(rule)
    for box in bare:
        if any(_same(box, rule) for key in (-1, 0, 1) for rule in near.get(round(box[0]) + key, ())):
            found.add(box)
    return found


def _same(box: Box, rule: Rule) -> bool:
    return all(abs(one - other) < 0.2 for one, other in zip(box, rule.box, strict=True))


def _sides(box: Box, half: float, dashed: bool, rules: list[Rule]) -> None:
    x0, y0, x1, y1 = box
    rules.append(Rule(x0 - half, y0 - half, x1 + half, y0 + half, dashed))
    rules.append(Rule(x0 - half, y1 - half, x1 + half, y1 + half, dashed))
    rules.append(Rule(x0 - half, y0 - half, x0 + half, y1 + half, dashed))
    rules.append(Rule(x1 - half, y0 - half, x1 + half, y1 + half, dashed))
