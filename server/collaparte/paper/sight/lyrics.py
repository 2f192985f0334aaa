"""Rows of words that are sung: syllables set alike on one baseline under a stave, across the line."""

import re
from collections import defaultdict
from collections.abc import Sequence

from collaparte.music.instructions import kind_of
from collaparte.paper.sight.lines import MusicLine, begins_at_note
from collaparte.paper.sight.title import CHORD
from collaparte.paper.sight.words import Phrase

SYLLABLES, APART = 5, 3
"""So many words in so many groups, set alike on one baseline under a stave, are sung."""
ROWS = 2
"""Beside so many sung rows, fewer words of their style and depth under a stave are sung too."""
ROOM = 1.0
"""Rows of one part stand at depths that differ by less than so many spaces: low notes push some of them down."""
JUMP = re.compile(r"(^|\s|\()(d ?\.? ?[sc] ?(\.|al\b)|dal segno|da capo|to coda)", re.IGNORECASE)
"""Nobody sings this, but for a line that goes on behind it."""
TORN = re.compile(r"\bto coda\b|\bd ?\.? ?[sc]\b ?\.?( al( coda| fine)?\b)?", re.IGNORECASE)
"""The same in a row that a typewriter face's wide gaps tear apart."""
REACH = 12.0
"""Words are sung at most so many spaces under their stave; verses stand over one another."""
OVER, AT, MOST = 6.0, 2.5, 0.6
"""Words sung over the first line are so near to it at most, and most of them begin so near at notes (spaces, share)."""
WIDE = 0.3
"""A row of lyrics takes up at least this share of its line."""


def lyrics(phrases: Sequence[Phrase], lines: Sequence[MusicLine]) -> set[Phrase]:
    """The phrases of a page that are sung: "Fine" or "Coda" among them is no sign."""
    rows: dict[tuple[tuple[str, float], int], list[Phrase]] = defaultdict(list)
    jumps: list[Phrase] = []
    for phrase in (one for one in phrases if not one.music):
        if "d" in phrase.text.lower() and JUMP.search(phrase.text):  # all of those words have one
            jumps.append(phrase)
        else:
            rows[phrase.style, round(phrase.y)].append(phrase)
    sung: set[Phrase] = set()
    depths: dict[tuple[str, float], list[float]] = defaultdict(list)
    for (style, y), here in rows.items():
        near = [*here, *rows.get((style, y + 1), ())]
        text = " ".join(p.text for p in sorted(near, key=lambda p: p.x0)) if len(near) >= APART else ""
        words = [word for word in TORN.sub(" ", text).split() if re.search(r"[^\W\d]", word)]
        if len(words) < SYLLABLES or 2 * sum(kind_of(p.text) != "" for p in near) > len(near):
            continue  # few, or a row of words to the player
        chords = sum(CHORD.fullmatch(word) is not None for word in words)
        if 2 * chords < len(words) and _is_wide(near, lines):
            sung.update(near)
            depths[style] += [depth for p in near[:1] if (depth := _depth(p, lines)) is not None]
    for phrase in (one for (style, _), here in rows.items() if len(depths.get(style, ())) >= ROWS for one in here):
        like, depth = depths[phrase.style], _depth(phrase, lines)
        if depth is not None and min(like) - ROOM < depth < max(like) + ROOM:
            sung.add(phrase)
    for (style, _), here in rows.items():  # over the first line, as where more voices sing
        if (
            len(depths.get(style, ())) >= ROWS
            and _is_over(here, lines)
            and len(here) + sum(" " in p.text for p in here) >= SYLLABLES
        ):
            sung.update(here)
    ends: dict[tuple[tuple[str, float], int], float] = defaultdict(float)
    for phrase in sung:
        row = phrase.style, round(phrase.y)
        ends[row] = max(ends[row], phrase.x1)
    for phrase in jumps:
        beyond = max(ends.get((phrase.style, round(phrase.y) + off), 0.0) for off in (-1, 0, 1))
        if phrase.x1 < beyond:
            sung.add(phrase)
    return sung


def _depth(phrase: Phrase, lines: Sequence[MusicLine]) -> float | None:
    """How many spaces under the line over it a phrase stands; None when the next line's stave is nearer."""
    over = [line for line in lines if line.system.bbox[3] < phrase.y]
    under = [line.system.bbox[1] - phrase.y for line in lines if line.system.bbox[1] > phrase.y]
    if not over:
        return None
    line = max(over, key=lambda one: one.system.bbox[3])
    depth = phrase.y - line.system.bbox[3]
    return depth / line.space if depth < REACH * line.space and depth < min(under, default=1e9) else None


def _is_over(row: Sequence[Phrase], lines: Sequence[MusicLine]) -> bool:
    """It stands over a page's first line, and most of its phrases begin or are centred at notes there."""
    if not lines:
        return False
    first = min(lines, key=lambda one: one.system.bbox[1])
    top = first.system.bbox[1]
    if not top - OVER * first.space < row[0].y < top:
        return False
    return sum(begins_at_note(first, p.x0, AT) for p in row) >= MOST * len(row)


def _is_wide(row: Sequence[Phrase], lines: Sequence[MusicLine]) -> bool:
    x0, x1 = min(p.x0 for p in row), max(p.x1 for p in row)
    for line in lines:
        left, _, right, _ = line.system.bbox
        under = any(stave.bottom < row[0].y < stave.bottom + REACH * line.space for stave in line.system.staves)
        if under and x1 - x0 > WIDE * (right - left):
            return True
    return False
