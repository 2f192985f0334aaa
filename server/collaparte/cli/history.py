"""`collaparte history`: what was decided, when, by whom, on which date; and as at the end of an earlier date."""

import datetime
import secrets
from typing import Annotated

import msgspec
import typer
from rich.console import Console
from rich.table import Table

from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, Wrong, joined, run, tune_of
from collaparte.wire.commands import TakeOver
from collaparte.wire.views import DateRow, HistoryRow, HistoryView, StoodRow
from collaparte_client import Band


def history(
    band: BandArgument,
    date: Annotated[str, typer.Option(help='Of a date: its name or id, or "last" for the one before this.')] = "",
    stood: Annotated[bool, typer.Option("--stood", help="The edits as they stood at the end of the date.")] = False,
    take_over: Annotated[
        bool, typer.Option("--take-over", help="Have the edits as they stood at the end of the date. For the MD.")
    ] = False,
    tune: Annotated[str, typer.Option(help="Take over this tune only.")] = "",
    most: Annotated[int, typer.Option(min=1, help="So many rows at most, the newest.")] = 100,
    json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Say what was decided, the newest first, or as it stood at the end of a date; or take that over again."""
    run(_history(band, date, stood, take_over, tune, most, json, code, role_code))


async def _history(
    band: str, date: str, stood: bool, take_over: bool, tune: str, most: int, json: bool, code: str, role_code: str
) -> None:
    if (stood or take_over) and not date:
        raise Wrong("Say of which date: --date last, say.")
    async with joined(band, code, role_code) as there:
        asked = _date(await there.look_back(), date) if date else ""
        if take_over:
            await there.do(TakeOver(secrets.token_hex(4), asked, tune_of(there, tune) if tune else ""))
        view = await _rows(there, asked, most)
        if json:
            typer.echo(msgspec.json.format(msgspec.json.encode(view)).decode())
        elif stood or take_over:
            _print_stood(view.stood)
        else:
            _print(view.rows, {one.date: one.name for one in view.dates})


async def _rows(band: Band, date: str, most: int) -> HistoryView:
    """As many rows as asked for, over several answers."""
    view = await band.look_back(date)
    rows = list(view.rows)
    while view.more and len(rows) < most:
        view = await band.look_back(date, rows[-1].seq)
        rows += view.rows
    return msgspec.structs.replace(view, rows=tuple(rows[:most]), more=view.more or len(rows) > most)


def _date(view: HistoryView, said: str) -> str:
    """The id of the date that is meant."""
    if said == "last":
        past = [one for one in view.dates if not one.open]
        if not past:
            raise Wrong("No date has been closed yet.")
        return past[0].date
    named: list[DateRow] = [one for one in view.dates if said.casefold() in (one.name.casefold(), one.date, one.day)]
    if not named:
        known = ", ".join(one.name for one in view.dates[:5]) or "none yet"
        raise Wrong(f"There is no date {said!r}; there are: {known}.")
    return named[0].date


def _print(rows: tuple[HistoryRow, ...], names: dict[str, str]) -> None:
    if not rows:
        typer.echo("Nothing has been decided yet.")
        return
    table = Table("When", "Date", "Who", "Tune", "What")
    for row in rows:
        table.add_row(_when(row.at), names.get(row.date, ""), row.by, row.tune, row.words)
    Console().print(table)


def _print_stood(rows: tuple[StoodRow, ...]) -> None:
    if not rows:
        typer.echo("As written: nothing was decided.")
        return
    table = Table("Tune", "Edit", "Who", "", "")
    for row in rows:
        table.add_row(row.title, row.words, row.by, "kept" if row.kept else "", "now too" if row.holds else "")
    Console().print(table)


def _when(at: str) -> str:
    try:
        return datetime.datetime.fromisoformat(at).strftime("%Y-%m-%d %H:%M")
    except ValueError:
        return at
