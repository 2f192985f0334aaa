"""`collaparte call`: everyone goes to a tune now, or back to where they were."""

from typing import Annotated

import typer

from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, Wrong, joined, run, title_of, tune_of
from collaparte.wire.commands import Call, TakeBackCall
from collaparte_client import Band


def call(
    band: BandArgument,
    tune: Annotated[str, typer.Argument(help="Its title, or how it begins.", show_default=False)] = "",
    start: Annotated[str, typer.Option("--from", help='Where to start: "C", "4 before C", "bar 33".')] = "",
    take_back: Annotated[
        bool, typer.Option("--take-back", help="Take the last call back: every stand returns to where it was.")
    ] = False,
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Call a tune: every stand goes there now; or take the last call back. For the leader."""
    run(_call(band, tune, start, take_back, code, role_code))


async def _call(band: str, tune: str, start: str, take_back: bool, code: str, role_code: str) -> None:
    if bool(tune) == take_back or (take_back and start):
        raise Wrong("Say which tune to call, or --take-back and nothing else.")
    async with joined(band, code, role_code) as there:
        if take_back:
            await _take_back(there)
            return
        called = tune_of(there, tune)
        await there.do(Call(called, start))
        typer.echo(f"Called: {title_of(there, called)}{f', from {start}' if start else ''}.")


async def _take_back(band: Band) -> None:
    taken = title_of(band, band.position.tune)
    await band.do(TakeBackCall(band.position.call))
    back = f"back to {title_of(band, band.position.tune)}" if band.position.tune else "no tune is on"
    typer.echo(f"Taken back: {taken}; {back}.")
