"""Multi-bar rests: an H-bar or old rest signs, with how many bars they stand for."""

from collections.abc import Sequence
from itertools import pairwise

from msgspec.structs import replace

from collaparte.paper.reading import Box
from collaparte.paper.sight.bars import Segment
from collaparte.paper.sight.figures import figures
from collaparte.paper.sight.lines import ONE, Count
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import Glyph, Rule
from collaparte.paper.sight.systems import Skeleton
from collaparte.paper.sight.words import Phrase

CHURCH = {"maxima": 8, "longa": 4, "breve": 2, "whole": 1, "half": 1}
"""Bars that the old rest signs stand for in a row (SMuFL: restMaxima 8, restLonga 4, restDoubleWhole 2).

A block that sits on a line instead of hanging from it is one bar all the same: there are no half bars in such a row.
"""
BREVES = 1
"""On a picture so many signs of two bars are in a row at most, as two are one of four: more are a whole note of spread
print."""
FAR = 5.0
"""A note further than this from the middle of the stave, in spaces, may be another line's."""
LEDGER = 3.2
"""A note further than this from the middle of the stave, in spaces, has ledger lines."""
BEAM = 0.65
"""Beams are thinner than this, in spaces (SMuFL's engraving defaults: beam 0.5, H-bar 1.0)."""
MIDDLE = 1.5
"""An H-bar as thin as a beam stands in the middle of its bar, off by no more spaces: a beam's notes may have gone to
the next line."""
TO_BARLINE = 0.8
"""What looks like an old rest sign this near to a barline, in spaces, may be what is left of it."""
THIN = 0.8
"""What is left of a barline is narrower, in spaces."""
BESIDE = 5.0
"""Old rest signs of one row stand nearer than so many spaces."""
SHORTEST, LONG = 1.6, 2.4
"""An H-bar is longer than the first, in spaces; one on a picture than the second: a half rest of spread print is 2
long."""
AMONG_NOTES = (4.5, 0.55)
"""On a picture an H-bar in a bar of notes is longer and thicker than these, in spaces (1,292 scanned charts: at least
5.7 and 0.7; pencil up to 9.0 and 0.4, rests of spread print up to 3.1 and 0.8)."""
TALL, CENTRED = 1.8, 0.5
"""Such a number's figures are taller than the first, in spaces, and its middle is no further from its sign's than the
second."""
ONES = {"l": "1", "I": "1", "|": "1", "O": "0", "o": "0"}
"""What figures look like by their shapes."""
BLOCKS, HANGS = {"breve": ((0.5, 1.1), (0.9, 1.4)), "longa": ((0.5, 1.4), (1.9, 2.5))}, 0.25
"""Old rest signs are so wide and so high, in spaces, and hang from the second line within so many."""
ROW = 0.7
"""Two signs of four bars nearer to each other, in spaces, are a row of them, whatever else is there (on pictures)."""
OVER = (3.0, 7.0, 0.8)
"""A rest's number stands no further off its sign's middle and over its stave than the first two, in spaces, and is
taller than the third."""
CLOSE, HIDDEN = (-0.2, 1.0), 0.9
"""The number of a rest that is hidden stands so far over its stave, in spaces; how likely it is one (7 of 7 bars with
such a number in their middle were, and none of 7 with a figure off it or further up: 334 scanned charts)."""
ASTRAY = 0.35
"""On a picture a number further off its sign's middle, in spaces, is in doubt: a figure of it may be lost (of 979 told
rightly on 837 scanned charts ten stood further off, of 21 told wrongly 17)."""
LEFT = 0.1
"""A rest of several bars stands no further left of its bar's middle, in widths of the bar (0.08: measured)."""
SPECK = 0.4
"""What is narrower, in spaces, is no rest sign but dirt."""
MOST = 400
"""A higher number over a rest is not a count of bars."""


def count_bars(
    part: Segment, system: Skeleton, rules: Sequence[Rule], phrases: Sequence[Phrase], *, seen: bool = False
) -> Count:
    """How many bars this bar as drawn stands for; `rules` and `phrases` are those of its page near its system.

    What looks like old rest signs on a picture (`seen`) and has no number may be notes.
    """
    stave = system.staves[0]
    sounding = [g for g in part.music if g.kind in ("head", "rest", "repeat-bar")]
    bar_box = _h_bar(part, stave, rules, LONG if seen else SHORTEST)
    if bar_box and sounding:
        # A low note of the line above may reach down here; a beam is hardly as thick as an H-bar, nor numbered.
        far = all(_is_far_head(g, stave) for g in sounding)
        thick = bar_box[3] - bar_box[1] > BEAM * stave.space
        centred = abs(bar_box[0] + bar_box[2] - part.x0 - part.x1) < 2 * MIDDLE * stave.space
        told = thick or (
            centred and _number(bar_box, part, stave, phrases) and not _holds(bar_box, sounding, stave.space)
        )
        bar_box = bar_box if far and told else None
    glyph_bar = [g for g in part.music if g.kind == "h-bar"]
    if seen and sounding and not any(_is_long_bar(g, stave) for g in glyph_bar):
        glyph_bar = []
    if glyph_bar:
        bar_box = (
            min(g.x0 for g in glyph_bar),
            min(g.y0 for g in glyph_bar),
            max(g.x1 for g in glyph_bar),
            max(g.y1 for g in glyph_bar),
        )
    if seen and bar_box is None and (told_by_sum := _church_told(part, stave, phrases)):
        return told_by_sum
    church = _church(part._replace(music=_off_barlines(part, stave)) if seen else part, stave)
    if seen and _breves(part, stave) > BREVES:
        church = None
    if bar_box is None and church is None:
        if seen and (under := _under_number(part, stave, system.glyphs)):
            return under
        if seen and _has_row(part, stave):
            bar = (part.x0, stave.top, part.x1, stave.bottom)
            return Count(1, 0.7, bar) if is_numbered((part.x0 + part.x1) / 2, stave, system.glyphs) else ONE
        return ONE if part.music or seen else _unknown(part, system, phrases)
    sign = bar_box or (church[1] if church else None)
    assert sign is not None
    number = _number(sign, part, stave, phrases)
    if number is None and seen and bar_box and (bars := _figures_over(bar_box, stave, system.glyphs)):
        return Count(bars, 1.0, bar_box)
    if number is None:
        if church is not None and church[0] > 2 and bar_box is None:
            if seen:
                bar = (part.x0, stave.top, part.x1, stave.bottom)
                return Count(1, 0.7, bar) if is_numbered((sign[0] + sign[2]) / 2, stave, system.glyphs) else ONE
            return Count(church[0], 0.7, sign)
        return ONE if church is not None and bar_box is None else Count(1, 0.2, sign)
    count, phrase = number
    box = (
        min(sign[0], phrase.x0),
        min(sign[1], phrase.y0),
        max(sign[2], phrase.x1),
        max(sign[3], phrase.y1),
    )
    if church is not None and bar_box is None and church[0] != count:
        return Count(count, 0.7, box)
    astray = seen and abs(phrase.middle - (sign[0] + sign[2]) / 2) > ASTRAY * stave.space
    return Count(count, 0.7 if astray else 1.0, box)


def _unknown(part: Segment, system: Skeleton, phrases: Sequence[Phrase]) -> Count:
    """A bar of one sign that no font told, long and on its stave's middle, with a number over it: in doubt."""
    stave = system.staves[0]
    signs = [g for g in system.glyphs if not g.kind and part.x0 < g.x0 and g.x1 < part.x1 and g.y1 > g.y0]
    if len(signs) != len(system.staves) or signs[0].x1 - signs[0].x0 < SHORTEST * stave.space:
        return ONE
    if abs((signs[0].y0 + signs[0].y1) / 2 - stave.middle) > 0.6 * stave.space:
        return ONE
    number = _number(signs[0].box, part, stave, phrases)
    return Count(number[0], 0.7, signs[0].box) if number else ONE


def _holds(beam: Box, notes: Sequence[Glyph], space: float) -> bool:
    """Notes hang on both its ends: a beam, and what is printed over it is a triplet's figure."""
    slack = 0.3 * space
    return all(any(g.x0 - slack < end < g.x1 + slack for g in notes if g.kind == "head") for end in (beam[0], beam[2]))


def _is_long_bar(bar: Glyph, stave: StaveLines) -> bool:
    """On a picture: whether an H-bar among notes is one: no pencil, and no half rest of spread print."""
    wide, high = (bar.x1 - bar.x0) / stave.space, (bar.y1 - bar.y0) / stave.space
    return wide > AMONG_NOTES[0] and high > AMONG_NOTES[1]


def _is_far_head(glyph: Glyph, stave: StaveLines, far: float = FAR) -> bool:
    return glyph.kind == "head" and abs((glyph.y0 + glyph.y1) / 2 - stave.middle) > far * stave.space


def _h_bar(part: Segment, stave: StaveLines, rules: Sequence[Rule], least: float) -> Box | None:
    """A thick level bar on the middle of the stave, longer than `least` spaces."""
    space = stave.space
    best: Box | None = None
    for rule in rules:
        if (
            part.x0 - 0.2 * space <= rule.x0
            and rule.x1 <= part.x1 + 0.2 * space
            and 0.3 * space < rule.y1 - rule.y0 < 1.6 * space
            and rule.x1 - rule.x0 > least * space
            and abs((rule.y0 + rule.y1) / 2 - stave.middle) < 0.6 * space
            and (best is None or rule.x1 - rule.x0 > best[2] - best[0])
        ):
            best = rule.box
    return best


def _church(part: Segment, stave: StaveLines) -> tuple[int, Box] | None:
    """The sum of a row of old rest signs; None unless one of them counts more than a bar."""
    signs = [g for g in part.music if g.kind == "rest" and g.value in CHURCH]
    if {g.value for g in signs} <= {"whole", "half"}:
        return None
    # A round letter over the stave may be taken for a head by its shape, or the line above have a low note there.
    # So may a flag be the next line's: one of a note here would not be alone.
    others = [g for g in part.music if g not in signs and g.kind != "flag" and not _is_far_head(g, stave, LEDGER)]
    if others:
        return None
    signs = [g for g in signs if stave.top - stave.space < (g.y0 + g.y1) / 2 < stave.bottom + stave.space]
    if not signs:
        return None
    total = sum(CHURCH[g.value] for g in signs)
    return total, (
        min(g.x0 for g in signs),
        min(g.y0 for g in signs),
        max(g.x1 for g in signs),
        max(g.y1 for g in signs),
    )


def _breves(part: Segment, stave: StaveLines) -> int:
    """How many old rest signs of two bars seem to stand on a stave."""
    low, high = stave.top - stave.space, stave.bottom + stave.space
    return sum(g.kind == "rest" and g.value == "breve" and low < (g.y0 + g.y1) / 2 < high for g in part.music)


def _off_barlines(part: Segment, stave: StaveLines) -> tuple[Glyph, ...]:
    """On a picture: a bar's music without what is thin and at its barlines: it may be what is left of these."""
    low, high = part.x0 + TO_BARLINE * stave.space, part.x1 - TO_BARLINE * stave.space
    return tuple(g for g in part.music if g.x1 - g.x0 > THIN * stave.space or (g.x1 > low and g.x0 < high))


def _church_told(part: Segment, stave: StaveLines, phrases: Sequence[Phrase]) -> Count | None:
    """On a picture: old rest signs side by side with their sum printed over them, whatever else seems to be there."""
    space = stave.space
    signs = [
        replace(g, value=value)
        for g in part.music
        if (value := _rest_sign(g, stave))
        and stave.top < (g.y0 + g.y1) / 2 < stave.bottom
        and g.x1 - g.x0 > SPECK * space
        and part.x0 + TO_BARLINE * space < g.x0
        and g.x1 < part.x1 - TO_BARLINE * space
    ]
    rows: list[list[Glyph]] = []
    for sign in sorted(signs, key=lambda g: g.x0):
        if rows and sign.x0 - rows[-1][-1].x1 < BESIDE * space:
            rows[-1].append(sign)
        else:
            rows.append([sign])
    least = part.x0 + (0.5 - LEFT) * (part.x1 - part.x0)
    for row in rows:
        if (row[0].x0 + row[-1].x1) / 2 < least:
            continue  # a note under an ending's number
        if sum(CHURCH[g.value] == 2 for g in row) > BREVES:
            continue
        box = (row[0].x0, min(g.y0 for g in row), row[-1].x1, max(g.y1 for g in row))
        number = _number(box, part, stave, phrases)
        word = number[1] if number else None
        over = word is not None and word.y1 < stave.middle  # under it the next line's mark may stand
        if number and word and over and number[0] == sum(CHURCH[g.value] for g in row):
            box = (min(box[0], word.x0), min(box[1], word.y0), max(box[2], word.x1), max(box[3], word.y1))
            return Count(number[0], 1.0, box)
    return None


def _rest_sign(glyph: Glyph, stave: StaveLines) -> str:
    """Which old rest sign a glyph is, or is as large as that was taken for a head, and hangs where it does."""
    if glyph.kind == "rest" and glyph.value in CHURCH:
        return glyph.value
    wide, high = ((glyph.x1 - glyph.x0) / stave.space, (glyph.y1 - glyph.y0) / stave.space)
    hangs = glyph.kind == "head" and abs((glyph.y0 - stave.top) / stave.space - 1) < HANGS
    fits = (value for value, (w, h) in BLOCKS.items() if w[0] < wide < w[1] and h[0] < high < h[1])
    return next(fits, "") if hangs else ""


def _has_row(part: Segment, stave: StaveLines) -> bool:
    """On a picture: whether two signs of four bars stand beside each other, as no notes do."""
    space, wide = stave.space, BLOCKS["longa"][0]
    signs = [g for g in part.music if _rest_sign(g, stave) == "longa" and wide[0] * space < g.x1 - g.x0]
    signs.sort(key=lambda g: g.x0)
    near = (one for one in pairwise(signs) if 0 < one[1].x0 - one[0].x1 < ROW * space)
    return any("rest" in (one.kind, other.kind) and stave.top < one.y0 < stave.middle for one, other in near)


def _under_number(part: Segment, stave: StaveLines, glyphs: Sequence[Glyph]) -> Count | None:
    """On a picture: a bar whose rest pencil hides, told by its number over the very middle of it."""
    space = stave.space
    dots = [g for g in glyphs if g.kind == "dot" and part.x0 < g.x0 < part.x1 and stave.top < g.y < stave.bottom]
    if len(dots) > 1 or any(g.kind == "repeat-bar" or g.value == "slash" for g in part.music):
        return None  # a bar's repeat sign, counted
    near = [g for g in glyphs if CLOSE[0] * space < stave.top - g.y1 < CLOSE[1] * space]
    if not any(g.value.isdecimal() and part.x0 < g.x0 < part.x1 for g in near):
        return None  # "ill" of a word looks like an 11
    bar = (part.x0, stave.top, part.x1, stave.bottom)
    bars = _figures_over(bar, stave, near)
    return Count(bars, HIDDEN, bar) if bars else None


def _figures_over(sign: Box, stave: StaveLines, glyphs: Sequence[Glyph]) -> int | None:
    """On a picture: the number over an H-bar's middle, whatever words its figures were taken for a part of."""
    space, middle = stave.space, (sign[0] + sign[2]) / 2
    row = [
        g
        for g in sorted(glyphs, key=lambda g: g.x0)
        if g.kind in ("letter", "digit")
        and g.y1 - g.y0 > TALL * space
        and abs(g.x0 - middle) < OVER[0] * space
        and -space < stave.top - g.y1 < OVER[0] * space
    ]
    text = "".join(ONES.get(g.value, g.value) for g in row)
    if not row or not text.isdecimal() or abs((row[0].x0 + row[-1].x1) / 2 - middle) > CENTRED * space:
        return None
    return int(text) if 2 <= int(text) <= MOST else None


def is_numbered(middle: float, stave: StaveLines, glyphs: Sequence[Glyph]) -> bool:
    """Whether there is ink over a bar's or a sign's middle that may be the number of a rest of several bars."""
    space = stave.space
    return any(
        abs((g.x0 + g.x1) / 2 - middle) < OVER[0] * space
        and stave.top - OVER[1] * space < g.y1 < stave.top + 0.5 * space
        and g.y1 - g.y0 > OVER[2] * space
        for g in glyphs
    )


def _number(sign: Box, part: Segment, stave: StaveLines, phrases: Sequence[Phrase]) -> tuple[int, Phrase] | None:
    """The number printed over the rest sign (or else under it), its middle over the sign's."""
    space = stave.space
    best: tuple[float, int, Phrase] | None = None
    middle = (sign[0] + sign[2]) / 2
    for phrase in phrases:
        text = figures(phrase)
        if not text.isdecimal() or not 2 <= int(text) <= MOST:
            continue
        if not part.x0 - space < phrase.middle < part.x1 + space:
            continue
        above = stave.top - phrase.y1
        below = phrase.y0 - stave.bottom
        inside = -4.2 * space < above < -0.5 * space
        if not (-1.6 * space < above < 7 * space or -1.0 * space < below < 4 * space or inside):
            continue
        off = abs(phrase.middle - middle)
        if off > max(1.6 * space, 0.25 * (sign[2] - sign[0])):
            continue
        distance = off + abs(above) if above > -1.6 * space else off + 8 * space + abs(below)
        if best is None or distance < best[0]:
            best = (distance, int(text), phrase)
    return (best[1], best[2]) if best else None
