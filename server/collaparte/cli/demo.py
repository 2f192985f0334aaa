"""`collaparte demo`: an invented band, brought in like any other, and served."""

import asyncio
import shutil
from pathlib import Path
from typing import Annotated

import typer
from platformdirs import user_data_path

from collaparte.cli import bring
from collaparte.cli.reaching import fail
from collaparte.cli.serve import run_hub
from collaparte.demo import BAND, NAME
from collaparte.hub.gathering import GatherError, gather
from collaparte.hub.incoming import Told
from collaparte.hub.keeping import CommitError
from collaparte.hub.workers import JobFailed
from collaparte.store.files import FilesError
from collaparte.store.folder import FolderError, is_band_folder, is_free
from collaparte.store.log import LogError


def demo(
    folder: Annotated[
        Path | None, typer.Argument(metavar="FOLDER", help="Where to set the band up; else among your own data.")
    ] = None,
    port: Annotated[
        int | None,
        typer.Option(min=1, max=65534, help="Port of the pages, kept from now on; the sockets take the next."),
    ] = None,
) -> None:
    """Set up an invented band with its music, if it is not there yet, and serve it."""
    path = (folder or user_data_path("collaparte", appauthor=False) / "demo").resolve()
    if not is_band_folder(path):
        _set_up(path)
    run_hub(path, port)


def _set_up(path: Path) -> None:
    """Bring the demo's files in beside `path` and move the whole there: half a band is never served."""
    new = path.with_name(f".{path.name}-new")
    tunes = sorted(folder for folder in BAND.iterdir() if folder.is_dir())
    typer.echo(f"Setting up the demo band in {path} ...")
    try:
        if not is_free(path):
            fail(f"{path} is not empty and is no band folder; give an empty or a new one.")
        if new.exists():
            shutil.rmtree(new)
        name = NAME.read_text(encoding="utf-8").strip()
        asyncio.run(bring.run(new, gather(tunes), Told(take=True), name, ask=False))
        new.replace(path)
    except (GatherError, FolderError, JobFailed, LogError, FilesError, CommitError) as error:
        fail(str(error))
    except OSError as error:
        fail(f"The demo band cannot be set up in {path}: {error.strerror}.")
