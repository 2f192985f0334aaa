"""Letters into words: signs on one baseline, close enough to be read together."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import inf
from operator import attrgetter

import msgspec
from msgspec.structs import replace

from collaparte.music.jumpwords import side_by_side
from collaparte.paper.reading import Box
from collaparte.paper.sight.strokes import OUTLINE, Glyph

WORD_GAP = 0.24
"""Ink further apart than this share of the size has a space between."""
FIGURE_GAP = 0.36
"""Between figures, and behind a 1, as in 1st: they are set on equal widths, and a 1 leaves much white."""
ONE_NUMBER = 0.16
"""Figures so near, in sizes, are one number, whatever is drawn over them: a 1 leaves 0.14 white before the next."""
PHRASE_GAP = 0.62
"""Ink further apart than this share of the size is another phrase."""

OTHER = 1.25
"""Sizes that differ by this factor are not of one phrase."""

ACCIDENTALS = {"flat": "♭", "sharp": "♯"}
"""What words have behind a note's name; a natural is a note's own."""
IN_WORDS = frozenset(("letter", "digit"))


class Phrase(msgspec.Struct, frozen=True, gc=False):
    """Words on one line that belong together, with the box of their ink, their baseline, size and style."""

    text: str
    x0: float
    y0: float
    x1: float
    y1: float
    y: float
    size: float
    style: tuple[str, float]
    """Font and rounded size: phrases of one style were meant alike."""
    music: bool
    """Set in a music font's figures."""

    @property
    def box(self) -> Box:
        return (self.x0, self.y0, self.x1, self.y1)

    @property
    def middle(self) -> float:
        return (self.x0 + self.x1) / 2


def phrases(
    glyphs: Iterable[Glyph],
    cuts: Sequence[tuple[float, float, float]] = (),
    sides: Sequence[tuple[float, float, float]] = (),
) -> list[Phrase]:
    """All phrases of a page, from the top.

    `cuts` are upright lines (x, y0, y1) that no phrase runs across, but a word may; `sides` those that no word does.
    """
    letters = [g for g in glyphs if g.kind in IN_WORDS and g.upright and (g.x1 > g.x0 or g.value == " ")]
    letters.sort(key=attrgetter("y", "x"))
    cuts, sides = sorted(cuts), sorted(sides)
    out: list[Phrase] = []
    at = 0
    while at < len(letters):
        to = at + 1
        while to < len(letters) and letters[to].y - letters[to - 1].y < 0.06 * letters[to].size:
            to += 1
        beside = [side for side in sides if side[1] < letters[to - 1].y and letters[at].y < side[2]] if sides else []
        for hand in _hands(letters[at:to]):
            out += _row_phrases(sorted(hand, key=attrgetter("x")), cuts, beside)
        at = to
    out = _with_accidentals(out, [g for g in glyphs if g.kind == "accidental"], sides)
    out.sort(key=attrgetter("y", "x0"))
    return out


def _hands(row: list[Glyph]) -> list[list[Glyph]]:
    """A row's letters by font and size: what is set over one another in other hands is read apart.

    A space belongs to every hand, and shapes known by their looks are one hand.
    """
    if len({(glyph.font, glyph.size) for glyph in row}) == 1:
        return [row]
    hands: dict[tuple[str, float], list[Glyph]] = defaultdict(list)
    for glyph in row:
        if glyph.value.strip():
            hands[_style(glyph)].append(glyph)
    if len(hands) == 1:
        return [row]
    spaces = [g for g in row if not g.value.strip()]
    return [letters + spaces for letters in hands.values()]


def _style(glyph: Glyph) -> tuple[str, float]:
    return (glyph.font, 0.0 if glyph.font == OUTLINE else _tenths(glyph.size))


@lru_cache(maxsize=256)  # a page has few sizes
def _tenths(size: float) -> float:
    return round(size, 1)


def _with_accidentals(
    found: list[Phrase], accidentals: list[Glyph], sides: Sequence[tuple[float, float, float]]
) -> list[Phrase]:
    """Flats and sharps right behind a note's name belong to it: "Trumpet in B" becomes "Trumpet in B♭"."""
    out = []
    accidentals.sort(key=lambda g: g.x0)
    starts = [g.x0 for g in accidentals]
    for phrase in found:
        if accidentals and phrase.text[-1] in "ABCDEFG":
            first = bisect_left(starts, phrase.x1 - 0.1 * phrase.size)
            for glyph in accidentals[first : bisect_left(starts, phrase.x1 + 0.3 * phrase.size)]:
                y = (glyph.y0 + glyph.y1) / 2
                if (
                    -0.1 * phrase.size < glyph.x0 - phrase.x1 < 0.3 * phrase.size
                    and phrase.y0 - 0.3 * phrase.size < y < phrase.y1
                    and glyph.y1 - glyph.y0 < 1.4 * phrase.size
                    and glyph.value in ACCIDENTALS
                    and not any(phrase.middle < x < glyph.x1 and y0 < y < y1 for x, y0, y1 in sides)
                ):
                    text = phrase.text + ACCIDENTALS[glyph.value]
                    phrase = replace(phrase, text=text, x1=glyph.x1, y0=min(phrase.y0, glyph.y0))
                    break
        out.append(phrase)
    return out


def _row_phrases(
    row: list[Glyph], cuts: Sequence[tuple[float, float, float]], sides: Sequence[tuple[float, float, float]]
) -> list[Phrase]:
    out: list[Phrase] = []
    run: list[Glyph] = []
    text = ""
    blank = False
    for glyph in row:
        if not glyph.value.strip():
            blank = blank or bool(run)
            continue
        if run:
            last = run[-1]
            gap = glyph.x0 - last.x1
            spaced = blank or gap > _word_gap(last, glyph) * glyph.size
            alike = glyph.size == last.size and glyph.kind == last.kind
            if (
                gap > PHRASE_GAP * max(last.size, glyph.size)
                or gap < -0.8 * glyph.size
                or (not alike and _other_hand(last, glyph))
                or (sides and _parted(last, glyph, sides))
                or (spaced and (_cut(last, glyph, cuts) or _other_size(last, glyph)))
            ):
                _end(run, text, out)
                run, text = [], ""
            elif spaced:
                text += " "
        run.append(glyph)
        text += glyph.value
        blank = False
    _end(run, text, out)
    return out


def _word_gap(last: Glyph, glyph: Glyph) -> float:
    white = last.value == "1" or (last.value.isdecimal() and glyph.value.isdecimal())
    return FIGURE_GAP if white else WORD_GAP


def _other_hand(last: Glyph, glyph: Glyph) -> bool:
    """Sizes or a music font's figures that cannot be of one word."""
    ratio = glyph.size / last.size
    ends = last.value.isalnum() or last.value == ")"
    return not 0.7 < ratio < 1.43 or (last.kind != glyph.kind and glyph.value.isalnum() and ends)


def _other_size(last: Glyph, glyph: Glyph) -> bool:
    """Shapes known by their looks are one hand; words of another size in their row are not of one phrase."""
    return glyph.font == OUTLINE == last.font and not 1 / OTHER < glyph.size / last.size < OTHER


def _cut(last: Glyph, glyph: Glyph, cuts: Sequence[tuple[float, float, float]]) -> bool:
    return _stands_between(last.x1, glyph.x0, glyph.y, cuts)


def _parted(last: Glyph, glyph: Glyph, sides: Sequence[tuple[float, float, float]]) -> bool:
    """Whether a frame's side stands between two letters, which may reach over it; a number may stand across it."""
    if last.value.isdecimal() and glyph.value.isdecimal() and glyph.x0 - last.x1 < ONE_NUMBER * glyph.size:
        return False
    return _stands_between((last.x0 + last.x1) / 2, (glyph.x0 + glyph.x1) / 2, glyph.y, sides)


def _stands_between(left: float, right: float, y: float, lines: Sequence[tuple[float, float, float]]) -> bool:
    """Whether one of the upright lines, from the left, stands between two x at a height."""
    between = lines[bisect_left(lines, (left,)) : bisect_right(lines, (right, inf))]
    return any(y0 < y < y1 for _, y0, y1 in between)


def _end(run: list[Glyph], text: str, out: list[Phrase]) -> None:
    if not run:
        return
    at = side_by_side(text) if " " in text else None
    if at is not None:
        letters, first = len(text[:at].replace(" ", "")), 0
        while letters > 0:
            letters, first = letters - len(run[first].value), first + 1
        _end(run[:first], text[: at - 1], out)
        _end(run[first:], text[at:], out)
        return
    start = run[0]
    left, top, right, bottom = start.x0, start.y0, start.x1, start.y1
    music = start.kind == "digit"
    for glyph in run[1:]:
        left, top = glyph.x0 if glyph.x0 < left else left, glyph.y0 if glyph.y0 < top else top
        right, bottom = glyph.x1 if glyph.x1 > right else right, glyph.y1 if glyph.y1 > bottom else bottom
        music = music or glyph.kind == "digit"
    style = start.font, 3.0 * round(start.size / 3) if start.font == OUTLINE else _tenths(start.size)
    out.append(Phrase(text, left, top, right, bottom, start.y, start.size, style, music))
