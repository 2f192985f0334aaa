"""The page that says how a tablet comes to trust the band's certificate, and the certificate itself."""

import asyncio
import html
from pathlib import Path

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from collaparte.hub.addresses import Addresses
from collaparte.hub.certificates import Root

CERTIFICATE = "/band.crt"
_PAGE = """<!doctype html>
<html lang="en">
  <head>
    <meta charset="utf-8" />
    <title>Keep this stand when the hub is off</title>
    <meta name="viewport" content="width=device-width, initial-scale=1" />
    <link rel="icon" href="/tablet/bead.svg" type="image/svg+xml" />
    <link rel="stylesheet" href="/tablet/look.css" />
    <link rel="stylesheet" href="/tablet/trust.css" />
  </head>
  <body data-look="light">
    <main class="trust">
      {title}
      <section class="band">
        <p>1. <a class="key strong" href="{file}" download="{name}.crt">Get the band’s certificate</a></p>
        <p>2. Trust it in this device’s settings, as said below.</p>
        <p>3. <a class="key" href="{secure}/">Open {secure}</a></p>
        <p class="quiet">Its SHA-256 fingerprint: <span class="fingerprint">{fingerprint}</span></p>
      </section>
      {words}
    </main>
  </body>
</html>
"""


def trusting_routes(addresses: Addresses, root: Root, words: Path) -> list[Route]:
    """`/trust` and the certificate. `words` is the how-to, in Markdown."""

    async def trust(_request: Request) -> Response:
        title, ends, text = (await asyncio.to_thread(_rendered, words)).partition("</h1>")
        page = _PAGE.format(
            title=title + ends,
            file=CERTIFICATE,
            name=html.escape(addresses.host.removesuffix(".local")),
            secure=html.escape(addresses.secure_canonical or ""),
            fingerprint=root.fingerprint.replace(":", ":<wbr>"),
            words=text,
        )
        return HTMLResponse(page, headers={"Cache-Control": "no-cache"})

    async def certificate(_request: Request) -> Response:
        # The type by which browsers and tablets offer to install what they got.
        return Response(root.der, media_type="application/x-x509-ca-cert", headers={"Cache-Control": "no-cache"})

    return [Route("/trust", trust), Route(CERTIFICATE, certificate)]


def _rendered(page: Path) -> str:
    # Here and not above: it is for those few who read the page.
    from markdown_it import MarkdownIt

    return str(MarkdownIt().enable("table").render(page.read_text(encoding="utf-8")))
