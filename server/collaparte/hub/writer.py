"""The one writer: decides commands in the order they come, makes what was decided durable, then tells it."""

import asyncio
import logging
from collections import OrderedDict
from collections.abc import Callable
from typing import Protocol

from collaparte.band.apply import apply
from collaparte.band.decide import decide
from collaparte.band.roles import Refusal, Who
from collaparte.band.state import State
from collaparte.wire.commands import Command
from collaparte.wire.events import Event
from collaparte.wire.messages import Done, Refused

log = logging.getLogger(__name__)

REMEMBERED = 10_000
"""Answers kept in memory for commands that are sent again; the log keeps those of events for ever."""
A_TICK = 256
"""Commands that share one commit at most."""


class Log(Protocol):
    """The durable log."""

    async def append(self, events: list[tuple[Event, str]]) -> None:
        """Make events durable, each with the id of the command that it came of."""

    async def answered(self, command: str) -> int | None:
        """The sequence after the command of this id, when it is in the log."""


class _Asked:
    def __init__(self, id: str, command: Command, who: Who, call: int | None) -> None:
        self.id = id
        self.command = command
        self.who = who
        self.call = call
        self.answer: asyncio.Future[Done | Refused] = asyncio.get_running_loop().create_future()


class Writer:
    """Owns the state and the log. `tell(before, after, events)` is called after each commit, and must not wait."""
