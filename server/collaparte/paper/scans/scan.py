"""A scanned page as ink: staves, strokes and signs as if they had been drawn, on the page set straight."""

from typing import NamedTuple

import pymupdf

from collaparte.paper.scans import levels as scan_levels
from collaparte.paper.scans import strokes as scan_strokes
from collaparte.paper.scans.joined import agreed, joined
from collaparte.paper.scans.lying import on_head
from collaparte.paper.scans.page import Bent
from collaparte.paper.scans.pencil import Pencil
from collaparte.paper.scans.shapes import find_shapes
from collaparte.paper.scans.straight import set_straight
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import OUTLINE, Glyph, PageInk, Rule

PICTURE = 0.4
"""A page that pictures cover by more than this share is looked at as a scan."""


class Scanned(NamedTuple):
    """A scanned page's ink in points of the straightened page, and the way back."""

    ink: PageInk
    bent: Bent
    staves: list[StaveLines]
    strokes: list[tuple[Rule, float]]
    """All upright strokes through staves, and how likely each is a barline."""
    on_head: bool
    """Whether the page lies on its head: its staves end more alike than they begin."""


def scanned(page: pymupdf.Page, ink: PageInk) -> Scanned | None:
    """What a picture on the page shows, when it shows staves; `ink` is what is drawn over it."""
    straight = set_straight(page)
    if straight is None:
        return None
    dark, bare, bent, staves, thick, pitch, grey = straight
    staves, systems = joined(dark, staves)
    scale = bent.scale
    beside = [scan_strokes.Dots(bare, stave) for stave in staves]
    pencil = Pencil(grey, bare, bent)
    candidates = agreed(scan_strokes.barline_strokes(dark, bare, staves, beside, pencil), systems)
    uprights = [s for s in candidates if s.chance >= 0.5]
    strokes = scan_strokes.as_rules(uprights, staves) + [system.line for system in systems]
    dots = scan_strokes.repeat_dots(uprights, beside)
    levels = scan_levels.level_rules(bare, staves, pitch)
    glyphs, frames = find_shapes(bare, staves, strokes, levels, scale)
    for dot in (_scaled(d, scale) for d in dots):
        glyphs.append(Glyph(*dot.box, dot.x0, dot.y1, 4 * pitch * scale, "dot", "", OUTLINE))
    for bar in (_scaled(r, scale) for r in scan_levels.long_rests(levels, staves)):
        glyphs.append(Glyph(*bar.box, bar.x0, bar.y1, 4 * pitch * scale, "h-bar", "", OUTLINE))
    rules = strokes + levels + frames
    points = [_scaled(r, scale) for r in rules]
    weighed = [(_scaled(Rule(s.x0, s.y0, s.x1, s.y1), scale), float(s.chance)) for s in candidates]
    lines = [s.in_points(scale, thick) for s in staves]
    return Scanned(
        PageInk(ink.width, ink.height, points, [], glyphs, ink.picture),
        bent,
        lines,
        weighed,
        on_head(bare, staves, systems),
    )


def _scaled(rule: Rule, scale: float) -> Rule:
    x0, y0, x1, y1 = (float(v) * scale for v in rule.box)
    return Rule(x0, y0, x1, y1)
