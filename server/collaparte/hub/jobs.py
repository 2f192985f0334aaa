"""The jobs that a worker does, as types: what goes in and what comes out. Bytes travel, never paths."""

import struct

import msgspec

from collaparte.music import musicxml
from collaparte.paper.cutting.table import PieceTable
from collaparte.paper.pages.laying import Laying, Pieces, Step
from collaparte.paper.reading import PageHead, Reading
from collaparte.wire.chart import BarId
from collaparte.wire.markings import Marking

FRAME = struct.Struct("<I")
"""Between pool and worker a frame is its length, then MessagePack."""

Pages = tuple[int, int] | None
"""First and last page of the file, 0-based and inclusive; None: all of it."""


def as_range(pages: Pages) -> range | None:
    """The pages as reading and cutting take them."""
    return range(pages[0], pages[1] + 1) if pages else None


class Look(msgspec.Struct, frozen=True, tag="look"):
    """Open a file within the limits and read the words at the heads of its pages."""

    name: str
    pdf: bytes


class Looked(msgspec.Struct, frozen=True, tag="looked"):
    """`heads[n]`: the head of page n. `mended`: the file is damaged and was opened all the same."""

    heads: tuple[PageHead, ...]
    mended: bool = False
    unfolded: "Unfolded | None" = None
    """Where parts share a sheet and it can be cut between them: the file with a page for each."""


class Unfolded(msgspec.Struct, frozen=True):
    """A file whose shared sheets were made a page for each part, and the heads of its pages."""

    pdf: bytes
    heads: tuple[PageHead, ...]


class Read(msgspec.Struct, frozen=True, tag="read"):
    """Read one part; `scans`: what is seen on pages that are pictures too."""

    name: str
    pdf: bytes
    pages: Pages = None
    scans: bool = False


class DidRead(msgspec.Struct, frozen=True, tag="did-read"):
    """What was read; pages are counted from the part's first, 0."""

    reading: Reading


class Score(msgspec.Struct, frozen=True, tag="score"):
    """Read a tune's MusicXML."""

    name: str
    data: bytes


class DidScore(msgspec.Struct, frozen=True, tag="did-score"):
    """What it says; its bars' ids are their places."""

    score: musicxml.Score


class Cut(msgspec.Struct, frozen=True, tag="cut"):
    """Cut a part's pieces and draw its sheets."""

    name: str
    pdf: bytes
    pages: Pages
    reading: Reading


class DidCut(msgspec.Struct, frozen=True, tag="did-cut"):
    """A part cut up. `pictures`: for each sheet its rung of the ladder, its number there, and the PNG."""

    table: bytes
    """A `Kept`, to be stored as it is."""
    pieces: Pieces
    pictures: tuple[tuple[int, int, bytes], ...]


class Kept(msgspec.Struct, frozen=True):
    """What laying needs of a part: stored under the part's `table` hash, as MessagePack."""

    reading: Reading
    table: PieceTable


class Lay(msgspec.Struct, frozen=True, tag="lay"):
    """Lay one part. `table` is its table's content hash, `data` the table itself unless the worker has it already.

    Only the steps from `first` on are laid; a laying that does not begin at the order's first step has no title.
    """

    name: str
    table: str
    data: bytes | None
    steps: tuple[Step, ...]
    page: tuple[float, float]
    stave: float
    first: int = 0


class DidLay(msgspec.Struct, frozen=True, tag="did-lay"):
    """The laying as JSON, ready for the stands; its bars name positions in the whole order."""

    laying: bytes


class TableWanted(msgspec.Struct, frozen=True, tag="table-wanted"):
    """The worker does not have this table (any more): send the job again with it."""

    table: str


class Draw(msgspec.Struct, frozen=True, tag="draw"):
    """Draw a laying as a PDF, from the part's own pages."""

    name: str
    pdf: bytes
    pages: Pages
    table: bytes
    laying: bytes


class Print(msgspec.Struct, frozen=True, tag="print"):
    """One part's pages of a book (`paper.pages.book.part_pages`); `table` is its `Kept`, or empty when it was not read.

    `paper` is a name of `paper.pages.papers.PAPERS`; `running` and `told` stand at the pages' feet. `bars[n]` is the
    bar of step n and which time through it is, for `markings` to be drawn there.
    """

    name: str
    pdf: bytes
    pages: Pages
    table: bytes
    steps: tuple[Step, ...]
    paper: str
    stave: float
    running: str
    bars: tuple[tuple[BarId, int], ...]
    told: tuple[str, ...] = ()
    markings: tuple[Marking, ...] = ()


class Card(msgspec.Struct, frozen=True, tag="card"):
    """A page of a book for a tune that the chair has nothing of (`paper.book.card`)."""

    name: str
    words: tuple[str, ...]
    paper: str
    running: str


class Bind(msgspec.Struct, frozen=True, tag="bind"):
    """One book of its chapters, each a title and a PDF of ours (`paper.book.bind`)."""

    name: str
    chapters: tuple[tuple[str, bytes], ...]
    band: str
    chair: str


class DidDraw(msgspec.Struct, frozen=True, tag="did-draw"):
    """The PDF."""

    pdf: bytes


class Picture(msgspec.Struct, frozen=True, tag="picture"):
    """Draw one page of the file (0-based), turned clockwise as it was for reading, `wide` pixels wide."""

    name: str
    pdf: bytes
    page: int
    wide: int
    turned: int = 0


class DidPicture(msgspec.Struct, frozen=True, tag="did-picture"):
    """The page as PNG."""

    png: bytes


class Overlay(msgspec.Struct, frozen=True, tag="overlay"):
    """Draw what was read over the pages that it was read of."""

    name: str
    pdf: bytes
    pages: Pages
    reading: Reading


class DidOverlay(msgspec.Struct, frozen=True, tag="did-overlay"):
    """A PNG for each page."""

    pictures: tuple[bytes, ...]


class LayOut(msgspec.Struct, frozen=True, tag="lay-out"):
    """Cut a part, lay it and draw the laying as a PDF, all at once; nothing is kept."""

    name: str
    pdf: bytes
    reading: Reading
    steps: tuple[Step, ...]
    page: tuple[float, float]
    stave: float


class DidLayOut(msgspec.Struct, frozen=True, tag="did-lay-out"):
    """The laying, and its PDF."""

    laying: Laying
    pdf: bytes


class Failed(msgspec.Struct, frozen=True, tag="failed"):
    """The job cannot be done: one sentence for the librarian, and for the log what went wrong inside, if it did."""

    words: str
    inside: str = ""


class Ready(msgspec.Struct, frozen=True, tag="ready"):
    """The worker has started."""

    memory_held: bool
    """The system holds the worker to its memory limit."""
    time_held: bool
    """The system counts the time that a processor works for it, and ends it after so much."""


Job = Look | Read | Score | Cut | Lay | Draw | Picture | Print | Card | Bind | Overlay | LayOut


class Order(msgspec.Struct, frozen=True):
    """A job and the seconds that it may take, of a processor and by the clock."""

    job: Job
    seconds: float
    within: float


Answer = (
    Ready
    | Looked
    | DidRead
    | DidScore
    | DidCut
    | DidLay
    | TableWanted
    | DidDraw
    | DidOverlay
    | DidLayOut
    | DidPicture
    | Failed
)
