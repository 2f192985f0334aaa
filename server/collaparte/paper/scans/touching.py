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
TWO = (1.1, 2.1)
"""Two signs side by side are so wide, in their heights,"""
SIGN = (1.5, 4.5)
"""and so high, in spaces;"""
MIDDLE = 0.1
"""they touch no further from their middle, in widths;"""
BOTH = 0.3
"""and each of them is one at least so likely."""
_NO_LETTER = [CLASSES.index(one) for one in (NONE, *SIGNS)]


class _Piece:
    """A piece of ink, where it may be cut, and how likely what is between two cuts is a letter."""

    def __init__(self, mask: Dark) -> None:
        self.mask = mask
        height, self.width = mask.shape
        self.places = [0, *_thin(mask), self.width]
        self.pairs = [
            (a, b)
            for n, a in enumerate(self.places)
            for b in self.places[n + 1 :]
            if NARROW * height < b - a < WIDE * height and b - a < self.width
        ]
        self.likely: dict[tuple[int, int], float] = {}

    def at_end(self, end: int) -> list[tuple[int, int]]:
        """The pairs of cuts that a piece begins (0) or ends (1) with."""
        return [pair for pair in self.pairs if pair[end] == end * self.width]

    def cuts(self) -> list[int]:
        """The columns between which it is several letters, its edges included; empty when it is not."""
        best: dict[int, tuple[float, list[int]]] = {0: (0.0, [0])}
        for b in self.places[1:]:
            options = [
                (best[a][0] + float(np.log(self.likely[a, b])), [*best[a][1], b])
                for a in self.places
                if a in best and self.likely.get((a, b), 0.0) > LIKELY
            ]
            if options:
                best[b] = max(options)
        found = best.get(self.width, (0.0, []))[1]
        return found if len(found) > 2 else []


def cuts(masks: Sequence[Dark], space: float) -> list[list[int]]:
    """For each piece the columns between which it is several letters, its edges included; empty when it is not."""
    pieces = [_Piece(mask) for mask in masks]
    open_ones = pieces
    # What ends or begins with no letter is no row of letters: most pieces are known as such by a few of their parts.
    for end in (1, 0):
        _look([(piece, piece.at_end(end)) for piece in open_ones], space)
        open_ones = [p for p in open_ones if any(p.likely.get(pair, 0.0) > LIKELY for pair in p.at_end(end))]
    _look([(piece, [pair for pair in piece.pairs if pair not in piece.likely]) for piece in open_ones], space)
    return [piece.cuts() if piece in open_ones else [] for piece in pieces]


def _look(wanted: Sequence[tuple[_Piece, Sequence[tuple[int, int]]]], space: float) -> None:
    """Find how likely what is between columns of pieces is a letter; what is hardly anything is left out."""
    known = [
        (piece, pair, part[2])
        for piece, pairs in wanted
        for pair in pairs
        if (part := trimmed(piece.mask[:, pair[0] : pair[1]]))
    ]
    if not known:
        return
    high, wide = np.array([part.shape for _, _, part in known], dtype=np.float32).T
    told = classed(features(np.stack([cells_of(part) for _, _, part in known]), wide, high, space))
    told[:, _NO_LETTER] = 0.0
    for (piece, pair, _), chance in zip(known, told.max(axis=1).tolist(), strict=True):
        piece.likely[pair] = chance


def _thin(mask: Dark) -> list[int]:
    """Where little ink goes on to the right, from the left: at most a few, none beside another."""
    height = mask.shape[0]
    ink = mask.sum(axis=0)
    apart = max(2, round(0.1 * height))
    inner = np.arange(len(ink))
    fits = (ink <= THIN * height) & (NARROW * height < inner) & (inner < len(ink) - NARROW * height)
    fitting = np.flatnonzero(fits)
    out: list[int] = []
    near: set[int] = set()
    for x in fitting[np.argsort(ink[fitting], kind="stable")].tolist():
        if x in near:
            continue
        out.append(x)
        if len(out) == CUTS:
            break
        near.update(range(x - apart + 1, x + apart))
    return sorted(out)


def trimmed(mask: Dark) -> tuple[int, int, Dark] | None:
    """A part without the white round it, and how far its left upper corner moved; None when hardly anything is left."""
    rows, columns = (np.logical_or.reduce(mask, axis=axis).tobytes() for axis in (1, 0))
    if rows.count(1) < 2 or columns.count(1) < 2:
        return None
    left, top = columns.find(1), rows.find(1)
    return left, top, mask[top : rows.rfind(1) + 1, left : columns.rfind(1) + 1]


def letters_of(masks: Sequence[Dark], space: float) -> list[list[tuple[int, int, Dark]]]:
    """The letters of each piece with where they begin in it; none for what is no row of letters."""
    out = []
    for mask, columns in zip(masks, cuts(masks, space), strict=True):
        found = [(a, trimmed(mask[:, a:b])) for a, b in pairwise(columns)]
        out.append([(a + part[0], part[1], part[2]) for a, part in found if part])
    return out


def may_be_two(wide: float, high: float, space: float) -> bool:
    """Whether a piece is as large as two signs side by side."""
    return TWO[0] * high < wide < TWO[1] * high and SIGN[0] * space < high < SIGN[1] * space


def two_signs(mask: Dark, space: float) -> tuple[str, int] | None:
    """What two segnos or codas are that touch on the paper, and at which column: they name a second one."""
    wide = mask.shape[1]
    near = range(round((0.5 - MIDDLE) * wide), round((0.5 + MIDDLE) * wide))
    cut = min(near, key=lambda x: (mask[:, x].sum(), abs(2 * x - wide)))
    halves = [part[2] for part in (trimmed(mask[:, :cut]), trimmed(mask[:, cut:])) if part]
    if len(halves) < 2:
        return None
    highs, wides = np.array([half.shape for half in halves], dtype=np.float32).T
    told = classed(features(np.stack([cells_of(half) for half in halves]), wides, highs, space))
    for sign in SIGNS:
        if float(told[:, CLASSES.index(sign)].min()) > BOTH:
            return sign, cut
    return None
