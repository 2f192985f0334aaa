"""Strokes on a levelled scan: staff lines taken off, barlines, level lines and blocks as rules."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.page import Dark, Floats
from collaparte.paper.scans.staves import ScannedStave
from collaparte.paper.sight.strokes import Rule

WHOLE = 0.95
"""A barline's ink fills at least this share of its stave's height,"""
TORN = 0.78
"""or this, when nothing else speaks against it."""
WIDEST = 1.4
"""A barline's stroke is at most so many spaces wide."""
BESIDE = 0.4
"""Ink so many spaces beside a stroke belongs to it: a head, a beam, a flag."""
FREE, TOUCHING = 0.25, 0.55
"""A stroke that ink of this height (in spaces) hangs on is a stem; ink of less than the first says nothing."""
HOLE = 0.45
"""White of this height inside ink is the hole of a hollow head."""
FIGURES = 14.0
"""A stroke as wide as a figure, so near, is the meter's."""
LINE = 0.5
"""Ink no taller than this on both sides of a stroke is a line across it: a slur, a hairpin, a pencil's."""
RAGGED = 0.42
"""A barline has no ink along more than this share of its height."""
AT_END = 0.4
"""What hangs on a stem hangs at one of its ends, at most so many spaces away."""
IN_HEAD = 3.3
"""Strokes so near a stave's left end, in spaces, are its clef's, unless dots say that they are a repeat."""
WIDE = 0.4
"""A stroke wider than this is dark in all its columns; a figure is not."""
MERGED = 0.85
"""A stroke wider than this, in spaces, is a thin and a thick one run together."""
THIN, THICK = 0.16, 0.5
"""Widths of barlines in spaces (SMuFL's engraving defaults)."""
THICKER = 0.2
"""A stroke wider than a page's usual one by so many spaces is a thick one."""


def without_lines(dark: Dark, staves: Sequence[ScannedStave], thick: int) -> Dark:
    """The page without its staff lines: where a line is no thicker than a line, it goes."""
    out = dark.copy()
    most = thick + max(1, round(0.35 * thick))
    for stave in staves:
        x0, x1 = max(0, int(stave.x0) - 2), int(stave.x1) + 2
        for y in stave.lines:
            middle = round(y)
            low, high = middle - most - 2, middle + most + 3
            window = dark[low:high, x0:x1]
            runs = _run_through(window, most + 2)
            upright = window & (runs <= most)[None, :] & _of_run(window, most + 2)
            out[low:high, x0:x1] &= ~upright
    return out


def _of_run(window: Dark, middle: int) -> Dark:
    """In each column the pixels that hang together with those within a row of the middle."""
    out = np.zeros_like(window)
    for start in (middle, middle - 1, middle + 1):
        for step in (-1, 1):
            reach = window[start].copy()
            row = start
            while 0 <= row < window.shape[0]:
                reach &= window[row]
                out[row] |= reach
                row += step
    return out


def _run_through(window: Dark, middle: int) -> npt.NDArray[np.intp]:
    out: npt.NDArray[np.intp] = _of_run(window, middle).sum(axis=0)
    return out


class Stroke(NamedTuple):
    """An upright stroke through a stave, in pixels, and how likely it is a barline's."""

    x0: int
    x1: int
    y0: int
    y1: int
    chance: float


def barline_strokes(dark: Dark, bare: Dark, staves: Sequence[ScannedStave]) -> list[Stroke]:
    """Upright strokes that run through a whole stave with no head or beam on them; `bare`: without lines."""
    found: list[Stroke] = []
    for n, stave in enumerate(staves):
        others = [s for m, s in enumerate(staves) if m != n]
        found += _on_stave(dark, bare, stave, others)
    found = _distinct(found)
    return _without_heads(_without_lone_thick(found, staves), bare, staves)


def _without_heads(strokes: list[Stroke], bare: Dark, staves: Sequence[ScannedStave]) -> list[Stroke]:
    """Strokes that are no clef's and no meter figure's at the left of a stave."""
    out = []
    for one in strokes:
        on = [s for s in staves if one.y1 > s.top and one.y0 < s.bottom and s.x0 + 0.6 * s.space < one.x0]
        near = [s for s in on if one.x0 < s.x0 + (IN_HEAD if one.x1 - one.x0 < 0.75 * s.space else FIGURES) * s.space]
        if not any(dots_beside(bare, one, s, 1) is None and dots_beside(bare, one, s, -1) is None for s in near):
            out.append(one)
    return out


def repeat_dots(bare: Dark, strokes: Sequence[Stroke], staves: Sequence[ScannedStave]) -> list[Rule]:
    """The boxes of pairs of dots right before or after double strokes, in pixels."""
    out: list[Rule] = []
    for one in strokes:
        for stave in staves:
            if not (one.y0 < stave.top + stave.space and one.y1 > stave.bottom - stave.space):
                continue
            others = [o for o in strokes if o is not one and _level(o, one) and _gap(o, one) < 0.85 * stave.space]
            if not others and one.x1 - one.x0 < MERGED * stave.space:
                continue
            for side in (-1, 1):
                if any((o.x0 - one.x0) * side > 0 for o in others):
                    continue
                x = dots_beside(bare, one, stave, side)
                if x is not None:
                    half, middle = 0.2 * stave.space, (stave.top + stave.bottom) / 2
                    rows = (middle - 0.5 * stave.space, middle + 0.5 * stave.space)
                    out += [Rule(x - half, y - half, x + half, y + half) for y in rows]
    return out


def dots_beside(bare: Dark, stroke: Stroke, stave: ScannedStave, side: int) -> float | None:
    """The middle of two dots, in the stave's inner spaces, right beside a stroke; None when there are none."""
    space, middle = stave.space, (stave.top + stave.bottom) / 2
    half = max(1, round(0.16 * space))
    edge = stroke.x1 if side > 0 else stroke.x0 - 1
    if not 3 * space < edge < bare.shape[1] - 3 * space:
        return None

    x = edge + side * np.arange(0.25 * space, 1.4 * space, 1.0)
    thin = max(1, int(0.1 * space))
    low, high = int(middle - 1.5 * space) - half - 1, int(middle + 1.5 * space) + half + 2
    left, right = int(x.min() - space) - half, int(x.max() + space) + half + 2
    total = np.zeros((high - low + 1, right - left + 1), dtype=np.int64)
    total[1:, 1:] = bare[low:high, left:right].cumsum(axis=0, dtype=np.int64).cumsum(axis=1)

    def ink(x: Floats, y: float, w: int, h: int) -> Floats:
        """The share of ink in boxes about the x, at one y."""
        x0, y0 = x.astype(int) - w - left, int(y) - h - low
        x1, y1 = x0 + 2 * w + 1, y0 + 2 * h + 1
        out: Floats = (total[y1, x1] - total[y0, x1] - total[y1, x0] + total[y0, x0]) / ((2 * w + 1) * (2 * h + 1))
        return out

    dots = np.minimum(ink(x, middle - 0.5 * space, half, half), ink(x, middle + 0.5 * space, half, half))
    if dots.max() < 0.7:
        return None
    beyond = x + side * 0.52 * space
    white = np.maximum.reduce(
        [
            ink(x, middle, half, thin),
            ink(x, middle - 1.5 * space, half, half),
            ink(x, middle + 1.5 * space, half, half),
            ink(beyond, middle - 0.5 * space, thin, half),
            ink(beyond, middle + 0.5 * space, thin, half),
        ]
    )
    fits = np.where((dots >= 0.7) & (white < 0.35), dots, 0.0)
    return float(x[fits.argmax()]) if fits.max() > 0 else None


def _distinct(found: list[Stroke]) -> list[Stroke]:
    """A stroke through several staves was found in each of them; the tallest is kept."""
    out: list[Stroke] = []
    for one in sorted(found, key=lambda r: r.y0 - r.y1):
        if not any(one.x0 <= r.x1 and r.x0 <= one.x1 and r.y0 <= one.y0 + 2 and one.y1 - 2 <= r.y1 for r in out):
            out.append(one)
    return out


def usual_width(strokes: Sequence[Stroke]) -> float:
    """Most strokes' width: that of a thin barline."""
    return float(np.median([r.x1 - r.x0 for r in strokes])) if strokes else 0.0


def _without_lone_thick(strokes: list[Stroke], staves: Sequence[ScannedStave]) -> list[Stroke]:
    """A thick stroke without a thin one beside it is no barline but a clef's, unless it ends its stave."""
    if not strokes:
        return []
    space = float(np.median([s.space for s in staves]))
    limit = usual_width(strokes) + THICKER * space
    out = []
    for one in strokes:
        if limit < one.x1 - one.x0 < MERGED * space:
            beside = [o for o in strokes if o is not one and _level(o, one) and _gap(o, one) < 0.85 * space]
            ends = any(
                abs(one.x1 - s.x1) < 0.8 * space and s.top - 3 < one.y1 and one.y0 < s.bottom + 3 for s in staves
            )
            if not beside and not ends:
                continue
        out.append(one)
    return out


def _level(one: Stroke, other: Stroke) -> bool:
    return min(one.y1, other.y1) - max(one.y0, other.y0) > 0.7 * min(one.y1 - one.y0, other.y1 - other.y0)


def _gap(one: Stroke, other: Stroke) -> float:
    return max(one.x0 - other.x1, other.x0 - one.x1)


def as_rules(strokes: Sequence[Stroke], staves: Sequence[ScannedStave]) -> list[Rule]:
    """Strokes about their own middles as thin or as thick as barlines are printed: ink spreads or fades on a scan."""
    if not strokes:
        return []
    space = float(np.median([s.space for s in staves]))
    limit = usual_width(strokes) + THICKER * space
    out = []
    for one in strokes:
        middle = (one.x0 + one.x1) / 2
        if one.x1 - one.x0 > MERGED * space:
            # a thin and a thick one that have run together
            out.append(Rule(one.x0, one.y0, one.x0 + THIN * space, one.y1))
            out.append(Rule(one.x1 - THICK * space, one.y0, one.x1, one.y1))
            continue
        half = (THICK if one.x1 - one.x0 > limit else THIN) * space / 2
        out.append(Rule(middle - half, one.y0, middle + half, one.y1))
    return out


def _on_stave(dark: Dark, bare: Dark, stave: ScannedStave, others: Sequence[ScannedStave]) -> list[Stroke]:
    space = stave.space
    top, bottom = round(stave.top), round(stave.bottom) + 1
    x0, x1 = max(3, int(stave.x0 - 0.5 * space)), min(dark.shape[1] - 4, int(stave.x1 + 0.5 * space))
    ground = _filled(dark, bare, stave)
    strokes = _columns(dark, bare, top, bottom, x0, x1, space)
    out = []
    for n, (left, right, cover) in enumerate(strokes):
        before = left - strokes[n - 1][1] if n else 99
        after = strokes[n + 1][0] - right if n + 1 < len(strokes) else 99
        y0, y1 = _ends(dark, left, right, top, bottom)
        whole = Stroke(left, right, y0, y1, 1.0)
        if dots_beside(bare, whole, stave, -1) is not None:
            before = 0
        if dots_beside(bare, whole, stave, 1) is not None:
            after = 0
        hung = _hung(ground, left, right, y0, y1, space, before, after) / space
        ragged = _ragged(bare, left, right, top, bottom, stave, before, after)
        tall = _too_tall(y0, y1, top, bottom, space, others)
        chance = _chance(cover, hung, tall, (right - left) / space) * (1.0 if ragged < RAGGED else 0.4)
        if chance > 0:
            if tall:
                y0, y1 = max(y0, top - int(0.25 * space)), min(y1, bottom + int(0.25 * space))
            out.append(Stroke(left, right, y0, y1, chance))
    return out


def _ragged(
    bare: Dark, left: int, right: int, top: int, bottom: int, stave: ScannedStave, before: int, after: int
) -> float:
    """The share of rows off the stave's lines where ink lies right beside a stroke: a figure's, not a barline's."""
    rows = np.ones(bottom - top, dtype=bool)
    for y in stave.lines:
        at = round(y) - top
        rows[max(0, at - 2) : at + 3] = False
    sides = [bare[top:bottom, x][rows].mean() for x, room in ((left - 3, before), (right + 2, after)) if room > 6]
    return float(max(sides, default=0.0))


def _chance(cover: float, hung: float, tall: bool, width: float) -> float:
    """How likely an upright stroke is a barline: it fills its stave and carries nothing."""
    if cover < TORN or width > WIDEST:
        return 0.0
    filling = min(1.0, (cover - TORN) / (WHOLE - TORN))
    filling = filling if filling > 0.45 else 0.0
    carrying = min(1.0, max(0.0, (hung - FREE) / (TOUCHING - FREE)))
    return (0.4 + 0.6 * filling) * (1 - carrying) * (0.5 if tall and hung > 0.5 * FREE else 0.9 if tall else 1.0)


def _columns(
    dark: Dark, bare: Dark, top: int, bottom: int, x0: int, x1: int, space: float
) -> list[tuple[int, int, float]]:
    """Where columns of a stave's height are dark throughout, leaning a little if need be: from, to, share."""
    height = bottom - top
    best = np.zeros(x1 - x0 + 1)
    whole = np.zeros(x1 - x0 + 1)
    rows = np.arange(height)
    for lean in (0, -1, 1, -2, 2):
        shifts = np.rint(lean * (rows / max(height - 1, 1) - 0.5)).astype(int)
        total = np.zeros(x1 - x0 + 1)
        pair = np.zeros(x1 - x0 + 1)
        for shift in np.unique(shifts):
            mine = dark[top:bottom][shifts == shift]
            here = mine[:, x0 + shift : x1 + 1 + shift]
            total += here.sum(axis=0)
            pair += (here | mine[:, x0 + shift + 1 : x1 + 2 + shift]).sum(axis=0)
        np.maximum(whole, total / height, out=whole)
        np.maximum(best, np.maximum(pair, total) / height, out=best)
    tall = best > TORN
    tall[1:] |= tall[:-1].copy()
    there = np.flatnonzero(tall & (whole > 0.3))
    out = []
    if not len(there):
        return []
    off_lines = bare[top:bottom, x0 : x1 + 1].mean(axis=0)
    for group in np.split(there, np.flatnonzero(np.diff(there) > 1) + 1):
        left, right = int(group[0]), int(group[-1]) + 1
        solid = left + np.flatnonzero(whole[left:right] > 0.5 * whole[left:right].max())
        inked = solid[off_lines[solid] > 0.45 * off_lines[solid].max()]
        if not len(inked):
            continue
        for part in np.split(inked, np.flatnonzero(np.diff(inked) > 1) + 1):
            solidity = float(whole[part[1:-1]].min()) if len(part) > WIDE * space else 1.0
            if solidity > TORN and best[part].max() > TORN:
                out.append((x0 + int(part[0]), x0 + int(part[-1]) + 1, float(best[part].max())))
    return out


def _filled(dark: Dark, bare: Dark, stave: ScannedStave) -> Dark:
    """The page without lines, from two staves' height above the stave to as much below, heads cut by lines healed."""
    space = stave.space
    out = bare.copy()
    for y in stave.lines:
        reach = max(2, round(0.2 * space))
        low, high = round(y) - reach, round(y) + reach + 1
        between = bare[low - 1] & bare[high]
        out[low:high, between] = dark[low:high, between]
    return out


def _hung(ground: Dark, left: int, right: int, y0: int, y1: int, space: float, before: int, after: int) -> float:
    """How tall the ink is that hangs on a stroke, in pixels; thin lines that cross it are left out."""
    low, high = max(0, int(y0 - 1.0 * space)), min(ground.shape[0], int(y1 + 1.0 * space))
    reach = max(4, round(BESIDE * space))
    sides = []
    for edge, way, room in ((left, -1, before), (right - 1, 1, after)):
        columns = [edge + way * k for k in range(2, min(reach, room - 2) + 1)]
        sides.append([ground[low:high, c] for c in columns if 0 <= c < ground.shape[1]])
    inked = np.flatnonzero(ground[y0:y1, left:right].any(axis=1))
    ends = (y0 - low + int(inked[0]), y0 - low + int(inked[-1])) if len(inked) else (y0 - low, y1 - low)
    runs = [_runs_of(side[0]) if side else [] for side in sides]
    most, near = LINE * space, 0.35 * space
    tallest = 0.0
    for n, (side, other) in enumerate(zip(sides, (runs[1], runs[0]), strict=True)):
        kept = [
            r
            for r in runs[n]
            if r[1] - r[0] > most
            or not any(o[0] < r[1] + near and o[1] > r[0] - near and o[1] - o[0] <= most for o in other)
        ]
        for column in side:
            kept = [r for r in _runs_of(column) if any(r[0] <= k[1] and r[1] >= k[0] for k in kept)]
            tallest = max(tallest, _tallest(kept, HOLE * space, ends, AT_END * space))
            if not kept:
                break
    return tallest


def _runs_of(column: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    padded = np.zeros(len(column) + 2, dtype=np.bool_)
    padded[1:-1] = column
    edges = np.flatnonzero(padded[1:] != padded[:-1]).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))


def _tallest(runs: Sequence[tuple[int, int]], hole: float, ends: tuple[int, int], near: float) -> float:
    """The tallest run of ink at one of the stroke's ends, over white of at most `hole`."""
    best, begin, end = 0.0, 0, 0
    for n, (y0, y1) in enumerate(runs):
        if n == 0 or y0 - end > hole:
            begin = y0
        end = y1
        if any(begin - near < at < end + near for at in ends):
            best = max(best, float(end - begin))
    return best


def _ends(dark: Dark, left: int, right: int, top: int, bottom: int) -> tuple[int, int]:
    """How far a stroke runs on above and below its stave, over holes of two pixels."""
    thin = right - left < 3
    shares = dark[:, left - 1 : right + 1] if thin else dark[:, left:right]
    column: list[bool] = (shares.mean(axis=1) > (0.0 if thin else 0.4)).tolist()
    y0, y1 = top, bottom
    while y0 > 2 and any(column[y0 - 3 : y0]):
        y0 -= 1
    while y1 < len(column) - 3 and any(column[y1 : y1 + 3]):
        y1 += 1
    while y0 < top and not column[y0]:
        y0 += 1
    while y1 > bottom and not column[y1 - 1]:
        y1 -= 1
    return y0, y1


def _too_tall(y0: int, y1: int, top: int, bottom: int, space: float, others: Sequence[ScannedStave]) -> bool:
    """Whether a stroke runs over its stave's edge without ending at another stave's."""
    reach = 0.35 * space
    above = y0 < top - reach and not any(abs(y0 - s.top) <= 1.5 * reach for s in others)
    below = y1 > bottom + reach and not any(abs(y1 - s.bottom) <= 1.5 * reach for s in others)
    return above or below
