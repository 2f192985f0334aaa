"""The hub's sockets: who may open one, who is let in, and what becomes of each message."""

import asyncio
import http
import logging
import socket
import ssl
from collections.abc import Iterable

import msgspec
from websockets.asyncio.server import Server, ServerConnection, serve
from websockets.exceptions import ConnectionClosed
from websockets.http11 import Request, Response

from collaparte.hub.addresses import Addresses
from collaparte.hub.patience import Patience
from collaparte.hub.room import NotLetIn, Room
from collaparte.hub.stand import Stand
from collaparte.wire.codec import WireError, decode_from_client
from collaparte.wire.messages import (
    CLOSE_WRONG_MESSAGE,
    MAX_MESSAGE,
    Do,
    Faring,
    FromClient,
    Hello,
    LookBack,
    Ping,
    Pong,
    Refused,
    Shown,
    Sorry,
)

log = logging.getLogger(__name__)


class Sockets:
    """All open sockets of one hub."""

    def __init__(self, room: Room, addresses: Addresses, patience: Patience) -> None:
        self._room = room
        self._addresses = addresses
        self._patience = patience
        self._open: set[Stand] = set()
        self._servers: list[Server] = []
        self._beats: asyncio.Task[None] | None = None

    async def start(self, listening: socket.socket, tls: ssl.SSLContext | None = None) -> None:
        """Serve on a listening socket; on a further one, too, when called again."""
        server = await serve(
            self._converse,
            sock=listening,
            ssl=tls,
            process_request=self._may_open,
            compression=None,  # doubles the work for messages this small
            max_size=MAX_MESSAGE,
            max_queue=16,
            # The library's keepalive waits for a full write buffer, so it never drops a client that stops reading.
            ping_interval=None,
            open_timeout=self._patience.hello_within,
            close_timeout=self._patience.close_within,
            write_limit=self._patience.write_limit,
            server_header=None,
        )
        self._servers.append(server)
        self._beats = self._beats or asyncio.create_task(self._beat())

    async def stop(self) -> None:
        """Close every socket with "going away" (1001; RFC 6455, section 7.4.1) and stop."""
        if self._beats is not None:
            self._beats.cancel()
        for server in self._servers:
            server.close(close_connections=False)
        for stand in self._open:
            stand.end(1001, "The hub stops; it may come back.")
        for server in self._servers:
            await server.wait_closed()

    def _may_open(self, connection: ServerConnection, request: Request) -> Response | None:
        origins, hosts = request.headers.get_all("Origin"), request.headers.get_all("Host")
        if any(not self._addresses.knows_origin(origin) for origin in origins):
            return connection.respond(http.HTTPStatus.FORBIDDEN, "Only this hub's own pages may open a socket.\n")
        if len(hosts) != 1 or not self._addresses.knows_socket_host(hosts[0]):
            return connection.respond(http.HTTPStatus.FORBIDDEN, "This hub does not answer to that name.\n")
        return None

    async def _converse(self, connection: ServerConnection) -> None:
        address = str(connection.remote_address[0]).removeprefix("::ffff:") if connection.remote_address else ""
        stand = Stand(connection, address, self._patience)
        relay = asyncio.create_task(stand.relay())
        self._open.add(stand)
        try:
            if await self._let_in(stand, connection):
                async for data in connection:
                    await self._take(stand, data)
        except ConnectionClosed:
            pass
        finally:
            self._open.discard(stand)
            self._room.leave(stand)
            relay.cancel()
            await stand.ended()

    async def _let_in(self, stand: Stand, connection: ServerConnection) -> bool:
        """Wait for the first message; False when it is not one to be let in with."""
        try:
            async with asyncio.timeout(self._patience.hello_within):
                data = await connection.recv()
            message = _decoded(data)
        except TimeoutError:
            stand.end(CLOSE_WRONG_MESSAGE, "No hello came.")
            return False
        except WireError as error:
            return self._turn_away(stand, str(error), CLOSE_WRONG_MESSAGE)
        if not isinstance(message, Hello):
            return self._turn_away(stand, "The first message must be a hello.", CLOSE_WRONG_MESSAGE)
        try:
            self._room.join(stand, message)
        except NotLetIn as error:
            return self._turn_away(stand, str(error), error.code)
        return True

    def _turn_away(self, stand: Stand, why: str, code: int) -> bool:
        stand.send(Sorry(why))
        stand.end(code, why)
        return False

    async def _take(self, stand: Stand, data: str | bytes) -> None:
        try:
            message = _decoded(data)
        except WireError as error:
            # Whoever waits for an answer to a command gets one.
            asked = _asked_id(data)
            stand.send(Sorry(str(error)) if asked is None else Refused(asked, str(error)))
            return
        match message:
            case Do():
                stand.send(await self._room.do(stand, message))
            case Shown():
                self._room.shown(stand, message)
            case Faring():
                self._room.fares(stand, message)
            case LookBack():
                stand.send(await self._room.look_back(message))
            case Pong():
                stand.pong(message.n, asyncio.get_running_loop().time())
            case Ping():
                stand.send(Pong(message.n))
            case Hello():
                try:
                    self._room.join(stand, message)
                except NotLetIn as error:
                    self._turn_away(stand, str(error), error.code)

    async def _beat(self) -> None:
        while True:
            await asyncio.sleep(self._patience.beat)
            now = asyncio.get_running_loop().time()
            for stand in _joined(self._open):
                stand.beat(now)


def _joined(stands: Iterable[Stand]) -> list[Stand]:
    return [stand for stand in stands if stand.hello.client]


def _decoded(data: str | bytes) -> FromClient:
    if isinstance(data, bytes):
        raise WireError("This message does not fit the protocol: it is not in a text frame.")
    return decode_from_client(data)


class _Asked(msgspec.Struct, tag="do"):
    id: str


def _asked_id(data: str | bytes) -> str | None:
    try:
        return msgspec.json.decode(data, type=_Asked).id
    except msgspec.DecodeError:
        return None
