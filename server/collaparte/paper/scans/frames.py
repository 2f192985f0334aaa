"""Frames on a scan: parts of ink that run all round others, and white rooms with letters in them."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.bits import WORD, Bits, Dark, Places, from_left, from_right
from collaparte.paper.scans.letters import letter_chance
from collaparte.paper.scans.parts import Parts, connected, connected_bits
from collaparte.paper.sight.strokes import Rule

BAND = 0.3
"""A frame's line, with what it spreads, is at most so many spaces thick."""
TWICE = 1.3
"""Pieces of ink in a row of a frame, in the mean, at least."""
EVEN = np.uint64(0x5555555555555555)
"""Every other pixel."""
DENSE, TOLD = 0.6, 0.7
"""A frame more than this share of which is ink (a small one that has spread) holds what is a letter at least so likely.
None is itself a letter so likely: bold ones are closed all round, too."""
TALL = 0.4
"""The letter is at least so high, in heights of its frame."""
FULL = 0.75
"""and never more ink than this."""
CLOSED = 0.93
"""Of the ways out of a ring to each of its sides more than this share meets it."""
ROOM = 0.5
"""A frame's white fills at least this share of its box."""


def sides(box: tuple[int, int, int, int], space: float) -> list[Rule]:
    x0, y0, x1, y1 = box
    thin = 0.1 * space
    return [
        Rule(x0, y0, x1, y0 + thin),
        Rule(x0, y1 - thin, x1, y1),
        Rule(x0, y0, x0 + thin, y1),
        Rule(x1 - thin, y0, x1, y1),
    ]


def box_of(parts: Parts, number: int) -> tuple[int, int, int, int]:
    return int(parts.x0[number]), int(parts.y0[number]), int(parts.x1[number]), int(parts.y1[number])


def rings(parts: Parts, kept: npt.NDArray[np.intp], space: float) -> list[tuple[int, tuple[int, int, int, int]]]:
    """Parts that run all round others: boxes, rounded boxes, circles; letters that touch them are cut loose."""
    out = []
    wide, high = parts.x1[kept] - parts.x0[kept], parts.y1[kept] - parts.y0[kept]
    fits = (1.4 * space < high) & (high < 7 * space) & (0.9 * space < wide) & (wide < 30 * space)
    inked = parts.area[kept] / (wide * high)
    # Most of a thin ring's rows are two runs: its sides.
    twice = np.diff(parts.runs.first)[kept] > TWICE * high
    outer = parts.outer()
    for n in kept[fits & (wide > 0.6 * high) & (inked <= FULL) & (twice | (inked > DENSE))]:
        x0, y0, x1, y1 = box_of(parts, int(n))
        width, height = x1 - x0, y1 - y0
        if not _has_sides(*outer.of(int(n)), width):
            continue
        mask = parts.mask(int(n))
        if not _has_ends(mask):
            continue
        band = max(2, round(BAND * space))
        within = _inside(mask, band)
        held = (
            (parts.x0[kept] > x0) & (parts.y0[kept] > y0) & (parts.x1[kept] < x1) & (parts.y1[kept] < y1)
            & (parts.y1[kept] - parts.y0[kept] > 0.25 * height)
        )  # fmt: skip
        if held.any() and within.mean() < 0.03:
            out.append((int(n), (x0, y0, x1, y1)))
        elif within.mean() > 0.03 and letter_chance(mask, space) < 1 - TOLD:
            dense = parts.area[n] > DENSE * width * height
            if (not dense or _holds_letter(within, space)) and parts.free(int(n), within):
                out.append((int(n), (x0, y0, x1, y1)))
    return out


def rooms(
    ink: Bits, across: int, parts: Parts, kept: npt.NDArray[np.intp], taken: Sequence[tuple[float, ...]], space: float
) -> list[tuple[int, int, int, int]]:
    """White rooms with letters in them, closed all round: frames that a bracket, a stem or a pencil touches outside.

    `across`: the page's width in pixels.
    """
    out = []
    # Looked at in half the resolution: it costs a quarter.
    height, width = len(ink) // 2, across // 2
    rows = ink[: 2 * height : 2] | ink[1 : 2 * height : 2]
    pairs = (rows | from_right(rows, 1)) & EVEN
    paper = ~(pairs | from_left(pairs, 1))
    paper[:, 2 * width // WORD] &= (np.uint64(1) << np.uint64(2 * width % WORD)) - np.uint64(1)
    white = connected_bits(paper, 2 * width)
    wide, high = white.x1 - white.x0, 2 * (white.y1 - white.y0)
    fits = (1.2 * space < high) & (high < 7 * space) & (0.6 * high < wide) & (wide < 30 * space)
    for n in np.flatnonzero(fits & (2 * white.area > ROOM * wide * high)):
        x0, y0, x1, y1 = box_of(white, int(n))
        y0, y1 = 2 * y0, 2 * y1
        if any(a < (x0 + x1) / 2 < c and b < (y0 + y1) / 2 < d for a, b, c, d in taken):
            continue
        inside = kept[(parts.x0[kept] > x0) & (parts.y0[kept] > y0) & (parts.x1[kept] < x1) & (parts.y1[kept] < y1)]
        if (parts.y1[inside] - parts.y0[inside] > 0.25 * (y1 - y0)).any():
            out.append((x0 - 1, y0 - 1, x1 + 1, y1 + 1))
    return out


def _inside(mask: Dark, band: int) -> Dark:
    """What a ring holds: its pixels without the first `band` from where ink is met from each of the four sides."""
    height, width = mask.shape
    out = np.zeros((height + 2 * band, width + 2 * band), dtype=np.bool_)
    inner = out[band:-band, band:-band]
    inner[:] = mask
    for ink, wide in zip(_from_sides(mask), _from_sides(out), strict=True):
        row, begins = np.arange(len(ink))[:, None], ink.argmax(axis=1)[:, None]
        wide[band + row, band + begins + np.arange(band)] = False
    return inner


def _from_sides(mask: Dark) -> tuple[Dark, Dark, Dark, Dark]:
    """The same pixels (no copy) as met from the left, the right, above and below."""
    return mask, mask[:, ::-1], mask.T, mask.T[:, ::-1]


def _holds_letter(within: Dark, space: float) -> bool:
    """Whether the largest part of what a ring holds is a letter or figure."""
    inner = connected(within)
    if not len(inner):
        return False
    largest = int(inner.area.argmax())
    tall = inner.y1[largest] - inner.y0[largest] > TALL * within.shape[0]
    return bool(tall) and letter_chance(inner.mask(largest), space) > TOLD


def _has_sides(left: Places, right: Places, width: int) -> bool:
    """Whether from the middle the ways to the left and right are closed by ink near the edge.

    `left` and `right`: how far from the edge the outermost ink of each row is.
    """
    height = len(left)
    middle = slice(int(0.15 * height), int(0.85 * height) + 1)
    edge = max(2, int(0.3 * width if width > 2 * height else min(0.3 * width, 0.4 * height)))
    return all(np.count_nonzero(way[middle] < edge) > CLOSED * len(way[middle]) for way in (left, right))


def _has_ends(mask: Dark) -> bool:
    """Whether from the middle the ways up and down are closed by ink near the edge."""
    height, width = mask.shape
    middle, edge = slice(int(0.15 * width), int(0.85 * width) + 1), max(2, int(0.3 * height))
    ways = (mask[:edge, middle], mask[-edge:, middle])
    return all(np.count_nonzero(way.any(axis=0)) > CLOSED * way.shape[1] for way in ways)
