"""Joining a band: from an address or a found hub to a `Band` that follows it."""

import asyncio
import contextlib
import secrets
import urllib.request
from collections.abc import AsyncIterator, Sequence
from urllib.parse import urlsplit

import msgspec

from collaparte.wire.messages import PROTOCOL, Hello
from collaparte_client.band import Band, NotIn
from collaparte_client.finding import Found


class _HubInfo(msgspec.Struct):
    socket: int


@contextlib.asynccontextmanager
async def join(
    hub: str | Found,
    code: str,
    *,
    chairs: Sequence[str] = (),
    codes: Sequence[str] = (),
    client: str = "",
    page: tuple[float, float] = (0.0, 0.0),
    stave: float = 7.0,
) -> AsyncIterator[Band]:
    """Join the band at an address ("192.0.2.7:8650", a URL) or a found hub; what it shows is there on entry.

    `codes` are those of roles; `client` an id to keep for ever, made up when empty. With a `page` (width and height
    in mm) the hub lays the chairs' parts for it. Raises `NotIn`: the hub cannot be reached or does not let one in.
    """
    hello = Hello(
        proto=PROTOCOL,
        client=client or f"py-{secrets.token_hex(8)}",
        code=code,
        codes=tuple(codes),
        chairs=tuple(chairs),
        page=page,
        stave=stave,
    )
    band = Band(await _socket_urls(hub), hello)
    following = asyncio.create_task(band.follow())
    try:
        await band.joined()
        yield band
    finally:
        following.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await following


async def _socket_urls(hub: str | Found) -> list[str]:
    if isinstance(hub, Found):
        return [f"ws://{bracketed(host)}:{hub.socket_port}" for host in (*hub.addresses, hub.host)]
    host, port = place_of(hub)
    try:
        url = f"http://{bracketed(host)}:{port}/hub.json"
        info = msgspec.json.decode(await asyncio.to_thread(_get, url), type=_HubInfo)
    except (OSError, ValueError) as error:
        raise no_hub_at(hub) from error
    return [f"ws://{bracketed(host)}:{info.socket}"]


def place_of(address: str) -> tuple[str, int]:
    """Host and port of an address as a hub prints it. Raises `NotIn`."""
    parts = urlsplit(address if "//" in address else f"http://{address}")
    try:
        if parts.hostname and parts.port:
            return parts.hostname, parts.port
    except ValueError:
        pass
    raise NotIn(f"{address!r} is no hub's address: give it as host:port, as the hub prints it.")


def no_hub_at(hub: str) -> NotIn:
    """Nothing answers there."""
    return NotIn(
        f"No hub answers at {hub}: start it with `collaparte serve FOLDER`, and see that it is on this network."
    )


def _get(url: str) -> bytes:
    with urllib.request.urlopen(url, timeout=5) as answer:
        data: bytes = answer.read(65536)
        return data


def bracketed(host: str) -> str:
    """A host as it stands in a URL (RFC 3986, 3.2.2)."""
    return f"[{host}]" if ":" in host else host
