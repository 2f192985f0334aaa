"""One page read: its ink told apart into lines of music, words and frames."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import pymupdf

from collaparte.paper import doubts
from collaparte.paper.opening import ReadingError
from collaparte.paper.reading import (
    Box,
)
from collaparte.paper.scans import lying as scan_lying
from collaparte.paper.scans.scan import PICTURE, Scanned, scanned
from collaparte.paper.scans.words import framed_set_right, rows_set_right
from collaparte.paper.sight import lying
from collaparte.paper.sight.bars import segments
from collaparte.paper.sight.composed import composed
from collaparte.paper.sight.endings import brackets, under
from collaparte.paper.sight.fonts import TELLING, Font
from collaparte.paper.sight.frames import figures_told, find_frames, holding
from collaparte.paper.sight.heads import Signature, line_head
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.numbers import numbers_on
from collaparte.paper.sight.painted import page_ink
from collaparte.paper.sight.recognise import Memory, known_shapes, rest_blocks, with_drum_clefs
from collaparte.paper.sight.rests import count_bars
from collaparte.paper.sight.shared_pages import lone_small
from collaparte.paper.sight.staves import ON_STAVES, distinct, few_line_staves, find_staves, level_lines
from collaparte.paper.sight.strokes import Blob, Glyph, PageInk, Rule
from collaparte.paper.sight.systems import Skeleton, find_systems, usual_space
from collaparte.paper.sight.tempos import metronome_notes
from collaparte.paper.sight.words import Phrase, phrases

_Boxed = TypeVar("_Boxed", Rule, Blob, Glyph)


@dataclass(slots=True)
class Seen:
    """The fonts and drawn shapes that a document has shown so far."""

    fonts: dict[int, Font] = field(default_factory=dict)
    shapes: Memory = field(default_factory=dict)


@dataclass(slots=True)
class ReadPage:
    """One page while it is read."""

    number: int
    ink: PageInk
    lines: list[MusicLine]
    phrases: list[Phrase]
    frames: list[Box]
    free_rules: list[Rule]
    """Thin level rules that are no frame's side."""
    as_printed: str
    ms: float
    turned: int = 0
    scan: Scanned | None = None
    """Set when the page is a picture of staves: all places are on the page set straight."""
    small: bool = False
    """Whether small staves stand among themselves, which no bars were counted on."""


def _ran_out(error: BaseException | None) -> bool:
    """Whether memory ran out, which the library says in several ways, at times behind another error."""
    while error:
        if isinstance(error, MemoryError) or "alloc" in str(error):
            return True
        error = error.__cause__ or error.__context__
    return False


def _damaged(number: int, error: BaseException) -> ReadingError:
    """What is said of a page that cannot be read. Raises `MemoryError` where memory ran out."""
    if _ran_out(error):
        raise MemoryError from error  # the page may be sound: the worker says what its limit is
    return ReadingError(f"Page {number + 1} is damaged and cannot be read; export the part again.")


def _opened(document: pymupdf.Document, number: int) -> pymupdf.Page:
    """A page, opened anew: a file whose damage the library mended meanwhile may have lost it. Raises `ReadingError`."""
    try:
        page: pymupdf.Page = document.load_page(number)
    except Exception as error:
        raise _damaged(number, error) from error
    return page


def upright_page(
    document: pymupdf.Document,
    number: int,
    place: int,
    seen: Seen,
    before: Sequence[ReadPage],
    scans: bool,
    area: Box | None = None,
) -> ReadPage:
    """One page, turned first when it lies on its side or its head; `before`: those read before it.

    `area`: what of it is read, as it is displayed upright; None: all of it.
    """
    each = {len(line.system.staves) for page in before for line in page.lines}
    together = each.pop() if len(each) == 1 else 1
    page = _page(document, number, place, seen, together, scans, area)
    if scans and page.ink.picture > PICTURE and not doubts.lies(page.ink):
        degrees = 180 * page.scan.on_head if page.scan else scan_lying.sideways(_opened(document, number))
        if degrees:
            lying.turn(_opened(document, number), degrees)
            page = _page(document, number, place, seen, together, scans, area)
            page.turned = degrees
    if page.scan:
        return page
    if doubts.lies(page.ink):
        degrees = lying.turn_by_words(_opened(document, number))
        lying.turn(_opened(document, number), degrees)
        other = _page(document, number, place, seen, together, scans, area)
        # A line of small print up the margin turns no page of music.
        if lying.clefs(other.lines) > lying.clefs(page.lines) or not page.lines:
            other.turned = degrees
            return other
        lying.turn(_opened(document, number), -degrees)
        if page.lines and not lying.clefs(page.lines):
            page.lines, page.as_printed = [], doubts.LIES
            return page
    for degrees in lying.turns_to_try(page.ink, page.lines):
        lying.turn(_opened(document, number), degrees)
        other = _page(document, number, place, seen, together, scans, area)
        if 2 * lying.clefs(other.lines) > len(other.lines):
            other.turned = degrees
            return other
        lying.turn(_opened(document, number), -degrees)
    return page


def _page(
    document: pymupdf.Document,
    number: int,
    place: int,
    seen: Seen,
    together: int,
    scans: bool,
    area: Box | None,
) -> ReadPage:
    scan = None
    page = _opened(document, number)
    try:
        ink = _within(page_ink(page, seen.fonts), area)
        if scans and ink.picture > PICTURE:
            scan = scanned(page, ink)
    except Exception as error:  # the library raises several kinds for damaged pages
        raise _damaged(number, error) from error
    ink = scan.ink if scan else ink
    side = max(ink.width, ink.height)
    level = [] if scan else level_lines(ink.rules, side)
    staves = scan.staves if scan else find_staves(level, side)
    if scan is None and staves and not any(g.kind in TELLING for g in ink.glyphs):
        unmasked = [font for font in seen.fonts.values() if font.unmask()]
        if unmasked:
            ink = _within(page_ink(page, seen.fonts), area)
            level = level_lines(ink.rules, side)
    space = usual_space(staves) if staves else 5.0
    frames = outer = find_frames(ink.rules, ink.blobs, space)
    homes = staves
    if scan is None and not any(g.kind in ON_STAVES for g in ink.glyphs):  # signs are shapes, told by their staves too
        homes = staves + few_line_staves(level, ink.rules, None, staves, side)
        space = space if staves or not homes else usual_space(homes)
    shaped, blobs = known_shapes(ink.blobs, ink.rules, frames, homes, space, seen.shapes)
    glyphs = ink.glyphs + shaped
    put = composed(glyphs, ink.blobs, ink.rules, homes, space)
    glyphs = [g for g in glyphs if g not in put.glyphs] + put.signs if put.signs else glyphs
    blobs = [b for b in blobs if b not in put.blobs] if put.signs else blobs
    ink = ink._replace(rules=[r for r in ink.rules if r not in put.rules]) if put.rules else ink
    glyphs += rest_blocks(ink.rules, homes, [g for g in glyphs if g.kind in ("head", "rest")])
    glyphs = with_drum_clefs(glyphs, homes)
    ink = ink._replace(glyphs=glyphs, blobs=blobs)
    if scan is None:
        staves = distinct(staves + few_line_staves(level, ink.rules, glyphs, staves, side))
    frames = holding(frames, glyphs)
    ink = ink._replace(glyphs=metronome_notes(ink.glyphs, staves))
    systems = find_systems(ink, staves, together, no_stems=scan is not None)
    frames = [f for f in frames if not any(_is_within(f, s) for s in systems)]
    cuts = [(b.x, s.bbox[1], s.bbox[3]) for s in systems for b in s.barlines]
    sides = [(x, y0, y1) for x0, y0, x1, y1 in frames for x in (x0, x1)]
    words = phrases(figures_told(ink.glyphs, frames), cuts + sides, [] if scan else sides)
    if scan:
        words = rows_set_right(framed_set_right(words, frames))
    least = 1.6 * min([space, *(s.space for s in systems)])
    long = [r for r in ink.rules if r.x1 - r.x0 > least]
    thin = [r for r in long if r.y1 - r.y0 < 0.5 * space and r.x1 - r.x0 > 2 * space]
    free = _no_sides(thin, outer)
    over = [bracket for system in systems for bracket in brackets(system, free)]
    lines = [_line(place, system, long, words, frames, over, seen=scan is not None) for system in systems]
    reason = doubts.unread(ink, lines)
    small = scan is None and bool(lone_small(staves))
    return ReadPage(place, ink, [] if reason else lines, words, frames, free, reason, 0.0, scan=scan, small=small)


def _within(ink: PageInk, area: Box | None) -> PageInk:
    """What of a page's ink has its middle in an area; all of it without one."""
    if area is None:
        return ink
    x0, y0, x1, y1 = area

    def kept(boxes: list[_Boxed]) -> list[_Boxed]:
        return [b for b in boxes if x0 <= (b.x0 + b.x1) / 2 < x1 and y0 <= (b.y0 + b.y1) / 2 < y1]

    return ink._replace(rules=kept(ink.rules), blobs=kept(ink.blobs), glyphs=kept(ink.glyphs))


def _no_sides(level: Sequence[Rule], frames: Sequence[Box]) -> list[Rule]:
    """Level rules but those that are a frame's top or foot."""
    near = {round(y) + off for _, top, _, foot in frames for y in (top, foot) for off in (-1, 0, 1)}
    return [
        r
        for r in level
        if not ((round(r.y0) in near or round(r.y1) in near) and any(_is_side(r, frame) for frame in frames))
    ]


def _is_side(rule: Rule, frame: Box) -> bool:
    """Whether a level rule is the top or foot of a frame, whatever that holds; round corners make it shorter."""
    x0, top, x1, foot = frame
    return x0 - 1 < rule.x0 and rule.x1 < x1 + 1 and (abs(rule.y0 - top) < 1 or abs(rule.y1 - foot) < 1)


def _is_within(frame: Box, system: Skeleton) -> bool:
    """Whether a frame stands among a system's staves, where no marks are."""
    x0, top, x1, bottom = system.bbox
    return top < (frame[1] + frame[3]) / 2 < bottom and x0 < (frame[0] + frame[2]) / 2 < x1


def _line(
    page: int,
    system: Skeleton,
    long: Sequence[Rule],
    words: Sequence[Phrase],
    frames: Sequence[Box],
    over: Sequence[Rule],
    *,
    seen: bool,
) -> MusicLine:
    heads = [line_head(stave, system.glyphs) for stave in system.staves]
    head = _widest(heads)
    parts, barlines = segments(system, head.x1, seen=seen)
    x0, top, x1, bottom = system.bbox
    rules = [r for r in long if r.y1 > top and r.y0 < bottom and r.x1 - r.x0 > 1.6 * system.space]
    left, above, below = x0 - 12 * system.space, system.y_above, system.y_below
    near = [p for p in words if above < (p.y0 + p.y1) / 2 < below and left < p.x0 < x1]
    counts = [count_bars(part, system, rules, near, seen=seen) for part in parts]
    line = MusicLine(page, system, head, parts, barlines, counts, heads)
    # An ending's number between two lines stands under a barline of the upper one as a bar's would.
    figures = [p for p in near if not any(under(bracket, p, line.space) for bracket in over)] if over else near
    line.numbers = numbers_on(line, figures, frames)
    return line


def _widest(heads: Sequence[Signature]) -> Signature:
    first = heads[0]
    return first._replace(x1=max(h.x1 for h in heads), x0=min(h.x0 for h in heads))
