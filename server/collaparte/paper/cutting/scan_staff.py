"""Staff lines and barlines taken out of a scanned line's ink: they are drawn anew."""

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts

LINE = 0.3
"""A staff line's ink lies within so many spaces of where the line was read, and is no thicker."""
OFF = 0.25
"""Lines were read so near to where they are, in spaces (one part of a hundred of a stave's height)."""
STRETCH = 6.0
"""A line is as thick for so many spaces."""
ARCH = 1.2
"""An arch is no wider than so many spaces where it lies on a line."""
LEFT_OVER = 2
"""What is left of a staff line is no thicker than the line by so many pixels."""
LONG = 1.5
"""What is hardly thicker than the line for so many spaces is the line."""
BARLINE = (0.15, 0.4)
"""A barline's soft edge and how far it stands out over the stave, in spaces."""
UPRIGHT, ASIDE = 0.5, 0.35
"""A column of pixels with so much ink within the stave is the barline's too, up to so many spaces beside it."""
ACROSS = 2
"""What goes on on both sides of a barline, no more than so many pixels higher or lower, goes over it."""

Rows = npt.NDArray[np.intp]


def settled(ink: Dark, lines: Sequence[float], space: float) -> list[float]:
    """The rows of staff lines that were read a little off their ink; `space` in pixels."""
    reach = round(OFF * space)
    out = []
    for y in lines:
        first = max(round(y) - reach, 0)
        many = ink[first : round(y) + reach + 1].sum(axis=1)
        rows = np.flatnonzero(many > many.max(initial=0) / 2)
        out.append(first + float(rows.mean()) if len(rows) and rows[-1] - rows[0] <= LINE * space else y)
    return out


def without_staff(ink: Dark, lines: Sequence[float], barlines: Sequence[tuple[float, float]], space: float) -> float:
    """Take the staff lines (rows, as `space` in pixels) out of `ink` where nothing else stands on them; how thick they
    are. `barlines` (left, right) are nothing that a line is an arch to."""
    reach = round(LINE * space)
    bands = [ink[y - 2 * reach : y + 2 * reach + 1] for y in map(round, lines) if 2 * reach <= y < len(ink) - 2 * reach]
    runs = [_runs(band, reach) for band in bands]
    thick = np.concatenate([low - high for high, low in runs]) if runs else np.zeros(0, np.intp)
    usual = float(np.median(thick[thick > 0])) if (thick > 0).any() else 1.0
    ruled = np.zeros(ink.shape[1], np.bool_)
    for x0, x1 in barlines:
        ruled[max(round(x0 - ASIDE * space), 0) : max(round(x1 + ASIDE * space) + 1, 0)] = True
    for band, (high, low) in zip(bands, runs, strict=True):
        rows = np.arange(len(band))[:, None]
        bare = _bare(low - high, _thickness(low - high, usual, space), ruled, space)
        band &= ~((rows >= high) & (rows < low) & bare)
    return usual


def _thickness(thick: Rows, usual: float, space: float) -> Rows:
    """How thick a line is at each column, by what is around: it lies on more rows of pixels here than there."""
    some = np.where((thick > 0) & (thick <= usual + 2), thick.astype(np.float64), np.nan)
    step = round(STRETCH * space)
    out = np.empty(len(thick), np.intp)
    for a in range(0, len(thick), step):
        near = some[max(a - step // 2, 0) : a + step + step // 2]
        near = near[~np.isnan(near)]
        out[a : a + step] = round(float(np.median(near))) if len(near) else round(usual)
    return out


def _bare(thick: Rows, usual: Rows, ruled: Dark, space: float) -> Dark:
    """Where there is nothing but the line: it is no thicker than usual, or a pixel more, unless that is a short way
    from one thing that stands on it to another (the arch of a head or a figure, not of a barline: `ruled`), or two for
    a long way."""
    bare: Dark = (thick > 0) & (thick <= usual + 1)
    for a, b in _stretches(bare):
        between = a > 0 and b < len(thick) and thick[a - 1] > usual[a - 1] + 1 and thick[b] > usual[b] + 1
        if between and b - a < ARCH * space and not (ruled[a - 1] or ruled[b]):
            bare[a:b] = thick[a:b] <= usual[a:b]
    for a, b in _stretches((thick > 0) & (thick <= usual + 2)):
        if b - a > LONG * space:
            bare[a:b] = True
    return bare


def _stretches(which: npt.NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], which, [False])).astype(np.int8)))
    yield from zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)


def _runs(band: Dark, reach: int) -> tuple[Rows, Rows]:
    """For each column the rows between which ink runs through the band's middle, or near it; none: the same row."""
    middle, last = len(band) // 2, len(band) - 1
    columns = np.arange(band.shape[1])
    at = np.full(band.shape[1], -1, np.intp)
    for off in sorted(range(-reach // 2, reach // 2 + 1), key=abs, reverse=True):
        at = np.where(band[middle + off], middle + off, at)
    high, low = at.copy(), at.copy()
    up = down = at >= 0
    for _ in range(len(band)):
        up = up & (high > 0) & band[np.maximum(high - 1, 0), columns]
        high = high - up
        down = down & (low < last) & band[np.minimum(low + 1, last), columns]
        low = low + down
    return high, np.where(at >= 0, low + 1, high)


def without_barlines(
    ink: Dark, stave: tuple[float, float], barlines: Sequence[tuple[float, float]], space: float
) -> None:
    """Take barlines (left, right) out of `ink`, but for slurs and hairpins that go over them; all in pixels."""
    soft, out = (share * space for share in BARLINE)
    first, end = max(round(stave[0] - out), 0), round(stave[1] + out) + 1
    upright = ink[round(stave[0]) : round(stave[1])].mean(axis=0) > UPRIGHT
    for x0, x1 in barlines:
        left, right = max(round(x0 - soft), 1), min(round(x1 + soft) + 1, ink.shape[1] - 1)
        if right <= left:  # the sheet's dark edge was taken for one
            continue
        for _ in range(round(ASIDE * space)):
            left -= left > 1 and bool(upright[left - 1])
            right += right < ink.shape[1] - 1 and bool(upright[right])
        over = _near(ink[first:end, left - 1]) & _near(ink[first:end, right])
        ink[first:end, left:right] &= over[:, None]


def without_joined(
    ink: Dark, between: tuple[float, float], barlines: Sequence[tuple[float, float]], space: float
) -> None:
    """Take the strokes of barlines out of `ink` between two staves that they join, as `without_barlines`."""
    soft, out = (round(share * space) for share in BARLINE)
    first, end = round(between[0]) + out, round(between[1]) - out + 1
    if end <= first:
        return
    upright = ink[first:end].mean(axis=0) > UPRIGHT
    for x0, x1 in barlines:
        a, b = max(round(x0) - soft, 2), min(round(x1) + soft + 1, ink.shape[1] - 2)
        for left, right in _stretches(upright[a:b]):
            left, right = a + left - 1, a + right + 1
            over = _near(ink[first:end, left - 1]) & _near(ink[first:end, right])
            ink[first:end, left:right] &= over[:, None]


def _near(column: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Whether there is ink at a row or near it."""
    out = column.copy()
    for k in range(1, ACROSS + 1):
        out[k:] |= column[:-k]
        out[:-k] |= column[k:]
    return out


def left_over(parts: Parts, lines: Sequence[float], thick: float) -> npt.NDArray[np.bool_]:
    """Which parts are bits of staff lines where these are thicker than elsewhere."""
    away = np.abs(np.subtract.outer((parts.y0 + parts.y1 - 1) / 2, lines)).min(axis=1)
    out: npt.NDArray[np.bool_] = (away <= thick) & (parts.y1 - parts.y0 <= thick + LEFT_OVER)
    return out
