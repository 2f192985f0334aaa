"""Counting bars on scanned lines: printed numbers bear the count out or mend it."""

from collections.abc import Mapping, Sequence
from typing import TypeVar

from msgspec.structs import replace

from collaparte.paper.reading import BLURRED, Ending, Mark, Sign
from collaparte.paper.scans.chances import Left
from collaparte.paper.scans.numbers import CLEAR, Stretch, counted
from collaparte.paper.scans.strokes import FIGURES, IN_HEAD
from collaparte.paper.sight.lines import Count, MusicLine
from collaparte.paper.sight.strokes import Rule

UNSURE = 0.7
"""Confidence of what was read on a scan and that printed numbers do not bear out."""
DOUBT = "This was read on a scan: look whether the barlines and the count are right."
LEAP = (
    "{} between bar {} and bar {} on page {} {} not read: "
    "draw the line of music that is missing there, or put in its barlines."
)
BORNE_OUT = 0.99
"""Confidence of lines that two printed numbers bear out."""
FAINT = 0.1
"""A stroke at least so likely that is no barline's leaves a line in doubt."""
SAME = 0.35
"""Strokes of a signature stand at one distance from the left on all lines, in spaces, or so little apart."""
MOST = 3
"""So many bars at most are mended between two printed numbers where no rest accounts for them."""


Weighed = list[tuple[Rule, float]]
"""Upright strokes in points, and how likely each is a barline."""


def weigh(line: MusicLine, strokes: Weighed) -> list[Left]:
    """Give a line's barlines the likelihood of their strokes; those that were not taken and could be barlines."""
    x0, top, x1, bottom = line.system.bbox
    mine = [
        ((r.x0 + r.x1) / 2, chance) for r, chance in strokes if r.y0 < bottom and r.y1 > top and x0 - 9 < r.x0 < x1 + 9
    ]
    reach = 0.9 * line.space
    taken = [(b.x0 - reach, b.x1 + reach) for b in line.barlines]
    for n, barline in enumerate(line.barlines):
        chances = [
            c
            for x, c in mine
            if barline.x0 - 0.2 * reach < x < barline.x1 + 0.2 * reach or abs(x - barline.x) < 0.4 * reach
        ]
        line.barlines[n] = replace(barline, confidence=max(chances, default=0.5))
    low, high = max(x0 + IN_HEAD * line.space, line.head.x1), x1 - 0.5 * line.space
    return [
        Left(x, chance)
        for x, chance in mine
        if chance > FAINT and low < x < high and not any(a < x < b for a, b in taken)
    ]


def without_signatures(blurred: Mapping[int, list[Left]], lines: Sequence[MusicLine]) -> dict[int, list[Left]]:
    """Strokes in doubt without those that stand as far from the left on other lines, too: a key's, a clef's."""
    off = {n: [(one.x - lines[n].system.bbox[0]) / lines[n].space for one in left] for n, left in blurred.items()}

    def again(n: int, at: float) -> bool:
        return at < FIGURES and any(abs(at - one) < SAME for m, others in off.items() if m != n for one in others)

    kept = {n: [one for one, at in zip(blurred[n], off[n], strict=True) if not again(n, at)] for n in blurred}
    return {n: left for n, left in kept.items() if left}


def mend(lines: Sequence[MusicLine], parts: Sequence[Stretch]) -> None:
    """Make the counts what the printed numbers say, on the least likely signs; what was mended has low confidence."""
    for stretch in parts:
        if stretch.bars is None:
            continue
        off = stretch.bars - counted(lines, stretch.first, stretch.last)
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


_Placed = TypeVar("_Placed", Mark, Sign, Ending)


def unsure(things: Sequence[_Placed], scanned: set[int]) -> list[_Placed]:
    """Words and signs, those on `scanned` pages never called sure: their letters are told by shapes alone."""
    return [replace(t, confidence=min(t.confidence, UNSURE)) if t.page in scanned else t for t in things]


def doubt(lines: Sequence[MusicLine], sure: set[int], blurred: Mapping[int, list[Left]]) -> list[str]:
    """Scanned lines are sure when printed numbers bear them out (`sure`), others never; a sentence about these.

    `blurred`: lines with strokes that could be barlines and were not taken.
    """
    said = []
    for n, line in enumerate(lines):
        line.confidence = min(line.confidence, BORNE_OUT if n in sure else BLURRED if n in blurred else UNSURE)
        if n not in sure:
            said.append(_leap(lines[n : n + 2]) or DOUBT)
            line.doubt = line.doubt or said[-1]
    return list(dict.fromkeys(said))


def _leap(lines: Sequence[MusicLine]) -> str:
    """That the number at the head of the second line leaves bars out behind the first; empty: it does not."""
    if len(lines) < 2 or not all(line.bars for line in lines):
        return ""
    last, following = lines[0].bars[-1], lines[1].bars[0]
    end = last.number + last.count - 1
    lost = following.number - end - 1
    bars, were = ("1 bar", "was") if lost == 1 else (f"{lost} bars", "were")
    return LEAP.format(bars, end, following.number, lines[1].page + 1, were) if lost > 0 else ""
