"""A laying: where every piece of one part stands on pages of one shape, at one stave height, for one order.

It is a few KB of numbers and is all that a stand needs beside the part's sheets (pictures of its pieces, made once).
Lengths are mm on the laid page, origin top-left. Source slices are in staff spaces within a piece (see `Piece`), so
that one laying serves every rung of the ladder of sheet resolutions.
"""

from typing import Literal

import msgspec


class Piece(msgspec.Struct, frozen=True):
    """The ink of one bar on one stave (or of a head, a title, a span's fragment, a whole system or page), cut out once.

    The piece's own origin is its left edge and the middle line of its stave (or its top for a title or a page).
    `left`, `top`, `right`, `bottom` are its ink's extent from there, in staff spaces of the source (y down).
    `sheet`, `x`, `y`: which sheet it is drawn on and the place of its top-left corner there, in staff spaces.
    """

    id: int
    sheet: int
    x: float
    y: float
    left: float
    top: float
    right: float
    bottom: float


class Pieces(msgspec.Struct, frozen=True):
    """All pieces of one version of a part; `sheets[rung][n]`: the hash of sheet n at `ladder[rung]` px a space."""

    version: int
    ladder: tuple[float, ...]
    sheets: tuple[tuple[str, ...], ...]
    pieces: tuple[Piece, ...]


class Slice(msgspec.Struct, frozen=True, array_like=True):
    """A strip of a piece, `sx0`..`sx1` staff spaces from its origin, drawn from `x0` to `x1` mm on the page."""

    sx0: float
    sx1: float
    x0: float
    x1: float


class Placed(msgspec.Struct, frozen=True):
    """One piece on the page: its origin's y in mm, the mm a staff space measures, its slices left to right."""

    piece: int
    y: float
    space: float
    slices: tuple[Slice, ...]


class Rule(msgspec.Struct, frozen=True, array_like=True):
    """A filled rectangle: staff line, barline, thick barline, H-bar, ending bracket."""

    x0: float
    y0: float
    x1: float
    y1: float


class Dot(msgspec.Struct, frozen=True, array_like=True):
    """A filled disc: a repeat dot."""

    x: float
    y: float
    r: float


class Words(msgspec.Struct, frozen=True):
    """Words that we set ourselves: bar numbers, rest counts, "2nd time", join labels. `x`, `y`: baseline's anchor."""

    text: str
    x: float
    y: float
    size: float
    """Height of the em in mm."""
    style: Literal["number", "count", "pass", "join", "mark", "note"] = "number"
    """Drawn by the stand's style table and by the PDF writer alike."""
    anchor: Literal["start", "middle", "end"] = "start"


class LaidBar(msgspec.Struct, frozen=True):
    """One step of the order as it stands on the page: the box of its music, for markings, shading and the bead.

    `steps` are the 0-based positions in the order that it shows (a multi-bar rest shows several).
    `x0`..`x1`: its music's width in mm (after the barline or line head). `staves`: y of each stave's middle line.
    """

    steps: tuple[int, int]
    """First and last step shown, inclusive."""
    x0: float
    x1: float
    staves: tuple[float, ...]


class LaidLine(msgspec.Struct, frozen=True):
    """One line of music."""

    y0: float
    y1: float
    """Top line of the first stave and bottom line of the last."""
    bars: tuple[LaidBar, ...]


class LaidPage(msgspec.Struct, frozen=True):
    """One page: what to draw, in order, and the bars on it."""

    placed: tuple[Placed, ...]
    rules: tuple[Rule, ...]
    dots: tuple[Dot, ...]
    words: tuple[Words, ...]
    lines: tuple[LaidLine, ...]
    braces: tuple[Rule, ...] = ()
    """The box that each brace fills, its point at the left."""
    turn_at_rest: bool = False
    """The last bar of this page ends in a rest, or the next page's first bar begins in one."""


class Laying(msgspec.Struct, frozen=True):
    """Pages of one part for one order, one page shape and one stave height."""

    version: int
    page: tuple[float, float]
    """Width and height, mm."""
    stave: float
    """Stave height, mm."""
    space: float
    """Staff space on the page, mm."""
    pages: tuple[LaidPage, ...]
    as_printed: bool = False
    """The pages are the source's own, fitted to the screen: no bars to speak of."""
    notes: tuple[str, ...] = ()
    """Sentences: what was scaled, split or shown as printed, and why."""


class Step(msgspec.Struct, frozen=True):
    """One bar of the order to be laid.

    `bar`: 1-based index in the part's reading. `number`: the chart's printed number (0 for a pickup).
    `label`: words to set at its start ("2nd time"), if any. `join`: this bar does not follow the one before in print.
    `pass_`: which time through this bar. `starts`, `ends`: a repeat sign is to stand before, after it, printed or not.
    `kept`: the repeat signs printed at it hold, however often the bar comes in the order.
    `followed`: whether the order follows the printed jumps, or leaves them out, so that their signs say nothing any
    more; the same for all steps. None: it does where it is another than the printed one.
    """

    bar: int
    number: int
    pass_: int = 1
    join: bool = False
    label: str = ""
    starts: bool = False
    ends: bool = False
    kept: bool = False
    followed: bool | None = None
