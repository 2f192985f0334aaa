"""A part's pages as they were brought in, whatever was decided or read since: for a player to look at."""

from collections.abc import Callable

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from collaparte.band.state import Part, State
from collaparte.hub.desk_parts import DeskParts
from collaparte.hub.workers import JobFailed
from collaparte.store.files import FilesError


def printed_routes(state: Callable[[], State], parts: DeskParts) -> list[Route]:
    """`/printed/VERSION/PAGE`, by the version that a stand was told of; pages count from 0."""

    def find(version: str) -> Part | None:
        of_all = (part for tune in state().tunes.values() for part in tune.parts.values())
        return next((part for part in of_all if part.current.version == version), None)

    async def page(request: Request) -> Response:
        part = find(request.path_params["version"])
        number, wide = request.path_params["page"], request.query_params.get("wide", "1200")
        last = part.current.pages[1] - part.current.pages[0] if part and part.current.pages else None
        if part is None or (last is not None and number > last):
            raise HTTPException(404, "There is no such page of a part.")
        if not wide.isdecimal() or len(wide) > 5:
            raise HTTPException(400, "A picture's width is a number of pixels.")
        try:
            png = await parts.picture(part, number, int(wide))
        except (FilesError, JobFailed) as error:
            raise HTTPException(404, str(error)) from error
        # Named by content: these pages never change.
        headers = {"Cache-Control": "public, max-age=31536000, immutable"}
        return Response(png, media_type="image/png", headers=headers)

    return [Route("/printed/{version}/{page:int}", page)]
