"""Letters, figures and signs on a scan, told by a net that learned them from damaged pages.

The weights (`letters.npz`) are made by tests/paper/scan_letters.py from open fonts. A piece of ink is looked at as
16 x 16 cells of coverage (`cells.py`) beside its shape and size.
"""

from functools import lru_cache

import numpy as np

from collaparte.paper.scans.bits import Dark
from collaparte.paper.scans.cells import cells_of
from collaparte.paper.scans.net import Floats, chances, weights
from collaparte.paper.sight.shapes import NO_MATCH, Cells, Match

NONE = ""
SIGNS = ("segno", "coda")
CLASSES = (NONE, *SIGNS, *"0123456789", *"ABDEFGHJKLMNQRTY", *"abcdefghijklmnopqrstuvwxyz", *".,-&()'")
"""What a piece may be; letters that look alike in both cases are the small one, strokes (I, l) are l."""
FIRST_LETTER = 1 + len(SIGNS)
"""The letters come last among the classes."""
DOUBT = 0.48
"""How far off a letter is for each share of the chance that it is another one."""
FILE = "letters.npz"
Likely = tuple[int, float]
"""The number of a class, and how likely a piece is of it."""


def features(cells: Cells, wide: Floats, high: Floats, space: float) -> Floats:
    """Pieces of ink as the net sees them, one a row: their cells, shape and size; sizes in the unit of `space`."""
    more = np.stack([np.log(wide / high), np.log(high / space)], axis=1)
    return np.concatenate([cells, more.astype(np.float32)], axis=1)


def classed(seen: Floats) -> Floats:
    """How likely each piece, by its features (one a row), is of each class."""
    return chances(seen, FILE)


def letter_chance(mask: Dark, space: float) -> float:
    """How likely a piece of ink without white round it is a letter or figure; `space` in pixels."""
    high, wide = np.array(mask.shape, dtype=np.float32)
    told = classed(features(cells_of(mask)[None], wide[None], high[None], space))[0]
    return float(told[FIRST_LETTER:].max())


def likeliest(chances: Floats) -> list[Likely]:
    """The class that each piece (one a row) most likely is of."""
    return list(zip(chances.argmax(axis=1).tolist(), chances.max(axis=1).tolist(), strict=True))


def letter_match(likely: Likely, height: float) -> Match:
    """The letter that a piece of this height is, with its size in the height's unit."""
    at, chance = likely
    if at < FIRST_LETTER:
        return NO_MATCH
    tall, foot = _sizes()[at]
    size = height / tall
    return Match("letter", CLASSES[at], DOUBT * (1 - chance), size, foot * size)


def sign_match(likely: Likely) -> Match:
    """The segno or coda that a piece is."""
    at, chance = likely
    return Match(CLASSES[at], "", DOUBT * (1 - chance)) if CLASSES[at] in SIGNS else NO_MATCH


@lru_cache(maxsize=1)
def _sizes() -> list[tuple[float, float]]:
    """How tall a letter of each class is and how far its foot is below the line, in em."""
    return [(tall, foot) for tall, foot in weights(FILE)["sizes"].tolist()]
