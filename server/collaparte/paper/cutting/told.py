"""Words that tell how to play: a line of type, which no note spaces."""

import re
from collections.abc import Sequence
from itertools import pairwise

from collaparte.paper.cutting.ink import Page
from collaparte.paper.cutting.items import Item, Role, union
from collaparte.paper.cutting.upon import CHORD, DYNAMICS
from collaparte.paper.reading import Box, System
from collaparte.paper.sight.title import CHORD as NAME

A_LINE = 4
"""So many words a space apart are a line of type."""
APART, EVEN = 0.15, 0.25
"""Words stand further apart than letters, and the widest gap of a line of type is hardly wider than its narrowest
(ems; what differs is their letters' sides)."""
AT_NOTE, SUNG = 0.7, 0.75
"""A word so near a head (spaces), by its middle or its left edge, stands at a note; where so large a share of a row
does, it is sung. Of invented songs 0.85 and more do of a row, of instructions 0.6 at most."""
NOTES = 0.35
"""Where fewer words than this share of the notes stand, nobody sings: of invented songs there are 0.4 and more in a
row, of two or three short instructions on one line hardly ever."""
A_STAMP = 4.0
"""What is higher than so many spaces is stamped over the page."""
A_WORD = re.compile(r"[^\W\d_]{3}")
"""One of the words that tell has so many letters at least."""
HIGH = 6.0
"""Heads are looked for so far above the staves, in spaces."""


def is_line(letters: str) -> bool:
    return len(letters.split()) >= A_LINE


def told(row: Sequence[Item], page: Page, system: System, heads: Sequence[Box]) -> bool:
    """Whether a row under a system tells and is not sung: its words are a space apart whatever notes are over them, or
    most of the notes over it have none, or they stand at no notes."""
    found = [_words(run, page) for run in row]
    words = [word for here, _ in found for word in here]
    sp = system.space
    over = [h for h in heads if system.bbox[1] - HIGH * sp < h[1] < words[0][1]]
    at = sum(any(_at(word, head, AT_NOTE * sp) for head in over) for word in words)
    if all(is_line(run.letters) and _evenly(gaps) for run, (_, gaps) in zip(row, found, strict=True)):
        return at < SUNG * len(words)
    notes = _notes(union(words), system, over)
    return notes > 0 and (at < SUNG * len(words) or len(words) < NOTES * notes)


def sung_over(row: Sequence[Item], page: Page, system: System, heads: Sequence[Box]) -> bool:
    """Whether a row over a system's first stave is sung: most of its words stand at notes under them."""
    words = [word for run in row for word in _words(run, page)[0]]
    under = [h for h in heads if words[0][3] < h[3] and h[1] < system.staves[0].bottom + system.space]
    near = system.staves[0].top - words[0][3] < HIGH * system.space
    return near and len(words) >= A_LINE and share(words, under, system.space) >= SUNG


def is_type(row: Sequence[Item], page: Page) -> bool:
    """Whether words of a row stand a space apart: some of its runs have three, and all are even."""
    gaps = [_words(run, page)[1] for run in row]
    return any(len(one) > 1 for one in gaps) and all(_evenly(one) for one in gaps)


def share(words: Sequence[Box], heads: Sequence[Box], sp: float) -> float:
    """How many of the words stand at notes."""
    return sum(any(_at(word, head, AT_NOTE * sp) for head in heads) for word in words) / len(words)


def _evenly(gaps: Sequence[float]) -> bool:
    return max(gaps, default=0.0) - min(gaps, default=0.0) < EVEN


def _notes(row: Box, system: System, heads: Sequence[Box]) -> int:
    """How many notes or chords of the stave right over a row stand over it."""
    sp = system.space
    over = [stave for stave in system.staves if stave.bottom < row[1] + sp]
    top = over[-2].bottom if len(over) > 1 else 0.0
    places = sorted(h[0] for h in heads if h[1] > top and row[0] - sp < h[0] < row[2] + sp)
    return bool(places) + sum(b - a > sp for a, b in pairwise(places))


def heads(items: Sequence[Item], systems: Sequence[System]) -> list[Box]:
    """The boxes of what is as large as a note's head."""
    sp = max((s.space for s in systems), default=1.0)
    boxes = (i.box for i in items if i.role is Role.SOLID)
    return [b for b in boxes if 0.9 * sp < b[2] - b[0] < 2 * sp and 0.7 * sp < b[3] - b[1] < 1.3 * sp]


def _at(word: Box, head: Box, reach: float) -> bool:
    middle = abs(word[0] + word[2] - head[0] - head[2]) / 2
    return min(middle, abs(word[0] - head[0])) < reach


def _words(run: Item, page: Page) -> tuple[list[Box], list[float]]:
    """Its words, and the gaps between them in ems."""
    boxes = sorted((page.ink[n].box for n in run.marks), key=lambda box: box[0])
    em = max(abs(v) for v in page.ink[run.marks[0]].m[:4])  # type: ignore[union-attr]
    words, gaps = [boxes[0]], []
    for box in boxes[1:]:
        gap = (box[0] - words[-1][2]) / em
        if gap > APART:
            gaps.append(gap)
            words.append(box)
        else:
            words[-1] = union((words[-1], box))
    return words, gaps


def tells(item: Item, sp: float) -> bool:
    """Words that say how to play: no dynamic, no chord's name, nothing stamped over the page."""
    letters = item.letters.strip()
    named = set(letters) <= DYNAMICS or CHORD.fullmatch(letters) or NAME.fullmatch(letters)
    return A_WORD.search(letters) is not None and not named and item.box[3] - item.box[1] < A_STAMP * sp
