"""Words over a line's other words: a tempo or a mark that stands on chord names goes with them, whatever is nearer."""

import re
from collections import defaultdict
from collections.abc import Sequence

from collaparte.paper.cutting.diagrams import DIAGRAM
from collaparte.paper.cutting.items import Item, Role, Rows
from collaparte.paper.reading import Box, PageReading

FIGURES = frozenset("23456789")
"""Tuplets and fingerings stand at their notes, above or below as the notes ask."""
CHORD = re.compile(r"N\.?C\.?|[A-H](?:maj|min|dim|aug|sus|add|alt|m|M|[^a-zA-Z]|/[A-H])*")
"""A chord's name, which stands above its stave (common practice); its sharp and flat are signs without a letter."""
LYRIC = ("lyric",)
"""The style of words sung."""
DYNAMICS = frozenset("pmfszrn")
"""Dynamics stand below (common practice), whatever is below them."""
HYPHEN = "-"
"""What stands between two syllables says so, drawn or not."""
VERSE = re.compile(r"[1-9]\.")
A_WORD = 3
A_ROW = 3
"""So many chord names are a row."""
EDGE, LEADING = 0.4, 0.8
"""Lines of one text begin so near to one left edge, in spaces, and are so much of their height apart at most."""
LEANS = 0.7
"""Words stand on others that are so near under them, in spaces."""


def upon_words(items: Sequence[Item], below: Sequence[tuple[Item, int]], read: PageReading) -> None:
    """Words given to the line above that stand on words of the line below (a chord's name, a long rest's count), or
    beside its mark, go with them: a tempo over a row of chord names is further from notes than it is from that row."""
    words = Rows([i for i in items if i.role is Role.WORDS and i.above and i.system >= 0] if below else [])
    for item, down in reversed(below):
        if item.role is not Role.WORDS or item.style == LYRIC:
            continue
        if len(item.letters.strip()) < A_WORD or set(item.letters) <= DYNAMICS:
            continue
        sp = read.systems[down].space
        x0, y0, x1, y1 = item.box
        for other in words.near((x0 - 1.5 * sp, y0, x1, y1 + LEANS * sp)):
            if other.system != down or other is item:
                continue
            upon = other.box[0] < x1 and other.box[2] > x0 and other.box[1] > y1 - 0.3 * sp
            beside = other.anchor == "start" and other.box[2] < x0 + 0.2 * sp and _level(item.box, other.box)
            if upon or beside:
                item.system, item.above = down, True
                break


def in_block(items: Sequence[Item], below: Sequence[tuple[Item, int]], read: PageReading) -> None:
    """Words given to the line above go with those of the line below that they are set over as lines of one text: close,
    and to one left edge."""
    words = Rows([i for i in items if _is_text(i) and i.above and i.system >= 0] if below else [])
    for item, down in sorted(below, key=lambda one: -one[0].box[3]):
        if not _is_text(item):
            continue
        x0, y0, _, y1 = item.box
        edge = EDGE * read.systems[down].space
        for other in words.near((x0 - edge, y1, x0 + edge, y1 + LEADING * (y1 - y0))):
            if other.system == down and abs(other.box[0] - x0) < edge and other.box[1] > y1 - edge:
                item.system, item.above = down, True
                words = Rows([*words.items, item])
                break


def _is_text(item: Item) -> bool:
    return item.role is Role.WORDS and item.style != LYRIC and sum(map(str.isalpha, item.letters)) > A_WORD


def beside_names(items: Sequence[Item], below: Sequence[tuple[Item, int]], read: PageReading) -> None:
    """Marks and signs given to the line above that stand on, or reach into, the row of the line below's chord names go
    with it, however far its notes are below that."""
    if not below:
        return
    tops: dict[int, list[float]] = defaultdict(list)
    for item in items:
        name = item.style == DIAGRAM or (item.letters and CHORD.fullmatch(item.letters))
        if name and item.above and item.system >= 0 and item.role is Role.WORDS:
            tops[item.system].append(item.box[1])
    for item, down in below:
        letters = item.letters.strip()
        told = letters in FIGURES or (letters and set(letters) <= DYNAMICS) or item.style == LYRIC
        if item.role is not Role.WORDS or told or len(tops[down]) < A_ROW:
            continue
        if item.box[3] > min(tops[down]) - LEANS * read.systems[down].space:
            item.system, item.above = down, True


def _level(word: Box, mark: Box) -> bool:
    """Half of a word's height is within a mark's."""
    return min(word[3], mark[3]) - max(word[1], mark[1]) > 0.5 * (word[3] - word[1])
