"""`collaparte bring`: a band's files into its folder."""

import asyncio
import datetime
import secrets
import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any, Self

import msgspec
import typer
from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
from rich.table import Table

from collaparte.band.state import State
from collaparte.cli.files import Half
from collaparte.hub.bringing import understand
from collaparte.hub.gathering import Came, GatherError, gather
from collaparte.hub.incoming import Became, Incoming, Told, Understood
from collaparte.hub.incoming import Progress as Steps
from collaparte.hub.keeping import CommitError, commit, keep
from collaparte.hub.workers import JobFailed, Pool
from collaparte.music.agree import Disagreement
from collaparte.paper.legibility import legibility
from collaparte.store.files import Files, FilesError
from collaparte.store.folder import BandFolder, FolderError, is_band_folder, is_free
from collaparte.store.log import Log, LogError
from collaparte.wire.commands import AddChair, Command, NameBand

BAD_USAGE = 2


def bring(
    band_folder: Annotated[Path, typer.Argument(help="The band's folder; a new one is made.")],
    files: Annotated[list[Path], typer.Argument(help="PDF files, a tune's MusicXML, or folders of them.")],
    tune: Annotated[str, typer.Option(help="The tune that all these files are of.")] = "",
    chair: Annotated[str, typer.Option(help="The chair that they are for.")] = "",
    half: Half = None,
    as_new: Annotated[bool, typer.Option("--as-new", help="A further part, even where the chair has one.")] = False,
    yes: Annotated[bool, typer.Option("--yes", "-y", help="Ask nothing; take what is proposed.")] = False,
    name: Annotated[str, typer.Option(help="The name of a new band (default: the folder's).")] = "",
    json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Bring parts in: tune and chair are understood from names, folders and the heads of the pages."""
    told = Told(tune, chair, as_new, yes, half or 0)
    try:
        code = asyncio.run(run(band_folder, gather(files), told, name, ask=not (yes or json), json=json))
    except (GatherError, FolderError) as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(BAD_USAGE) from error
    except (JobFailed, LogError, FilesError, CommitError) as error:
        typer.echo(f"{error} Nothing was brought in.", err=True)
        raise typer.Exit(1) from error
    raise typer.Exit(code)


async def run(path: Path, came: Sequence[Came], told: Told, name: str = "", *, ask: bool, json: bool = False) -> int:
    """Bring files into a band folder, made if new, and print what became of them; the exit code.

    Raises `FolderError`, `JobFailed`, `LogError`, `FilesError`, `CommitError` with nothing brought in.
    """
    if not came:
        raise GatherError("There are no files in there: name the PDFs, or a folder that holds them.")
    folder = await asyncio.to_thread(_open, path)
    try:
        state = await _state(folder) if folder else State()
        async with Pool(keep_one_free=False) as pool:
            with _Steps(quiet=json) as steps:
                kept = Files(path / "files")
                found = await understand(came, state, kept, pool, told, steps.show("Reading"))
            # A folder for a new band is made only when there is something to put in.
            if not found.rulers and not any(part.comes_in for part in found.incoming):
                return _tell(found, [], json=json)
            shown = ask and sys.stdin.isatty() and sys.stdout.isatty()
            if shown and not _agreed(found):
                typer.echo("Nothing was brought in.")
                return 1
            title = name or _name_of(path)
            if folder is None:
                folder = await asyncio.to_thread(BandFolder.make, path, title, "bring", _now())
            with _Steps(quiet=json) as steps:
                commands = await keep(found, state, kept, pool, steps.show("Cutting"))
        if commands and not state.name:
            commands.insert(0, NameBand(title))
        log = await Log.open(folder.log_path, epoch=secrets.token_hex(8))
        try:
            await commit(commands, state, log)
        finally:
            await log.close()
        return _tell(found, commands, json=json, shown=shown)
    finally:
        if folder:
            folder.close()


def _open(path: Path) -> BandFolder | None:
    """The band's folder; None when it is to be made. Raises `FolderError`."""
    if is_band_folder(path):
        return BandFolder.open(path, "bring", _now())
    if not is_free(path):
        raise FolderError(f"{path} is no band folder: give one, an empty folder, or the name of a new one.")
    return None


async def _state(folder: BandFolder) -> State:
    log = await Log.open(folder.log_path, epoch=secrets.token_hex(8))
    try:
        return await log.state()
    finally:
        await log.close()


def _name_of(path: Path) -> str:
    """A band's name, from its folder's."""
    return path.resolve().name


def _now() -> str:
    return datetime.datetime.now().astimezone().isoformat(timespec="seconds")


class _Steps:
    """Progress on the terminal's error side, gone when it is done."""

    def __init__(self, *, quiet: bool) -> None:
        columns = (
            TextColumn("{task.description}"),
            BarColumn(),
            MofNCompleteColumn(),
            TextColumn("{task.fields[what]}"),
        )
        self._bar = Progress(*columns, console=Console(stderr=True), transient=True, disable=quiet)

    def __enter__(self) -> Self:
        self._bar.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._bar.stop()

    def show(self, words: str) -> Steps:
        task = self._bar.add_task(words, total=None, what="")
        return lambda done, of, what: self._bar.update(task, completed=done, total=of, what=escape(what))


def _agreed(found: Understood) -> bool:
    """Show what would come in, and ask."""
    console = _console()
    _print_parts(console, found)
    wanted = [chair for part in found.incoming if part.comes_in for chair in part.chairs]
    _print_chairs(console, found.seating.commands(wanted))
    return typer.confirm("Bring these in?", default=True)


def _tell(found: Understood, commands: Sequence[Command], *, json: bool, shown: bool = False) -> int:
    """Print what became of the files, in short where it was shown before; 0 when all were understood, else 1."""
    added = [command for command in commands if isinstance(command, AddChair)]
    if json:
        typer.echo(msgspec.json.encode(_as_json(found, added)).decode())
    elif shown:
        _print_sum(_console(), found)
    else:
        console = _console()
        _print_parts(console, found)
        _print_chairs(console, added)
    open_ones = (Became.ASKED, Became.LEFT)
    return 1 if any(part.became in open_ones for part in found.incoming) else 0


def _print_parts(console: Console, found: Understood) -> None:
    by_tune: dict[str, list[Incoming]] = {}
    for part in found.incoming:
        by_tune.setdefault(found.titles.get(part.tune, part.proposal.title), []).append(part)
    table = Table("Chair", "Bars", "Marks", "Stave", "Became", "File", box=None, header_style="bold", pad_edge=False)
    for title, parts in by_tune.items():
        new = " (new)" if any(part.tune in found.new_tunes for part in parts) else ""
        table.add_row(f"[bold]{escape(title) or 'No tune'}[/bold]{new}")
        for part in parts:
            names = " + ".join(found.seating.name(chair) for chair in part.chairs)
            chairs = names or part.name or ("score" if part.score else "?")
            row = (escape(chairs), _bars(part), escape(_marks(part)), _stave(part), _became(part), escape(_where(part)))
            table.add_row(f"  {row[0]}", *row[1:])
    console.print(table)
    for part in found.incoming:
        for doubt in dict.fromkeys(part.doubts):
            console.print(f"{_where(part)}: {doubt}", markup=False, highlight=False)
    for tune, told in _told_of_others(found).items():
        for one in told:
            console.print(f"{found.titles[tune]}: {one.said}", markup=False, highlight=False)
    _print_sum(console, found)


def _print_sum(console: Console, found: Understood) -> None:
    """What is open, and how many of each kind there are."""
    for part in found.incoming:
        if part.why:
            why = part.why if part.became is Became.LEFT else f"{_where(part)}: {part.why}"
            console.print(why, markup=False, highlight=False, style="bold")
    count = Counter(part.became for part in found.incoming)
    words = [f"{count[became]} {became.value}" for became in Became if count[became]]
    console.print(f"{', '.join(words)}.", highlight=False)


def _told_of_others(found: Understood) -> dict[str, list[Disagreement]]:
    """Where parts differ that were in already."""
    came = {(part.tune, part.name) for part in found.incoming if part.comes_in}
    return {
        tune: [one for one in told if (tune, one.part) not in came] for tune, told in found.disagree.items() if told
    }


def _print_chairs(console: Console, added: Sequence[AddChair]) -> None:
    sections: dict[str, list[str]] = {}
    for command in added:
        sections.setdefault(command.section, []).append(command.name)
    for section, names in sections.items():
        console.print(f"New in {section}: {', '.join(names)}", markup=False, highlight=False)


def _console() -> Console:
    """As wide as the terminal; wide enough for long names where the output goes elsewhere."""
    return Console() if sys.stdout.isatty() else Console(width=160)


def _where(part: Incoming) -> str:
    if part.pages is None:
        return part.file
    first, last = part.pages[0] + 1, part.pages[1] + 1
    return f"{part.file}, page {first}" if first == last else f"{part.file}, pages {first} to {last}"


def _bars(part: Incoming) -> str:
    if part.score:
        pickup = part.score.chart.bars[0].number == 0
        return f"{sum(bar.counted for bar in part.score.chart.bars) - pickup}{' + pickup' if pickup else ''}"
    if part.reading is None:
        return ""
    if not part.reading.positions:
        return "as printed"
    return f"{part.reading.bars}{' + pickup' if part.reading.pickup else ''}"


def _marks(part: Incoming) -> str:
    marks = part.marks
    return " ".join(marks) if len(marks) < 5 else f"{marks[0]} to {marks[-1]} ({len(marks)})"


def _stave(part: Incoming) -> str:
    """The stave's height on paper, and with the page shown whole on a tablet."""
    seen = legibility(part.reading) if part.reading else None
    if seen is None:
        return ""
    small = seen.paper.verdict == "too small"
    return f"{seen.paper.stave_mm:.1f} mm{' (small)' if small else ''}, whole {seen.whole.stave_mm:.1f}"


def _became(part: Incoming) -> str:
    return f"{part.became.value}, as printed" if part.comes_in and not part.fit.bars else part.became.value


def _as_json(found: Understood, added: Sequence[AddChair]) -> dict[str, Any]:
    parts = [
        {
            "file": part.file,
            "pages": [part.pages[0] + 1, part.pages[1] + 1] if part.pages else None,
            "became": part.became.value,
            "tune": found.titles.get(part.tune, part.proposal.title),
            "chairs": [found.seating.name(chair) for chair in part.chairs],
            "part": part.name,
            "bars": part.reading.bars if part.reading else 0,
            "pickup": bool(part.reading and part.reading.pickup),
            "marks": [{"text": mark.text, "bar": mark.bar} for mark in part.reading.marks] if part.reading else [],
            "legibility": msgspec.to_builtins(legibility(part.reading)) if part.reading else None,
            "as_printed": part.comes_in and not part.fit.bars,
            "doubts": list(dict.fromkeys(part.doubts)),
            "why": part.why,
        }
        for part in found.incoming
    ]
    chairs = [{"name": command.name, "section": command.section} for command in added]
    disagree = [
        {"tune": found.titles[tune], **one._asdict(), "words": one.said}
        for tune, told in found.disagree.items()
        for one in told
    ]
    return {"version": 1, "parts": parts, "new_chairs": chairs, "disagree": disagree}
