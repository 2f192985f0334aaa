"""Printed bar numbers, at line heads or over barlines, and what they say about the count."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from itertools import pairwise

from msgspec.structs import replace

from collaparte.paper.reading import Box
from collaparte.paper.sight.figures import figures
from collaparte.paper.sight.frames import HEIGHT, is_framed
from collaparte.paper.sight.lines import MusicLine, Printed
from collaparte.paper.sight.strokes import OUTLINE
from collaparte.paper.sight.words import Phrase

FRAMED = " in frames"
"""Behind the face of figures that stand in frames."""
SMALL = 1.65
"""A framed number of more than this height, in spaces, is a rehearsal mark."""
REACH = 5.0
"""A number starts within so many spaces of its line's left end, and ends so near above or below the stave."""
ALIKE = 1.2
"""Figures of one style are at most so many times as high as the lowest of them."""
HEADS = 2
"""So many lines' heads that agree with the count bear it out against figures within lines."""
COUNTING = 3
"""So many figures before the first head, all as far off the count as one another, are bar numbers."""
OCTAVES = (8, 15)
"""What stands under or over a clef that sounds one octave or two away."""
ASIDE = 0.5
"""Numbers at lines' heads stand alike within so many spaces."""
BESIDE = 1.6
"""A number further on stands within so many spaces of its barline."""


def numbers_on(line: MusicLine, phrases: Sequence[Phrase], frames: Sequence[Box]) -> list[Printed]:
    """All figures on a line that stand where bar numbers stand; which of them are is told by `settle`."""
    out = []
    for phrase in phrases:
        text = figures(phrase)
        if not text.isdecimal() or len(text) > 4 or not _is_near(phrase, line):
            continue
        bar, at_head = _bar_of(phrase, line)
        if bar is None or any(_touches(other, phrase, line.space) for other in phrases):
            continue
        beside = phrase.x1 < line.system.x0 and line.system.bbox[1] < phrase.y1
        if is_framed(phrase, frames):
            if not beside and phrase.y1 - phrase.y0 > SMALL * line.space:
                continue
            # Framed figures and bare ones were not meant alike, however like their size is.
            phrase = replace(phrase, style=(f"{phrase.style[0]}{FRAMED}", phrase.style[1]))
        out.append(Printed(int(text), phrase, bar, at_head))
    return out


def settle(lines: Sequence[MusicLine]) -> None:
    """Keep the figures of the one style that counts bars; the rest were something else."""
    if any(not _in_brackets(printed) for line in lines for printed in line.numbers):
        # A bar that goes on from before has its number in brackets (common practice): none begins there.
        for line in lines:
            line.numbers = [printed for printed in line.numbers if not _in_brackets(printed)]
    _drop_octaves(lines)
    styles = _styles([printed for line in lines for printed in line.numbers])
    votes: dict[tuple[str, float], Counter[int]] = defaultdict(Counter)
    heads: Counter[tuple[str, float]] = Counter()
    firsts = counted(lines)
    for line, first in zip(lines, firsts, strict=True):
        for printed in line.numbers:
            votes[styles[printed.phrase.box]][printed.number - _count_at(line, first, printed)] += 1
    usual = {style: votes_for.most_common(1)[0] for style, votes_for in votes.items()}
    for line, first in zip(lines, firsts, strict=True):
        for printed in line.numbers:
            style = styles[printed.phrase.box]
            agrees = printed.number - _count_at(line, first, printed) == usual[style][0]
            heads[style] += printed.at_head and agrees and printed.phrase.x0 < line.system.x0 + 0.5 * line.space
    best = max(votes, key=lambda style: (heads[style], usual[style][1]), default=None)
    if best is not None and best[0].endswith(FRAMED):
        here = [p for line in lines for p in line.numbers if styles[p.phrase.box] == best]
        steps = {after.number - before.number for before, after in pairwise(here)}
        if not any(p.at_head for p in here) and (len(here) < 3 or len(steps) > 1):
            best = None  # framed, at no line's head and not at every so many bars: those are marks
    for line in lines:
        line.numbers = [p for p in line.numbers if styles[p.phrase.box] == best] if best is not None else []
        if best is not None and usual[best][1] < 2:
            line.numbers = [p for p in line.numbers if p.at_head]
    _drop_strays(lines)
    for line in lines:
        heads_here = [p for p in line.numbers if p.at_head]
        line.numbers = sorted((p for p in line.numbers if not p.at_head), key=lambda p: p.bar)
        if heads_here:
            line.printed = min(heads_here, key=lambda p: _distance(p.phrase, line))
            line.numbers.insert(0, line.printed)


def _styles(numbers: Sequence[Printed]) -> dict[Box, tuple[str, float]]:
    """Each number's style by its box; of figures told by their shapes their own height says which were meant alike."""
    styles = {printed.phrase.box: printed.phrase.style for printed in numbers}
    for font in {style[0] for style in styles.values() if style[0].startswith(OUTLINE)}:
        height = 0.0
        for box in sorted((b for b, style in styles.items() if style[0] == font), key=lambda b: b[3] - b[1]):
            height = box[3] - box[1] if box[3] - box[1] > ALIKE * height else height
            styles[box] = (font, height)
    return styles


def _in_brackets(printed: Printed) -> bool:
    return printed.phrase.text.strip().startswith(("(", "["))


def _drop_octaves(lines: Sequence[MusicLine]) -> None:
    """A clef that sounds an octave lower or higher has its figure at every line's head; a bar number stands once."""
    heads = Counter((p.number, p.phrase.style) for line in lines for p in line.numbers if p.at_head)
    for line in lines:
        line.numbers = [
            p for p in line.numbers if not (p.at_head and p.number in OCTAVES and heads[p.number, p.phrase.style] > 1)
        ]


def _drop_strays(lines: Sequence[MusicLine]) -> None:
    """A figure that disagrees while those before and after it agree, or that counts the pages, is no bar number."""
    found = [
        (line, printed, printed.number - _count_at(line, first, printed))
        for line, first in zip(lines, counted(lines), strict=True)
        for printed in line.numbers
    ]
    usual = Counter(off for _, _, off in found).most_common(1)
    for line, printed, off in found:
        if printed.number == line.page + 1 and line.page and (off != usual[0][0] or off not in (0, -1)):
            line.numbers.remove(printed)
    found = [entry for entry in found if entry[1] in entry[0].numbers]
    for line, printed in _beside_heads(found):
        line.numbers.remove(printed)
    found = [entry for entry in found if entry[1] in entry[0].numbers]
    for before, (line, printed, off), after in zip(found, found[1:], found[2:], strict=False):
        if before[2] == after[2] != off:
            line.numbers.remove(printed)
            heads = [(other, p) for other, p, _ in found if p.at_head and p is not printed]
            if printed.at_head and sum(_stands_as(printed, line, p, other) for other, p in heads) >= HEADS:
                line.misprinted.append(printed)


def _stands_as(printed: Printed, line: MusicLine, other: Printed, its: MusicLine) -> bool:
    """Whether a number stands at its line's left end as another does at its own, and is set alike."""
    one, two = printed.phrase, other.phrase
    sides = [(one.x0, two.x0), (one.middle, two.middle), (one.x1, two.x1)]
    aside = min(abs((a - line.system.x0) / line.space - (b - its.system.x0) / its.space) for a, b in sides)
    return one.style == two.style and aside < ASIDE and one.x0 < line.system.x0 + ASIDE * line.space


def _beside_heads(found: Sequence[tuple[MusicLine, Printed, int]]) -> list[tuple[MusicLine, Printed]]:
    """Figures within lines that disagree though all lines' heads agree, when most do: those finger or group notes.

    One that no later head bounds is kept if it could be a number of its line, and so are those before the first head
    that count bars alike: what is printed may leap there.
    """
    heads = {id(line): printed.number for line, printed, _ in found if printed.at_head}
    offs = {off for _, printed, off in found if printed.at_head}
    within = [entry for entry in found if not entry[1].at_head]
    if len(heads) < HEADS or len(offs) > 1 or 2 * sum(off in offs for _, _, off in within) > len(within):
        return []
    last = max(n for n, (_, printed, _) in enumerate(found) if printed.at_head)
    first = next(n for n, (_, printed, _) in enumerate(found) if printed.at_head)
    early = [off for _, _, off in found[:first] if off not in offs]
    counting = len(early) >= COUNTING and len(set(early)) == 1
    return [
        (line, printed)
        for n, (line, printed, off) in enumerate(found)
        if off not in offs and (n < last or printed.number <= heads.get(id(line), 0)) and not (counting and n < first)
    ]


def offset(lines: Sequence[MusicLine]) -> tuple[int, int, int]:
    """The commonest printed number minus count (first bar counted 1), how often it occurs, and of how many."""
    votes: Counter[int] = Counter()
    for line, first in zip(lines, counted(lines), strict=True):
        for printed in line.numbers:
            if line is not lines[0] or printed.bar > 0:
                votes[printed.number - _count_at(line, first, printed)] += 1
    if not votes:
        return 0, 0, 0
    best, agreeing = votes.most_common(1)[0]
    return best, agreeing, votes.total()


def first_offset(lines: Sequence[MusicLine]) -> int | None:
    """The first printed number behind the first line's head minus count, as `offset`."""
    return next(
        (
            printed.number - _count_at(line, first, printed)
            for line, first in zip(lines, counted(lines), strict=True)
            for printed in line.numbers
            if line is not lines[0] or printed.bar > 0
        ),
        None,
    )


def counted(lines: Sequence[MusicLine]) -> list[int]:
    """The count of each line's first bar when the part's first bar is 1; a bar broken over a line counts once."""
    out, count, open_end = [], 1, False
    for line in lines:
        if open_end and line.parts:
            count -= 1
        out.append(count)
        count += sum(c.bars for c in line.counts)
        open_end = line.open_end if line.parts else open_end
    return out


def _count_at(line: MusicLine, first: int, printed: Printed) -> int:
    return first + sum(c.bars for c in line.counts[: printed.bar])


def _is_near(phrase: Phrase, line: MusicLine) -> bool:
    _, top, _, bottom = line.system.bbox
    space = line.space
    if phrase.y1 - phrase.y0 > HEIGHT[0] * 2.2 * space:
        return False
    above, below = top - phrase.y1, phrase.y0 - bottom
    nearer = below < line.system.y_below - phrase.y1
    return -1.5 * space < above < REACH * space or (nearer and -0.5 * space < below < REACH * space)


def _bar_of(phrase: Phrase, line: MusicLine) -> tuple[int | None, bool]:
    """Which bar of the line begins where the figures stand, and whether that is at the line's head."""
    x0, space = line.system.x0, line.space
    if x0 - 8 * space < phrase.x0 < x0 + REACH * space and phrase.x1 < line.head.x1 + 2 * space:
        return 0, True
    left, middle = phrase.x0, phrase.middle
    for n, part in enumerate(line.parts):
        start = part.before
        if n and start is not None and min(abs(left - start.x), abs(middle - start.x)) < BESIDE * space:
            return n, False
    return None, False


def _distance(phrase: Phrase, line: MusicLine) -> float:
    return abs(phrase.x0 - line.system.x0) + max(line.system.bbox[1] - phrase.y1, phrase.y0 - line.system.bbox[3], 0.0)


def _touches(other: Phrase, phrase: Phrase, space: float) -> bool:
    """Something in front of the figures that they belong to, as a chord's root."""
    return (
        other is not phrase
        and -0.5 * space < phrase.x0 - other.x1 < 0.6 * space
        and other.y0 < phrase.y1
        and other.y1 > phrase.y0
    )
