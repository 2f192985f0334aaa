"""Views: what the hub shows its clients. Each replaces the last one of its kind (and tune), so that a lagging client
misses nothing by getting only the newest."""

from typing import Literal

import msgspec

from collaparte.wire.chart import BarId
from collaparte.wire.markings import Marking


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
    """A tune of the set or library; `marks` are its rehearsal marks in played order, as spoken places."""

    tune: str
    title: str
    in_set: bool = True


class SetView(msgspec.Struct, frozen=True, tag="set"):
    """The set in order, then the rest of the library by title."""

    tunes: tuple[TuneRow, ...]


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


class ThreadStep(msgspec.Struct, frozen=True, array_like=True):
    """One bar of an order: its id, its number as called, which time through, and the mark at its start ("" if none)."""

    bar: BarId
    number: int
    pass_: int
    mark: str = ""


class EditRow(msgspec.Struct, frozen=True):
    """A decision that holds, in words."""

    id: str
    words: str
    by: str
    first: BarId
    until: BarId | None


class TuneView(msgspec.Struct, frozen=True, tag="tune"):
    """A tune as decided: the written order, which of its steps are cut, and the decisions that hold.

    The played order is `written` without the steps whose 0-based positions are in the `cut` ranges (first, last).
    `revision` rises with each edit of this tune.
    """

    tune: str
    title: str
    revision: int
    written: tuple[ThreadStep, ...]
    cut: tuple[tuple[int, int], ...]
    edits: tuple[EditRow, ...]
    diagnosis: str = ""


class PartView(msgspec.Struct, frozen=True, tag="part"):
    """What one chair of this client has on its stand for a tune. The hashes are fetched over HTTP.

    `laying` is a `paper.laying.Laying` whose steps are positions in the played order of `revision`; it starts at
    `first_step` (0: from the top; above: a tail to follow the page that is in front of the player).
    `pieces` is a `paper.laying.Pieces`. Without a part (tacet) both are empty.
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


class Slip(msgspec.Struct, frozen=True, tag="slip"):
    """One line of words for the foot of the page; it leaves by itself."""

    tune: str
    words: str
    edit: str = ""


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


class PresenceView(msgspec.Struct, frozen=True, tag="presence"):
    """Every stand, for those who lead."""

    stands: tuple[StandView, ...]


class StatusView(msgspec.Struct, frozen=True, tag="status"):
    """The sequence up to which everything sent before is complete."""

    seq: int


View = BandView | SetView | PositionView | TuneView | PartView | Slip | MarkingsView | PresenceView | StatusView

Stage = Literal["received", "laid", "glass"]
"""How far a stand got with what it was sent: it has it, has it ready to show, shows it."""
