"""A chair's book for print or for another reader: each tune's pages as vector PDF, and all of them bound as one.

Laid pages are drawn from their pieces. What is shown as printed keeps its own page, carried over whole and fitted;
a scan is set straight, its paper white.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

import pymupdf

from collaparte.paper.cutting import scan_clean
from collaparte.paper.cutting.flattened import open_pdf
from collaparte.paper.cutting.items import union
from collaparte.paper.cutting.pieces import Cut, cut_ink
from collaparte.paper.pages.draw_pdf import POINTS, draw_cut
from collaparte.paper.pages.lay import as_printed, lay
from collaparte.paper.pages.laying import Step
from collaparte.paper.pages.marked import Spot, mark, stroke
from collaparte.paper.pages.papers import PAPERS, Paper
from collaparte.paper.reading import Box, Reading
from collaparte.wire.chart import BarId
from collaparte.wire.markings import Marking, PageInk

ROMAN, BOLD, ITALIC = "tiro", "tibo", "tiit"
SMALL = 3.2
"""Height in mm of the em of what we say at the foot."""
LOOK = 50
"""Dots an inch at which a page's ink is looked for."""
WHITE = 245
"""A dot lighter than this, of 255, is paper."""
ENLARGED = 1.5
"""A page as printed is enlarged by no more than this."""


@dataclass(frozen=True, slots=True)
class Chapter:
    """One tune's pages in the book, as PDF of their own, and the name that the bookmark has."""

    title: str
    pdf: bytes


def part_pages(
    pdf: bytes, reading: Reading | None, pages: range | None, steps: Sequence[Step], paper: Paper, stave: float,
    running: str, told: Sequence[str] = (), bars: Sequence[tuple[BarId, int]] = (), markings: Sequence[Marking] = (),
) -> bytes:  # fmt: skip
    """A part in this order as PDF; as printed when there are no steps or no sure reading of it.

    `running` stands at the foot of each sheet that may come loose, `told` (what the order cannot show) at the foot of
    the first page. `markings` are drawn at their bars; `bars` says each step's, and which time through it is.
    Raises `CannotOpen`.
    """
    if steps and reading is not None:
        cut = cut_ink(pdf, reading, pages)
        if not cut.table.page_pieces:
            laying = lay(
                reading, cut.table, steps, (paper.width, paper.height), stave, paper.side, paper.top, paper.bottom
            )
            if not laying.as_printed:
                document = pymupdf.open(stream=draw_cut(cut, laying), filetype="pdf")
                mark(document, laying, bars, markings)
                return _with_feet(document, paper, running, told)
    document, places = printed_pages(pdf, pages, paper, len(told))
    drawn_on = [marking for marking in markings if isinstance(marking.what, PageInk)]
    if drawn_on and reading is not None:
        _draw_on(document, places, cut_ink(pdf, reading, pages), reading, drawn_on)
    return _with_feet(document, paper, running, told)


class Place(NamedTuple):
    """Where a page of the file stands on its sheet, in points: a place of the page and of the sheet, and the scale."""

    source: tuple[float, float]
    sheet: tuple[float, float]
    scale: float


def _draw_on(document: Any, places: Sequence[Place], cut: Cut, reading: Reading, markings: Sequence[Marking]) -> None:
    """Draw what was drawn on pages as a tablet shows them where it lies on the same pages here."""
    tablet = PAPERS["tablet"]
    size = (tablet.width, tablet.height)
    laying = as_printed(reading, cut.table, size, side=tablet.side, top=tablet.top, bottom=tablet.bottom)
    for page, place, shown in zip(document, places, laying.pages, strict=False):
        [piece] = shown.placed
        ink, [whole] = cut.inks[piece.piece], piece.slices
        points = ink.space / piece.space * place.scale  # on the sheet, a mm of the tablet
        left = place.sheet[0] + (ink.x + whole.sx0 * ink.space - place.source[0]) * place.scale - whole.x0 * points
        top = place.sheet[1] + (ink.y - place.source[1]) * place.scale - piece.y * points
        for marking in markings:
            what = marking.what
            assert isinstance(what, PageInk)
            run = [
                Spot(left + p.x * size[0] * points, top + p.y * size[1] * points, p.pressure)
                for p in what.points
                if p.page == page.number
            ]
            if run:
                stroke(page, run, what.width * size[0] * points, marking.layer)


def printed_pages(pdf: bytes, pages: range | None, paper: Paper, lines: int = 0) -> tuple[Any, list[Place]]:
    """The pages as they are in the file, without their white margins, as large as the sheet allows.

    `lines` of ours get room at the foot. Raises `CannotOpen`.
    """
    source = open_pdf(pdf)
    source.bake()  # what somebody wrote onto the page is on paper, too
    out = pymupdf.open()
    numbers = [_straight(source, n) for n in pages or range(len(source))]
    places: list[Place] = []
    boxes: dict[tuple[int, int], list[Box]] = {}
    for n in numbers:
        boxes.setdefault(_size(source[n]), []).append(ink_box(source[n]))
    for n in numbers:
        box = union(boxes[_size(source[n])])  # pages of one size stand at one size
        sheet = paper.on_its_side if paper.turns and box[2] - box[0] > box[3] - box[1] else paper
        bottom = sheet.bottom + max(0.0, (lines - 1) * 1.3 * SMALL)
        room_w = (sheet.width - 2 * sheet.side) * POINTS
        room_h = (sheet.height - sheet.top - bottom) * POINTS
        scale = min(room_w / (box[2] - box[0]), room_h / (box[3] - box[1]), ENLARGED)
        width, height = (box[2] - box[0]) * scale, (box[3] - box[1]) * scale
        left, top = (sheet.width * POINTS - width) / 2, sheet.top * POINTS
        page = out.new_page(width=sheet.width * POINTS, height=sheet.height * POINTS)
        page.show_pdf_page(pymupdf.Rect(left, top, left + width, top + height), source, n, clip=pymupdf.Rect(box))
        places.append(Place((box[0], box[1]), (left, top), scale))
    return out, places


def _straight(source: Any, number: int) -> int:
    """The number of a page that lies upright, a scan cleaned on a page of its own."""
    page = source[number]
    if not scan_clean.is_scan(page):
        page.remove_rotation()
        return number
    clean = scan_clean.cleaned(page)
    picture = clean.picture(clean.box())
    made = source.new_page(width=page.rect.width, height=page.rect.height)
    made.insert_image(pymupdf.Rect(picture.box), stream=picture.png)
    return int(made.number)


def _size(page: Any) -> tuple[int, int]:
    return round(page.rect.width), round(page.rect.height)


def ink_box(page: Any) -> Box:
    """What of a page is not white, with a little room; the whole page when nothing is. Points, y down."""
    look = page.get_pixmap(dpi=LOOK, colorspace=pymupdf.csGRAY, alpha=False)
    dots, width, height, stride = look.samples, look.width, look.height, look.stride
    rows = [y for y in range(height) if min(dots[y * stride : y * stride + width]) < WHITE]
    if not rows:
        return tuple(page.rect)
    first, last = rows[0], rows[-1]
    columns = [x for x in range(width) if min(dots[first * stride + x : last * stride + x + 1 : stride]) < WHITE]
    unit = 72 / LOOK
    x0, y0 = page.rect.x0 + (columns[0] - 1) * unit, page.rect.y0 + (first - 1) * unit
    x1, y1 = page.rect.x0 + (columns[-1] + 2) * unit, page.rect.y0 + (last + 2) * unit
    return (
        max(x0, page.rect.x0),
        max(y0, page.rect.y0),
        min(x1, page.rect.x1),
        min(y1, page.rect.y1),
    )


def card(title: str, words: Sequence[str], paper: Paper, running: str) -> bytes:
    """A page for a tune that the chair has nothing of: its title, and why."""
    document = pymupdf.open()
    page = document.new_page(width=paper.width * POINTS, height=paper.height * POINTS)
    middle = paper.width / 2
    y = 0.3 * paper.height
    for line in _folded(title, BOLD, 9.0, paper.width - 2 * paper.side - 4.0):
        say(page, line, middle, y, 9.0, BOLD, "middle")
        y += 11.0
    y += 6.0
    for sentence in words:
        for line in _folded(sentence, ITALIC, 6.0, paper.width - 2 * paper.side - 4.0):
            say(page, line, middle, y, 6.0, ITALIC, "middle")
            y += 8.0
    return _with_feet(document, paper, running, ())


def bind(chapters: Sequence[Chapter], title: str, chair: str) -> bytes:
    """One PDF of all chapters, with a bookmark and page labels each: "Blue Harbour 2" is that tune's second page."""
    book = pymupdf.open()
    marks: list[list[Any]] = []
    labels = ""
    for chapter in chapters:
        first = len(book)
        with pymupdf.open(stream=chapter.pdf, filetype="pdf") as pages:
            book.insert_pdf(pages)
        marks.append([1, chapter.title, first + 1])
        labels += f"{first}<</S/D/P{pymupdf.get_pdf_str(f'{chapter.title} ')}>>"
    book.set_toc(marks)
    # By hand: the library writes the letters of a label as bytes (PDF 1.7, 12.4.2, wants a text string).
    book.xref_set_key(book.pdf_catalog(), "PageLabels", f"<</Nums[{labels}]>>")
    book.set_metadata({"title": f"{title}, {chair}", "subject": chair, "creator": "collaparte"})
    book.set_pagemode("UseOutlines")
    # Printed at its own size, so that a stave is as tall as was asked (PDF 1.7, 12.2, PrintScaling).
    book.xref_set_key(book.pdf_catalog(), "ViewerPreferences", "<</PrintScaling/None/DisplayDocTitle true>>")
    return bytes(book.tobytes(garbage=4, deflate=True, use_objstms=True))


def _with_feet(document: Any, paper: Paper, running: str, told: Sequence[str]) -> bytes:
    """Say what is to be said at the feet of the pages."""
    for n, page in enumerate(document):
        width, height = page.rect.width / POINTS, page.rect.height / POINTS
        lines = [
            line for sentence in told for line in _folded(sentence, ITALIC, SMALL, width - 2 * paper.side - 4.0)
        ] if n == 0 else []  # fmt: skip
        y = height - paper.bottom + 1.3 * SMALL
        for line in lines:
            say(page, line, paper.side + 2.0, y, SMALL, ITALIC)
            y += 1.3 * SMALL
        if paper.turns:
            words = f"{running}  {n + 1}/{len(document)}"
            say(page, words, width - paper.side, height - 5.0, SMALL, ROMAN, "end")
    return bytes(document.tobytes(garbage=3, deflate=True, use_objstms=True))


Anchor = Literal["start", "middle", "end"]


def say(page: Any, words: str, x: float, y: float, size: float, font: str, anchor: Anchor = "start") -> None:
    """Set words of our own on a page, their baseline at x, y; `size` is the em. All in mm."""
    face = pymupdf.Font(font)
    length = face.text_length(words, fontsize=size * POINTS)
    x = x * POINTS - (length if anchor == "end" else length / 2 if anchor == "middle" else 0.0)
    if words.isprintable() and max(words, default="") <= "\xff":
        page.insert_text((x, y * POINTS), words, fontname=font, fontsize=size * POINTS)
        return
    writer = pymupdf.TextWriter(page.rect)  # embeds the face: the standard one has Latin-1 letters only
    writer.append((x, y * POINTS), words, font=face, fontsize=size * POINTS)
    writer.write_text(page)


def _folded(words: str, font: str, size: float, width: float) -> list[str]:
    """Words in lines no wider than `width` mm."""
    face = pymupdf.Font(font)
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and face.text_length(longer, fontsize=size * POINTS) <= width * POINTS:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
