"""Words over and under a scanned line, told from its notes by their looks, and which stand together."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np

from collaparte.paper.cutting.scan_parts import Numbers, Which, round_it
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts

SPAN = (4.0, 0.35)
"""Loose ink so wide, in spaces, and no higher than this share of its width is a slur, a hairpin, a bracket."""
LETTER = (0.25, 3.6, 4.0)
"""A letter is so high at least and at most, and so wide at most, in spaces;"""
BETWEEN = 0.65
"""those of a word stand so near,"""
SPACE = 1.2
"""words of a row so near."""
MOST = 1500
"""So many letters at most stand round one line: more are noise, and none is looked for among them."""
ROW = 0.5
"""They overlap in height by so much of the higher one."""
TALLER = 2.2
"""What stands beside words is no higher than so many times as high: a bracket, a note before its figure."""
WORD = (1.1, 4.5, 0.8, 1.5)
"""Words are so high at least and at most, in spaces: what is lower is a dot or an accent, what is higher a pencil's;
they are three letters at least, each so high, or stand so far from the stave, where notes have ledger lines."""
PHRASE = (0.5, 45.0)
"""Words no farther apart than this share of their height are one phrase, up to so many spaces in all."""
FLAT = 1.8
"""What is so many times as wide as high is no letter."""
OVER = (1.1, 0.3, 1.3)
"""What stands over a barline is so high at least, in spaces, and reaches so far over it at both sides; each of its
columns has more strokes than so many (the mean): it is written, and no slur."""
HEAD = 1.6
"""A head by itself is no higher, in spaces."""
LEDGER = (0.3, 1.2, 3.5)
"""A ledger line is so high at most, so wide at least and at most, in spaces."""


class Loose(NamedTuple):
    """A line's ink, and where its stave is (top and bottom), in pixels as `space`."""

    parts: Parts
    stave: tuple[float, float]
    space: float

    def words(self, free: Which, touching: Which) -> list[Numbers]:
        """The words among `free` parts, each by the numbers of its parts; those `touching` the stave are letters only
        beside others."""
        parts, sp = self.parts, self.space
        wide, tall = parts.x1 - parts.x0, parts.y1 - parts.y0
        spans = (wide > SPAN[0] * sp) & (tall < SPAN[1] * wide)
        letters = (tall > LETTER[0] * sp) & (tall < LETTER[1] * sp) & (wide < LETTER[2] * sp)
        found = _near(np.flatnonzero((free | touching) & ~spans & letters), parts, BETWEEN * sp)
        found = [numbers for numbers in found if free[numbers].any()]
        words = [numbers for numbers in found if self._is_word(numbers)]
        return self._phrases([*words, *self._beside(found, words)])

    def _beside(self, found: list[Numbers], words: list[Numbers]) -> Iterator[Numbers]:
        """Letters too few for a word that stand on the row of one, no farther than words do, as high."""
        rows = [round_it(numbers, self.parts) for numbers in words]
        mine = {int(n) for numbers in words for n in numbers}
        for numbers in found:
            x0, y0, x1, y1 = round_it(numbers, self.parts)
            if int(numbers[0]) not in mine and any(
                max(left - x1, x0 - right) < SPACE * self.space
                and min(bottom, y1) - max(top, y0) > ROW * max(bottom - top, y1 - y0)
                for left, top, right, bottom in rows
            ):
                yield numbers

    def over(self, free: Which, barlines: Iterable[float]) -> list[Numbers]:
        """Writing among `free` parts that stands over barlines (columns): letters that touch, a pencil's."""
        parts, sp = self.parts, self.space
        high = np.flatnonzero(free & (parts.y1 - parts.y0 > OVER[0] * sp))
        edges, reach = np.array(list(barlines)), OVER[1] * sp
        return [
            np.array([n])
            for n in high.tolist()
            if ((parts.x0[n] < edges - reach) & (parts.x1[n] > edges + reach)).any() and is_written(parts.mask(n))
        ]

    def _phrases(self, words: list[Numbers]) -> list[Numbers]:
        """Words over the stave with those that follow so near that they are read as one."""
        out: list[Numbers] = []
        for numbers in sorted(words, key=lambda numbers: int(self.parts.x0[numbers].min())):
            x0, y0, x1, y1 = round_it(numbers, self.parts)
            for n, before in enumerate(out):
                left, top, right, bottom = round_it(before, self.parts)
                low, high = sorted((bottom - top, y1 - y0))
                level = min(bottom, y1) - max(top, y0) > 0.5 * low and y1 < self.stave[0]
                if (
                    level
                    and x0 - right < max(PHRASE[0] * high, SPACE * self.space)
                    and x1 - left < PHRASE[1] * self.space
                ):
                    out[n] = np.concatenate((before, numbers))
                    break
            else:
                out.append(numbers)
        return out

    def _is_word(self, numbers: Numbers) -> bool:
        """Whether loose ink is words, rather than notes over or under the stave."""
        parts, sp, (top, bottom) = self.parts, self.space, self.stave
        x0, y0, x1, y1 = round_it(numbers, parts)
        if not _is_high(numbers, parts, sp):
            return False
        wide, tall = parts.x1[numbers] - parts.x0[numbers], parts.y1[numbers] - parts.y0[numbers]
        flat = wide > FLAT * tall
        letters = int(((tall > WORD[2] * sp) & ~flat).sum())
        if letters < 3 and (flat.any() or not letters or max(top - y1, y0 - bottom) < WORD[3] * sp):
            return False
        if y1 - y0 > HEAD * sp:
            return True
        level = (parts.y1 - parts.y0 < LEDGER[0] * sp) & (parts.x1 - parts.x0 > LEDGER[1] * sp)
        between = (parts.y0 >= y1) & (parts.y1 <= top) | (parts.y1 <= y0) & (parts.y0 >= bottom)
        across = np.minimum(parts.x1, x1) - np.maximum(parts.x0, x0) > LEDGER[1] / 2 * sp
        return not (level & between & across & (parts.x1 - parts.x0 < LEDGER[2] * sp)).any()


def is_written(mask: Dark) -> bool:
    """Whether ink has so many strokes over one another as writing has, and no slur."""
    wide = np.pad(mask, ((1, 0), (0, 0)))
    strokes = (wide[1:] & ~wide[:-1]).sum(axis=0)
    return float(strokes.mean()) > OVER[2]


def beside(numbers: Numbers, free: Which, parts: Parts, space: float) -> Numbers:
    """Words with what of `free` stands before and behind them on their row: what was read may be a part of it."""
    reach = SPACE * space
    while True:
        x0, y0, x1, y1 = round_it(numbers, parts)
        middle = (parts.y0 + parts.y1) / 2
        near = (np.maximum(parts.x0 - x1, x0 - parts.x1) < reach) & (middle > y0) & (middle < y1)
        more = np.flatnonzero(near & free & (parts.y1 - parts.y0 < TALLER * (y1 - y0)))
        more = np.setdiff1d(more, numbers)
        if not len(more):
            return numbers
        numbers = np.concatenate((numbers, more))


def taken_apart(numbers: Numbers, parts: Parts, space: float) -> list[Numbers]:
    """Words that stand over one another, each with what else is on its row, and the rest of some loose parts."""
    wide, tall = parts.x1[numbers] - parts.x0[numbers], parts.y1[numbers] - parts.y0[numbers]
    letters = numbers[(tall > LETTER[0] * space) & (tall < LETTER[1] * space) & (wide < LETTER[2] * space)]
    free = np.zeros(len(parts), np.bool_)
    free[numbers] = True
    out: list[Numbers] = []
    for word in sorted(_near(letters, parts, BETWEEN * space), key=len, reverse=True):
        if free[word].all() and _is_high(word, parts, space):
            out.append(beside(word, free, parts, space))
            free[out[-1]] = False
    rest = np.flatnonzero(free)
    return [*out, rest] if len(rest) else out


def _is_high(word: Numbers, parts: Parts, space: float) -> bool:
    _, y0, _, y1 = round_it(word, parts)
    return WORD[0] * space < y1 - y0 < WORD[1] * space


def _near(numbers: Numbers, parts: Parts, between: float) -> list[Numbers]:
    """Parts that are letters of one word together: side by side, or a dot over its letter."""
    if not 0 < len(numbers) <= MOST:
        return []
    x0, y0, x1, y1 = (of[numbers].astype(np.float64) for of in (parts.x0, parts.y0, parts.x1, parts.y1))
    least = np.minimum.outer(y1 - y0, y1 - y0)
    across = np.maximum.outer(x0, x0) - np.minimum.outer(x1, x1)
    down = np.maximum.outer(y0, y0) - np.minimum.outer(y1, y1)
    joined = ((across < between) & (down < -0.2 * least)) | ((across < 0) & (down < between) & (least < between))
    group = np.arange(len(numbers))
    while True:
        low = np.where(joined, group[None, :], len(numbers)).min(axis=1)
        low = low[low]
        if np.array_equal(low, group):
            return [numbers[group == g] for g in np.unique(group)]
        group = low
