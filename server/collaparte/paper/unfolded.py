"""Sheets that several parts share, made a page for each part; the same file gives the same bytes."""

from collections.abc import Sequence

import pymupdf

from collaparte.paper.opening import opened
from collaparte.paper.reading import Box, PageHead


def unfolded(pdf: bytes, heads: Sequence[PageHead]) -> bytes:
    """The PDF with each of a sheet's areas (`PageHead.halves`) as a page of its own; nothing of it is drawn anew."""
    source, out = opened(pdf), pymupdf.open()
    for number, head in enumerate(heads):
        for area in head.halves or (None,):
            out.insert_pdf(source, from_page=number, to_page=number)
            if area is not None:
                _show(out[-1], area)
    data: bytes = out.tobytes(garbage=4, deflate=True, no_new_id=True)
    return data


def _show(page: pymupdf.Page, area: Box) -> None:
    corner = page.cropbox_position
    x0, y0, x1, y1 = area
    page.set_cropbox(pymupdf.Rect(corner.x + x0, corner.y + y0, corner.x + x1, corner.y + y1))
