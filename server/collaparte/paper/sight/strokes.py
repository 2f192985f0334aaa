"""What a page is made of as the pen left it: straight rules, other shapes, glyphs.

Lengths are points, origin top-left, the page as displayed.
"""

from typing import Any, NamedTuple

import msgspec

from collaparte.paper.reading import Box

OUTLINE = "outline"
"""The font that signs known by their shape are said to be of."""


class Rule(msgspec.Struct, frozen=True, gc=False):
    """A filled box parallel to the page's edges, drawn as a line stroke, a rectangle or a polygon."""

    x0: float
    y0: float
    x1: float
    y1: float
    dashed: bool = False

    @property
    def box(self) -> Box:
        return (self.x0, self.y0, self.x1, self.y1)


class Blob(msgspec.Struct, frozen=True, gc=False):
    """Any other painted path: its box and its segments, for a look at its shape."""

    x0: float
    y0: float
    x1: float
    y1: float
    items: tuple[Any, ...]
    filled: bool
    stepped: bool = False
    """Level and upright edges only: it is among the rules, too, and is nothing else unless it is a letter (E, F)."""

    @property
    def box(self) -> Box:
        return (self.x0, self.y0, self.x1, self.y1)


class Glyph(msgspec.Struct, frozen=True, gc=False):
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

    @property
    def box(self) -> Box:
        return (self.x0, self.y0, self.x1, self.y1)


class PageInk(NamedTuple):
    """All ink of one page; `picture` is the share of the page that images cover."""

    width: float
    height: float
    rules: list[Rule]
    blobs: list[Blob]
    glyphs: list[Glyph]
    picture: float
