"""A chair's book over HTTP, for whoever may join: the set as it stands, with what was decided and marked so far."""

import asyncio
import hmac
from collections.abc import Callable
from urllib.parse import quote

import msgspec
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from collaparte.band.state import State
from collaparte.hub.printing import Fetch, NoBook, book_name, chair_called, paper_called, print_book, stave_said
from collaparte.hub.tries import Tries
from collaparte.hub.workers import JobFailed, Pool
from collaparte.store.settings import Codes, plain_code
from collaparte.wire.book import HEADER, AboutBook


def book_routes(
    state: Callable[[], State], fetch: Fetch, pool: Pool, started: asyncio.Task[None], codes: Codes
) -> list[Route]:
    """`/book?chair=NAME`, with the join code. One book at a time: the band plays on meanwhile."""
    tries = Tries()
    one = asyncio.Lock()

    async def book(request: Request) -> Response:
        _let_in(request, codes, tries)
        said = request.query_params
        try:
            paper, stave = paper_called(said.get("paper", "A4")), stave_said(said.get("stave", "7"))
            async with one:
                await asyncio.wait([started])
                now = state()
                chair = chair_called(now, said.get("chair", ""))
                marked = said.get("markings", "1") != "0"
                made = await print_book(now, chair, fetch, pool, paper, stave, marked=marked)
        except NoBook as error:
            raise HTTPException(404, str(error)) from error
        except JobFailed as error:
            raise HTTPException(422, str(error)) from error
        name = book_name(now, chair)
        about = msgspec.json.encode(AboutBook(name, made.tunes, made.missing)).decode()
        headers = {
            "Cache-Control": "no-store",
            # RFC 8187, 3.2.1: how a header holds letters of any language.
            "Content-Disposition": f"attachment; filename*=UTF-8''{quote(name, safe='')}.pdf",
            HEADER: quote(about, safe=" ,:[]{}"),
        }
        return Response(made.pdf, media_type="application/pdf", headers=headers)

    return [Route("/book", book)]


def _let_in(request: Request, codes: Codes, tries: Tries) -> None:
    now = asyncio.get_running_loop().time()
    address = request.client.host if request.client else ""
    if wait := tries.wait(address, now):
        raise HTTPException(429, f"Too many wrong codes came from this device: wait {wait} s.")
    scheme, _, code = request.headers.get("authorization", "").partition(" ")
    # RFC 6750, section 2.1.
    right = hmac.compare_digest(plain_code(code).encode(), plain_code(codes.join).encode())
    if scheme.lower() == "bearer" and right:
        return
    if code:
        tries.wrong(address, now)
    raise HTTPException(401, "That is not this band's join code: the hub prints it, and the leader knows it.")
