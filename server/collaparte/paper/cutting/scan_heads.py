"""Clefs and keys of scanned lines, told apart by their pictures: what looks alike is the same sign."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from collaparte.paper.cutting.scan_keys import Key
from collaparte.paper.scans.page import Dark

CELL = 0.25
"""Pictures are compared in squares of so many spaces,"""
REACH, WIDE = 4.5, 8.0
"""so many spaces up and down from the stave's middle, and so far from their left."""
DIFFER = {"clef": 0.35, "key": 0.28}
"""Those that differ in less than this share of their ink are alike (the same sign anew: 0.16, one sign more: 0.36)."""
ASIDE = {"clef": 2, "key": 1}
"""So many squares aside they are tried: scraps of what joins staves may stand before a clef."""
MISSED = 0.2
"""Where no key was read, what differs so little from another line's is one."""
WIDER = 0.5
"""Keys of more signs are wider by more spaces than this."""
SIGN = 1.05
"""The width of a sharp or a flat with its room, in spaces (SMuFL fonts)."""

PERCUSSION, BARS = "percussion", (1.7, 2.6, 0.4)
"""A percussion clef is two upright bars (common practice), so high at least and at most, in spaces, their middle so
near to the stave's;"""
EVEN = 0.8
"""ink goes through so much of their height, and white between them."""

Kind = Literal["clef", "key"]
Picture = npt.NDArray[np.float64]


@dataclass(slots=True)
class KnownHeads:
    """The clefs and keys met so far, and what each is called."""

    key: Key | None = None
    """The one in force where the last page ended."""
    _met: list[tuple[Kind, Picture, float, str]] = field(default_factory=list)

    def name(self, kind: Kind, mask: Dark, top: float, space: float, name: str = "") -> str:
        """What a clef or key is called, for cutting: its `name` where that is known, the same for all that look alike.

        `mask` are its pixels, `top` how far its first row is below the stave's middle, in pixels as `space`. A key's
        name says each sign's height and place, as `headcut.sign_name` has it.
        """
        if kind == "clef" and is_percussion(mask, top, space):
            return PERCUSSION
        picture, wide = _picture(mask, top, space), mask.shape[1] / space
        for other_kind, other, width, known in self._met:
            near = kind == "clef" or abs(width - wide) < WIDER
            same = other_kind == kind and name in ("", known)
            if same and near and _apart(picture, other, ASIDE[kind]) < DIFFER[kind]:
                return known
        name = name or f"clef {len(self._met)}" if kind == "clef" else name or _signs(mask, top, space)
        self._met.append((kind, picture, wide, name))
        return name

    def key_in(self, mask: Dark, top: float, space: float) -> int | None:
        """How many columns of pixels a known key takes at the left of `mask`; None when none stands there."""
        best = MISSED
        found = None
        for kind, other, width, _ in self._met:
            columns = round((width + WIDER / 2) * space)
            if kind == "key" and mask.shape[1] > (width - WIDER / 2) * space:
                ink = mask[:, :columns]
                apart = _apart(_picture(ink, top, space), other)
                if apart < best:
                    best, found = apart, int(np.flatnonzero(ink.any(axis=0))[-1]) + 1
        return found


def is_percussion(mask: Dark, top: float, space: float) -> bool:
    """Whether a clef is two bars: square for square signs so small look little alike where they are a little off."""
    tall, middle = mask.shape[0] / space, (top + mask.shape[0] / 2) / space
    if not BARS[0] < tall < BARS[1] or abs(middle) > BARS[2]:
        return False
    full = mask.mean(axis=0)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], (full > 0.5).astype(np.int8), [0]))))
    if len(edges) != 4:
        return False
    a, b, c, d = edges.tolist()
    return bool(min(full[a:b].max(), full[c:d].max()) > EVEN and full[b:c].min() < 1 - EVEN)


def _picture(mask: Dark, top: float, space: float) -> Picture:
    """How dark each square is."""
    out = np.zeros((round(2 * REACH / CELL), round(WIDE / CELL)))
    rows, columns = np.nonzero(mask)
    y = np.floor((rows + top) / space / CELL + REACH / CELL).astype(np.intp)
    x = np.floor(columns / space / CELL).astype(np.intp)
    there = (y >= 0) & (y < out.shape[0]) & (x < out.shape[1])
    np.add.at(out, (y[there], x[there]), 1 / (CELL * space) ** 2)
    return out


def _apart(one: Picture, other: Picture, aside: int = 1) -> float:
    """How much of two pictures differs, where one is laid best upon the other, no more than so many squares aside."""
    most = max(one.sum(), other.sum(), 1e-6)
    shifts = [(a, b) for a in (-1, 0, 1) for b in range(-aside, aside + 1)]
    return float(min(np.abs(one - np.roll(other, shift, (0, 1))).sum() for shift in shifts) / most / 2)


def _signs(mask: Dark, top: float, space: float) -> str:
    many = max(1, round(mask.shape[1] / space / SIGN))
    out = []
    for part in np.array_split(mask, many, axis=1):
        rows = np.flatnonzero(part.any(axis=1))
        if len(rows):
            high, low = (rows[0] + top) / space, (rows[-1] + 1 + top) / space
            out.append(f"{round((low - high) * 2)}@{round(low + high)}")
    return " ".join(out)
