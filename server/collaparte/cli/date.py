"""`collaparte date`: open and close a rehearsal or gig, or say which is open."""

import datetime
import secrets
from typing import Annotated

import typer

from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, Wrong, joined, run
from collaparte.wire.commands import CloseDate, OpenDate
from collaparte.wire.dates import DateKind
from collaparte.wire.views import DateView

ACTIONS = ("", "open", "close")


def date(
    band: BandArgument,
    action: Annotated[str, typer.Argument(metavar="ACTION", help="open or close; without one, the open date.")] = "",
    name: Annotated[str, typer.Argument(metavar="NAME", help="What the new date is called.")] = "",
    gig: Annotated[bool, typer.Option("--gig", help="The new date is a gig, not a rehearsal.")] = False,
    day: Annotated[str, typer.Option(help="Its day, as 2026-11-25; else today.")] = "",
    keep: Annotated[bool, typer.Option("--keep", help="Keep all that was decided on the date that is closed.")] = False,
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Open or close a date: what was decided for it alone goes when it is closed. For leader, MD and librarian."""
    run(_date(band, action, name, gig, day, keep, code, role_code))


async def _date(band: str, action: str, name: str, gig: bool, day: str, keep: bool, code: str, role_code: str) -> None:
    if action not in ACTIONS:
        raise Wrong(f"A date is opened or closed, and {action!r} says neither: say open or close.")
    async with joined(band, code, role_code) as there:
        if action == "open":
            kind: DateKind = "gig" if gig else "rehearsal"
            on = day or datetime.date.today().isoformat()
            opening = OpenDate(secrets.token_hex(4), name or f"{kind.capitalize()} {on}", kind, on)
            await there.do(opening)
            typer.echo(f"Open: {opening.name}.")
        elif action == "close":
            if not there.date.date:
                raise Wrong("No date is open.")
            closed = there.date
            await there.do(CloseDate(closed.date, keep))
            typer.echo(f"Closed: {closed.name}.")
        else:
            typer.echo(in_words(there.date))


def in_words(date: DateView) -> str:
    """The open date in one line."""
    if not date.date:
        return "No date is open."
    return f"Open: {date.name} ({date.kind}{', ' + date.day if date.day else ''})."
