"""What is stamped over a page ("Perusal copy"), in large letters, pale or slanting, that lie over notes; and lines of
type up its sides."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from collaparte.paper.cutting.ink import Glyph, Mark, Page, Shape
from collaparte.paper.cutting.items import inside, union
from collaparte.paper.reading import Box, System

PALE = 0.5
"""How light such letters are at least; 1 is white."""
LARGE = 5.0
"""Their em is larger than so many spaces; titles are as large, but black and level."""
SLANTED = 0.2
"""The rise of a line of type that is not level, nor upright, by its run."""
DRAWN = 2.0
"""One of the pale letters that are drawn as outlines is larger than so many spaces."""
TURNED, SEGMENTS, SOME, OFF = 3.0, 6, 6, 3.0
"""Black outlines so large, in spaces, of so many lines at least, are letters that lean where so many have their middles
on one slanting line, or no farther off it."""
HEAD, ACROSS = 3.0, 16.0
"""Signs of a line's head reach so far over their stave, and those of a change, a key's and a meter's, take less room
across than stamped words do, in spaces."""
ASIDE, NARROW, A_LINE, NEXT = 1.0, 2.5, 8, 2.0
"""A line of type up a page's side stands so far off all staves, is no wider (spaces), and has so many letters, each so
near to the next by their heights."""


def without_stamps(page: Page, systems: Sequence[System]) -> tuple[Page, bool]:
    """The page without what is stamped over its music, and whether there was any."""
    space = max((system.space for system in systems), default=0.0)
    heads = [
        (system.bbox[0], stave.top - HEAD * space, system.head_x1, stave.bottom + HEAD * space)
        for system in systems
        for stave in system.staves
    ]
    stamped = _stamped(page, space, heads) if space else set()
    kept = [mark for n, mark in enumerate(page.ink) if n not in stamped]
    return replace(page, ink=kept), bool(stamped)


def without_sides(page: Page, systems: Sequence[System]) -> tuple[Page, bool]:
    """The page without the lines of type up its sides, and whether there were any."""
    staves = [stave for system in systems for stave in system.staves]
    space = max((system.space for system in systems), default=0.0)
    if not staves:
        return page, False
    left = min(stave.x0 for stave in staves) - ASIDE * space
    right = max(stave.x1 for stave in staves) + ASIDE * space
    aside: set[int] = set()
    before = [n for n, mark in enumerate(page.ink) if mark.box[2] < left]
    behind = [n for n, mark in enumerate(page.ink) if mark.box[0] > right]
    for marks in (before, behind):
        marks.sort(key=lambda n: page.ink[n].box[1])
        for line in _columns(marks, page.ink):
            box = union(page.ink[n].box for n in line)
            if len(line) >= A_LINE and box[2] - box[0] < NARROW * space:
                aside.update(line)
    return replace(page, ink=[mark for n, mark in enumerate(page.ink) if n not in aside]), bool(aside)


def _columns(marks: Sequence[int], ink: Sequence[Mark]) -> list[list[int]]:
    """Marks that stand close over one another, from the top."""
    out: list[list[int]] = []
    for n in marks:
        x0, y0, x1, y1 = ink[n].box
        for line in out:
            a0, _, a1, b1 = ink[line[-1]].box
            if x0 < a1 and a0 < x1 and y0 - b1 < NEXT * max(x1 - x0, y1 - y0):
                line.append(n)
                break
        else:
            out.append([n])
    return out


def _stamped(page: Page, space: float, heads: Sequence[Box]) -> set[int]:
    out = {n for n, mark in enumerate(page.ink) if isinstance(mark, Glyph) and _is_stamped(mark, page, space)}
    shapes = {n: mark for n, mark in enumerate(page.ink) if isinstance(mark, Shape) and mark.width is None}
    pale = {mark.colour for mark in shapes.values() if _is_pale(mark) and _is_drawn(mark, DRAWN * space)}
    out |= {n for n, mark in shapes.items() if mark.colour in pale and _lines(mark) > 1}
    large = {n: mark.box for n, mark in shapes.items() if _is_drawn(mark, TURNED * space)}
    return out | _leaning({n: box for n, box in large.items() if not any(inside(box, head) for head in heads)}, space)


def _leaning(boxes: dict[int, Box], space: float) -> set[int]:
    """Of large shapes, those that stand on one line that rises or falls: none of a title's, whose line is level."""
    large = {n: b for n, b in boxes.items() if min(b[2] - b[0], b[3] - b[1]) > 0.5 * TURNED * space}
    middles = {n: ((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for n, b in large.items()}
    best: set[int] = set()
    for (x0, y0), (x1, y1) in combinations(middles.values(), 2):
        rise = (y1 - y0) / (x1 - x0) if abs(x1 - x0) > space else 0.0
        if SLANTED < abs(rise) < 1 / SLANTED:
            on = {n for n, (x, y) in middles.items() if abs(y - y0 - rise * (x - x0)) < OFF * space}
            wide = max(middles[n][0] for n in on) - min(middles[n][0] for n in on)
            best = max(best, on, key=len) if wide > ACROSS * space else best
    return best if len(best) >= SOME else set()


def _is_pale(mark: Shape) -> bool:
    return sum(mark.colour) > PALE * len(mark.colour)


def _is_drawn(mark: Shape, large: float) -> bool:
    """A letter: large both ways, and no box."""
    x0, y0, x1, y1 = mark.box
    return max(x1 - x0, y1 - y0) > large and min(x1 - x0, y1 - y0) > 0.2 * large and _lines(mark) >= SEGMENTS


def _lines(mark: Shape) -> int:
    return sum(len(sub.segments) for sub in mark.path)


def _is_stamped(glyph: Glyph, page: Page, space: float) -> bool:
    a, b, c, d, _, _ = glyph.m
    if page.fonts[glyph.font].music or max(map(abs, (a, b, c, d))) < LARGE * space:
        return False
    pale = sum(glyph.colour) > PALE * len(glyph.colour)
    return pale or min(abs(a), abs(b)) > SLANTED * max(abs(a), abs(b))
