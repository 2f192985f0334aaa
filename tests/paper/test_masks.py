"""Masks (ISO 32000-1, 8.9.6.2: they paint where their samples are 0): outlines, ink, frames round old numbers."""

from pathlib import Path

import numpy as np
import pymupdf
import pytest

from collaparte.paper.cutting.flattened import Fonts, flatten, open_pdf
from collaparte.paper.cutting.ink import Shape
from collaparte.paper.cutting.items import inside
from collaparte.paper.cutting.ownership import own
from collaparte.paper.read import read_part
from collaparte.paper.sight.traced import Point, outlines


def area(ring: list[Point]) -> float:
    """By the shoelace formula; with y downwards a ring that has its ink on the right hand counts above 0."""
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, [*ring[1:], ring[0]], strict=True)) / 2


def test_a_box_and_a_hole_in_it_are_traced_by_their_corners() -> None:
    ink = np.zeros((12, 10), dtype=bool)
    ink[2:11, 1:9] = True
    ink[4:8, 3:6] = False
    outer, hole = sorted(outlines(ink), key=lambda ring: -abs(area(ring)))
    assert set(outer) == {(1, 2), (9, 2), (9, 11), (1, 11)} and set(hole) == {(3, 4), (6, 4), (6, 8), (3, 8)}
    assert area(outer) == 72 and area(hole) == -12


def test_a_disc_is_traced_to_about_its_area_with_few_corners() -> None:
    y, x = np.mgrid[0:60, 0:60]
    disc = (x - 29.5) ** 2 + (y - 29.5) ** 2 < 25**2
    (ring,) = outlines(disc)
    assert abs(area(ring)) == pytest.approx(disc.sum(), rel=0.03) and len(ring) < 60


def test_two_pixels_at_a_corner_are_traced_to_the_end() -> None:
    assert sum(abs(area(ring)) for ring in outlines(np.eye(2, dtype=bool))) == 2


def masked(rows: str, size: str, state: str = "0 g") -> bytes:
    """A page on which one mask fills a square from (20, 30), 40 points a side."""
    document = pymupdf.open()
    page = document.new_page(width=200, height=200)
    content = f"q {state} 40 0 0 40 20 30 cm BI /IM true {size} /BPC 1 /F /AHx ID {rows}> EI Q"
    xref = document.get_new_xref()
    document.update_object(xref, "<< >>")
    document.update_stream(xref, content.encode())
    document.xref_set_key(page.xref, "Contents", f"{xref} 0 R")
    data: bytes = document.tobytes()
    return data


def test_a_mask_is_flattened_to_the_shape_of_its_ink() -> None:
    """Two rows of two pixels, the upper left alone painted: on the page 20 to 40 across, 130 to 150 down."""
    (shape,) = flatten(open_pdf(masked("40C0", "/W 2 /H 2")), 0, Fonts()).ink
    assert isinstance(shape, Shape) and shape.width is None and shape.colour == (0.0,)
    assert shape.box == pytest.approx((20, 130, 40, 150), abs=0.01)


def test_a_mask_that_paints_nothing_is_no_ink() -> None:
    assert flatten(open_pdf(masked("C0C0", "/W 2 /H 2")), 0, Fonts()).ink == []


def test_the_frame_round_an_old_number_goes_with_the_number() -> None:
    """All lines but the first have theirs in a frame whose figures are pictures; the nearest side is 4 points away.

    One is a 7 that looks as much like a music font's.
    """
    pdf = (Path(__file__).parent / "engraved" / "bitmaps-902.pdf").read_bytes()
    reading = read_part(pdf)
    owned = own(flatten(open_pdf(pdf), 0, Fonts()), reading, 0)
    numbers = [s.printed_number_box for s in reading.pages[0].systems if s.printed_number_box]
    assert len(numbers) == len(reading.pages[0].systems) - 1
    rooms = [(x0 - 6, y0 - 6, x1 + 6, y1 + 6) for x0, y0, x1, y1 in numbers]
    assert not [item.box for item in owned.items if any(inside(item.box, room) for room in rooms)]
