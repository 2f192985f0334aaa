"""Bars numbered line by line, and the long rests among them."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from collaparte.paper.reading import BarBox, Box, MultiRest
from collaparte.paper.sight.durations import silence
from collaparte.paper.sight.figures import figures
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.words import Phrase


def number_bars(lines: Sequence[MusicLine], pickup: bool, printed: Mapping[int, int] = MappingProxyType({})) -> int:
    """Number all bars; the count of written bars, the pickup not counted. `printed`: numbers at which lines begin."""
    for line in lines:
        line.bars.clear()
    number, index = (0, 1) if pickup else (1, 1)
    open_end = False
    for at, line in enumerate(lines):
        if at in printed:
            number, open_end = printed[at], False
        for n, (part, count) in enumerate(zip(line.parts, line.counts, strict=True)):
            # A rest of many bars begins at a barline, whatever the line before seems to leave open.
            continued = n == 0 and open_end and count.bars == 1
            if continued:
                number, index = number - 1, index - 1
            rests = silence(part, line, count.bars)
            begins, ends = rests[0] > 0, rests[1] > 0
            line.bars.append(
                BarBox(index, number, count.bars, part.x0, part.x1, count.confidence, begins, ends, continued, rests)
            )
            number, index = number + count.bars, index + count.bars
        if line.parts:
            open_end = line.open_end
        line.next_number = number
    for line in lines:
        line.is_last = line.next_number == number
    return number - 1


def rest_counts(lines: Sequence[MusicLine], phrases: Sequence[Phrase]) -> list[Phrase]:
    """The words of a page that are the number of a long rest, in the box of both."""
    rests = [(str(count.bars), count.box) for line in lines for count in line.counts if count.bars > 1 and count.box]
    return [w for w in phrases if any(figures(w) == bars and _inside(w.box, box) for bars, box in rests)]


def multirests(lines: Sequence[MusicLine]) -> list[MultiRest]:
    """The long rests on numbered lines."""
    return [
        MultiRest(bar.number, bar.count, line.page, count.box, count.confidence)
        for line in lines
        for bar, count in zip(line.bars, line.counts, strict=True)
        if count.bars > 1 and count.box is not None
    ]


def _inside(one: Box, other: Box) -> bool:
    return other[0] <= one[0] and one[2] <= other[2] and other[1] <= one[1] and one[3] <= other[3]
