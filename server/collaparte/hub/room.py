"""The room: every stand that joined, what each is shown, and what it may ask."""

import asyncio
import hmac
from collections.abc import Iterable, Mapping

import msgspec

from collaparte import __version__
from collaparte.band import views
from collaparte.band.roles import LEADER, MD, Who
from collaparte.band.state import State
from collaparte.hub.parts import Parts
from collaparte.hub.patience import Patience
from collaparte.hub.presence import Presence
from collaparte.hub.stand import Stand
from collaparte.hub.tries import Tries
from collaparte.hub.writer import Writer
from collaparte.wire.codec import encode
from collaparte.wire.commands import Call, From
from collaparte.wire.events import Called, Event
from collaparte.wire.messages import (
    CLOSE_UNKNOWN_CHAIR,
    CLOSE_WRONG_CODE,
    CLOSE_WRONG_MESSAGE,
    CLOSE_WRONG_PROTOCOL,
    PROTOCOL,
    Do,
    Done,
    Hello,
    Refused,
    Shown,
    Sorry,
    Welcome,
    key_of,
)
from collaparte.wire.views import MarkingsView, StatusView, TuneView, View

PAGE_MOST = 2000.0
"""mm that a page may measure either way; a stave may be as high as a page."""
MARKINGS_AT_ONCE = 64 * 1024
"""Bytes of markings a message, about: a lagging client's socket is not filled with one."""


class Codes(msgspec.Struct, frozen=True):
    """The band's join code, and which role each role's code gives."""

    join: str
    roles: Mapping[str, str]


class NotLetIn(Exception):
    """A hello that is not accepted: one sentence, and the code to close with."""

    def __init__(self, why: str, code: int) -> None:
        super().__init__(why)
        self.code = code
