"""Staves that still rise or fall on a page set straight, where the paper's waves were not followed to a line's end."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from collaparte.paper.cutting.scan_clean import Clean
from collaparte.paper.reading import Stave, System
from collaparte.paper.scans.bits import COLUMN
from collaparte.paper.scans.page import Bent, Dark, Floats, Whole

INK = 128
"""Darker than this is a staff line."""
BLOCK = 1.5
"""A stave is looked at in blocks so wide, in spaces,"""
REACH = 1.8
"""for lines no more than so many spaces over or under where they were read,"""
STEEP = 0.2
"""and no more than this from one block to the next."""
ASTRAY = 0.6
"""A way costs so much of a line for each space that it is off: a space off four of five lines lie on lines."""
GAIN = 1.5
"""Where it is off, it has so many lines' ink more than where they were read."""
BENT = 0.15
"""What is off by less, in spaces, is straight enough to be cut: a staff line's ink lies within 0.3 (`scan_staff`)."""
FEW = 3
"""Fewer blocks are a beam or a word."""
NEAR = 2.0
"""The page's waves are known at each stave; those read so near it, in spaces, are its own."""


def levelled(clean: Clean, systems: Sequence[System]) -> Bent | None:
    """How the page lies, the staves of its `systems` (points of the straight page) set level; None where they are."""
    dark, bent = clean.grey < INK, clean.bent
    pixel = clean.unit / bent.scale  # of the reader's, for one of these
    found = [(stave, system.space / clean.unit) for system in systems for stave in system.staves]
    off = [_off(dark, stave, space, clean.unit) for stave, space in found]
    if not any((np.abs(rise) > BENT * space).sum() >= FEW for (_, rise), (_, space) in zip(off, found, strict=True)):
        return None
    many = max(int(dark.shape[1] * pixel) // COLUMN, 2)
    x: Floats = (np.arange(many, dtype=np.float64) + 0.5) * COLUMN if bent.warp_x is None else bent.warp_x
    rows = list[tuple[float, Floats]]()
    for (stave, _), (at, rise) in zip(found, off, strict=True):
        y = (stave.top + stave.bottom) / 2 / bent.scale
        rows.append((y, _waves(bent, y, len(x)) + np.interp(x, at * pixel, rise * pixel)))
    near = NEAR * max(space for _, space in found) * pixel
    if bent.warp is not None and bent.warp_y is not None:
        staves = [y for y, _ in rows]
        others = zip(bent.warp_y.tolist(), bent.warp, strict=True)
        rows += [(y, waves) for y, waves in others if all(abs(y - stave) > near for stave in staves)]
    rows.sort(key=lambda row: row[0])
    return replace(bent, warp_x=x, warp_y=np.array([y for y, _ in rows]), warp=np.stack([waves for _, waves in rows]))


def _waves(bent: Bent, y: float, many: int) -> Floats:
    """How far ink lies lower at a row, in each column of the page's waves."""
    if bent.warp is None or bent.warp_y is None:
        return np.zeros(many)
    return np.array([np.interp(y, bent.warp_y, column) for column in bent.warp.T])


def _off(dark: Dark, stave: Stave, space: float, unit: float) -> tuple[Floats, Floats]:
    """The middles of a stave's blocks, and how far its lines lie lower there than they were read, in pixels: the way
    along which they have most ink."""
    space /= unit
    lines = np.array(stave.lines) / unit
    reach, step, steep = round(REACH * space), round(BLOCK * space), max(1, round(STEEP * space))
    x0, x1 = max(round(stave.x0 / unit), 0), min(round(stave.x1 / unit), dark.shape[1])
    many = max((x1 - x0) // step, 1)
    first = round(lines[0]) - reach - 1
    rows = np.clip(np.arange(first, round(lines[-1]) + reach + 2), 0, len(dark) - 1)
    ink = np.stack([part.mean(axis=1) for part in np.array_split(dark[rows, x0:x1], many, axis=1)])
    at = (np.round(lines)[:, None] - first + np.arange(-reach, reach + 1)).astype(np.intp)
    held: Floats = ink[:, at].sum(axis=1)
    worth = held - ASTRAY / space * np.abs(np.arange(-reach, reach + 1))
    best, came = worth[0], list[Whole]()
    for one in worth[1:]:
        wide = np.lib.stride_tricks.sliding_window_view(np.pad(best, steep, constant_values=-1.0), 2 * steep + 1)
        came.append(np.arange(len(best)) + wide.argmax(axis=1) - steep)
        best = wide.max(axis=1) + one
    way = [int(best.argmax())]
    for before in reversed(came):
        way.append(int(before[way[-1]]))
    shift = np.array(way[::-1])
    astray = np.abs(shift - reach) > BENT * space
    if (held[np.arange(many), shift] - held[:, reach])[astray].sum() < GAIN * astray.sum():
        shift[:] = reach
    rise = np.convolve(np.pad(shift - float(reach), 1, mode="edge"), np.full(3, 1 / 3), "valid")
    middles = x0 + (np.arange(many) + 0.5) * (x1 - x0) / many
    return middles, rise - np.median(rise)
