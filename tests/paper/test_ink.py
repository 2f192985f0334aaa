"""A page flattened to its ink: true boxes in points on the page as displayed."""

import pymupdf
import pytest

from collaparte.paper.cutting.flattened import CannotOpen, Fonts, flatten, open_pdf
from collaparte.paper.cutting.ink import Glyph, Page, Picture, Shape, path_box


def drawn(rotation: int = 0, crop: pymupdf.Rect | None = None) -> bytes:
    document = pymupdf.open()
    page = document.new_page(width=400, height=300)
    page.draw_line((50, 100), (150, 100), width=2)
    page.draw_rect(pymupdf.Rect(200, 50, 240, 80), fill=(0, 0, 0), color=None)
    page.draw_bezier((50, 200), (50, 100), (150, 100), (150, 200), width=1)
    page.insert_text((300, 200), "Hx", fontsize=20)
    if crop:
        page.set_cropbox(crop)
    page.set_rotation(rotation)
    return bytes(document.tobytes())


def ink(pdf: bytes) -> Page:
    return flatten(open_pdf(pdf), 0, Fonts())


def shapes(page: Page) -> list[Shape]:
    return [m for m in page.ink if isinstance(m, Shape)]


def near(box: tuple[float, ...], expected: tuple[float, ...], within: float = 0.02) -> bool:
    return all(abs(a - b) <= within for a, b in zip(box, expected, strict=True))


def test_shapes_have_their_true_boxes() -> None:
    line, rect, curve = shapes(ink(drawn()))
    assert near(line.box, (50, 99, 150, 101))
    assert near(rect.box, (200, 50, 240, 80))
    # A cubic from y=200 with both control points at y=100 comes to y = 200 - 0.75 * 100 at its middle.
    assert near(curve.box, (49.5, 124.5, 150.5, 200.5), 0.05)


def test_glyphs_are_their_outlines_not_their_type_size() -> None:
    h, x = (m for m in ink(drawn()).ink if isinstance(m, Glyph))
    # Adobe's metrics of Helvetica: cap height 718, x-height 523 of 1000.
    assert h.box[3] - h.box[1] == pytest.approx(0.718 * 20, abs=0.3)
    assert x.box[3] - x.box[1] == pytest.approx(0.523 * 20, abs=0.3)
    assert (chr(h.ucs), chr(x.ucs)) == ("H", "x")
    assert h.box[3] == pytest.approx(200, abs=0.1)


def test_rotation_and_crop_are_applied() -> None:
    turned = ink(drawn(rotation=90))
    assert (turned.width, turned.height) == (300, 400)
    # Turned clockwise, a point (x, y) of the page comes to (300 - y, x).
    assert near(shapes(turned)[1].box, (220, 200, 250, 240))
    cropped = ink(drawn(crop=pymupdf.Rect(10, 20, 390, 280)))
    assert (cropped.width, cropped.height) == (380, 260)
    assert near(shapes(cropped)[1].box, (190, 30, 230, 60))


def test_white_ink_and_ink_outside_the_page_are_left_out() -> None:
    document = pymupdf.open()
    page = document.new_page(width=200, height=200)
    page.draw_rect(pymupdf.Rect(10, 10, 50, 50), fill=(1, 1, 1), color=None)
    page.draw_rect(pymupdf.Rect(60, 10, 90, 50), fill=(0.5, 0.5, 0.5), color=None)
    (grey,) = shapes(ink(bytes(document.tobytes())))
    assert grey.colour == (0.5,)


def test_pictures_are_ink() -> None:
    document = pymupdf.open()
    page = document.new_page(width=200, height=200)
    pixmap = pymupdf.Pixmap(pymupdf.csGRAY, pymupdf.IRect(0, 0, 8, 4), False)
    pixmap.clear_with(90)
    page.insert_image(pymupdf.Rect(20, 40, 100, 80), pixmap=pixmap)
    (picture,) = ink(bytes(document.tobytes())).ink
    assert isinstance(picture, Picture)
    assert near(picture.box, (20, 40, 100, 80))
    assert pymupdf.Pixmap(picture.png).width == 8


@pytest.mark.parametrize("pdf", [b"", b"words, not a PDF", b"%PDF-1.7\n"])
def test_what_is_no_pdf_is_refused_in_a_sentence(pdf: bytes) -> None:
    with pytest.raises(CannotOpen, match=r"\.$"):
        open_pdf(pdf)


def test_a_locked_pdf_is_refused() -> None:
    document = pymupdf.open()
    document.new_page()
    locked = document.tobytes(encryption=pymupdf.PDF_ENCRYPT_AES_256, user_pw="key", owner_pw="key")
    with pytest.raises(CannotOpen, match="password"):
        open_pdf(bytes(locked))


def test_fonts_are_shared_between_pages() -> None:
    document = pymupdf.open()
    for words in ("one", "two"):
        document.new_page().insert_text((50, 50), words, fontname="helv")
    opened = open_pdf(bytes(document.tobytes()))
    fonts = Fonts()
    for n in range(2):
        flatten(opened, n, fonts)
    assert len(fonts.fonts) == 1


def test_box_of_a_straight_path() -> None:
    page = ink(drawn())
    line = shapes(page)[0]
    assert near(path_box(line.path), (50, 100, 150, 100))


def test_a_font_of_drawings_is_taken_as_its_drawings() -> None:
    """Type 3 (ISO 32000-1, 9.6.5): a square of 500 units a side, at size 20 by a font matrix of a thousandth."""
    document = pymupdf.open()
    page = document.new_page(width=200, height=200)
    glyph, font, content = (document.get_new_xref() for _ in range(3))
    document.update_object(glyph, "<<>>")
    document.update_stream(glyph, b"600 0 0 0 500 500 d1 0 0 500 500 re f")
    document.update_object(
        font,
        "<</Type/Font/Subtype/Type3/FontBBox[0 0 500 500]/FontMatrix[.001 0 0 .001 0 0]/FirstChar 97/LastChar 97"
        f"/Widths[600]/Encoding<</Type/Encoding/Differences[97/a]>>/CharProcs<</a {glyph} 0 R>>/Resources<<>>>>",
    )
    document.update_object(content, "<<>>")
    document.update_stream(content, b"BT /T 20 Tf 50 100 Td (aa) Tj ET")
    document.xref_set_key(page.xref, "Contents", f"{content} 0 R")
    document.xref_set_key(page.xref, "Resources", f"<</Font<</T {font} 0 R>>>>")
    one, two = shapes(ink(bytes(document.tobytes())))
    assert near(one.box, (50, 90, 60, 100))
    assert near(two.box, (62, 90, 72, 100))
