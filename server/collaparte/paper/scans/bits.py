"""A page of black and white as bits, 64 pixels a word: a whole page costs an eighth of what it costs in bytes."""

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Dark = npt.NDArray[np.bool_]
Bits = npt.NDArray[np.uint64]
"""Rows of words; a word's lowest bit is its leftmost pixel, what is beyond the page's width is paper."""
Places = npt.NDArray[np.intp]
WORD = 64
COLUMN = 16
"""Ink is counted in columns so wide, in pixels."""
_WORDS = np.dtype("<u8")


class Bitmap(NamedTuple):
    """A page as bits, with at least one of paper at the end of each row, and its width in pixels."""

    bits: Bits
    width: int

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns in pixels."""
        return len(self.bits), self.width

    def rows(self, y0: int, y1: int) -> Dark:
        """Some rows (as slices are), a pixel a byte."""
        return unpacked(self.bits[y0:y1], self.width)

    def box(self, x0: int, y0: int, x1: int, y1: int) -> Dark:
        """A box of the page, a pixel a byte; `x0` and `y0` are not negative."""
        first = x0 // WORD
        x1 = min(x1, self.width)
        few = unpacked(self.bits[y0:y1, first : (x1 - 1) // WORD + 1], x1 - WORD * first)
        return few[:, x0 - WORD * first :]


def blank(height: int, width: int) -> Bitmap:
    """A page of paper."""
    return Bitmap(np.zeros((height, width // WORD + 1), dtype=_WORDS), width)


def packed(dark: Dark) -> Bits:
    """The page as bits, with at least one of paper at the end of each row."""
    page = blank(*dark.shape)
    write(page, 0, dark)
    return page.bits


def write(page: Bitmap, y0: int, dark: Dark) -> None:
    """Put rows into a page from `y0` on."""
    few = np.packbits(dark, axis=1, bitorder="little")
    page.bits[y0 : y0 + len(dark)].view(np.uint8)[:, : few.shape[1]] = few


def unpacked(bits: Bits, width: int) -> Dark:
    """The page as it was packed."""
    out: Dark = np.unpackbits(bits.view(np.uint8), axis=1, count=width, bitorder="little").view(np.bool_)
    return out


def wipe(bits: Bits, x0: int, y0: int, x1: int, y1: int) -> None:
    """Make a box of the page paper; `x0` and `y0` are not negative."""
    first, inside = between(x0, x1)
    bits[y0:y1, first : first + len(inside)] &= ~inside[: bits.shape[1] - first]


def between(x0: int, x1: int) -> tuple[int, Bits]:
    """The words that hold the pixels from `x0` to before `x1`: which is the first, and these pixels in them."""
    first, last = x0 // WORD, (x1 - 1) // WORD + 1
    inside = ((1 << max(x1 - x0, 0)) - 1) << (x0 - WORD * first)
    return first, np.frombuffer(inside.to_bytes(8 * (last - first), "little"), dtype=_WORDS)


def moved_up(page: Bitmap, runs: Iterable[tuple[int, int, int]]) -> Bitmap:
    """The page with stretches of columns (from, to) moved up by so many pixels."""
    out = blank(*page.shape)
    height = len(page.bits)
    for x0, x1, shift in runs:
        first, inside = between(x0, x1)
        words = slice(first, first + len(inside))
        low, high = max(0, -shift), min(height, height - shift)
        out.bits[low:high, words] |= page.bits[low + shift : high + shift, words] & inside
    return out


def moved_left(page: Bitmap, runs: Iterable[tuple[int, int, int]]) -> Bitmap:
    """The page with stretches of rows (from, to) moved left by so many pixels."""
    out = blank(*page.shape)
    many = page.bits.shape[1]
    for y0, y1, shift in runs:
        words, step = divmod(shift, WORD)
        # A word's last pixels come from the next one's first; by 64 bits none is moved into it.
        for by, pixels in ((words, step), (words + 1, step - WORD)):
            low, high = max(0, -by), min(many, many - by)
            if low < high and pixels > -WORD:
                part = page.bits[y0:y1, low + by : high + by]
                out.bits[y0:y1, low:high] |= part >> np.uint64(pixels) if pixels >= 0 else part << np.uint64(-pixels)
    out.bits[:, page.width // WORD] &= (np.uint64(1) << np.uint64(page.width % WORD)) - np.uint64(1)
    return out


def columns(bits: Bits) -> npt.NDArray[np.uint16]:
    """The same bits (no copy) as columns of 16 pixels."""
    return bits.view("<u2")


def counted(bits: Bits, wide: int) -> npt.NDArray[np.uint8]:
    """How many pixels are dark in each row of columns that are `wide` (16 or 32) pixels."""
    out: npt.NDArray[np.uint8] = np.bitwise_count(bits.view(f"<u{wide // 8}"))
    return out


def from_right(bits: Bits, step: int) -> Bits:
    """The page moved left by `step` pixels, fewer than 64."""
    out = bits >> np.uint64(step)
    out[:, :-1] |= bits[:, 1:] << np.uint64(WORD - step)
    return out


def from_left(bits: Bits, step: int) -> Bits:
    """The page moved right by `step` pixels, fewer than 64; what leaves the last word is lost."""
    out = bits << np.uint64(step)
    out[:, 1:] |= bits[:, :-1] >> np.uint64(WORD - step)
    return out


def either(bits: Bits) -> Bits:
    """One row: the pixels that are dark in any of these."""
    out: Bits = np.bitwise_or.reduce(bits, axis=0)
    return out


def runs(bits: Bits) -> tuple[Places, Places]:
    """Where level runs begin and end: places counted on from row to row, a row being `64 * words` places."""
    words = bits.ravel()
    # The paper at the end of each row keeps the rows apart.
    change = words << np.uint64(1)
    change[1:] |= words[:-1] >> np.uint64(WORD - 1)
    change ^= words
    word = np.flatnonzero(change != 0)
    eighths = change[word].view(np.uint8)
    some = np.flatnonzero(eighths != 0)
    at = np.flatnonzero(np.unpackbits(eighths[some], bitorder="little").view(np.bool_))
    some = WORD * word[some >> 3] + 8 * (some & 7)
    at = some[at >> 3] + (at & 7)
    return at[::2], at[1::2]


def runs_down(bits: Bits, length: int) -> Bits:
    """The pixels that lie in upright runs of at least `length`."""
    out = bits.copy()
    for step in _steps(length):
        out[:-step] &= out[step:]
        out[-step:] = 0
    for step in _steps(length):
        out[step:] |= out[:-step].copy()
    return out


def _steps(length: int) -> list[int]:
    """Moves by which one pixel grows to `length`."""
    out, have = [], 1
    while have < length:
        out.append(min(have, length - have))
        have += out[-1]
    return out
