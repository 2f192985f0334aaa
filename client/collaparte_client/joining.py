"""Joining a band: from an address or a found hub to a `Band` that follows it."""

import asyncio
import contextlib
import secrets
from collections.abc import AsyncIterator, Sequence
from pathlib import Path

from collaparte.wire.messages import PROTOCOL, Hello
from collaparte_client.band import Band
from collaparte_client.finding import Found
from collaparte_client.places import info_of, places_of


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
    trust: Path | None = None,
) -> AsyncIterator[Band]:
    """Join the band at an address ("192.0.2.7:8650", a URL) or a found hub; what it shows is there on entry.

    `codes` are those of roles; `client` an id to keep for ever, made up when empty. With a `page` (width and height
    in mm) the hub lays the chairs' parts for it. With `trust`, the file of the band's certificate, over TLS or not at
    all. Raises `NotIn`: the hub cannot be reached or does not let one in.
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
    places = await places_of(hub, trust)
    # A plain hub that was found has announced its sockets.
    port = hub.socket_port if isinstance(hub, Found) and trust is None else (await info_of(places)).socket
    band = Band([place.socket_url(port) for place in places], hello, places[0].tls)
    following = asyncio.create_task(band.follow())
    try:
        await band.joined()
        yield band
    finally:
        following.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await following
