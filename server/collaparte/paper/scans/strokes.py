"""Upright strokes on a levelled scan: barlines and the dots of repeats, as rules."""

import math
from bisect import bisect_left
from collections.abc import Sequence
from statistics import median
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans import beside as scan_beside
from collaparte.paper.scans import hanging
from collaparte.paper.scans.bits import Bitmap
from collaparte.paper.scans.page import Floats
from collaparte.paper.scans.pencil import Pencil
from collaparte.paper.scans.staves import ScannedStave
from collaparte.paper.scans.uprights import TORN, through
from collaparte.paper.sight.strokes import Rule

WHOLE = 0.95
"""A barline's ink fills at least this share of its stave's height, or as much as all uprights do when nothing else
speaks against it."""
WIDEST = 1.4
"""A barline's stroke is at most so many spaces wide."""
FREE, TOUCHING, SATURATED = 0.25, 0.55, 0.6
"""A stroke that ink of this height (in spaces) hangs on is a stem; ink of less than the first says nothing, and of more
than the last no more."""
FIGURE, FIGURES = 0.75, 14.0
"""A stroke as wide as a figure, or as thick as a barline's thick one without its thin one, is a meter's so near."""
RAGGED = 0.42
"""A barline has no ink along more than this share of its height."""
HEADLESS = 0.05
"""Beside a whole stroke that no head hangs on there is ink along less than this share of its stave;"""
AT_EDGE = 0.25
"""an end of it so near to the stave's, in spaces, is a barline's."""
CROSSED = (0.0, 0.7, 0.95)
"""How likely it is a barline at least, with none, one and both of its ends there;"""
AMONG = 0.2
"""no more than this where other strokes are so near that its sides are not seen, and no less where it ends at its
stave's edges and what hangs on it is"""
HEAD = 0.95
"""less tall, in spaces, than a head."""
IN_HEAD = 3.3
"""Strokes so near a stave's left end, in spaces, are its clef's, unless dots say that they are a repeat."""
DOTTED = (0.7, 0.35)
"""Where a repeat's dots are, at least the first share of their height is ink, and of what is round them less than the
second;"""
FAINT = (0.5, 0.25)
"""beside two strokes, or a thick one, less ink and more white will do (628 of 647 dots; none of 1,122 sides)."""
MERGED = 0.85
"""A stroke wider than this, in spaces, is a thin and a thick one run together."""
THIN, THICK = 0.16, 0.5
"""Widths of barlines in spaces (SMuFL's engraving defaults)."""
TAKEN = 0.5
"""A stroke at least so likely is a barline."""
LOOKING, UNLIKE, LOOKS_NOT = 0.6, 0.4, 0.1
"""How likely one is that is a barline by its looks alone, and one by its measures alone that hardly looks like one."""
CROSSED_LOOKS = 0.015
"""A whole stroke with only pencil beside it is a barline unless it looks so little like one (20 of 21; 20 of the 25
barlines that were missed on 64 pages that are no two-level scans)."""
HIDDEN = 0.4
"""How likely a whole stroke is one that hardly looks like one and that something hangs on."""
SNAPPED = 0.6
"""A barline ends at its stave's outer line, not so many spaces beyond or short of it: dust touches it, it is torn."""
THICKER = 0.2
"""A stroke wider than a page's usual one by so many spaces is a thick one."""
THICK_BESIDE = 0.15
"""A repeat's thick stroke is wider than its thin one or the page's usual one by more, in spaces: of 549 on 50 damaged
pages by 0.27 or more, of 37 double barlines with a natural behind them none by more than 0.07."""


class Stroke(NamedTuple):
    """An upright stroke through a stave, in pixels, and how likely it is a barline's."""

    x0: int
    x1: int
    y0: int
    y1: int
    chance: float


class Dots:
    """Where beside strokes two dots stand in a stave's inner spaces, a repeat's."""

    def __init__(self, bare: Bitmap, stave: ScannedStave) -> None:
        self.stave = stave
        space, middle = stave.space, (stave.top + stave.bottom) / 2
        half, thin = max(1, round(0.16 * space)), max(1, int(0.1 * space))
        inner = [_ink_along(bare, middle + step * space, half) for step in (-0.5, 0.5)]
        outer = [_ink_along(bare, middle + step * space, half) for step in (-1.5, 1.5)]
        ink = np.stack((*inner, *outer, _ink_along(bare, middle, thin)))
        near = _within(ink, half)
        self._dots = near[:2].min(axis=0)
        self._around = near[2:].max(axis=0)
        dotted = self._told(self._dots, self._around, DOTTED)
        faint = dotted | self._told(self._dots, self._around, FAINT)
        self._at: tuple[list[int], list[int]] = np.flatnonzero(dotted).tolist(), np.flatnonzero(faint).tolist()
        self._beyond = _within(ink[:2], thin).max(axis=0)

    def beside(self, stroke: Stroke, side: int, *, faint: bool = False) -> float | None:
        """The middle of two dots right beside a stroke, at its right (1) or left (-1); None when there are none.

        `faint`: less ink will do.
        """
        space = self.stave.space
        edge = stroke.x1 if side > 0 else stroke.x0 - 1
        if not 3 * space < edge < len(self._dots) - 3 * space:
            return None
        low, high = sorted((edge + side * 0.25 * space, edge + side * 1.4 * space))
        may_be = self._at[faint]
        if bisect_left(may_be, int(low)) == bisect_left(may_be, int(high) + 1):
            return None
        x = edge + side * np.arange(0.25 * space, 1.4 * space, 1.0)
        at = x.astype(np.intp)
        dots = self._dots[at]
        white = np.maximum(self._around[at], self._beyond[(x + side * 0.52 * space).astype(np.intp)])
        told = self._told(dots, white, DOTTED)
        if faint:
            told |= self._told(dots, white, FAINT)
        fits = np.where(told, dots, 0.0)
        return float(x[fits.argmax()]) if fits.max() > 0 else None

    @staticmethod
    def _told(dots: Floats, white: Floats, limits: tuple[float, float]) -> npt.NDArray[np.bool_]:
        """Where there is enough ink for two dots, and little enough in what is white round them."""
        told: npt.NDArray[np.bool_] = (dots >= limits[0]) & (white < limits[1])
        return told


def _ink_along(bare: Bitmap, y: float, half: int) -> Floats:
    """How much of each column is ink, of the rows about one."""
    out: Floats = bare.rows(int(y) - half, int(y) + half + 1).sum(axis=0, dtype=np.uint16) / (2 * half + 1)
    return out


def _within(shares: Floats, half: int) -> Floats:
    """The mean over the columns about each, for several rows."""
    many, width = shares.shape
    sums = np.zeros((many, width + 2 * half + 1))
    inner = np.cumsum(shares, axis=1, out=sums[:, half + 1 : half + 1 + width])
    sums[:, half + 1 + width :] = inner[:, -1:]
    out: Floats = (sums[:, 2 * half + 1 :] - sums[:, : -2 * half - 1]) / (2 * half + 1)
    return out


def barline_strokes(
    dark: Bitmap, bare: Bitmap, staves: Sequence[ScannedStave], dots: Sequence[Dots], pencil: Pencil
) -> list[Stroke]:
    """Upright strokes that run through a whole stave with no head or beam on them; `bare`: without lines."""
    found: list[Stroke] = []
    for n, (stave, beside) in enumerate(zip(staves, dots, strict=True)):
        others = [s for m, s in enumerate(staves) if m != n]
        found += _on_stave(dark, bare, stave, others, beside, pencil)
    found = _distinct(found)
    return _without_heads(_without_lone_thick(found, staves), dots)


def _without_heads(strokes: list[Stroke], dots: Sequence[Dots]) -> list[Stroke]:
    """Strokes that are no clef's and no meter figure's at the left of a stave."""
    usual = usual_width(strokes)
    out = []
    for one in strokes:
        on = [d for d in dots if one.y1 > d.stave.top and one.y0 < d.stave.bottom]
        near = []
        for d in on:
            space, x0 = d.stave.space, d.stave.x0
            if not x0 + 0.6 * space < one.x0 < x0 + FIGURES * space:
                continue
            most = min(usual + THICKER * space, FIGURE * space)
            thin = any(
                o.x1 - o.x0 <= most and o is not one and _level(o, one) and _gap(o, one) < 0.85 * space for o in strokes
            )
            figure = one.x1 - one.x0 >= FIGURE * space or (one.x1 - one.x0 > most and not thin)
            if one.x0 < x0 + (FIGURES if figure else IN_HEAD) * space:
                near.append(d)
        if not any(d.beside(one, 1) is None and d.beside(one, -1) is None for d in near):
            out.append(one)
    return out


def repeat_dots(strokes: Sequence[Stroke], dots: Sequence[Dots]) -> list[Rule]:
    """The boxes of pairs of dots right before or after double strokes of which one is thick, in pixels."""
    out: list[Rule] = []
    usual = usual_width(strokes)
    for one in strokes:
        for found in dots:
            stave = found.stave
            if not (one.y0 < stave.top + stave.space and one.y1 > stave.bottom - stave.space):
                continue
            dotted = [(side, x) for side in (-1, 1) if (x := found.beside(one, side, faint=True)) is not None]
            if not dotted:
                continue
            others = [o for o in strokes if o is not one and _level(o, one) and _gap(o, one) < 0.85 * stave.space]
            wide = [o.x1 - o.x0 for o in (one, *others)]
            alone = not others and wide[0] < MERGED * stave.space
            # Behind a double barline a natural on the middle line has its corners where a repeat's dots would be.
            if alone or (others and max(wide) - min(*wide, usual) < THICK_BESIDE * stave.space):
                continue
            half, middle = 0.2 * stave.space, (stave.top + stave.bottom) / 2
            rows = (middle - 0.5 * stave.space, middle + 0.5 * stave.space)
            for side, x in dotted:
                if not any((o.x0 - one.x0) * side > 0 for o in others):
                    out += [Rule(x - half, y - half, x + half, y + half) for y in rows]
    return out


def _distinct(found: list[Stroke]) -> list[Stroke]:
    """A stroke through several staves was found in each of them; the tallest is kept, of those that one took first."""
    out: list[Stroke] = []
    for one in sorted(found, key=lambda r: (r.chance < TAKEN, r.y0 - r.y1)):
        if not any(one.x0 <= r.x1 and r.x0 <= one.x1 and r.y0 <= one.y0 + 2 and one.y1 - 2 <= r.y1 for r in out):
            out.append(one)
    return out


def usual_width(strokes: Sequence[Stroke]) -> float:
    """Most strokes' width: that of a thin barline."""
    return float(median(r.x1 - r.x0 for r in strokes)) if strokes else 0.0


def _without_lone_thick(strokes: list[Stroke], staves: Sequence[ScannedStave]) -> list[Stroke]:
    """A thick stroke without another beside it is hardly a barline but a clef's, unless it ends its stave."""
    if not strokes:
        return []
    space = median(s.space for s in staves)
    limit = usual_width(strokes) + THICKER * space
    out = []
    for one in strokes:
        if limit < one.x1 - one.x0 < MERGED * space:
            beside = [o for o in strokes if o is not one and _level(o, one) and _gap(o, one) < 0.85 * space]
            ends = any(
                abs(one.x1 - s.x1) < 0.8 * space and s.top - 3 < one.y1 and one.y0 < s.bottom + 3 for s in staves
            )
            if not beside and not ends:
                out.append(one._replace(chance=min(one.chance, AMONG)))
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
    space = median(s.space for s in staves)
    limit = usual_width(strokes) + THICKER * space
    tops, bottoms = [s.top for s in staves], [s.bottom for s in staves]
    out = []
    for one in strokes:
        middle = (one.x0 + one.x1) / 2
        one = one._replace(y0=_snapped(one.y0, tops, space), y1=_snapped(one.y1, bottoms, space))
        if one.x1 - one.x0 > MERGED * space:
            # a thin and a thick one that have run together
            out.append(Rule(one.x0, one.y0, one.x0 + THIN * space, one.y1))
            out.append(Rule(one.x1 - THICK * space, one.y0, one.x1, one.y1))
            continue
        half = (THICK if one.x1 - one.x0 > limit else THIN) * space / 2
        out.append(Rule(middle - half, one.y0, middle + half, one.y1))
    return out


def _snapped(end: int, lines: Sequence[float], space: float) -> int:
    """The outer line that a stroke ends at; where it ends when there is none."""
    off, nearest = min((abs(y - end), y) for y in lines)
    return round(nearest) if off < SNAPPED * space else end


def _on_stave(
    dark: Bitmap, bare: Bitmap, stave: ScannedStave, others: Sequence[ScannedStave], dots: Dots, pencil: Pencil
) -> list[Stroke]:
    space = stave.space
    top, bottom = round(stave.top), round(stave.bottom) + 1
    strokes = through(dark, bare, stave)
    if not strokes:
        return []
    ends = [hanging.ends(dark, left, right, top, bottom) for left, right, _ in strokes]
    low = max(0, min(y0 for y0, _ in ends) - math.ceil(space))
    ground = hanging.healed(dark, bare, low, max(y1 for _, y1 in ends) + math.ceil(space), (stave, *others))
    ragged = _ragged(bare, top, bottom, stave)
    looks = scan_beside.likely(
        scan_beside.pictures(bare, [(left + right) / 2 for left, right, _ in strokes], stave)
    ).tolist()
    out = []
    for n, (left, right, cover) in enumerate(strokes):
        if right - left > WIDEST * space:
            continue
        before = left - strokes[n - 1][1] if n else 99
        after = strokes[n + 1][0] - right if n + 1 < len(strokes) else 99
        y0, y1 = ends[n]
        whole = Stroke(left, right, y0, y1, 1.0)
        if dots.beside(whole, -1) is not None:
            before = 0
        if dots.beside(whole, 1) is not None:
            after = 0
        whole_height = cover > WHOLE and max(abs(y0 - top), abs(y1 - bottom)) < AT_EDGE * space
        enough = (HEAD if whole_height else SATURATED) * space
        hung = hanging.hung(ground, left, right, y0 - low, y1 - low, space, before, after, enough) / space
        tall = hanging.too_tall(y0, y1, top, bottom, space, others)
        chance = _chance(cover, hung, tall)
        sides = [ragged[x] for x, room in ((left - 3, before), (right + 2, after)) if room > 6]
        along = max(sides, default=0.0)
        if along >= RAGGED:
            chance *= 0.4
        elif along < HEADLESS and cover > WHOLE:
            # What hangs on its end and leaves it bare along the stave is a pencil's, or a neighbour's.
            held = sum(abs(end - edge) < AT_EDGE * space for end, edge in ((y0, top), (y1, bottom)))
            free = all(room > 6 or room == 0 for room in (before, after))
            chance = max(chance, CROSSED[held] if free else min(CROSSED[held], AMONG))
        if left > stave.x0 + space:  # what begins a stave is told by the staves that it joins
            chance = _looking(chance, looks[n])
            if chance < TAKEN and cover > WHOLE:
                crossed = looks[n] > CROSSED_LOOKS and pencil.is_beside(left, right, top, bottom, space)
                chance = LOOKING if crossed else max(chance, HIDDEN) if looks[n] >= LOOKS_NOT else chance
        if whole_height and hung < HEAD:
            chance = max(chance, AMONG)
        if chance <= 0 and not _spans(y0, y1, others, space):
            continue
        if tall:
            y0, y1 = max(y0, top - int(0.25 * space)), min(y1, bottom + int(0.25 * space))
        out.append(Stroke(left, right, y0, y1, chance))
    return out


def _spans(y0: int, y1: int, others: Sequence[ScannedStave], space: float) -> bool:
    """Whether a stroke runs through another stave, too, as no stem does, whatever pencil hangs on it."""
    return any(y0 < stave.top + space and y1 > stave.bottom - space for stave in others)


def _looking(chance: float, looks: float) -> float:
    """How likely a stroke is a barline that looks like one so much: where looks and measures differ it is in doubt."""
    if chance < TAKEN <= looks:
        return LOOKING
    return chance if looks >= TAKEN else min(chance, LOOKING if looks >= LOOKS_NOT else UNLIKE)


def _ragged(bare: Bitmap, top: int, bottom: int, stave: ScannedStave) -> Floats:
    """For each column the share of rows off the stave's lines with ink: beside a figure's stroke, not a barline's."""
    rows = np.ones(bottom - top, dtype=bool)
    for y in stave.lines:
        at = round(y) - top
        rows[max(0, at - 2) : at + 3] = False
    out: Floats = bare.rows(top, bottom)[rows].sum(axis=0, dtype=np.uint16) / np.count_nonzero(rows)
    return out


def _chance(cover: float, hung: float, tall: bool) -> float:
    """How likely an upright stroke is a barline: it fills its stave and carries nothing."""
    filling = min(1.0, (cover - TORN) / (WHOLE - TORN))
    filling = filling if filling > 0.45 else 0.0
    carrying = min(1.0, max(0.0, (hung - FREE) / (TOUCHING - FREE)))
    return (0.4 + 0.6 * filling) * (1 - carrying) * (0.5 if tall and hung > 0.5 * FREE else 0.9 if tall else 1.0)
