"""What was read of one part: the types that reading makes and that pieces, laying and the ruler stand on.

Lengths are PDF points with the origin top-left of the page as displayed (rotation and crop box applied).
A bar's `number` is its count as musicians count it: the pickup is 0, the first full bar 1. Its `index` is the
1-based position in document order, pickup included. A multi-bar rest is one `BarBox` whose `count` is above 1.
`confidence` is the chance, 0 to 1, that the thing is right; at or above `SURE` it is acted on without asking.
"""

from collections.abc import Sequence
from enum import StrEnum

import msgspec

SURE = 0.9
"""At or above this confidence a thing read is used as it is; below, it is shown as doubtful."""

BLURRED = 0.6
"""Confidence of a scanned line with a stroke that could be a barline and was not taken for one."""

SILENT = 99.0
"""The rest of a whole bar, whatever the meter, or of several."""

Box = tuple[float, float, float, float]
"""x0, y0, x1, y1 in points."""


class BarlineKind(StrEnum):
    """How a barline is drawn; a double or repeat barline is one barline."""

    SINGLE = "single"
    DOUBLE = "double"
    FINAL = "final"
    REPEAT_START = "repeat-start"
    REPEAT_END = "repeat-end"
    REPEAT_BOTH = "repeat-both"
    DASHED = "dashed"


class SignKind(StrEnum):
    """The jump signs and words of the trade."""

    SEGNO = "segno"
    CODA = "coda"
    TO_CODA = "to-coda"
    FINE = "fine"
    DS = "ds"
    DS_AL_CODA = "ds-al-coda"
    DS_AL_FINE = "ds-al-fine"
    DC = "dc"
    DC_AL_CODA = "dc-al-coda"
    DC_AL_FINE = "dc-al-fine"


class StaveHead(msgspec.Struct, frozen=True):
    """Where in a stave's line head, behind the clef, key and meter begin (x); None where there is none."""

    key: float | None = None
    meter: float | None = None
    end: float | None = None
    """Where its last sign ends; None: where the line's head does."""


class Stave(msgspec.Struct, frozen=True):
    """One stave: its outer lines' y at the middle, its five (or fewer) lines' y, and its left and right ends."""

    top: float
    bottom: float
    lines: tuple[float, ...]
    x0: float
    x1: float
    head: StaveHead | None = None
    """None when no clef was read at its left end."""


class Barline(msgspec.Struct, frozen=True):
    """One barline: `x` its middle at the system's mid height, `x0`..`x1` its whole ink, repeat dots included."""

    x: float
    x0: float
    x1: float
    kind: BarlineKind = BarlineKind.SINGLE
    line_start: bool = False
    """A repeat start printed at the head of a line, after clef and key."""
    confidence: float = 1.0


class BarBox(msgspec.Struct, frozen=True):
    """One bar as drawn: from the end of the barline (or line head) before it to the start of the one after."""

    index: int
    number: int
    count: int
    x0: float
    x1: float
    confidence: float = 1.0
    starts_in_rest: bool = False
    ends_in_rest: bool = False
    continued: bool = False
    """The second part of a bar broken over a line; it counts no bar of its own."""
    silence: tuple[float, float] = (0.0, 0.0)
    """How long the rests are that it begins and ends in, in quarter notes; one of rests alone has `SILENT` at both."""
    beats: tuple[float, ...] = ()
    """Where its beats begin (x), the first left out, if it is wide enough that a narrow page may have to split it."""


class System(msgspec.Struct, frozen=True):
    """Staves joined from left to right edge, with the bars between their barlines."""

    bbox: Box
    """From the top line of the first stave to the bottom line of the last."""
    space: float
    """Staff space: a quarter of a five-line stave's height."""
    staves: tuple[Stave, ...]
    barlines: tuple[Barline, ...]
    bars: tuple[BarBox, ...]
    head_x1: float
    """Where the line head (clef, key, and on a first line the meter) ends."""
    printed_number: int | None = None
    """The bar number printed at the line's head, if one was read."""
    printed_number_box: Box | None = None
    confidence: float = 1.0
    doubt: str = ""
    """One sentence for the librarian when confidence is below `SURE`."""


class Mark(msgspec.Struct, frozen=True):
    """A rehearsal mark at the start of a bar."""

    text: str
    bar: int
    page: int
    box: Box
    confidence: float = 1.0


class MultiRest(msgspec.Struct, frozen=True):
    """Bars of rest drawn as one: first bar's number and how many (2 or more)."""

    bar: int
    count: int
    page: int
    box: Box
    confidence: float = 1.0


class Sign(msgspec.Struct, frozen=True):
    """A jump sign or word, at the start or the end of the bar that it stands in."""

    kind: SignKind
    bar: int
    at: str
    """`start` or `end`."""
    page: int
    box: Box
    text: str = ""
    confidence: float = 1.0


class Ending(msgspec.Struct, frozen=True):
    """One bracketed ending; `passes` are the times it is played, e.g. (1, 2)."""

    number: int
    passes: tuple[int, ...]
    bar: int
    last_bar: int
    page: int
    box: Box
    confidence: float = 1.0
    further: tuple[tuple[int, Box], ...] = ()
    """Page and box of its bracket's line on later lines of music."""


class TempoWord(msgspec.Struct, frozen=True):
    """A tempo word or figure at a bar; `bpm` counts the printed beat unit a minute, when a figure was read.

    Where that note was read the words have it (see `music.beats`)."""

    text: str
    bar: int
    page: int
    box: Box
    bpm: float | None = None


class Instruction(msgspec.Struct, frozen=True):
    """Words to the player at a bar: "cup mute", "to flute", "solo" (see `music.instructions`); "3x" in a repeat."""

    text: str
    bar: int
    page: int
    box: Box


class HeadWord(msgspec.Struct, frozen=True):
    """A line of words at the head of a page (title, chair, composer), with its size in points."""

    text: str
    page: int
    box: Box
    size: float


class Change(msgspec.Struct, frozen=True):
    """Clef, key or meter signs: at a part's beginning, or where they change; silent ones are empty or None."""

    bar: int
    """The first bar that they hold for."""
    page: int
    box: Box
    stave: int = 0
    """Which stave of its system, from 0."""
    clef: str = ""
    """`g`, `f`, `c`, `percussion` or `tab`."""
    fifths: int | None = None
    """Sharps count up, flats down."""
    meter: str = ""
    """As `4/4`."""


class Leap(StrEnum):
    """How printed numbers part from the count for no reason that was read."""

    ON = "on"
    AGAIN = "again"
    """They begin again at 1."""


class Uncounted(msgspec.Struct, frozen=True):
    """From this bar of the count on, the numbers that musicians use are so many more behind the count."""

    bar: int
    fewer: int
    rest: bool = False
    """It is the rest of a bar that a sign splits, and goes by that bar's number; else an ending numbered anew."""
    leap: Leap | None = None
    """Bars go by the numbers that are printed there, though the count does not lead to them: a doubt tells where."""


class PageHead(msgspec.Struct, frozen=True):
    """The words at one page's head, and whether a new part seems to begin on it (a file may hold several)."""

    words: tuple[HeadWord, ...]
    starts_part: bool
    music: bool = True
    """Whether it has staves, or is a picture that may show some; a cover has none."""
    halves: tuple[Box, ...] = ()
    """The areas of a sheet that several parts share, in reading order, where it can be cut between them."""


class PageReading(msgspec.Struct, frozen=True):
    """One page: its size in points and its systems; none when it is shown as printed, with the reason."""

    width: float
    height: float
    systems: tuple[System, ...]
    as_printed: str = ""
    """Why this page is only shown as printed, one sentence; empty when it was read."""
    ms: float = 0.0
    turned: int = 0
    """Degrees, clockwise, that the page was turned before it was read, since it lay on its side or head in the file."""
    scanned: bool = False
    """What was read was seen on a picture."""
    area: Box | None = None
    """What of it is this part's, where parts share it: an empty box: nothing; None: all of it."""


class Reading(msgspec.Struct, frozen=True):
    """All that was read of one part. `version` names this shape and the reader's rules together."""

    version: int
    bars: int
    """Written bars, the pickup not counted."""
    pickup: bool
    marks: tuple[Mark, ...]
    multirests: tuple[MultiRest, ...]
    signs: tuple[Sign, ...]
    endings: tuple[Ending, ...]
    tempos: tuple[TempoWord, ...]
    head: tuple[HeadWord, ...]
    pages: tuple[PageReading, ...]
    confidence: float = 1.0
    doubts: tuple[str, ...] = ()
    """Sentences for the librarian: what is not sure, where."""
    changes: tuple[Change, ...] = ()
    """What clef, key and meter hold from which bar on; line heads that only repeat them are not listed."""
    instructions: tuple[Instruction, ...] = ()
    uncounted: tuple[Uncounted, ...] = ()
    """Where the printed numbers fall behind the count, in order; all bar numbers in a reading are of the count."""
    shares: tuple["Reading", ...] = ()
    """Where parts share its pages and can be told apart: what each is read as alone, in reading order."""

    def called(self, bar: int) -> int:
        """The number that musicians call a bar of the count by."""
        return called(self.uncounted, bar)

    @property
    def positions(self) -> int:
        """How many bars there are in document order, pickup included: the highest index."""
        return self.bars + (1 if self.pickup else 0)


def called(uncounted: Sequence[Uncounted], bar: int) -> int:
    """The number that musicians call a bar of the count by."""
    return bar - sum(one.fewer for one in uncounted if one.bar <= bar)
