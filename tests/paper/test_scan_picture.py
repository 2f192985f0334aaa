"""A page that is one picture is taken from the file where drawing it, by the PDF library, gives the same pixels."""

from collections.abc import Callable

import numpy as np
import pymupdf
import pytest

from collaparte.paper.scans.page import BLOCK, DPI, darkness, grey_page
from collaparte.paper.scans.picture import own_picture

Edit = Callable[[pymupdf.Page], object]


def _scan(width: int, height: int, edit: Edit | None = None, *, colour: bool = False) -> pymupdf.Document:
    """A page of A4 that is a picture of so many pixels of noise, then edited."""
    made = np.random.default_rng(width).integers(0, 256, (height, width, 3 if colour else 1), dtype=np.uint8)
    space = pymupdf.csRGB if colour else pymupdf.csGRAY
    picture = pymupdf.Pixmap(space, width, height, made.tobytes(), False)
    document = pymupdf.open()
    page = document.new_page(width=595.28, height=841.89)
    page.insert_image(page.rect, stream=picture.tobytes("png"), keep_proportion=False)
    if edit:
        edit(page)
    return pymupdf.open(stream=document.tobytes(), filetype="pdf")


def _drawn(page: pymupdf.Page) -> np.ndarray:
    picture = page.get_pixmap(matrix=pymupdf.Matrix(DPI / 72, DPI / 72), colorspace=pymupdf.csGRAY, alpha=False)
    return np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.stride)[:, : picture.width]


def _around(before: bytes) -> Edit:
    def edit(page: pymupdf.Page) -> None:
        number = page.get_contents()[0]
        stream = page.parent.xref_stream(number)
        page.parent.update_stream(number, b"q\n" + before + b"\n" + stream + b"\nQ")

    return edit


@pytest.mark.parametrize("colour", (False, True))
@pytest.mark.parametrize(
    "edit",
    (
        None,
        lambda page: page.insert_text((100, 100), "what a reader of print found", render_mode=3),
        _around(b"0 0 595.28 841.89 re W n"),
    ),
)
def test_a_picture_of_the_pages_own_pixels_is_not_drawn(edit: Edit | None, colour: bool) -> None:
    page = _scan(1654, 2339, edit, colour=colour)[0]
    assert own_picture(page, DPI / 72) is not None
    assert (grey_page(page)[0] == _drawn(page)).all()


@pytest.mark.parametrize(
    "edit",
    (
        lambda page: page.insert_text((100, 100), "seen"),
        lambda page: page.draw_rect((100, 100, 200, 200), color=None, fill=(1, 1, 1)),
        lambda page: page.add_rect_annot((100, 100, 200, 200)),
        lambda page: page.set_rotation(90),
        lambda page: page.set_cropbox((50, 50, 500, 500)),
        _around(b"-1 0 0 -1 595.28 841.89 cm"),
        _around(b"0.9 0 0 0.9 0 0 cm"),
        _around(b"100 100 200 200 re W n"),
    ),
)
def test_a_page_that_shows_more_or_less_than_its_picture_is_drawn(edit: Edit) -> None:
    page = _scan(1654, 2339, edit)[0]
    assert own_picture(page, DPI / 72) is None
    assert (grey_page(page)[0] == _drawn(page)).all()


def test_a_picture_of_other_pixels_is_drawn() -> None:
    page = _scan(1240, 1754)[0]
    assert own_picture(page, DPI / 72) is None
    assert grey_page(page)[0].shape == _drawn(page).shape == (2339, 1654)


def test_a_dark_desk_round_the_paper_has_no_ink_and_a_deep_shadow_has() -> None:
    dice = np.random.default_rng(4)
    page = np.full((1600, 1200), 30.0)  # a dark desk
    page[300:1300, 200:1000] = 235
    page[300:1300, 200:400] *= 0.35  # a shadow
    for y in range(400, 1200, 10):
        page[y : y + 2, 250:950] = np.where(page[y, 250:950] > 100, 20, 12)
    dark = darkness(np.clip(page + dice.normal(0, 4, page.shape), 0, 255).astype(np.uint8)).rows(0, 1600)
    desk = np.ones(page.shape, dtype=bool)
    desk[300 - BLOCK : 1300 + BLOCK, 200 - BLOCK : 1000 + BLOCK] = False
    assert not dark[desk].any()
    lines = dark[400:1200:10, 250:950]
    assert lines[:, :100].mean() > 0.95
    assert lines[:, 200:].mean() > 0.99
