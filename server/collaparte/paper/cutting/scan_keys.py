"""The keys of a scanned page's lines held against one another: the key in force stands at every line's head."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from collaparte.paper.cutting.scan_accidentals import KeySigns
from collaparte.paper.scans.page import Dark

READ, MORE, LESS, LIKELY, NOT = 0.0, 0.3, 0.5, 0.1, 5.0
"""What a key costs at a line: the one read there, a longer and a shorter one that stand there, a shorter one that is
the likeliest there, where none was told; one that does not;"""
CHANGE, ANNOUNCED = 0.9, 0.4
"""and what a line costs that has another key than the one before, or than one before that has a change of key in its
course: two such changes for one line are too many."""
ASIDE, UP, STEP = 0.9, 0.3, 0.1
"""A key is looked for so far aside of and over its place, in steps of so many spaces,"""
SOFT = 0.1
"""its ink so far around, in spaces;"""
STANDS = 0.9
"""so much of it is there where it stands."""
POINTS = 400
"""No more of its pixels are looked at."""
SIZE = 0.04
"""Staves that differ in size by more than this share do not share a key's picture."""


class Signs(NamedTuple):
    """A stave's key: its first row under the stave's middle, its first column behind its clef, its pixels; its name."""

    row: float
    column: float
    mask: Dark
    name: str


class Key(NamedTuple):
    """The key of a line: that of each stave (None: no signs), in pixels as `space`."""

    staves: tuple[Signs | None, ...]
    space: float
    signs: KeySigns | None = None
    """What it is, where its signs were seen to stand in a key's order."""
    certain: bool = False
    """A meter stands behind its signs: accidentals stand behind a meter (common practice)."""

    @property
    def name(self) -> str:
        return "|".join(signs.name if signs else "" for signs in self.staves)

    @property
    def wide(self) -> int:
        return max((signs.mask.shape[1] for signs in self.staves if signs), default=0)


class Near(NamedTuple):
    """Ink round a place, in pixels as `space`: where its first row and column are, and which of it is dark."""

    row: int
    column: int
    ink: Dark


def in_force(
    seen: Sequence[Key],
    before: Key | None,
    changes: Sequence[bool],
    stands: Callable[[int, Key], bool],
    likeliest: Callable[[int, KeySigns], bool],
) -> list[Key]:
    """The keys of a page's lines, of those `seen` at each and the one in force `before`: as few changes as the ink
    allows, which `stands` knows of: whether a key is in a line's head, and `likeliest`: whether it is the one that
    signs there are most like. `changes`: whether a new key was read in each line's course, which may be accidentals."""
    kinds: dict[str, Key] = {}
    for key in [*seen, *([before] if before else [])]:
        if key.name not in kinds or key.signs:
            kinds[key.name] = key
    if len(kinds) < 2:
        return list(seen)
    keys = list(kinds.values())
    change = 1 - np.eye(len(keys))
    costs = CHANGE * change[list(kinds).index(before.name)] if before else np.zeros(len(keys))
    came: list[list[int]] = []
    for n, read in enumerate(seen):
        if n:
            ways = costs[:, None] + change * (ANNOUNCED if changes[n - 1] else CHANGE)
            came.append(ways.argmin(axis=0).tolist())
            costs = ways.min(axis=0)
        costs = costs + [_cost(n, read, key, stands, likeliest) for key in keys]
    best = [int(costs.argmin())]
    for step in reversed(came):
        best.append(step[best[-1]])
    return [keys[k] for k in reversed(best)]


def _cost(
    line: int, read: Key, key: Key, stands: Callable[[int, Key], bool], likeliest: Callable[[int, KeySigns], bool]
) -> float:
    if key.name == read.name:
        return READ
    in_order = read.signs is not None and (read.certain or read.signs.many > 1)
    if len(key.staves) != len(read.staves) or (in_order and not key.signs) or not stands(line, key):
        return NOT  # such signs in a key's order are no accidentals
    if key.wide > read.wide:
        return MORE
    return LIKELY if key.signs and not read.signs and likeliest(line, key.signs) else LESS


def placed(signs: Signs, near: Near, at: tuple[float, float], space: float) -> tuple[int, int] | None:
    """The row and the column where a key's pixels begin, looked for about `at`; None where it does not stand."""
    rows, columns = np.nonzero(signs.mask)
    some = slice(None, None, max(1, len(rows) // POINTS))
    rows, columns = rows[some], columns[some]
    step = max(1, round(STEP * space))
    ink = np.pad(wider(near.ink, round(SOFT * space)), 1)
    best, found = STANDS, None
    for down in range(-round(UP * space), round(UP * space) + 1, step):
        for aside in range(-round(ASIDE * space), round(ASIDE * space) + 1, step):
            row, column = round(at[0]) + down, round(at[1]) + aside
            y = np.clip(rows + (row - near.row + 1), 0, ink.shape[0] - 1)
            x = np.clip(columns + (column - near.column + 1), 0, ink.shape[1] - 1)
            there = float(ink[y, x].mean())
            if there > best:
                best, found = there, (row, column)
    return found


def wider(mask: Dark, by: int) -> Dark:
    """A mask and so many pixels round it, within its box."""
    out = mask.copy()
    for axis in (0, 1):
        grown = np.swapaxes(out, 0, axis)
        whole = grown.copy()
        for n in range(1, by + 1):
            grown[n:] |= whole[:-n]
            grown[:-n] |= whole[n:]
    return out
