"""A band as one client follows it: what the hub shows, commands to it, and coming back by itself."""

import asyncio
import contextlib
import random
import secrets
import ssl
from collections.abc import AsyncIterator, Hashable

import msgspec
from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed, InvalidHandshake

from collaparte.wire.codec import WireError, decode_from_hub, encode
from collaparte.wire.commands import (
    Call,
    Command,
    Cue,
    EraseMarking,
    From,
    MakeCut,
    MakeEdit,
    MakeMarking,
    NamePlayer,
    Next,
    SayEdit,
    TakeBackCall,
    TakeBackEdit,
)
from collaparte.wire.markings import Marking
from collaparte.wire.messages import (
    CLOSE_UNKNOWN_CHAIR,
    CLOSE_WRONG_CODE,
    CLOSE_WRONG_MESSAGE,
    CLOSE_WRONG_PROTOCOL,
    Do,
    Done,
    FromHub,
    Hello,
    LookBack,
    Ping,
    Pong,
    Shown,
    Sorry,
    Welcome,
    key_of,
)
from collaparte.wire.messages import Refused as RefusedMessage
from collaparte.wire.views import (
    BandView,
    DateView,
    DeskView,
    HistoryView,
    MarkingsView,
    PartView,
    PositionView,
    PresenceView,
    RolesView,
    SetView,
    Slip,
    StatusView,
    TuneView,
    View,
)
from collaparte_client.clock import HubClock

ANSWER_WITHIN = 2.0
"""Seconds until a call, "from" or edit that the hub did not acknowledge has failed; it is not sent again."""
SILENCE = 10.0
"""Seconds without a word from the hub, which asks every two whether we are there, until the connection is given up."""
FIRST_WAIT, LONGEST_WAIT = 0.1, 2.5
"""Seconds between tries to come back: doubled each time, with jitter."""
MOST_BYTES = 8 * 1024 * 1024

_FINAL = (CLOSE_WRONG_CODE, CLOSE_WRONG_MESSAGE, CLOSE_WRONG_PROTOCOL, CLOSE_UNKNOWN_CHAIR)
_UNDER_A_CALL = (Next, Call, From, TakeBackCall, MakeCut, SayEdit, MakeEdit, TakeBackEdit, Cue, NamePlayer)
_QUEUING = (MakeMarking, EraseMarking)


class NotIn(Exception):
    """The hub cannot be reached, or does not let this client in; one sentence."""


class Refused(Exception):
    """The hub did nothing; its sentence why."""


class NotAnswered(Exception):
    """The hub did not acknowledge the command in time; it will not be sent again."""


class Band:
    """What the hub shows, kept up to date, and the way to send to it. Made by `join`.

    `async for view in band` gives first what there is, then every change. A consumer that lags gets only the newest
    view of each kind and tune.
    """

    def __init__(self, urls: list[str], hello: Hello, tls: ssl.SSLContext | None = None) -> None:
        self.roles: tuple[str, ...] = ()
        self.band: BandView = BandView("", ())
        self.set: SetView = SetView(())
        self.date: DateView = DateView()
        self.given: dict[str, tuple[str, ...]] = {}
        """Roles that chairs were given, by chair."""
        self.position: PositionView = PositionView(0, None)
        self.tunes: dict[str, TuneView] = {}
        self.parts: dict[tuple[str, str, str], PartView] = {}
        """From the top, by tune, chair and part."""
        self.tails: dict[tuple[str, str, str], PartView] = {}
        """What follows the page that a stand told to be on its glass, until the next call; by the same."""
        self.markings: dict[str, Marking] = {}
        self.presence: PresenceView = PresenceView(())
        self.desk: DeskView | None = None
        """What came in, for the librarian."""
        self.seq = 0
        """The sequence up to which all of this is complete."""
        self.sorry = ""
        """The hub's last sentence to us that answered no command."""
        self._clock = HubClock()
        self._urls = urls
        self._tls = tls
        self._hello = hello
        self._connection: ClientConnection | None = None
        self._in: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._asked: dict[str, tuple[Do, asyncio.Future[Done]]] = {}
        self._looking: dict[str, asyncio.Future[HistoryView]] = {}
        self._shown: dict[str, Shown] = {}
        self._followers: set[_Follower] = set()

    async def joined(self) -> None:
        """Wait until everything there is has come. Raises `NotIn`."""
        await asyncio.shield(self._in)

    async def do(self, command: Command, *, chair: str = "") -> Done:
        """Ask for a command; returns when it is durable. Raises `Refused` with the hub's sentence, or `NotAnswered`.

        Markings wait for the hub to come back if it is away; anything else fails after two seconds.
        """
        under = self.position.call if isinstance(command, _UNDER_A_CALL) else None
        who = chair or next(iter(self._hello.chairs), "")
        ask = Do(id=secrets.token_hex(12), command=command, call=under, chair=who)
        answer: asyncio.Future[Done] = asyncio.get_running_loop().create_future()
        self._asked[ask.id] = (ask, answer)
        try:
            await self._send(ask)
            async with asyncio.timeout(None if isinstance(command, _QUEUING) else ANSWER_WITHIN):
                return await answer
        except TimeoutError:
            raise NotAnswered(
                "The hub did not answer within two seconds: look whether it is there, and ask again."
            ) from None
        finally:
            del self._asked[ask.id]

    async def look_back(self, date: str = "", before: int = 0) -> HistoryView:
        """What was decided on a date (its id) or ever, before a sequence (0: the newest). Raises `NotAnswered`."""
        ask = LookBack(id=secrets.token_hex(12), date=date, before=before)
        answer: asyncio.Future[HistoryView] = asyncio.get_running_loop().create_future()
        self._looking[ask.id] = answer
        try:
            await self._send(ask)
            async with asyncio.timeout(ANSWER_WITHIN):
                return await answer
        except TimeoutError:
            raise NotAnswered("The hub did not answer within two seconds: look whether it is there.") from None
        finally:
            del self._looking[ask.id]

    async def show(self, shown: Shown) -> None:
        """Tell how far this stand got with a call or an edit; told again on coming back."""
        self._shown[shown.chair] = shown
        await self._send(shown)

    async def __aiter__(self) -> AsyncIterator[View]:
        """What there is, then what changes."""
        follower = _Follower()
        self._followers.add(follower)
        for view in self._all():
            follower.put(view)
        try:
            while True:
                yield await follower.get()
        finally:
            self._followers.discard(follower)

    def _all(self) -> list[View]:
        return [
            self.band,
            self.set,
            self.date,
            *self.tunes.values(),
            *self.parts.values(),
            *self.tails.values(),
            MarkingsView(self.seq, tuple(self.markings.values()), whole=True),
            self.presence,
            *([self.desk] if self.desk is not None else []),
            self.position,
            StatusView(self.seq),
        ]

    # Following

    async def follow(self) -> None:
        """Keep the connection, for as long as the task that runs this lives."""
        wait = FIRST_WAIT
        tries = 0
        try:
            while True:
                try:
                    async with connect(
                        self._urls[tries % len(self._urls)],
                        ssl=self._tls,
                        compression=None,
                        ping_interval=None,
                        max_size=MOST_BYTES,
                        open_timeout=5,
                        close_timeout=1,
                        proxy=None,
                    ) as connection:
                        await self._talk(connection)
                except (OSError, TimeoutError, InvalidHandshake, ConnectionClosed) as error:
                    tries += 1
                    if not self._in.done() and tries >= 2 * len(self._urls):
                        raise NotIn(f"The hub at {self._urls[0]} does not let us join: {error}.") from error
                if self._connection is not None:
                    self._connection, wait = None, FIRST_WAIT
                await asyncio.sleep(wait * random.uniform(0.5, 1.0))
                wait = min(2 * wait, LONGEST_WAIT)
        except NotIn as error:
            self._fail(error)

    async def _talk(self, connection: ClientConnection) -> None:
        await connection.send(encode(self._hello), text=True)
        try:
            while True:
                async with asyncio.timeout(SILENCE):
                    data = await connection.recv()
                try:
                    message = decode_from_hub(data)
                except WireError:
                    # A newer hub may say more than we know.
                    continue
                await self._take(message, connection)
        except ConnectionClosed as closed:
            if closed.rcvd is not None and closed.rcvd.code in _FINAL:
                raise NotIn(self.sorry or closed.rcvd.reason) from closed
            raise

    async def _take(self, message: FromHub, connection: ClientConnection) -> None:
        match message:
            case Ping():
                self._clock.hear(message.at, asyncio.get_running_loop().time())
                await connection.send(encode(Pong(message.n)), text=True)
            case Pong():
                pass
            case Sorry():
                self.sorry = message.why
            case Welcome():
                self.roles = message.roles
                self._connection = connection
                self._clock.forget()
                if message.epoch != self._hello.epoch:
                    # Another log: nothing that was shown before holds.
                    self.tunes.clear()
                    self.parts.clear()
                    self.tails.clear()
                    self._hello = msgspec.structs.replace(self._hello, epoch=message.epoch, seq=0)
                for shown in self._shown.values():
                    await connection.send(encode(shown), text=True)
                for ask, _ in list(self._asked.values()):
                    if isinstance(ask.command, _QUEUING):
                        await connection.send(encode(ask), text=True)
            case Done():
                if (asked := self._asked.get(message.id)) and not asked[1].done():
                    asked[1].set_result(message)
            case RefusedMessage():
                if (asked := self._asked.get(message.id)) and not asked[1].done():
                    asked[1].set_exception(Refused(message.why))
            case Slip(at=at) if self._clock.too_late(at, asyncio.get_running_loop().time()):
                pass  # it was for a moment that has passed; the position tells how things stand
            case _:
                self._keep(message)
                for follower in self._followers:
                    follower.put(message)

    def _keep(self, view: View) -> None:
        match view:
            case BandView():
                self.band = view
            case SetView():
                self.set = view
            case DateView():
                self.date = view
            case RolesView():
                self.roles, self.given = view.roles, dict(view.given)
            case HistoryView():
                if (looking := self._looking.get(view.id)) and not looking.done():
                    looking.set_result(view)
            case PositionView():
                if view.call != self.position.call:
                    self.tails.clear()
                self.position = view
            case TuneView():
                self.tunes[view.tune] = view
            case PartView():
                (self.tails if view.first_step else self.parts)[view.tune, view.chair, view.part] = view
            case PresenceView():
                self.presence = view
            case DeskView():
                self.desk = view
            case MarkingsView():
                if view.whole:
                    self.markings.clear()
                self.markings.update((marking.id, marking) for marking in view.made)
                for gone in view.erased:
                    self.markings.pop(gone, None)
            case StatusView():
                self.seq = view.seq
                self._hello = msgspec.structs.replace(self._hello, seq=view.seq)
                if not self._in.done():
                    self._in.set_result(None)
            case Slip():
                pass

    async def _send(self, message: Do | Shown | LookBack) -> None:
        if self._connection is not None:
            # What is lost with the connection is sent again on coming back, or fails by its time.
            with contextlib.suppress(ConnectionClosed):
                await self._connection.send(encode(message), text=True)

    def _fail(self, error: NotIn) -> None:
        if not self._in.done():
            self._in.set_exception(error)
        for _, answer in self._asked.values():
            if not answer.done():
                answer.set_exception(error)
        for follower in self._followers:
            follower.fail(error)


class _Follower:
    """One loop over a band: views that wait, the newest of each kind."""

    def __init__(self) -> None:
        self._waiting: dict[Hashable, View] = {}
        self._unkeyed = 0
        self._something = asyncio.Event()
        self._error: NotIn | None = None

    def put(self, view: View) -> None:
        key = key_of(view)
        if key is None:
            self._unkeyed += 1
            key = self._unkeyed
        self._waiting.pop(key, None)
        self._waiting[key] = view
        self._something.set()

    def fail(self, error: NotIn) -> None:
        self._error = error
        self._something.set()

    async def get(self) -> View:
        while not self._waiting:
            if self._error is not None:
                raise self._error
            self._something.clear()
            await self._something.wait()
        return self._waiting.pop(next(iter(self._waiting)))
