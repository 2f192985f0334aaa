"""Pages drawn here with a general PDF library, in the ways that engravers draw: strokes, rectangles, polygons."""

from collections.abc import Callable, Sequence
from itertools import pairwise

import pymupdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collaparte.paper.read import read_part
from collaparte.paper.reading import BarlineKind, Reading

Draw = Callable[[pymupdf.Shape, float, float, float, float], None]
"""Draws a filled box (x0, y0, x1, y1)."""


def as_rectangle(shape: pymupdf.Shape, x0: float, y0: float, x1: float, y1: float) -> None:
    shape.draw_rect(pymupdf.Rect(x0, y0, x1, y1))
    shape.finish(fill=(0, 0, 0), color=None, width=0)


def as_stroke(shape: pymupdf.Shape, x0: float, y0: float, x1: float, y1: float) -> None:
    if x1 - x0 > y1 - y0:
        shape.draw_line((x0, (y0 + y1) / 2), (x1, (y0 + y1) / 2))
        shape.finish(color=(0, 0, 0), width=y1 - y0)
    else:
        shape.draw_line(((x0 + x1) / 2, y0), ((x0 + x1) / 2, y1))
        shape.finish(color=(0, 0, 0), width=x1 - x0)


def as_polygon(shape: pymupdf.Shape, x0: float, y0: float, x1: float, y1: float) -> None:
    shape.draw_polyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    shape.finish(fill=(0, 0, 0), color=None, width=0, closePath=True)


def as_pieces(shape: pymupdf.Shape, x0: float, y0: float, x1: float, y1: float) -> None:
    """Long lines in pieces that touch, as engravers that draw bar by bar leave them."""
    if x1 - x0 < 60:
        as_rectangle(shape, x0, y0, x1, y1)
        return
    cuts = [x0, x0 + 0.3 * (x1 - x0), x0 + 0.7 * (x1 - x0), x1]
    for a, b in pairwise(cuts):
        as_rectangle(shape, a, y0, b, y1)


WAYS: Sequence[Draw] = (as_rectangle, as_stroke, as_polygon, as_pieces)


def stave(shape: pymupdf.Shape, draw: Draw, x0: float, x1: float, top: float, space: float) -> None:
    """Five lines 0.13 spaces thick (SMuFL engraving defaults)."""
    for n in range(5):
        y = top + n * space
        draw(shape, x0, y - 0.065 * space, x1, y + 0.065 * space)


def upright(shape: pymupdf.Shape, draw: Draw, x: float, top: float, space: float, thick: float = 0.16) -> None:
    draw(shape, x - thick / 2 * space, top, x + thick / 2 * space, top + 4 * space)


def note(page: pymupdf.Page, x: float, y: float, space: float) -> None:
    """A quarter note's head, of Unicode's Musical Symbols, left of x: drawn, as no font at hand has it."""
    page.draw_oval(pymupdf.Rect(x - 1.2 * space, y - 0.5 * space, x, y + 0.5 * space), fill=(0, 0, 0), color=None)


def dot(page: pymupdf.Page, x: float, y: float, space: float) -> None:
    page.draw_circle((x, y), 0.2 * space, fill=(0, 0, 0), color=None)


def read(document: pymupdf.Document) -> Reading:
    return read_part(document.tobytes())


@pytest.mark.parametrize("draw", WAYS)
@settings(max_examples=12, deadline=None)
@given(
    space=st.floats(2.6, 8.0),
    bars=st.lists(st.floats(9.0, 30.0), min_size=1, max_size=6),
    staves=st.integers(1, 3),
)
def test_staves_and_barlines_however_they_are_drawn(draw: Draw, space: float, bars: list[float], staves: int) -> None:
    document = pymupdf.open()
    width = sum(bars) * space
    page = document.new_page(width=max(595, width + 120), height=842)
    shape = page.new_shape()
    for n in range(staves):
        top = 100 + n * 14 * space
        stave(shape, draw, 50, 50 + width, top, space)
        x = 50.0
        for length in bars:
            x += length * space
            upright(shape, draw, x - 0.08 * space, top, space)
    shape.commit()
    systems = read(document).pages[0].systems
    assert len(systems) == staves
    for n, system in enumerate(systems):
        assert system.space == pytest.approx(space, rel=0.01)
        assert system.staves[0].top == pytest.approx(100 + n * 14 * space, abs=0.1 * space)
        assert system.staves[0].x0 == pytest.approx(50, abs=0.2 * space)
        assert len(system.barlines) == len(bars)
        assert all(line.kind is BarlineKind.SINGLE for line in system.barlines)


@pytest.mark.parametrize("draw", WAYS)
@pytest.mark.parametrize(
    ("strokes", "dots", "kind"),
    [
        ([0.16], "", BarlineKind.SINGLE),
        ([0.16, 0.16], "", BarlineKind.DOUBLE),
        ([0.16, 0.5], "", BarlineKind.FINAL),
        ([0.16, 0.5], "before", BarlineKind.REPEAT_END),
        ([0.5, 0.16], "after", BarlineKind.REPEAT_START),
        ([0.16, 0.5, 0.16], "before after", BarlineKind.REPEAT_BOTH),
        ([0.5, 0.5], "before after", BarlineKind.REPEAT_BOTH),
    ],
)
def test_kinds_of_barline(draw: Draw, strokes: list[float], dots: str, kind: BarlineKind) -> None:
    """Thickness and distance after SMuFL's engraving defaults: thin 0.16, thick 0.5, separation 0.4, dots 0.16 away."""
    space, top = 5.0, 100.0
    document = pymupdf.open()
    page = document.new_page()
    shape = page.new_shape()
    stave(shape, draw, 50, 450, top, space)
    x = 250.0
    for thick in strokes:
        upright(shape, draw, x + thick / 2 * space, top, space, thick)
        x += (thick + 0.4) * space
    upright(shape, draw, 449.6, top, space)
    shape.commit()
    for side, at in (("before", 250 - 0.4 * space), ("after", x)):
        if side in dots:
            dot(page, at, top + 1.5 * space, space)
            dot(page, at, top + 2.5 * space, space)
    lines = read(document).pages[0].systems[0].barlines
    assert [line.kind for line in lines] == [kind, BarlineKind.SINGLE]


@pytest.mark.parametrize("draw", WAYS)
@pytest.mark.parametrize("head_at", ["top", "bottom"])
def test_a_stem_as_tall_as_the_stave_is_no_barline(draw: Draw, head_at: str) -> None:
    space, top = 5.0, 100.0
    document = pymupdf.open()
    page = document.new_page()
    shape = page.new_shape()
    stave(shape, draw, 50, 450, top, space)
    upright(shape, draw, 150, top, space, 0.12)
    upright(shape, draw, 300, top, space)
    upright(shape, draw, 449.6, top, space)
    shape.commit()
    if head_at == "bottom":
        note(page, 150, top + 4 * space, space)
    else:
        note(page, 150 + 1.2 * space, top, space)
    lines = read(document).pages[0].systems[0].barlines
    assert [round(line.x) for line in lines] == [300, 450]


def test_staves_joined_at_the_left_are_one_system() -> None:
    space = 5.0
    document = pymupdf.open()
    shape = document.new_page().new_shape()
    for n in range(4):
        top = 100 + n * 60
        stave(shape, as_stroke, 50, 450, top, space)
        upright(shape, as_stroke, 449.6, top, space)
    for n in (0, 2):
        as_stroke(shape, 49.6, 100 + n * 60, 50.4, 100 + (n + 1) * 60 + 4 * space)
    shape.commit()
    assert [len(system.staves) for system in read(document).pages[0].systems] == [2, 2]


def test_small_staves_are_left_out() -> None:
    """An ossia two thirds the size of the rest counts no bars."""
    document = pymupdf.open()
    shape = document.new_page().new_shape()
    for top, space, x1 in ((100, 5.0, 450), (180, 3.3, 250), (220, 5.0, 450), (320, 5.0, 450)):
        stave(shape, as_stroke, 50, x1, top, space)
        upright(shape, as_stroke, x1 - 0.4, top, space)
    shape.commit()
    assert [round(s.bbox[1]) for s in read(document).pages[0].systems] == [100, 220, 320]


def test_two_pages_side_by_side_are_read_one_after_the_other() -> None:
    document = pymupdf.open()
    shape = document.new_page(width=842, height=595).new_shape()
    for x0 in (40, 450):
        for top in (80, 200, 320):
            stave(shape, as_stroke, x0, x0 + 340, top, 5.0)
            upright(shape, as_stroke, x0 + 339.6, top, 5.0)
    shape.commit()
    assert [(round(s.bbox[0]), round(s.bbox[1])) for s in read(document).pages[0].systems] == [
        (40, 80), (40, 200), (40, 320), (450, 80), (450, 200), (450, 320)
    ]  # fmt: skip


@pytest.mark.parametrize("turn", [90, 270])
def test_a_page_turned_by_its_page_entry_is_read_as_displayed(turn: int) -> None:
    """ISO 32000-1, 7.7.3.3: Rotate turns the page clockwise when displayed."""
    upright_page = pymupdf.open()
    shape = upright_page.new_page().new_shape()
    for top in (100, 200):
        stave(shape, as_stroke, 50, 450, top, 5.0)
        for x in (250, 449.6):
            upright(shape, as_stroke, x, top, 5.0)
    shape.commit()
    turned = pymupdf.open()
    page = turned.new_page(width=842, height=595)
    page.show_pdf_page(page.rect, upright_page, 0, rotate=turn)
    page.set_rotation(turn)
    one, other = read(upright_page).pages[0], read(turned).pages[0]
    assert (other.width, other.height) == pytest.approx((595, 842), abs=0.1)
    assert [len(s.barlines) for s in other.systems] == [len(s.barlines) for s in one.systems] == [2, 2]


def test_a_crop_box_moves_the_origin() -> None:
    document = pymupdf.open()
    page = document.new_page()
    shape = page.new_shape()
    stave(shape, as_stroke, 50, 450, 100, 5.0)
    upright(shape, as_stroke, 449.6, 100, 5.0)
    shape.commit()
    page.set_cropbox(pymupdf.Rect(30, 40, 560, 800))
    read_page = read(document).pages[0]
    assert (read_page.width, read_page.height) == (530, 760)
    assert read_page.systems[0].bbox[:2] == pytest.approx((20, 60), abs=0.5)
