"""Words at the head of a page: title, chair, composer."""

import re
from collections.abc import Sequence

from collaparte.paper.lines import MusicLine
from collaparte.paper.reading import Box, HeadWord
from collaparte.paper.words import Phrase

CHORD = re.compile(
    r"\(?[A-G][#b♯♭]?(m|M|ma|maj|min|mi|dim|aug|sus|add|alt|no|[0-9#b♯♭+°øØΔ△∆^()/,.-]|[A-G])*\)?|N\.?C\.?"
)
ROOM = 2.0
"""Words nearer to the first stave than this many spaces belong to the music."""


def head_words(
    page: int,
    phrases: Sequence[Phrase],
    lines: Sequence[MusicLine],
    used: set[tuple[int, Box]],
    height: float,
) -> list[HeadWord]:
    """The words over the first system that are no mark, number, tempo or chord; without systems, the top third's."""
    if lines:
        first = min(lines, key=lambda line: line.system.bbox[1])
        limit = first.system.bbox[1] - ROOM * first.space
    else:
        limit = height / 3
    out = []
    for phrase in phrases:
        if phrase.y1 > limit or (page, phrase.box) in used or not phrase.text.strip():
            continue
        if lines and CHORD.fullmatch(phrase.text):
            continue
        out.append(HeadWord(phrase.text, page, phrase.box, phrase.size))
    return _joined_lines(out)


def _joined_lines(words: list[HeadWord]) -> list[HeadWord]:
    """Words of one size on one line, a few spaces apart, are one line of the title."""
    out: list[HeadWord] = []
    for word in sorted(words, key=lambda w: (round(w.box[3]), w.box[0])):
        last = out[-1] if out else None
        if (
            last is not None
            and abs(last.size - word.size) < 0.15 * word.size
            and abs(last.box[3] - word.box[3]) < 0.35 * word.size
            and 0 <= word.box[0] - last.box[2] < 1.1 * word.size
        ):
            box = (
                last.box[0],
                min(last.box[1], word.box[1]),
                word.box[2],
                max(last.box[3], word.box[3]),
            )
            out[-1] = HeadWord(f"{last.text} {word.text}", word.page, box, last.size)
        else:
            out.append(word)
    return out
