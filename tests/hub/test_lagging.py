"""A client that stops reading is gone within ten seconds, and nobody waits for it."""

import asyncio
import socket
from pathlib import Path

import pytest
from websockets.client import ClientProtocol
from websockets.uri import parse_uri

from collaparte.band.roles import Who
from collaparte.hub.patience import Patience
from collaparte.hub.serving import Hub
from collaparte.wire.codec import encode
from collaparte.wire.commands import MakeMarking
from collaparte.wire.markings import Ink, Marking, Point
from collaparte.wire.messages import CLOSE_RESYNC, Do, Done, FromClient, Pong
from collaparte.wire.views import MarkingsView, StatusView
from hub.bands import HANGS, Raw, hello, raw, served

SHORT = Patience(ping_every=0.2, answer_within=0.6, beat=0.05)
MARKINGS = 40
"""Four megabytes of them, which is more than any buffer between here and there holds."""


def big_marking(n: int) -> Marking:
    """A marking for the whole band; about 100 KB as JSON."""
    points = tuple(Point("b3", i / 3000, 0, 1.0) for i in range(3000))
    return Marking(f"m{n}", "moth", "alto-1", "band", Ink(points))


class Deaf:
    """A client on a bare socket that says hello and then never reads again."""

    def __init__(self, hub: Hub) -> None:
        self.socket = socket.socket()
        # Small, so that the hub's own buffers fill.
        self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        self.socket.setblocking(False)
        self._hub = hub
        self._protocol = ClientProtocol(parse_uri(f"ws://127.0.0.1:{hub.addresses.socket_port}"))

    async def join(self, name: str) -> None:
        loop = asyncio.get_running_loop()
        await loop.sock_connect(self.socket, ("127.0.0.1", self._hub.addresses.socket_port))
        self._protocol.send_request(self._protocol.connect())
        await self._flush()
        self._protocol.receive_data(await loop.sock_recv(self.socket, 65536))
        await self.say(hello(self._hub, "alto-2", client=name))

    async def say(self, message: FromClient) -> None:
        self._protocol.send_text(encode(message))
        await self._flush()

    async def _flush(self) -> None:
        for data in self._protocol.data_to_send():
            await asyncio.get_running_loop().sock_sendall(self.socket, data)

    async def cut_off(self) -> None:
        """Return when the hub has cut the connection: what comes after the last data is an end or a reset."""
        loop = asyncio.get_running_loop()
        try:
            while await loop.sock_recv(self.socket, 65536):
                pass
        except ConnectionError:
            pass


async def until_gone(hub: Hub, client: str) -> None:
    while client in hub.room.clients:  # noqa: ASYNC110 - seen from outside, there is no event
        await asyncio.sleep(0.05)


async def until_there(hub: Hub, client: str) -> None:
    while client not in hub.room.clients:  # noqa: ASYNC110 - seen from outside, there is no event
        await asyncio.sleep(0.01)


async def answering(client: Raw, markings: int) -> None:
    """Read as a stand does, answering the hub's questions, until so many markings have come."""
    seen = 0
    while seen < markings:
        message = await client.hear()
        if isinstance(message, MarkingsView):
            seen += len(message.made)
        elif type(message).__name__ == "Ping":
            await client.say(Pong(message.n))  # type: ignore[union-attr]


async def test_a_client_that_stops_reading_delays_nobody(tmp_path: Path) -> None:
    async with asyncio.timeout(HANGS), served(tmp_path / "band") as hub:
        deaf = Deaf(hub)
        await deaf.join("deaf")
        await until_there(hub, "deaf")
        async with raw(hub) as a, raw(hub) as b, raw(hub) as c, raw(hub) as d, raw(hub) as e:
            others = (a, b, c, d, e)
            for n, client in enumerate(others):
                await client.say(hello(hub, "alto-1" if n == 0 else "tpt-1", client=f"reader-{n}"))
                await client.until(StatusView)
            reading = [asyncio.create_task(answering(client, MARKINGS)) for client in others]
            for n in range(MARKINGS):
                await a.say(Do(str(n), MakeMarking(big_marking(n)), chair="alto-1"))
            await asyncio.gather(*reading)
            # All five have everything while four megabytes wait for the sixth, who is still held to be there.
            assert set(hub.room.clients) == {"deaf", *(f"reader-{n}" for n in range(5))}
        deaf.socket.close()


@pytest.mark.parametrize("waiting", [MARKINGS, 0])
async def test_one_that_does_not_answer_is_dropped_however_much_waits(tmp_path: Path, waiting: int) -> None:
    async with asyncio.timeout(HANGS), served(tmp_path / "band", patience=SHORT) as hub:
        deaf = Deaf(hub)
        await deaf.join("deaf")
        await until_there(hub, "deaf")
        for n in range(waiting):
            mine = MakeMarking(big_marking(n))
            await hub.writer.do("other", str(n), mine, Who(("alto-1",), "alto-1"))
        await until_gone(hub, "deaf")
        await deaf.cut_off()
        deaf.socket.close()


async def test_the_hubs_own_times_keep_the_promise() -> None:
    patience = Patience()
    assert patience.ping_every + patience.answer_within + 2 * patience.beat < 10


async def test_one_that_says_nothing_is_not_waited_for(tmp_path: Path) -> None:
    async with served(tmp_path / "band", patience=Patience(hello_within=0.3)) as hub, raw(hub) as client:
        assert await client.closed() == 4002


async def test_one_that_lags_too_far_is_told_to_come_again(tmp_path: Path) -> None:
    patience = Patience(most_bytes=1_000_000, close_within=20.0, answer_within=60.0)
    async with served(tmp_path / "band", patience=patience) as hub, raw(hub, max_queue=1) as lagging, raw(hub) as other:
        await lagging.say(hello(hub, "alto-2", client="lagging"))
        await lagging.until(StatusView)
        await other.say(hello(hub, "alto-1", client="other"))
        for n in range(100):
            await other.say(Do(str(n), MakeMarking(big_marking(n)), chair="alto-1"))
            await other.until(Done)
        assert await lagging.closed() == CLOSE_RESYNC


@pytest.mark.parametrize("how", ["close", "abort"])
async def test_one_that_leaves_is_not_held_to_be_there(tmp_path: Path, how: str) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as client:
        await client.say(hello(hub, "alto-1", client="guest"))
        await client.until(StatusView)
        if how == "abort":
            client.connection.transport.abort()
        else:
            await client.connection.close()
        async with asyncio.timeout(HANGS):
            await until_gone(hub, "guest")
