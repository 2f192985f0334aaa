"""Events: what was decided, as it stands in the log for ever.

Every event is `{"type": ..., "v": 1, ...}`. A later version may add fields with defaults under the same `v`; a change
of meaning raises `v`. An unknown type or `v` is kept, advances the sequence and does nothing (`Unknown`).
"""

import msgspec

from collaparte.wire.chart import BarId, Chart
from collaparte.wire.corrections import Correction
from collaparte.wire.dates import DateKind, Role
from collaparte.wire.edits import Edit
from collaparte.wire.markings import Marking
from collaparte.wire.outline import Asides, Outline
from collaparte.wire.setlist import SetItem


class _Event(msgspec.Struct, frozen=True, kw_only=True, tag_field="type"):
    v: int = 1


class BandNamed(_Event, frozen=True, tag="band-named"):
    """The band has this name."""

    name: str


class ChairAdded(_Event, frozen=True, tag="chair-added"):
    """A chair sits at `place` of its section."""

    chair: str
    name: str
    section: str
    place: int


class ChairRenamed(_Event, frozen=True, tag="chair-renamed"):
    """A chair has another name."""

    chair: str
    name: str


class ChairMoved(_Event, frozen=True, tag="chair-moved"):
    """A chair sits elsewhere."""

    chair: str
    section: str
    place: int


class ChairRemoved(_Event, frozen=True, tag="chair-removed"):
    """A chair is no longer in the band."""

    chair: str


class TuneAdded(_Event, frozen=True, tag="tune-added"):
    """A chart is in the library and last in the set."""

    tune: str
    title: str


class RulerMinted(_Event, frozen=True, tag="ruler-minted"):
    """A tune has its ruler; its bar ids never change."""

    tune: str
    chart: Chart


class PartBrought(_Event, frozen=True, tag="part-brought"):
    """A version of a part is in; fields as in the command."""

    tune: str
    part: str
    name: str
    original: str
    pages: tuple[int, int] | None
    version: str
    reading: str
    table: str
    pieces: str
    bars: tuple[BarId | None, ...]
    as_printed: bool = False
    file_name: str = ""
    outline: Outline | None = None
    corrected: tuple[str, ...] = ()
    asides: Asides | None = None


class PartsSeated(_Event, frozen=True, tag="parts-seated"):
    """A chair plays these parts of a tune."""

    tune: str
    chair: str
    parts: tuple[str, ...]


class SetPut(_Event, frozen=True, tag="set-put"):
    """The set is in this order. `items`: its rows, of which `tunes` are the tunes; the first release wrote none."""

    tunes: tuple[str, ...]
    items: tuple[SetItem, ...] = ()
    by: str = ""


class NextNamed(_Event, frozen=True, tag="next-named"):
    """The next tune is named (None: none); `item`: the id of its row in the set."""

    tune: str | None
    by: str
    item: str = ""


class Called(_Event, frozen=True, tag="called"):
    """Call number `call`: everyone is on this tune, at its first page or at a bar of a pass."""

    call: int
    tune: str
    start: BarId | None
    start_pass: int
    by: str
    words: str = ""
    """The place as it was said."""
    then: str | None = None
    """The tune that is next from here by itself, where the set runs straight through."""
    item: str = ""
    """The id of its row in the set."""
    then_item: str = ""
    at: float = 0.0
    """The hub's clock when it was asked for (Unix time, s); 0: not known."""
    came_after: bool = False
    """Another leader's call had come since it was asked: of the two, this is the last word."""
    device: str = ""
    """The id of the client that asked; "": not known."""


class CallTakenBack(_Event, frozen=True, tag="call-taken-back"):
    """Call `call` is taken back; the position is what it was before it, under the new number `now`."""

    call: int
    now: int
    by: str


class EditMade(_Event, frozen=True, tag="edit-made"):
    """An edit holds; `words` say it as musicians do."""

    edit: Edit
    words: str


class EditTakenBack(_Event, frozen=True, tag="edit-taken-back"):
    """An edit no longer holds."""

    edit: str
    by: str
    words: str = ""


class Cued(_Event, frozen=True, tag="cued"):
    """An open stretch was cued (`last`), or the cue was taken back, under call number `call`."""

    edit: str
    call: int
    last: bool
    by: str
    words: str


class PlayerNamed(_Event, frozen=True, tag="player-named"):
    """Who plays an open stretch next, as it is said; "" for nobody."""

    edit: str
    who: str
    by: str
    words: str


class EditKept(_Event, frozen=True, tag="edit-kept"):
    """An edit is kept for later dates (or goes with this one after all)."""

    edit: str
    kept: bool
    by: str
    words: str = ""


class DateBegun(_Event, frozen=True, tag="date-begun"):
    """A date is open: a new one, or the last one again. Nothing is called; `call` is the number that stands now."""

    date: str
    name: str
    kind: DateKind
    day: str
    by: str
    call: int


class DateEnded(_Event, frozen=True, tag="date-ended"):
    """A date is closed: these edits went with it, these are kept from now on; roles that were given are gone."""

    date: str
    by: str
    call: int
    gone: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()


class RoleGiven(_Event, frozen=True, tag="role-given"):
    """A chair has a role as well."""

    chair: str
    role: Role
    by: str


class RoleTaken(_Event, frozen=True, tag="role-taken"):
    """A chair no longer has a role that it was given."""

    chair: str
    role: Role
    by: str


class MarkingMade(_Event, frozen=True, tag="marking-made"):
    """A marking stands."""

    marking: Marking


class MarkingErased(_Event, frozen=True, tag="marking-erased"):
    """A marking is gone."""

    marking: str
    by: str


class CorrectionMade(_Event, frozen=True, tag="correction-made"):
    """A correction of what was read of a part holds."""

    tune: str
    part: str
    correction: Correction


class CorrectionTakenBack(_Event, frozen=True, tag="correction-taken-back"):
    """A correction no longer holds."""

    tune: str
    part: str
    correction: str


class RulerMended(_Event, frozen=True, tag="ruler-mended"):
    """A tune has another ruler; bars that stayed have their ids."""

    tune: str
    chart: Chart


class RepeatsSaid(_Event, frozen=True, tag="repeats-said"):
    """A tune's repeats are taken again after its D.S. or D.C., or not (None: as printed)."""

    tune: str
    taken: bool | None
    by: str
    words: str


class Unknown(_Event, frozen=True, tag="unknown"):
    """An event of a type or version that this release does not know; kept as it was written."""

    raw: str


Event = (
    BandNamed
    | ChairAdded
    | ChairRenamed
    | ChairMoved
    | ChairRemoved
    | TuneAdded
    | RulerMinted
    | PartBrought
    | PartsSeated
    | SetPut
    | NextNamed
    | Called
    | CallTakenBack
    | EditMade
    | EditTakenBack
    | Cued
    | PlayerNamed
    | EditKept
    | DateBegun
    | DateEnded
    | RoleGiven
    | RoleTaken
    | MarkingMade
    | MarkingErased
    | CorrectionMade
    | CorrectionTakenBack
    | RulerMended
    | RepeatsSaid
    | Unknown
)
