"""`collaparte cut`: leave bars out, or take that back."""

import secrets
from typing import Annotated

import typer

from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, Wrong, joined, run, title_of, tune_of
from collaparte.wire.commands import MakeCut, TakeBackEdit


def cut(
    band: BandArgument,
    first: Annotated[str, typer.Argument(help='The first place left out: "C", "4 before D", "bar 33".')] = "",
    until: Annotated[str, typer.Argument(help="The place that is played again; empty: to the end.")] = "",
    tune: Annotated[str, typer.Option(help="A tune's title; else the tune that is on.")] = "",
    kept: Annotated[bool, typer.Option("--kept", help="Keep the cut for later dates.")] = False,
    take_back: Annotated[str, typer.Option(metavar="ID", help="Take back the cut of this id (or `last`).")] = "",
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Cut from one place up to, not including, another on every part. For the MD."""
    run(_cut(band, first, until, tune, kept, take_back, code, role_code))


async def _cut(
    band: str, first: str, until: str, tune: str, kept: bool, take_back: str, code: str, role_code: str
) -> None:
    async with joined(band, code, role_code) as there:
        which = tune_of(there, tune) if tune else there.position.tune
        if which is None:
            raise Wrong("No tune is on: say which with --tune.")
        if take_back:
            edits = there.tunes[which].edits if which in there.tunes else ()
            if take_back == "last" and not edits:
                raise Wrong(f"Nothing is cut in {title_of(there, which)}.")
            await there.do(TakeBackEdit(edits[-1].id if take_back == "last" else take_back))
            typer.echo("Taken back.")
        elif first:
            edit = secrets.token_hex(8)
            await there.do(MakeCut(edit, which, first, until, kept))
            typer.echo(f"{title_of(there, which)}: cut {first} to {until or 'the end'} (id {edit}).")
        else:
            raise Wrong("Say from where to where: collaparte cut BAND C D.")
