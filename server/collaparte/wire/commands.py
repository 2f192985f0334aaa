"""Commands: what a client asks the hub to do. The hub decides; what it decided comes back as events and views."""

from typing import Literal

import msgspec

from collaparte.wire.chart import BarId, Chart
from collaparte.wire.corrections import Correction
from collaparte.wire.dates import DateKind, Role
from collaparte.wire.edits import Edit
from collaparte.wire.markings import Marking
from collaparte.wire.outline import Asides, Outline
from collaparte.wire.setlist import SetItem


class Next(msgspec.Struct, frozen=True, tag="next"):
    """Name the next tune and make it ready (None: none named). Nothing moves. Leader.

    `item`: the id of its row in the set, where it stands more than once; None: the next one from here.
    """

    tune: str | None
    item: str | None = None


class Call(msgspec.Struct, frozen=True, tag="call"):
    """Everyone goes to this tune now, to its first page or `start` ("C", "4 before C", "bar 33"). Leader.

    `item`: as in `next`; None: the row that is named next, else the one that is on, else the next one from here.
    `in_turn`: it is called because it comes next, not by its name: of two leaders at once, such a call gives way.
    """

    tune: str
    start: str = ""
    item: str | None = None
    in_turn: bool = False


class TakeBackCall(msgspec.Struct, frozen=True, tag="take-back-call"):
    """Take back the call of this number; every stand returns to where it was. Leader."""

    call: int


class From(msgspec.Struct, frozen=True, tag="from"):
    """Everyone turns to this place of the tune that is on. Leader or MD."""

    start: str


class MakeCut(msgspec.Struct, frozen=True, tag="make-cut"):
    """Cut the tune that is on, or `tune`, between two spoken places. MD. `id` is the edit's."""

    id: str
    tune: str
    first: str
    until: str
    kept: bool = False


class SayEdit(msgspec.Struct, frozen=True, tag="say-edit"):
    """Change the order of the tune that is on, or of `tune`, in words. MD. `id` is the edit's.

    `cut`, `times`, `open` and `tacet` are about the stretch from `first` up to, not including, `until`. `go-to`: at
    `first` go to `until`. `no-repeats`, `no-jumps`: of the whole tune. `pickup`: the cut bar `first` is kept.
    """

    id: str
    tune: str
    kind: Literal["cut", "times", "open", "tacet", "go-to", "no-repeats", "no-jumps", "pickup"]
    first: str = ""
    until: str = ""
    times: int = 2
    """How often in all, of `times`."""
    chairs: tuple[str, ...] = ()
    """Who is tacet or keeps the pickup: ids."""
    sections: tuple[str, ...] = ()
    """The same by section."""
    kept: bool = False


class MakeEdit(msgspec.Struct, frozen=True, tag="make-edit"):
    """Make an edit given in bar ids (as one re-offered to a replaced hub). MD."""

    edit: Edit


class TakeBackEdit(msgspec.Struct, frozen=True, tag="take-back-edit"):
    """Take one edit back. MD."""

    edit: str


class Cue(msgspec.Struct, frozen=True, tag="cue"):
    """Cue the open stretch of this edit: the next ending is the last; or, with `last` false, not yet. MD or leader."""

    edit: str
    last: bool = True


class NamePlayer(msgspec.Struct, frozen=True, tag="name-player"):
    """Say who plays the open stretch of this edit next: a chair's id, or any words ("" for nobody). MD or leader."""

    edit: str
    who: str


class MakeMarking(msgspec.Struct, frozen=True, tag="make-marking"):
    """Add a marking to one's own part."""

    marking: Marking


class EraseMarking(msgspec.Struct, frozen=True, tag="erase-marking"):
    """Erase a marking that one may erase: one's own, or one of the section's or band's layer that one shares."""

    marking: str


class NameBand(msgspec.Struct, frozen=True, tag="name-band"):
    """Give the band its name. Librarian."""

    name: str


class AddChair(msgspec.Struct, frozen=True, tag="add-chair"):
    """Add a chair to a section (made if new), at `place` among the section's chairs (None: last). Librarian."""

    id: str
    name: str
    section: str
    place: int | None = None


class RenameChair(msgspec.Struct, frozen=True, tag="rename-chair"):
    """Give a chair another name; its id, parts and markings stay. Librarian."""

    chair: str
    name: str


class MoveChair(msgspec.Struct, frozen=True, tag="move-chair"):
    """Move a chair to a section (made if new) and a 0-based place in it. Librarian."""

    chair: str
    section: str
    place: int


class RemoveChair(msgspec.Struct, frozen=True, tag="remove-chair"):
    """Take a chair out of the band; its parts and markings stay in the library. Librarian."""

    chair: str


class AddTune(msgspec.Struct, frozen=True, tag="add-tune"):
    """Add a chart to the library and to the end of the set. Librarian."""

    id: str
    title: str


class MintRuler(msgspec.Struct, frozen=True, tag="mint-ruler"):
    """Give a tune its ruler, once. Librarian."""

    tune: str
    chart: Chart


class BringPart(msgspec.Struct, frozen=True, tag="bring-part"):
    """Add a version of a part. `bars[i]` is the ruler's bar of the part's bar index i+1 (None: not placed). Librarian.

    `part` is the part's id within the tune; a part that is there already gets a new version and keeps its markings.
    """

    tune: str
    part: str
    name: str
    original: str
    """Content hash of the file as it came."""
    pages: tuple[int, int] | None
    """First and last page (0-based) when the file holds other parts too."""
    version: str
    """Content hash of these pages: the version's identity."""
    reading: str
    """Content hash of the stored reading."""
    table: str
    """Content hash of the stored piece table; empty: shown as printed."""
    pieces: str
    """Content hash of the stored list of pieces and sheets."""
    bars: tuple[BarId | None, ...]
    as_printed: bool = False
    file_name: str = ""
    outline: Outline | None = None
    """What of its reading is compared with the tune's other parts."""
    corrected: tuple[str, ...] = ()
    """Ids of the corrections that are in `table`; `reading` is without any."""
    asides: Asides | None = None
    """What of its reading matters where bars are left out."""


class SeatParts(msgspec.Struct, frozen=True, tag="seat-parts"):
    """Say which parts of a tune a chair plays: none is a tacet card. Librarian."""

    tune: str
    chair: str
    parts: tuple[str, ...]


class TakeRepeats(msgspec.Struct, frozen=True, tag="take-repeats"):
    """Say whether a tune's repeats are taken again after its D.S. or D.C. MD or librarian.

    It belongs to the tune, on every date. `taken`: None is as printed, and where nothing is printed they are not.
    """

    tune: str
    taken: bool | None = None


class Correct(msgspec.Struct, frozen=True, tag="correct"):
    """Correct what was read of a part. Its bars are placed, cut and laid anew, and reach the stands. Librarian."""

    tune: str
    part: str
    correction: Correction


class TakeBackCorrection(msgspec.Struct, frozen=True, tag="take-back-correction"):
    """Take one correction back. Librarian."""

    tune: str
    part: str
    correction: str


class MendRuler(msgspec.Struct, frozen=True, tag="mend-ruler"):
    """Give a tune another ruler, when its parts turned out to have been misread. Bars that stay keep their ids.

    Edits and markings at bars that go are kept, and hold again should those come back. Librarian.
    """

    tune: str
    chart: Chart


class SetTheSet(msgspec.Struct, frozen=True, tag="set-the-set"):
    """Put the set in order. Leader or librarian.

    `revision`: of the set that was looked at; refused when it has been changed since (None: whatever it was).
    """

    items: tuple[SetItem, ...]
    revision: int | None = None


class OpenDate(msgspec.Struct, frozen=True, tag="open-date"):
    """Open a date; none may be open. The date closed last is opened again by its own id. Leader, MD or librarian.

    `day`: as in a calendar, "2026-11-25"; may be empty.
    """

    id: str
    name: str
    kind: DateKind
    day: str = ""


class CloseDate(msgspec.Struct, frozen=True, tag="close-date"):
    """Close the open date: what was decided for it alone goes, or with `keep` stays. Leader, MD or librarian."""

    date: str
    keep: bool = False


class KeepEdit(msgspec.Struct, frozen=True, tag="keep-edit"):
    """Keep an edit for later dates, or have it go with this one. MD."""

    edit: str
    kept: bool


class TakeOver(msgspec.Struct, frozen=True, tag="take-over"):
    """Have the edits of a tune, or of all, as they were at the end of an earlier date. MD.

    `id`: the client's own; the edits that are made get ids that begin with it. `tune`: empty for all.
    """

    id: str
    date: str
    tune: str = ""


class GiveRole(msgspec.Struct, frozen=True, tag="give-role"):
    """Let a chair lead or direct as well, until the date is closed. One who has the role, or the librarian."""

    chair: str
    role: Role


class TakeRole(msgspec.Struct, frozen=True, tag="take-role"):
    """Take from a chair the role that it was given. One who has the role, or the librarian."""

    chair: str
    role: Role


Command = (
    Next
    | Call
    | TakeBackCall
    | From
    | MakeCut
    | SayEdit
    | MakeEdit
    | TakeBackEdit
    | Cue
    | NamePlayer
    | MakeMarking
    | EraseMarking
    | NameBand
    | AddChair
    | RenameChair
    | MoveChair
    | RemoveChair
    | AddTune
    | MintRuler
    | BringPart
    | SeatParts
    | SetTheSet
    | OpenDate
    | CloseDate
    | KeepEdit
    | TakeOver
    | GiveRole
    | TakeRole
    | TakeRepeats
    | Correct
    | TakeBackCorrection
    | MendRuler
)
