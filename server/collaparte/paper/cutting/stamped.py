"""What is stamped over a page ("Perusal copy"): large letters, pale or slanting, that lie over notes."""

from collections.abc import Sequence
from dataclasses import replace

from collaparte.paper.cutting.ink import Glyph, Page
from collaparte.paper.reading import System

PALE = 0.5
"""How light such letters are at least; 1 is white."""
LARGE = 5.0
"""Their em is larger than so many spaces; titles are as large, but black and level."""
SLANTED = 0.2
"""The rise of a line of type that is not level, nor upright, by its run."""


def without_stamps(page: Page, systems: Sequence[System]) -> tuple[Page, bool]:
    """The page without what is stamped over its music, and whether there was any."""
    space = max((system.space for system in systems), default=0.0)
    kept = [m for m in page.ink if not (isinstance(m, Glyph) and _is_stamped(m, page, space))] if space else page.ink
    return replace(page, ink=kept), len(kept) < len(page.ink)


def _is_stamped(glyph: Glyph, page: Page, space: float) -> bool:
    a, b, c, d, _, _ = glyph.m
    if page.fonts[glyph.font].music or max(map(abs, (a, b, c, d))) < LARGE * space:
        return False
    pale = sum(glyph.colour) > PALE * len(glyph.colour)
    return pale or min(abs(a), abs(b)) > SLANTED * max(abs(a), abs(b))
