"""Many sockets in one process: the same client on the hub's side and on the floor's, so that its cost is on both."""

import asyncio
import contextlib
import time
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import AsyncExitStack

import msgspec
from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed

from collaparte.wire.codec import encode
from collaparte.wire.messages import Hello, Ping, Pong

Wanted = Callable[[bytes], bool]
PATIENCE = 60.0
"""Seconds until a measurement is given up; not a measure of speed."""

_PING, _POSITION, _REFUSED, _SORRY = (f'{{"type":"{tag}"'.encode() for tag in ("ping", "position", "refused", "sorry"))


class Crowd:
    """Sockets that all read. The first one sends."""

    def __init__(self, sockets: list[ClientConnection]) -> None:
        self.position = b""
        """The last position that the first socket was told."""
        self.matched = b""
        """The last message that was waited for, as it came."""
        self._sockets = sockets
        self._wanted: Wanted = lambda _: False
        self._missing: set[int] = set()
        self._all: asyncio.Future[float] | None = None
        self._heard = time.perf_counter()

    async def ms(
        self, message: bytes, wanted: Wanted, *, who: range | None = None, patience: float = PATIENCE
    ) -> float:
        """ms from sending a message on the first socket until the last of `who` (all) has one that is `wanted`."""
        self._wanted = wanted
        self._missing = set(who if who is not None else range(len(self._sockets)))
        self._all = asyncio.get_running_loop().create_future()
        began = time.perf_counter()
        await self._sockets[0].send(message, text=True)
        async with asyncio.timeout(patience):
            return (await self._all - began) * 1000

    async def quiet(self, seconds: float) -> None:
        """Wait until nobody has heard anything but pings for so long."""
        rest = seconds
        while rest > 0:
            await asyncio.sleep(rest)
            rest = self._heard + seconds - time.perf_counter()

    async def read(self, n: int) -> None:
        """Take what comes on socket n, for as long as it is open; whatever ends it fails the measurement."""
        socket = self._sockets[n]
        try:
            while True:
                await self._take(n, socket, await socket.recv(decode=False))
        except ConnectionClosed:
            self._fail(ConnectionError(f"Socket {n} was closed: {socket.close_code} {socket.close_reason}"))
        except Exception as error:
            self._fail(error)
            raise

    async def _take(self, n: int, socket: ClientConnection, data: bytes) -> None:
        if data.startswith(_PING):
            await socket.send(encode(Pong(_number(data))), text=True)
            return
        now = self._heard = time.perf_counter()
        if n == 0 and data.startswith(_POSITION):
            self.position = data
        if data.startswith((_REFUSED, _SORRY)):
            self._fail(RuntimeError(f"The hub refused: {data.decode()}"))
        if n in self._missing and self._wanted(data):
            self.matched = data
            self._missing.discard(n)
            if not self._missing and self._all is not None and not self._all.done():
                self._all.set_result(now)

    def _fail(self, error: Exception) -> None:
        if self._all is not None and not self._all.done():
            self._all.set_exception(error)


def _number(ping: bytes) -> int:
    return msgspec.json.decode(ping, type=Ping).n


@contextlib.asynccontextmanager
async def crowd(url: str, hellos: Sequence[Hello | None]) -> AsyncIterator[Crowd]:
    """A socket for each hello; None says nothing."""
    async with AsyncExitStack() as stack:
        sockets = [
            await stack.enter_async_context(
                connect(url, compression=None, ping_interval=None, max_size=None, proxy=None, close_timeout=1)
            )
            for _ in hellos
        ]
        made = Crowd(sockets)
        reading = [asyncio.create_task(made.read(n)) for n in range(len(sockets))]
        try:
            for socket, hello in zip(sockets, hellos, strict=True):
                if hello is not None:
                    await socket.send(encode(hello), text=True)
            yield made
        finally:
            for task in reading:
                task.cancel()
            await asyncio.gather(*reading, return_exceptions=True)
