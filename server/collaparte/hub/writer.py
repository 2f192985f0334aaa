"""The one writer: decides commands in the order they come, makes what was decided durable, then tells it."""

import asyncio
import datetime
import logging
from collections import OrderedDict
from collections.abc import Callable, Sequence

import msgspec

from collaparte.band.apply import fold
from collaparte.band.decide import decide
from collaparte.band.roles import ROLES, Refusal, Who
from collaparte.band.state import State
from collaparte.store.log import Entry, Log, LogError, Logged
from collaparte.wire.codec import encode
from collaparte.wire.commands import Command
from collaparte.wire.events import Event
from collaparte.wire.messages import Done, Refused

log = logging.getLogger(__name__)

Answer = Done | Refused
Tell = Callable[[State, State, tuple[Event, ...]], None]
Key = tuple[str, str]
"""Client and the command's id."""

REMEMBERED = 4096
"""Answers kept in memory for commands that come again; those that made events are in the log for ever."""
A_TICK = 256
"""Commands that share one commit at most."""


class Asked:
    """One command on its way. `call`: the number of the call under which it was asked."""

    def __init__(self, client: str, id: str, command: Command, who: Who, call: int | None) -> None:
        self.key = (client, id)
        self.command = command
        self.who = who
        self.call = call
        self.answer: asyncio.Future[Answer] = asyncio.get_running_loop().create_future()


class Writer:
    """Owns the state and the log."""

    def __init__(self, log: Log, state: State) -> None:
        self.state = state
        """What is decided and durable."""
        self.tell: Tell = lambda _before, _after, _events: None
        """Called with the states before and after, and the events, after each commit; it must not wait."""
        self._log = log
        self._coming: asyncio.Queue[Asked] = asyncio.Queue()
        self._answers: OrderedDict[Key, Answer] = OrderedDict()

    async def do(self, client: str, id: str, command: Command, who: Who, call: int | None = None) -> Answer:
        """Have a command decided; the answer comes when it is durable and told. Sent again: the first answer."""
        asked = Asked(client, id, command, who, call)
        self._coming.put_nowait(asked)
        return await asked.answer

    async def decided(self, kinds: Sequence[str], *, since: int, before: int, most: int) -> list[Logged]:
        """The newest events of these kinds between two sequences, both left out (`before` 0: up to now)."""
        return await self._log.newest(kinds, since=since, before=before, most=most)

    async def run(self) -> None:
        """Work for as long as the task lives. Raises `store.log.Broken` when it is not known what the disk holds."""
        while True:
            tick = [await self._coming.get()]
            while len(tick) < A_TICK and not self._coming.empty():
                tick.append(self._coming.get_nowait())
            await self._write(tick)

    async def _write(self, tick: list[Asked]) -> None:
        try:
            answers = await self._known(tick)
            state, entries = self._decide(tick, answers)
            if entries:
                await self._log.append(entries, _now())
        except LogError as error:
            log.error("%s", error)  # noqa: TRY400 - the sentence says it all
            for asked in tick:
                _give(asked, Refused(asked.key[1], str(error)))
            if type(error) is not LogError:
                raise
            return
        before, self.state = self.state, state
        events = tuple(event for entry in entries for event in entry.events)
        if events:
            self.tell(before, state, events)
        for asked in tick:
            _give(asked, answers[asked.key])
        self._answers.update(answers)
        while len(self._answers) > REMEMBERED:
            self._answers.popitem(last=False)

    async def _known(self, tick: list[Asked]) -> dict[Key, Answer]:
        """Answers to commands that came before."""
        known = {asked.key: self._answers[asked.key] for asked in tick if asked.key in self._answers}
        logged = await self._log.answers({asked.key for asked in tick} - known.keys())
        return known | {key: msgspec.json.decode(answer, type=Done) for key, answer in logged.items()}

    def _decide(self, tick: list[Asked], answers: dict[Key, Answer]) -> tuple[State, list[Entry]]:
        """Decide each command on the state after the one before; adds the answers of those that are new."""
        state, entries = self.state, []
        for asked in tick:
            if asked.key in answers:
                continue
            client, id = asked.key
            decided = decide(state, asked.command, asked.who, asked.call)
            if isinstance(decided, Refusal):
                answers[asked.key] = Refused(id, decided.why)
                continue
            state = fold(decided, state)
            answers[asked.key] = done = Done(id, state.seq)
            if decided:
                entries.append(Entry(client, id, asked.who.by(*ROLES), decided, encode(done).decode()))
        return state, entries


def _give(asked: Asked, answer: Answer) -> None:
    if not asked.answer.done():
        asked.answer.set_result(answer)


def _now() -> str:
    return datetime.datetime.now().astimezone().isoformat(timespec="seconds")
