"""Views: what the hub shows its clients. Each replaces the last one of its kind (and tune), so that a lagging client
misses nothing by getting only the newest."""

from typing import Literal

import msgspec

from collaparte.wire.chart import BarId
from collaparte.wire.dates import DateKind
from collaparte.wire.markings import Marking
from collaparte.wire.setlist import SetItem


class ChairView(msgspec.Struct, frozen=True):
    """A chair and how many stands sit there now."""

    id: str
    name: str
    stands: int = 0


class SectionView(msgspec.Struct, frozen=True):
    """A section's chairs in order. A section's name is its id."""

    name: str
    chairs: tuple[ChairView, ...]


class BandView(msgspec.Struct, frozen=True, tag="band"):
    """The band as it sits."""

    name: str
    sections: tuple[SectionView, ...]


class TuneRow(msgspec.Struct, frozen=True):
    """A tune of the set or library."""

    tune: str
    title: str
    in_set: bool = True


class SetView(msgspec.Struct, frozen=True, tag="set"):
    """The tunes of the set, each where it stands first, then the rest of the library by title.

    `items`: the set's rows with breaks and all that is said of them. `revision` rises with each change of the set;
    `by`: whose the last one was.
    """

    tunes: tuple[TuneRow, ...]
    items: tuple[SetItem, ...] = ()
    revision: int = 0
    by: str = ""


class DateView(msgspec.Struct, frozen=True, tag="date"):
    """The open date; `date` is empty when none is open."""

    date: str = ""
    name: str = ""
    kind: DateKind = "rehearsal"
    day: str = ""


class RolesView(msgspec.Struct, frozen=True, tag="roles"):
    """The roles that this client has now, by its codes and as given to its chairs; sent when they change.

    `given`: every chair that was given a role, with the roles.
    """

    roles: tuple[str, ...]
    given: tuple[tuple[str, tuple[str, ...]], ...] = ()


class DateRow(msgspec.Struct, frozen=True):
    """A date that was, or is."""

    date: str
    name: str
    kind: DateKind
    day: str
    open: bool = False


class HistoryRow(msgspec.Struct, frozen=True):
    """One thing that was decided. `at`: when, by the hub's clock (RFC 3339); `date`: the open date's id, or empty."""

    seq: int
    at: str
    date: str
    by: str
    what: str
    """The event's type."""
    tune: str
    """Its title; empty for what is not about one tune."""
    words: str


class StoodRow(msgspec.Struct, frozen=True):
    """An edit as it stood at the end of a date (of the open one: as it stands); `holds`: whether it holds now too."""

    tune: str
    title: str
    words: str
    by: str
    kept: bool
    holds: bool


class HistoryView(msgspec.Struct, frozen=True, tag="history"):
    """What was decided, the newest first; answers `look-back` of this `id`. `more`: there are older rows.

    `dates`: every date, the newest first. `stood`: of a date that was asked for, the edits as at its end.
    """

    id: str
    rows: tuple[HistoryRow, ...]
    more: bool = False
    dates: tuple[DateRow, ...] = ()
    stood: tuple[StoodRow, ...] = ()


class PositionView(msgspec.Struct, frozen=True, tag="position"):
    """Where the band is. `call` rises with every call, "from" and taking back; 0 before the first call.

    `returns_to`: set when this position came of a call being taken back: the call whose page each stand returns to.
    """

    call: int
    tune: str | None
    start: BarId | None = None
    start_pass: int = 1
    by: str = ""
    words: str = ""
    next: str | None = None
    returns_to: int | None = None
    previous: int | None = None
    """The call that taking this one back would return to, while that is possible."""
    cued: tuple[str, ...] = ()
    """Edits whose open stretch was cued under this call: the next ending is the last."""
    players: dict[str, str] = {}
    """Who plays an open stretch next, by edit."""
    item: str = ""
    """The id of the set's row that is on: with `tune` it says which, where a tune stands more than once."""
    next_item: str = ""
    after: str = ""
    """Of two calls made at once: what the other one called, in words, after which this one came; else empty."""
    after_by: str = ""
    """Whose that was."""
    device: str = ""
    """The id of the client that called, by which a stand knows its own call where two sign alike; "": not known."""
    after_device: str = ""
    """The other one's."""


class ThreadStep(msgspec.Struct, frozen=True, array_like=True):
    """One bar of an order: its id, its number as called, which time through, and the mark at its start ("" if none)."""

    bar: BarId
    number: int
    pass_: int
    mark: str = ""


class EditRow(msgspec.Struct, frozen=True):
    """A decision that holds, in words, and who made it, when. Bars are those that it names first and last, if any."""

    id: str
    words: str
    by: str
    first: BarId | None
    until: BarId | None
    kept: bool = False
    """For later dates too."""
    kind: str = "cut"
    """The tag of what was decided, as in `wire.edits`."""
    at: str = ""
    """The hub's day and time, as "2026-11-25T21:34"."""
    why: str = ""
    """Why it has no effect as long as another edit holds, in a sentence; else empty."""
    leads: tuple[str, ...] = ()
    """Chairs with notes in the last bar left out that lead into what follows; they may keep them as a pickup."""
    leads_from: str = ""
    """That bar, as a place that can be said."""


class AgainRow(msgspec.Struct, frozen=True, array_like=True):
    """Positions of `written` that are played `more` times more, right after the last of them.

    `times`: in all; 0: open until cued. `signs`: they stand on the page once, between repeat signs.
    """

    first: int
    last: int
    more: int
    times: int
    signs: bool
    edit: str


class FoldRow(msgspec.Struct, frozen=True, array_like=True):
    """Positions of `written` that are shown by those from `by` on: a short repeat between its printed signs."""

    first: int
    last: int
    by: int


class ForSome(msgspec.Struct, frozen=True):
    """What holds for some chairs: positions of `written` (ranges, first and last), and the chairs."""

    edit: str
    chairs: tuple[str, ...]
    ranges: tuple[tuple[int, int], ...]


class TuneView(msgspec.Struct, frozen=True, tag="tune"):
    """A tune as decided: the written order, which of its steps are cut, and the decisions that hold.

    The played order is `written` without the steps whose 0-based positions are in the `cut` ranges (first, last), with
    those of `again` played more often. `revision` rises with each edit of this tune.

    The steps of a laying count the bars as they stand on the page: position after position, without those that are cut
    (but with those of `pickups`) or shown by others (`folds`), and behind the last position of an `again` without signs
    its positions `more` times more.
    """

    tune: str
    title: str
    revision: int
    written: tuple[ThreadStep, ...]
    cut: tuple[tuple[int, int], ...]
    edits: tuple[EditRow, ...]
    diagnosis: str = ""
    seconds: int | None = None
    """How long it takes as decided, about, from its tempo and the bars that are played; None: not known."""
    again: tuple[AgainRow, ...] = ()
    folds: tuple[FoldRow, ...] = ()
    tacet: tuple[ForSome, ...] = ()
    pickups: tuple[ForSome, ...] = ()
    in_words: tuple[str, ...] = ()
    """Parts that can only be told of edits in words, by name."""
    repeats_after_jump: bool | None = None
    """Whether the repeats are taken again after the D.S. or D.C.; None: that makes no difference in this tune."""


class PartView(msgspec.Struct, frozen=True, tag="part"):
    """What one chair of this client has on its stand for a tune. The hashes are fetched over HTTP.

    `laying` is a `paper.pages.laying.Laying` whose steps are positions in the played order of `revision`; it starts at
    `first_step` (0: from the top; above: a tail to follow the page that is in front of the player).
    `pieces` is a `paper.pages.laying.Pieces`. Without a part (tacet) both are empty.
    """

    tune: str
    chair: str
    revision: int
    title: str
    part: str
    """Its name as printed ("2nd Alto"); empty: tacet."""
    laying: str = ""
    pieces: str = ""
    first_step: int = 0
    as_printed: bool = False
    told: tuple[str, ...] = ()
    """Edits that this part can only be told in words."""
    version: str = ""
    """Of the part: its pages as printed are at `/printed/<version>/<page>`, from 0."""
    stave: float = 7.0
    """The stave height in mm that it is laid for: that of the hello, or one of those ahead."""


class Slip(msgspec.Struct, frozen=True, tag="slip"):
    """One line of words for the foot of the page; it leaves by itself."""

    tune: str
    words: str
    edit: str = ""
    chairs: tuple[str, ...] = ()
    """Only for these chairs; empty: for everyone."""
    at: float = 0.0
    """Where words are for this moment only (a cue): seconds of the hub's clock, as in `ping`. A stand that gets them
    more than two seconds late shows none. 0: they may come at any time."""


class MarkingsView(msgspec.Struct, frozen=True, tag="markings"):
    """Markings that this client may see: those made and the ids of those erased since the sequence it told.

    `whole`: these are all there are; forget any other that is not waiting to be sent.
    """

    seq: int
    made: tuple[Marking, ...]
    erased: tuple[str, ...] = ()
    whole: bool = False


class StandView(msgspec.Struct, frozen=True):
    """One stand as the hub knows it: whose, since when gone, and how far it followed call and edits."""

    client: str
    chairs: tuple[str, ...]
    here: bool
    call: int
    """The last call whose page it reported on the glass."""
    revision: int
    """The last revision of the tune that is on whose laying it reported stored."""
    roles: tuple[str, ...] = ()
    received: int = 0
    """The last revision of that tune that it reported to have."""
    glass: int = 0
    """The revision of that tune whose laying is on its glass."""
    missing: int | None = None
    """Tunes that are not stored on it whole; None: it has not told. These as in `faring`."""
    tunes: int = 0
    battery: int | None = None
    charging: bool | None = None
    awake: bool | None = None
    upright: bool | None = None
    round_trip: int | None = None
    """Milliseconds to it and back, the last time the hub asked."""
    away: int = 0
    """Seconds since it was last here."""


class PresenceView(msgspec.Struct, frozen=True, tag="presence"):
    """Every stand, for those who lead."""

    stands: tuple[StandView, ...]


class CameRow(msgspec.Struct, frozen=True):
    """One part of a file that came in, and what becomes of it; `became` also `waiting`, `being read`, `being cut`."""

    id: str
    """Of the file, for asking again."""
    file: str
    became: str
    title: str = ""
    part: str = ""
    why: str = ""
    """One sentence: a question, or why it is not understood."""
    doubts: tuple[str, ...] = ()
    bars: int = 0
    marks: int = 0


class DeskView(msgspec.Struct, frozen=True, tag="desk"):
    """For the librarian: what came in and how far it is, and which parts ("tune/part") are being laid anew.

    `seq`: the sequence of the library's last change; when it rises, parts are to be asked for again over HTTP.
    """

    seq: int
    came: tuple[CameRow, ...] = ()
    done: int = 0
    of: int = 0
    """Steps done, and steps in all; 0: nothing comes in now."""
    what: str = ""
    mending: tuple[str, ...] = ()
    said: str = ""
    """What went wrong with the last correction, one sentence."""


class StatusView(msgspec.Struct, frozen=True, tag="status"):
    """The sequence up to which everything sent before is complete."""

    seq: int


View = (
    BandView
    | SetView
    | DateView
    | RolesView
    | PositionView
    | TuneView
    | PartView
    | Slip
    | MarkingsView
    | PresenceView
    | HistoryView
    | StatusView
    | DeskView
)

Stage = Literal["received", "laid", "glass"]
"""How far a stand got with what it was sent: it has it, has it ready to show, shows it."""
