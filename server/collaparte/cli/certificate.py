"""`collaparte certificate`: the band's own certificate, by which tablets keep the stand while the hub is off."""

import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from collaparte.cli.reaching import fail
from collaparte.store.files import FilesError, write_whole
from collaparte.store.folder import BandFolder, FolderError
from collaparte.store.log import LogError, state_of
from collaparte.store.settings import Ports

if TYPE_CHECKING:
    from collaparte.hub.certificates import Root


def certificate(
    band_folder: Annotated[Path, typer.Argument(metavar="BAND_FOLDER", help="The band's folder.")],
    port: Annotated[
        int | None,
        typer.Option(
            min=1, max=65534, help="Port of the pages over https, kept from now on; the sockets take the next."
        ),
    ] = None,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="Write the certificate to this file, too; never its key.")
    ] = None,
    anew: Annotated[bool, typer.Option("--anew", help="Make another, which tablets must trust anew.")] = False,
    remove: Annotated[bool, typer.Option("--remove", help="Take key and certificate off this machine.")] = False,
) -> None:
    """Make the band's own certificate, or show it: tablets that trust it keep the stand while the hub is off."""
    # Here and not above: `--help` loads every verb, and this library takes its time.
    from collaparte.hub.certificates import WrongClock
    from collaparte.hub.root_file import RootError, drop_root, root_path

    now = datetime.datetime.now().astimezone()
    try:
        with BandFolder.open(band_folder.resolve(), "certificate", now.isoformat(timespec="seconds")) as folder:
            if remove:
                folder.set_secure(None)
                drop_root(root_path(folder.settings.host))
                typer.echo(
                    "Gone from this machine: the band is served by plain http only. Take it off the tablets, too."
                )
                return
            root = _root(folder, now, anew=anew)
            if port is not None or folder.settings.secure is None:
                first = port or folder.settings.ports.http + 2
                folder.set_secure(Ports(first, first + 1))
            if output is not None:
                write_whole(output, root.pem)
    except (FolderError, FilesError, LogError, RootError, WrongClock) as error:
        fail(str(error))
    own = folder.settings
    typer.echo(f"Certificate  {root.name}")
    typer.echo(f"Holds until  {root.until:%d %B %Y}")
    typer.echo(f"SHA-256      {root.fingerprint}")
    typer.echo(f"Key          {root_path(own.host)} (stays on this machine)")
    typer.echo(f"Serve the band; http://{own.host}:{own.ports.http}/trust then says how tablets come to trust it.")


def _root(folder: BandFolder, now: datetime.datetime, *, anew: bool) -> "Root":
    """The band's root as it is kept, or a new one."""
    from collaparte.hub.certificates import make_root
    from collaparte.hub.root_file import keep_root, kept_root, root_path

    path = root_path(folder.settings.host)
    if not anew and (path.exists() or folder.settings.secure is not None):
        return kept_root(path)
    band = state_of(folder.log_path).name or folder.path.name
    root = make_root(band, folder.settings.host, now)
    keep_root(path, root)
    return root
