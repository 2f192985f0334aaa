"""A part's pieces with their natural geometry: all that laying needs, a few tens of KB, without the PDF.

Lengths are staff spaces of the source, y down. A bar's origin is its left edge and each stave's middle line.
"""

from typing import Literal

import msgspec

VERSION = 1


class Extent(msgspec.Struct, frozen=True, array_like=True):
    """A piece's ink from its origin: left, top, right, bottom."""

    left: float
    top: float
    right: float
    bottom: float


class Word(msgspec.Struct, frozen=True, array_like=True):
    """A rigid floating piece of a bar; `at` is the point of the bar that it keeps to.

    `row`: things of one row (chord names, a line of lyrics, endings) stand at one height over a line; -1: none.
    `base` is its height, and `after` the row that it stands beyond in this bar, with which it moves; -1: none.
    """

    piece: int
    stave: int
    anchor: Literal["left", "centre", "start", "end"]
    at: float
    above: bool
    row: int = -1
    base: float = 0.0
    after: int = -1
    jump: bool = False
    """A sign or words of a jump (not the coda's own sign): idle where the order writes the jump out."""
    count: bool = False
    """It says how often a repeat is played ("3x"): idle where the order writes the repeat out."""
    again: bool = False
    """It says in brackets, at the start of its printed line of music, what goes on there ("(1.)", "(8va)"): not shown,
    as that is said where lines begin now."""


class Bracket(msgspec.Struct, frozen=True, array_like=True):
    """The part of an ending's bracket over one bar: stretched with the bar, at the height of its row."""

    piece: int
    row: int
    base: float
    after: int


class Open(msgspec.Struct, frozen=True, array_like=True):
    """Half of a slur that its printed line's end broke: `x` is its note's end in this bar, or this bar's edge.

    Where the bar with the other half stands beside this one, piece `mate` (-1: none) is drawn from x to x instead.
    In mid-line it is what of a slur or a tie comes over the barline.
    """

    piece: int
    stave: int
    x: float
    right: bool
    """It goes on after this bar, rather than coming from the one before."""
    mate: int = -1
    landed: int | None = None
    """What is drawn instead where a cut or a jump lands here: the slur from the bar's first note on, or nothing (-1)
    where it ends there. None: itself."""
    tie: float | None = None
    """A tie's height below its stave's middle line, where it ends at the bar's first note."""


class Line(msgspec.Struct, frozen=True, array_like=True):
    """A line of dashes ("rit. - - -", an ottava's) or a trill's wavy line, over one bar: spread evenly over it."""

    piece: int
    stave: int
    y: float
    """Its height below the stave's middle."""
    text: str
    """What it goes on with ("8va"), said again where a line begins in it or a cut lands in it; empty: nothing."""
    came: bool
    """It comes from the bar before."""
    goes: bool
    """It goes on in the bar after."""
    ends: tuple[float, float]
    """What of the bar stands at its barlines where the line goes over them: from its left edge, in spaces."""
    row: int = -1
    """Where printed lines of music broke it: the row that all its parts stand at one height in."""


class Head(msgspec.Struct, frozen=True):
    """A line head as printed: a clef and a key piece a stave (-1: none), their widths, and what tells keys apart."""

    clef: tuple[int, ...]
    key: tuple[int, ...]
    clef_width: float
    key_width: float
    key_name: str
    clef_name: str
    sharps: tuple[float | None, ...] = ()
    """Where the first sharp of a key stands in each stave's clef, in spaces below its middle line; None: no clef was
    read there."""


class Meter(msgspec.Struct, frozen=True):
    """A meter as printed: a piece a stave (-1: none) from its left edge, and what tells it apart ("3/4")."""

    pieces: tuple[int, ...]
    width: float
    name: str


class Within(msgspec.Struct, frozen=True, array_like=True):
    """One bar as drawn in a whole system's piece: its index, its count, its edges from the piece's left."""

    index: int
    count: int
    left: float
    right: float


class BarCut(msgspec.Struct, frozen=True):
    """One bar as drawn: `main` is its piece a stave (-1: empty), `columns` the rigid strips, x from its left edge."""

    index: int
    number: int
    count: int
    system: int
    width: float
    columns: tuple[tuple[float, float], ...]
    main: tuple[int, ...]
    words: tuple[Word, ...]
    brackets: tuple[Bracket, ...]
    open: tuple[Open, ...]
    head: int
    """The line head valid before this bar."""
    head_here: int
    """The line head valid when this bar begins a line: after a change of key printed at its start."""
    change: tuple[int, ...] = ()
    """The pieces a stave of a change of key printed at its start, not drawn when it begins a line."""
    change_width: float = 0.0
    meter: tuple[int, ...] = ()
    """The pieces a stave of a meter printed at its start or in its line's head, behind a change of key."""
    meter_width: float = 0.0
    meter_here: int = -1
    """The meter valid in this bar, of the table's `meters`; -1: none was printed yet."""
    left: str = ""
    right: str = "single"
    margins: tuple[float, float] = (0.2, 0.2)
    """How far its own ink may reach into the barlines at both sides."""
    squeeze: float = 0.6
    """The least factor of its gaps at which its words still stand clear."""
    overhang: float = 0.0
    """How far words of a row (lyrics, chord names) reach beyond its right edge."""
    inset: float = 0.0
    """How far after its left edge the first words of a row begin; less than 0 when before it."""
    crossing: int = 0
    """How many slurs, brackets and hairpins cross its right barline."""
    starts_in_rest: bool = False
    ends_in_rest: bool = False
    silence: tuple[float, float] = (0.0, 0.0)
    """How long the rests are that it begins and ends in, in quarter notes (see `BarBox`)."""
    mark: bool = False
    under: tuple[int, str] = (0, "")
    """The ending whose bracket it stands under: the number of the first bar there, and what the bracket says ("1.")."""
    continued: bool = False
    over: tuple[Extent, ...] = ()
    """What of its own ink reaches above the first stave, each object's box."""
    ease: float = 1.0
    """What its printed gaps count for: less where its line was stretched far more than the part's others."""
    whole: int = -1
    """The piece of a whole system that is not cut into bars: these `count` bars are laid as one line."""
    within: tuple[Within, ...] = ()
    """Where its bars stand in such a piece, on a scan."""
    parts: tuple["BarCut", ...] = ()
    """The same from beat to beat, for lines that it is too wide for; all but the first are `continued`."""
    lines: tuple[Line, ...] = ()
    ties: tuple[tuple[int, float], ...] = ()
    """The ties that go on over its right barline: their staves and heights (as in `Open`)."""
    courtesy: tuple[int, ...] = ()
    """The pieces a stave of a clef that stands before its right barline for the next bar."""
    courtesy_at: float = 0.0
    """Where that begins: the bar's width without it."""
    head_after: int = -1
    """The line head valid behind a clef in its course that is no courtesy; -1: `head_here`."""


class SystemCut(msgspec.Struct, frozen=True):
    """The distance from each stave's middle line to the first one's."""

    staves: tuple[float, ...]


class Group(msgspec.Struct, frozen=True, array_like=True):
    """Staves `first` to `last` (from 0), joined at the left of their lines by a brace or a bracket."""

    first: int
    last: int
    brace: bool


class TitleWord(msgspec.Struct, frozen=True):
    """A line at the head of the first page: its place down from the topmost, and how it stands."""

    piece: int
    y: float
    align: Literal["left", "centre", "right"]


class Name(msgspec.Struct, frozen=True, array_like=True):
    """What stands before staves `first` to `last` (from 0) of the first line: a piece from its right edge and their
    middle."""

    piece: int
    first: int
    last: int


class PieceTable(msgspec.Struct, frozen=True):
    """All pieces of one version of a part. Piece n has `extents[n]`; `staves` is how many staves a system has."""

    version: int
    staves: int
    lines: tuple[int, ...]
    """How many lines each stave has."""
    extents: tuple[Extent, ...]
    heads: tuple[Head, ...]
    bars: tuple[BarCut, ...]
    systems: tuple[SystemCut, ...]
    title: tuple[TitleWord, ...]
    title_height: float
    foot: tuple[TitleWord, ...] = ()
    """Lines at the foot of the part's pages (whose music it is), set once where the music ends."""
    page_pieces: tuple[int, ...] = ()
    """For a part of which some page has no bars that could be read, and which is shown as printed: one piece a page."""
    meters: tuple[Meter, ...] = ()
    groups: tuple[Group, ...] = ()
    parted: tuple[int, ...] = ()
    """The staves (from 0) whose barlines do not go on to the next one, as over lyrics."""
    notes: tuple[str, ...] = ()
    """What of the part is on no piece, in sentences."""
    names: tuple[Name, ...] = ()
    apart: tuple[float, ...] = ()
    """How far apart each stave's lines are, where those of some are not one space: a tablature's under a stave."""
