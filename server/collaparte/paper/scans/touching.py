"""Letters that touch on the paper: a piece of ink cut where each part is likely a letter."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from collaparte.paper.scans.bits import Dark
from collaparte.paper.scans.cells import cells_of
from collaparte.paper.scans.letters import CLASSES, NONE, SIGNS, classed, features

THIN = 0.55
"""A cut goes through ink of at most this share of the piece's height."""
CUTS = 10
"""So many places for cuts at most are looked at, the thinnest."""
NARROW, WIDE = 0.13, 1.5
"""A letter is so wide at least and at most, in heights of its piece."""
LIKELY = 0.5
"""Each part of a piece that is cut is a letter at least so likely."""
_NO_LETTER = [CLASSES.index(one) for one in (NONE, *SIGNS)]


def cuts(mask: Dark, space: float) -> list[int]:
    """The columns between which a piece is several letters, its edges included; empty when it is not."""
    height, width = mask.shape
    places = [0, *_thin(mask), width]
    pairs = [
        (a, b)
        for n, a in enumerate(places)
        for b in places[n + 1 :]
        if NARROW * height < b - a < WIDE * height and b - a < width
    ]
    likely: dict[tuple[int, int], float] = {}
    # What ends or begins with no letter is no row of letters: most pieces are known as such by a few of their parts.
    for ends in (1, 0):
        edge = ends * width
        outer = _chances(mask, [pair for pair in pairs if pair[ends] == edge], space)
        if not any(chance > LIKELY for chance in outer.values()):
            return []
        likely |= outer
    likely |= _chances(mask, [pair for pair in pairs if pair not in likely], space)
    best: dict[int, tuple[float, list[int]]] = {0: (0.0, [0])}
    for b in places[1:]:
        options = [
            (best[a][0] + float(np.log(likely[a, b])), [*best[a][1], b])
            for a in places
            if a in best and likely.get((a, b), 0.0) > LIKELY
        ]
        if options:
            best[b] = max(options)
    found = best.get(width, (0.0, []))[1]
    return found if len(found) > 2 else []


def _chances(mask: Dark, pairs: Sequence[tuple[int, int]], space: float) -> dict[tuple[int, int], float]:
    """How likely what is between two columns is a letter; what is hardly anything is left out."""
    known = [(pair, part[2]) for pair in pairs if (part := trimmed(mask[:, pair[0] : pair[1]]))]
    if not known:
        return {}
    high, wide = np.array([part.shape for _, part in known], dtype=np.float32).T
    told = classed(features(np.stack([cells_of(part) for _, part in known]), wide, high, space))
    told[:, _NO_LETTER] = 0.0
    return {pair: float(chance) for (pair, _), chance in zip(known, told.max(axis=1), strict=True)}


def _thin(mask: Dark) -> list[int]:
    """Where little ink goes on to the right, from the left: at most a few, none beside another."""
    height = mask.shape[0]
    ink = mask.sum(axis=0)
    apart = max(2, round(0.1 * height))
    thinnest = np.argsort(ink, kind="stable")
    order: list[int] = thinnest[(thinnest > 0) & (ink[thinnest] <= THIN * height)].tolist()
    out: list[int] = []
    for x in order:
        if NARROW * height < x < len(ink) - NARROW * height and all(abs(x - other) >= apart for other in out):
            out.append(x)
        if len(out) == CUTS:
            break
    return sorted(out)


def trimmed(mask: Dark) -> tuple[int, int, Dark] | None:
    """A part without the white round it, and how far its left upper corner moved; None when hardly anything is left."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if len(rows) < 2 or len(columns) < 2:
        return None
    left, top = int(columns[0]), int(rows[0])
    return left, top, mask[top : rows[-1] + 1, left : columns[-1] + 1]


def parts(mask: Dark, space: float) -> list[tuple[int, int, Dark]]:
    """The letters of a piece, each with where it begins in the piece; empty when it is no row of letters."""
    found = [(a, trimmed(mask[:, a:b])) for a, b in pairwise(cuts(mask, space))]
    return [(a + part[0], part[1], part[2]) for a, part in found if part]
