"""The desk over HTTP: files sent in, parts and their pages looked at. Only with the librarian's code."""

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any

import msgspec
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from collaparte.band.roles import LIBRARIAN
from collaparte.band.state import Part, Tune
from collaparte.hub.desk import AskedAgain, Desk, NotTaken
from collaparte.hub.desk_parts import DeskParts
from collaparte.hub.tries import Tries
from collaparte.hub.workers import JobFailed
from collaparte.store.files import FilesError
from collaparte.store.settings import Codes

ASKED_BYTES = 64 * 1024
"""Of a request that is no file."""
NO_STORE = {"Cache-Control": "no-store"}


def desk_routes(desk: Desk, parts: DeskParts, codes: Codes) -> list[Route]:
    """The routes under `/desk`."""
    tries = Tries()

    def guarded(work: Callable[[Request], Awaitable[Response]]) -> Callable[[Request], Awaitable[Response]]:
        async def checked(request: Request) -> Response:
            now = asyncio.get_running_loop().time()
            address = request.client.host if request.client else ""
            if wait := tries.wait(address, now):
                raise HTTPException(429, f"Too many wrong codes came from this device: wait {wait} s.")
            scheme, _, code = request.headers.get("authorization", "").partition(" ")
            # RFC 6750, section 2.1.
            if scheme.lower() != "bearer" or LIBRARIAN not in codes.roles((code,)):
                if code:
                    tries.wrong(address, now)
                raise HTTPException(401, "Only the librarian may: say the librarian's code at the door.")
            try:
                return await work(request)
            except NotTaken as error:
                raise HTTPException(error.status, str(error)) from error
            except (FilesError, JobFailed) as error:
                raise HTTPException(422, str(error)) from error

        return checked

    def found(request: Request) -> tuple[Tune, Part]:
        tune, part = parts.find(request.path_params["tune"], request.path_params["part"])
        if tune is None or part is None:
            raise HTTPException(404, "This part is not in the library any more: look at the desk again.")
        return tune, part

    async def library(_request: Request) -> Response:
        return _json(await parts.library())

    async def part(request: Request) -> Response:
        found(request)
        cm = request.query_params.get("cm", "75")
        if not cm.isdecimal() or not 20 <= int(cm[:5]) <= 300:
            raise HTTPException(400, "A page is looked at from 20 to 300 cm.")
        return _json(await parts.part(request.path_params["tune"], request.path_params["part"], int(cm)))

    async def page(request: Request) -> Response:
        _, own = found(request)
        wide = request.query_params.get("wide", "1200")
        if not wide.isdecimal() or len(wide) > 5:
            raise HTTPException(400, "A picture's width is a number of pixels.")
        png = await parts.picture(own, request.path_params["page"], int(wide))
        return Response(png, media_type="image/png", headers=NO_STORE)

    async def laid(request: Request) -> Response:
        return _json(await parts.laid(*found(request)))

    async def take(request: Request) -> Response:
        query = request.query_params
        id = await desk.take(query.get("name", ""), query.get("folders", "").split("/"), request.stream())
        return _json({"id": id})

    async def bring(request: Request) -> Response:
        asked = await _asked(request)
        desk.bring(asked.files, asked.told)
        return _json({})

    async def put_away(request: Request) -> Response:
        await desk.put_away((await _asked(request)).files)
        return _json({})

    async def again(request: Request) -> Response:
        tune, own = found(request)
        await desk.take_again(tune.id, own.id, (await _asked(request)).told)
        return _json({})

    named = "/desk/part/{tune}/{part}"
    return [
        Route("/desk/library", guarded(library)),
        Route(named, guarded(part)),
        Route(named + "/page/{page:int}", guarded(page)),
        Route(named + "/laid", guarded(laid)),
        Route(named + "/again", guarded(again), methods=["POST"]),
        Route("/desk/file", guarded(take), methods=["POST"]),
        Route("/desk/bring", guarded(bring), methods=["POST"]),
        Route("/desk/put-away", guarded(put_away), methods=["POST"]),
    ]


async def _asked(request: Request) -> AskedAgain:
    data = bytearray()
    async for block in request.stream():
        data += block
        if len(data) > ASKED_BYTES:
            raise HTTPException(413, "This is more than the desk is ever asked.")
    try:
        return msgspec.json.decode(bytes(data), type=AskedAgain)
    except (msgspec.DecodeError, UnicodeError) as error:
        raise HTTPException(400, f"This does not fit what the desk is asked: {error}.") from error


def _json(value: Any) -> Response:
    return Response(msgspec.json.encode(value), media_type="application/json", headers=NO_STORE)
