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
        return [f"ws://{_bracketed(host)}:{hub.socket_port}" for host in (*hub.addresses, hub.host)]
    parts = urlsplit(hub if "//" in hub else f"http://{hub}")
    try:
        if not parts.hostname or not parts.port:
            raise ValueError
        url = f"http://{_bracketed(parts.hostname)}:{parts.port}/hub.json"
    except ValueError:
        raise NotIn(f"{hub!r} is no hub's address: give it as host:port, as the hub prints it.") from None
    try:
        info = msgspec.json.decode(await asyncio.to_thread(_get, url), type=_HubInfo)
    except (OSError, ValueError) as error:
        raise NotIn(
            f"No hub answers at {hub}: start it with `collaparte serve FOLDER`, and see that it is on this network."
        ) from error
    return [f"ws://{_bracketed(parts.hostname)}:{info.socket}"]


def _get(url: str) -> bytes:
    with urllib.request.urlopen(url, timeout=5) as answer:
        data: bytes = answer.read(65536)
        return data


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host
