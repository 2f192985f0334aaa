"""Frames round words: boxes of four rules, and closed curves (circles, rounded boxes)."""

from collections import defaultdict
from collections.abc import Sequence
from operator import attrgetter
from typing import Any

from msgspec.structs import replace

from collaparte.paper.reading import Box
from collaparte.paper.sight import shapes
from collaparte.paper.sight.heads import between
from collaparte.paper.sight.strokes import OUTLINE, Blob, Glyph, Rule
from collaparte.paper.sight.words import Phrase

HEIGHT = (1.2, 7.0)
"""A frame's height in staff spaces."""
LENGTH = (1.0, 30.0)
CLOSE = 4.0
"""A frame less than so many times as high as a figure is set around it."""
FIGURE = 0.7
"""How high a text face's figures are, in sizes."""
SIDE = 0.2
"""A frame's side lies within so many spaces of its box."""
CRESCENT = 0.5
"""A slur is thinner in its middle than this share of its height."""
CORNERS = 4
"""A stroked box with round corners has so many arcs; its sides are told as rules of their own."""


def find_frames(rules: Sequence[Rule], blobs: Sequence[Blob], space: float) -> list[Box]:
    """The outer boxes of all frames on a page, smallest first."""
    frames = _ruled(rules, space) + _curved(blobs, space)
    frames.sort(key=lambda box: (box[2] - box[0]) * (box[3] - box[1]))
    return frames


def without_sides(rules: Sequence[Rule], frames: Sequence[Box], blobs: Sequence[Blob], space: float) -> Sequence[Rule]:
    """The rules but the upright sides of frames with round corners: they are as tall as letters."""
    boxes = {blob.box for blob in blobs}
    rounded = [frame for frame in frames if frame in boxes]
    if not rounded:
        return rules
    return [
        r
        for r in rules
        if not any(
            y0 < r.y0 and r.y1 < y1 and (abs(r.x0 - x0) < SIDE * space or abs(r.x1 - x1) < SIDE * space)
            for x0, y0, x1, y1 in rounded
        )
    ]


def holding(frames: Sequence[Box], glyphs: Sequence[Glyph]) -> list[Box]:
    """Those frames that have letters or figures inside: a round letter or a coda sign is no frame."""
    letters = sorted([g for g in glyphs if g.kind in ("letter", "digit")], key=attrgetter("x0")) if frames else ()
    return [
        (x0, top, x1, foot)
        for x0, top, x1, foot in frames
        if any(g.x1 < x1 and top < g.y0 and g.y1 < foot for g in between(letters, x0, x1))
    ]


def figures_told(glyphs: Sequence[Glyph], frames: Sequence[Box]) -> list[Glyph]:
    """The glyphs, figures with a frame close around them as letters: marks and bar numbers are set in a text's face.

    Of some faces one figure looks more like a music font's, and "17" would be read in two hands.
    """
    return [
        replace(g, kind="letter", size=(g.y1 - g.y0) / FIGURE if g.font == OUTLINE else g.size)
        if g.kind == "digit" and any(_is_close(f, g) for f in frames)
        else g
        for g in glyphs
    ]


def _is_close(frame: Box, glyph: Glyph) -> bool:
    inside = frame[0] < glyph.x0 and glyph.x1 < frame[2] and frame[1] < glyph.y0 and glyph.y1 < frame[3]
    return inside and frame[3] - frame[1] < CLOSE * (glyph.y1 - glyph.y0)


def is_framed(words: Phrase, frames: Sequence[Box]) -> bool:
    """Whether the words' middle is in one of the frames."""
    x, y = words.middle, (words.y0 + words.y1) / 2
    return bool(frames) and any(x0 <= x <= x1 and top <= y <= foot for x0, top, x1, foot in frames)


def _ruled(rules: Sequence[Rule], space: float) -> list[Box]:
    levels: dict[tuple[int, int], list[Rule]] = defaultdict(list)
    sides: dict[int, list[Rule]] = defaultdict(list)
    thin, shortest, longest = 0.4 * space, LENGTH[0] * space, LENGTH[1] * space
    lowest, highest = HEIGHT[0] * space * 0.8, HEIGHT[1] * space
    for rule in rules:
        width, height = rule.x1 - rule.x0, rule.y1 - rule.y0
        if height < thin:
            if shortest < width < longest:
                levels[round(rule.x0 / space), round(rule.x1 / space)].append(rule)
        elif width < thin and lowest < height < highest:
            sides[round(rule.x0 / space)].append(rule)
    frames: list[Box] = []
    for (left, right), tops in levels.items():
        near = [r for i in (-1, 0, 1) for j in (-1, 0, 1) for r in levels.get((left + i, right + j), ())]
        for top in tops if len(near) > 1 else ():
            below = [
                r
                for r in near
                if HEIGHT[0] * space < r.y0 - top.y0 < HEIGHT[1] * space
                and abs(r.x0 - top.x0) < 0.3 * space
                and abs(r.x1 - top.x1) < 0.3 * space
            ]
            for bottom in sorted(below, key=lambda r: r.y0):
                if _side(sides, top.x0, top.y0, bottom.y1, space) and _side(sides, top.x1, top.y0, bottom.y1, space):
                    frames.append((top.x0, top.y0, top.x1, bottom.y1))
                    break
    return frames


def _side(sides: dict[int, list[Rule]], x: float, y0: float, y1: float, space: float) -> bool:
    at = round(x / space)
    return any(
        abs((r.x0 + r.x1) / 2 - x) < 0.35 * space and abs(r.y0 - y0) < 0.35 * space and abs(r.y1 - y1) < 0.35 * space
        for key in (at - 1, at, at + 1)
        for r in sides.get(key, ())
    )


def _curved(blobs: Sequence[Blob], space: float) -> list[Box]:
    return [
        blob.box
        for blob in blobs
        if HEIGHT[0] * space < blob.y1 - blob.y0 < HEIGHT[1] * space
        and LENGTH[0] * space < blob.x1 - blob.x0 < LENGTH[1] * space
        and _is_closed_outline(blob)
    ]


def _is_closed_outline(blob: Blob) -> bool:
    """A stroked curve, or a filled ring, that touches all four sides of its box near their middles."""
    x0, y0, x1, y1 = blob.box
    if not 2 <= len(blob.items) <= 40:
        return False
    curves = [item for item in blob.items if item[0] == "c"]
    if not 2 <= len(curves) <= 24 or (blob.filled and len(curves) < 8) or _is_slur(curves, y1 - y0):
        return False
    left, right, top, foot = x0 + 0.3 * (x1 - x0), x0 + 0.7 * (x1 - x0), y0 + 0.3 * (y1 - y0), y0 + 0.7 * (y1 - y0)
    if any(left < x < right and top < y < foot for item in blob.items if item[0] in "lc" for x, y in item[1:]):
        return False
    drawn = shapes.contours(blob.items)
    if not drawn and len(curves) != CORNERS:
        return False
    points = [point for ring in drawn or [shapes.points_on(curves)] for point in ring.tolist()]
    if any(left < x < right and top < y < foot for x, y in points):
        return False
    across, down = 0.1 * (x1 - x0), 0.1 * (y1 - y0)
    xs, ys = zip(*points, strict=True)
    return bool(min(xs) < x0 + across and max(xs) > x1 - across and min(ys) < y0 + down and max(ys) > y1 - down)


def _is_slur(curves: Sequence[Any], height: float) -> bool:
    """Whether a shape of two curves is a thin crescent: both bend the same way."""
    if len(curves) != 2:
        return False
    one, other = ((a[1] + 3 * b[1] + 3 * c[1] + d[1]) / 8 for _, a, b, c, d in curves)
    return bool(abs(one - other) < CRESCENT * height)
