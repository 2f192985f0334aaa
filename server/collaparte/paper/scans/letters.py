"""Letters, figures and signs on a scan, told by a net that learned them from damaged pages.

The weights (`letters.npz`) are made by tests/paper/scan_letters.py from open fonts. A piece of ink is looked at as
16 x 16 cells of coverage (`cells.py`) beside its shape and size.
"""

from functools import lru_cache
from importlib import resources
from io import BytesIO
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.bits import Dark
from collaparte.paper.scans.cells import cells_of
from collaparte.paper.sight.shapes import NO_MATCH, Cells, Match

NONE = ""
SIGNS = ("segno", "coda")
CLASSES = (NONE, *SIGNS, *"0123456789", *"ABDEFGHJKLMNQRTY", *"abcdefghijklmnopqrstuvwxyz", *".,-&()'")
"""What a piece may be; letters that look alike in both cases are the small one, strokes (I, l) are l."""
DOUBT = 0.48
"""How far off a letter is for each share of the chance that it is another one."""

Floats = npt.NDArray[np.float32]


class _Net(NamedTuple):
    layers: tuple[Floats, ...]
    """Weights and biases in turn."""
    sizes: Floats
    """Height and foot of each class in em."""


@lru_cache(maxsize=1)
def _net() -> _Net:
    data = resources.files("collaparte.paper.scans").joinpath("letters.npz").read_bytes()
    store = np.load(BytesIO(data), allow_pickle=False)
    count = sum(name.startswith("layer") for name in store.files)
    return _Net(tuple(store[f"layer{n}"].astype(np.float32) for n in range(count)), store["sizes"].astype(np.float32))


def features(cells: Cells, wide: Floats, high: Floats, space: float) -> Floats:
    """Pieces of ink as the net sees them, one a row: their cells, shape and size; sizes in the unit of `space`."""
    more = np.stack([np.log(wide / high), np.log(high / space)], axis=1)
    return np.concatenate([cells, more.astype(np.float32)], axis=1)


def chances(seen: Floats) -> Floats:
    """How likely each piece, by its features (one a row), is of each class."""
    out, layers = seen, _net().layers
    for n in range(0, len(layers), 2):
        out = out @ layers[n] + layers[n + 1]
        if n + 2 < len(layers):
            out = np.maximum(out, 0)
    out = np.exp(out - out.max(axis=1, keepdims=True))
    told: Floats = out / out.sum(axis=1, keepdims=True)
    return told


def letter_chance(mask: Dark, space: float) -> float:
    """How likely a piece of ink without white round it is a letter or figure; `space` in pixels."""
    high, wide = np.array(mask.shape, dtype=np.float32)
    told = chances(features(cells_of(mask)[None], wide[None], high[None], space))[0]
    return float(told[1 + len(SIGNS) :].max())


def letter_match(chance: Floats, height: float) -> Match:
    """The letter that a piece of this height most likely is, with its size in the height's unit."""
    at = int(chance.argmax())
    if CLASSES[at] in (NONE, *SIGNS):
        return NO_MATCH
    tall, foot = _net().sizes[at].tolist()
    size = height / tall
    return Match("letter", CLASSES[at], DOUBT * (1 - float(chance[at])), size, foot * size)


def sign_match(chance: Floats) -> Match:
    """The segno or coda that a piece most likely is."""
    at = int(chance.argmax())
    return Match(CLASSES[at], "", DOUBT * (1 - float(chance[at]))) if CLASSES[at] in SIGNS else NO_MATCH
