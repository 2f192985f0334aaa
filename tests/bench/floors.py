"""The least that each job can cost: what the hub is measured against, in the same run on the same machine."""

import asyncio
import contextlib
import sqlite3
import sys
from pathlib import Path

from websockets.asyncio.server import ServerConnection, broadcast, serve


def commit_once(database: sqlite3.Connection, data: bytes) -> None:
    """One durable commit of one row."""
    with database:
        database.execute("INSERT INTO log(data) VALUES (?)", (data,))


def open_bare(path: Path) -> sqlite3.Connection:
    """A database in the hub's own modes: WAL, synchronous=FULL."""
    database = sqlite3.connect(path, isolation_level="IMMEDIATE")
    database.execute("PRAGMA journal_mode=WAL")
    database.execute("PRAGMA synchronous=FULL")
    database.execute("CREATE TABLE IF NOT EXISTS log(seq INTEGER PRIMARY KEY, data BLOB)")
    return database


async def serve_bare(folder: Path) -> None:
    """A server that does nothing but commit and pass on: "b..." goes to everyone, anything else back to its sender.

    Prints its port. The commit runs on the loop, which is the quickest that one commit and one broadcast can be.
    """
    database = open_bare(folder / "bare.sqlite")
    everyone: set[ServerConnection] = set()

    async def handle(socket: ServerConnection) -> None:
        everyone.add(socket)
        try:
            async for message in socket:
                data = message.encode() if isinstance(message, str) else message
                commit_once(database, data)
                if data.startswith(b"b"):
                    broadcast(everyone, data.decode())
                else:
                    await socket.send(message)
        finally:
            everyone.discard(socket)

    async with serve(handle, "127.0.0.1", 0, compression=None, ping_interval=None) as server:
        print(next(iter(server.sockets)).getsockname()[1], flush=True)
        with contextlib.suppress(asyncio.CancelledError):
            await asyncio.Event().wait()


if __name__ == "__main__":
    asyncio.run(serve_bare(Path(sys.argv[1])))
