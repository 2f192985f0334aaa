"""How far the ink of lines reaches above and below their staves, strip by strip: of all candidate lines at once.

Lengths are staff spaces.
"""

from collections.abc import Sequence
from itertools import accumulate, chain, pairwise

import msgspec
import numpy as np
import numpy.typing as npt

from collaparte.paper.cutting.rows import shifts
from collaparte.paper.pages.shown import Shown

STRIP = 4.0
"""Width of the strips in which lines are set close to each other."""
NUMBER_ROOM = 3.4
"""What the bar number over the clef reaches above the stave."""

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


class Stretch(msgspec.Struct, frozen=True):
    """The line of bars i..j-1, and the factors of the gaps of its bars of notes and of its multi-bar rests."""

    i: int
    j: int
    notes: float
    rests: float
    each: Sequence[float] | None = None
    """Each bar's own factor, where they differ otherwise."""


class Skylines:
    """Looks at `shown`: `starts` is the width of the head of a line that begins with each bar, `feet` how far that
    head reaches below the staves, `between` the room between neighbouring bars."""

    def __init__(
        self, shown: Sequence[Shown], starts: Sequence[float], feet: Sequence[float], between: Sequence[float]
    ) -> None:
        self._shown = shown
        self._starts, self._feet = np.array(starts), np.array(feet)
        self._between = np.array([*between, 0.0])
        self._rigid = np.array([s.rigid for s in shown])
        self._flex = np.array([s.flex for s in shown])
        self._printed = np.array([s.rigid + s.flex / s.bar.ease for s in shown])
        self._rests = np.array([s.bar.count > 1 for s in shown])
        self._signs = np.array([(s.signs.width, s.signs.at_head) for s in shown]).reshape(-1, 2)
        self._left_out = np.array([s.starts for s in shown]).reshape(-1, 2)
        self._spare = np.array([s.spare for s in shown])
        boxes = [s.boxes for s in shown]
        self._counts: Ints = np.array([len(b) for b in boxes], dtype=np.intp)
        self._firsts: Ints = self._counts.cumsum() - self._counts
        self._boxes = np.array(list(chain.from_iterable(boxes)), dtype=np.float64).reshape(-1, 6)
        self._rowed = [s.rowed for s in shown]
        self._in_rows = [0, *accumulate(len(bar.members) for bar in self._rowed)]
        self._systems = [0, *accumulate(a.system != b.system for a, b in pairwise(self._rowed))]

    def of(self, lines: Sequence[Stretch], width: float) -> tuple[Floats, Floats]:
        """For each line, for each strip of `width`: the reach above the first stave and below the last, 0 or more."""
        count = int(width / STRIP) + 1
        up, down = np.zeros((len(lines), count)), np.zeros((len(lines), count))
        if not lines:
            return up, down
        begins: Ints = np.array([line.i for line in lines], dtype=np.intp)
        up[:, 0], down[:, 0] = NUMBER_ROOM, self._feet[begins]
        line, bar, place = self._bars_of(lines, begins)
        x, stretch = self._placed(lines, begins, line, bar, place)

        owner, box = _ranges(self._firsts[bar], self._counts[bar])
        left, right, top, bottom, row, lift = self._boxes[box].T.copy()
        left_out = self._left_out[bar, (place == 0).astype(np.intp)][owner]
        behind = np.where(left > left_out, left_out, 0.0)
        left, right = left - behind, right - behind
        top += np.where(place[owner] == 0, lift, 0.0)
        if self._in_rows[-1]:
            move = self._moves(lines, bar)[owner, row.astype(np.intp)]
            top -= np.where(top != 0, move, 0.0)
            bottom += np.where(bottom != 0, move, 0.0)
        wide = np.maximum(stretch, 1.0)[owner]
        # Words that would reach over an end of the line are moved to that end.
        reach = (right - left) * wide
        at = np.maximum(np.minimum(x[owner] + left * stretch[owner], width - reach), 0.0)
        strip = (at / STRIP).astype(np.intp).clip(0, count - 1)
        last = np.minimum(((at + reach) / STRIP).astype(np.intp), count - 1)
        which, cell = _ranges(line[owner] * count + strip, np.maximum(last - strip, 0) + 1)
        np.maximum.at(up.ravel(), cell, top[which])
        np.maximum.at(down.ravel(), cell, bottom[which])
        return up, down

    def _bars_of(self, lines: Sequence[Stretch], begins: Ints) -> tuple[Ints, Ints, Ints]:
        """All bars of all lines, one after the other: each one's line, the bar, and its place in the line."""
        lengths: Ints = np.array([line.j - line.i for line in lines], dtype=np.intp)
        line, bar = _ranges(begins, lengths)
        return line, bar, bar - begins[line]

    def _placed(
        self, lines: Sequence[Stretch], begins: Ints, line: Ints, bar: Ints, place: Ints
    ) -> tuple[Floats, Floats]:
        """Each bar's left edge, behind signs that are due there, and what its width is stretched by."""
        notes, rests = np.array([one.notes for one in lines]), np.array([one.rests for one in lines])
        factor = np.where(self._rests[bar], rests[line], notes[line])
        first = 0
        for one in lines:
            end = first + one.j - one.i
            if one.each is not None:
                factor[first:end] = one.each
            first = end
        rigid, flex = self._rigid[bar], self._flex[bar]
        width = rigid + flex * factor
        steps = np.zeros((len(lines), int(place.max()) + 2))
        steps[:, 0] = self._starts[begins]
        begun = (place == 0).astype(np.intp)
        steps[line, place + 1] = width + self._between[bar] - begun * self._spare[bar]
        x = np.add.accumulate(steps, axis=1)[line, place] + self._signs[bar, begun]
        return x, width / np.maximum(self._printed[bar], 0.1)

    def _moves(self, lines: Sequence[Stretch], bar: Ints) -> Floats:
        """For each bar of the lines, by row, how far it moves down: rows of several systems stand at one height."""
        at: list[int] = []
        rows: list[int] = []
        moves: list[float] = []
        first = 0
        for line in lines:
            i, j = line.i, line.j
            # Rows of one system stand as printed.
            if self._systems[j - 1] > self._systems[i] and self._in_rows[j] - self._in_rows[i] > 1:
                for n, moved in enumerate(shifts(self._rowed[i:j])):
                    if moved:
                        at += [first + n] * len(moved)
                        rows += moved
                        moves += moved.values()
            first += j - i
        # A row may have ink in one bar and a place only in another; the last place is that of ink in no row, -1.
        out = np.zeros((len(bar), max(int(self._boxes[:, 4].max(initial=0.0)), *rows, 0) + 2))
        out[at, rows] = moves
        return out


def _ranges(starts: Ints, lengths: Ints) -> tuple[Ints, Ints]:
    """The numbers of ranges of `lengths` from `starts` on, one range after the other, and each one's range."""
    which = np.arange(len(lengths)).repeat(lengths)
    before = lengths.cumsum() - lengths
    return which, starts[which] + np.arange(len(which)) - before[which]
