"""Staves on a straightened scan: five thin level lines, evenly spaced, followed from column to column."""

from collections.abc import Sequence
from itertools import pairwise
from statistics import median
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.bits import COLUMN, Bitmap, counted, either, runs_down, unpacked
from collaparte.paper.scans.page import Floats
from collaparte.paper.sight.staves import StaveLines

PITCHES = (6, 70)
"""Staff spaces in pixels that are looked for."""
FOUND = 3.1
"""A column shows a stave when its five lines, less half of what lies just outside them, come to this."""
SHORTEST = 8.0
"""A stave is longer than this many spaces (as on engraved pages)."""
UNBENT = 1.05
"""Waves of so few pixels are left alone."""
FARTHEST = 14
"""A stave is followed over so many columns in which it is not seen."""
GAP = 2.5
"""Where for more than this many spaces hardly one of five lines is seen, a stave ends."""
INKED = 0.9
"""A stave does not end where more than this share of the columns behind has ink: its lines run off their rows there."""
ENDS = 5
"""So many columns at the ends of two trails tell whether they are level."""
APART = 5.2
"""Middle lines nearer than this, in spaces, are not of two staves: ledger lines on a row look like one."""
LINED = 0.3
"""Where lines are, their rows have more ink than those between them by at least this share."""
OFF = 0.8
"""What stands further than this from a stave, in spaces, is no part of it unless it has lines."""
LEAST = 0.45
"""A stave is seen in at least this share of its columns."""
FADED, LEFT = 0.85, 0.2
"""Where less than the first of a stave is seen its print has faded, and it is torn, not cut in two, where at least the
second of the columns between its pieces has ink on its lines (0.29 to 0.71 of five)."""
SPECK, DIM = 20.0, 0.8
"""What is shorter than so many spaces and seen so much less than the page's best stave is none."""


Columns = npt.NDArray[np.intp]


class Trail(NamedTuple):
    """A stave followed over the page: column numbers and the row of its middle line there."""

    columns: npt.NDArray[np.intp]
    rows: Floats

    @property
    def middle(self) -> float:
        """The row about which it lies."""
        return float(median(self.rows.tolist()))


class ScannedStave(NamedTuple):
    """A stave on the levelled page, in pixels."""

    lines: tuple[float, ...]
    x0: float
    x1: float
    space: float
    seen: float
    """The share of its lines' length where ink was found."""

    @property
    def top(self) -> float:
        return self.lines[0]

    @property
    def bottom(self) -> float:
        return self.lines[-1]

    def in_points(self, scale: float, thick: int) -> StaveLines:
        """The same in points, `scale` to a pixel."""
        lines = tuple(float(y) * scale for y in self.lines)
        return StaveLines(
            lines,
            float(self.x0) * scale,
            float(self.x1) * scale,
            float(self.space) * scale,
            thick * scale,
            lines[0],
            lines[-1],
        )


def thickness_and_pitch(dark: Bitmap) -> tuple[int, float] | None:
    """The commonest thickness of lines and distance from line to line, in pixels; None when there is no such rhythm."""
    height, width = dark.shape
    few = np.arange(2, width, 5)
    eighths = np.zeros((8 * dark.bits.shape[1], height + 2), dtype=np.uint8)
    eighths[:, 1:-1] = dark.bits.view(np.uint8).T
    ink = eighths[few >> 3]
    ink &= (1 << (few & 7)).astype(np.uint8)[:, None]
    edges = np.flatnonzero(ink.ravel()[1:] != ink.ravel()[:-1])
    starts, ends = edges[::2], edges[1::2]
    if len(starts) < 100:
        return None
    runs = ends - starts
    pitches = np.diff(starts)
    low, high = PITCHES
    counts = np.bincount(pitches[(pitches >= low) & (pitches <= high)], minlength=high + 2).astype(float)
    smooth = counts.copy()
    smooth[1:-1] += 0.7 * (counts[:-2] + counts[2:])
    best = int(smooth.argmax())
    near = slice(max(best - 1, 0), best + 2)
    if smooth[best] < 0.02 * len(starts) or counts[near].sum() < 60:
        return None
    pitch = float((counts[near] * np.arange(near.start, near.start + len(counts[near]))).sum() / counts[near].sum())
    thin = np.bincount(runs[runs < 0.5 * pitch], minlength=3)
    return int(thin[1:].argmax()) + 1, pitch


def trails(dark: Bitmap, thick: int, pitch: float) -> list[Trail]:
    """All staves followed from column to column, from the top."""
    columns = dark.width // COLUMN
    thin = dark.bits & ~runs_down(dark.bits, max(thick + 2, round(0.35 * pitch)))
    inked = np.ascontiguousarray(counted(thin, COLUMN)[:, :columns].T)
    rows = inked.copy()
    rows[:, 1:] += inked[:, :-1]
    rows[:, :-1] += inked[:, 1:]
    found = _comb(np.minimum(rows, COLUMN), pitch)
    kept = [
        Trail(np.array(columns), np.array(rows))
        for columns, rows in _followed(_peaks(found, pitch), max(2, round(0.2 * pitch)))
        if len(columns) * COLUMN > 0.35 * SHORTEST * pitch
    ]
    whole = _joined(sorted(kept, key=lambda t: t.middle), pitch)
    return [
        t
        for t in whole
        if (t.columns[-1] - t.columns[0] + 1) * COLUMN > SHORTEST * pitch
        and len(t.columns) > LEAST * (t.columns[-1] - t.columns[0] + 1)
    ]


def _followed(found: Sequence[Sequence[float]], reach: int) -> list[tuple[list[int], list[float]]]:
    """Peaks of each column followed to the nearest of the next, at most `reach` rows off: columns and rows."""
    ended: list[tuple[list[int], list[float]]] = []
    going: list[tuple[list[int], list[float]]] = []
    for column, peaks in enumerate(found):
        if any(column - columns[-1] > FARTHEST for columns, _ in going):
            ended += [trail for trail in going if column - trail[0][-1] > FARTHEST]
            going = [trail for trail in going if column - trail[0][-1] <= FARTHEST]
        for row in peaks:
            best, least = None, reach + 0.08 * FARTHEST + 1
            for trail in going:
                off = trail[1][-1] - row
                if -least < off < least and (gap := column - trail[0][-1]) and abs(off) <= reach + 0.08 * gap:
                    best, least = trail, abs(off)
            if best is None:
                going.append(([column], [row]))
            else:
                best[0].append(column)
                best[1].append(row)
    return ended + going


def _comb(rows: npt.NDArray[np.uint8], pitch: float) -> npt.NDArray[np.int16]:
    """For each column and row: twice the ink of five lines about it, less that of the two that would be outside."""
    height = rows.shape[1]
    on, outside = np.zeros_like(rows), np.zeros_like(rows)
    for step in range(-3, 4):
        shift = round(step * pitch)
        low, high = max(0, -shift), min(height, height - shift)
        held = outside if abs(step) == 3 else on
        held[:, low:high] += rows[:, low + shift : high + shift]
    return np.subtract(2 * on, outside, dtype=np.int16)


def _peaks(found: npt.NDArray[np.int16], pitch: float) -> list[list[float]]:
    """For each column (first) the rows where a stave's middle line is seen, at least four spaces apart."""
    columns, height = found.shape
    over = np.zeros((columns, height + 2), dtype=np.bool_)
    np.greater(found, int(2 * COLUMN * FOUND), out=over[:, 1:-1])
    edges = np.flatnonzero(over.ravel()[1:] != over.ravel()[:-1])
    out: list[list[float]] = [[] for _ in range(columns)]
    if not len(edges):
        return out
    column, row = np.divmod(np.flatnonzero(over), height + 2)
    row -= 1
    values = found[column, row]
    lengths = edges[1::2] - edges[::2]
    first = np.cumsum(lengths) - lengths
    most = np.maximum.reduceat(values, first)
    top = values == np.repeat(most, lengths)
    middles = np.add.reduceat(np.where(top, row, 0), first) / np.add.reduceat(top, first, dtype=np.intp)
    best = 0.0
    for at, middle, value in zip(column[first].tolist(), middles.tolist(), most.tolist(), strict=True):
        rows = out[at]
        if rows and middle - rows[-1] < 3.5 * pitch:
            if value > best:
                rows[-1], best = middle, value
            continue
        rows.append(middle)
        best = value
    return out


def _joined(found: list[Trail], pitch: float) -> list[Trail]:
    """Trails of one stave that notes had torn apart, as one; of two over one another the longer."""
    out: list[tuple[Trail, float]] = []
    for trail in sorted(found, key=lambda t: -len(t.columns)):
        middle = trail.middle
        for n, (other, others) in enumerate(out):
            if abs(middle - others) < APART * pitch:
                apart = trail.columns[0] > other.columns[-1] or trail.columns[-1] < other.columns[0]
                near = min(abs(middle - others), _step_between(other, trail)) < 1.5 * pitch
                if apart and near:
                    one = _as_one(other, trail, pitch)
                    out[n] = one, one.middle
                if not apart or near:
                    break
        else:
            out.append((trail, middle))
    return [trail for trail, _ in sorted(out, key=lambda pair: pair[1])]


def _step_between(one: Trail, other: Trail) -> float:
    """How far apart in rows the nearer ends of two trails lie: a steep piece lies far off the whole's middle."""
    first, last = (one, other) if one.columns[0] < other.columns[0] else (other, one)
    return abs(float(first.rows[-1]) - float(last.rows[0]))


def _as_one(longer: Trail, shorter: Trail, pitch: float) -> Trail:
    """Two trails of one stave end to end; the shorter may have followed ledger lines, whole spaces off."""
    before = shorter.columns[0] < longer.columns[0]
    on = -1 if before else 1

    def middle(trail: Trail, part: slice) -> tuple[float, float]:
        return float(np.median(trail.columns[::on][part])), float(np.median(trail.rows[::on][part]))

    (x, y), (next_x, next_y) = middle(longer, slice(-ENDS, None)), middle(shorter, slice(ENDS))
    rise = 0.0
    if len(longer.columns) >= 2 * ENDS:
        earlier_x, earlier_y = middle(longer, slice(-2 * ENDS, -ENDS))
        rise = (y - earlier_y) / (x - earlier_x)
    off = next_y - y - rise * (next_x - x)
    shorter = Trail(shorter.columns, shorter.rows - round(off / pitch) * pitch)
    both = (shorter, longer) if before else (longer, shorter)
    return Trail(*(np.concatenate([getattr(t, f) for t in both]) for f in ("columns", "rows")))


def waves(found: list[Trail], shape: tuple[int, int]) -> tuple[Floats, Floats, Floats] | None:
    """Middles of columns, rows, and how far each row's ink lies lower in each column; None when nothing is bent."""
    columns = shape[1] // COLUMN
    middles = np.array([t.middle for t in found])
    offsets = np.zeros((len(found), columns))
    for n, trail in enumerate(found):
        smooth = _smoothed(trail.rows)
        offsets[n] = np.interp(np.arange(columns), trail.columns, smooth) - middles[n]
    if np.abs(offsets).max() < UNBENT:
        return None
    x: Floats = (np.arange(columns, dtype=np.float64) + 0.5) * COLUMN
    return x, middles, offsets


def _smoothed(rows: Floats) -> Floats:
    """Rows without leaps: the median of five, then the mean of seven."""
    if len(rows) < 9:
        return np.full(len(rows), float(np.median(rows)))
    wide = np.concatenate((rows[:1], rows[:1], rows, rows[-1:], rows[-1:]))
    middle = np.sort(np.stack([wide[n : n + len(rows)] for n in range(5)]), axis=0)[2]
    before, after = 2 * middle[0] - middle[3:0:-1], 2 * middle[-1] - middle[-2:-5:-1]
    wide = np.concatenate((before, middle, after))
    out: Floats = np.stack([wide[n : n + len(rows)] for n in range(7)]).mean(axis=0)
    return out


def measured(dark: Bitmap, found: list[Trail], thick: int, pitch: float) -> list[ScannedStave]:
    """The staves of a levelled page: their lines' rows, their ends, split where they stop and begin again."""
    out: list[ScannedStave] = []
    for trail in found:
        middle = trail.middle
        x0, x1 = int(trail.columns[0]) * COLUMN, int(trail.columns[-1] + 1) * COLUMN
        lines = _lines(dark, (x0, x1), middle, thick, pitch)
        if lines is None:
            continue
        space = (lines[-1] - lines[0]) / 4
        for left, right, seen in _stretches(dark, lines, space, thick):
            if left < x1 + 3 * space and right > x0 - 3 * space:
                out.append(ScannedStave(lines, left, right, space, seen))
    return _without_ghosts(out)


def _without_ghosts(found: list[ScannedStave]) -> list[ScannedStave]:
    """Staves without those that lie in the rows of one that is seen better, or that are specks."""
    best = max((stave.seen for stave in found), default=0.0)

    def is_ghost(one: ScannedStave) -> bool:
        return (one.x1 - one.x0 < SPECK * one.space and one.seen < DIM * best) or any(
            other.seen > one.seen and _level_with(one, other) and one.x0 < other.x1 and other.x0 < one.x1
            for other in found
        )

    return [stave for stave in found if not is_ghost(stave)]


def _level_with(one: ScannedStave, other: ScannedStave) -> bool:
    return one.top < other.bottom and other.top < one.bottom


def _lines(dark: Bitmap, across: tuple[int, int], middle: float, thick: int, pitch: float) -> tuple[float, ...] | None:
    """The five rows, evenly spaced, that hold the most ink near where they are looked for; `across`: whole columns."""
    low = int(middle - 2.8 * pitch)
    high = int(middle + 2.8 * pitch) + 2
    if low < 0 or high > len(dark.bits):
        return None
    x0, x1 = across
    ink = counted(dark.bits[low:high], COLUMN)[:, x0 // COLUMN : x1 // COLUMN].sum(axis=1, dtype=np.intp) / (x1 - x0)
    wide = max(1, thick)
    ink = np.convolve(ink, np.ones(wide) / wide, mode="same")
    shift = 0.0 if wide % 2 else -0.5
    spaces = np.linspace(0.96 * pitch, 1.04 * pitch, 9)
    centres = np.arange(middle - low - 0.4 * pitch, middle - low + 0.4 * pitch, 0.25)
    steps = spaces[:, None, None] * np.arange(-2, 3)
    rows = centres[None, :, None] + steps  # all within what was counted
    above = rows.astype(np.intp)
    held = (np.diff(ink)[above] * (rows - above) + ink[above]).sum(axis=2)
    space, centre = np.unravel_index(held.argmax(), held.shape)
    return tuple(float(low + centres[centre] + spaces[space] * k + shift) for k in range(-2, 3))


def _stretches(dark: Bitmap, lines: tuple[float, ...], space: float, thick: int) -> list[tuple[float, float, float]]:
    """Where a stave runs, from left to right: its ends, and the share of its lines that is seen."""
    reach = max(1, thick // 2)
    middles = [(one + other) / 2 for one, other in pairwise(lines)]
    strips = np.stack([either(dark.bits[round(y) - reach : round(y) + reach + 1]) for y in (*lines, *middles)])
    each = unpacked(strips, dark.width)
    covered = each[: len(lines)].sum(axis=0)
    wide = max(3, int(space))
    near = np.convolve(covered, np.ones(wide) / wide, mode="same")
    there = np.flatnonzero(near >= 1.2)
    if not len(there):
        return []
    out: list[tuple[float, float, float]] = []
    between = each[len(lines) :].sum(axis=0)
    contrast: Floats = covered / len(lines) - between / len(middles)
    gaps = [n for n in np.flatnonzero(np.diff(there) > GAP * space) if not _inked(dark, lines, *there[n : n + 2])]
    for group in np.split(there, np.array(gaps, dtype=np.intp) + 1):
        inked = group[covered[group] >= 3]
        if not len(inked):
            continue
        inked = _without_edges(inked, contrast, space)
        x0, x1 = int(inked[0]), int(inked[-1]) + 1
        seen = float(np.minimum(covered[x0:x1], 5).mean() / 5)
        if x1 - x0 > 0.5 * SHORTEST * space and seen > 0.5:
            if out and min(seen, out[-1][2]) < FADED and float((covered[int(out[-1][1]) : x0] > 0).mean()) > LEFT:
                x0 = int(out.pop()[0])
                seen = float(np.minimum(covered[x0:x1], 5).mean() / 5)
            out.append((float(x0), float(x1), seen))
    return out


def _inked(dark: Bitmap, lines: tuple[float, ...], left: int, right: int) -> bool:
    """Whether there is ink nearly all the way between two columns: lines that run a little off, not bare paper."""
    ink = either(dark.bits[round(lines[0]) : round(lines[-1]) + 1])
    return float(unpacked(ink[None], dark.width)[0, left:right].mean()) > INKED


def _without_edges(inked: Columns, contrast: Floats, space: float) -> Columns:
    """A stave's columns without what stands off it at its ends: a scan's dark edge has ink on and between the lines."""
    pieces = np.split(inked, np.flatnonzero(np.diff(inked) > OFF * space) + 1)
    drawn = [n for n, piece in enumerate(pieces) if float(contrast[piece].mean()) > LINED]
    return np.concatenate(pieces[drawn[0] : drawn[-1] + 1]) if drawn else inked
