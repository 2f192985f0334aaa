"""What the verbs that talk to a hub have in common: which hub, with which codes, and failing in one sentence."""

import asyncio
import contextlib
from collections.abc import AsyncIterator, Coroutine
from pathlib import Path
from typing import Annotated, NoReturn

import typer

from collaparte.cli.files import is_folder
from collaparte_client import Band, Found, NotAnswered, NotIn, Refused, find, join

BandArgument = Annotated[
    str, typer.Argument(metavar="BAND", help="The hub's address (host:port), or the name of a band as `find` lists it.")
]
CodeOption = Annotated[
    str, typer.Option("--code", envvar="COLLAPARTE_CODE", help="The band's join code.", show_default=False)
]
RoleOption = Annotated[
    str,
    typer.Option(
        "--role-code", envvar="COLLAPARTE_ROLE_CODE", help="The leader's or the MD's code.", show_default=False
    ),
]


class Wrong(Exception):
    """What was asked cannot be done; one sentence."""


def fail(sentence: str) -> NoReturn:
    """End with exit code 1 and one sentence on the error output."""
    typer.echo(sentence, err=True)
    raise typer.Exit(1)


def run(work: Coroutine[None, None, None]) -> None:
    """Run a verb; whatever a hub or the network refuses is one sentence."""
    try:
        asyncio.run(work)
    except (NotIn, Refused, NotAnswered, Wrong) as error:
        fail(str(error))
    except KeyboardInterrupt:
        raise typer.Exit(130) from None


@contextlib.asynccontextmanager
async def joined(band: str, code: str, role_code: str = "") -> AsyncIterator[Band]:
    """The band, joined without a chair."""
    said = code_said(code)
    async with join(await reached(band), said, codes=[role_code] if role_code else []) as there:
        if role_code and there.sorry:
            raise Wrong(there.sorry)
        try:
            yield there
        except Refused as error:
            if there.roles:
                raise
            raise Wrong(f"{error} You joined without a role: give its code with --role-code.") from error


def code_said(code: str) -> str:
    """The join code, which must be there."""
    if not code:
        raise Wrong("The join code is missing: give it with --code or in COLLAPARTE_CODE; the hub prints it.")
    return code


async def reached(band: str) -> str | Found:
    """An address as it is, or the hub of the band of this name."""
    if "//" in band or band.rpartition(":")[2].isdigit():
        return band
    if await asyncio.to_thread(is_folder, Path(band)):
        raise Wrong(
            f"{band} is a folder: serve it with `collaparte serve {band}`, then give the address that it prints."
        )
    try:
        hubs = await find()
    except OSError as error:
        raise Wrong(
            f"This machine has no network to look for {band!r} on ({error}): give the hub's address."
        ) from error
    named = [hub for hub in hubs if band.casefold() in (hub.name.casefold(), hub.band.casefold(), hub.host.casefold())]
    if len(named) == 1:
        return named[0]
    if named:
        raise Wrong(f"Several hubs are called {band!r}: take one of {', '.join(hub.name for hub in named)}.")
    found = ", ".join(hub.name for hub in hubs) or "none"
    raise Wrong(
        f"No hub called {band!r} answers on this network (found: {found}): "
        "start it with `collaparte serve FOLDER`, or give its address as host:port."
    )


def tune_of(band: Band, words: str) -> str:
    """The id of the tune with this id or title, or whose title alone starts so."""
    said = words.casefold()
    rows = band.set.tunes
    for named in (
        [row for row in rows if row.tune == words],
        [row for row in rows if row.title.casefold() == said],
        [row for row in rows if row.title.casefold().startswith(said)],
    ):
        if len(named) == 1:
            return named[0].tune
        if named:
            raise Wrong(f"{words!r} may be {' or '.join(row.title for row in named)}: say more of the title.")
    raise Wrong(f"The band has no tune {words!r}: it has {', '.join(row.title for row in rows) or 'none yet'}.")


def title_of(band: Band, tune: str | None) -> str:
    """A tune's title."""
    return next((row.title for row in band.set.tunes if row.tune == tune), tune or "no tune")
