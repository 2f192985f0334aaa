"""What a page is made of as the pen left it: straight rules, other shapes, glyphs.

Lengths are points, origin top-left, the page as displayed.
"""

from typing import Any, NamedTuple

made = tuple.__new__
"""Makes a `Glyph` or the like of its values in half the time that naming them takes."""
OUTLINE = "outline"
"""The font that signs known by their shape are said to be of."""


class Rule(NamedTuple):
    """A filled box parallel to the page's edges, drawn as a line stroke, a rectangle or a polygon."""

    x0: float
    y0: float
    x1: float
    y1: float
    dashed: bool = False


class Blob(NamedTuple):
    """Any other painted path: its box and its segments, for a look at its shape."""

    x0: float
    y0: float
    x1: float
    y1: float
    items: tuple[Any, ...]
    filled: bool
    stepped: bool = False
    """Level and upright edges only: it is among the rules, too, and is nothing else unless it is a letter (E, F)."""


class Glyph(NamedTuple):
    """One sign of a font, or a shape known for one: its ink box, origin on the baseline, font size and sort."""

    x0: float
    y0: float
    x1: float
    y1: float
    x: float
    y: float
    size: float
    kind: str
    value: str
    font: str
    upright: bool = True


class PageInk(NamedTuple):
    """All ink of one page; `picture` is the share of the page that images cover."""

    width: float
    height: float
    rules: list[Rule]
    blobs: list[Blob]
    glyphs: list[Glyph]
    picture: float
