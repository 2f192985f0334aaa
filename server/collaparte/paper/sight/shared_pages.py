"""Pages that several parts share: one above the other, side by side, or set in two sizes."""

from collections.abc import Sequence
from itertools import pairwise

from collaparte.paper.reading import BarlineKind, Box
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.systems import SMALL, usual_space
from collaparte.paper.sight.title import TITLE
from collaparte.paper.sight.words import Phrase

ENDS = (BarlineKind.FINAL, BarlineKind.REPEAT_END)
"""Barlines that a part or movement may end with."""


def beginning(lines: Sequence[MusicLine], words: Sequence[Phrase], used: set[tuple[int, Box]]) -> list[MusicLine]:
    """The lines of one page, its first not looked at, with which another part or movement seems to begin.

    Each has a meter, and a title over it or a first bar that is numbered 1; the line before it ends like a part, or
    it is the first of its own column. `words`: the page's; those `used` (page, box) are marks, signs and the like.
    """
    out = []
    for before, line in pairwise(lines):
        number = line.printed.number if line.printed else None
        tops_column = line.system.bbox[1] < before.system.bbox[3]
        ended = bool(before.barlines) and before.barlines[-1].kind in ENDS
        if not line.head.meter or (number is not None and number > 1) or not (ended or tops_column):
            continue
        if (ended and number == 1) or any(
            _is_title(word, line) and (line.page, word.box) not in used for word in words
        ):
            out.append(line)
    return out


def _is_title(word: Phrase, line: MusicLine) -> bool:
    """Whether these are large words between the line and what is above it."""
    x0, top, x1, _ = line.system.bbox
    large = word.size > TITLE * line.space and sum(c.isalpha() for c in word.text) > 2
    return large and x0 < word.middle < x1 and line.system.y_above < (word.y0 + word.y1) / 2 < top


def lone_small(staves: Sequence[StaveLines]) -> list[StaveLines]:
    """Small staves with no stave of the usual size right above or below: no ossia and no cue has such a place."""
    if not staves:
        return []
    usual = SMALL * usual_space(staves)
    return [s for s in staves if s.space < usual and not any(n.space >= usual for n in _neighbours(s, staves))]


def _neighbours(stave: StaveLines, staves: Sequence[StaveLines]) -> list[StaveLines]:
    over = [s for s in staves if min(s.x1, stave.x1) > max(s.x0, stave.x0)]
    above = max((s for s in over if s.bottom < stave.top), key=lambda s: s.bottom, default=None)
    below = min((s for s in over if s.top > stave.bottom), key=lambda s: s.top, default=None)
    return [s for s in (above, below) if s is not None]
