"""The pictures of pieces: packed without touching, and composed as a stand does, they give the laid page."""

import struct

import cv2
import numpy as np
import numpy.typing as npt
import pymupdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.paper.cutting.table import Extent
from collaparte.paper.pages.laying import LaidPage, Laying, Pieces
from collaparte.paper.pages.sheets import LADDER, TALLEST, WIDEST, draw, draw_cut, pack
from paper.laid import ALTO, KEYS, VOCAL, part

Opacity = npt.NDArray[np.float32]
PX = 25.0
"""Pixels a staff space of the composed page: a rung, one to one."""


@given(st.lists(st.tuples(st.floats(0.1, 30), st.floats(0.1, 30)), min_size=1, max_size=60))
def test_packed_pieces_keep_apart(sizes: list[tuple[float, float]]) -> None:
    extents = [Extent(-1.0, -2.0, w - 1.0, h - 2.0) for w, h in sizes]
    pieces, sheets = pack(extents, 40.0, 80.0)
    boxes = [(p.sheet, p.x, p.y, p.x + p.right - p.left, p.y + p.bottom - p.top) for p in pieces]
    for n, (sheet, x0, y0, x1, y1) in enumerate(boxes):
        assert x0 > 0 and x1 < sheets[sheet][0] <= 40 and y0 > 0 and y1 < sheets[sheet][1] <= 80
        for other, a0, b0, a1, b1 in boxes[:n]:
            assert sheet != other or x1 + 0.4 < a0 or a1 + 0.4 < x0 or y1 + 0.4 < b0 or b1 + 0.4 < y0


def test_sheets_are_small_transparent_pngs() -> None:
    pieces, pictures = draw_cut(part(ALTO).cut)
    assert [len(names) for names in pieces.sheets] == [len(pieces.sheets[0])] * len(LADDER)
    assert len({name for names in pieces.sheets for name in names}) == len(pictures)
    for rung, n, png in pictures:
        width, height = struct.unpack(">II", png[16:24])  # ISO/IEC 15948: the header chunk comes first
        assert width <= WIDEST and height <= TALLEST
        assert pieces.sheets[rung][n]
        image = cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_UNCHANGED)
        assert image.shape == (height, width, 4)
        assert image[..., :3].max() == 0
        assert {0, 255} <= set(np.unique(image[..., 3]).tolist())
    assert sum(len(png) for rung, _, png in pictures if rung == len(LADDER) - 1) < 1_000_000


def test_the_same_part_gives_the_same_names() -> None:
    the = part(KEYS)
    one, _ = draw(the.pdf, the.reading, the.cut.table, (12.5,))
    two, _ = draw(the.pdf, the.reading, the.cut.table, (12.5,))
    assert one == two


def test_a_page_shown_as_printed_has_its_picture() -> None:
    the = part(VOCAL)
    pieces, pictures = draw_cut(the.cut, (12.5,))
    (page,) = the.cut.table.page_pieces
    assert pieces.pieces[page].right - pieces.pieces[page].left == pytest.approx(84, abs=0.1)
    assert pictures


@pytest.mark.parametrize("name", [ALTO, KEYS])
def test_a_page_composed_from_sheets_is_the_page_of_the_pdf(name: str) -> None:
    """By correlation of ink: what a stand draws, but for the words, against pymupdf's drawing of the PDF."""
    the = part(name)
    pieces, pictures = draw_cut(the.cut, (PX,))
    sheets = [_opacity(png) for _, _, png in pictures]
    composed = _compose(the.laying, the.laying.pages[1], pieces, sheets)
    zoom = PX / the.laying.space * 25.4 / 72
    pixmap = pymupdf.open(stream=the.laid)[1].get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), colorspace=pymupdf.csGRAY)
    drawn = 1 - np.frombuffer(pixmap.samples, np.uint8).reshape(pixmap.h, pixmap.w).astype(np.float32) / 255
    height, width = (min(a, b) for a, b in zip(composed.shape, drawn.shape, strict=True))
    a, b = (cv2.GaussianBlur(image[:height, :width], (0, 0), 1.5) for image in (composed, drawn))
    assert np.corrcoef(a.ravel(), b.ravel())[0, 1] > 0.97


def _opacity(png: bytes) -> Opacity:
    image = cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_UNCHANGED)
    return np.asarray(image[..., 3], np.float32) / 255


def _compose(laying: Laying, page: LaidPage, pieces: Pieces, sheets: list[Opacity]) -> Opacity:
    scale = PX / laying.space
    out = np.zeros((round(laying.page[1] * scale), round(laying.page[0] * scale)), np.float32)
    for placed in page.placed:
        p = pieces.pieces[placed.piece]
        sheet = sheets[p.sheet]
        for cut in placed.slices:
            x0, x1 = round(cut.x0 * scale), round(cut.x1 * scale)
            y0 = round((placed.y + p.top * placed.space) * scale)
            y1 = round((placed.y + p.bottom * placed.space) * scale)
            source = sheet[
                round(p.y * PX) : round((p.y + p.bottom - p.top) * PX),
                round((p.x + cut.sx0 - p.left) * PX) : round((p.x + cut.sx1 - p.left) * PX),
            ]
            if x1 <= x0 or y1 <= y0 or not source.size:
                continue
            fitted = cv2.resize(source, (x1 - x0, y1 - y0), interpolation=cv2.INTER_LINEAR)
            into = out[max(y0, 0) : y1, max(x0, 0) : x1]
            fitted = fitted[max(-y0, 0) :, max(-x0, 0) :][: into.shape[0], : into.shape[1]]
            np.maximum(into, fitted, out=into)
    for rule in page.rules:
        x0, y0, x1, y1 = (v * scale for v in (rule.x0, rule.y0, rule.x1, rule.y1))
        out[round(y0) : max(round(y1), round(y0) + 1), round(x0) : max(round(x1), round(x0) + 1)] = 1
    for dot in page.dots:
        cv2.circle(out, (round(dot.x * scale), round(dot.y * scale)), round(dot.r * scale), 1.0, -1)
    return out
