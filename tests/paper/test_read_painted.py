"""Pages painted in ways that leave their music the same: twice over to look bold, in groups, mixed with their paper.

Blend modes and groups: ISO 32000-1, 11.3.5 and 11.4.
"""

from collections.abc import Callable

import pymupdf
import pytest

from against import differences
from collaparte.paper.read import read_part

pytest.importorskip("verovio")
import second_engraving


def _again(pdf: bytes, operators: Callable[[bytes], bytes], state: str = "") -> bytes:
    """The PDF with each page's operators changed, and a graphics state `S` that they may ask for."""
    document = pymupdf.open(stream=pdf)
    for page in document:
        xref = document.get_new_xref()
        document.update_object(xref, "<< >>")
        document.update_stream(xref, operators(page.read_contents()))
        page.set_contents(xref)
        if state:
            key = "Resources/ExtGState/S"
            kind, value = document.xref_get_key(page.xref, "Resources")
            home = (int(value.split()[0]), "ExtGState/S") if kind == "xref" else (page.xref, key)
            document.xref_set_key(*home, state)
    painted: bytes = document.tobytes()
    return painted


@pytest.mark.parametrize("seed", [332000119, 329000006])
@pytest.mark.parametrize("shift", [0.0, 0.15, 0.3])
def test_shapes_painted_twice_to_look_bold_are_read_once(seed: int, shift: float) -> None:
    """A rest's 8 was read as 88, and 50 bars too many were counted."""
    pdf, truth, notes = second_engraving.chart(seed, signs=True)
    bold = _again(pdf, lambda drawn: b"q %s Q q 1 0 0 1 %f 0 cm %s Q" % (drawn, shift, drawn))
    assert not differences(read_part(bold), truth), notes


@pytest.mark.parametrize("state", ["/BM /Multiply", "/BM /Darken", "/ca 0.6 /CA 0.6", "/BM /Multiply /ca 0.5 /CA 0.5"])
def test_ink_that_mixes_with_the_paper_is_read(state: str) -> None:
    """A page painted in a blend mode was called damaged."""
    pdf, truth, notes = second_engraving.chart(332000119, signs=True)
    mixed = _again(pdf, lambda drawn: b"q /S gs %s Q" % drawn, f"<< /Type /ExtGState {state} >>")
    assert not differences(read_part(mixed), truth), notes


def test_what_was_written_on_the_page_with_a_pen_is_no_music() -> None:
    """An upright stroke through several lines joined them into one system, and no line was in doubt."""
    pdf, truth, notes = second_engraving.chart(332000119, signs=True)
    document = pymupdf.open(stream=pdf)
    for page in document:
        strokes = [[(200, 80), (200, 420)], [(60, 300), (400, 320)], [(310, 500), (312, 540), (330, 520), (310, 500)]]
        page.add_ink_annot(strokes).update()
        page.add_highlight_annot(pymupdf.Rect(50, 300, 300, 330))
    assert not differences(read_part(document.tobytes()), truth), notes


def test_a_border_around_the_page_joins_no_lines() -> None:
    """Close beside the staves it passed for the line at their left edge: all lines were one system, and sure."""
    pdf, truth, notes = second_engraving.chart(332000119, signs=True)
    document = pymupdf.open(stream=pdf)
    for page in document:
        page.draw_rect(pymupdf.Rect(10, 10, page.rect.x1 - 10, page.rect.y1 - 10), width=1)
    assert not differences(read_part(document.tobytes()), truth), notes


@pytest.mark.parametrize("thick", [1.2, 3.0])
def test_a_stroke_painted_over_with_white_is_no_barline(thick: float) -> None:
    pdf, truth, notes = second_engraving.chart(332000119, signs=True)
    stave = read_part(pdf).pages[0].systems[0].staves[0]
    document = pymupdf.open(stream=pdf)
    page = document[0]
    for x in (stave.x0 + 0.31 * (stave.x1 - stave.x0), stave.x0 + 0.68 * (stave.x1 - stave.x0)):
        page.draw_line((x, stave.top), (x, stave.bottom), width=0.8)
        page.draw_line((x, stave.top - 1), (x, stave.bottom + 1), color=(1, 1, 1), width=thick)
    assert not differences(read_part(document.tobytes()), truth), notes
