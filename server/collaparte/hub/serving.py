"""One hub, whole: a band folder opened, its log read, its two listeners, its workers and its announcement."""

import asyncio
import contextlib
import datetime
import logging
import secrets
import socket
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from collaparte.band.state import State
from collaparte.hub.addresses import Addresses, PortTaken, listen
from collaparte.hub.book_pages import book_routes
from collaparte.hub.desk import Desk
from collaparte.hub.desk_pages import desk_routes
from collaparte.hub.desk_parts import DeskParts
from collaparte.hub.discovery import Announcement, NameTaken
from collaparte.hub.http import HttpServer
from collaparte.hub.pages import SecureInfo, pages
from collaparte.hub.parts import Parts
from collaparte.hub.patience import Patience
from collaparte.hub.printed import printed_routes
from collaparte.hub.room import Room
from collaparte.hub.sockets import Sockets
from collaparte.hub.source import how_to_trust, tablet_folder
from collaparte.hub.stored import Stored
from collaparte.hub.workers import JobFailed, Pool
from collaparte.hub.writer import Writer
from collaparte.store.files import FilesError
from collaparte.store.folder import BandFolder, FolderError
from collaparte.store.log import Log, LogError
from collaparte.store.settings import Codes, Ports, Settings
from collaparte.wire.events import Event

if TYPE_CHECKING:
    from collaparte.hub.secure import Secure

log = logging.getLogger(__name__)


class CannotServe(Exception):
    """The hub does not start, or had to stop: one sentence."""


class Hub:
    """A hub that serves. `notices`: a sentence each about the network or TLS when they are not as they should be."""

    def __init__(
        self,
        folder: BandFolder,
        addresses: Addresses,
        writer: Writer,
        room: Room,
        announcement: Announcement | None,
    ) -> None:
        self.addresses = addresses
        self.codes: Codes = folder.settings.codes
        self.writer = writer
        self.room = room
        self.notices: list[str] = []
        self.secure: Secure | None = None
        self._announcement = announcement
        self._folder_name = folder.path.name
        self._working: list[asyncio.Task[None]] = []

    @property
    def band(self) -> str:
        """The band's name."""
        return self.writer.state.name or self._folder_name

    async def broken(self) -> None:
        """Wait until the hub cannot go on. Raises `CannotServe`."""
        done, _ = await asyncio.wait(self._working, return_when=asyncio.FIRST_COMPLETED)
        error = next(iter(done)).exception()
        log.error("the hub stopped by itself", exc_info=error)
        raise CannotServe(f"{error or 'The hub stopped by itself: see its log.'}") from error

    def work(self, *tasks: asyncio.Task[None]) -> None:
        """These run for as long as the hub does."""
        self._working.extend(tasks)

    async def stop_work(self) -> None:
        """End what runs."""
        for task in self._working:
            task.cancel()
        await asyncio.gather(*self._working, return_exceptions=True)

    async def announce(self) -> None:
        """Announce the hub. Raises `NameTaken`."""
        if self._announcement is not None and (notice := await self._announcement.start(self.band)):
            self.notices.append(notice)

    async def look_around(self, every: float) -> None:
        """Announce anew, and sign anew, when the machine's addresses or the band's name changed."""
        band = self.band
        while True:
            await asyncio.sleep(every)
            if self.addresses.look() or band != self.band:
                band = self.band
                log.info("announced anew: %s at %s", band, ", ".join(self.addresses.urls()))
                if self._announcement is not None:
                    await self._announcement.renew(band)
            if self.secure is not None:
                await asyncio.to_thread(self.secure.look, _now())

    def secure_info(self) -> SecureInfo | None:
        """Where the hub's pages are over TLS."""
        at, origin = self.addresses.secure, self.addresses.secure_canonical
        if self.secure is None or at is None or origin is None:
            return None
        leaf = self.secure.leaf
        return SecureInfo(origin, at.http, leaf.since.timestamp(), leaf.until.timestamp())


@contextlib.asynccontextmanager
async def serve(
    path: Path,
    *,
    port: int | None = None,
    announced: bool = True,
    patience: Patience | None = None,
    workers: int | None = None,
) -> AsyncIterator[Hub]:
    """Serve a band folder; `port` is kept for later (the sockets take the next one). Raises `CannotServe`."""
    async with AsyncExitStack() as closing:
        try:
            hub = await _start(closing, path, port, announced, patience or Patience(), workers)
        except (FolderError, FilesError, LogError, PortTaken, NameTaken) as error:
            raise CannotServe(str(error)) from error
        yield hub


async def _start(
    closing: AsyncExitStack, path: Path, port: int | None, announced: bool, patience: Patience, workers: int | None
) -> Hub:
    folder = await asyncio.to_thread(BandFolder.open, path, "serve", _now().isoformat(timespec="seconds"))
    closing.push_async_callback(asyncio.to_thread, folder.close)
    if port is not None and port != folder.settings.ports.http:
        await asyncio.to_thread(folder.set_ports, Ports(port, port + 1))
    ports = folder.settings.ports
    for_pages = closing.enter_context(contextlib.closing(listen(ports.http)))
    for_sockets = closing.enter_context(contextlib.closing(listen(ports.socket)))
    addresses = Addresses(folder.settings.host, ports.http, ports.socket)

    band_log = await Log.open(folder.log_path, epoch=secrets.token_hex(8))
    closing.push_async_callback(band_log.close)
    stored = Stored(folder.files)
    closing.push_async_callback(stored.stop)
    pool = Pool(workers)
    writer = Writer(band_log, await band_log.state())
    # Stands are let in while the workers still start; layings wait for them.
    closing.push_async_exit(pool)
    starting = asyncio.create_task(_start_workers(pool))
    closing.push_async_callback(_end, starting)
    parts = Parts(pool, starting, lambda: writer.state, stored.get, stored.keep)
    closing.push_async_callback(parts.stop)
    room = Room(writer, parts, folder.settings.codes, band_log.epoch, patience)
    desk = Desk(writer, folder.files, folder.path / "incoming", pool, starting)
    await desk.tidy()
    desk.changed, room.desk = room.show_desk, lambda: desk.view
    desk_parts = DeskParts(lambda: writer.state, folder.files, pool, starting, stored.keep)

    def tell(before: State, after: State, events: tuple[Event, ...]) -> None:
        room.tell(before, after, events)
        desk.decided(after.seq, events)

    writer.tell = tell
    announcement = Announcement(addresses, band_log.epoch) if announced else None
    if announcement is not None:
        closing.push_async_callback(announcement.stop)
    hub = Hub(folder, addresses, writer, room, announcement)
    await hub.announce()

    closing.push_async_callback(hub.stop_work)
    hub.work(
        asyncio.create_task(writer.run()),
        asyncio.create_task(room.watch()),
        asyncio.create_task(desk.run()),
        asyncio.create_task(desk.mending.run()),
        asyncio.create_task(hub.look_around(patience.look_every)),
    )
    tablet = await asyncio.to_thread(tablet_folder)
    routes = desk_routes(desk, desk_parts, folder.settings.codes)
    routes += printed_routes(lambda: writer.state, desk_parts)
    routes += book_routes(lambda: writer.state, stored.get, pool, starting, folder.settings.codes)
    hub.secure = secure = await asyncio.to_thread(_secured, folder.settings, addresses, hub.notices)
    if secure is not None:
        closing.callback(secure.close)
        routes += secure.routes(await asyncio.to_thread(how_to_trust))
    app = pages(addresses, lambda: hub.band, band_log.epoch, stored.find, tablet, routes, hub.secure_info)
    sockets = Sockets(room, addresses, patience)
    await _answer(closing, HttpServer(app), for_pages)
    closing.push_async_callback(sockets.stop)
    await sockets.start(for_sockets)
    if secure is not None:
        await _answer(closing, HttpServer(app, secure.context), secure.for_pages)
        await sockets.start(secure.for_sockets, secure.context)
    return hub


async def _answer(closing: AsyncExitStack, http: HttpServer, listening: socket.socket) -> None:
    closing.push_async_callback(http.stop)
    await http.start(listening)


def _secured(own: Settings, addresses: Addresses, notices: list[str]) -> "Secure | None":
    """The listeners over TLS, if the band has a certificate; when they cannot be had, a sentence, and plain http."""
    if own.secure is None:
        return None
    # Here and not above: who has no certificate does not wait for the library.
    from collaparte.hub.secure import NotSecure, Secure

    try:
        return Secure.start(own.secure, addresses, _now())
    except NotSecure as error:
        notices.append(f"{error} Until then stands are reached by plain http only.")
        return None


def _now() -> datetime.datetime:
    return datetime.datetime.now().astimezone()


async def _start_workers(pool: Pool) -> None:
    try:
        await pool.__aenter__()
    except JobFailed as error:
        # Each is tried again when it is needed.
        log.warning("%s", error)


async def _end(task: asyncio.Task[None]) -> None:
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)
