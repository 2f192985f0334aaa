"""`collaparte from`: everyone turns to a place of the tune that is on."""

from typing import Annotated

import typer

from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, joined, run, title_of
from collaparte.wire.commands import From


def from_(
    band: BandArgument,
    place: Annotated[str, typer.Argument(help='"C", "4 before C", "bar 33".')],
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Turn every stand to a place of the tune that is on. For the leader and the MD."""
    run(_from(band, place, code, role_code))


async def _from(band: str, place: str, code: str, role_code: str) -> None:
    async with joined(band, code, role_code) as there:
        await there.do(From(place))
        typer.echo(f"{title_of(there, there.position.tune)}, from {place}.")
