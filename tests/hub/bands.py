"""A small band in a folder, and a hub that serves it, for tests over real sockets."""

import asyncio
import contextlib
import datetime
import random
import socket
from collections import deque
from collections.abc import AsyncIterator, Sequence
from pathlib import Path
from typing import TypeVar

from websockets.asyncio.client import ClientConnection, connect

from collaparte.band.apply import fold
from collaparte.band.decide import decide
from collaparte.band.roles import EVERY_ROLE, Refusal
from collaparte.hub.certificates import Root, make_root
from collaparte.hub.patience import Patience
from collaparte.hub.root_file import keep_root, root_path
from collaparte.hub.serving import Hub, serve
from collaparte.store.folder import BandFolder
from collaparte.store.log import Entry, Log
from collaparte.store.settings import Ports, Settings
from collaparte.wire.chart import Chart, ChartBar, ChartMark
from collaparte.wire.codec import decode_from_hub, encode
from collaparte.wire.commands import AddChair, AddTune, BringPart, Command, MintRuler, NameBand, SeatParts
from collaparte.wire.messages import PROTOCOL, FromClient, FromHub, Hello
from collaparte_client import Band, join

CHAIRS = (("alto-1", "Alto 1", "Saxes"), ("alto-2", "Alto 2", "Saxes"), ("tpt-1", "Trumpet 1", "Trumpets"))
TUNES = (("moth", "Moth at the Window"), ("slow", "Slow Train Uphill"), ("rain", "Rain Check"))
HASH = "ab" * 32
HANGS = 60
"""Seconds after which a test says that it hangs; not a measure of speed."""
WAITS = Patience(hello_within=HANGS, answer_within=10 * HANGS)
"""A hub's that waits longer than any test lasts for a client that says only what it is told to, or is slow today."""
T = TypeVar("T")

BARS = Chart(
    bars=tuple(ChartBar(f"b{n}", n) for n in range(1, 33)),
    marks=(ChartMark("A", "b1"), ChartMark("B", "b9"), ChartMark("C", "b17"), ChartMark("D", "b25")),
)
"""32 bars with a mark every eight."""


def small_band() -> list[Command]:
    """Three chairs in two sections and three tunes; Trumpet 1 is tacet in the last."""
    commands: list[Command] = [NameBand("Night Owls")]
    commands += [AddChair(id, name, section) for id, name, section in CHAIRS]
    for tune, title in TUNES:
        commands += [AddTune(tune, title), MintRuler(tune, BARS)]
        for chair, name, _ in CHAIRS:
            if (tune, chair) != ("rain", "tpt-1"):
                bars = tuple(bar.id for bar in BARS.bars)
                commands.append(BringPart(tune, chair, name, HASH, None, f"{tune}-{chair}", HASH, "", "", bars))
                commands.append(SeatParts(tune, chair, (chair,)))
    return commands


async def make_band(path: Path, commands: Sequence[Command]) -> Settings:
    """A band folder at free ports in whose log these commands were done."""
    ports = Ports(free_port(), free_port())
    folder = await asyncio.to_thread(BandFolder.make, path, "Night Owls", "test", "2026-11-25", ports)
    log = await Log.open(folder.log_path, epoch="epoch-1")
    state = await log.state()
    for number, command in enumerate(commands):
        events = decide(state, command, EVERY_ROLE)
        assert not isinstance(events, Refusal), events
        state = fold(events, state)
        await log.append([Entry("test", str(number), "", events, "{}")], "2026-11-25")
    await log.close()
    await asyncio.to_thread(folder.close)
    return folder.settings


@contextlib.asynccontextmanager
async def served(
    path: Path, commands: Sequence[Command] | None = None, patience: Patience | None = None
) -> AsyncIterator[Hub]:
    """A hub on a new small band, in this process; not announced."""
    await make_band(path, small_band() if commands is None else commands)
    async with serve(path, announced=False, patience=patience or WAITS, workers=1) as hub:
        yield hub


def certify(path: Path, root: Root | None = None) -> Root:
    """Give the band in a folder a root, kept on this machine as its own command does, and two ports more."""
    with BandFolder.open(path, "test", "2026-11-25") as folder:
        root = root or make_root("Night Owls", folder.settings.host, datetime.datetime.now(datetime.UTC))
        keep_root(root_path(folder.settings.host), root)
        folder.set_secure(Ports(free_port(), free_port()))
    return root


def address(hub: Hub) -> str:
    """Where the hub is reached from here."""
    return f"127.0.0.1:{hub.addresses.port}"


def joined(
    hub: Hub, *chairs: str, roles: Sequence[str] = (), client: str = "", page: tuple[float, float] = (0.0, 0.0)
) -> contextlib.AbstractAsyncContextManager[Band]:
    """Join through the Python client, with the codes of these roles."""
    codes = [getattr(hub.codes, role) for role in roles]
    return join(address(hub), hub.codes.join, chairs=chairs, codes=codes, client=client, page=page)


class Raw:
    """A client that says exactly what it is told to."""

    def __init__(self, connection: ClientConnection) -> None:
        self.connection = connection

    async def say(self, message: FromClient | str | bytes) -> None:
        """Send a message, or any text or bytes."""
        await self.connection.send(message if isinstance(message, str | bytes) else encode(message).decode())

    async def hear(self) -> FromHub:
        """The next message of the hub's."""
        async with asyncio.timeout(HANGS):
            return decode_from_hub(await self.connection.recv())

    async def until(self, kind: type[T]) -> T:
        """The next message of this kind."""
        while True:
            message = await self.hear()
            if isinstance(message, kind):
                return message

    async def closed(self) -> int:
        """Read until the hub closes, and return its code."""
        async with asyncio.timeout(HANGS):
            with contextlib.suppress(Exception):
                while True:
                    await self.connection.recv()
        await self.connection.wait_closed()
        return self.connection.close_code or 0


@contextlib.asynccontextmanager
async def raw(hub: Hub, **how: object) -> AsyncIterator[Raw]:
    """An open socket with nothing said yet."""
    url = f"ws://127.0.0.1:{hub.addresses.socket_port}"
    async with connect(url, compression=None, ping_interval=None, proxy=None, **how) as connection:  # type: ignore[arg-type]
        yield Raw(connection)


def hello(hub: Hub, *chairs: str, roles: Sequence[str] = (), **more: object) -> Hello:
    """A hello that is let in, unless `more` says otherwise."""
    codes = tuple(getattr(hub.codes, role) for role in roles)
    fields: dict[str, object] = {
        "proto": PROTOCOL,
        "client": "raw",
        "code": hub.codes.join,
        "chairs": chairs,
        "codes": codes,
    }
    return Hello(**(fields | more))  # type: ignore[arg-type]


_given: deque[socket.socket] = deque()


def free_port() -> int:
    """A port that is free now, and the next one with it, below those that systems give to connections.

    No other test is given it, here or in a lane beside this one, before it is used: as long as it is among the last
    that were given, the UDP port of its number is held.
    """
    while True:
        port = random.SystemRandom().randrange(20000, 32000, 2)
        claim = socket.socket(type=socket.SOCK_DGRAM)
        try:
            claim.bind(("", port))
            with socket.socket() as one, socket.socket() as next_:
                one.bind(("", port))
                next_.bind(("", port + 1))
        except OSError:
            claim.close()
            continue
        _given.append(claim)
        if len(_given) > 64:
            _given.popleft().close()
        return port
