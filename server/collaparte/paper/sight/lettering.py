"""Letters known by their shape, settled by their neighbours: letter or sign, capital or small, figure or letter."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from statistics import median

from msgspec.structs import replace

from collaparte.paper.sight.strokes import OUTLINE, Glyph, Rule

CASELESS = frozenset("CcOoSsVvWwXxZzUu")
"""Letters that look alike in both cases once their size is left out."""
STROKES = frozenset("Il1|")
ROUNDS = frozenset("Oo0")
CAPITAL = 0.6
"""A letter taller than this share of its font's size is a capital: small ones measure about .5, capitals .7."""

INITIAL = (0.24, 0.12)
"""A letter so far before the next, so much higher than all that follow, in its heights, is no part of their word."""

ALIKE = 1.15
"""Sizes of one word's letters, told by their shapes, differ by less than so many times."""

LEVEL, GAP, SAME = 0.1, 0.7, 1.3
"""Words of one row have one baseline, stand so near, and are of like size: shares of their size, and times."""

LOWER = 0.75
"""Feet of letters of one word differ by less than so many sizes: a descender reaches down about .25."""

POINT = 2.5
"""A point of so many times its neighbour's size is no point of a word: a note's head is round, too."""

Doubtful = tuple[Glyph, Glyph | None]
"""A shape as a letter, and as the music sign that it might be instead."""


def settled(letters: Sequence[Doubtful], rules: Sequence[Rule], slanted: Sequence[Glyph] = ()) -> list[Glyph]:
    """Letters among letters stay letters, others that could be music signs are those; case and size agree in a word.

    Letters of plain strokes (l, I, i, a point in a face without serifs) are found among the rules beside the others;
    `slanted`: those of slanted strokes, which are letters only there.
    """
    words = _words(letters)
    strokes = _strokes(words, rules, slanted)
    if strokes:
        words = _words([*letters, *((glyph, None) for glyph in strokes)])
    out: list[Glyph] = []
    told = [word for word in words if any(sign is None and glyph.value.isalpha() for glyph, sign in word)]
    for word in words:
        doubtful = all(sign is not None for _, sign in word)
        if doubtful and not (len(word) > 1 and any(_is_row(word, other) for other in told)):
            out += [sign for _, sign in word if sign is not None]
        else:
            out += _lettered([glyph for glyph, _ in word])
    return out


def _is_row(word: Sequence[Doubtful], other: Sequence[Doubtful]) -> bool:
    """Whether letters stand in a row with a word, a word's gap from it: "al" of "D.C. al Fine"."""
    size = _size([glyph for glyph, sign in other if sign is None])
    gap = max(word[0][0].x0 - other[-1][0].x1, other[0][0].x0 - word[-1][0].x1)
    level = abs(median(g.y for g, _ in word) - median(g.y for g, _ in other)) < LEVEL * size
    return 0 < gap < GAP * size and level and all(1 / SAME < glyph.size / size < SAME for glyph, _ in word)


def _strokes(words: Sequence[Sequence[Doubtful]], rules: Sequence[Rule], slanted: Sequence[Glyph]) -> list[Glyph]:
    """Rules and slanted strokes that stand in a word's row as its plain letters and points do."""
    if not rules and not slanted:
        return []
    ordered = sorted(rules, key=lambda r: r.x0)
    starts = [r.x0 for r in ordered]
    found: dict[Rule | Glyph, Glyph] = {}
    for word in words:
        sure = [glyph for glyph, sign in word if sign is None]
        if not sure or not any(g.value.isalpha() for g in sure):
            continue
        size = _size(sure)
        baseline = (
            median(g.y for g in sure if g.value not in "gjpqyPp")
            if any(g.value not in "gjpqyPp" for g in sure)
            else sure[0].y
        )
        left, right = word[0][0].x0 - 0.7 * size, word[-1][0].x1 + 0.7 * size
        near = ordered[bisect_left(starts, left) : bisect_right(starts, right)]
        near = [
            r for r in near if baseline - size < r.y0 and r.y1 < baseline + 0.12 * size and r.x1 - r.x0 < 0.3 * size
        ]
        for rule in near:
            value = _stroke(rule, near, size, baseline)
            if value:
                top = rule.y0 if value != "i" else baseline - 0.72 * size
                found[rule] = Glyph(rule.x0, top, rule.x1, rule.y1, rule.x0, baseline, size, "letter", value, OUTLINE)
        for glyph in slanted:
            alike = 1 / ALIKE < glyph.size / size < ALIKE
            if alike and left <= glyph.x0 <= right and abs(glyph.y1 - baseline) < 0.06 * size:
                found[glyph] = glyph
    return list(found.values())


def _stroke(rule: Rule, near: Sequence[Rule], size: float, baseline: float) -> str:
    """The letter or point that a rule is in a row of this size and baseline; "" when it is none."""
    width, height = (rule.x1 - rule.x0) / size, (rule.y1 - rule.y0) / size
    if abs(rule.y1 - baseline) > 0.06 * size:
        return ""
    if 0.62 < height < 0.82 and width < 0.25:
        return "l"
    if 0.45 < height < 0.58 and width < 0.25:
        dotted = any(
            r is not rule and abs(r.x0 - rule.x0) < 0.1 * size and 0.05 * size < rule.y0 - r.y1 < 0.25 * size
            for r in near
        )
        return "i" if dotted else ""
    return "." if 0.06 < height < 0.2 and 0.06 < width < 0.2 else ""


def _words(letters: Sequence[Doubtful]) -> list[list[Doubtful]]:
    """Shapes that stand in a row, near to one another, from the left."""
    words: list[list[Doubtful]] = []
    open_words: list[list[Doubtful]] = []
    for one in sorted(letters, key=lambda pair: pair[0].x0):
        glyph = one[0]
        x0, reach = glyph.x0, 3 * glyph.size
        open_words = [w for w in open_words if x0 - (last := w[-1][0]).x1 < reach + 3 * last.size]
        for word in open_words:
            if _follows(word[-1][0], glyph):
                word.append(one)
                break
        else:
            words.append([one])
            open_words.append(words[-1])
    return [part for word in words for part in _without_initial(word)]


def _without_initial(word: list[Doubtful]) -> list[list[Doubtful]]:
    """A mark set larger than the words that follow it in its row is a word of its own."""
    first, second = word[0][0], word[1][0] if len(word) > 1 else None
    height = first.y1 - first.y0
    if second is None or second.x0 - first.x1 < INITIAL[0] * height:
        return [word]
    higher = min(glyph.y0 for glyph, _ in word[1:]) - first.y0 > INITIAL[1] * height
    return [word[:1], word[1:]] if higher and first.y1 > second.y0 + 0.5 * (second.y1 - second.y0) else [word]


def _follows(last: Glyph, glyph: Glyph) -> bool:
    gap, larger = glyph.x0 - last.x1, max(last.size, glyph.size)
    if not -0.3 * larger < gap < 0.34 * larger:
        return False
    if (last.value == "." and last.size > POINT * glyph.size) or (
        glyph.value == "." and glyph.size > POINT * last.size
    ):
        return False
    tall = max(last.y1 - last.y0, glyph.y1 - glyph.y0)
    short = min(last.y1 - last.y0, glyph.y1 - glyph.y0)
    size = min(larger, 1.6 * tall) if short > 0.4 * tall else larger
    if not -0.3 * size < gap < 0.34 * size:
        return False
    level = abs(last.y - glyph.y) < 0.2 * size or abs(last.y1 - glyph.y1) < 0.2 * size
    if last.value == "." and glyph.value.isalnum() and glyph.value not in "gjpqy":
        return level  # a point's foot is its row's
    within = min(last.y1, glyph.y1) - max(last.y0, glyph.y0) > 0.5 * short
    lower = (
        last.value.isalnum() and glyph.value.isalnum() and abs(last.y1 - glyph.y1) > LOWER * min(last.size, glyph.size)
    )
    return level or (within and not lower)


def _lettered(word: list[Glyph]) -> list[Glyph]:
    size = _size(word)
    feet = [g.y for g in word if g.value.isalnum() and g.value not in CASELESS and g.value not in "Pp"]
    baseline = median(feet) if feet else median(g.y1 for g in word)
    figures = sum(g.value.isdecimal() and g.value not in "10" for g in word)
    alphas = sum(g.value.isalpha() and g.value not in STROKES and g.value not in ROUNDS for g in word)
    strokes = all(g.value in STROKES for g in word) and (len(word) > 1 or word[0].value != "I")
    ten = {g.value in STROKES for g in word if g.value in STROKES or (g.value in ROUNDS and _is_tall(g, size))}
    if ten == {True, False} and all(g.value in STROKES or g.value in ROUNDS for g in word):
        figures += 1  # strokes and rings as high as they, and nothing else: 10, 100, 101
    cased = [g.value for g in word if g.value.isalpha() and g.value not in STROKES and g.value not in CASELESS]
    capitals = len(cased) > 1 and all(letter.isupper() for letter in cased)
    out = []
    for n, glyph in enumerate(word):
        value = "1" if strokes else _value(glyph, n == 0 or capitals, size, baseline, figures, alphas)
        out.append(replace(glyph, value=value, size=size, y=baseline))
    return out


def _is_tall(glyph: Glyph, size: float) -> bool:
    return glyph.y1 - glyph.y0 > CAPITAL * size


def _size(word: Sequence[Glyph]) -> float:
    """The font size of a word: of its letters whose case is clear, else of its tallest as a capital."""
    clear = [g.size for g in word if g.value.isalnum() and g.value not in CASELESS and g.value not in STROKES]
    if clear:
        return median(clear)
    return max(g.y1 - g.y0 for g in word) / 0.7


def _value(glyph: Glyph, as_capital: bool, size: float, baseline: float, figures: int, alphas: int) -> str:
    value = glyph.value
    capital = _is_tall(glyph, size)
    if value in STROKES:
        if (figures and not alphas) or (value == "1" and alphas < 3):
            return "1"
        return value if not alphas else "I" if as_capital else "l"
    if value in ROUNDS:
        if figures and not alphas:
            return "0"
        return value if not alphas else "O" if capital else "o"
    if value in "Pp":
        return "p" if glyph.y1 > baseline + 0.1 * size else "P"
    if value in CASELESS:
        return value.upper() if capital else value.lower()
    return value
