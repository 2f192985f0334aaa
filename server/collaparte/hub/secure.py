"""The hub over TLS, beside plain http, with a leaf for the addresses that the machine has now."""

import datetime
import logging
import socket
import ssl
import tempfile
from contextlib import ExitStack
from pathlib import Path
from typing import Self

from starlette.routing import Route

from collaparte.hub.addresses import Addresses, PortTaken, listen
from collaparte.hub.certificates import Leaf, Root, make_leaf
from collaparte.hub.root_file import RootError, kept_root, root_path
from collaparte.hub.trusting import trusting_routes
from collaparte.store.settings import Ports

log = logging.getLogger(__name__)


class NotSecure(Exception):
    """There is no TLS now; plain http goes on. One sentence why and what to do."""


class Secure:
    """A root at work: two listeners, the TLS that they speak, the leaf that they show. Everything here blocks."""

    def __init__(
        self,
        root: Root,
        addresses: Addresses,
        for_pages: socket.socket,
        for_sockets: socket.socket,
        now: datetime.datetime,
    ) -> None:
        self.root = root
        self.for_pages = for_pages
        self.for_sockets = for_sockets
        self._addresses = addresses
        self._signed: tuple[str, ...] = ()
        self.leaf, self._showing = self._sign(now)
        self.context = self._showing
        self.context.sni_callback = self._show

    @classmethod
    def start(cls, ports: Ports, addresses: Addresses, now: datetime.datetime) -> Self:
        """Listen at these ports with the root that this machine keeps. Raises `NotSecure`."""
        choose = "`collaparte certificate BAND_FOLDER --port`"
        with ExitStack() as opened:
            try:
                root = kept_root(root_path(addresses.host))
                for_pages = opened.enter_context(listen(ports.http, choose=choose))
                for_sockets = opened.enter_context(listen(ports.socket, choose=choose))
            except (RootError, PortTaken) as error:
                raise NotSecure(str(error)) from error
            secure = cls(root, addresses, for_pages, for_sockets, now)
            opened.pop_all()
        addresses.secure = ports
        return secure

    def close(self) -> None:
        """Listen no more."""
        self.for_pages.close()
        self.for_sockets.close()

    def routes(self, how_to: Path) -> list[Route]:
        """Pages about trusting the root."""
        return trusting_routes(self._addresses, self.root, how_to)

    def look(self, now: datetime.datetime) -> None:
        """Sign anew if the machine's addresses changed, or the leaf is past half of its time or not yet in it."""
        half = self.leaf.since + (self.leaf.until - self.leaf.since) / 2
        if self._signed == self._addresses.bare and self.leaf.since <= now <= half:
            return
        try:
            self.leaf, self._showing = self._sign(now)
        except NotSecure as error:
            log.warning("%s", error)

    def _sign(self, now: datetime.datetime) -> tuple[Leaf, ssl.SSLContext]:
        if now < self.root.since or now > self.root.until:
            begun, ended = f"{self.root.since:%d %B %Y}", f"{self.root.until:%d %B %Y}"
            raise NotSecure(
                f"This machine's clock says {now:%d %B %Y}, and the band's certificate holds from {begun} to {ended}: "
                "set the clock and serve again, or make another with `collaparte certificate BAND_FOLDER --anew`."
            )
        self._signed = self._addresses.bare
        leaf = make_leaf(self.root, self._addresses.host, self._signed, now)
        # A context of its own: in one at work, who knocks between its certificate and its key would be sent away.
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        # The library takes keys from files only; connections that are open keep what they began with.
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "leaf.pem"
            path.touch(mode=0o600)
            path.write_bytes(leaf.whole)
            context.load_cert_chain(path)
        return leaf, context

    def _show(self, tls: ssl.SSLObject, _name: str | None, _context: ssl.SSLContext) -> None:
        """Whoever knocks, by a name or an address, is shown the leaf of now."""
        tls.context = self._showing
