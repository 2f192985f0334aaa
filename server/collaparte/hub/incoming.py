"""What came in: each part of each file, and what would become of it."""

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

import msgspec

from collaparte.band.proposals import Proposal
from collaparte.hub import jobs
from collaparte.hub.fitting import Fit
from collaparte.hub.seating import Seating
from collaparte.music.agree import Disagreement
from collaparte.music.musicxml import Score
from collaparte.paper.reading import Reading
from collaparte.store.files import content_hash
from collaparte.wire.chart import Chart
from collaparte.wire.corrections import Correction, Said

Progress = Callable[[int, int, str], None]
"""Steps done, steps in all so far known, and what was just done."""


class Told(msgspec.Struct, frozen=True):
    """What the librarian says by hand, for all files of one go."""

    tune: str = ""
    chair: str = ""
    as_new: bool = False
    """A part of its own, even where the chair has one of that tune already."""
    take: bool = False
    """Take what is proposed without asking: a part that differs much is a new version all the same."""
    half: int = 0
    """Of parts that share pages only this one, from 1 in reading order; 0: all that is there."""


class Became(StrEnum):
    """What becomes of a part that came in."""

    NEW = "new"
    VERSION = "new version"
    AGAIN = "already in"
    ASKED = "question"
    LEFT = "not understood"
    SCORE = "score"


@dataclass
class Incoming:
    """One part of one file, and what is understood of it."""

    file: str
    original: str = ""
    pages: jobs.Pages = None
    proposal: Proposal = field(default_factory=lambda: Proposal("", None))
    reading: Reading | None = None
    became: Became = Became.NEW
    why: str = ""
    """For a question or a file that is not understood: one sentence."""
    doubts: list[str] = field(default_factory=list)
    tune: str = ""
    """The tune's id."""
    chairs: tuple[str, ...] = ()
    part: str = ""
    """The part's id in the tune."""
    corrections: list[Said] = field(default_factory=list)
    """Of the pages that it replaces, put on these."""
    half: Correction | None = None
    """That only one of the parts that share its pages is taken; `reading` is of this one."""
    whole: Reading | None = None
    """What is read of all that is there, where a half is taken."""
    fit: Fit = field(default_factory=lambda: Fit(()))
    fetch: Callable[[], bytes] = bytes
    score: Score | None = None
    """The tune's MusicXML; it is no part."""
    called: tuple[str, ...] = ()
    """For a score: the titles that it may be known by, the best first."""

    @property
    def comes_in(self) -> bool:
        """It changes the library."""
        return self.became in (Became.NEW, Became.VERSION)

    def leave(self, why: str) -> None:
        """It is not understood after all."""
        self.became, self.why = Became.LEFT, why

    @property
    def positions(self) -> int:
        """Bars in document order, a pickup included; 0 where none could be read."""
        return len(self.score.chart.bars) if self.score else self.reading.positions if self.reading else 0

    @property
    def marks(self) -> tuple[str, ...]:
        """Its rehearsal marks, as they are read."""
        found = self.score.chart.marks if self.score else self.reading.marks if self.reading else ()
        return tuple(mark.text for mark in found)

    @property
    def version(self) -> str:
        """The identity of these pages."""
        return self.original if self.pages is None else content_hash(f"{self.original} {self.pages}".encode())

    @property
    def name(self) -> str:
        """What the part is called."""
        return self.proposal.part_name


@dataclass
class Understood:
    """What would become of the files: their parts, the new tunes and their rulers, and who would sit where."""

    incoming: list[Incoming]
    seating: Seating
    titles: dict[str, str]
    """New and old tunes' titles by id."""
    new_tunes: list[str]
    rulers: dict[str, Chart]
    """Rulers to be minted, by tune."""
    disagree: dict[str, tuple[Disagreement, ...]] = field(default_factory=dict)
    """Where the parts of a tune differ, those that are there already too, by tune."""
