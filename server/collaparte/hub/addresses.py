"""Where this hub is reached: its one name, its bare addresses, and which origins its own pages have."""

import errno
import ipaddress
import socket
from urllib.parse import urlsplit

import ifaddr

from collaparte.store.settings import Ports


class PortTaken(OSError):
    """A port that the hub needs is in use; the text is one sentence."""


class Addresses:
    """The hub's addresses: `host` is its one name (`band-id.local`), `port` is for HTTP."""

    def __init__(self, host: str, port: int, socket_port: int) -> None:
        self.host = host
        self.port = port
        self.socket_port = socket_port
        self.secure: Ports | None = None
        """The listeners over TLS, while there are any."""
        self.bare: tuple[str, ...] = ()
        """Addresses on the network, IPv4 first; loopback is not among them."""
        self._hosts: frozenset[str] = frozenset()
        self.look()

    def look(self) -> bool:
        """Look which addresses this machine has now; True when they changed."""
        bare = _bare_addresses()
        hosts = frozenset({self.host.lower(), "localhost", "127.0.0.1", "::1", *bare})
        changed = bare != self.bare
        self.bare, self._hosts = bare, hosts
        return changed

    @property
    def canonical(self) -> str:
        """The one plain origin that stands keep their things under."""
        return f"http://{self.host}:{self.port}"

    @property
    def secure_canonical(self) -> str | None:
        """The one origin over TLS, for those who trust the band's certificate."""
        return None if self.secure is None else f"https://{self.host}:{self.secure.http}"

    def urls(self) -> tuple[str, ...]:
        """Every way in, the surest first: bare addresses, else loopback; then the name."""
        bare = [f"http://{_bracketed(address)}:{self.port}" for address in self.bare]
        return (*(bare or [f"http://localhost:{self.port}"]), self.canonical)

    def knows_origin(self, origin: str) -> bool:
        """Whether a page of this origin is one of ours: our scheme, one of our hosts, its port, and nothing else."""
        scheme, found, netloc = origin.partition("://")
        if scheme.lower() == "https":
            return bool(found) and self.secure is not None and self._ours(netloc, self.secure.http, 443)
        return bool(found) and scheme.lower() == "http" and self._ours(netloc, self.port, 80)

    def knows_host(self, host: str) -> bool:
        """Whether a request's Host header names this hub's pages."""
        return self._ours(host, self.port, 80) or (self.secure is not None and self._ours(host, self.secure.http, 443))

    def knows_socket_host(self, host: str) -> bool:
        """Whether a handshake's Host header names this hub's sockets."""
        plain = self._ours(host, self.socket_port, 80)
        return plain or (self.secure is not None and self._ours(host, self.secure.socket, 443))

    def _ours(self, netloc: str, port: int, usual: int) -> bool:
        """Whether it is one of our hosts at this port; `usual` is the one that need not be said."""
        try:
            parts = urlsplit(f"//{netloc}")
            named, at = parts.hostname, parts.port or usual
        except ValueError:
            return False
        # Anything beside host and port (user, path, query) is no origin of ours.
        return parts.netloc == netloc and parts.username is None and named in self._hosts and at == port


def listen(port: int, *, choose: str = "--port") -> socket.socket:
    """A listening socket on all of this machine's addresses; port 0 takes a free one. Raises `PortTaken`.

    `choose` is how another port is chosen.
    """
    try:
        return _as_tcp(_bound(port))
    except OSError as error:
        raise PortTaken(
            f"Port {port} cannot be used ({error.strerror or error}): another hub may be running; "
            f"stop it, or choose another port with {choose}."
        ) from error


def _bound(port: int) -> socket.socket:
    if socket.has_dualstack_ipv6():
        try:
            return socket.create_server(("", port), family=socket.AF_INET6, dualstack_ipv6=True, backlog=512)
        except OSError as error:
            if _is_taken(error):
                raise
            # A system may have IPv6 built in and switched off.
    return socket.create_server(("", port), backlog=512)


def _as_tcp(bound: socket.socket) -> socket.socket:
    """The same socket, known to be TCP: asyncio sends small messages at once (TCP_NODELAY) on such only."""
    return socket.socket(bound.family, bound.type, socket.IPPROTO_TCP, fileno=bound.detach())


def _is_taken(error: OSError) -> bool:
    return error.errno in (errno.EADDRINUSE, errno.EACCES)


def _bare_addresses() -> tuple[str, ...]:
    found = set()
    for adapter in ifaddr.get_adapters():
        for ip in adapter.ips:
            address = ipaddress.ip_address(ip.ip if isinstance(ip.ip, str) else ip.ip[0])
            if address.is_loopback or (address.version == 6 and address.is_link_local):
                continue
            found.add(address)
    outward = _outward_address()
    return tuple(
        str(address) for address in sorted(found, key=lambda a: (a.version, str(a) != outward, a.is_link_local, int(a)))
    )


def _outward_address() -> str | None:
    """The address that this machine would send from: the likeliest one that a tablet can reach."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.setblocking(False)
        try:
            # Connecting a datagram socket only looks up the route; nothing is sent, nothing waits.
            probe.connect(("10.255.255.255", 9))
        except OSError:
            return None
        return str(probe.getsockname()[0])


def _bracketed(address: str) -> str:
    return f"[{address}]" if ":" in address else address
