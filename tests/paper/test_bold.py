"""Letters painted twice, a little apart, to look bold: a way out for faces without a bold cut (common practice)."""

import pymupdf
import pytest

from collaparte.paper.sight.painted import page_ink

WORDS = "Ballet hall, illegally tattered"


@pytest.mark.parametrize("size", [6, 11, 19, 28, 37])
@pytest.mark.parametrize("shift", [(0.02, 0.0), (0.04, 0.04), (-0.03, 0.02), (0.0, 0.0)])
def test_words_painted_twice_are_read_once(size: float, shift: tuple[float, float]) -> None:
    document = pymupdf.open()
    page = document.new_page()
    for n in range(3):
        y = 100 + n * 1.5 * size
        page.insert_text((50, y), WORDS, fontsize=size)
        page.insert_text((50 + shift[0] * size, y + shift[1] * size), WORDS, fontsize=size)
    read = "".join(glyph.value for glyph in page_ink(document[0], {}).glyphs)
    assert read == 3 * WORDS


def test_letters_close_to_each_other_are_read_each() -> None:
    document = pymupdf.open()
    page = document.new_page()
    for n in range(200):
        page.insert_text((50 + n, 100), ".", fontsize=8)
        page.insert_text((50, 120 + n), ".", fontsize=8)
    assert len(page_ink(document[0], {}).glyphs) == 400
