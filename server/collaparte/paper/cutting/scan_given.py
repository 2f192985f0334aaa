"""Whose loose ink of a scanned page is: where it was read, else with its row, else with what it is nearest to."""

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from collaparte.paper.cutting.items import inside
from collaparte.paper.cutting.scan_parts import Numbers, Pixels
from collaparte.paper.reading import Box, PageReading, System
from collaparte.paper.scans.parts import Parts

HEAD, FAR = 6.0, 10.0
"""Spaces over a part's first system from which ink is its title, and from any system from which it is the page's."""
RUNNING = ((6.0, 0.08), (3.0, 0.055))
"""Words so many spaces over a later page's first system, within so much of the page's height, are its running head:
where music begins so high up, chord names stand nearer to it, and marks are read."""
SPECK = 0.7
"""What is smaller than so many spaces and far from all staves is dust."""
A_WORD = (0.8, 3.5)
"""A chord's name or a word is so high at least and at most, in spaces,"""
ONE_ROW = 1.0
"""those of one row end within so many,"""
A_ROW = 3
"""and so many are a row;"""
WORDS = 4.0
"""one so wide may stand alone."""
FARTHER = (2.5, 1.6)
"""A row goes with the system below it, words alone too, unless that is so many times as far as the one above."""
LEVEL = 0.5
"""Words are level with others over which so much of their height lies."""


class Given:
    """A page's systems, with the ink that is theirs already: `pixels` has their places, -1 where none has it.

    `named`: boxes of what was read, and whose each is (points, `unit` a pixel); those of the head have the number after
    the last system's.
    """

    def __init__(
        self,
        pixels: npt.NDArray[np.int16],
        parts: Parts,
        read: PageReading,
        named: Sequence[tuple[Box, int]],
        unit: float,
        *,
        first: bool,
    ) -> None:
        self.parts, self.read, self.named, self.unit, self.first = parts, read, named, unit, first
        self.systems = read.systems
        self.space = self.systems[0].space / unit
        self.over, self.under = _skylines(pixels, self.systems, unit)

    def of(self, groups: Sequence[tuple[Numbers, Pixels]], framed: Sequence[bool]) -> list[int]:
        """Whose each group is (its parts, and the box round them): a system's place, the head's number, or the foot's,
        which is one more; `framed`: which are framed marks."""
        boxes = [box for _, box in groups]
        out: dict[int, int] = {}
        marks = [box[1] * self.unit for box, frame in zip(boxes, framed, strict=True) if frame]
        highest = min(marks, default=self.read.height)
        self.named = [(place, s) for place, s in self.named if s < len(self.systems) or place[3] < highest]
        for n, box in enumerate(boxes):
            if (whose := self._surely(box, framed[n])) is not None:
                out[n] = whose
        others = [n for n in range(len(boxes)) if n not in out]
        out |= self._beside_title(boxes, others)
        in_rows = self._rows(boxes, [n for n in range(len(boxes)) if out.get(n, 0) < len(self.systems)])
        for n in others:
            if n not in out and n in in_rows and self._nearest(boxes[n]) < len(self.systems):
                out[n] = in_rows[n]
        for n, whose in out.items():
            self._grow(groups[n], whose)
        # What is nearest to its own comes first: a dynamic under a slur goes where the slur goes.
        left = sorted((min(self._gaps(boxes[n])), n) for n in others if n not in out)
        for _, n in left:
            out[n] = self._nearest(boxes[n])
            self._grow(groups[n], out[n])
        for n in others:
            if out[n] < len(self.systems) and self._is_dust(boxes[n], self.systems[out[n]]):
                out[n] = len(self.systems) + 1
        return [out[n] for n in range(len(boxes))]

    def _points(self, box: Pixels) -> Box:
        x0, y0, x1, y1 = box
        return (x0 * self.unit, y0 * self.unit, x1 * self.unit, y1 * self.unit)

    def _surely(self, box: Pixels, framed: bool) -> int | None:
        """Whose ink is that was read, is a mark or a running head, or stands beside a stave."""
        here, systems = self._points(box), self.systems
        middle = (here[1] + here[3]) / 2
        for place, s in self.named:
            if inside(here, place):
                return s
        if framed and (below := [s for s, system in enumerate(systems) if system.bbox[1] > middle]):
            return below[0]
        top, space, height = systems[0].bbox[1], systems[0].space, self.read.height
        if not self.first and any(here[3] < min(top - far * space, part * height) for far, part in RUNNING):
            return len(systems) + 1
        return None

    def _beside_title(self, boxes: Sequence[Pixels], others: Sequence[int]) -> dict[int, int]:
        """Words on one row with the head's are the head's, unless they are so many that they are chord names."""
        top, out = self.systems[0].bbox[1] / self.unit, dict[int, int]()
        for place, s in self.named:
            if s != len(self.systems) or not self.first:
                continue
            y0, y1 = place[1] / self.unit, place[3] / self.unit
            level = [
                n
                for n in others
                if self._is_word(boxes[n])
                and boxes[n][3] < top
                and min(boxes[n][3], y1) - max(boxes[n][1], y0) > LEVEL * min(boxes[n][3] - boxes[n][1], y1 - y0)
            ]
            out |= dict.fromkeys(level if len(level) < A_ROW else (), s)
        return out

    def _is_word(self, box: Pixels) -> bool:
        low, high = (size * self.space for size in A_WORD)
        return box[2] - box[0] > low and low < box[3] - box[1] < high

    def _rows(self, boxes: Sequence[Pixels], among: Sequence[int]) -> dict[int, int]:
        """Groups of one height in a row between two systems go together: chord names with the one below, lyrics, which
        are much nearer to it, with the one above."""
        space = self.space
        between: dict[int, list[int]] = {}
        for n in among:
            if self._is_word(boxes[n]):
                middle = (boxes[n][1] + boxes[n][3]) / 2
                below = next((s for s, v in enumerate(self.systems) if v.bbox[1] / self.unit > middle), 0)
                if below:
                    between.setdefault(below, []).append(n)
        out: dict[int, int] = {}
        for below, members in between.items():
            left = sorted(members, key=lambda n: boxes[n][3])
            while left:
                row = [n for n in left if boxes[n][3] - boxes[left[0]][3] < ONE_ROW * space]
                left = [n for n in left if n not in row]
                wide = [n for n in row if boxes[n][2] - boxes[n][0] > WORDS * space]
                row = row if len(row) >= A_ROW else wide
                if not row:
                    continue
                up = float(np.mean([boxes[n][1] - self._bottom(below - 1, boxes[n]) for n in row]))
                down = float(np.mean([self._top(below, boxes[n]) - boxes[n][3] for n in row]))
                farther = FARTHER[len(row) < A_ROW]
                whose = below if down < farther * max(up, space) else below - 1
                out |= dict.fromkeys(row, whose)
        return out

    def _top(self, s: int, box: Pixels) -> int:
        """Where a system's ink begins in a box's columns,"""
        return int(self.over[s, box[0] : max(box[2], box[0] + 1)].min())

    def _bottom(self, s: int, box: Pixels) -> int:
        """and where it ends (rows)."""
        return int(self.under[s, box[0] : max(box[2], box[0] + 1)].max())

    def _gaps(self, box: Pixels) -> Iterator[tuple[float, int]]:
        """How far a box stands from each system's ink, in spaces, and the system's place."""
        middle = (box[1] + box[3]) / 2 * self.unit
        for s, system in enumerate(self.systems):
            if system.bbox[1] <= middle <= system.bbox[3]:
                yield -np.inf, s
            else:
                over = middle < system.bbox[1]
                yield (self._top(s, box) - box[3] if over else box[1] - self._bottom(s, box)) / self.space, s

    def _nearest(self, box: Pixels) -> int:
        """The system with the nearest ink; head or foot when far."""
        gap, s = min(self._gaps(box))
        over = (box[1] + box[3]) / 2 * self.unit < self.systems[0].bbox[1]
        if s == 0 and over and self.first and gap > HEAD:
            return len(self.systems)
        return len(self.systems) + 1 if gap > FAR else s

    def _grow(self, group: tuple[Numbers, Pixels], whose: int) -> None:
        """Let what stands near a group be near to the system that has it."""
        numbers, (x0, y0, x1, y1) = group
        if whose >= len(self.systems) or y1 - y0 > A_WORD[1] * self.space:
            return
        mine = self.parts.drawn(numbers.tolist(), (x0, y0, x1, y1))
        some = mine.any(axis=0)
        first, last = y0 + mine.argmax(axis=0)[some], y1 - mine[::-1].argmax(axis=0)[some]
        over, under = self.over[whose, x0:x1], self.under[whose, x0:x1]
        over[some] = np.minimum(over[some], first)
        under[some] = np.maximum(under[some], last)

    def _is_dust(self, box: Pixels, system: System) -> bool:
        """A speck beside the staves."""
        x0, _, x1, _ = self._points(box)
        small = max(box[2] - box[0], box[3] - box[1]) <= SPECK * self.space
        return small and (x1 < system.bbox[0] - system.space or x0 > system.bbox[2] + system.space)


def _skylines(
    pixels: npt.NDArray[np.int16], systems: Sequence[System], unit: float
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """For each system and column the rows where its own ink begins and ends."""
    width = pixels.shape[1]
    over, under = np.empty((len(systems), width), np.intp), np.empty((len(systems), width), np.intp)
    for s, system in enumerate(systems):
        over[s], under[s] = round(system.bbox[1] / unit), round(system.bbox[3] / unit)
        mine = pixels == s
        rows = np.flatnonzero(mine.any(axis=1))
        if not len(rows):
            continue
        first, last = int(rows[0]), int(rows[-1]) + 1
        mine = mine[first:last]
        some = mine.any(axis=0)
        over[s, some] = first + mine.argmax(axis=0)[some]
        under[s, some] = last - mine[::-1].argmax(axis=0)[some]
    return over, under
