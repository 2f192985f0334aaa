"""`collaparte export`: a chair's whole book as one PDF."""

import asyncio
from pathlib import Path
from typing import Annotated

import typer

from collaparte.cli.files import is_folder
from collaparte.cli.reaching import CodeOption, Wrong, code_said, fail, reached
from collaparte.hub.printing import NoBook, book_name, chair_called, paper_called, print_book, stave_said
from collaparte.hub.workers import JobFailed, Pool
from collaparte.store.files import Files, FilesError, write_whole
from collaparte.store.folder import is_band_folder
from collaparte.store.log import LogError, state_of
from collaparte.wire.book import AboutBook
from collaparte_client import Book, NotIn, Refused, fetch_book


def export(
    band: Annotated[
        str,
        typer.Argument(
            metavar="BAND",
            help="The band's folder on this machine (a hub may be serving it), or a running hub: its address "
            "(host:port), or the name of its band.",
        ),
    ],
    chair: Annotated[str, typer.Option(help='The chair whose book it is, as in "2nd Alto".')],
    paper: Annotated[str, typer.Option(help="A4, Letter, or tablet for another reader's glass.")] = "A4",
    stave: Annotated[float, typer.Option(help="The height of a stave in mm.")] = 7.0,
    markings: Annotated[
        bool, typer.Option("--markings/--no-markings", help="With the chair's own markings, its section's, the band's.")
    ] = True,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="The PDF to write (default: band and chair).")
    ] = None,
    code: CodeOption = "",
) -> None:
    """Print a chair's book: the whole set in order, cuts applied, as one PDF with a bookmark a tune."""
    try:
        sheet, height = paper_called(paper), stave_said(f"{stave:g}")
        if is_folder(Path(band)):
            work = _from_folder(Path(band), chair, sheet, height, markings)
        else:
            work = _from_hub(band, code, chair, sheet, height, markings)
        book = asyncio.run(work)
        target = output or Path(f"{book.about.name}.pdf")
        write_whole(target, book.pdf)
    except (Wrong, NoBook, LogError, FilesError, JobFailed, NotIn, Refused) as error:
        fail(str(error))
    typer.echo(f"{target}: {book.about.tunes} tune{'s' if book.about.tunes != 1 else ''}.")
    for sentence in book.about.missing:
        typer.echo(sentence, err=True)
    if book.about.missing:
        raise typer.Exit(1)


async def _from_folder(path: Path, chair: str, paper: str, stave: float, marked: bool) -> Book:
    if not is_band_folder(path):
        raise Wrong(f"{path} is no band folder: give the band's folder, a hub's address or a band's name.")
    folder = await asyncio.to_thread(path.resolve)
    state = await asyncio.to_thread(state_of, folder / "log.sqlite")
    id = chair_called(state, chair)
    files = Files(folder / "files")

    async def fetch(name: str) -> bytes:
        return await asyncio.to_thread(files.get, name)

    async with Pool(keep_one_free=False) as pool:
        book = await print_book(state, id, fetch, pool, paper, stave, marked=marked)
    return Book(book.pdf, AboutBook(book_name(state, id, folder.name), book.tunes, book.missing))


async def _from_hub(band: str, code: str, chair: str, paper: str, stave: float, marked: bool) -> Book:
    hub = await reached(band)
    return await fetch_book(hub, code_said(code), chair, paper=paper, stave=stave, markings=marked)
