"""`collaparte cue`: end what is open, or say who plays it next."""

from typing import Annotated

import typer

from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, Wrong, joined, run, title_of
from collaparte.wire.commands import Cue, NamePlayer
from collaparte_client import Band


def cue(
    band: BandArgument,
    not_yet: Annotated[bool, typer.Option("--not-yet", help="Take the cue back: it stays open.")] = False,
    next: Annotated[
        str | None, typer.Option("--next", metavar="WHO", help="Say who plays next instead: a chair, or any words.")
    ] = None,
    id: Annotated[str, typer.Option("--id", help="The open stretch, where several are: its edit's id.")] = "",
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Cue the last time through what is open in the tune that is on. For the MD or the leader."""
    run(_cue(band, id, next, not not_yet, code, role_code))


async def _cue(band: str, id: str, player: str | None, last: bool, code: str, role_code: str) -> None:
    async with joined(band, code, role_code) as there:
        edit = id or _open(there)
        if player is not None:
            chairs = {chair.name.casefold(): chair.id for section in there.band.sections for chair in section.chairs}
            await there.do(NamePlayer(edit, chairs.get(player.casefold(), player)))
            typer.echo(f"Next: {player}." if player else "Nobody is next.")
            return
        await there.do(Cue(edit, last))
        typer.echo("Cued: the next ending is the last." if last else "Not yet: still open.")


def _open(band: Band) -> str:
    """The one open stretch of the tune that is on. Raises `Wrong`."""
    tune = band.position.tune
    if tune is None or tune not in band.tunes:
        raise Wrong("No tune is on, so nothing is open.")
    view = band.tunes[tune]
    # What comes twice in the order is one decision, cued for whichever time round it is.
    open_ = list(dict.fromkeys(row.edit for row in view.again if row.times == 0))
    if not open_:
        raise Wrong(f"Nothing is open in {title_of(band, tune)}.")
    if len(open_) > 1:
        said = " or ".join(f"{row.words} (--id {row.id})" for row in view.edits if row.id in open_)
        raise Wrong(f"Several stretches are open: {said}.")
    return open_[0]
