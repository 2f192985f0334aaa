"""A scanned page as black and white, set straight: background evened, tilt taken out, staves made level.

Places are pixels of the straightened page, y downwards; `Bent.back` leads back to points of the page as displayed.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pymupdf

from collaparte.paper.reading import Box
from collaparte.paper.scans.bits import COLUMN, Bitmap, blank, columns, counted, moved_left, moved_up, packed, write
from collaparte.paper.scans.bits import Dark as Dark
from collaparte.paper.scans.picture import own_picture, pixels

Grey = npt.NDArray[np.uint8]
Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]
Ink = npt.NDArray[np.uint8]
"""Dark pixels in each strip (first) and row."""

DPI = 200.0
"""Pages are looked at in this resolution: a staff line of a 5.5 mm stave (0.13 of a space) is 1.4 px thick."""
LONGEST = 3400
"""A page's long side has at most so many pixels: A3 at 200 dpi, and files whose points are pixels."""
BLOCK = 48
"""The paper's brightness is taken from blocks so wide, in pixels: larger than any sign's ink."""
INK = 0.72
"""Darker than this share of the paper's brightness (with black at 0) is ink."""
DARKEST = 0.12
"""Paper lighter than ink by less than this share of what most of the page is, is none (a desk, a copier's open lid): no
ink is told there, only noise."""
STEEPEST = 0.045
"""Tilts up to this slope are looked for: 2.6 degrees."""
STEP = 8
"""The limit between ink and paper is the same in so many rows."""
BAND = 12 * STEP
"""So many rows are told apart at a time: what is worked out for them stays at hand."""
STRIP, FEW_STRIPS = 32, 8
FEW_SLOPES = 46
ROUGH = 3
"""Slopes are first looked for in rows of so many pixels."""


@dataclass(slots=True)
class Bent:
    """How the straightened page lies on the page as displayed."""

    scale: float
    """Points a pixel."""
    slope: float
    """Rise of what is level on the straightened page, y downwards."""
    lean: float
    """How far what is upright on the straightened page leans to the left, going down."""
    middle: tuple[float, float]
    """The page's middle in pixels, about which it was turned."""
    warp_x: Floats | None = None
    """Middles of columns, and for each the rows' own offsets at `warp_y`: the paper's waves."""
    warp_y: Floats | None = None
    warp: Floats | None = None

    def back(self, x: float, y: float) -> tuple[float, float]:
        """Points of the page as displayed for points of the straightened page."""
        x, y = x / self.scale, y / self.scale
        if self.warp is not None and self.warp_x is not None and self.warp_y is not None:
            column = int(np.clip(np.searchsorted(self.warp_x, x), 1, len(self.warp_x) - 1))
            low, high = self.warp_x[column - 1], self.warp_x[column]
            share = min(max((x - low) / (high - low), 0.0), 1.0)
            before, after = (float(np.interp(y, self.warp_y, self.warp[:, c])) for c in (column - 1, column))
            y += before * (1 - share) + after * share
        x -= self.lean * (y - self.middle[1])
        y += self.slope * (x - self.middle[0])
        return float(x * self.scale), float(y * self.scale)

    def box_back(self, box: Box) -> Box:
        """The box round the same ink on the page as displayed: its middle turned back, its size kept."""
        x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
        at_x, at_y = self.back(x, y)
        return (box[0] - x + at_x, box[1] - y + at_y, box[2] - x + at_x, box[3] - y + at_y)


def grey_page(page: pymupdf.Page) -> tuple[Grey, float]:
    """The page as displayed in grey, and its points a pixel."""
    zoom = min(DPI / 72, LONGEST / max(page.rect.width, page.rect.height, 1.0))
    picture = own_picture(page, zoom)
    if picture is None:
        picture = page.get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), colorspace=pymupdf.csGRAY, alpha=False)
    return pixels(picture), 1 / zoom


def darkness(grey: Grey) -> Bitmap:
    """Where there is ink, whatever the shadows on the paper."""
    height, width = grey.shape
    if height < 2 * BLOCK or width < 2 * BLOCK:
        return Bitmap(packed(grey < 128), width)
    paper = _paper(grey)
    rows, columns = paper.shape
    darkest = _darkest(grey[::7, ::7], 0.01)
    floor = min(darkest, 0.4 * float(np.median(paper)))
    lighter = paper - floor
    limits = np.where(lighter < DARKEST * np.percentile(lighter, 90), 0, floor + INK * lighter)
    left, share = _between(width, 1, columns)
    wide = limits[:, left] * (1 - share) + limits[:, left + 1] * share
    top, share = _between(height, STEP, rows)
    steps = np.arange(len(top))
    # The share of each block's limit in each step's: few are not 0, so bands are multiplied with few blocks.
    shares = np.zeros((len(top), rows), dtype=np.float32)
    shares[steps, top], shares[steps, top + 1] = 1 - share, share
    out = blank(height, width)
    for y in range(0, height, BAND):
        band, its = grey[y : y + BAND], slice(y // STEP, (y + BAND) // STEP)
        near = slice(top[its][0], top[its][-1] + 2)
        limit = (shares[its, near] @ wide[near]).astype(np.uint8)
        write(out, y, band < limit.repeat(STEP, axis=0)[: len(band)])
    return out


def _darkest(grey: Grey, share: float) -> float:
    """The brightness that this share of the pixels is darker than, or as dark as."""
    many = np.cumsum(np.bincount(grey.ravel(), minlength=256))
    place = share * (many[-1] - 1)
    low, high = np.searchsorted(many, (int(place) + 1, int(place) + 2)).tolist()
    return float(low + (high - low) * (place - int(place)))


@lru_cache(maxsize=16)  # a part's pages are of one size
def _between(length: int, step: int, blocks: int) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.float32]]:
    """For every `step` pixels: the block whose middle is before theirs, and how far they are on the way to the next."""
    middles = np.arange(0, length, step) + (step / 2 if step > 1 else 0.0)
    place = np.clip((middles - BLOCK / 2) / BLOCK, 0, blocks - 1)
    first = np.minimum(place.astype(np.intp), blocks - 2)
    return first, (place - first).astype(np.float32)


def _paper(grey: Grey) -> npt.NDArray[np.float32]:
    """The paper's brightness in each block: what most of its lighter half has; inky blocks take their neighbours'."""
    step = 4
    rows, columns = -(-grey.shape[0] // BLOCK), -(-grey.shape[1] // BLOCK)
    few = grey[step // 2 :: step, step // 2 :: step]
    side = BLOCK // step
    height, width = few.shape
    # Numbers of 16 bits are sorted several times as fast as those of 8.
    padded = np.empty((rows * side, columns * side), dtype=np.uint16)
    padded[:height, :width] = few
    padded[:height, width:] = few[:, -1:]
    padded[height:] = padded[height - 1]
    blocks = padded.reshape(rows, side, columns, side).swapaxes(1, 2).reshape(rows, columns, -1)
    most = int(0.8 * blocks.shape[2])
    blocks.partition(most, axis=2)
    paper = blocks[:, :, most].astype(np.float32)
    around = np.pad(paper, 1, mode="edge")
    near = np.stack([around[i : i + rows, j : j + columns] for i in range(3) for j in range(3)])
    near.partition(4, axis=0)
    out: npt.NDArray[np.float32] = np.maximum(paper, near[4])
    return out


def tilt(dark: Bitmap, about: float = 0.0, reach: float = STEEPEST) -> float:
    """The slope of the page's level lines, y downwards: the one at which ink gathers in the fewest rows."""
    strips = dark.width // STRIP
    return _steepness(np.ascontiguousarray(counted(dark.bits, STRIP)[:, :strips].T), dark.width, about, reach)


def leaning(dark: Bitmap, slope: float) -> float:
    """How much upright strokes lean: looked for near `slope`, since the sheet was turned as a whole."""
    height, width = dark.shape
    ink = np.empty((height // STRIP, width), dtype=np.uint8)
    for n in range(0, len(ink), FEW_STRIPS):
        some = ink[n : n + FEW_STRIPS]
        rows = dark.rows(STRIP * n, STRIP * (n + len(some))).view(np.uint8)
        np.add.reduce(rows.reshape(len(some), STRIP, width), axis=1, dtype=np.uint8, out=some)
    return -_steepness(ink, height, -slope, 0.03)


def _steepness(ink: Ink, length: int, about: float, reach: float) -> float:
    """The slope at which ink gathers in the fewest rows: ink in strips of a page so long, by rows."""
    strips, rows = ink.shape
    x = (np.arange(strips) + 0.5) * STRIP - length / 2
    step = 2 * STEEPEST / FEW_SLOPES
    most = math.ceil((abs(about) + reach + 2 * step) * length / 2)
    several = [ink[:, n : rows // ROUGH * ROUGH : ROUGH] for n in range(ROUGH)]
    rough = _Sheared(np.add.reduce(several, dtype=np.uint8), most)
    slopes = np.arange(about - reach, about + reach + step / 2, step)
    best = slopes[np.argmax(rough.sharpness(np.multiply.outer(slopes, x) / ROUGH))]
    slopes = np.linspace(best - step, best + step, 15)
    return float(slopes[np.argmax(_Sheared(ink, most).sharpness(np.multiply.outer(slopes, x)))])


class _Sheared:
    """Ink in strips (first) and rows, to be looked at with the strips shifted by at most `most` rows."""

    def __init__(self, ink: Ink, most: int) -> None:
        strips, rows = ink.shape
        self._most, self._wide = most, rows + 2 * most
        # Ink in all strips before each: strips that are shifted alike are taken together.
        before = np.zeros((strips + 1, self._wide), dtype=np.int16)
        before[1:, most : most + rows] = ink
        for one, next_one in pairwise(before):  # an eighth of what `cumsum` takes down the rows
            next_one += one
        self._rows = np.lib.stride_tricks.sliding_window_view(before.ravel(), rows)

    def sharpness(self, shifts: Floats) -> list[float]:
        """How uneven the rows' ink is when strips are shifted: once for each row of shifts."""
        each, first, last, shift = _alike(shifts)
        begins, ends = first * self._wide + self._most + shift, last * self._wide + self._most + shift
        out = []
        for low, high in pairwise(np.searchsorted(each, np.arange(len(shifts) + 1)).tolist()):
            total = np.add.reduce(self._rows[ends[low:high]], axis=0, dtype=np.int16)
            total -= np.add.reduce(self._rows[begins[low:high]], axis=0, dtype=np.int16)
            uneven = total.astype(np.float32)
            out.append(float(np.dot(uneven, uneven)))
        return out


def level(dark: Bitmap, slope: float) -> Bitmap:
    """The page with what rose by `slope` made level, by columns."""
    return moved_up(dark, runs(slope * (np.arange(dark.width) - dark.width / 2)))


def upright(dark: Bitmap, lean: float) -> Bitmap:
    """The page with what leaned made upright, by rows."""
    height = len(dark.bits)
    return moved_left(dark, runs(-lean * (np.arange(height) - height / 2)))


def runs(shifts: npt.NDArray[np.floating]) -> list[tuple[int, int, int]]:
    """Stretches of one whole shift: from, to, shift."""
    _, first, last, shift = _alike(shifts[None])
    return list(zip(first.tolist(), last.tolist(), shift.tolist(), strict=True))


def _alike(shifts: npt.NDArray[np.floating]) -> tuple[Whole, Whole, Whole, Whole]:
    """Stretches of one whole shift in rows of shifts: which row, from, to, shift."""
    whole = np.rint(shifts).astype(np.intp)
    begins = np.ones(whole.shape, dtype=np.bool_)
    np.not_equal(whole[:, 1:], whole[:, :-1], out=begins[:, 1:])
    each, first = begins.nonzero()
    last = np.append(first[1:], 0)
    last[last == 0] = whole.shape[1]
    return each, first, last, whole[each, first]


def levelled(dark: Bitmap, bent: Bent) -> Bitmap:
    """The page with its waves taken out, by columns."""
    if bent.warp is None or bent.warp_x is None or bent.warp_y is None:
        return dark
    height, width = dark.shape
    out = blank(height, width)
    rows = np.arange(height)
    many = len(bent.warp_x)
    for column in range(-(-width // COLUMN)):
        source = np.rint(rows + np.interp(rows, bent.warp_y, bent.warp[:, min(column, many - 1)])).astype(int)
        first, last = np.searchsorted(source, (0, height))
        columns(out.bits)[first:last, column] = columns(dark.bits)[source[first:last], column]
    return out
