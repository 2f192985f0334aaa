"""One client's connection: what it is sent goes through a bounded outbox, and silence ends it."""

import asyncio
import logging
from collections.abc import Hashable

from websockets.asyncio.server import ServerConnection, broadcast
from websockets.exceptions import ConnectionClosed

from collaparte.hub.outbox import Outbox
from collaparte.hub.patience import Patience
from collaparte.wire.codec import encode
from collaparte.wire.messages import CLOSE_RESYNC, FromHub, Hello, Ping, Shown, key_of

log = logging.getLogger(__name__)

REASON_MOST = 123
"""Bytes of a close reason: a control frame's 125 without the code (RFC 6455, section 5.5)."""


class Stand:
    """One client. Nothing here waits for it but the relay, which serves nobody else."""

    def __init__(self, connection: ServerConnection, address: str, patience: Patience) -> None:
        self.address = address
        self.hello = Hello(proto=0, client="", code="")
        """The last hello that was accepted; `client` is empty before."""
        self.roles: tuple[str, ...] = ()
        """By its codes, and as given to its chairs."""
        self.by_code: frozenset[str] = frozenset()
        self.round_trip: int | None = None
        """Milliseconds to it and back, the last time it was asked."""
        self.shown: dict[str, Shown] = {}
        """What is on the glass, by chair."""
        self._connection = connection
        self._patience = patience
        self._outbox = Outbox(patience.most_messages, patience.most_bytes)
        self._something = asyncio.Event()
        self._sending = False
        self._ending: asyncio.Task[None] | None = None
        self._ping = 0
        self._asked: float | None = None
        self._heard = asyncio.get_running_loop().time()

    def send(self, message: FromHub) -> None:
        """Send one message after those that wait."""
        self.push(encode(message), key_of(message))

    def push(self, data: bytes, key: Hashable | None = None, *, first: bool = False) -> None:
        """Send an encoded message. Returns at once; a client that fell too far behind is told to come again."""
        if self._ending is not None:
            return
        if not self._outbox and not self._sending and self._connection.transport.get_write_buffer_size() == 0:
            # Nothing waits: write it now, as `broadcast` does, and spare a task switch a client.
            broadcast((self._connection,), data, text=True)
        elif self._outbox.put(data, key, first=first):
            self._something.set()
        else:
            log.warning("stand %s at %s lags too far behind: told to come again", self.hello.client, self.address)
            self._outbox.clear()
            self.end(CLOSE_RESYNC, "You fell behind: come again with your last sequence.")

    async def relay(self) -> None:
        """Send what waits, as fast as the client reads."""
        try:
            while True:
                await self._something.wait()
                self._something.clear()
                while self._outbox:
                    self._sending = True
                    await self._connection.send(self._outbox.take(), text=True)
                    self._sending = False
        except ConnectionClosed:
            return

    def beat(self, now: float) -> None:
        """Ask whether it is there when due; drop it when the last question was not answered in time."""
        if self._asked is None:
            if now - self._heard >= self._patience.ping_every:
                self._ping += 1
                self._asked = now
                self.push(encode(Ping(self._ping, round(now, 3))), "ping", first=True)
        elif now - self._asked >= self._patience.answer_within:
            log.warning("stand %s at %s does not answer: dropped", self.hello.client, self.address)
            self.drop()

    def pong(self, n: int, now: float) -> None:
        """It answered."""
        if n == self._ping:
            if self._asked is not None:
                self.round_trip = round(1000 * (now - self._asked))
            self._asked = None
            self._heard = now

    def drop(self) -> None:
        """Cut the connection now, whatever waits in it."""
        # Closing politely would wait for a full write buffer that nobody reads.
        self._connection.transport.abort()

    def end(self, code: int, why: str) -> None:
        """Close with a code and a reason, politely for a moment, then for good."""
        if self._ending is None:
            self._ending = asyncio.get_running_loop().create_task(self._end(code, why))

    async def ended(self) -> None:
        """Wait until a polite close that was begun is over."""
        if self._ending is not None:
            await self._ending

    async def _end(self, code: int, why: str) -> None:
        try:
            async with asyncio.timeout(self._patience.close_within):
                await self._connection.close(code, shortened(why, REASON_MOST))
        except (TimeoutError, ConnectionClosed):
            pass
        finally:
            self._connection.transport.abort()


def shortened(text: str, most: int) -> str:
    """The text within `most` bytes of UTF-8, cut between characters."""
    return text.encode()[:most].decode(errors="ignore")
