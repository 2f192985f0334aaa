"""`collaparte lead`: who leads or directs beside those who have the code, and handing that on."""

from typing import Annotated

import typer

from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, Wrong, joined, run
from collaparte.wire.commands import GiveRole, TakeRole
from collaparte.wire.dates import Role
from collaparte_client import Band

DOES: dict[Role, str] = {"leader": "lead", "md": "direct"}


def lead(
    band: BandArgument,
    chair: Annotated[str, typer.Argument(help="Who is to lead too; without one, who was given what.")] = "",
    md: Annotated[bool, typer.Option("--md", help="Direct, as the MD, instead.")] = False,
    take_back: Annotated[bool, typer.Option("--take-back", help="Take it back from that chair.")] = False,
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Hand the lead on: let a chair lead or direct as well, until the date is closed. For who leads or directs."""
    run(_lead(band, chair, "md" if md else "leader", take_back, code, role_code))


async def _lead(band: str, name: str, role: Role, take_back: bool, code: str, role_code: str) -> None:
    async with joined(band, code, role_code) as there:
        names = {chair.id: chair.name for section in there.band.sections for chair in section.chairs}
        if not name:
            if take_back:
                raise Wrong("Say whom to take it back from: collaparte lead BAND CHAIR --take-back.")
            typer.echo(in_words(there, names))
            return
        chair = next((id for id, said in names.items() if name.casefold() in (said.casefold(), id.casefold())), None)
        if chair is None:
            raise Wrong(f"The band has no chair {name!r}: it has {', '.join(names.values()) or 'none yet'}.")
        await there.do(TakeRole(chair, role) if take_back else GiveRole(chair, role))
        typer.echo(f"{names[chair]} may {'no longer ' if take_back else ''}{DOES[role]}{'' if take_back else ' too'}.")


def in_words(band: Band, names: dict[str, str]) -> str:
    """Who was given a role, a line each."""
    given = [
        f"{names.get(chair, chair)} may {' and '.join(does for role, does in DOES.items() if role in roles)} too."
        for chair, roles in band.given.items()
    ]
    return "\n".join(given) or "Nobody was given the lead: who has its code leads."
