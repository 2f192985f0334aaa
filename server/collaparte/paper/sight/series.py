"""Framed words that are no marks: chord names, mutes and instructions beside a row of letters or numbers."""

import re
from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from collaparte.paper.reading import Box
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.strokes import OUTLINE
from collaparte.paper.sight.words import Phrase

CHORD = re.compile(r"[A-G][b#]?(m|mi|maj|M|dim|sus|o)?(6|7|9|11|13)?")
"""A chord name as short as a mark may be ("F7", "Cm7"); A6 or B7 may be a mark of its row all the same."""
UNSURE = 0.8
FIRST = ("A", "1")
"""What a row begins with."""


class Candidate(NamedTuple):
    """Words that may be a mark, with the box of ink that goes with them."""

    text: str
    phrase: Phrase
    box: Box
    framed: bool
    line: MusicLine
    bar: int
    distance: float


def in_series(found: Sequence[tuple[Candidate, float]]) -> list[tuple[Candidate, float]]:
    """The candidates with their confidence, without what stands beside the part's own row of letters or numbers.

    Marks of one part are set alike (common practice). Without a row of two or more nothing is left out.
    """
    shapes = Counter(_shape(c.text) for c, _ in found if _shape(c.text) != "word")
    if not shapes or shapes.most_common(1)[0][1] < 2:
        return [(c, confidence if c.text in FIRST else _told(c, confidence)) for c, confidence in found]
    main = max(shapes, key=lambda shape: (shapes[shape], shape == "letter"))
    row = [c for c, _ in found if _shape(c.text) == main]
    style, count = Counter(c.phrase.style for c in row).most_common(1)[0]
    # Letters told by their shapes have no style that could be trusted.
    styled = count > 1 and style[0] != OUTLINE
    kept = []
    for candidate, confidence in found:
        shape = _shape(candidate.text)
        alike = not styled or candidate.phrase.style == style
        if shape == main:
            if alike or _fits(candidate, row):
                sure = confidence if alike else min(confidence, UNSURE)
                kept.append((candidate, sure if _fits(candidate, row) else _told(candidate, sure)))
        elif alike and not (shape == "word" and any(c.bar == candidate.bar for c in row)):
            doubtful = shape != "word" and CHORD.fullmatch(candidate.text) is not None
            kept.append((candidate, min(confidence, UNSURE) if doubtful else _told(candidate, confidence)))
    return kept


def _told(candidate: Candidate, confidence: float) -> float:
    """Letters told by their shapes alone, with no row that bears them out, are not sure."""
    return min(confidence, UNSURE) if candidate.phrase.style[0] == OUTLINE else confidence


def _shape(text: str) -> str:
    if text.isdecimal():
        return "number"
    if text.isalpha() and (len(text) == 1 or (len(text) == 2 and text[0] == text[1])):
        return "letter"
    if re.fullmatch(r"[A-Za-z]\d{1,2}", text):
        return "letter and figure"
    return "word"


def _fits(candidate: Candidate, row: Sequence[Candidate]) -> bool:
    """It stands between its neighbours of the row in the alphabet or in number as it does on the paper."""
    before = [c for c in row if c is not candidate and c.bar < candidate.bar]
    after = [c for c in row if c is not candidate and c.bar > candidate.bar]

    def key(one: Candidate) -> tuple[int, str]:
        return (int(one.text), "") if one.text.isdecimal() else (len(one.text), one.text)

    return all(key(c) < key(candidate) for c in before) and all(key(candidate) < key(c) for c in after)
