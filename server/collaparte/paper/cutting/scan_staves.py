"""Of which stave of a scanned system its ink is, and what joins the staves at their left."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from collaparte.paper.cutting.groups import Joined, in_order
from collaparte.paper.cutting.scan_parts import Numbers, Which
from collaparte.paper.cutting.table import Group
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts, connected

NEAR = 0.3
"""What comes so near to a stave, in spaces, is music in it."""
HARDLY = 0.4
"""What has no more than so many square spaces of ink in a stave only touches it: a head has more."""
MOST = 1500
"""So many parts at most between two staves are looked at one by one: more are noise, and stay with the nearer stave."""
JOINED = 3.5
"""The line that joins staves is so near to where they were read to begin, in spaces, a brace or a bracket to it;"""
FULL, SOFT = 0.9, 0.15
"""it has ink in so much of its height, and a soft edge so wide, in spaces."""
STROKE = 0.92
"""Some column of a bracket has ink in more of its height than this, of a brace none (SMuFL fonts: 0.85)."""

Staves = Sequence[tuple[float, float]]
"""Each stave's top and bottom, in pixels as `space`."""


def divided(parts: Parts, staves: Staves, space: float) -> None:
    """Divide what has notes in two staves, where it has least ink between them: each note stays in its own stave."""
    for upper, lower in pairwise(staves):
        first, last = round(upper[1] + NEAR * space), round(lower[0] - NEAR * space)
        both = (parts.y0 < first) & (parts.y1 > last) if last > first else np.zeros(len(parts), np.bool_)
        for n in np.flatnonzero(both)[::-1].tolist():
            if all(_ink(parts, n, *stave).sum() > HARDLY * space**2 for stave in (upper, lower)):
                between = _ink(parts, n, first, last)
                away = np.abs(np.arange(len(between)) - len(between) / 2)
                parts.divide(n, first + int(np.lexsort((away, between))[0]))


def of_staves(parts: Parts, free: Which, staves: Staves, space: float) -> tuple[Numbers, Which]:
    """Each part's stave, and whether it is loose, in no stave; `free` parts between two go where what is nearest to
    them goes."""
    reach = NEAR * space
    inside = np.array([(parts.y1 >= top - reach) & (parts.y0 <= bottom + reach) for top, bottom in staves])
    loose = np.logical_not(inside.any(axis=0))
    middle = (parts.y0 + parts.y1) / 2
    of = np.array([np.maximum(top - middle, middle - bottom) for top, bottom in staves]).argmin(axis=0)
    for n in np.flatnonzero(inside.sum(axis=0) > 1).tolist():  # it touches one of them
        of[n] = int(np.argmax([_ink(parts, n, *stave).sum() for stave in staves]))
    for k, (upper, lower) in enumerate(pairwise(staves)):
        between = np.flatnonzero(free & loose & (middle > upper[1]) & (middle < lower[0]))
        if 0 < len(between) <= MOST:
            solid = [np.flatnonzero(free & ~loose & (of == stave)) for stave in (k, k + 1)]
            of[between] = k + _nearer(parts, between, solid, (upper[1], lower[0]))
    return of, loose


def outside(parts: Parts, staves: Staves, space: float) -> Which:
    """Which parts reach no farther into any stave than what only touches it."""
    reach = NEAR * space
    out = np.ones(len(parts), np.bool_)
    for top, bottom in staves:
        out &= (parts.y1 <= top + reach) | (parts.y0 >= bottom - reach)
    return out


def _nearer(parts: Parts, between: Numbers, solid: Sequence[Numbers], edges: tuple[float, float]) -> Numbers:
    """For each part between two staves, which end at `edges`, whether it goes with the upper's ink (0) or the lower's
    (1): always the nearest part next."""
    out = np.full(len(between), -1, np.intp)
    away = np.array([parts.y0[between] - edges[0], edges[1] - parts.y1[between]], np.float64)
    for side, numbers in enumerate(solid):
        if len(numbers):
            away[side] = np.minimum(away[side], _apart(parts, between, numbers).min(axis=1))
    apart = _apart(parts, between, between)
    while (out < 0).any():
        side, n = (int(at) for at in np.unravel_index(away.argmin(), away.shape))
        out[n] = side
        away[side] = np.minimum(away[side], apart[n])
        away[:, out >= 0] = np.inf
    return out


def _apart(parts: Parts, one: Numbers, other: Numbers) -> npt.NDArray[np.float64]:
    """How far the boxes of parts are from one another."""
    across = np.maximum.outer(parts.x0[one], parts.x0[other]) - np.minimum.outer(parts.x1[one], parts.x1[other])
    down = np.maximum.outer(parts.y0[one], parts.y0[other]) - np.minimum.outer(parts.y1[one], parts.y1[other])
    out: npt.NDArray[np.float64] = np.hypot(np.maximum(across, 0), np.maximum(down, 0))
    return out


def _ink(parts: Parts, number: int, first: float, last: float) -> Numbers:
    """How many pixels a part has on each row from one to another."""
    mine, a, b = parts.runs.of(number), round(first), round(last)
    row, many = parts.runs.row[mine], parts.runs.right[mine] - parts.runs.left[mine]
    here = (row >= a) & (row < b)
    return np.bincount(row[here] - a, many[here], b - a).astype(np.intp)


def without_joint(ink: Dark, staves: Staves, left: float, space: float) -> tuple[Joined, float]:
    """Take the line that joins several staves out of `ink`, and what stands left of it; what that was, and where the
    staves begin: they were read to begin at `left`, which may be a brace's."""
    if len(staves) < 2:
        return (), left
    top, bottom = round(staves[0][0]), round(staves[-1][1])
    first, last = (max(round(left + side * space), 0) for side in (-JOINED, JOINED))
    full = np.flatnonzero(ink[top:bottom, first:last].mean(axis=0) > FULL)
    line = [*np.split(full, np.flatnonzero(np.diff(full) > 1) + 1)][-1] if len(full) else full
    a, b = (first + int(line[0]), first + int(line[-1]) + 1) if len(line) else (round(left), round(left))
    soft = max(1, round(SOFT * space))
    beside = ink[:, max(a - round(JOINED * space), 0) : max(a - soft, 0)]
    found = in_order(set(_groups(beside, staves, space)))
    reach = round(NEAR * space)
    ink[max(top - reach, 0) : bottom + reach, : b + soft] = False
    return found, float(a)


def _groups(beside: Dark, staves: Staves, space: float) -> Iterator[Group]:
    parts = connected(beside)
    for n in range(len(parts)):
        y0, y1 = parts.y0[n] - space, parts.y1[n] + space
        joined = [k for k, (top, bottom) in enumerate(staves) if y0 < top and bottom < y1]
        if len(joined) > 1:
            yield Group(joined[0], joined[-1], bool(parts.mask(n).mean(axis=0).max() < STROKE))
