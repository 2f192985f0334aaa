"""What joins the staves of a system at their left ends: a line from the first one's top to the last one's foot."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from collaparte.paper.scans.bits import WORD, Bitmap, from_left, from_right, unpacked
from collaparte.paper.scans.page import Floats
from collaparte.paper.scans.staves import ScannedStave
from collaparte.paper.scans.strokes import LOOKING, TAKEN, THIN, Stroke
from collaparte.paper.sight.strokes import Rule

BEFORE, BEHIND = 1.5, 3.2
"""The line stands so far before a stave's left end at most, in spaces, and so far behind it where a brace or a bracket
was taken for the stave's own ink."""
INKED = 0.92
"""At least this share of its length between two staves is ink, a pixel to its left and right taken for its own."""
WIDEST = 1.2
"""What is wider, in spaces, is a shadow; a line and a bracket that run together are less."""
BEYOND = (1.7, 6.0)
"""So far over its first stave and under its last, from and to, in spaces,"""
BORDER = 0.85
"""what has more ink than this share is a border, no line of a system's; a bar's number may stand there."""
SAME = 0.22
"""Strokes of one barline stand so near to one another on all staves, in spaces from their left ends;"""
AT_LINE = 0.3
"""so near to these a stroke is the line itself;"""
ENDS = 0.35
"""and it reaches so near to a stave's outer lines."""


class Joined(NamedTuple):
    """A system's line at the left, in pixels, and the staves that it joins, which begin at it."""

    line: Rule
    staves: tuple[ScannedStave, ...]


def joined(dark: Bitmap, staves: Sequence[ScannedStave]) -> tuple[list[ScannedStave], list[Joined]]:
    """All staves, those that are joined beginning at the line that joins them, and what is joined."""
    out, systems = list(staves), []
    taken: set[int] = set()
    for first in range(len(staves)):
        if first in taken:
            continue
        group, places = [first], []
        while (found := _next(dark, staves, group[-1])) is not None:
            group.append(found[0])
            places.append(found[1])
        if len(group) == 1 or _is_border(dark, staves[group[0]], staves[group[-1]], places):
            continue
        taken.update(group)
        half = THIN * staves[first].space / 2
        for n, x in zip(group, (places[0], *places), strict=True):
            out[n] = staves[n]._replace(x0=x - half)
        x = sum(places) / len(places)
        line = Rule(x - half, staves[first].top, x + half, staves[group[-1]].bottom)
        systems.append(Joined(line, tuple(out[n] for n in group)))
    return out, systems


def agreed(strokes: Sequence[Stroke], systems: Sequence[Joined]) -> list[Stroke]:
    """Strokes without the lines at the left; those of one place in a system upright over one another, as the barlines
    of its staves are, and taken for one where at least half of its staves say so and more than half show it."""
    told: dict[int, Stroke | None] = {id(one): one for one in strokes}
    for system in systems:
        space, half = system.staves[0].space, len(system.staves) / 2
        for group in _at_one_place(_standing(strokes, system), SAME * space):
            sure = [each for each in group if each.stroke.chance >= TAKEN]
            if abs(group[0].place) < AT_LINE * space:
                told |= {id(each.stroke): None for each in group}
            elif sure and len(_staves(sure)) >= half and len(_staves(group)) > half:
                x = system.staves[0].x0 + sum(each.place for each in sure) / len(sure)
                told |= {id(each.stroke): _placed(each.stroke, x) for each in group}
    return [one for one in told.values() if one is not None]


class _Standing(NamedTuple):
    """A stroke in a system, how far from its line at the left, in pixels, and through which of its staves."""

    place: float
    stroke: Stroke
    staves: list[int]


def _standing(strokes: Sequence[Stroke], system: Joined) -> list[_Standing]:
    """The strokes through a system's staves, from the left; where the page leans its staves' ends do."""
    out = []
    for one in strokes:
        on = [n for n, stave in enumerate(system.staves) if _is_through(one, stave)]
        if on:
            x0 = sum(system.staves[n].x0 for n in on) / len(on)
            out.append(_Standing((one.x0 + one.x1) / 2 - x0, one, on))
    return sorted(out, key=lambda each: each.place)


def _staves(group: Sequence[_Standing]) -> set[int]:
    return {n for each in group for n in each.staves}


def _is_through(stroke: Stroke, stave: ScannedStave) -> bool:
    reach = ENDS * stave.space
    beside = stave.x0 - stave.space < stroke.x0 and stroke.x1 < stave.x1 + stave.space
    return beside and stroke.y0 < stave.top + reach and stroke.y1 > stave.bottom - reach


def _at_one_place(strokes: Sequence[_Standing], reach: float) -> list[list[_Standing]]:
    """Strokes in groups of which none is further than this from its first, from the left."""
    out: list[list[_Standing]] = []
    for each in strokes:
        if out and each.place - out[-1][0].place < reach:
            out[-1].append(each)
        else:
            out.append([each])
    return out


def _placed(stroke: Stroke, x: float) -> Stroke:
    """A stroke about another middle, a barline's."""
    x0 = round(x - (stroke.x1 - stroke.x0) / 2)
    return stroke._replace(x0=x0, x1=x0 + stroke.x1 - stroke.x0, chance=max(stroke.chance, LOOKING))


def _next(dark: Bitmap, staves: Sequence[ScannedStave], number: int) -> tuple[int, float] | None:
    """The stave under one that a line joins to it, and where the line stands between them."""
    upper = staves[number]
    for n in range(number + 1, len(staves)):
        lower = staves[n]
        overlap = min(upper.x1, lower.x1) - max(upper.x0, lower.x0)
        if lower.top > upper.bottom and overlap > 0.5 * (lower.x1 - lower.x0):
            x = _line(dark, upper, lower)
            return (n, x) if x is not None else None
    return None


def _line(dark: Bitmap, upper: ScannedStave, lower: ScannedStave) -> float | None:
    """Where upright ink goes all the way from a stave to the one under it at their left ends; the rightmost, as a
    bracket stands to the left of the line."""
    space = upper.space
    x0 = max(0, int(min(upper.x0, lower.x0) - BEFORE * space))
    x1 = int(max(upper.x0, lower.x0) + BEHIND * space)
    inked = np.flatnonzero(_inked(dark, x0, x1, round(upper.bottom) + 2, round(lower.top) - 1) >= INKED)
    if not len(inked):
        return None
    runs = np.split(inked, np.flatnonzero(np.diff(inked) > 1) + 1)
    return next((x0 + float(run[0] + run[-1] + 1) / 2 for run in reversed(runs) if len(run) < WIDEST * space), None)


def _inked(dark: Bitmap, x0: int, x1: int, y0: int, y1: int) -> Floats:
    """The share of ink in each column of a box, the pixels beside it taken for its own."""
    first, last = x0 // WORD, x1 // WORD + 1
    part = np.ascontiguousarray(dark.bits[max(y0, 0) : y1, first:last])
    if not part.size:
        return np.zeros(0)
    part = part | from_left(part, 1) | from_right(part, 1)
    each = unpacked(part, WORD * part.shape[1])[:, x0 - WORD * first : x1 - WORD * first]
    out: Floats = each.mean(axis=0)
    return out


def _is_border(dark: Bitmap, upper: ScannedStave, lower: ScannedStave, places: Sequence[float]) -> bool:
    """Whether a line runs on over the first stave that it joins, or under the last."""
    near, far = (share * upper.space for share in BEYOND)
    over = _inked(dark, int(places[0]), int(places[0]) + 1, int(upper.top - far), int(upper.top - near))
    under = _inked(dark, int(places[-1]), int(places[-1]) + 1, int(lower.bottom + near), int(lower.bottom + far))
    return any(len(side) > 0 and float(side[0]) > BORDER for side in (over, under))
