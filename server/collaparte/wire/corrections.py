"""Corrections: what a person says of a page that was read. They stand beside the reading, never in the PDF.

Each is anchored to the page as printed, in points from its top-left corner as displayed: ink does not move when the
page is read anew, while systems, bars and numbers are just what a new reading may change. Pages count from the
part's first, 0.
"""

import msgspec

PAGES_MOST = 2000
POINTS_MOST = 20_000.0
"""Longer than the longest page that a PDF may have (14,400 units: ISO 32000-1, Annex C, from memory)."""
COUNT_MOST = 999
"""Bars of rest, and the highest bar number, that are taken for meant."""
WORDS_MOST = 40
"""Letters of a rehearsal mark."""


BARLINES = frozenset(("single", "double", "final", "repeat-start", "repeat-end", "repeat-both", "dashed"))
"""The kinds of barline."""


class Place(msgspec.Struct, frozen=True, array_like=True):
    """A point on a page of the part."""

    page: int
    x: float
    y: float


class BarlineHere(msgspec.Struct, frozen=True, tag="barline"):
    """There is a barline at `at`, of this kind ("": as read, else single); with `to` it stands at that x instead."""

    at: Place
    kind: str = ""
    to: float | None = None


class NoBarline(msgspec.Struct, frozen=True, tag="no-barline"):
    """There is no barline here."""

    at: Place


class SystemHere(msgspec.Struct, frozen=True, tag="system"):
    """These staves (x0, top line, x1, bottom line) are one system; it replaces those that were read over them."""

    page: int
    staves: tuple[tuple[float, float, float, float], ...]


class NoSystem(msgspec.Struct, frozen=True, tag="no-system"):
    """There is no system here."""

    at: Place


class LineIsRight(msgspec.Struct, frozen=True, tag="line-is-right"):
    """The system here is right as it stands."""

    at: Place


class MarkHere(msgspec.Struct, frozen=True, tag="mark"):
    """The rehearsal mark printed at `at` says this; with `to` it is of the bar that begins there."""

    at: Place
    text: str
    to: Place | None = None


class NoMark(msgspec.Struct, frozen=True, tag="no-mark"):
    """There is no rehearsal mark here."""

    at: Place


class RestHere(msgspec.Struct, frozen=True, tag="rest"):
    """The bar here stands for so many bars of rest; 1: it is one bar."""

    at: Place
    count: int


class SignHere(msgspec.Struct, frozen=True, tag="sign"):
    """The sign or jump word printed at `at` is of this kind, at the `start` or `end` of its bar (`to`: of that one)."""

    at: Place
    kind: str
    edge: str = "start"
    to: Place | None = None


class NoSign(msgspec.Struct, frozen=True, tag="no-sign"):
    """There is no sign or jump word here."""

    at: Place


class EndingHere(msgspec.Struct, frozen=True, tag="ending"):
    """The bars from the one at `at` to the one at `until` are an ending, played on these passes; `instead`: and no
    longer the bar there."""

    at: Place
    until: Place
    passes: tuple[int, ...]
    instead: Place | None = None


class NoEnding(msgspec.Struct, frozen=True, tag="no-ending"):
    """The bar here is in no ending."""

    at: Place


class NumberHere(msgspec.Struct, frozen=True, tag="number"):
    """The bar here is called by this number; 0: it is the pickup."""

    at: Place
    number: int


class HalfHere(msgspec.Struct, frozen=True, tag="half"):
    """Of the parts that share pages only the one that stands here is meant."""

    at: Place


Said = (
    BarlineHere
    | NoBarline
    | SystemHere
    | NoSystem
    | LineIsRight
    | MarkHere
    | NoMark
    | RestHere
    | SignHere
    | NoSign
    | EndingHere
    | NoEnding
    | NumberHere
    | HalfHere
)


class Correction(msgspec.Struct, frozen=True):
    """One correction; `id` is the client's own. `version`: the pages that it is about (`BringPart.version`)."""

    id: str
    version: str
    said: Said
