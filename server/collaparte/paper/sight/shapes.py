"""Signs known by their shape: outlines as small pictures, held against pictures of known signs.

A picture is 16 x 16 cells of ink coverage, the outline's box stretched to fill it; width and height are kept
beside it. The known ones (`shapes.npz`, made by tests/paper/glyph_shapes.py from open fonts) are music signs,
with their size in staff spaces, and letters and figures, with their size and foot in em.
"""

from collections.abc import Sequence
from functools import lru_cache
from importlib import resources
from io import BytesIO
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

CELLS = 16
CLOSE = 40
"""So many of the known signs, the nearest at first sight, are looked at closely."""
FEW = 12
"""The same, where many are looked up at once,"""
BLOCK = 48
"""so many of them in one go."""
FAR = 1e6
"""Squares of differences of known signs that do not fit are so much larger: the largest is about 1,000."""
SLIGHT = 0.1
"""Squares are rounded by less."""
ALIKE = 1e-4
"""A sign off by one space in size is so much further off than one that is not."""
ASPECT = 0.45
"""A letter's width over its height is at most so far from the known one's, as logarithms."""
_LINES = 4
"""Scan lines a cell."""
_T = np.linspace(0.0, 1.0, 7)[1:]
_BERNSTEIN = np.stack([(1 - _T) ** 3, 3 * (1 - _T) ** 2 * _T, 3 * (1 - _T) * _T**2, _T**3], axis=1)
"""Six points on a cubic from its four control points; a straight segment is one too."""

Cells = npt.NDArray[np.float32]


class Picture(NamedTuple):
    """An outline's size in its own units, y downwards, and its cells of coverage, 0 to 1."""

    width: float
    height: float
    cells: Cells


class Match(NamedTuple):
    """The nearest known sign: its kind and value, how far off it is (0 the same, 1 nothing alike).

    `size` is its font size in the outline's units, `foot` how far its box reaches below the baseline (music signs: 0).
    """

    kind: str
    value: str
    distance: float
    size: float = 0.0
    foot: float = 0.0


NO_MATCH = Match("", "", 1.0)


def contours(items: Sequence[Any]) -> list[npt.NDArray[np.float64]]:
    """The closed outlines of a path's segments ("l", "c", "re", "qu" with points), curves as short lines."""
    out: list[npt.NDArray[np.float64]] = []
    pieces: list[tuple[Any, Any, Any, Any]] = []
    sizes: list[int] = []
    last: tuple[float, float] | None = None
    for item in items:
        sort = item[0]
        if sort == "re":
            x0, y0, x1, y1 = item[1]
            out.append(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]))
            continue
        if sort == "qu":
            a, b, c, d = item[1]
            out.append(np.array([a, b, d, c]))
            continue
        start, end = item[1], item[-1]
        if last is None or abs(start[0] - last[0]) > 1e-3 or abs(start[1] - last[1]) > 1e-3:
            sizes.append(0)
        sizes[-1] += 1
        pieces.append((start, start, end, end) if sort == "l" else item[1:])
        last = end
    if pieces:
        curves = np.array(pieces, dtype=float)
        points = np.einsum("sk,nkd->nsd", _BERNSTEIN, curves)
        at = 0
        for size in sizes:
            if size > 1:
                out.append(points[at : at + size].reshape(-1, 2))
            at += size
    return out


def points_on(curves: Sequence[Any]) -> npt.NDArray[np.float64]:
    """Points on each of a path's cubics ("c" with its four points), ends among them: shape (n, 2)."""
    points = np.array([item[1:] for item in curves], dtype=float)
    out: npt.NDArray[np.float64] = np.einsum("sk,nkd->nsd", _BERNSTEIN, points).reshape(-1, 2)
    return out


def picture(outline: Sequence[npt.NDArray[np.float64]]) -> Picture:
    """The picture of closed outlines, filled where they wind round a point."""
    points = np.concatenate(outline)
    low, high = points.min(axis=0), points.max(axis=0)
    size = np.maximum(high - low, 1e-6)
    ends = [np.roll(one, -1, axis=0) for one in outline]
    a = (points - low) / size * CELLS
    b = (np.concatenate(ends) - low) / size * CELLS
    rising = b[:, 1] > a[:, 1]
    top, foot = np.where(rising, a[:, 1], b[:, 1]), np.where(rising, b[:, 1], a[:, 1])
    rows = (np.arange(CELLS * _LINES) + 0.5) / _LINES
    line, edge = np.nonzero((top[None, :] <= rows[:, None]) & (rows[:, None] < foot[None, :]))
    slope = (b[edge, 0] - a[edge, 0]) / (b[edge, 1] - a[edge, 1])
    x = a[edge, 0] + (rows[line] - a[edge, 1]) * slope
    order = np.lexsort((x, line))
    line, x = line[order], x[order]
    winding = np.cumsum(np.where(rising[edge][order], 1, -1))
    before = np.concatenate(([0], winding[:-1]))
    starts, stops = (winding != 0) & (before == 0), (winding == 0) & (before != 0)
    left, right, row = x[starts], x[stops], line[starts] // _LINES
    cell = np.arange(CELLS)
    covered = np.clip(np.minimum(right[:, None], cell + 1) - np.maximum(left[:, None], cell), 0, 1)
    cells = np.zeros((CELLS, CELLS), dtype=np.float32)
    np.add.at(cells, row, covered.astype(np.float32) / _LINES)
    return Picture(float(size[0]), float(size[1]), cells)


class _Known(NamedTuple):
    cells: Cells
    coarse: Cells
    """4 x 4 cells of the same, to leave out most of the known before looking closely,"""
    rough: Cells
    """and 8 x 8 (sums of four) times -2, a sign a column."""
    width: npt.NDArray[np.float32]
    height: npt.NDArray[np.float32]
    foot: npt.NDArray[np.float32]
    aspect: npt.NDArray[np.float32]
    """The logarithm of width over height."""
    square: npt.NDArray[np.float32]
    """Sums of the rough cells' squares."""
    names: list[tuple[str, str]]

    def some(self, which: npt.NDArray[np.intp] | slice) -> "_Known":
        """Some of them, in the order that is asked for."""
        names = self.names[which] if isinstance(which, slice) else [self.names[n] for n in which]
        arrays = (self.cells, self.coarse, self.width, self.height, self.foot, self.aspect, self.square)
        cells, coarse, width, height, foot, aspect, square = (array[which] for array in arrays)
        return _Known(cells, coarse, self.rough[:, which], width, height, foot, aspect, square, names)


@lru_cache(maxsize=1)
def _known() -> tuple[_Known, _Known]:
    """Music signs, sorted by width, and letters and figures, sorted by aspect."""
    data = resources.files("collaparte.paper.sight").joinpath("shapes.npz").read_bytes()
    store = np.load(BytesIO(data), allow_pickle=False)
    out = []
    for group in ("music", "letters"):
        names = [tuple(name.split(" ", 1)) for name in store[f"{group}_names"].tolist()]
        cells = store[f"{group}_cells"].astype(np.float32).reshape(len(names), -1) / 15
        sizes = store[f"{group}_sizes"].astype(np.float32)
        aspect = np.log(sizes[:, 0] / sizes[:, 1])
        rough = _rough(cells)
        square = (rough**2).sum(axis=1)
        named = [(name[0], name[1]) for name in names]
        across = np.ascontiguousarray(-2 * rough.T)
        known = _Known(cells, _coarse(cells), across, sizes[:, 0], sizes[:, 1], sizes[:, 2], aspect, square, named)
        out.append(known.some(np.argsort(sizes[:, 0] if group == "music" else aspect, kind="stable")))
    return out[0], out[1]


def music_sign(shape: Picture, space: float) -> Match:
    """The music sign of this shape and size, given the staff space in the picture's units."""
    known, _ = _known()
    width, height = shape.width / space, shape.height / space
    fits = (np.abs(known.width - width) < 0.22 * known.width + 0.12) & (
        np.abs(known.height - height) < 0.22 * known.height + 0.12
    )
    return _nearest(known, np.nonzero(fits)[0], shape)


def letter(shape: Picture) -> Match:
    """The letter or figure of this shape, whatever its size."""
    _, known = _known()
    aspect = known.aspect - np.log(shape.width / shape.height)
    return _nearest(known, np.nonzero(np.abs(aspect) < ASPECT)[0], shape, 0.12 * np.abs(aspect))


def _coarse(cells: Cells) -> Cells:
    blocks: Cells = cells.reshape(-1, 4, CELLS // 4, 4, CELLS // 4).mean(axis=(2, 4)).reshape(len(cells), -1)
    return blocks


def _rough(cells: Cells) -> Cells:
    fours = cells.reshape(-1, CELLS // 2, 2, CELLS // 2, 2)
    upper, lower = fours[:, :, 0], fours[:, :, 1]
    return (upper[..., 0] + upper[..., 1] + lower[..., 0] + lower[..., 1]).reshape(len(cells), -1)


def _nearest(
    known: _Known, places: npt.NDArray[np.intp], shape: Picture, malus: npt.NDArray[np.float32] | None = None
) -> Match:
    if not len(places):
        return NO_MATCH
    cells = shape.cells.reshape(1, -1)
    if len(places) > CLOSE:
        rough = np.abs(known.coarse[places] - _coarse(cells)).sum(axis=1)
        places = places[np.argpartition(rough, CLOSE)[:CLOSE]]
    off = np.abs(known.cells[places] - cells).mean(axis=1)
    if malus is not None:
        off = off + malus[places]
    at = int(off.argmin())
    n = int(places[at])
    kind, value = known.names[n]
    size = shape.height / float(known.height[n]) if known.height[n] > 0 else 0.0
    return Match(kind, value, float(off[at]), size, float(known.foot[n]) * size)


def nearest_signs(
    cells: Cells,
    widths: npt.NDArray[np.float32],
    heights: npt.NDArray[np.float32],
    space: float,
    within: npt.NDArray[np.float32] | None = None,
) -> list[Match]:
    """The nearest music sign for many pictures (n x 256 cells) at once; sizes in one unit.

    `within`: how near a sign must be to each to matter; where none is, what is found may be no match. None: any is.
    """
    signs, _ = _known()
    wide, high = widths / space, heights / space
    rough = _rough(cells)
    least = _least_square(rough, within)
    out = [NO_MATCH] * len(cells)
    order = np.argsort(wide)
    for mine in (order[n : n + BLOCK] for n in range(0, len(order), BLOCK)):
        first, last = np.searchsorted(signs.width, ((wide[mine[0]] - 0.15) / 1.22, (wide[mine[-1]] + 0.15) / 0.78))
        if first == last:
            continue
        known = signs.some(slice(int(first), int(last)))
        fits = _of_size(known.width, wide[mine, None]) & _of_size(known.height, high[mine, None])
        piece, sign = _first_by_rough(known, rough[mine], fits, least[mine])
        if not len(piece):
            continue
        apart = known.cells[sign]
        apart -= cells[mine[piece]]
        off = np.abs(apart, out=apart).mean(axis=1)
        # Blocks of several rests have one picture, all ink: what is nearest in size is it.
        size = np.abs(known.width[sign] - wide[mine][piece]) + np.abs(known.height[sign] - high[mine][piece])
        nearest = np.argsort(piece + off.astype(np.float64) + ALIKE * size, kind="stable")
        of = piece[nearest]
        best = nearest[np.flatnonzero(np.concatenate(([True], of[1:] != of[:-1])))]
        whose, which = mine[piece[best]], sign[best]
        sizes = heights[whose] / known.height[which]
        feet = known.foot[which] * sizes
        found = zip(whose.tolist(), which.tolist(), off[best].tolist(), sizes.tolist(), feet.tolist(), strict=True)
        for n, at, distance, tall, foot in found:
            kind, value = known.names[at]
            out[n] = Match(kind, value, distance, tall, foot)
    return out


def _of_size(known: npt.NDArray[np.float32], size: npt.NDArray[np.float32]) -> npt.NDArray[np.bool_]:
    """Whether each of these sizes (down) is near each known one's (across)."""
    out: npt.NDArray[np.bool_] = (0.78 * known - 0.15 < size) & (size < 1.22 * known + 0.15)
    return out


def _least_square(rough: Cells, within: npt.NDArray[np.float32] | None) -> npt.NDArray[np.float32]:
    """What the squares of a known sign's rough cells less twice their products with each picture's come to at most
    where the sign is so near: cells differ by at most 1, rough ones by 4, and there are as many as cells."""
    if within is None:
        return np.full(len(rough), np.inf, dtype=np.float32)
    out: npt.NDArray[np.float32] = 4 * CELLS * CELLS * within + SLIGHT - (rough**2).sum(axis=1)
    return out


def _first_by_rough(
    known: _Known, rough: Cells, fits: npt.NDArray[np.bool_], least: npt.NDArray[np.float32]
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """The few known ones that fit and are nearest to each picture in rough cells: pairs of their places; none for a
    picture of which no square is the `least`."""
    square = rough @ known.rough
    square += known.square
    square += np.multiply(~fits, FAR, dtype=np.float32)
    near = np.flatnonzero(square.min(axis=1) <= least)
    if not len(near):
        return near, near
    square = square[near]
    few = min(FEW, square.shape[1])
    most = np.partition(square, few - 1, axis=1)[:, few - 1 : few]
    row, sign = np.divmod(np.flatnonzero(square <= np.minimum(most, FAR / 2)), square.shape[1])
    return near[row], sign
