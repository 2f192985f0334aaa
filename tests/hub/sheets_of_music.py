"""Small parts drawn for tests: staves, bars, boxed marks and a head, as PDF; and files that are none of that."""

import zlib
from collections.abc import Mapping, Sequence

import pymupdf

A4 = (595.3, 841.9)
"""Points (ISO 216: 210 x 297 mm)."""
SPACE = 5.0
"""Points a staff space: a stave of 7 mm."""
FONT = pymupdf.Font("helv").buffer
"""Embedded, as engraving programs do."""
ACROSS = 4
"""Bars a line."""


def part(title: str, chair: str, bars: int, marks: Mapping[int, str] | None = None) -> bytes:
    """One part: `bars` bars, four a line, with a boxed mark at the start of each bar number in `marks`."""
    document = pymupdf.open()
    _draw(document, title, chair, bars, marks or {})
    return bytes(document.tobytes())


def book(title: str, chairs: Sequence[str], bars: int, marks: Mapping[int, str] | None = None) -> bytes:
    """All parts of a tune one after the other in one file."""
    document = pymupdf.open()
    for chair in chairs:
        _draw(document, title, chair, bars, marks or {})
    return bytes(document.tobytes())


def words(title: str, chair: str, lines: Sequence[str]) -> bytes:
    """A sheet of words without staves."""
    document = pymupdf.open()
    page = document.new_page(width=A4[0], height=A4[1])
    _head(page, title, chair)
    for n, line in enumerate(lines):
        page.insert_text((72, 160 + 24 * n), line, fontsize=14, fontname="own")
    return bytes(document.tobytes())


def photograph() -> bytes:
    """A PDF of a picture: grey that gets darker downwards."""
    width, height = 800, 1100
    rows = b"".join(bytes([255 - 120 * y // height]) * width for y in range(height))
    picture = pymupdf.Pixmap(pymupdf.csGRAY, width, height, rows, False)
    document = pymupdf.open()
    page = document.new_page(width=A4[0], height=A4[1])
    page.insert_image(page.rect, pixmap=picture)
    return bytes(document.tobytes())


def locked(pdf: bytes) -> bytes:
    """The same with a password."""
    document = pymupdf.open(stream=pdf, filetype="pdf")
    return bytes(document.tobytes(encryption=pymupdf.PDF_ENCRYPT_AES_256, user_pw="reed", owner_pw="mouthpiece"))


def endless(depth: int = 40) -> bytes:
    """A page that draws a form twice, which draws another twice, and so on: 2 to the 40th drawings."""
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 595 842]/Resources<</XObject<</F 5 0 R>>>>/Contents 4 0 R>>",
        _stream(b"", b"/F Do"),
    ]
    for n in range(5, 5 + depth):
        last = n == 4 + depth
        form = b"/Type/XObject/Subtype/Form/BBox[0 0 9 9]/Resources<</XObject<</F %d 0 R>>>>" % (n if last else n + 1)
        objects.append(_stream(form, b"0 0 m 9 9 l S" if last else b"/F Do /F Do"))
    return _pdf(objects)


def greedy(segments: int = 6_000_000) -> bytes:
    """A page of some KB with one line of millions of corners."""
    line = zlib.compress(b"0 0 m " + b"9 9 l 8 8 l " * (segments // 2) + b"S", 1)
    return _pdf(
        [
            b"<</Type/Catalog/Pages 2 0 R>>",
            b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
            b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 595 842]/Contents 4 0 R>>",
            _stream(b"/Filter/FlateDecode", line),
        ]
    )


def _draw(document: pymupdf.Document, title: str, chair: str, bars: int, marks: Mapping[int, str]) -> None:
    page = document.new_page(width=A4[0], height=A4[1])
    _head(page, title, chair)
    left, right, top = 60.0, A4[0] - 40, 150.0
    width = (right - left) / ACROSS
    for first in range(1, bars + 1, ACROSS):
        here = min(ACROSS, bars - first + 1)
        end = left + here * width
        for n in range(5):
            page.draw_line((left, top + n * SPACE), (end, top + n * SPACE), width=0.5)
        for n in range(1, here + 1):
            page.draw_line((left + n * width, top), (left + n * width, top + 4 * SPACE), width=0.8)
        for n in range(here):
            x = left + n * width
            page.draw_rect((x + 40, top + 2 * SPACE, x + 46, top + 3 * SPACE), fill=(0, 0, 0), width=0)
            if text := marks.get(first + n):
                page.insert_text((x + 4, top - 14), text, fontsize=12, fontname="own")
                page.draw_rect((x, top - 26, x + 7 + 8 * len(text), top - 10), width=0.8)
        top += 62
        if top > A4[1] - 70:
            page = document.new_page(width=A4[0], height=A4[1])
            page.insert_font(fontname="own", fontbuffer=FONT)
            top = 60.0


def _head(page: pymupdf.Page, title: str, chair: str) -> None:
    page.insert_font(fontname="own", fontbuffer=FONT)
    wide = pymupdf.get_text_length(title, fontsize=20)
    page.insert_text(((A4[0] - wide) / 2, 60), title, fontsize=20, fontname="own")
    page.insert_text((60, 84), chair, fontsize=13, fontname="own")


def _stream(keys: bytes, data: bytes) -> bytes:
    return b"<<%s/Length %d>>stream\n%s\nendstream" % (keys, len(data), data)


def _pdf(objects: Sequence[bytes]) -> bytes:
    out, places = b"%PDF-1.7\n", []
    for number, body in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    size, at = len(objects) + 1, len(out)
    return out + b"xref\n0 %d\n0000000000 65535 f \n%strailer\n<</Size %d/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (
        size,
        table,
        size,
        at,
    )
