"""Counting bars on scanned lines: printed numbers bear the count out or mend it."""

from collections.abc import Sequence
from typing import NamedTuple

from msgspec.structs import replace

from collaparte.paper.lines import Count, MusicLine
from collaparte.paper.strokes import Rule

CLEAR = 0.9
"""A barline whose stroke is at least so likely is not in doubt,"""
UNSURE = 0.7
"""Confidence of what was read on a scan."""
DOUBT = "This was read on a scan: look whether the barlines and the count are right."
MOST = 3
"""So many bars at most are mended between two printed numbers where no rest accounts for them."""


Weighed = list[tuple[Rule, float]]
"""Upright strokes in points, and how likely each is a barline."""


def weigh(line: MusicLine, strokes: Weighed) -> None:
    """Give a line's barlines the likelihood of their strokes."""
    x0, top, x1, bottom = line.system.bbox
    mine = [
        ((r.x0 + r.x1) / 2, chance) for r, chance in strokes if r.y0 < bottom and r.y1 > top and x0 - 9 < r.x0 < x1 + 9
    ]
    reach = 0.9 * line.space
    for n, barline in enumerate(line.barlines):
        chances = [
            c
            for x, c in mine
            if barline.x0 - 0.2 * reach < x < barline.x1 + 0.2 * reach or abs(x - barline.x) < 0.4 * reach
        ]
        line.barlines[n] = replace(barline, confidence=max(chances, default=0.5))


class _Stretch(NamedTuple):
    """The lines from one printed number up to the next (or the end), and how many bars the numbers say they have."""

    first: int
    last: int
    """Up to but not including this line."""
    bars: int | None


def _stretches(lines: Sequence[MusicLine], start: int) -> list[_Stretch]:
    """`start` is the number of the part's first bar."""
    out: list[_Stretch] = []
    at, number = 0, start
    for n, line in enumerate(lines):
        if n and line.printed is not None and line.printed.bar == 0 and line.printed.number > number:
            out.append(_Stretch(at, n, line.printed.number - number))
            at, number = n, line.printed.number
    out.append(_Stretch(at, len(lines), None))
    return out


def _counted(lines: Sequence[MusicLine], stretch: _Stretch) -> int:
    return sum(c.bars for line in lines[stretch.first : stretch.last] for c in line.counts)


def mend(lines: Sequence[MusicLine], pickup: bool) -> None:
    """Make the counts what the printed numbers say, on the least likely signs; what was mended has low confidence."""
    for stretch in _stretches(lines, 0 if pickup else 1):
        if stretch.bars is None:
            continue
        off = stretch.bars - _counted(lines, stretch)
        mine = lines[stretch.first : stretch.last]
        rests = [(line, n) for line in mine for n, c in enumerate(line.counts) if c.box is not None]
        unread = [(line, n) for line, n in rests if line.counts[n].confidence < CLEAR] or rests
        if off and len(unread) == 1 and unread[0][0].counts[unread[0][1]].bars + off > 1:
            line, n = unread[0]
            count = line.counts[n]
            line.counts[n] = Count(count.bars + off, min(count.confidence, UNSURE), count.box)
        elif 0 < off <= MOST:
            line, n = max(((line, n) for line in mine for n in range(len(line.parts))), key=_width)
            line.counts[n] = Count(line.counts[n].bars + off, 0.3, line.counts[n].box)
        elif -MOST <= off < 0:
            for _ in range(-off):
                _drop_weakest(mine)


def _width(place: tuple[MusicLine, int]) -> float:
    line, n = place
    return (line.parts[n].x1 - line.parts[n].x0) / line.space if line.counts[n].box is None else 0.0


def _drop_weakest(lines: Sequence[MusicLine]) -> None:
    """Leave the least likely barline out and make one bar of the two beside it."""
    places = [
        (part.after.confidence, k, n)
        for k, line in enumerate(lines)
        for n, part in enumerate(line.parts[:-1])
        if part.after is not None and line.counts[n].box is None and line.counts[n + 1].box is None
    ]
    places = [(_of(lines[k], n), k, n) for _, k, n in places]
    if not places or min(places)[0] >= CLEAR:
        return
    _, k, n = min(places)
    line = lines[k]
    one, other = line.parts[n], line.parts[n + 1]
    gone = one.after
    line.parts[n : n + 2] = [one._replace(x1=other.x1, after=other.after, music=one.music + other.music)]
    line.counts[n : n + 2] = [line.counts[n]]
    line.barlines[:] = [b for b in line.barlines if gone is None or b.x != gone.x]


def _of(line: MusicLine, n: int) -> float:
    after = line.parts[n].after
    return next((b.confidence for b in line.barlines if after is not None and b.x == after.x), 0.5)


def doubt(lines: Sequence[MusicLine]) -> list[str]:
    """Scanned lines are never called sure; one sentence about that."""
    for line in lines:
        line.confidence = min(line.confidence, UNSURE)
        line.doubt = line.doubt or DOUBT
    return [DOUBT] if lines else []
