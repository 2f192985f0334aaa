"""`collaparte next`: name the next tune."""

from typing import Annotated

import typer

from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, joined, run, title_of, tune_of
from collaparte.wire.commands import Next


def next(
    band: BandArgument,
    tune: Annotated[str, typer.Argument(help="Its title, or how it begins.")],
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Name the next tune and make it ready on every stand; nothing moves. For the leader."""
    run(_next(band, tune, code, role_code))


async def _next(band: str, tune: str, code: str, role_code: str) -> None:
    async with joined(band, code, role_code) as there:
        named = tune_of(there, tune)
        await there.do(Next(named))
        typer.echo(f"Next: {title_of(there, named)}.")
