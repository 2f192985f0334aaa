"""What is stamped over a page ("Perusal copy"), in large letters, pale or slanting, that lie over notes; and lines of
type up its sides."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from collaparte.paper.cutting.ink import Glyph, Mark, Page, Shape
from collaparte.paper.cutting.items import union
from collaparte.paper.reading import System

PALE = 0.5
"""How light such letters are at least; 1 is white."""
LARGE = 5.0
"""Their em is larger than so many spaces; titles are as large, but black and level."""
SLANTED = 0.2
"""The rise of a line of type that is not level, nor upright, by its run."""
DRAWN = 2.0
"""Most pale letters that are drawn as outlines are larger than so many spaces; cues in grey are not. Black ones are
left where they are: on a slanting line of them may stand rests as well."""
SEGMENTS = 6
"""It has so many lines at least; a box has four."""
ASIDE, NARROW, A_LINE, NEXT = 1.0, 2.5, 8, 2.0
"""A line of type up a page's side stands so far off all staves, is no wider (spaces), and has so many letters, each so
near to the next by their heights."""


def without_stamps(page: Page, systems: Sequence[System]) -> tuple[Page, bool]:
    """The page without what is stamped over its music, and whether there was any."""
    space = max((system.space for system in systems), default=0.0)
    stamped = _stamped(page, space) if space else set()
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


def _stamped(page: Page, space: float) -> set[int]:
    out = {n for n, mark in enumerate(page.ink) if isinstance(mark, Glyph) and _is_stamped(mark, page, space)}
    pale: dict[tuple[float, ...], dict[int, Shape]] = defaultdict(dict)
    for n, mark in enumerate(page.ink):
        if isinstance(mark, Shape) and mark.width is None and _is_pale(mark) and _lines(mark) > 1:
            pale[mark.colour][n] = mark
    for alike in pale.values():
        large = [mark for mark in alike.values() if _is_drawn(mark, DRAWN * space)]
        out.update(alike if 2 * len(large) > len(alike) else ())
    return out


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
