"""Level lines on a levelled scan, as rules: brackets and frames between the staves, the blocks of rests on them."""

from collections.abc import Sequence

import numpy as np

from collaparte.paper.scans.bits import WORD, Bitmap, Places, runs
from collaparte.paper.scans.parts import connected_runs
from collaparte.paper.scans.staves import ScannedStave
from collaparte.paper.sight.strokes import Rule

BLOCK = 0.35
"""A level bar thicker than this, in spaces, is a block and no line."""
SLANTING = 5.0
"""A level line longer than this may be taller than its thickness: some tilt is left."""
LONG = 2.6
"""A block longer than this is no whole rest's (about 1.2 spaces) but stands for many bars."""
CLEAN, CROSSED, CROSSED_LONG = 0.06, 0.4, 4.0
"""Over and under a rest's block hardly the first share is ink; the second where pencil crosses one that is longer than
the third, in spaces: a beam has stems at its ends."""


def level_rules(bare: Bitmap, staves: Sequence[ScannedStave], space: float) -> list[Rule]:
    """Level lines between the staves (brackets, frames) and thick bars on them (rests), in pixels."""
    length = max(6, round(1.2 * space))
    pitch = WORD * bare.bits.shape[1]
    starts, ends = closed(*runs(bare.bits), pitch)
    long = ends - starts >= length
    parts = connected_runs(starts[long], ends[long], bare.shape, pitch)
    width, height = parts.x1 - parts.x0, parts.y1 - parts.y0
    middle = (parts.y0 + parts.y1) / 2
    on = np.zeros(len(parts), dtype=np.bool_)
    for stave in staves:
        on |= (stave.top - 0.6 * space < middle) & (middle < stave.bottom + 0.6 * space)
    block = on & (BLOCK * space < height) & (height < 1.6 * space) & (width > 1.6 * space)
    block &= parts.area > 0.75 * width * height
    line = ~on & (height < np.where(width < SLANTING * space, 0.45, 0.65) * space)
    out = []
    for n in np.flatnonzero(block | line):
        box = int(parts.x0[n]), int(parts.y0[n]), int(parts.x1[n]), int(parts.y1[n])
        if line[n] or any(_is_rest(bare, box, s) for s in staves):
            out.append(Rule(*box))
    return [_thin(r, space, staves) for r in _chained(out, space)]


def closed(starts: Places, ends: Places, pitch: int) -> tuple[Places, Places]:
    """Level runs with white of a pixel or two between them closed; beside a run of one pixel only the half of two."""
    gap = starts[1:] - ends[:-1]
    gap[starts[1:] // pitch != starts[:-1] // pitch] = pitch
    broad = ends - starts > 1
    before, after = (gap == 2) & broad[:-1], (gap == 2) & broad[1:]
    apart = ~((gap == 1) | (before & after))
    ends, starts = ends + np.append(before, False), starts - np.append(False, after)
    return starts[np.append(True, apart)], ends[np.append(apart, True)]


def _thin(rule: Rule, space: float, staves: Sequence[ScannedStave]) -> Rule:
    """A line as thick as lines are: ink spreads, and what tilt is left makes it seem thicker. A rest's block stays."""
    middle = (rule.y0 + rule.y1) / 2
    if rule.y1 - rule.y0 > BLOCK * space and any(s.top - 0.6 * space < middle < s.bottom + 0.6 * space for s in staves):
        return rule
    half = min(rule.y1 - rule.y0, 0.2 * space) / 2
    return Rule(rule.x0, middle - half, rule.x1, middle + half)


def _is_rest(bare: Bitmap, bar: tuple[int, int, int, int], stave: ScannedStave) -> bool:
    """Whether a level bar is a rest's: on the middle line, white over and under it, its ends no taller than such."""
    x0, y0, x1, y1 = bar
    space, middle = stave.space, (stave.top + stave.bottom) / 2
    if abs((y0 + y1) / 2 - middle) > 0.6 * space or x1 < stave.x0 or x0 > stave.x1:
        return False
    inner = slice(x0 + int(0.5 * space), max(x1 - int(0.5 * space), x0 + int(0.5 * space) + 1))
    over = bare.rows(int(middle - 1.9 * space), y0 - 2)[:, inner]
    under = bare.rows(y1 + 2, int(middle + 1.9 * space))[:, inner]
    ends = (
        slice(max(0, x0 - int(0.4 * space)), x0 + int(0.5 * space)),
        slice(x1 - int(0.5 * space), x1 + int(0.4 * space)),
    )
    beyond = (
        bare.rows(int(middle - 2.6 * space), int(middle - 1.5 * space)),
        bare.rows(int(middle + 1.5 * space), int(middle + 2.6 * space)),
    )
    tall = max(float(rows[:, end].any(axis=1).mean()) for rows in beyond for end in ends)
    inked = max(float(over.mean()), float(under.mean()))
    return inked < (CROSSED if x1 - x0 > CROSSED_LONG * space else CLEAN) and tall < 0.5


def long_rests(levels: Sequence[Rule], staves: Sequence[ScannedStave]) -> list[Rule]:
    """The level bars that are rests of many bars: thick, on a stave, and longer than a whole rest's block."""
    return [
        r
        for r in levels
        if r.y1 - r.y0 > BLOCK * staves[0].space
        and any(s.top < (r.y0 + r.y1) / 2 < s.bottom and r.x1 - r.x0 > LONG * s.space for s in staves)
    ]


def rest_room(bar: Rule, space: float) -> Rule:
    """A rest's bar with its upright ends."""
    return Rule(bar.x0 - 0.35 * space, bar.y0 - 0.9 * space, bar.x1 + 0.35 * space, bar.y1 + 0.9 * space)


def _chained(rules: list[Rule], space: float) -> list[Rule]:
    """Lines in one row with hardly a gap between are one line: tilt that is left makes steps of a pixel."""
    ended: list[Rule] = []
    going: list[Rule] = []
    for rule in sorted(rules, key=lambda r: r.x0):
        near = [last for last in going if rule.x0 - last.x1 < 0.5 * space]
        if len(near) < len(going):
            ended += [last for last in going if rule.x0 - last.x1 >= 0.5 * space]
            going = near
        for n, last in enumerate(going):
            level = abs((last.y0 + last.y1) / 2 - (rule.y0 + rule.y1) / 2) < 0.3 * space
            if level and -0.3 * space < rule.x0 - last.x1 and last.y1 - last.y0 < BLOCK * space:
                going[n] = Rule(last.x0, min(last.y0, rule.y0), max(last.x1, rule.x1), max(last.y1, rule.y1))
                break
        else:
            going.append(rule)
    return ended + going
