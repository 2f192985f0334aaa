"""Rows of words that are sung: syllables set alike on one baseline under a stave, across the line."""

from collections import defaultdict
from collections.abc import Sequence

from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.words import Phrase

SYLLABLES = 5
"""So many words apart from one another, set alike on one baseline under a stave, are sung."""
WIDE = 0.3
"""A row of lyrics takes up at least this share of its line."""


def lyrics(phrases: Sequence[Phrase], lines: Sequence[MusicLine]) -> set[Phrase]:
    """The phrases of a page that are sung: "Fine" or "Coda" among them is no sign."""
    rows: dict[tuple[tuple[str, float], int], list[Phrase]] = defaultdict(list)
    for phrase in phrases:
        if not phrase.music:
            rows[phrase.style, round(phrase.y)].append(phrase)
    sung: set[Phrase] = set()
    for (style, y), here in rows.items():
        near = [*here, *rows.get((style, y + 1), ())]
        if len(near) < SYLLABLES:
            continue
        x0, x1 = min(p.x0 for p in near), max(p.x1 for p in near)
        for line in lines:
            left, _, right, foot = line.system.bbox
            if foot < near[0].y < foot + 12 * line.space and x1 - x0 > WIDE * (right - left):
                sung.update(near)
    return sung
