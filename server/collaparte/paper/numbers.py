"""Bar numbers printed at line heads, and what they say about the count."""

from collections import Counter
from collections.abc import Sequence

from collaparte.paper.frames import HEIGHT
from collaparte.paper.lines import MusicLine
from collaparte.paper.reading import Box
from collaparte.paper.words import Phrase

SMALL = 1.65
"""A framed number of more than this height, in spaces, is a rehearsal mark."""
REACH = 5.0
"""A line's number starts within so many spaces of the line's left end and ends so near above or below the stave."""


def printed_number(line: MusicLine, phrases: Sequence[Phrase], frames: Sequence[Box]) -> tuple[int, Phrase] | None:
    """The bar number at the line's head; a large one in a frame is a mark."""
    x0, top, _, bottom = line.system.bbox
    space = line.space
    best: tuple[float, int, Phrase] | None = None
    for phrase in phrases:
        text = phrase.text.strip("()[]. ")
        if not text.isdecimal() or len(text) > 4 or phrase.y1 - phrase.y0 > HEIGHT[0] * 2.2 * space:
            continue
        if not x0 - 8 * space < phrase.x0 < x0 + REACH * space or phrase.x1 > line.head.x1 + 2 * space:
            continue
        above, below = top - phrase.y1, phrase.y0 - bottom
        nearer = below < line.system.y_below - phrase.y1
        if not (-1.5 * space < above < REACH * space or (nearer and -0.5 * space < below < REACH * space)):
            continue
        beside = phrase.x1 < x0 and top < phrase.y1 and phrase.y0 < bottom
        if any(_touches(other, phrase, space) for other in phrases):
            continue
        if _framed(phrase, frames) and not beside and phrase.y1 - phrase.y0 > SMALL * space:
            continue
        distance = abs(phrase.x0 - x0) + max(above, below, 0.0)
        if best is None or distance < best[0]:
            best = (distance, int(text), phrase)
    return (best[1], best[2]) if best else None


def _touches(other: Phrase, phrase: Phrase, space: float) -> bool:
    """Something in front of the figures that they belong to, as a chord's root."""
    return (
        other is not phrase
        and -0.5 * space < phrase.x0 - other.x1 < 0.6 * space
        and other.y0 < phrase.y1
        and other.y1 > phrase.y0
    )


def _framed(phrase: Phrase, frames: Sequence[Box]) -> bool:
    return any(f[0] <= phrase.middle <= f[2] and f[1] <= (phrase.y0 + phrase.y1) / 2 <= f[3] for f in frames)


def settle(lines: Sequence[MusicLine]) -> None:
    """Keep the numbers that are set like most of them; one in another font or size was something else."""
    styles = Counter(line.printed[1].style for line in lines if line.printed is not None)
    if not styles:
        return
    usual, times = styles.most_common(1)[0]
    if times >= 2:
        for line in lines:
            if line.printed is not None and line.printed[1].style != usual:
                line.printed = None


def offset(lines: Sequence[MusicLine]) -> tuple[int, int, int]:
    """The commonest printed number minus count (first bar counted 1), how many lines agree, how many have a number."""
    votes: Counter[int] = Counter()
    count = 1
    for line in lines:
        if line.printed is not None and line is not lines[0]:
            votes[line.printed[0] - count] += 1
        count += sum(c.bars for c in line.counts) - (1 if line.open_end else 0)
    if not votes:
        return 0, 0, 0
    best, agreeing = votes.most_common(1)[0]
    return best, agreeing, votes.total()
