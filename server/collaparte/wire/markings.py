"""Markings: what players add to their parts, anchored to bars and never to paper."""

from typing import Literal

import msgspec

from collaparte.wire.chart import BarId

Layer = Literal["mine", "section", "band"]


class Point(msgspec.Struct, frozen=True, array_like=True):
    """A place on a part: bar, fraction of the bar's music width (0 to 1, may overhang), stave from the top (0-based),
    staff spaces from the stave's middle line (up is positive), pressure (0 to 1)."""

    bar: BarId
    fraction: float
    stave: int
    spaces: float
    pressure: float = 0.5


class PagePoint(msgspec.Struct, frozen=True, array_like=True):
    """A place where there are no bars: page (0-based) and fractions of its width and height from the top left."""

    page: int
    x: float
    y: float
    pressure: float = 0.5


class Ink(msgspec.Struct, frozen=True, tag="ink"):
    """One stroke of the pen. `width` in staff spaces at full pressure."""

    points: tuple[Point, ...]
    width: float = 0.35


class PageInk(msgspec.Struct, frozen=True, tag="page-ink"):
    """One stroke on a page without bars. `width` as a fraction of the page's width."""

    points: tuple[PagePoint, ...]
    width: float = 0.004


class Note(msgspec.Struct, frozen=True, tag="note"):
    """Words at a place."""

    at: Point
    text: str


MarkingWhat = Ink | PageInk | Note


class Marking(msgspec.Struct, frozen=True):
    """One thing added. `id` comes from the stand that made it; `section` is the author's at that time."""

    id: str
    tune: str
    chair: str
    layer: Layer
    what: MarkingWhat
    section: str = ""
    pass_: int | None = None
    """Only this time through the bar; None: every time."""
