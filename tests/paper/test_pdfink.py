"""Ink written again as PDF: the same picture and the same words, by other readers."""

import re
from collections import Counter
from typing import Any

import numpy as np
import numpy.typing as npt
import pymupdf
import pypdfium2
import pytest

from collaparte.paper.cutting.flattened import Fonts, flatten, open_pdf
from collaparte.paper.cutting.ink import Glyph, Mark, Page, Picture, Shape, Subpath, path_box
from collaparte.paper.cutting.pdfink import Fonts as Embedded
from collaparte.paper.cutting.pdfink import Writer, add_page, number
from paper.laid import KEY_CHANGE, engraved


def again(page: Page) -> bytes:
    document: Any = pymupdf.open()
    fonts = Embedded(document, [page])
    writer = Writer(fonts, page.height)
    for mark in page.ink:
        if isinstance(mark, Glyph):
            writer.glyph(mark, mark.m)
        elif isinstance(mark, Shape):
            writer.shape(mark, mark.path, 1.0)
        else:
            writer.picture(mark, mark.m)
    add_page(document, page.width, page.height, writer, "")
    fonts.write()
    return bytes(document.tobytes())


def picture(pdf: bytes) -> npt.NDArray[np.float64]:
    """Drawn by pdfium, another renderer than the one that took the ink."""
    image = pypdfium2.PdfDocument(pdf)[0].render(scale=2, grayscale=True).to_numpy()
    return 1 - image.astype(np.float64)[..., 0] / 255 if image.ndim == 3 else 1 - image.astype(np.float64) / 255


def alike(one: bytes, two: bytes) -> float:
    return float(np.corrcoef(picture(one).ravel(), picture(two).ravel())[0, 1])


def drawn() -> bytes:
    document = pymupdf.open()
    page = document.new_page(width=300, height=200)
    page.draw_line((20, 20), (120, 60), width=3, dashes="[6 3] 0", lineCap=1)
    page.draw_bezier((20, 150), (60, 60), (120, 60), (160, 150), fill=(0.2, 0.4, 0.9), color=(1, 0, 0), width=2)
    page.insert_text((150, 40), "Straße 1st", fontsize=18, fontname="tiro")
    page.insert_text((200, 100), "turned", fontsize=14, rotate=90)
    pixmap = pymupdf.Pixmap(pymupdf.csRGB, pymupdf.IRect(0, 0, 4, 2), False)
    pixmap.clear_with(80)
    pixmap.set_pixel(0, 0, (255, 0, 0))
    page.insert_image(pymupdf.Rect(220, 120, 280, 150), pixmap=pixmap)
    return bytes(document.tobytes())


def test_lines_areas_words_and_pictures_come_out_the_same() -> None:
    pdf = drawn()
    page = flatten(open_pdf(pdf), 0, Fonts())
    assert {type(m) for m in page.ink} == {Shape, Glyph, Picture}
    assert alike(pdf, again(page)) > 0.99


def test_an_engraved_page_comes_out_the_same() -> None:
    pdf = engraved(KEY_CHANGE).pdf
    assert alike(pdf, again(flatten(open_pdf(pdf), 0, Fonts()))) > 0.995


def test_words_keep_their_letters() -> None:
    pdf = again(flatten(open_pdf(drawn()), 0, Fonts()))
    text = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range()
    assert "Straße" in text and "1st" in text


def test_a_font_that_cannot_be_used_again_is_drawn_as_outlines() -> None:
    pdf = engraved(KEY_CHANGE).pdf
    fonts = Fonts()
    page = flatten(open_pdf(pdf), 0, fonts)
    for font in fonts.fonts:
        font.kind, font.program = "", b""
    for mark in page.ink:
        if isinstance(mark, Glyph):
            fonts.outline(mark.font, mark.gid)
    outlined = again(page)
    assert alike(pdf, outlined) > 0.97
    assert not pymupdf.open(stream=outlined).get_page_fonts(0)


def test_an_outline_drawn_again_is_written_in_the_same_words_and_stands_in_its_place() -> None:
    """A source writes its places to a hundredth of a point, so that no two heads have the same numbers."""
    bow = Subpath(0.0, 0.0, [(3.0, -4.1, 8.0, -4.1, 11.0, 0.0), *[(9.0 - n, 0.31 * n) for n in range(9)]], closed=True)
    places = [(20.0 + 37.337 * (n % 7), 20.0 + 23.123 * (n // 7)) for n in range(40)]
    ink: list[Mark] = []
    for dx, dy in places:
        segments = [tuple(round(v + (dy if k % 2 else dx), 2) for k, v in enumerate(s)) for s in bow.segments]
        path = [Subpath(round(dx, 2), round(dy, 2), segments, closed=True)]
        ink.append(Shape(path_box(path), path, (0.0,)))
    page = Page(300.0, 200.0, ink, [])
    writer = Writer(Embedded(pymupdf.open(), []), page.height)
    for shape in ink:
        assert isinstance(shape, Shape)
        writer.outline(shape, 1.0, 1.0, 0.0, 0.0)
    words = Counter(re.findall(r"0 0 m\n(.+?)\nf", writer.stream().decode(), re.DOTALL))
    assert list(words.values()) == [len(places)]
    document: Any = pymupdf.open()
    add_page(document, page.width, page.height, writer, "")
    boxes = [shape.box for shape in flatten(open_pdf(document.tobytes()), 0, Fonts()).ink]
    for box, shape in zip(boxes, ink, strict=True):
        assert box == pytest.approx(shape.box, abs=0.02)


@pytest.mark.parametrize(
    ("value", "written"), [(0.0, "0"), (-0.0001, "0"), (1.0, "1"), (12.3456, "12.346"), (-7.5, "-7.5")]
)
def test_numbers_are_short(value: float, written: str) -> None:
    assert number(value) == written
