"""Ink of an engraved part followed through a scan's damage: which line of the scan's cut shows each connected piece.

Each piece of the engraved cut is drawn where it was, in a colour of its own; each connected bit of one colour is looked
for, some of its pixels through the scan's `places`, in the pictures that the scan was cut into.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import cv2
import numpy as np
import numpy.typing as npt
import pymupdf

from collaparte.paper.cutting.ink import Glyph, Picture, Shape
from collaparte.paper.cutting.pdfink import Fonts, Writer, add_page
from collaparte.paper.cutting.pieces import Cut
from collaparte.paper.cutting.scan_clean import Clean, cleaned
from collaparte.paper.cutting.scan_level import levelled
from collaparte.paper.cutting.scan_straight import _onto, straight
from collaparte.paper.cutting.table import BarCut, PieceTable
from collaparte.paper.reading import Box, Reading
from scanning import Place

DPI = 200
SMALL = 0.6
"""What is smaller both ways, in spaces, is not followed: dots, of which a scan's dust takes some."""
POINTS = 48
"""So many of a bit's pixels are looked for,"""
NEAR = 0.3
"""each so far around, in spaces: soft edges, and what is left of waves."""
MOST = 0.5
"""A bit is where more than this share of it is."""
NOWHERE, HEADS = -1, -2

Labels = npt.NDArray[np.int32]


class Astray(NamedTuple):
    """A bit of ink that is not where it belongs: `other` (with another line, head or foot), `missing`, or `torn`
    (words, of which parts go with several bars or with a bar's notes); its page, its line, its bar's number, and its
    box on the engraved page (points)."""

    kind: str
    page: int
    line: int
    bar: int
    box: Box


ASTRAY = ("other", "missing", "torn")


class Whose(NamedTuple):
    """Whose a piece is: its line (-1: head or foot), its bar's place in the table, whether it is words."""

    line: int
    bar: int
    words: bool


def whose(table: PieceTable) -> dict[int, Whose]:
    """Whose each piece is; those of lines' heads and of ties made whole are nobody's alone."""
    out: dict[int, Whose] = {}
    for n, bar in enumerate(table.bars):
        for piece in (*bar.main, *bar.change, *bar.meter, *bar.courtesy, bar.whole):
            out[piece] = Whose(bar.system, n, words=False)
        for piece in (*(b.piece for b in bar.brackets), *(o.piece for o in bar.open), *(v.piece for v in bar.lines)):
            out[piece] = Whose(bar.system, n, words=False)
        for word in bar.words:
            out[word.piece] = Whose(bar.system, n, words=True)
    for words in (*table.title, *table.foot):
        out[words.piece] = Whose(NOWHERE, NOWHERE, words=True)
    for head in table.heads:
        for piece in (*head.clef, *head.key):
            out.setdefault(piece, Whose(HEADS, NOWHERE, words=False))
    out.pop(-1, None)
    return out


class Bit(NamedTuple):
    """A connected piece of an engraved part's ink: its page, the piece that it is of and whose that is, its box on the
    page, and some of its places on the scanned page (points)."""

    page: int
    piece: int
    whose: Whose
    box: Box
    places: list[tuple[float, float]]


def followed(true: Cut, places: Sequence[Place]) -> Iterator[Bit]:
    """All bits of an engraved part that belong to one line or to its head or foot, piece by piece."""
    of = whose(true.table)
    drawn = coloured(true, of)
    for piece, who in of.items():
        ink = true.inks[piece]
        if who.line != HEADS:
            for box, some in bits(drawn[ink.page], piece, ink.space):
                yield Bit(ink.page, piece, who, box, [places[ink.page](x, y) for x, y in some])


def astray(true: PieceTable, of: Sequence[Bit], seen: Cut, scan: bytes, reading: Reading) -> Iterator[Astray]:
    """Bits of the engraved part's ink that the cut of its scan, which was read so, shows elsewhere or not at all."""
    theirs = whose(seen.table)
    found: dict[int, list[tuple[Bit, Counter[int]]]] = {}
    for number, page in enumerate(pymupdf.open(stream=scan)):
        clean = _clean(page, reading, number)
        shown = labelled(seen, theirs, number, clean)
        reach = round(NEAR * reading.pages[number].systems[0].space / clean.unit)
        for bit in (bit for bit in of if bit.page == number):
            straightened = [_onto(clean.bent, *place) for place in bit.places]
            there = _there(shown, [(round(x / clean.unit), round(y / clean.unit)) for x, y in straightened], reach)
            found.setdefault(bit.piece, []).append((bit, there))
            if kind := _wrong(there, bit.whose, theirs, len(bit.places)):
                yield Astray(kind, number, bit.whose.line, _number(true, bit.whose), bit.box)
    for all_of_it in found.values():
        bit = all_of_it[0][0]
        if bit.whose.words and bit.whose.line >= 0 and torn([there for _, there in all_of_it], seen.table, theirs):
            box = _round([bit.box for bit, _ in all_of_it])
            yield Astray("torn", bit.page, bit.whose.line, _number(true, bit.whose), box)


def coloured(cut: Cut, of: dict[int, Whose]) -> list[Labels]:
    """For each page of an engraved cut the piece of each pixel (-1: none), at `DPI`."""
    document = pymupdf.open()
    fonts = Fonts(document, cut.pages)
    for number, page in enumerate(cut.pages):
        writer = Writer(fonts, page.height)
        for piece in of:
            if (ink := cut.inks[piece]).page == number:
                colour = tuple(min(((piece + 1) >> shift & 255) + 0.4, 255) / 255 for shift in (16, 8, 0))
                for mark in (page.ink[part.mark] for part in ink.parts):
                    if isinstance(mark, Glyph):
                        writer.glyph(replace(mark, colour=colour), mark.m)
                    elif isinstance(mark, Shape):
                        writer.shape(replace(mark, colour=colour), mark.path, 1.0)
        add_page(document, page.width, page.height, writer, "")
    fonts.write()
    before = pymupdf.TOOLS.show_aa_level()
    pymupdf.TOOLS.set_aa_level(0)
    try:
        pixels = [page.get_pixmap(dpi=DPI, colorspace=pymupdf.csRGB) for page in document]
    finally:
        pymupdf.TOOLS.set_aa_level(before["graphics"])
    return [_numbers(picture) for picture in pixels]


def _numbers(picture: pymupdf.Pixmap) -> Labels:
    rgb = np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.width, 3).astype(np.int32)
    out: Labels = (rgb[..., 0] << 16 | rgb[..., 1] << 8 | rgb[..., 2]) - 1
    out[out == 0xFFFFFE] = NOWHERE
    return out


def bits(drawn: Labels, piece: int, space: float) -> Iterator[tuple[Box, list[tuple[float, float]]]]:
    """The connected bits of a piece: each one's box, and some places in it (points)."""
    rows, columns = np.nonzero(drawn == piece)
    if not len(rows):
        return
    y0, x0 = int(rows.min()), int(columns.min())
    mask = (drawn[y0 : rows.max() + 1, x0 : columns.max() + 1] == piece).astype(np.uint8)
    many, labels, boxes, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
    scale = 72 / DPI
    for n in range(1, many):
        x, y, wide, tall = (int(v) for v in boxes[n][:4])
        if max(wide, tall) * scale < SMALL * space:
            continue
        ys, xs = np.nonzero(labels[y : y + tall, x : x + wide] == n)
        some = np.linspace(0, len(ys) - 1, min(POINTS, len(ys))).round().astype(np.intp)
        places = [
            ((x0 + x + a + 0.5) * scale, (y0 + y + b + 0.5) * scale) for a, b in zip(xs[some], ys[some], strict=True)
        ]
        yield ((x0 + x) * scale, (y0 + y) * scale, (x0 + x + wide) * scale, (y0 + y + tall) * scale), places


def labelled(cut: Cut, of: dict[int, Whose], number: int, clean: Clean) -> Labels:
    """The piece of each pixel of a scan's page set straight (-1: none)."""
    out = np.full(clean.grey.shape, NOWHERE, np.int32)
    for piece in of:
        ink = cut.inks[piece]
        for mark in (cut.pages[number].ink[part.mark] for part in ink.parts if ink.page == number):
            x, y = (round(v / clean.unit) for v in mark.box[:2])
            if isinstance(mark, Picture):
                picture = pymupdf.Pixmap(mark.png)
                dark = np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.width, 2)[..., 1] > 60
                here = out[y : y + picture.height, x : x + picture.width]
                here[dark & (here == NOWHERE)] = piece
            else:
                right, low = (round(v / clean.unit) for v in mark.box[2:])
                out[max(y - 2, 0) : low + 3, max(x - 2, 0) : right + 3] = piece
    return out


def _clean(page: pymupdf.Page, reading: Reading, number: int) -> Clean:
    """A scan's page set straight as cutting has it."""
    return cleaned(page, lambda once: levelled(once, straight(reading, number, once.bent).pages[number].systems))


def _there(shown: Labels, points: Sequence[tuple[int, int]], reach: int) -> Counter[int]:
    """How many of some pixels have each piece near them; the nearest counts."""
    out = Counter[int]()
    for x, y in points:
        near = shown[max(y - reach, 0) : max(y + reach + 1, 0), max(x - reach, 0) : max(x + reach + 1, 0)]
        found = near[near != NOWHERE]
        if len(found):
            middle = shown[y, x] if 0 <= y < shown.shape[0] and 0 <= x < shown.shape[1] else NOWHERE
            out[int(middle if middle != NOWHERE else np.bincount(found).argmax())] += 1
    return out


def _wrong(there: Counter[int], who: Whose, theirs: dict[int, Whose], points: int) -> str:
    lines = Counter[int]()
    for piece, many in there.items():
        lines[theirs[piece].line] += many
    if lines[who.line] + lines[HEADS] * (who.line >= 0) >= MOST * points:
        return ""
    return "other" if sum(lines.values()) >= MOST * points else "missing"


def torn(found: Sequence[Counter[int]], table: PieceTable, theirs: dict[int, Whose]) -> bool:
    """Of words whose bits are each in some pieces letters stand at several bars, or some among a bar's notes."""
    pieces = {there.most_common(1)[0][0] for there in found if there}
    at = {(theirs[piece].bar, theirs[piece].words) for piece in pieces if not _is_whole(table, theirs[piece])}
    return len(at) > 1


def _is_whole(table: PieceTable, who: Whose) -> bool:
    return who.bar >= 0 and table.bars[who.bar].whole >= 0


def _number(table: PieceTable, who: Whose) -> int:
    bar: BarCut | None = table.bars[who.bar] if who.bar >= 0 else None
    return bar.number if bar else NOWHERE


def _round(boxes: Sequence[Box]) -> Box:
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)
