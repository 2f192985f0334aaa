"""The librarian's desk: files that come in over the network, read and kept while the band plays on.

Files wait in a folder of their own until it is clear what they are; a question stays open until it is answered or the
file is put away. One go is worked on at a time.
"""

import asyncio
import logging
import re
import secrets
import shutil
from collections.abc import AsyncIterator, Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from collaparte.band.roles import EVERY_ROLE
from collaparte.hub.bringing import understand
from collaparte.hub.gathering import Came
from collaparte.hub.incoming import Became, Incoming, Told, Understood
from collaparte.hub.keeping import keep
from collaparte.hub.limits import MB
from collaparte.hub.mending import Mending
from collaparte.hub.workers import Pool
from collaparte.hub.writer import Writer
from collaparte.store.files import Files, FilesError
from collaparte.wire.events import (
    ChairAdded,
    ChairMoved,
    ChairRemoved,
    ChairRenamed,
    CorrectionMade,
    CorrectionTakenBack,
    Event,
    PartBrought,
    PartsSeated,
    RulerMended,
    RulerMinted,
    TuneAdded,
)
from collaparte.wire.messages import Refused
from collaparte.wire.views import CameRow, DeskView

WAITING_MOST = 500
"""Files that wait at once: all the parts of a large band's evening."""
WAITING_MB = 2000
BLOCK = MB
"""Bytes written at a time."""
ROWS_MOST = 600
NAME_MOST = 120

SAID_HERE = (
    (": tell it with --tune.", ": say the tune."),
    (": tell it with --chair.", ": say the chair."),
    (
        "bring the one that counts, or bring this one with --chair or --as-new.",
        "say its chair, or take it as one more.",
    ),
    (
        "bring it with --tune and --chair if it replaces it, or with --as-new if it is another part.",
        "take it in its place, or as one more.",
    ),
)
"""What the command line says, and what one does at the desk instead."""


log = logging.getLogger(__name__)


OF_THE_LIBRARY = (
    *(ChairAdded, ChairRenamed, ChairMoved, ChairRemoved),
    *(TuneAdded, RulerMinted, RulerMended, PartBrought, PartsSeated),
    *(CorrectionMade, CorrectionTakenBack),
)
"""Events after which the desk's list of parts is another."""


class NotTaken(Exception):
    """A file that is not taken: one sentence, and the HTTP status that goes with it."""

    def __init__(self, why: str, status: int) -> None:
        super().__init__(why)
        self.status = status


@dataclass
class _Waiting:
    came: Came
    size: int


class Desk:
    """What comes in. `changed` is called when `view` is another."""

    def __init__(
        self,
        writer: Writer,
        files: Files,
        folder: Path,
        pool: Pool,
        started: asyncio.Task[None],
    ) -> None:
        self._writer = writer
        self._files = files
        self._folder = folder
        self._pool = pool
        self._started = started
        self.changed: Callable[[], None] = lambda: None
        self.mending = Mending(writer, files, pool, started, self._tell)
        self._waiting: dict[str, _Waiting] = {}
        self._rows: dict[str, tuple[CameRow, ...]] = {}
        self._goes: asyncio.Queue[tuple[tuple[str, ...], Told]] = asyncio.Queue()
        self._done = self._of = 0
        self._what = ""
        self._seq = writer.state.seq

    @property
    def view(self) -> DeskView:
        """What the librarian is shown."""
        rows = tuple(row for rows in self._rows.values() for row in rows)
        return DeskView(
            seq=self._seq,
            came=rows[-ROWS_MOST:],
            done=self._done,
            of=self._of,
            what=self._what,
            mending=tuple(f"{tune}/{part}" for tune, part in self.mending.busy),
            said=self.mending.said,
        )

    def decided(self, seq: int, events: Sequence[Event]) -> None:
        """Events were decided, up to this sequence."""
        if any(isinstance(event, OF_THE_LIBRARY) for event in events):
            self._seq = seq
            self.mending.look()
            self._tell()

    def _tell(self) -> None:
        self.changed()

    async def tidy(self) -> None:
        """Put away what an earlier run left lying."""
        await asyncio.to_thread(shutil.rmtree, self._folder, True)

    async def take(self, name: str, folders: Sequence[str], body: AsyncIterator[bytes]) -> str:
        """Keep a file that is sent until it is brought in; its id. Raises `NotTaken`, with nothing kept."""
        most = self._pool.limits.file_mb
        if len(self._waiting) >= WAITING_MOST:
            raise NotTaken(f"{WAITING_MOST} files wait already: bring those in first.", 413)
        if sum(one.size for one in self._waiting.values()) > WAITING_MB * MB:
            raise NotTaken(f"More than {WAITING_MB} MB wait already: bring those in first.", 413)
        id = secrets.token_hex(8)
        shown = _plain(name) or "file.pdf"
        path = self._folder / id / shown
        try:
            size = await self._write(path, shown, body, most)
        except (NotTaken, OSError) as error:
            await asyncio.to_thread(shutil.rmtree, path.parent, True)
            if isinstance(error, OSError):
                raise NotTaken(f"{shown} could not be kept: {error.strerror}.", 507) from error
            raise
        except asyncio.CancelledError:
            await asyncio.shield(asyncio.to_thread(shutil.rmtree, path.parent, True))
            raise
        folders = tuple(filter(None, map(_plain, folders)))[:8]
        self._waiting[id] = _Waiting(Came(path, shown, folders), size)
        self._rows[id] = (CameRow(id, shown, "waiting"),)
        self._tell()
        return id

    async def _write(self, path: Path, name: str, body: AsyncIterator[bytes], most: int) -> int:
        await asyncio.to_thread(path.parent.mkdir, parents=True)
        size, block = 0, bytearray()
        async for data in body:
            size += len(data)
            if size > most * MB:
                raise NotTaken(f"{name} is more than the {most} MB that are opened: split it, or scan it in grey.", 413)
            block += data
            if len(block) >= BLOCK:
                await asyncio.to_thread(_append, path, bytes(block))
                block.clear()
        if not size:
            raise NotTaken(f"{name} is empty (0 bytes): export or copy it again.", 400)
        await asyncio.to_thread(_append, path, bytes(block))
        return size

    def bring(self, ids: Sequence[str], told: Told) -> None:
        """Have files brought in that wait. Raises `NotTaken` when one does not wait any more."""
        for id in ids:
            if id not in self._waiting:
                raise NotTaken("This file is not at the desk any more: send it again.", 404)
        for id in ids:
            self._rows[id] = (CameRow(id, self._waiting[id].came.name, "being read"),)
        self._goes.put_nowait((tuple(ids), told))
        self._tell()

    async def take_again(self, tune: str, part: str, told: Told) -> None:
        """Bring a part's own file in again, for another tune or chair. Raises `NotTaken`."""
        there = self._writer.state.tunes[tune].parts[part].current
        try:
            pdf = await asyncio.to_thread(self._files.get, there.original)
        except FilesError as error:
            raise NotTaken(str(error), 404) from error

        async def body() -> AsyncIterator[bytes]:
            yield pdf

        self.bring([await self.take(there.file_name or "part.pdf", (), body())], told)

    async def put_away(self, ids: Sequence[str]) -> None:
        """Forget files, and what was said of them."""
        for id in ids:
            self._rows.pop(id, None)
            await self._drop(id)
        self._tell()

    async def _drop(self, id: str) -> None:
        if waiting := self._waiting.pop(id, None):
            await asyncio.to_thread(shutil.rmtree, waiting.came.path.parent, True)

    async def run(self) -> None:
        """Bring in what comes, for as long as the task lives."""
        await asyncio.wait([self._started])
        while True:
            ids, told = await self._goes.get()
            here = [id for id in ids if id in self._waiting]
            try:
                await self._bring(here, told)
            except FilesError as error:
                self._say(here, str(error))
            except Exception:
                log.exception("files could not be brought in")
                self._say(here, "This could not be brought in: see the hub's log.")
            finally:
                self._done = self._of = 0
                self._what = ""
            self._tell()

    def _say(self, ids: Sequence[str], why: str) -> None:
        for id in ids:
            if id in self._waiting:
                self._rows[id] = (CameRow(id, self._waiting[id].came.name, Became.LEFT.value, why=why),)

    async def _bring(self, ids: Sequence[str], told: Told) -> None:
        state = self._writer.state
        by_path = {self._waiting[id].came.path: id for id in ids}
        found = await understand(
            [self._waiting[id].came for id in ids], state, self._files, self._pool, told, self._progress
        )
        owners = _owners(found.incoming, [(self._waiting[id].came, id) for id in ids])
        self._show(found, owners, cutting=True)
        commands = await keep(found, state, self._files, self._pool, self._progress)
        answers = await asyncio.gather(
            *(self._writer.do("desk", secrets.token_hex(8), command, EVERY_ROLE) for command in commands)
        )
        self._show(found, owners, cutting=False)
        refused = [answer.why for answer in answers if isinstance(answer, Refused)]
        if refused:
            self._say(ids, f"{refused[0]} Bring it in again.")
            return
        asked = {owners[n] for n, part in enumerate(found.incoming) if part.became is Became.ASKED}
        for id in by_path.values():
            if id not in asked:
                await self._drop(id)

    def _progress(self, done: int, of: int, what: str) -> None:
        self._done, self._of, self._what = done, of, what
        self._tell()

    def _show(self, found: Understood, owners: Sequence[str], *, cutting: bool) -> None:
        rows: dict[str, list[CameRow]] = {}
        for part, id in zip(found.incoming, owners, strict=True):
            if id:
                rows.setdefault(id, []).append(_row(id, part, found, cutting=cutting))
        for id, own in rows.items():
            self._rows[id] = tuple(own)
        self._tell()


def _owners(incoming: Sequence[Incoming], came: Sequence[tuple[Came, str]]) -> list[str]:
    """For each part the id of the file that it is of; "" for one that was in the library before.

    Files of one name come in the order in which they were sent.
    """
    out = []
    left: dict[str, list[str]] = {}
    for one, id in came:
        left.setdefault(one.name, []).append(id)
    current: dict[str, tuple[str, str]] = {}
    for part in incoming:
        known = current.get(part.file)
        if known and known[0] == part.original and part.original:
            out.append(known[1])
        elif left.get(part.file):
            id = left[part.file].pop(0)
            current[part.file] = (part.original, id)
            out.append(id)
        else:
            out.append(known[1] if known else "")
    return out


def _row(id: str, part: Incoming, found: Understood, *, cutting: bool) -> CameRow:
    chairs = " + ".join(found.seating.name(chair) for chair in part.chairs) or part.name
    chairs = "Score" if part.score else chairs
    became = "being cut" if cutting and part.comes_in else part.became.value
    return CameRow(
        id=id,
        file=part.file,
        became=became,
        title=found.titles.get(part.tune, part.proposal.title),
        part=chairs,
        why=_here(part.why),
        doubts=tuple(map(_here, dict.fromkeys(part.doubts))),
        bars=part.positions,
        marks=len(part.marks),
    )


def _here(words: str) -> str:
    for said, instead in SAID_HERE:
        words = words.replace(said, instead)
    return words


def _plain(name: str) -> str:
    """A name that is one file's or folder's and nothing else."""
    name = re.sub(r"[\x00-\x1f\x7f<>:\"|?*]", "", re.split(r"[/\\]", name)[-1]).strip(" .")
    while len(name.encode()) > NAME_MOST:
        stem, dot, suffix = name.rpartition(".")
        name = f"{(stem or suffix)[:-1]}{dot}{suffix}" if dot and len(stem) > 1 else name[:-1]
    return name


def _append(path: Path, data: bytes) -> None:
    with path.open("ab") as file:
        file.write(data)


class AskedAgain(msgspec.Struct):
    """`POST /desk/bring`: which files, and what is said of them by hand."""

    files: tuple[str, ...]
    tune: str = ""
    chair: str = ""
    as_new: bool = False
    take: bool = False

    @property
    def told(self) -> Told:
        """As bringing takes it."""
        return Told(self.tune.strip(), self.chair.strip(), self.as_new, self.take)
