"""Marks without a frame told by their shapes: letters in rising order, figures that are their bars' own."""

from collections.abc import Sequence
from statistics import median

from collaparte.paper.sight.series import Candidate
from collaparte.paper.sight.strokes import OUTLINE

ALIKE = 1.14
"""Heights that differ by less than this factor are one: a pixel of 200 dpi is a twentieth of such a letter."""
SKIPPED = 0.4
"""What a letter that is passed over takes from a row, in letters."""
FEW = 3
"""A row has at least so many letters, or it begins A, B."""
AT_HEAD = 6.0
"""Over a line's first bar it stands so near: over the clef, the key or the first note."""
LARGER = 1.25
"""Marks that are their bars' numbers are so many times as high as the numbers at lines' heads."""
CHORDS = 0.5
"""A row is at least this share of the letters like it at bars' starts: chords are letters too."""


def rising_letters(loose: Sequence[Candidate], near: float, tall: float) -> list[Candidate]:
    """The best row of marks among capitals that stand within `near` of a bar's start and are over `tall` (spaces)."""
    letters = [
        c
        for c in loose
        if c.phrase.style[0] == OUTLINE
        and len(c.text) == 1
        and "A" <= c.text <= "Z"
        and c.distance <= (AT_HEAD if c.line.bars and c.bar == c.line.bars[0].number else near)
        and _height(c) > tall * c.line.space
    ]
    letters.sort(key=lambda c: (c.line.page, c.line.system.bbox[1], c.bar, c.box[0]))
    rows = [_row([c for c in letters if 1 / ALIKE < _height(c) / _height(one) < ALIKE]) for one in letters]
    return max(rows, key=_worth, default=[])


def own_numbers(loose: Sequence[Candidate], near: float, tall: float) -> list[Candidate]:
    """Figures that stand within `near` of the bar whose number they are, over `tall` (spaces) and than bar numbers."""
    figures = [
        c
        for c in loose
        if c.phrase.style[0] == OUTLINE
        and c.text.isdecimal()
        and c.distance <= (AT_HEAD if c.line.bars and c.bar == c.line.bars[0].number else near)
        and _height(c) > tall * c.line.space
        and (c.line.printed is None or _height(c) > LARGER * (c.line.printed.phrase.y1 - c.line.printed.phrase.y0))
    ]
    own = [c for c in figures if c.text == str(c.bar)]
    return own if len(own) >= FEW and 2 * len(own) > len(figures) else []


def _height(candidate: Candidate) -> float:
    return candidate.phrase.y1 - candidate.phrase.y0


def _worth(row: Sequence[Candidate]) -> float:
    return len(row) - SKIPPED * (ord(row[-1].text) - ord("A") + 1 - len(row)) if row else 0.0


def _row(letters: Sequence[Candidate]) -> list[Candidate]:
    """The worthiest rising row; nothing when it is too short or most letters like it are not in it."""
    ends: list[list[Candidate]] = []
    for letter in letters:
        before = [row for row in ends if row[-1].text < letter.text and row[-1].bar < letter.bar]
        ends.append([*max(before, key=_worth, default=[]), letter])
    best = max(ends, key=_worth, default=[])
    if len(best) < FEW and [c.text for c in best] != ["A", "B"]:
        return []
    usual = median(_height(c) for c in best)
    like = [c for c in letters if 1 / ALIKE < _height(c) / usual < ALIKE]
    return best if len(best) >= CHORDS * len(like) and _worth(best) > 1 else []
