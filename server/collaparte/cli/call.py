"""`collaparte call`: everyone goes to a tune now."""

from typing import Annotated

import typer

from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, joined, run, title_of, tune_of
from collaparte.wire.commands import Call


def call(
    band: BandArgument,
    tune: Annotated[str, typer.Argument(help="Its title, or how it begins.")],
    start: Annotated[str, typer.Option("--from", help='Where to start: "C", "4 before C", "bar 33".')] = "",
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Call a tune: every stand goes there now. For the leader."""
    run(_call(band, tune, start, code, role_code))


async def _call(band: str, tune: str, start: str, code: str, role_code: str) -> None:
    async with joined(band, code, role_code) as there:
        called = tune_of(there, tune)
        await there.do(Call(called, start))
        typer.echo(f"Called: {title_of(there, called)}{f', from {start}' if start else ''}.")
