"""Words at the head of a page: title, chair, composer."""

import re
from collections.abc import Sequence

from collaparte.paper.reading import Box, HeadWord
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.words import Phrase

CHORD = re.compile(
    r"\(?[A-G][#b♯♭]?(m|M|ma|maj|min|mi|dim|aug|sus|add|alt|no|[0-9#b♯♭+°øØΔ△∆^()/,.-]|[A-G])*\)?|N\.?C\.?"
)
EXTENSION = re.compile(r"(ma?j?|min?|dim|aug|sus|add|alt|omit|[-+°øØΔ△∆^,()/#b♯♭ ]|\d{1,2})+", re.IGNORECASE)
"""What is raised behind a chord's root."""
DYNAMIC = re.compile(
    r"(p{1,4}|f{1,4}|mp|mf|s?f{1,2}z?p?|s?fp|rfz?|n)\.?((cresc|dim|decresc)\.?)?|(cresc|decresc|dim)\.?"
)
"""How loud, in letters, with or without "cresc." behind (common practice)."""
STRINGS, FRET = re.compile(r"[XxOo×○]+"), re.compile(r"[ivx]+|\d{1,2}fr\.?")
"""Strings that are damped or open over a chord's diagram, and which fret it begins at (common practice)."""
ROOM = 2.0
"""Words nearer to the first stave than this many spaces belong to the music."""
ON, HIGHEST = 0.4, 12.0
"""Words stacked on others stand at most so far over them, in their size, and so many spaces over the stave."""
CENTRED, UNDER = 1.0, 1.5
"""Words in the middle of others are within so many points of it, and at most so far under them, in their size."""
TITLE = 2.6
"""A title is set larger than this many spaces; a running head is smaller."""
SURELY = 3.0
"""Words over all music that are larger than this many spaces, and farther from it, are no words of the music."""


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
    out: list[HeadWord] = []
    stacked = _stacked(phrases, lines, limit) if lines else ()
    diagrams = _of_diagrams(phrases, lines)
    for phrase in phrases:
        if (
            (phrase.y1 > limit and not (lines and _is_centred(phrase, out, first.system.bbox[1])))
            or phrase in stacked
            or phrase in diagrams
            or (page, phrase.box) in used
            or not any(c.isalnum() for c in phrase.text)
        ):
            continue
        close = phrase.text.replace(" ", "")
        if lines and any(known.fullmatch(close) for known in (CHORD, EXTENSION, DYNAMIC)):
            continue
        out.append(HeadWord(phrase.text, page, phrase.box, phrase.size))
    return _joined_lines(out)


def _of_diagrams(phrases: Sequence[Phrase], lines: Sequence[MusicLine]) -> list[Phrase]:
    """What stands over the strings of chords' diagrams, and beside their frets."""
    small = [phrase for phrase in phrases if lines and phrase.size < TITLE * lines[0].space]
    over = [phrase for phrase in small if STRINGS.fullmatch(phrase.text.replace(" ", ""))]
    return over + [phrase for phrase in small if over and FRET.fullmatch(phrase.text.replace(" ", ""))]


def titles(phrases: Sequence[Phrase], lines: Sequence[MusicLine]) -> list[Phrase]:
    """The title over a page's first line, with what stands over it or in the middle under it: "Da Capo" among them is
    the tune's name."""
    if not lines:
        return []
    first = min(lines, key=lambda line: line.system.bbox[1])
    top, space = first.system.bbox[1], first.space
    over = [phrase for phrase in phrases if phrase.y1 < top - SURELY * space]
    largest = max((phrase.size for phrase in over), default=0.0)
    if largest < SURELY * space:
        return []
    title = [phrase for phrase in over if phrase.size > 0.9 * largest]
    left, right, y = min(p.x0 for p in title), max(p.x1 for p in title), max(p.y1 for p in title)
    under = (p for p in over if abs(p.middle - (left + right) / 2) < CENTRED)
    return [*title, *under, *(phrase for phrase in over if phrase.y1 < y)]


def _is_centred(phrase: Phrase, head: Sequence[HeadWord], top: float) -> bool:
    """Words close over the first stave that stand right under those of the head, in their middle: a chair's name."""
    return phrase.y1 < top and any(
        abs(phrase.middle - (word.box[0] + word.box[2]) / 2) < CENTRED
        and 0 < phrase.y0 - word.box[3] < UNDER * phrase.size
        and phrase.size < word.size
        for word in head
    )


def _stacked(phrases: Sequence[Phrase], lines: Sequence[MusicLine], limit: float) -> list[Phrase]:
    """Words over the limit that stand right on words of the music, pushed up out of each other's way."""
    first = min(lines, key=lambda line: line.system.bbox[1])
    top, space = first.system.bbox[1], first.space
    below = [p for p in phrases if limit < p.y1 < top and first.system.x0 < p.x0]
    out: list[Phrase] = []
    for phrase in sorted((p for p in phrases if p.y1 <= limit), key=lambda p: -p.y1):
        on = [
            p
            for p in below
            if p.style == phrase.style
            and -0.5 * space < p.y0 - phrase.y1 < ON * phrase.size
            and p.x0 - space < phrase.x1
            and phrase.x0 < p.x1 + space
            and phrase.x0 > first.system.x0
        ]
        if on and top - phrase.y1 < HIGHEST * space:
            below.append(phrase)
            out.append(phrase)
    return out


def runs_on(lines: Sequence[MusicLine]) -> bool:
    """Whether the printed number at a page's first line says that no part begins there."""
    return lines[0].printed is not None and lines[0].printed.number > 1


def may_start_part(phrases: Sequence[Phrase], lines: Sequence[MusicLine]) -> bool:
    """Whether `starts_part` is worth asking of a page with lines: a meter at the first, or words of a title's size over
    all staves."""
    top, large = min(line.system.bbox[1] for line in lines), TITLE * lines[0].space
    return bool(lines[0].head.meter) or any(phrase.size > large and phrase.y1 < top for phrase in phrases)


def starts_part(words: Sequence[HeadWord], lines: Sequence[MusicLine]) -> bool:
    """Whether a new part seems to begin on a page: large words, a meter at the first line, no number running on."""
    if not lines:
        sizes = sorted(w.size for w in words)
        return len(sizes) > 1 and sizes[-1] > 1.35 * sizes[len(sizes) // 2]
    first = lines[0]
    largest = max((w.size for w in words), default=0.0)
    usual = min(line.system.x0 for line in lines)
    votes = 2 if first.head.meter else 0
    votes += 2 if largest > TITLE * first.space else 0
    votes += 1 if first.system.x0 - usual > 2.5 * first.space else 0
    votes += -3 if runs_on(lines) else 1
    return votes >= 3


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
