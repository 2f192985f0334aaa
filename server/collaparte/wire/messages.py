"""Messages on the socket: JSON objects in text frames, told apart by `type` (docs/reference/protocol.md)."""

from collections.abc import Hashable

import msgspec

from collaparte.wire.commands import Command
from collaparte.wire.views import PartView, Stage, TuneView, View

PROTOCOL = 1
"""Raised when an old client could not follow any more."""

MAX_MESSAGE = 256 * 1024
"""Bytes; a longer message from a client closes its socket with 1009 (RFC 6455, section 7.4.1)."""

CLOSE_RESYNC = 4000
"""The client fell behind: come again, with the last sequence. Private codes are 4000-4999 (RFC 6455, 7.4.2)."""
CLOSE_WRONG_CODE = 4001
CLOSE_WRONG_MESSAGE = 4002
CLOSE_WRONG_PROTOCOL = 4003
CLOSE_UNKNOWN_CHAIR = 4004


class Hello(msgspec.Struct, frozen=True, tag="hello"):
    """The first message of a client. Answered by `Welcome` or by `Sorry` and a close.

    `client`: an id kept on the device for ever. `code`: the band's join code. `codes`: codes of roles, if any.
    `chairs`: ids; none yet while choosing at the Door. `epoch`, `seq`: the last ones known; "" and 0 at first.
    `page`: width and height of the page in mm (148 wide unless measured); `stave`: height in mm; 0 x 0: shows no pages.
    `ahead`: stave heights in mm that the player may change to: laid as well, after everything else.
    """

    proto: int
    client: str
    code: str
    codes: tuple[str, ...] = ()
    chairs: tuple[str, ...] = ()
    epoch: str = ""
    seq: int = 0
    page: tuple[float, float] = (0.0, 0.0)
    stave: float = 7.0
    ahead: tuple[float, ...] = ()


class Do(msgspec.Struct, frozen=True, tag="do"):
    """Ask for a command. `id` is the client's own; sent again, it gets the answer of the first time.

    `call`: the number of the call under which it was asked; calls, "from" and edits are refused when that has passed.
    `chair`: on whose behalf.
    """

    id: str
    command: Command
    call: int | None = None
    chair: str = ""


class Shown(msgspec.Struct, frozen=True, tag="shown"):
    """How far the stand got: with a call, and with a tune's revision; and what is on its glass.

    `next_step`: position in the played order of the first bar after the visible page; the tail is laid from there.
    """

    stage: Stage
    chair: str
    call: int
    tune: str
    revision: int
    page: int = 0
    next_step: int = 0


class Ping(msgspec.Struct, frozen=True, tag="ping"):
    """Are you there? Either side may ask. `at`: the hub's clock in seconds, 0 from a client."""

    n: int
    at: float = 0.0


class Pong(msgspec.Struct, frozen=True, tag="pong"):
    """Yes."""

    n: int


class Faring(msgspec.Struct, frozen=True, tag="faring"):
    """How the stand fares: `missing` of `tunes` tunes are not stored whole. What the browser does not tell is None.

    `battery`: percent. `awake`: the screen is kept from sleeping. `upright`: held in portrait.
    """

    missing: int
    tunes: int
    battery: int | None = None
    charging: bool | None = None
    awake: bool | None = None
    upright: bool | None = None


class LookBack(msgspec.Struct, frozen=True, tag="look-back"):
    """Ask for what was decided, on a date or ever, before a sequence (0: the newest). Answered by `history`."""

    id: str
    date: str = ""
    before: int = 0


FromClient = Hello | Do | Shown | Faring | LookBack | Ping | Pong


class Welcome(msgspec.Struct, frozen=True, tag="welcome"):
    """You are in. Views follow, the last of them `status`."""

    proto: int
    epoch: str
    seq: int
    roles: tuple[str, ...] = ()
    version: str = ""


class Sorry(msgspec.Struct, frozen=True, tag="sorry"):
    """You are not in, or a code gave no role, or your message could not be read: one sentence.

    Before `Welcome` a close follows. After it you stay in, and nothing was done.
    """

    why: str


class Done(msgspec.Struct, frozen=True, tag="done"):
    """The command took effect and is durable, as of this sequence."""

    id: str
    seq: int


class Refused(msgspec.Struct, frozen=True, tag="refused"):
    """The command did nothing: one sentence why."""

    id: str
    why: str


FromHub = Welcome | Sorry | Done | Refused | Ping | Pong | View


_ADDING = frozenset({"slip", "markings", "history", "done", "refused", "sorry", "pong"})


def key_of(message: FromHub) -> Hashable | None:
    """What a message replaces when an older one of its kind is still on the way; None: nothing, both are needed."""
    match message:
        case TuneView():
            return ("tune", message.tune)
        case PartView():
            return ("part", message.tune, message.chair, message.part, message.first_step > 0, message.stave)
    tag = str(message.__struct_config__.tag)
    return None if tag in _ADDING else tag
