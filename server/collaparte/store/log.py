"""The log: every event that was decided, in SQLite, durable before anyone is told.

One connection, one writer; what is appended in one call is committed as one. The `commands` table keeps what each
command came to, so that one sent twice gets the answer of the first time.
"""

import asyncio
import contextlib
import shutil
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, Self

import aiosqlite
import msgspec

from collaparte.band.apply import fold
from collaparte.band.state import State
from collaparte.wire.codec import decode_event, encode
from collaparte.wire.events import Event

FORMAT = 1
"""Of the database's tables; events have versions of their own."""

_FULL = 2
"""PRAGMA synchronous: the write-ahead log is synced at every commit (sqlite.org/pragma.html)."""

_PATIENCE = 1.0
"""Seconds to wait for another program that holds the database; a stand gives up on its command after two."""

_TABLES = (
    "CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT",
    "CREATE TABLE commands (client TEXT NOT NULL, command TEXT NOT NULL, answer TEXT NOT NULL, at TEXT NOT NULL,"
    " PRIMARY KEY (client, command)) STRICT, WITHOUT ROWID",
    "CREATE TABLE events (seq INTEGER PRIMARY KEY, type TEXT NOT NULL, v INTEGER NOT NULL, json TEXT NOT NULL,"
    " client TEXT NOT NULL, command TEXT NOT NULL, author TEXT NOT NULL, at TEXT NOT NULL) STRICT",
)


class LogError(Exception):
    """The log cannot be opened, read or written: one sentence. After a failed append nothing has changed."""


class Broken(LogError):
    """It is not known what the disk holds; stop, so that nobody is told what may not last."""


class Entry(msgspec.Struct, frozen=True):
    """One command and what came of it. `answer`: what the client is told, to be given again if it asks again."""

    client: str
    command: str
    author: str
    events: tuple[Event, ...]
    answer: str


class Logged(msgspec.Struct, frozen=True):
    """One event as it stands in the log."""

    seq: int
    event: Event
    author: str
    at: str


class Log:
    """An open log. `epoch` names this database for ever; `seq` is the last event's sequence, 0 for none."""

    def __init__(self, connection: aiosqlite.Connection, epoch: str, seq: int) -> None:
        self._connection = connection
        self._writing = asyncio.Lock()
        self.epoch = epoch
        self.seq = seq

    @classmethod
    async def open(cls, path: Path, *, epoch: str) -> Self:
        """Open the log at `path`, or make it, then with this epoch. Raises `LogError`."""
        try:
            connection = await _connect(path)
        except (sqlite3.Error, OSError) as error:
            raise LogError(f"The log {path} cannot be opened: {error}.") from error
        try:
            await _prepare(connection, epoch)
            about = dict(await _rows(connection, "SELECT name, value FROM about"))
            if int(about["format"]) > FORMAT:
                raise LogError(f"The log {path} was written by a newer release; start that one.")
            last = await _rows(connection, "SELECT coalesce(max(seq), 0) FROM events")
            return cls(connection, about["epoch"], last[0][0])
        except (sqlite3.Error, KeyError, ValueError) as error:
            await connection.close()
            raise LogError(
                f"The log {path} cannot be read: {error}. Keep the file and restore a copy of it."
            ) from error
        except BaseException:
            await connection.close()
            raise

    async def close(self) -> None:
        """Close the log; what was appended is durable already."""
        await self._connection.close()

    async def append(self, entries: Sequence[Entry], at: str) -> int:
        """Commit what came of these commands, all or nothing, and return the new last sequence.

        `at`: the time, for people to read. Raises `LogError` with nothing changed, or `Broken`.
        """
        # A cancelled caller must not leave half a transaction open.
        return await asyncio.shield(self._append(tuple(entries), at))

    async def _append(self, entries: Sequence[Entry], at: str) -> int:
        async with self._writing:
            commands = [(entry.client, entry.command, entry.answer, at) for entry in entries]
            events = list(_event_rows(entries, self.seq, at))
            try:
                # The first statement opens the transaction; each await is a hop to SQLite's thread, so there are few.
                await self._connection.executemany("INSERT INTO commands VALUES (?, ?, ?, ?)", commands)
                await self._connection.executemany("INSERT INTO events VALUES (?, ?, ?, ?, ?, ?, ?, ?)", events)
                await self._connection.commit()
            except sqlite3.Error as error:
                await self._undo(error)
                raise LogError(f"{_why(error)} Nothing was changed.") from error
            self.seq += len(events)
            return self.seq

    async def _undo(self, error: sqlite3.Error) -> None:
        """Roll back, and make sure that the disk holds what it held before."""
        try:
            await self._connection.rollback()
            last = await _rows(self._connection, "SELECT coalesce(max(seq), 0) FROM events")
        except sqlite3.Error as second:
            raise Broken(f"The log can neither be written nor read ({error}; {second}). Restart the hub.") from second
        if last[0][0] != self.seq:
            raise Broken(f"The log stands at {last[0][0]} and not at {self.seq}: another program wrote to it.")

    async def answers(self, asked: Iterable[tuple[str, str]]) -> dict[tuple[str, str], str]:
        """What these commands (client, command id) came to when they were first asked; unknown ones are left out."""
        found = {}
        for client, command in asked:
            rows = await self._read("SELECT answer FROM commands WHERE client = ? AND command = ?", (client, command))
            if rows:
                found[client, command] = str(rows[0][0])
        return found

    async def read(self, since: int = 0) -> list[Logged]:
        """The events after this sequence, in order. Raises `LogError`."""
        rows = await self._read("SELECT seq, json, author, at FROM events WHERE seq > ? ORDER BY seq", (since,))
        return [Logged(seq, decode_event(json), author, at) for seq, json, author, at in rows]

    async def newest(self, kinds: Sequence[str], *, since: int, before: int, most: int) -> list[Logged]:
        """The newest events of these types between two sequences, both left out (`before` 0: up to now), newest first.

        Raises `LogError`.
        """
        places = ", ".join("?" * len(kinds))
        rows = await self._read(
            f"SELECT seq, json, author, at FROM events WHERE type IN ({places}) AND seq > ? AND (? = 0 OR seq < ?)"
            " ORDER BY seq DESC LIMIT ?",
            (*kinds, since, before, before, most),
        )
        return [Logged(seq, decode_event(json), author, at) for seq, json, author, at in rows]

    async def state(self) -> State:
        """The fold over the whole log. Raises `LogError`."""
        return fold(logged.event for logged in await self.read())

    async def _read(self, sql: str, values: tuple[object, ...]) -> list[tuple[Any, ...]]:
        try:
            return await _rows(self._connection, sql, values)
        except sqlite3.Error as error:
            raise LogError(f"The log cannot be read: {error}.") from error


def state_of(path: Path) -> State:
    """The state that the log at `path` holds now; nothing is held or changed, whether a hub serves it or not.

    Blocks. Raises `LogError`.
    """
    try:
        rows = _events_in(path)
    except (sqlite3.Error, OSError) as error:
        raise LogError(f"The log {path} cannot be read: {error}.") from error
    return fold(decode_event(json) for json in rows)


def _events_in(path: Path) -> list[str]:
    try:
        return _look(path)
    except sqlite3.OperationalError:
        # On a disk that cannot be written to, SQLite does not open a log that was not closed: read a copy of it.
        with tempfile.TemporaryDirectory() as folder:
            for suffix in ("", "-wal"):
                if (source := path.with_name(path.name + suffix)).exists():
                    shutil.copy(source, Path(folder, path.name + suffix))
            return _look(Path(folder, path.name))


def _look(path: Path) -> list[str]:
    with contextlib.closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as connection:
        about = dict(connection.execute("SELECT name, value FROM about"))
        if int(about["format"]) > FORMAT:
            raise LogError(f"The log {path} was written by a newer release; use that one.")
        return [str(row[0]) for row in connection.execute("SELECT json FROM events ORDER BY seq")]


def _event_rows(
    entries: Iterable[Entry], last: int, at: str
) -> Iterator[tuple[int, str, int, str, str, str, str, str]]:
    """Rows for the events table, numbered on from the last sequence without a gap."""
    for entry in entries:
        for event in entry.events:
            last += 1
            kind = str(event.__struct_config__.tag)
            yield last, kind, event.v, encode(event).decode(), entry.client, entry.command, entry.author, at


async def _connect(path: Path) -> aiosqlite.Connection:
    """A connection that is durable: write-ahead log, synced at every commit; both are read back."""
    connection = await aiosqlite.connect(path, timeout=_PATIENCE)
    try:
        mode = await _rows(connection, "PRAGMA journal_mode=WAL")
        # Unlike the journal mode, this is the connection's and not the file's: it must be said every time.
        await connection.execute("PRAGMA synchronous=FULL")
        synchronous = await _rows(connection, "PRAGMA synchronous")
        if mode[0][0] != "wal" or synchronous[0][0] != _FULL:
            raise LogError(
                f"The log {path} cannot be kept safely here (journal {mode[0][0]}, synchronous {synchronous[0][0]});"
                " put the band folder on a disk of this machine."
            )
    except BaseException:
        await connection.close()
        raise
    return connection


async def _prepare(connection: aiosqlite.Connection, epoch: str) -> None:
    """Make the tables, all or none, in a database that has none."""
    if await _rows(connection, "SELECT 1 FROM sqlite_schema WHERE name = 'about'"):
        return
    await connection.execute("BEGIN IMMEDIATE")
    for table in _TABLES:
        await connection.execute(table)
    about = [("format", str(FORMAT)), ("epoch", epoch)]
    await connection.executemany("INSERT INTO about VALUES (?, ?)", about)
    await connection.commit()


async def _rows(connection: aiosqlite.Connection, sql: str, values: Iterable[object] = ()) -> list[tuple[Any, ...]]:
    return [tuple(row) for row in await connection.execute_fetchall(sql, values)]


def _why(error: sqlite3.Error) -> str:
    """What went wrong with the disk, in one sentence."""
    match getattr(error, "sqlite_errorname", ""):
        case "SQLITE_FULL":
            return "The hub's disk is full, so this could not be kept; free some space there and ask again."
        case "SQLITE_BUSY" | "SQLITE_LOCKED":
            return "Another program holds the band's log; close it and ask again."
        case "SQLITE_READONLY" | "SQLITE_CANTOPEN" | "SQLITE_PERM":
            return "The hub may not write to the band folder; give it back that right and ask again."
        case "SQLITE_CONSTRAINT_PRIMARYKEY" | "SQLITE_CONSTRAINT_UNIQUE":
            return "A command of this id is in the log already."
        case _:
            return f"The band's log could not be written ({error})."
