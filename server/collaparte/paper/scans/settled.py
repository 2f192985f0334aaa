"""Counts that a printed number says are off, where all but certainly one place accounts for it: mended there. Pure."""

from collections.abc import Mapping, Sequence

from collaparte.paper.reading import SURE, Barline, BarlineKind
from collaparte.paper.scans.chances import DOUBTED, LEAST, Chance, Left
from collaparte.paper.scans.numbers import LIMIT, Stretch, counted
from collaparte.paper.sight.lines import ONE, Count, MusicLine

HALF = 0.08
"""Half of a barline's width, in spaces."""


def settle(
    lines: Sequence[MusicLine],
    parts: Sequence[Stretch],
    off: Sequence[Chance],
    blurred: Mapping[int, Sequence[Left]],
) -> None:
    """Mend what one place accounts for: a stroke to take or to leave, or the one rest of many that was not told."""
    for part in parts:
        if part.bars is None:
            continue
        mine = range(part.first, part.last)
        by = part.bars - counted(lines, part.first, part.last)
        if not _settle_rest(lines, mine, by, off):
            if by == 1:
                _take(lines, mine, off, blurred)
            elif by == -1:
                _leave(lines, mine, off)


def _settle_rest(lines: Sequence[MusicLine], mine: range, by: int, off: Sequence[Chance]) -> bool:
    """Count the one rest in doubt what the number says, where no other bar is in doubt."""
    rests = [(n, k) for n in mine for k, c in enumerate(lines[n].counts) if c.box is not None and c.confidence < SURE]
    if len(rests) != 1:
        return False
    n, k = rests[0]
    count = lines[n].counts[k]
    doubt = sum(max(off[m].few, off[m].many) for m in mine) - DOUBTED / 2  # a line's end may not have been seen, too
    if doubt >= LIMIT or count.bars + by < 1:
        return False
    lines[n].counts[k] = count._replace(bars=count.bars + by, confidence=SURE)
    return True


def _take(
    lines: Sequence[MusicLine], mine: range, off: Sequence[Chance], blurred: Mapping[int, Sequence[Left]]
) -> None:
    """Take the one stroke for a barline that was left out."""
    places = [
        (off[n].few_at[k], n, k, stroke)
        for n in mine
        for stroke in blurred.get(n, ())
        for k, part in enumerate(lines[n].parts)
        if min(stroke.x - part.x0, part.x1 - stroke.x) > LEAST * lines[n].space
        and k < len(off[n].few_at)
        and not _on_rest(stroke.x, lines[n].counts[k])
    ]
    chance, n, k, stroke = max(places, key=lambda place: (place[0], place[3].likely), default=(0.0, 0, 0, Left(0, 0)))
    if not _accounts(chance, sum(off[m].few for m in mine)):
        return
    line, part = lines[n], lines[n].parts[k]
    half = HALF * line.space
    barline = Barline(stroke.x, stroke.x - half, stroke.x + half, BarlineKind.SINGLE, False, stroke.likely)
    left = tuple(sign for sign in part.music if sign.x0 < stroke.x)
    right = tuple(sign for sign in part.music if sign.x0 >= stroke.x)
    line.parts[k : k + 1] = [
        part._replace(x1=barline.x0, after=barline, music=left),
        part._replace(x0=barline.x1, before=barline, music=right),
    ]
    count = line.counts[k]
    line.counts[k : k + 1] = [ONE, count] if count.box and count.box[0] > stroke.x else [count, ONE]
    line.barlines[:] = sorted((*line.barlines, barline), key=lambda b: b.x)


def _on_rest(x: float, count: Count) -> bool:
    """Whether a place is within the sign or the number of a long rest; beside it may be another bar."""
    return count.box is not None and count.box[0] <= x <= count.box[2]


def _leave(lines: Sequence[MusicLine], mine: range, off: Sequence[Chance]) -> None:
    """Leave the one stroke out that was taken for a barline in doubt."""
    places = [(chance, n, k) for n in mine for k, chance in enumerate(off[n].many_at)]
    chance, n, k = max(places, default=(0.0, 0, 0))
    if not _accounts(chance, sum(off[m].many for m in mine)):
        return
    line = lines[n]
    one, other = line.parts[k], line.parts[k + 1]
    if line.counts[k].box is not None or line.counts[k + 1].box is not None or one.after is None:
        return
    line.parts[k : k + 2] = [one._replace(x1=other.x1, after=other.after, music=one.music + other.music)]
    line.counts[k : k + 2] = [line.counts[k]]
    line.barlines[:] = [b for b in line.barlines if b.x != one.after.x]


def _accounts(chance: float, every: float) -> bool:
    """Whether one place's chance is nearly all there is."""
    return chance > 0 and every - chance < LIMIT * every
