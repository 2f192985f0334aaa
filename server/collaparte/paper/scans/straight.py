"""A scanned page set straight, and the staves on it."""

from typing import NamedTuple

import pymupdf

from collaparte.paper.scans import page as scan_page
from collaparte.paper.scans import staves as scan_staves
from collaparte.paper.scans.bare import without_lines
from collaparte.paper.scans.bits import Bitmap
from collaparte.paper.scans.page import Bent, Grey
from collaparte.paper.scans.staves import ScannedStave


class Straight(NamedTuple):
    """Where there is ink on a page set straight, and how it lay; lengths in pixels."""

    dark: Bitmap
    bare: Bitmap
    """The same without staff lines."""
    bent: Bent
    staves: list[ScannedStave]
    thick: int
    """Staff lines' thickness."""
    pitch: float
    """The distance from line to line that is commonest."""
    grey: Grey
    """The page as it lay."""


def set_straight(page: pymupdf.Page) -> Straight | None:
    """The page set straight; None when it shows no staves."""
    grey, scale = scan_page.grey_page(page)
    dark = scan_page.darkness(grey)
    slope = scan_page.tilt(dark)
    dark = scan_page.level(dark, slope)
    lean = scan_page.leaning(dark, slope)
    dark = scan_page.upright(dark, lean)
    rhythm = scan_staves.thickness_and_pitch(dark)
    if rhythm is None:
        return None
    thick, pitch = rhythm
    found = scan_staves.trails(dark, thick, pitch)
    if not found:
        return None
    height, width = dark.shape
    bent = Bent(
        scale, slope, lean, (width / 2, height / 2), *(scan_staves.waves(found, dark.shape) or (None, None, None))
    )
    dark = scan_page.levelled(dark, bent)
    staves = scan_staves.measured(dark, found, thick, pitch)
    return Straight(dark, without_lines(dark, staves, thick), bent, staves, thick, pitch, grey) if staves else None
