"""The hub over HTTP: the stand's page and its files, pictures and layings by content hash, QR code, source."""

import asyncio
import io
import mimetypes
import re
from collections.abc import Awaitable, Callable, Sequence
from pathlib import Path

import msgspec
import segno
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from collaparte import __version__
from collaparte.hub.addresses import Addresses
from collaparte.hub.source import source_zip
from collaparte.wire.messages import PROTOCOL

Fetch = Callable[[str], Awaitable[bytes | None]]
"""A stored file by its content hash; None when there is none."""

FOREVER = "public, max-age=31536000, immutable"
"""What is named by its content never changes (RFC 9111, 5.2.2; RFC 8246)."""
HASH = re.compile(r"[0-9a-f]{16,128}")
CODE = re.compile(r"[0-9A-Za-z-]{1,32}")


class SecureInfo(msgspec.Struct, frozen=True):
    """Where the hub's pages are over TLS, for those who trust the band's certificate."""

    origin: str
    port: int
    since: float
    until: float
    """Unix time, s: a device whose clock is outside cannot open them."""


class HubInfo(msgspec.Struct, frozen=True):
    """`/hub.json`: what a page needs to know before it opens a socket."""

    band: str
    protocol: int
    epoch: str
    socket: int
    """Port of the sockets, on the same host; over TLS for one who asks over TLS."""
    canonical: str
    """The one origin under which stands keep their things; likewise."""
    version: str
    secure: SecureInfo | None = None


def pages(
    addresses: Addresses,
    band: Callable[[], str],
    epoch: str,
    fetch: Fetch,
    tablet: Path,
    further: Sequence[Route] = (),
    secure: Callable[[], SecureInfo | None] = lambda: None,
) -> Starlette:
    """The HTTP application, with or without TLS. `band`: the band's name now; `tablet`: folder of the stand's page."""

    async def index(_request: Request) -> Response:
        page = tablet / "index.html"
        try:
            text = await asyncio.to_thread(page.read_bytes)
        except OSError as error:
            raise HTTPException(404, "The stand's page is missing from this installation: install it again.") from error
        return Response(text, media_type="text/html", headers={"Cache-Control": "no-cache"})

    async def hub_json(request: Request) -> Response:
        over_tls = addresses.secure if request.url.scheme == "https" else None
        info = HubInfo(
            band=band(),
            protocol=PROTOCOL,
            epoch=epoch,
            socket=over_tls.socket if over_tls else addresses.socket_port,
            canonical=(over_tls and addresses.secure_canonical) or addresses.canonical,
            version=__version__,
            secure=secure(),
        )
        headers = {"Cache-Control": "no-store", "Vary": "Origin"}
        # A page that came by a bare address asks here whether the hub's name works for it, too.
        if origin := request.headers.get("origin"):
            headers["Access-Control-Allow-Origin"] = origin
        return Response(msgspec.json.encode(info), media_type="application/json", headers=headers)

    async def stored(request: Request) -> Response:
        hash_ = request.path_params["hash"]
        etag = f'"{hash_}"'
        if request.headers.get("if-none-match") == etag:
            return Response(status_code=304, headers={"ETag": etag, "Cache-Control": FOREVER})
        data = await fetch(hash_) if HASH.fullmatch(hash_) else None
        if data is None:
            raise HTTPException(404, "The hub has nothing of this name: load the stand again.")
        return Response(data, media_type=kind_of(data), headers={"ETag": etag, "Cache-Control": FOREVER})

    async def qr(request: Request) -> Response:
        code = request.query_params.get("code", "")
        if code and not CODE.fullmatch(code):
            raise HTTPException(400, "A code has letters, digits and hyphens only.")
        picture = io.BytesIO()
        segno.make(joining_url(addresses, code)).save(picture, kind="svg", border=4, scale=8)
        return Response(picture.getvalue(), media_type="image/svg+xml", headers={"Cache-Control": "no-store"})

    async def source(_request: Request) -> Response:
        data = await asyncio.to_thread(source_zip)
        name = f"collaparte-{__version__}-source.zip"
        return Response(
            data, media_type="application/zip", headers={"Content-Disposition": f'attachment; filename="{name}"'}
        )

    async def sorry(_request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        words = {404: "There is no such page on this hub.", 405: "The hub's pages can only be read."}
        detail = error.detail if error.detail not in ("Not Found", "Method Not Allowed") else words[error.status_code]
        return PlainTextResponse(detail + "\n", error.status_code, headers=error.headers)

    return Starlette(
        routes=[
            Route("/", index),
            Route("/hub.json", hub_json),
            Route("/sheet/{hash}", stored),
            Route("/laying/{hash}", stored),
            Route("/pieces/{hash}", stored),
            Route("/qr.svg", qr),
            Route("/source.zip", source),
            *further,
            Mount("/tablet", TabletFiles(directory=tablet, check_dir=False)),
        ],
        middleware=[Middleware(Guard, addresses=addresses)],
        exception_handlers={HTTPException: sorry},
    )


def joining_url(addresses: Addresses, code: str) -> str:
    """The address that a QR code holds. The code rides in the fragment, which no browser sends anywhere."""
    return addresses.urls()[0] + "/" + (f"#code={code}" if code else "")


def kind_of(data: bytes) -> str:
    """The media type of a stored file, by its first bytes."""
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if data.startswith(b"RIFF") and data[8:12] == b"WEBP":
        return "image/webp"
    return "application/json"


class TabletFiles(StaticFiles):
    """The stand's files: asked for each time, sent again only when they changed (ETag)."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """One file, or 404."""
        response = await super().get_response(path, scope)
        response.headers["Cache-Control"] = "no-cache"
        if path == "sw.js":
            # It keeps the page at "/" too, above its own folder (Service Workers, 5.1: path restriction).
            response.headers["Service-Worker-Allowed"] = "/"
        return response


class Guard:
    """Lets in requests that name this hub and come from its own pages, and tells browsers to keep to it."""

    def __init__(self, app: ASGIApp, addresses: Addresses) -> None:
        self._app = app
        self._addresses = addresses

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        request = Request(scope)
        hosts, origins = request.headers.getlist("host"), request.headers.getlist("origin")
        if len(hosts) != 1 or not self._addresses.knows_host(hosts[0]):
            # A foreign name that resolves to this machine would make its pages same-origin with ours.
            words = f"This hub answers at {' and '.join(self._addresses.urls())} only.\n"
            await PlainTextResponse(words, 421)(scope, receive, send)
            return
        if any(not self._addresses.knows_origin(origin) for origin in origins):
            await PlainTextResponse("Only this hub's own pages may ask it.\n", 403)(scope, receive, send)
            return
        headers = [(name.encode(), value.encode()) for name, value in self._headers(hosts[0]).items()]

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message["headers"], *headers]
            await send(message)

        await self._app(scope, receive, with_headers)

    def _headers(self, host: str) -> dict[str, str]:
        at = self._addresses
        name = host[: host.rindex(":")] if host.rpartition(":")[2].isdigit() else host
        connect = f"'self' ws://{name}:{at.socket_port} {at.canonical}"
        if at.secure is not None:
            connect += f" wss://{name}:{at.secure.socket} https://{name}:{at.secure.http} {at.secure_canonical}"
        return {
            "Content-Security-Policy": (
                f"default-src 'self'; connect-src {connect}; img-src 'self' blob: data:; worker-src 'self' blob:; "
                "object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
            ),
            "X-Content-Type-Options": "nosniff",
            "X-Frame-Options": "DENY",
            "Referrer-Policy": "no-referrer",
            "Cross-Origin-Resource-Policy": "same-origin",
        }


# What a browser must be told for module scripts to run, whatever the system's own table says.
for _suffix, _kind in ((".js", "text/javascript"), (".mjs", "text/javascript"), (".woff2", "font/woff2")):
    mimetypes.add_type(_kind, _suffix)
