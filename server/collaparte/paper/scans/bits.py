"""A page of black and white as bits, 64 pixels a word: a whole page costs an eighth of what it costs in bytes."""

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


def packed(dark: Dark) -> Bits:
    """The page as bits, with at least one of paper at the end of each row."""
    few = np.packbits(dark, axis=1, bitorder="little")
    out = np.zeros((len(dark), (dark.shape[1] // WORD + 1) * 8), dtype=np.uint8)
    out[:, : few.shape[1]] = few
    return out.view(_WORDS)


def unpacked(bits: Bits, width: int) -> Dark:
    """The page as it was packed."""
    out: Dark = np.unpackbits(bits.view(np.uint8), axis=1, count=width, bitorder="little").view(np.bool_)
    return out


def wipe(bits: Bits, x0: int, y0: int, x1: int, y1: int) -> None:
    """Make a box of the page paper; `x0` and `y0` are not negative."""
    first, last = x0 // WORD, (x1 - 1) // WORD + 1
    inside = np.zeros(WORD * (last - first), dtype=np.bool_)
    inside[x0 - WORD * first : x1 - WORD * first] = True
    bits[y0:y1, first:last] &= ~np.packbits(inside, bitorder="little").view(_WORDS)[: bits.shape[1] - first]


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


def runs(bits: Bits) -> tuple[Places, Places]:
    """Where level runs begin and end: places counted on from row to row, a row being `64 * words` places."""
    change = (bits ^ from_left(bits, 1)).view(np.uint8).ravel()
    some = np.flatnonzero(change != 0)
    at = np.flatnonzero(np.unpackbits(change[some], bitorder="little").view(np.bool_))
    at = 8 * some[at >> 3] + (at & 7)
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
