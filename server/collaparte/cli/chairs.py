"""`collaparte chairs`: who sits in the band."""

import asyncio
import datetime
import secrets
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import msgspec
import typer
from rich.console import Console

from collaparte.band.hearing import ChairName
from collaparte.band.instruments import plain
from collaparte.band.names import chair_of
from collaparte.band.state import State
from collaparte.hub.keeping import CommitError, commit
from collaparte.hub.seating import orphans
from collaparte.store.folder import BandFolder, FolderError, settings_of
from collaparte.store.log import Log, LogError
from collaparte.wire.commands import AddChair, Command, MoveChair, RemoveChair, RenameChair

BAD_USAGE = 2
NAMES = {"": 0, "add": 1, "rename": 2, "move": 1, "remove": 1}
"""What can be done, and how many names it takes."""


class _Wrong(ValueError):
    """What was asked for makes no sense; the message says why."""


def chairs(
    band_folder: Annotated[Path, typer.Argument(help="The band's folder.")],
    action: Annotated[
        str, typer.Argument(help="add, rename, move or remove; without one, the chairs are listed.")
    ] = "",
    names: Annotated[list[str] | None, typer.Argument(help="The chair; for rename, its new name too.")] = None,
    section: Annotated[str, typer.Option(help="The section to sit in (add, move).")] = "",
    place: Annotated[int, typer.Option(min=0, help="The place in the section, from 1 (add, move).")] = 0,
    json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """List a band's chairs by section, or add, rename, move and remove them."""
    try:
        state = asyncio.run(_do(band_folder, action, names or [], section, place))
    except (_Wrong, FolderError) as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(BAD_USAGE) from error
    except (CommitError, LogError) as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(1) from error
    if json:
        typer.echo(msgspec.json.encode(_as_json(state)).decode())
    else:
        _print(state)


async def _do(path: Path, action: str, names: Sequence[str], section: str, place: int) -> State:
    if action not in NAMES:
        raise _Wrong(f'"{action}" is nothing that is done to chairs: say add, rename, move or remove.')
    if len(names) != NAMES[action]:
        wanted = {0: "no name", 1: "the chair's name", 2: "the chair's name and its new one"}[NAMES[action]]
        raise _Wrong(f"{action or 'A list'} takes {wanted}; put names of several words in quotation marks.")
    if not action:
        await asyncio.to_thread(settings_of, path)
        return await _state(path / "log.sqlite")
    folder = await asyncio.to_thread(BandFolder.open, path, "chairs", _now())
    try:
        state = await _state(folder.log_path)
        command = _command(state, action, names, section, place)
        seats = orphans(state, command.id, command.name) if isinstance(command, AddChair) else []
        log = await Log.open(folder.log_path, epoch=secrets.token_hex(8))
        try:
            return await commit([command, *seats], state, log)
        finally:
            await log.close()
    finally:
        folder.close()


async def _state(path: Path) -> State:
    log = await Log.open(path, epoch=secrets.token_hex(8))
    try:
        return await log.state()
    finally:
        await log.close()


def _command(state: State, action: str, names: Sequence[str], section: str, place: int) -> Command:
    if action == "add":
        chair = chair_of(names[0])
        home = section or _home(state, chair)
        if not home:
            raise _Wrong(f"Say with --section which section {names[0]} sits in.")
        return AddChair(secrets.token_hex(4), names[0], home, place - 1 if place else _place(state, home, chair))
    id = next((id for id, chair in state.chairs.items() if plain(chair.name) == plain(names[0])), None)
    if id is None:
        there = ", ".join(chair.name for chair in state.chairs.values()) or "none"
        raise _Wrong(f'There is no chair "{names[0]}" in this band; there are: {there}.')
    if action == "rename":
        return RenameChair(id, names[1])
    if action == "remove":
        return RemoveChair(id)
    if not (section or place):
        raise _Wrong("Say where to with --section, --place or both.")
    there_now = state.chairs[id].section
    home = section or there_now
    seated = next((s.chairs for s in state.sections if plain(s.name) == plain(home)), ())
    return MoveChair(id, home, place - 1 if place else len([other for other in seated if other != id]))


def _home(state: State, chair: ChairName | None) -> str:
    """The section where a new chair's own kind or family sits, or the one proposed for it."""
    if chair is None:
        return ""
    heard = {id: chair_of(other.name) for id, other in state.chairs.items()}
    kin = [id for id, other in heard.items() if other and other.instrument == chair.instrument]
    kin += [id for id, other in heard.items() if other and other.section == chair.section]
    return state.chairs[kin[0]].section if kin else chair.section


def _place(state: State, section: str, chair: ChairName | None) -> int | None:
    """The 0-based place of a new chair in score order; None: last."""
    seated = next((there.chairs for there in state.sections if plain(there.name) == plain(section)), ())
    heard = [chair_of(state.chairs[id].name) for id in seated]
    if chair is None or not all(heard):
        return None
    return sum(1 for other in heard if other and other.order <= chair.order)


def _print(state: State) -> None:
    console = Console()
    if not state.chairs:
        console.print("There are no chairs yet: bring parts in, or add one.")
    for section in state.sections:
        console.print(section.name, style="bold", markup=False, highlight=False)
        for number, id in enumerate(section.chairs, 1):
            parts = sum(1 for tune in state.tunes.values() if tune.seats.get(id))
            tunes = f"{parts} of {len(state.tunes)} tunes"
            console.print(f"  {number}. {state.chairs[id].name}  ({tunes})", markup=False, highlight=False)


def _as_json(state: State) -> dict[str, object]:
    sections = [
        {"name": section.name, "chairs": [{"id": id, "name": state.chairs[id].name} for id in section.chairs]}
        for section in state.sections
    ]
    return {"version": 1, "sections": sections}


def _now() -> str:
    return datetime.datetime.now().astimezone().isoformat(timespec="seconds")
