"""`collaparte set`: the set as a table, as CSV or JSON, and put from such a file."""

import sys
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from collaparte.band import setfile, setlist
from collaparte.cli.files import FileError, read_file
from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, Wrong, joined, run
from collaparte.wire.commands import SetTheSet
from collaparte.wire.setlist import SetItem
from collaparte_client import Band

SIGNS = {"": "", "on": "on", "segue": "segue"}


def set(
    band: BandArgument,
    file: Annotated[
        str, typer.Argument(metavar="FILE", help="A set in CSV or JSON to be put; `-` reads the standard input.")
    ] = "",
    csv: Annotated[bool, typer.Option("--csv", help="Print CSV.")] = False,
    json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Print the set, or put it from a file of plain columns. Putting is for the leader and the librarian."""
    run(_set(band, file, csv, json, code, role_code))


async def _set(band: str, file: str, csv: bool, json: bool, code: str, role_code: str) -> None:
    async with joined(band, code, role_code) as there:
        titles = {row.tune: row.title for row in there.set.tunes}
        if file:
            try:
                items = setfile.read(_bytes(file), titles)
            except setfile.SetFileError as error:
                raise Wrong(str(error)) from error
            await there.do(SetTheSet(items, there.set.revision))
            typer.echo(f"The set: {_summary(there, items)}.", err=csv or json)
        else:
            items = there.set.items
        if csv:
            sys.stdout.reconfigure(encoding="utf-8", newline="")  # type: ignore[union-attr]
            sys.stdout.write(setfile.written_as_csv(items, titles))
        elif json:
            sys.stdout.reconfigure(encoding="utf-8", newline="")  # type: ignore[union-attr]
            sys.stdout.write(setfile.written_as_json(items, titles))
        elif not file:
            _print(there, items, titles)


def _bytes(file: str) -> bytes:
    try:
        return sys.stdin.buffer.read() if file == "-" else read_file(Path(file))
    except FileError as error:
        raise Wrong(str(error)) from error


def _lasts(band: Band, item: SetItem) -> int | None:
    if item.seconds is not None or not item.tune:
        return item.seconds
    return band.tunes[item.tune].seconds if item.tune in band.tunes else None


def _print(band: Band, items: tuple[SetItem, ...], titles: dict[str, str]) -> None:
    table = Table("", "Tune", "Key", "Time", "Then", "Notes")
    number = 0
    for n, item in enumerate(items):
        number += bool(item.tune) and not item.instead
        place = "or" if item.instead else str(number) if item.tune else ""
        seconds = _lasts(band, item)
        said = f"{'' if item.seconds is not None else 'about '}{setfile.in_minutes(seconds)}" if seconds else ""
        title = titles.get(item.tune, "") if item.tune else item.notes or "Break"
        if item.tune and any(before.tune == item.tune for before in items[:n]):
            title += ", again"
        table.add_row(place, title, item.key, said, SIGNS[item.then], item.notes if item.tune else "")
    console = Console()
    console.print(table)
    console.print(_summary(band, items), markup=False, highlight=False)


def _summary(band: Band, items: tuple[SetItem, ...]) -> str:
    found = setlist.times(items, lambda tune: band.tunes[tune].seconds if tune in band.tunes else None)
    tunes = sum(1 for item in items if item.tune and not item.instead)
    words = f"{tunes} tunes" if tunes != 1 else "1 tune"
    if found.music:
        words += f", about {setfile.in_minutes(found.music)} of music"
    if len(found.stretches) > 1:
        words += f", the break after {setfile.in_minutes(found.stretches[0])}"
    return words + (f" ({found.unknown} without a time)" if found.unknown else "")
