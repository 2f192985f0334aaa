"""One part read: PDF bytes in, a Reading out."""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple, TypeVar

from msgspec.structs import replace

from collaparte.paper import astray, doubts
from collaparte.paper.counting import multirests, number_bars, rest_counts
from collaparte.paper.numbered import off_numbers, part_from_count
from collaparte.paper.opening import ReadingError, opened
from collaparte.paper.read_page import ReadPage, Seen, upright_page
from collaparte.paper.reading import (
    Box,
    Ending,
    HeadWord,
    Mark,
    MultiRest,
    PageHead,
    PageReading,
    Reading,
    Sign,
    Stave,
    StaveHead,
    System,
    TempoWord,
)
from collaparte.paper.scans import beginning as scan_beginning
from collaparte.paper.scans import count as scan_count
from collaparte.paper.scans import numbers as scan_numbers
from collaparte.paper.scans.back import placed_back
from collaparte.paper.scans.chances import Chance, Left, chances
from collaparte.paper.scans.scan import PICTURE
from collaparte.paper.scans.settled import settle as settle_scanned
from collaparte.paper.shared import Areas, areas, doubt_shared, parts_of
from collaparte.paper.sight import pickups
from collaparte.paper.sight.beats import mark_beats
from collaparte.paper.sight.changes import find_changes
from collaparte.paper.sight.durations import Strokes, begins_with_pickup
from collaparte.paper.sight.endings import find_endings
from collaparte.paper.sight.frames import is_framed
from collaparte.paper.sight.heads import Signature
from collaparte.paper.sight.instructions import find_instructions
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.lyrics import lyrics
from collaparte.paper.sight.marks import find_marks
from collaparte.paper.sight.numbers import settle
from collaparte.paper.sight.signs import find_signs
from collaparte.paper.sight.tempos import find_tempos
from collaparte.paper.sight.title import head_words, may_start_part, runs_on, starts_part, titles
from collaparte.paper.sight.uncounted import Lengths, find_uncounted

VERSION = 1
"""Raised when the shape of a reading or the reader's rules change."""


def read_part(
    pdf: bytes, pages: range | None = None, clock: Callable[[], float] | None = None, *, scans: bool = False
) -> Reading:
    """Read one part; `pages` (from 0) limits it to some pages, `clock` (seconds) times them.

    With `scans` pages that are pictures are read too, and called doubtful; without they are shown as printed.

    Pages in the reading are counted from the first that was read.

    Raises ReadingError when the bytes are no PDF, are encrypted or hold no page.
    """
    reading, shared = _read(pdf, pages, clock, scans, ())
    parts = parts_of(shared, len(reading.pages))
    return replace(reading, shares=tuple(_read(pdf, pages, clock, scans, own)[0] for own in parts))


def _read(
    pdf: bytes, pages: range | None, clock: Callable[[], float] | None, scans: bool, own: Areas
) -> tuple[Reading, dict[int, tuple[Box, ...]]]:
    """What is read of a part's own areas (none: of all), and the areas of the pages that several parts share."""
    document = opened(pdf)
    seen = Seen()
    count = len(document)
    wanted = range(count) if pages is None else pages
    read: list[ReadPage] = []
    for place, number in enumerate(wanted):
        if not 0 <= number < count:
            raise ReadingError(f"There is no page {number + 1}: the file has {count}.")
        began = clock() if clock else 0.0
        page = upright_page(document, number, place, seen, read, scans, own[place] if own else None)
        page.ms = (clock() - began) * 1000 if clock else 0.0
        read.append(page)
    reading, shared = _whole(read, bool(document.is_repaired))
    if own:
        reading = replace(reading, pages=tuple(map(_limited, reading.pages, own)))
    return reading, shared


def _limited(page: PageReading, area: Box | None) -> PageReading:
    return replace(page, area=area)


def page_heads(pdf: bytes) -> tuple[PageHead, ...]:
    """The words at the head of every page, and on which pages a new part begins; raises ReadingError like read_part."""
    document = opened(pdf)
    seen = Seen()
    heads: list[PageHead] = []
    for number in range(len(document)):
        page = upright_page(document, number, number, seen, (), False)  # the next may be another part's
        words = _head_of(page, True)
        music = bool(page.lines) or page.ink.picture > PICTURE
        begins = number == 0 or starts_part(words, page.lines)
        heads.append(PageHead(tuple(words), begins, music, () if document[number].rotation else _halves(page)))
    return tuple(heads)


def _head_of(page: ReadPage, alone: bool) -> list[HeadWord]:
    """The words at one page's head, marks and the like told apart; `alone`: its bars are not counted yet."""
    if alone:
        settle(page.lines)
        number_bars(page.lines, False)
    _, used = _things([page])
    return head_words(page.number, page.phrases, page.lines, used, page.ink.height)


def _halves(page: ReadPage) -> tuple[Box, ...]:
    """The areas of a page whose bars are counted, one for each part on it."""
    things, used = _things([page])
    return areas(page, used - {(tempo.page, tempo.box) for tempo in things.tempos}) if not page.turned else ()


class _Things(NamedTuple):
    marks: list[Mark]
    signs: list[Sign]
    endings: list[Ending]
    tempos: list[TempoWord]


def _things(pages: Sequence[ReadPage]) -> tuple[_Things, set[tuple[int, Box]]]:
    """Marks, signs, endings and tempos on pages whose bars are counted, and the phrases (page, box) used up."""
    numbers = {(line.page, n.phrase.box) for p in pages for line in p.lines for n in line.numbers}
    # A long rest's count right behind a sign does not name it, nor does one under an octave line number an ending.
    counts = {(p.number, w.box) for p in pages for w in rest_counts(p.lines, p.phrases)}
    unframed = [[w for w in p.phrases if not is_framed(w, p.frames) and (p.number, w.box) not in counts] for p in pages]
    endings, ending_words = find_endings(
        [(p.lines, words, p.free_rules, p.scan is not None) for p, words in zip(pages, unframed, strict=True)]
    )
    used = numbers | ending_words
    free = [[w for w in p.phrases if (p.number, w.box) not in used] for p in pages]
    marks, mark_words = find_marks([(p.lines, words, p.frames) for p, words in zip(pages, free, strict=True)])
    used |= mark_words | {(p.number, w.box) for p in pages for w in lyrics(p.phrases, p.lines)}
    placed = [(p.lines, p.phrases, p.ink.glyphs, p.ink.rules) for p in pages]
    signs, sign_words = find_signs(placed, used | counts | _titles(pages), marks, endings)
    used |= sign_words
    tempos, tempo_words = find_tempos([(p.lines, p.phrases, p.ink.glyphs) for p in pages], used)
    return _Things(marks, signs, endings, tempos), used | tempo_words


def _titles(pages: Sequence[ReadPage]) -> set[tuple[int, Box]]:
    return {(page.number, phrase.box) for page in pages[:1] for phrase in titles(page.phrases, page.lines)}


def _whole(pages: list[ReadPage], mended: bool) -> tuple[Reading, dict[int, tuple[Box, ...]]]:
    """What the pages say, and the areas of those that several parts share."""
    lines = [line for page in pages for line in page.lines]
    settle(lines)

    inks = {page.number: Strokes(page.ink.rules, page.ink.blobs) for page in pages if page.scan is None}

    def short() -> bool | None:
        first = next((page for page in pages if page.lines), None)
        if first is None or first.scan:
            return None
        return begins_with_pickup(first.lines, inks[first.number])

    pickup = pickups.has_pickup(lines, short)
    scanned_lines = [line for page in pages if page.scan for line in page.lines]
    held: dict[int, int] = {}
    sure: set[int] = set()
    blurred: dict[int, list[Left]] = {}
    off: list[Chance] = []
    agreed: list[scan_numbers.Stretch] = []
    tail, start = range(0), 1.0
    bare = bool(scanned_lines) and len(scanned_lines) == len(lines)
    bare = bare and not any(line.printed and line.printed.number > 1 for line in lines[1:])
    if scanned_lines and len(scanned_lines) == len(lines):  # of a part that is scanned in part the count is not mended
        blurred = {
            n: left_out
            for n, (line, page) in enumerate((line, page) for page in pages for line in page.lines)
            if page.scan and (left_out := scan_count.weigh(line, page.scan.strokes))
        }
        blurred = scan_count.without_signatures(blurred, lines)
        heads = scan_numbers.read_heads(lines)
        held = scan_numbers.heads_that_hold(lines)
        denied = scan_numbers.denied(heads, held)
        told = scan_numbers.has_pickup(lines, held)
        pickup = pickup if told is None else told
        parts = scan_numbers.stretches(lines, held, pickup)
        pixels = [line.space / page.scan.bent.scale for page in pages if page.scan for line in page.lines]
        off = chances(lines, blurred, pixels)
        settle_scanned(lines, parts, off, blurred)
        agreed = scan_numbers.led_to(lines, parts)
        sure = scan_numbers.borne_out(lines, agreed, off)
        held |= scan_numbers.beginnings(lines, parts, sure)
        tail, start = range(parts[-1].first, len(lines)), 1.0 if denied else scan_numbers.misread(lines, parts, off)
        scan_count.mend(lines, parts)
    bars = number_bars(lines, pickup, held)
    things, used = _things(pages)
    if pickup and not any(line.numbers for line in lines) and any(mark.bar == 0 for mark in things.marks):
        pickup = False  # a mark never stands at a pickup, so the first bar only looked short
        bars = number_bars(lines, pickup, held)
        things, used = _things(pages)
    if pickup:  # set wide over it, it is still the first full bar's (common practice)
        marks = [replace(m, bar=1, confidence=min(m.confidence, 0.85)) if m.bar == 0 else m for m in things.marks]
        things = things._replace(marks=marks)
    told = pickups.told_by_marks(things.marks, None if scanned_lines else short)
    if told is not None and told != pickup and not any(line.numbers for line in lines):
        pickup = told
        bars = number_bars(lines, pickup, held)
        things, used = _things(pages)
    begins = scan_beginning.begins_with_pickup(lines, things.marks) if bare and not pickup else None
    if begins:
        pickup = True
        bars = number_bars(lines, pickup, held)
        things, used = _things(pages)
    if bare:
        start = scan_beginning.unlike(lines, begins, pickup)
    sure = scan_numbers.with_marks(sure, lines, agreed[:1], off, things.marks)
    numbered, odd = scan_numbers.told_inside(lines, things.marks)
    sure |= scan_numbers.behind(tail, off, start, numbered) - odd
    lengths, changes = Lengths(inks), find_changes(lines)
    # What a scan's endings seem to be numbers nothing anew: their numbers are told by shapes, and some by their place.
    told_endings = () if scanned_lines else tuple(things.endings)
    if pickup != (surely := pickups.with_bars_behind(lines, told_endings, changes, lengths, pickup, short)):
        pickup = surely
        bars = number_bars(lines, pickup, held)
        things, used = _things(pages)
        told_endings, changes = () if scanned_lines else tuple(things.endings), find_changes(lines)
    scanned_pages = {page.number for page in pages if page.scan}
    things = _Things(
        scan_count.unsure(things.marks, scanned_pages),
        scan_count.unsure(things.signs, scanned_pages),
        scan_count.unsure(things.endings, scanned_pages),
        things.tempos,
    )
    for line in scanned_lines:  # off the line's head a figure on a scan is a chord's as likely as a bar's
        line.numbers = [number for number in line.numbers if number is line.printed]
    counted_short = not pickup and not scanned_lines and pickups.is_counted(lines, lengths)
    uncounted, unsettled = find_uncounted(lines, told_endings, changes, lengths, counted_short)
    mark_beats(lines, changes, inks)
    counted_short = counted_short and not pickups.is_borne_out(lines, lengths)
    in_doubt = pickup and not (bare and (numbered or start < scan_numbers.LIMIT))  # figures or a mark may tell it
    in_doubt = in_doubt and not (not scanned_lines and pickups.is_made_up(lines, lengths))
    parted = part_from_count(lines, uncounted, scanned=bool(scanned_lines))
    uncounted = sorted([*uncounted, *parted.leaps], key=lambda one: one.bar)
    said = parted.said
    said += doubts.check_all(lines, in_doubt, things.marks, uncounted, unsettled, counted_short, scanned_pages)
    edges = {page.number: page.ink.width for page in pages if page.scan is None}
    said += astray.check(lines, edges) + scan_count.doubt(scanned_lines, sure, blurred)
    sure_bars = _sure_bars(lines, off_numbers(lines, uncounted))
    titled = used - {(tempo.page, tempo.box) for tempo in things.tempos}
    own_page = (page for page in pages if not (page.turned or page.scan))
    shared = {page.number: found for page in own_page if (found := areas(page, titled))}
    said = doubt_shared(pages, titled, shared) + (_other_parts(pages, titled) or said)
    if mended:
        said.append("The PDF is damaged and was mended; look whether anything is missing.")
    reading = Reading(
        version=VERSION,
        bars=bars,
        pickup=pickup,
        marks=tuple(_no_surer(things.marks, sure_bars)),
        multirests=tuple(_no_surer(multirests(lines), sure_bars)),
        signs=tuple(_no_surer(things.signs, sure_bars)),
        endings=tuple(_no_surer(things.endings, sure_bars)),
        tempos=tuple(things.tempos),
        head=tuple(_head(pages, used)),
        pages=tuple(_page_reading(page) for page in pages),
        confidence=min((line.confidence for line in lines), default=0.0),
        doubts=tuple(said),
        changes=tuple(changes),
        instructions=tuple(find_instructions([(page.lines, page.phrases) for page in pages], used | _titles(pages))),
        uncounted=tuple(uncounted),
    )
    return placed_back(reading, {page.number: page.scan.bent for page in pages if page.scan}), shared


_Placed = TypeVar("_Placed", Mark, MultiRest, Sign, Ending)


def _sure_bars(lines: Sequence[MusicLine], off: set[int]) -> dict[int, float]:
    """How sure the count of each bar is: as that of its line; `off`: bars by other numbers."""
    sure = {bar.number + n: line.confidence for line in lines for bar in line.bars for n in range(bar.count)}
    return sure | {bar: min(sure.get(bar, 1.0), doubts.MISMATCH) for bar in off}


def _no_surer(things: Sequence[_Placed], sure: Mapping[int, float]) -> list[_Placed]:
    """What stands at a bar is no surer than the bar's count."""
    return [replace(thing, confidence=min(thing.confidence, sure.get(thing.bar, 1.0))) for thing in things]


def _other_parts(pages: Sequence[ReadPage], used: set[tuple[int, Box]]) -> list[str]:
    """A sentence when later pages seem to begin parts of their own; `used`: phrases (page, box) that are no titles."""
    music = [page for page in pages if page.lines or page.ink.picture > PICTURE]
    later = [page for page in music[1:] if page.lines and not runs_on(page.lines)]
    later = [
        page
        for page in later
        if may_start_part([one for one in page.phrases if (page.number, one.box) not in used], page.lines)
    ]
    begins = [page.number + 1 for page in later if starts_part(_head_of(page, False), page.lines)]
    if not begins:
        return []
    where = ", ".join(map(str, begins))
    return [f"New parts seem to begin on page {where}; bring takes such a file apart, so that each is counted alone."]


def _head(pages: Sequence[ReadPage], used: set[tuple[int, Box]]) -> list[HeadWord]:
    if not pages:
        return []
    first = pages[0]
    return head_words(first.number, first.phrases, first.lines, used, first.ink.height)


def _page_reading(page: ReadPage) -> PageReading:
    return PageReading(
        page.ink.width,
        page.ink.height,
        tuple(_system(line) for line in page.lines),
        page.as_printed,
        page.ms,
        page.turned,
        page.scan is not None,
    )


def _stave_head(signs: Signature) -> StaveHead | None:
    return StaveHead(signs.key_x, signs.meter_x, signs.x1) if signs.clef else None


def _system(line: MusicLine) -> System:
    return System(
        bbox=line.system.bbox,
        space=line.space,
        staves=tuple(
            Stave(s.lines[0], s.lines[-1], s.lines, s.x0, s.x1, _stave_head(head))
            for s, head in zip(line.system.staves, line.heads, strict=True)
        ),
        barlines=tuple(line.barlines),
        bars=tuple(line.bars),
        head_x1=line.head.x1,
        printed_number=line.printed.number if line.printed else None,
        printed_number_box=line.printed.phrase.box if line.printed else None,
        confidence=line.confidence,
        doubt=line.doubt,
    )
