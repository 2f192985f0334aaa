"""Tempo words and metronome figures over the stave."""

import re
from collections.abc import Sequence
from functools import lru_cache

from msgspec.structs import replace

from collaparte.music.beats import NOTES
from collaparte.music.instructions import kind_of
from collaparte.paper.reading import Box, TempoWord
from collaparte.paper.sight.lines import AT_BAR, MusicLine, begins_at_note, line_below, line_near
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import Glyph
from collaparte.paper.sight.title import TITLE
from collaparte.paper.sight.words import Phrase

FIGURE = re.compile(r"=\s*(?:c(?:a|irca)?\.?\s*)?(\d{2,3}(?:[.,]\d)?)(?:\s*[-–]\s*\d{2,3})?")
_BASES = (
    r"swing|swung|ballad|waltz|bossa( nova)?|samba|funk|rock|latin|shuffle|slow(ly)?|fast|med(ium|\.)?|mod(erate|\.)|"
    r"moderato|allegr(o|etto)|andant(e|ino)|adagio|larg(o|hetto)|lento|grave|presto|prestissimo|vivace|vivo|"
    r"rubato|freely|free|up|bright(ly)?|lively|easy|relaxed|straight( (8ths|eighths))?|even|march|tango|rumba|mambo|"
    r"cha[- ]?cha|beguine|polka|reggae|gospel|blues|bluesy|driving|gently|smoothly|steady|two|four|one|"
    r"a tempo|tempo (i|1|primo)|double[- ]time|half[- ]time|l'istesso tempo|colla voce|jazz|groove|feel|beat|in|"
    r"with|a|very|not too|quasi|molto|poco|meno|più|piu|mosso|con|moto|brio|ma non troppo|and|of|the"
)
WORDS = re.compile(rf"({_BASES})([\s,-]+({_BASES}|\d))*\.?")
"""In small letters: to be asked so takes a third of the time."""
_NOT_ALONE = frozenset(
    ("two", "four", "one", "in", "with", "a", "very", "up", "and", "of", "the", "con", "molto", "poco", "beat", "feel")
)
_OF_NOTES = frozenset(("head", "dot", "flag", "rest"))
_NOTES = {"whole": "whole", "half": "half", "black": "quarter"}
"""Which note a head is, if nothing hangs at its stem."""
_SIGNS = dict(zip(("whole", "half", "quarter", "8th", "16th"), NOTES, strict=True))
ABOVE, BELOW = 1.6, 0.25
"""A note beside an equals sign has its middle at most so far above the sign's foot, and below it, in its sizes."""
BEAT, FEEL, NEXT = 3.5, 6.0, 1.2
"""The words before an equals sign are no further off than the first, in sizes, as the beat's note stands between; an
equals sign of a swing feel no further than the second, words before words than the third."""
OF_TEMPO = ("", "feel", "tempo")
"""Kinds of instructions that may be a tempo's words."""
_EQUALS = re.compile(r"\W*(=|$)")
HIGHEST = 18.0
"""Tempo words stand at most so many spaces above their stave."""


def metronome_notes(glyphs: Sequence[Glyph], staves: Sequence[StaveLines]) -> list[Glyph]:
    """The glyphs, with notes beside an equals sign (a figure, a swing feel) told apart from notes to be played."""
    equals = [g for g in glyphs if g.value == "=" and g.kind == "letter" and g.upright]
    if not equals:
        return list(glyphs)
    out = list(glyphs)
    low, high = min(e.y - ABOVE * e.size for e in equals), max(e.y + BELOW * e.size for e in equals)
    for n, glyph in enumerate(glyphs):
        y = (glyph.y0 + glyph.y1) / 2
        if not low < y < high or glyph.kind not in _OF_NOTES or any(s.top < y < s.bottom for s in staves):
            continue
        if any(_is_beside(glyph, e) for e in equals):
            value = _NOTES.get(glyph.value, "") if glyph.kind == "head" else glyph.value
            out[n] = replace(glyph, kind="note", value="dot" if glyph.kind == "dot" else value)
    return out


def _is_beside(glyph: Glyph, equals: Glyph) -> bool:
    """Within the room of a few small notes, level with the sign."""
    size = equals.size
    return (
        -3.5 * size < glyph.x0 - equals.x0 < 3.5 * size
        and equals.y - ABOVE * size < (glyph.y0 + glyph.y1) / 2 < equals.y + BELOW * size
    )


def _beat(phrase: Phrase, glyphs: Sequence[Glyph]) -> list[Glyph]:
    """The beat's note before the equals sign of a phrase, with its dot and flag."""
    x0, y0, x1, y1 = phrase.box
    equals = [g for g in glyphs if g.value == "=" and x0 - 0.1 <= g.x0 <= x1 and y0 - 0.1 <= g.y1 and g.y0 <= y1 + 0.1]
    if not equals:
        return []
    sign = max(equals, key=lambda g: g.x0)
    return [g for g in glyphs if g.kind == "note" and g.x0 < sign.x0 and _is_beside(g, sign)]


def _counted(beat: Sequence[Glyph]) -> str:
    """Which one note it is, with its dot; nothing where there is none or several."""
    near = [g.value for g in beat]
    heads = [value for value in near if value in ("whole", "half", "quarter")]
    shorter = [value for value in near if value in ("8th", "16th")]  # a flag at the head, or a sign that is all of it
    if len(heads or shorter) != 1:
        return ""
    return _SIGNS[(shorter or heads)[0]] + ("." if "dot" in near else "")


def find_tempos(
    pages: Sequence[tuple[Sequence[MusicLine], Sequence[Phrase], Sequence[Glyph]]], used: set[tuple[int, Box]]
) -> tuple[list[TempoWord], set[tuple[int, Box]]]:
    """Tempo words and figures in document order, and the phrases (page, box) that they are made of."""
    tempos: list[TempoWord] = []
    taken: set[tuple[int, Box]] = set()
    for lines, phrases, glyphs in pages:
        if not lines:
            continue
        page = lines[0].page
        free = [p for p in phrases if (page, p.box) not in used]
        title = _title(phrases, lines)
        for phrase in free:
            if (page, phrase.box) in taken:
                continue
            figure = _figure(phrase)
            group = _same_line_before(phrase, free) if figure else [phrase]
            if not figure and (phrase is title or not _is_tempo(phrase, free)):
                continue
            line = line_below(lines, phrase.box) if figure else _line_of(lines, phrase)
            if line is None or line.system.bbox[1] - phrase.y1 > HIGHEST * line.space:
                continue
            if phrase.x1 < line.system.x0:  # the player's name beside the stave ("A.")
                continue
            box = (
                min(p.x0 for p in group),
                min(p.y0 for p in group),
                max(p.x1 for p in group),
                max(p.y1 for p in group),
            )
            beat = _beat(phrase, glyphs) if figure else []
            left = min([box[0], *(g.x0 for g in beat)])
            bar = line.bar_begun(left)
            start, distance = line.bar_starting([left])
            if distance < 3 * line.space and not (distance > AT_BAR * line.space and begins_at_note(line, left)):
                bar = start
            taken |= {(page, p.box) for p in group}
            bpm = float(figure.group(1).replace(",", ".")) if figure else None
            text = _joined(group)
            if figure and not any(sign in text for sign in NOTES) and (note := _counted(beat)):
                text = re.sub(r"(^|\(| )\s*=", rf"\1{note} =", text)
            tempos.append(TempoWord(text, bar, page, box, bpm))
    tempos.sort(key=lambda t: (t.page, t.bar, t.box[0]))
    return tempos, taken


def _line_of(lines: Sequence[MusicLine], phrase: Phrase) -> MusicLine | None:
    """The line that words stand over; where they are nearer to the line over them and begin at a note there and neither
    at a bar nor at a note of the other, that one."""
    below, near = line_below(lines, phrase.box), line_near(lines, phrase.box)
    if below is None or near is None or near is below or not begins_at_note(near, phrase.x0):
        return below
    at_bar = below.bar_starting([phrase.x0])[1] < AT_BAR * below.space
    return below if at_bar or begins_at_note(below, phrase.x0) else near


def _title(phrases: Sequence[Phrase], lines: Sequence[MusicLine]) -> Phrase | None:
    """The one phrase over a page's music that is set as a title, larger than all others: "Waltz" may be its name."""
    top = min(line.system.bbox[1] for line in lines)
    over = sorted((p for p in phrases if p.y1 < top), key=lambda p: -p.size)
    large = over and over[0].size > TITLE * lines[0].space and all(p.size < over[0].size for p in over[1:])
    return over[0] if large and len(over) > 1 else None


def _is_tempo(phrase: Phrase, others: Sequence[Phrase]) -> bool:
    return _says_tempo(phrase.text) and not any(
        _figure(o) and abs(o.y - phrase.y) < 0.5 * phrase.size and phrase in _same_line_before(o, others)
        for o in others
    )


@lru_cache(4096)  # as many chord names as a page holds are asked again and again
def _says_tempo(text: str) -> bool:
    text = text.strip(" ()").lower()
    return WORDS.fullmatch(text) is not None and text not in _NOT_ALONE


def _figure(phrase: Phrase) -> re.Match[str] | None:
    return FIGURE.search(phrase.text) if "=" in phrase.text else None


def _same_line_before(phrase: Phrase, others: Sequence[Phrase]) -> list[Phrase]:
    """The phrase with a figure and the words before it on its line, with room for the beat's note.

    A figure of its own, a rest's count and words of another kind ("brushes") are not of the tempo.
    """
    group = [phrase]
    row = [o for o in others if abs(o.y - phrase.y) < 0.5 * phrase.size and o.x1 <= phrase.x0 + 1]
    for other in sorted(row, key=lambda o: -o.x0):
        room = NEXT
        if _EQUALS.match(group[0].text):
            room = FEEL if other.text == "=" else BEAT
        if group[0].x0 - other.x1 > room * phrase.size or _figure(other) or other.text.isdecimal():
            break
        if kind_of(other.text) not in OF_TEMPO:
            break
        group.insert(0, other)
    return group


def _joined(group: Sequence[Phrase]) -> str:
    """The words in order, without the beat's note, which is no letter."""
    return re.sub(r"\(\s*=", "(=", " ".join(p.text for p in group)).strip()
