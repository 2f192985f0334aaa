"""`collaparte lay`: one part on pages of a tablet's shape."""

import re
from pathlib import Path
from typing import Annotated, Literal

import msgspec
import typer

from collaparte.cli.alone import alone
from collaparte.cli.files import FileError, read_file
from collaparte.hub.jobs import DidLayOut, LayOut
from collaparte.hub.workers import JobFailed, Pool
from collaparte.music.form import written_order
from collaparte.music.ruler import fault
from collaparte.paper.pages.lay import printed_order
from collaparte.paper.pages.laying import Laying, Step
from collaparte.paper.reading import Reading
from collaparte.paper.ruler import chart
from collaparte.store.files import FilesError, write_whole

SMALLEST, LARGEST = 3.0, 12.0
"""Stave heights in mm that are laid."""


def lay(
    file: Annotated[Path, typer.Argument(help="The part, a PDF.")],
    output: Annotated[Path, typer.Option("--output", "-o", help="The PDF to write.")],
    page: Annotated[str, typer.Option(help="The page, width x height in mm.")] = "148x197",
    stave: Annotated[float, typer.Option(help="The height of a stave in mm.")] = 7.0,
    order: Annotated[
        str, typer.Option(help="`printed`: each bar once; `written`: repeats and jumps followed.")
    ] = "printed",
    json: Annotated[bool, typer.Option("--json", help="Print the laying as JSON.")] = False,
) -> None:
    """Lay a part on pages of a tablet's shape, as PDF, at the stave height that its player likes."""
    try:
        shape = _shape(page, stave)
        which = _named(order)
        pdf = read_file(file)

        async def job(pool: Pool) -> DidLayOut:
            last = len((await pool.look(pdf, file.name)).heads) - 1
            reading = await pool.read(pdf, file.name, (0, last), scans=True)
            return await pool.lay_out(LayOut(file.name, pdf, reading, _order(reading, which), shape, stave))

        laid = alone(job)
        write_whole(output, laid.pdf)
    except (FileError, FilesError, JobFailed, _Wrong) as error:
        _stop(str(error))
    if json:
        typer.echo(msgspec.json.encode(laid.laying).decode())
    else:
        _say(laid.laying, output)


class _Wrong(ValueError):
    """What was asked for is not possible; the message says why."""


def _stop(message: str) -> None:
    typer.echo(message, err=True)
    raise typer.Exit(1)


def _shape(page: str, stave: float) -> tuple[float, float]:
    found = re.fullmatch(r"(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)", page.strip().lower())
    if found is None or not (60 <= float(found[1]) <= 1000 and 80 <= float(found[2]) <= 1500):
        raise _Wrong(f'"{page}" is no page size; write width x height in mm, as in 148x197.')
    if not SMALLEST <= stave <= LARGEST:
        raise _Wrong(f"A stave of {stave:g} mm cannot be laid; choose one from {SMALLEST:g} to {LARGEST:g} mm.")
    return float(found[1]), float(found[2])


def _named(order: str) -> Literal["printed", "written"]:
    if order not in ("printed", "written"):
        raise _Wrong(f'"{order}" is no order; choose printed or written.')
    return "printed" if order == "printed" else "written"


def _order(reading: Reading, which: Literal["printed", "written"]) -> tuple[Step, ...]:
    if which == "printed" or not reading.positions:
        return printed_order(reading)
    if any(page.scanned and page.systems for page in reading.pages):
        raise _Wrong("The signs of a scan are not read for sure, so its repeats stay: lay it with --order printed.")
    ids = [str(n) for n in range(1, reading.positions + 1)]
    made = chart([reading], ids)
    wrong = fault(made)
    if wrong:
        raise _Wrong(f"The signs of this part cannot be followed: {wrong} Lay it with --order printed.")
    numbers = {bar.id: bar.number for bar in made.bars}
    written = written_order(made)
    if written.diagnosis:
        typer.echo(written.diagnosis, err=True)
    steps: list[Step] = []
    for step in written.steps:
        index = int(step.bar)
        join = bool(steps) and index != steps[-1].bar + 1
        label = f"{_nth(step.pass_)} time" if join and step.pass_ > 1 and step.pass_ != steps[-1].pass_ else ""
        steps.append(Step(index, numbers[step.bar], step.pass_, join, label))
    return tuple(steps)


def _nth(number: int) -> str:
    return f"{number}{'th' if 10 < number % 100 < 20 else {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th')}"


def _say(laying: Laying, output: Path) -> None:
    lines = sum(len(page.lines) for page in laying.pages)
    turns = sum(page.turn_at_rest for page in laying.pages[:-1])
    pages = f"{len(laying.pages)} page{'s' if len(laying.pages) != 1 else ''}"
    if laying.as_printed:
        typer.echo(f"{output}: {pages}, as printed.")
    else:
        typer.echo(f"{output}: {pages}, {lines} lines; {turns} of {len(laying.pages) - 1} page turns at a rest.")
    for note in laying.notes:
        typer.echo(note)
