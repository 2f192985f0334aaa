"""Where a hub's pages are, over plain http or TLS, and what it says there of itself."""

import asyncio
import contextlib
import ssl
import urllib.request
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.error import URLError
from urllib.parse import urlsplit

import msgspec

from collaparte_client.band import NotIn
from collaparte_client.finding import Found

ANSWER_WITHIN = 5.0
"""Seconds for a hub to say where its sockets are."""


@dataclass(frozen=True)
class Place:
    """A host and a port of pages; over TLS if there is something to check its certificate by."""

    host: str
    port: int
    tls: ssl.SSLContext | None = None

    @property
    def url(self) -> str:
        """The origin."""
        return f"{'http' if self.tls is None else 'https'}://{bracketed(self.host)}:{self.port}"

    def socket_url(self, port: int) -> str:
        """The sockets at the same host."""
        return f"{'ws' if self.tls is None else 'wss'}://{bracketed(self.host)}:{port}"


class _Secure(msgspec.Struct):
    port: int


class HubInfo(msgspec.Struct):
    """What a hub says of itself, as far as it is needed here."""

    socket: int
    secure: _Secure | None = None


async def places_of(hub: str | Found, trust: Path | None = None) -> list[Place]:
    """Every way to the pages of a hub, the surest first.

    With `trust`, the band's own certificate, over TLS checked by that and nothing else; an address that begins with
    https is checked by what this machine trusts. Raises `NotIn`.
    """
    tls = None if trust is None else await asyncio.to_thread(_checked_by, trust)
    if isinstance(hub, Found):
        plain = [Place(host, hub.port) for host in (*hub.addresses, hub.host)]
    else:
        scheme, host, port = _split(hub)
        if scheme == "https":
            return [Place(host, port, tls or await asyncio.to_thread(ssl.create_default_context))]
        plain = [Place(host, port)]
    if tls is None:
        return plain
    secure = (await info_of(plain)).secure
    if secure is None:
        raise NotIn(
            f"The hub at {plain[0].url} serves plain http only: make the band's certificate there with "
            "`collaparte certificate`, or join without one."
        )
    return [Place(place.host, secure.port, tls) for place in plain]


async def info_of(places: Sequence[Place]) -> HubInfo:
    """What the hub says of itself at the first of these places where it answers. Raises `NotIn`."""
    for place in places[:-1]:
        with contextlib.suppress(NotIn):
            return await _info_at(place)
    return await _info_at(places[-1])


async def _info_at(place: Place) -> HubInfo:
    """What the hub says of itself there. Raises `NotIn`."""
    try:
        return msgspec.json.decode(await asyncio.to_thread(_get, place), type=HubInfo)
    except (OSError, ValueError) as error:
        reason = error.reason if isinstance(error, URLError) else error
        if isinstance(reason, ssl.SSLCertVerificationError):
            raise NotIn(
                f"The certificate that {place.url} shows is not trusted ({reason.verify_message}): "
                "give the band's own, which `collaparte certificate BAND_FOLDER -o FILE` writes at the hub."
            ) from error
        if isinstance(reason, ssl.SSLError):
            raise NotIn(f"What answers at {place.url} is no https: take the address that the hub prints.") from error
        raise no_hub_at(place.url) from error


def no_hub_at(hub: str) -> NotIn:
    """Nothing answers there."""
    return NotIn(
        f"No hub answers at {hub}: start it with `collaparte serve FOLDER`, and see that it is on this network."
    )


def bracketed(host: str) -> str:
    """A host as it stands in a URL (RFC 3986, 3.2.2)."""
    return f"[{host}]" if ":" in host else host


def _split(address: str) -> tuple[str, str, int]:
    parts = urlsplit(address if "//" in address else f"http://{address}")
    try:
        if parts.scheme in ("http", "https") and parts.hostname and parts.port:
            return parts.scheme, parts.hostname, parts.port
    except ValueError:
        pass
    raise NotIn(f"{address!r} is no hub's address: give it as host:port, as the hub prints it.")


def _checked_by(certificate: Path) -> ssl.SSLContext:
    tls = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    try:
        data = certificate.read_bytes()
        # PEM is text to the library, DER is bytes.
        tls.load_verify_locations(cadata=data.decode("ascii") if data.startswith(b"-----") else data)
    except (OSError, ValueError) as error:
        why = (
            error.strerror
            if isinstance(error, OSError) and not isinstance(error, ssl.SSLError)
            else "not a certificate"
        )
        raise NotIn(
            f"The certificate {certificate} cannot be read ({why}): get it from the hub's page /trust again."
        ) from error
    return tls


def _get(place: Place) -> bytes:
    with urllib.request.urlopen(f"{place.url}/hub.json", timeout=ANSWER_WITHIN, context=place.tls) as answer:
        data: bytes = answer.read(65536)
        return data
