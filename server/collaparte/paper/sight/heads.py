"""Line heads: clef, key and meter before the first note of a line, and changes of them further on."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from operator import attrgetter
from typing import NamedTuple

from msgspec.structs import replace

from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import OUTLINE, Glyph

AFTER_CLEF = 2.6
"""A key signature begins within so many spaces of the clef."""
KEY_STEP = 1.3
"""Accidentals of one key signature stand at most so far apart, edge to edge."""
FURTHER = 8.0
"""The notes that signs may belong to begin no further, in spaces, behind the first note or rest."""
OWN_NOTE = 1.2
"""An accidental with a note head of its height within this distance belongs to the note."""
BOWL = 0.28
"""The middle of a flat's bowl above its foot, in its heights: about that in six music fonts (measured)."""
FIGURE = (1.5, 2.5)
"""A meter's figures are about two spaces high (common practice)."""
APART = 1.2
"""The figures of one meter stand nearer to one another than so many spaces."""
OFF_MIDDLE = 0.6
"""A meter of one figure stands nearer to the middle of its stave than so many spaces."""
RHYTHM = frozenset(("head", "rest", "repeat-bar", "h-bar", "flag"))
HEAD_KINDS = frozenset(("clef", "accidental", "meter", "digit"))


class Signature(NamedTuple):
    """Clef, key and meter signs that stand together: where, and what they say ("" or None where silent)."""

    x0: float
    x1: float
    clef: str
    fifths: int | None
    """Sharps count up, flats down; 0 when only naturals stand there."""
    meter: str
    """As "4/4"; common and cut time as "4/4" and "2/2"."""
    key_x: float | None = None
    """Where its key begins,"""
    meter_x: float | None = None
    """and its meter; None where there is none."""


NOTHING = Signature(0.0, 0.0, "", None, "")
_left = attrgetter("x0")


def between(glyphs: Sequence[Glyph], left: float, right: float) -> Sequence[Glyph]:
    """Of glyphs in order of their left edge those whose edge lies between two x."""
    return glyphs[bisect_right(glyphs, left, key=_left) : bisect_left(glyphs, right, key=_left)]


def on_stave(glyph: Glyph, stave: StaveLines, reach: float) -> bool:
    """Whether the glyph's middle is within `reach` spaces of the stave's outer lines."""
    y = (glyph.y0 + glyph.y1) / 2
    return stave.top - reach * stave.space < y < stave.bottom + reach * stave.space


def line_head(stave: StaveLines, glyphs: Sequence[Glyph]) -> Signature:
    """The signs at a line's left end; `glyphs` in order of their left edge."""
    return _signature(_near(stave, glyphs, stave.x0 - stave.space), stave, stave.x0)


def signature_after(stave: StaveLines, glyphs: Sequence[Glyph], x: float) -> Signature:
    """The signs that follow a barline or stand at x, `NOTHING` when a note comes first; `glyphs` as above."""
    return _signature(_near(stave, glyphs, x), stave, x)


def _near(stave: StaveLines, glyphs: Sequence[Glyph], x: float) -> list[Glyph]:
    """The stave's glyphs from x on up to its first note or rest, and a little further; none when that comes first."""
    low, high, end = stave.top - 2.5 * stave.space, stave.bottom + 2.5 * stave.space, float("inf")
    near: list[Glyph] = []
    for at in range(bisect_left(glyphs, x, key=_left), len(glyphs)):
        glyph = glyphs[at]
        if glyph.x0 > end:
            break
        if low < (glyph.y0 + glyph.y1) / 2 < high:
            if not near and glyph.kind in RHYTHM:
                break
            near.append(replace(glyph, kind="digit") if _is_text_meter(glyph, stave) else glyph)
            if end == float("inf") and glyph.kind in RHYTHM:
                end = glyph.x0 + FURTHER * stave.space
    return near


def _is_text_meter(glyph: Glyph, stave: StaveLines) -> bool:
    """A figure of a text font that fills half of a five-line stave: some engravers set meters so."""
    return (
        glyph.kind == "letter"
        and glyph.value.isdecimal()
        and len(stave.lines) == 5
        and FIGURE[0] < (glyph.y1 - glyph.y0) / stave.space < FIGURE[1]
        and on_stave(glyph, stave, -0.5)
    )


def _signature(near: Sequence[Glyph], stave: StaveLines, x: float) -> Signature:
    if not near:
        return Signature(x, x, "", None, "")
    space = stave.space
    notes = [g for g in near if g.kind == "head"]
    at = x
    first: float | None = None
    meter_x: float | None = None
    clef, meter = "", ""
    accidentals: list[Glyph] = []
    digits: list[Glyph] = []
    for glyph in near:
        if glyph.kind in RHYTHM:
            break
        if glyph.kind not in HEAD_KINDS:
            continue
        if glyph.kind == "digit" and not _meter_digit(glyph, stave):
            continue
        if glyph.kind == "accidental" and (glyph.y1 < stave.top or glyph.y0 > stave.bottom):
            continue  # no key's sign is off its stave: the brackets of an octave line's figure are
        gap = glyph.x0 - at
        if gap > 6.0 * space or (glyph.kind == "digit" and _is_count(glyph, digits, near, stave)):
            break
        if glyph.kind == "accidental":
            limit = KEY_STEP if accidentals else AFTER_CLEF
            # A key stands before a meter (common practice): behind it stands a note's own sign.
            if gap > limit * space or meter_x is not None or _has_note(glyph, notes, space):
                break
            accidentals.append(glyph)
        elif glyph.kind == "clef":
            clef = glyph.value
        elif glyph.kind == "meter":
            meter = {"common": "4/4", "cut": "2/2"}.get(glyph.value, meter)
        else:
            digits.append(glyph)
        if glyph.kind in ("meter", "digit"):
            meter_x = glyph.x0 if meter_x is None else min(meter_x, glyph.x0)
        first = glyph.x0 if first is None else first
        at = max(at, glyph.x1)
    if first is None:
        return NOTHING._replace(x0=x, x1=x)
    key_x = accidentals[0].x0 if accidentals else None
    return Signature(first, at, clef, _fifths(accidentals), meter or _meter(digits, stave), key_x, meter_x)


def _meter_digit(glyph: Glyph, stave: StaveLines) -> bool:
    middle = (glyph.y0 + glyph.y1) / 2
    return stave.top - 0.3 * stave.space < middle < stave.bottom + 0.3 * stave.space


def _is_count(glyph: Glyph, before: Sequence[Glyph], near: Sequence[Glyph], stave: StaveLines) -> bool:
    """Whether a figure counts a rest's bars, not a bar's beats: off the stave's middle with none over or under it.

    Behind a meter's own figures it stands further off than they from one another.
    """
    space = stave.space
    if before and glyph.x0 - max(g.x1 for g in before) < APART * space:
        return False
    if abs((glyph.y0 + glyph.y1) / 2 - stave.middle) < OFF_MIDDLE * space:
        return False
    return not any(
        g.kind == "digit" and g.x0 < glyph.x1 and glyph.x0 < g.x1 and abs(g.y0 - glyph.y0) > space for g in near
    )


def _has_note(accidental: Glyph, notes: Sequence[Glyph], space: float) -> bool:
    y = _height(accidental)
    return any(
        -0.2 * space < note.x0 - accidental.x1 < OWN_NOTE * space and abs(_height(note) - y) < 0.4 * space
        for note in notes
    )


def _height(sign: Glyph) -> float:
    """Where a head or accidental sits on the stave: a font's baseline; of a mere shape its middle, or a flat's bowl."""
    if sign.font != OUTLINE:
        return sign.y
    return sign.y1 - BOWL * (sign.y1 - sign.y0) if sign.value == "flat" else (sign.y0 + sign.y1) / 2


def _fifths(accidentals: Sequence[Glyph]) -> int | None:
    if not accidentals:
        return None
    values = [g.value for g in accidentals]
    if values.count("sharp"):
        return values.count("sharp")
    return -values.count("flat")


def _meter(digits: Sequence[Glyph], stave: StaveLines) -> str:
    over = "".join(g.value for g in digits if (g.y0 + g.y1) / 2 < stave.middle)
    under = "".join(g.value for g in digits if (g.y0 + g.y1) / 2 >= stave.middle)
    return f"{over}/{under}" if over and under else ""
