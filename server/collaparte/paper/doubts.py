"""What is not sure, in words: printed bar numbers against the count, unread pages."""

from collections.abc import Collection, Sequence
from itertools import pairwise

from msgspec.structs import replace

from collaparte.paper.reading import SURE, BarlineKind, Mark, Uncounted, called
from collaparte.paper.sight.bars import Segment, is_crossed
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.rests import is_numbered
from collaparte.paper.sight.strokes import OUTLINE, PageInk

UNCONFIRMED = 0.97
"""Confidence of lines whose count no printed number confirms."""
SHORT_FIRST = 0.85
"""Confidence when only the length of the first bar says that it is a pickup."""
SPLIT = 0.85
"""Confidence of what bars are called behind a split bar that only its halves' lengths tell."""
UNKNOWN_SIGNS = 0.6
"""Confidence of lines when no note or rest was told: a stem could pass for a barline."""
UNCLOSED = 0.85
"""Confidence of a bar that runs over the line's end, when no number confirms it."""
PICKUP_UNCONFIRMED = "The first bar seems to be a pickup; no printed bar number confirms that."
PICKUP_COUNTED = (
    "The first bar is as short as a pickup, but the printed bar numbers count it as bar 1, and so does the count: "
    "look whether the tune's other parts do."
)
LIES = "This page lies on its side or its head; it is shown as printed: turn it upright and bring it again."
SHARED = 0.6
"""Confidence of lines that seem to be another part's or movement's than those before them."""
TWO_SIZES = (
    "Page {} has staves of two sizes that seem to be two parts, and the smaller ones were not counted: "
    "put each part on pages of its own and bring those."
)
EMPTY = 0.2
"""Where more than this share of the bars is empty, the part is made so."""
TALL, BROAD = 2.5, 5.0
"""A note with its stem is taller than so many spaces, and alone narrower than so many."""
LEGEND = 0.8
"""A list of signs is shorter than this share of a line; a part's own last line alone may be."""
FEW_LETTERS = 3
"""So few letters say nothing of how a page lies."""
MISMATCH = 0.3
"""Confidence of the bars between the last printed number that agreed with the count and the first that did not."""


def unread(ink: PageInk, lines: Sequence[MusicLine]) -> str:
    """Why a page is only shown as printed; empty when it has lines of music."""
    if lines:
        return ""
    if ink.picture > 0.4:
        return "This page is a picture; it is shown as printed."
    if any(g.kind == "letter" for g in ink.glyphs):
        return "There are words but no staves on this page; it is shown as printed."
    return "There is no music on this page; it is shown as printed."


def lies(ink: PageInk) -> bool:
    """Most of what is set in fonts does not stand upright; shapes are told upright or not at all."""
    if False not in [g.upright for g in ink.glyphs]:
        return False
    letters = [g for g in ink.glyphs if g.kind in ("letter", "digit", "head", "rest") and g.font != OUTLINE]
    return len(letters) >= FEW_LETTERS and 2 * sum(not g.upright for g in letters) > len(letters)


def shared(page: int, line: int, *, can_be_cut: bool) -> str:
    """The sentence for a page (from 0) on which another part begins at a line (from 0)."""
    do = "take one half at the desk or with --half, or put each" if can_be_cut else "put each"
    return (
        f"Another part or movement seems to begin on page {page + 1} at line {line + 1}: "
        f"{do} on pages of its own and bring those, so that each is counted alone."
    )


def doubt_all(lines: Sequence[MusicLine], sentence: str) -> None:
    """Lines that may be another part's."""
    for line in lines:
        line.confidence = min(line.confidence, SHARED)
        line.doubt = line.doubt or sentence


def check_all(
    lines: Sequence[MusicLine],
    pickup: bool,
    marks: Sequence[Mark],
    uncounted: Sequence[Uncounted] = (),
    unsettled: Sequence[int] = (),
    short_first: bool = False,
    scanned: Collection[int] = (),
) -> list[str]:
    """Every check on counted lines; lowers confidence where something is not sure, and says what in words.

    `unsettled`: bars that only their lengths say are the rest of a split bar; `short_first`: printed numbers count a
    first bar that is shorter than its meter; `scanned`: pages on which notes may be ink of no name.
    """
    said = _check_misprinted([line for line in lines if line.page not in scanned], uncounted)
    if short_first:
        said.append(PICKUP_COUNTED)
        for line in lines:
            line.confidence = min(line.confidence, SHORT_FIRST)
            line.doubt = line.doubt or said[-1]
    if not any(line.numbers for line in lines):
        for line in lines:
            line.confidence = min(line.confidence, SHORT_FIRST if pickup else UNCONFIRMED)
        if pickup:
            said.append(PICKUP_UNCONFIRMED)
            for line in lines:
                line.doubt = line.doubt or said[-1]
    said += (
        _check_rests(lines, uncounted, scanned)
        + _check_barlines(lines)
        + _check_legend(lines)
        + _check_signs(lines)
        + _check_ends(lines, uncounted)
        + check_marks(marks, uncounted)
    )
    said += _check_empty(lines, scanned, uncounted)
    return said + _check_halves(lines, uncounted, unsettled)


def _check_misprinted(lines: Sequence[MusicLine], uncounted: Sequence[Uncounted]) -> list[str]:
    """One number that is wrong among right ones leaves the count sure; but players go by what is printed."""
    return [
        f"The number {printed.number} is printed at bar {number} on page {line.page + 1}; the count and the numbers "
        f"around it say {number}: tell who plays from it."
        for line in lines
        for printed in line.misprinted
        if line.bars and printed.number != (number := called(uncounted, line.bars[0].number))
    ]


def _check_halves(lines: Sequence[MusicLine], uncounted: Sequence[Uncounted], unsettled: Sequence[int]) -> list[str]:
    """From a split bar on that no printed number settles, what bars are called is in doubt."""
    said = []
    for half in unsettled:
        at = next(line for line in lines if half < line.next_number)
        said.append(
            f"On page {at.page + 1} a sign seems to split bar {called(uncounted, half)}, which is counted once; "
            "no printed bar number confirms that."
        )
        for line in lines[lines.index(at) :]:
            line.confidence = min(line.confidence, SPLIT)
            line.doubt = line.doubt or said[-1]
    return said


def _check_rests(lines: Sequence[MusicLine], uncounted: Sequence[Uncounted], scanned: Collection[int]) -> list[str]:
    """A rest whose count is not sure leaves the lines behind it in doubt up to the next printed number, too; how sure
    lines are on pictures is worked out apart."""
    said = []
    open_doubt: tuple[float, str] | None = None
    for line in lines:
        if line.numbers or line.page in scanned:
            open_doubt = None
        if open_doubt:
            line.confidence = min(line.confidence, open_doubt[0])
            line.doubt = line.doubt or open_doubt[1]
        for bar, count in zip(line.bars, line.counts, strict=True):
            if count.confidence < SURE:
                what = "no number" if count.bars == 1 else "a number that its signs do not bear out"
                at = f"at bar {called(uncounted, bar.number)} on page {line.page + 1}"
                said.append(f"The rest {at} has {what}; it counts {count.bars}.")
                line.confidence = min(line.confidence, count.confidence)
                line.doubt = line.doubt or said[-1]
                open_doubt = None if line.page in scanned else (count.confidence, said[-1])
    return said


def _check_barlines(lines: Sequence[MusicLine]) -> list[str]:
    """Music whose lines have none: they may be painted in a way that is not seen, as patterns are."""
    bare = [line for line in lines if line.parts and not line.barlines]
    if len(lines) < 2 or 2 * len(bare) <= len(lines):
        return []
    said = "Most lines have no barline that was recognised, and each is counted as one bar: put the barlines in."
    doubt_all(lines, said)
    return [said]


def _check_empty(lines: Sequence[MusicLine], scanned: Collection[int], uncounted: Sequence[Uncounted]) -> list[str]:
    """A bar with nothing in it, among bars of music and with no number behind, may hold a rest that was not told."""
    parts = [(line, n) for line in lines for n in range(len(line.parts))]
    empty = [
        (line, n)
        for line, n in parts
        if not line.parts[n].music
        and line.counts[n].bars == 1
        and not _is_repeated(line, line.parts[n])
        and not (line.page in scanned and _is_plain(line, line.parts[n]))
    ]
    numbered = max((n for n, line in enumerate(lines) if line.numbers), default=-1)
    said: list[str] = []
    borne_out = [line for line, _ in empty if lines.index(line) < numbered and line.confidence >= SURE]
    if len(empty) >= EMPTY * len(parts) or len(borne_out) > 1:  # the part is made so, as numbers behind others say
        return said
    for line, n in empty:
        if lines.index(line) >= numbered:
            bar = line.bars[n]
            which = f"Bar {called(uncounted, bar.number)} on page {line.page + 1}"
            said.append(f"{which} seems empty; look whether a rest of several stands there.")
            line.bars[n] = replace(bar, confidence=min(bar.confidence, UNCLOSED))
            for later in lines[lines.index(line) :]:
                later.confidence = min(later.confidence, UNCLOSED)
                later.doubt = later.doubt or said[-1]
    return said


def _is_plain(line: MusicLine, part: Segment) -> bool:
    """Whether a bar on a picture holds ink as tall as a note and narrower than a long rest, or no number is over it."""
    if not is_numbered((part.x0 + part.x1) / 2, line.system.staves[0], line.system.glyphs):
        return True
    tall = [g for g in line.system.glyphs if part.x0 < g.x0 and g.x1 < part.x1 and g.y1 - g.y0 > TALL * line.space]
    return any(
        g.x1 - g.x0 < BROAD * line.space and any(s.top < (g.y0 + g.y1) / 2 < s.bottom for s in line.system.staves)
        for g in tall
    )


def _is_repeated(line: MusicLine, part: Segment) -> bool:
    """Whether a bar holds dots and no notes: with the stroke between them they say that the bar before is repeated.

    The sign that repeats two bars stands across the barline between them.
    """
    if is_crossed(part.before, line.system) or is_crossed(part.after, line.system):
        return True
    dots = [g for g in line.system.glyphs if g.kind == "dot" and part.x0 < g.x0 and g.x1 < part.x1]
    return len(dots) >= 2 and any(s.top < dots[0].y0 and dots[0].y1 < s.bottom for s in line.system.staves)


def _check_legend(lines: Sequence[MusicLine]) -> list[str]:
    """A short first line that ends for itself, before one that begins like a part, may list a drummer's signs."""
    if len(lines) < 2 or not lines[0].barlines or not lines[1].head.meter:
        return []
    first, second = lines[0], lines[1]
    short = first.system.x1 - first.system.x0 < LEGEND * (second.system.x1 - second.system.x0)
    if not short or first.barlines[-1].kind not in (BarlineKind.DOUBLE, BarlineKind.FINAL) or first.page != second.page:
        return []
    said = (
        f"The first line on page {first.page + 1} looks like a list of signs, and its bars are counted: "
        "take its barlines out if it is one."
    )
    numbered = any(line.numbers for line in lines)  # and then they say what is off behind it
    doubt_all(lines[:1] if numbered else lines, said)
    return [said]


def _check_signs(lines: Sequence[MusicLine]) -> list[str]:
    """When no note or rest is known anywhere, stems cannot be told from barlines."""
    known = any(part.music for line in lines for part in line.parts) or any(
        bar.count > 1 for line in lines for bar in line.bars
    )
    if not any(line.bars for line in lines) or known:
        return []
    said = "No notes or rests were recognised: look at the barlines, a stem may have been taken for one."
    for line in lines:
        line.confidence = min(line.confidence, UNKNOWN_SIGNS)
        line.doubt = line.doubt or said
    return [said]


def _check_ends(lines: Sequence[MusicLine], uncounted: Sequence[Uncounted]) -> list[str]:
    """A bar over the line's end is sure when the next printed number agrees."""
    said = []
    for line, after in pairwise(lines):
        if line.open_end and line.bars and not after.numbers:
            at = line.bars[-1]
            line.bars[-1] = replace(at, confidence=min(at.confidence, UNCLOSED))
            which = f"Bar {called(uncounted, at.number)} on page {line.page + 1}"
            said.append(f"{which} has no barline at the line's end; it is taken to go on.")
    return said


def check_marks(marks: Sequence[Mark], uncounted: Sequence[Uncounted] = ()) -> list[str]:
    """What is not right about marks that are bar numbers: they must equal the count."""
    numbers = [mark for mark in marks if mark.text.isdecimal()]
    agreeing = [mark for mark in numbers if int(mark.text) == called(uncounted, mark.bar)]
    if len(agreeing) < 3 or 2 * len(agreeing) <= len(numbers):
        return []
    return [
        f"Mark {mark.text} stands at bar {called(uncounted, mark.bar)} by the count, though the marks are bar numbers."
        for mark in numbers
        if mark not in agreeing
    ]
