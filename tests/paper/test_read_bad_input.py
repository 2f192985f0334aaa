"""Files that are no part: one sentence each, or a page shown as printed with the reason."""

import io
from pathlib import Path

import msgspec
import pymupdf
import pytest

from collaparte.demo import BAND
from collaparte.paper.cutting.pieces import cut
from collaparte.paper.opening import ReadingError
from collaparte.paper.read import page_heads, read_part

PART = next(BAND.rglob("*1st Alto.pdf"))


def _locked() -> bytes:
    return pymupdf.open(PART).tobytes(encryption=pymupdf.PDF_ENCRYPT_AES_256, user_pw="open", owner_pw="sesame")


@pytest.mark.parametrize(
    ("pdf", "said"),
    [
        (b"", "empty"),
        (b"Dear band, here are the parts.\n" * 50, "not a PDF"),
        (b"%PDF-1.7\n" + b"nothing of the kind\n" * 20, "cut short|damaged"),
        (PART.read_bytes()[:20_000], "cut short"),
        (_locked(), "password"),
    ],
    ids=["empty", "text", "only a head", "truncated", "locked"],
)
def test_what_is_no_pdf_is_told_in_one_sentence(pdf: bytes, said: str) -> None:
    for function in (read_part, page_heads):
        with pytest.raises(ReadingError, match=said) as told:
            function(pdf)
        assert str(told.value).count(".") == 1 and "\n" not in str(told.value)


def test_a_page_that_is_not_there_is_told() -> None:
    with pytest.raises(ReadingError, match="no page 9"):
        read_part(PART.read_bytes(), range(8, 9))


def test_a_photograph_is_shown_as_printed() -> None:
    page = pymupdf.open(PART)[0]
    picture = page.get_pixmap(dpi=100).tobytes("png")
    document = pymupdf.open()
    document.new_page().insert_image(pymupdf.Rect(0, 0, 595, 842), stream=io.BytesIO(picture))
    reading = read_part(document.tobytes())
    assert reading.bars == 0 and reading.pages[0].systems == ()
    assert "picture" in reading.pages[0].as_printed


def test_a_sheet_of_words_is_shown_as_printed() -> None:
    document = pymupdf.open()
    page = document.new_page()
    for n in range(20):
        page.insert_text((60, 80 + 24 * n), "Am7   D7   Gmaj7   and the words that go with them")
    reading = read_part(document.tobytes())
    assert "no staves" in reading.pages[0].as_printed


@pytest.mark.parametrize("degrees", [90, 180, 270])
def test_a_page_on_its_side_or_head_is_turned_and_read(degrees: int) -> None:
    upright = read_part(PART.read_bytes(), range(1))
    document = pymupdf.open(PART)
    for page in document:
        page.set_rotation(degrees)
    pdf = document.tobytes()
    reading = read_part(pdf, range(1))
    assert [page.turned for page in reading.pages] == [360 - degrees]
    for found in (reading, upright):
        assert len(found.pages[0].systems) > 5
    assert msgspec.structs.replace(reading.pages[0], turned=0, ms=0.0) == upright.pages[0]
    assert (reading.marks, reading.signs, reading.multirests) == (upright.marks, upright.signs, upright.multirests)
    assert cut(pdf, reading, range(1)) == cut(PART.read_bytes(), upright, range(1))


def test_small_print_up_the_margin_turns_no_page() -> None:
    document = pymupdf.open(PART)
    for page in document:
        for n in range(40):
            page.insert_text((20 + n % 4 * 6, 800 - n), "copied by hand for the late tram", fontsize=4, rotate=90)
    reading = read_part(document.tobytes(), range(1))
    assert (
        reading.pages[0].turned == 0
        and reading.pages[0].systems == read_part(PART.read_bytes(), range(1)).pages[0].systems
    )


def test_a_page_drawn_sideways_and_shown_upright_reads_the_same() -> None:
    """As printers' drivers leave landscape paper: the ink lies on its side, the page says that it is turned."""
    printed, sideways = pymupdf.open(PART), pymupdf.open()
    page = sideways.new_page(width=printed[0].rect.height, height=printed[0].rect.width)
    page.show_pdf_page(page.rect, printed, 0, rotate=90)
    page.set_rotation(90)
    one, other = read_part(PART.read_bytes(), range(1)), read_part(sideways.tobytes())
    assert [(m.text, m.bar) for m in one.marks] == [(m.text, m.bar) for m in other.marks] != []
    assert one.bars == other.bars and other.pages[0].turned == 0


def test_a_broken_page_does_not_take_the_process_down(tmp_path: Path) -> None:
    pdf = bytearray(PART.read_bytes())
    middle = len(pdf) // 2
    pdf[middle : middle + 4000] = bytes(4000)
    try:
        reading = read_part(bytes(pdf))
    except ReadingError as error:
        assert str(error).endswith(".")
    else:
        assert len(reading.pages) >= 1


def test_two_pages_printed_on_one_read_the_same() -> None:
    """Two portrait pages beside one another on a landscape sheet, the columns' staves at different heights."""
    printed = pymupdf.open(PART)
    sheet = pymupdf.open()
    page = sheet.new_page(width=842, height=595)
    for n in (0, 1):
        page.show_pdf_page(pymupdf.Rect(421 * n, 0, 421 * (n + 1), 595), printed, n)
    one, other = read_part(PART.read_bytes(), range(2)), read_part(sheet.tobytes())
    assert one.bars == other.bars
    assert [(m.text, m.bar) for m in one.marks] == [(m.text, m.bar) for m in other.marks]
    assert [(s.kind, s.bar) for s in one.signs] == [(s.kind, s.bar) for s in other.signs]
