"""`collaparte export`: a chair's whole book as one PDF."""

import asyncio
import re
from pathlib import Path
from typing import Annotated

import typer

from collaparte.cli.lay import LARGEST, SMALLEST
from collaparte.cli.reaching import Wrong, fail
from collaparte.hub.printing import Book, NoBook, chair_called, print_book
from collaparte.hub.workers import JobFailed, Pool
from collaparte.paper.pages.book import PAPERS
from collaparte.store.files import Files, FilesError, write_whole
from collaparte.store.folder import is_band_folder
from collaparte.store.log import LogError, state_of


def export(
    band: Annotated[Path, typer.Argument(metavar="BAND_FOLDER", help="The band's folder; a hub may be serving it.")],
    chair: Annotated[str, typer.Option(help='The chair whose book it is, as in "2nd Alto".')],
    paper: Annotated[str, typer.Option(help="A4, Letter, or tablet for another reader's glass.")] = "A4",
    stave: Annotated[float, typer.Option(help="The height of a stave in mm.")] = 7.0,
    markings: Annotated[
        bool, typer.Option("--markings/--no-markings", help="With the chair's own markings, its section's, the band's.")
    ] = True,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="The PDF to write (default: band and chair).")
    ] = None,
) -> None:
    """Print a chair's book: the whole set in order, cuts applied, as one PDF with a bookmark a tune."""
    try:
        sheet = _sheet(paper)
        if not SMALLEST <= stave <= LARGEST:
            raise Wrong(f"A stave of {stave:g} mm cannot be laid; choose one from {SMALLEST:g} to {LARGEST:g} mm.")
        if not is_band_folder(band):
            raise Wrong(f"{band} is no band folder.")
        book, name = asyncio.run(_book(band.resolve(), chair, sheet, stave, markings))
        target = output or Path(f"{name}.pdf")
        write_whole(target, book.pdf)
    except (Wrong, NoBook, LogError, FilesError, JobFailed) as error:
        fail(str(error))
    typer.echo(f"{target}: {book.tunes} tune{'s' if book.tunes != 1 else ''}.")
    for sentence in book.missing:
        typer.echo(sentence, err=True)
    if book.missing:
        raise typer.Exit(1)


async def _book(folder: Path, chair: str, paper: str, stave: float, marked: bool) -> tuple[Book, str]:
    """The book, and what its file is called."""
    state = await asyncio.to_thread(state_of, folder / "log.sqlite")
    id = chair_called(state, chair)
    files = Files(folder / "files")

    async def fetch(name: str) -> bytes:
        return await asyncio.to_thread(files.get, name)

    async with Pool(keep_one_free=False) as pool:
        book = await print_book(state, id, fetch, pool, paper, stave, marked=marked)
    named = f"{state.name or folder.name} - {state.chairs[id].name}"
    return book, re.sub(r'[\\/:*?"<>|\x00-\x1f]', "_", named)


def _sheet(paper: str) -> str:
    found = next((name for name in PAPERS if name.casefold() == paper.strip().casefold()), None)
    if found is None:
        raise Wrong(f'"{paper}" is no paper that is printed on; choose A4, Letter or tablet.')
    return found
