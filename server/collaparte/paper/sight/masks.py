"""Ink painted through masks (ISO 32000-1, 8.9.6): lines as masks of one pixel, signs as small two-level pictures."""

import re
from typing import Any

import numpy as np
import numpy.typing as npt
import pymupdf
from pymupdf import mupdf

from collaparte.paper.sight.filled import take_filled
from collaparte.paper.sight.paths import WHITE
from collaparte.paper.sight.resources import has_objects, operators_of
from collaparte.paper.sight.strokes import Blob, Rule
from collaparte.paper.sight.traced import Point, outlines

MOST = 160_000
"""A mask of more pixels than this is a picture, and no letter, sign or line."""
MANY = 50_000
"""A page of more masks than this is none that is looked at."""
INLINE = re.compile(rb"\bBI\s")
"""How an image within the page's operators begins (ISO 32000-1, 8.9.7)."""
HALF = 127
"""A mask's samples above this are ink."""


def mask_outlines(image: Any, m: Any) -> list[list[Point]]:
    """The closed outlines of a mask's ink, by the library's image and matrix; none when it is too large."""
    if not 0 < image.w * image.h <= MOST:
        return []
    pixels = mupdf.FzImage(mupdf.ll_fz_keep_image(image)).fz_get_unscaled_pixmap_from_image()
    width, height = pixels.w(), pixels.h()
    # An image's unit square has its first row at the top.
    return [
        [(m.a * x / width + m.c * y / height + m.e, m.b * x / width + m.d * y / height + m.f) for x, y in ring]
        for ring in outlines(inked(pixels) > HALF)
    ]


def inked(pixels: Any) -> npt.NDArray[np.uint8]:
    """How much ink each pixel of a mask has, 0 to 255, by the library's pixels."""
    memory = mupdf.fz_pixmap_samples_memoryview(pixels)
    rows = np.frombuffer(memory, np.uint8).reshape(pixels.h(), pixels.stride())
    return rows[:, : pixels.w() * pixels.n() : pixels.n()]


def has_pictures(entry: Any, resources: Any) -> bool:
    """Whether a page, by what it lists and by its operators, may paint pictures or masks; `entry`: its dictionary."""
    return has_objects(resources) or _has_inline(operators_of(entry))


def take_masks(page: pymupdf.Page, rules: list[Rule], blobs: list[Blob]) -> None:
    """Add what the page paints through masks, in points of the page as displayed."""
    finder = _Masks()
    raw = page.this if isinstance(page.this, mupdf.FzPage) else mupdf.FzPage(page.this)
    mupdf.fz_run_page(raw, finder, mupdf.FzMatrix(), mupdf.FzCookie())
    mupdf.fz_close_device(finder)
    for rings in finder.found:
        items = [("l", one, other) for ring in rings for one, other in zip(ring, [*ring[1:], ring[0]], strict=True)]
        take_filled(items, 0.0, rules, blobs)


def _has_inline(operators: bytes) -> bool:
    return b"BI" in operators and INLINE.search(operators) is not None  # the pattern alone tries every word


class _Masks(mupdf.FzDevice2):  # type: ignore[misc]
    """Goes through a page for dark ink that is painted through masks."""

    def __init__(self) -> None:
        super().__init__()
        self.use_virtual_fill_image_mask()
        self.found: list[list[list[Point]]] = []

    def fill_image_mask(self, _ctx: Any, image: Any, m: Any, space: Any, colour: Any, alpha: float, *_: Any) -> None:
        if len(self.found) < MANY and alpha and not _is_light(space, colour):
            rings = mask_outlines(image, m)
            if rings:
                self.found.append(rings)


def _is_light(space: Any, colour: Any) -> bool:
    """Whether ink is as light as paper, in whatever colours it is told."""
    if not space or not colour:
        return False
    kept = mupdf.FzColorspace(mupdf.ll_fz_keep_colorspace(space))
    rgb = mupdf.fz_convert_color(kept, colour, mupdf.fz_device_rgb(), mupdf.FzColorspace(), mupdf.FzColorParams())
    return bool(min(rgb[:3]) > WHITE)
