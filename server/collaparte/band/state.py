"""The band's state: a fold over the log's events. Values are never changed in place; `apply` makes the next ones."""

from collections.abc import Mapping

import msgspec

from collaparte.music.form import Written
from collaparte.music.played import Played
from collaparte.wire.chart import BarId, Chart
from collaparte.wire.corrections import Correction
from collaparte.wire.dates import DateKind
from collaparte.wire.edits import Edit
from collaparte.wire.markings import Marking
from collaparte.wire.outline import Asides, Outline
from collaparte.wire.setlist import SetItem


class Chair(msgspec.Struct, frozen=True):
    """A seat in the band. `since`: the sequence at which it came to its section."""

    id: str
    name: str
    section: str
    since: int


class Section(msgspec.Struct, frozen=True):
    """Chairs that play together, in order. A section's name is its id."""

    name: str
    chairs: tuple[str, ...]


class Version(msgspec.Struct, frozen=True):
    """One version of a part, in content hashes (see `wire.commands.BringPart`).

    `bars[i]`: the ruler's bar of the part's bar index i+1; None: not placed.
    """

    version: str
    original: str
    pages: tuple[int, int] | None
    reading: str
    table: str
    pieces: str
    bars: tuple[BarId | None, ...]
    as_printed: bool
    file_name: str
    outline: Outline | None = None
    corrected: tuple[str, ...] = ()
    """Ids of the corrections that it was cut and laid with."""
    asides: Asides | None = None


class Part(msgspec.Struct, frozen=True):
    """One player's copy of a tune; the last version is the one on the stands."""

    id: str
    name: str
    versions: tuple[Version, ...]
    corrections: Mapping[str, Correction] = {}
    """What was said of its pages, by id, in the order in which it was said; of pages that were replaced as well."""

    @property
    def current(self) -> Version:
        """The version on the stands."""
        return self.versions[-1]

    @property
    def to_mend(self) -> bool:
        """Corrections were made or taken back since it was laid."""
        return tuple(one.id for one in self.holding) != self.current.corrected

    @property
    def holding(self) -> tuple[Correction, ...]:
        """The corrections of the pages that are on the stands."""
        return tuple(one for one in self.corrections.values() if one.version == self.current.version)


class Held(msgspec.Struct, frozen=True):
    """An edit that holds, as it is said."""

    edit: Edit
    words: str


class Drawn(msgspec.Struct, frozen=True):
    """A marking that stands, and the sequence at which it was made."""

    marking: Marking
    seq: int


class Tune(msgspec.Struct, frozen=True):
    """A chart and what was decided on it. Without a `chart` its parts have no bars yet.

    `seats`: chair -> the parts it plays; a chair that is missing or has none sees a tacet card.
    `edits`: those that hold, by id. `taken_back`, `erased`: ids of edits and markings that are gone (with sequence).
    `markings` and `erased` are in the order of their sequences.
    `revision` rises with each edit made or taken back. `repeats_said`: whether repeats are taken again after a D.S. or
    D.C., if somebody said so. `written`, `repeats_after_jump` (whether they now are; None: it makes no difference) and
    `played` are worked out from chart, that, and edits.
    """

    id: str
    title: str
    chart: Chart | None = None
    parts: Mapping[str, Part] = {}
    seats: Mapping[str, tuple[str, ...]] = {}
    edits: Mapping[str, Held] = {}
    taken_back: frozenset[str] = frozenset()
    markings: dict[str, Drawn] = {}
    erased: dict[str, int] = {}
    revision: int = 0
    repeats_said: bool | None = None
    written: Written = Written(())
    repeats_after_jump: bool | None = None
    played: Played = Played(())

    def seated(self, chair: str) -> tuple[Part, ...]:
        """The parts that a chair plays; none: tacet."""
        return tuple(self.parts[part] for part in self.seats.get(chair, ()) if part in self.parts)


class Made(msgspec.Struct, frozen=True):
    """A call as it was made: its number, its row of the set, the row that was on before, from which device, and when
    (Unix time, s; 0: not known)."""

    call: int
    tune: str
    item: str
    was: tuple[str | None, str]
    device: str
    at: float


class Position(msgspec.Struct, frozen=True):
    """Where the band is, under call number `call` (0: nothing was called yet). Fields as in `wire.views.PositionView`.

    `before`: the position that taking this call back returns to; None when it cannot be taken back.
    `cued`: edits whose open stretch was cued under this call; `players`: who plays an open stretch next, by edit.
    `latest`: the calls of the last seconds up to this one. `came_after`: this one was asked before it was known that
    another had called.
    """

    call: int = 0
    tune: str | None = None
    start: BarId | None = None
    start_pass: int = 1
    by: str = ""
    words: str = ""
    next: str | None = None
    returns_to: int | None = None
    before: "Position | None" = None
    cued: tuple[str, ...] = ()
    players: Mapping[str, str] = {}
    then: str | None = None
    """The tune that was named next by this call itself."""
    item: str = ""
    next_item: str = ""
    then_item: str = ""
    """Ids of the set's rows that are meant: with its tune each says which."""
    latest: tuple[Made, ...] = ()
    came_after: bool = False
    device: str = ""


class TheSet(msgspec.Struct, frozen=True):
    """The set in order. `revision` rises with each change that was asked for; `by`: who asked for the last one."""

    items: tuple[SetItem, ...] = ()
    revision: int = 0
    by: str = ""


class Date(msgspec.Struct, frozen=True):
    """A rehearsal or gig, from sequence `first` on to `last` (None while it is open).

    As at its end: `held`, the edits; `gone`, the ids of those that went with it; `position`.
    """

    id: str
    name: str
    kind: DateKind
    day: str
    first: int
    last: int | None = None
    held: tuple[Held, ...] = ()
    gone: tuple[str, ...] = ()
    position: Position = Position()


class State(msgspec.Struct, frozen=True):
    """Everything that was decided, as of sequence `seq`.

    `date`: the open one's id; empty when none is. `given`: roles that chairs were given for the open date.
    """

    seq: int = 0
    name: str = ""
    sections: tuple[Section, ...] = ()
    chairs: Mapping[str, Chair] = {}
    tunes: Mapping[str, Tune] = {}
    set: TheSet = TheSet()
    date: str = ""
    dates: Mapping[str, Date] = {}
    given: Mapping[str, frozenset[str]] = {}
    position: Position = Position()

    @property
    def set_order(self) -> tuple[str, ...]:
        """The tunes of the set in order, each as often as it stands there."""
        return tuple(item.tune for item in self.set.items if item.tune)

    def title(self, tune: str | None) -> str:
        """A tune's title; "" for none."""
        return self.tunes[tune].title if tune is not None and tune in self.tunes else ""

    def called(self, by: str) -> str:
        """Who signed with this: a chair's name, "the MD", or the id of a chair that has left."""
        roles = {"leader": "the leader", "md": "the MD", "librarian": "the librarian"}
        return self.chairs[by].name if by in self.chairs else roles.get(by, by)


def with_tune(state: State, tune: Tune) -> State:
    """The state with this tune in it."""
    return msgspec.structs.replace(state, tunes={**state.tunes, tune.id: tune})
