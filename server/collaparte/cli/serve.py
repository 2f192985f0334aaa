"""`collaparte serve`: serve a band folder until stopped."""

import asyncio
import contextlib
import io
import logging
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import segno
import typer
from rich.console import Console
from rich.logging import RichHandler

from collaparte.cli.reaching import fail
from collaparte.hub.pages import joining_url
from collaparte.hub.serving import CannotServe, Hub
from collaparte.hub.serving import serve as serving


def serve(
    band_folder: Annotated[Path, typer.Argument(metavar="BAND_FOLDER", help="The band's folder.")],
    port: Annotated[
        int | None,
        typer.Option(min=1, max=65534, help="Port of the pages, kept from now on; the sockets take the next."),
    ] = None,
    verbose: Annotated[bool, typer.Option("--verbose", help="Say what the hub does.")] = False,
) -> None:
    """Serve a band to every stand in the room, until stopped with Ctrl-C."""
    run_hub(band_folder.resolve(), port, verbose=verbose)


def run_hub(band_folder: Path, port: int | None, *, verbose: bool = False) -> None:
    """Serve and print how to join; returns after a signal to stop, exits with a sentence when it cannot serve."""
    console = Console()
    logging.basicConfig(
        level=logging.INFO if verbose else logging.WARNING,
        format="%(message)s",
        handlers=[RichHandler(console=Console(stderr=True), show_path=False)],
    )
    if not verbose:
        # What strangers send (a page asked for by https at the plain port, say) is no news for the librarian.
        logging.getLogger("uvicorn").setLevel(logging.ERROR)
    try:
        asyncio.run(_serve(console, band_folder, port))
    except CannotServe as error:
        fail(str(error))


async def _serve(console: Console, band_folder: Path, port: int | None) -> None:
    with _signals() as stopped:
        async with serving(band_folder, port=port) as hub:
            _print_how_to_join(console, hub)
            breaking = asyncio.create_task(hub.broken())
            stopping = asyncio.create_task(stopped.wait())
            await asyncio.wait({breaking, stopping}, return_when=asyncio.FIRST_COMPLETED)
            stopping.cancel()
            if breaking.done():
                await breaking
            breaking.cancel()
            console.print("The hub stops.")


def _print_how_to_join(console: Console, hub: Hub) -> None:
    picture = io.StringIO()
    segno.make(joining_url(hub.addresses, hub.codes.join)).terminal(out=picture, compact=True)
    console.out(hub.band, style="bold", highlight=False)
    for url in hub.addresses.urls():
        console.out(f"  {url}", highlight=False)
    if hub.addresses.secure_canonical is not None:
        console.out(
            f"  {hub.addresses.secure_canonical}  for tablets that trust the band's certificate", highlight=False
        )
        console.out(f"  {hub.addresses.urls()[0]}/trust  says how they come to", highlight=False)
    console.out(picture.getvalue(), highlight=False)
    codes = hub.codes
    said = (("join", codes.join), ("leader's", codes.leader), ("MD's", codes.md), ("librarian's", codes.librarian))
    for whose, code in said:
        console.out(f"  {whose + ' code':<19}{code}", highlight=False)
    for notice in hub.notices:
        console.print(notice, style="yellow", highlight=False)
    console.print("Stop with Ctrl-C.")


@contextlib.contextmanager
def _signals() -> Iterator[asyncio.Event]:
    """An event that is set when the system or the user asks to stop."""
    stopped = asyncio.Event()
    loop = asyncio.get_running_loop()
    asked = [signal.SIGINT, signal.SIGTERM]
    before = {number: signal.getsignal(number) for number in asked}
    for number in asked:
        # Not every system's loop has handlers of its own; a plain one works on all.
        signal.signal(number, lambda *_: loop.call_soon_threadsafe(stopped.set))
    try:
        yield stopped
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
