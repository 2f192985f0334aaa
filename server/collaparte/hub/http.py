"""Serving an HTTP application on a socket that is already bound, inside the hub's own event loop."""

import asyncio
import contextlib
import socket
import ssl
from collections.abc import Iterator

import uvicorn
from starlette.types import ASGIApp

STOP_WITHIN = 2
"""Seconds that open requests are waited for."""


class _Server(uvicorn.Server):
    def __init__(self, config: uvicorn.Config) -> None:
        super().__init__(config)
        self.ready = asyncio.Event()

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Note when requests are answered."""
        await super().startup(sockets)
        self.ready.set()

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """The hub has its own answer to signals."""
        yield


class HttpServer:
    """One HTTP server."""

    def __init__(self, app: ASGIApp, tls: ssl.SSLContext | None = None) -> None:
        config = uvicorn.Config(
            app,
            http="h11",
            ws="none",
            lifespan="off",
            log_config=None,
            access_log=False,
            server_header=False,
            timeout_keep_alive=30,
            timeout_graceful_shutdown=STOP_WITHIN,
            # A context of the hub's own: its certificate changes while it serves.
            ssl_context_factory=None if tls is None else lambda *_: tls,
        )
        self._server = _Server(config)
        self._serving: asyncio.Task[None] | None = None

    async def start(self, listening: socket.socket) -> None:
        """Serve on a listening socket; returns when requests are answered."""
        self._serving = asyncio.create_task(self._server.serve([listening]))
        await self._server.ready.wait()

    async def stop(self) -> None:
        """Answer what is open, then stop."""
        self._server.should_exit = True
        if self._serving is not None:
            await self._serving
