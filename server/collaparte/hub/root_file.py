"""Where the band's root is kept: on this machine only, and in no band folder, which may be copied and lent.

Everything here blocks; the hub calls it off the event loop.
"""

import os
from pathlib import Path

from platformdirs import user_state_path

from collaparte.hub.certificates import NoRoot, Root, read_root
from collaparte.store.files import FilesError, write_whole


class RootError(Exception):
    """The band's root cannot be used: one sentence why and what to do."""


def root_path(host: str) -> Path:
    """The file on this machine that holds key and certificate of the hub called `host`."""
    folder = user_state_path("collaparte", appauthor=False) / "certificates"
    return folder / f"{host.removesuffix('.local')}.pem"


def keep_root(path: Path, root: Root) -> None:
    """Keep a root for its owner's eyes only. Raises `RootError`."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_whole(path, root.whole, mode=0o600)
    except FilesError as error:
        raise RootError(str(error)) from error
    except OSError as error:
        raise RootError(f"{path.parent} cannot be made: {error.strerror}; nothing was changed.") from error


def kept_root(path: Path) -> Root:
    """The root as it was kept. Raises `RootError`."""
    anew = "make another with `collaparte certificate BAND_FOLDER --anew`, which tablets must then trust"
    try:
        if os.name != "nt" and path.stat().st_mode & 0o077:
            raise RootError(f"Others on this machine may read the band's key: put that right with `chmod 600 {path}`.")
        return read_root(path.read_bytes())
    except FileNotFoundError as error:
        raise RootError(
            f"The key of the band's certificate is not on this machine (no {path}) and stays where it was made: "
            f"serve the band there, or {anew}."
        ) from error
    except OSError as error:
        raise RootError(
            f"The band's key {path} cannot be read ({error.strerror}): make it yours, or {anew}."
        ) from error
    except NoRoot as error:
        raise RootError(f"The band's key and certificate in {path} are damaged: {anew}.") from error


def drop_root(path: Path) -> None:
    """Take a root and its key off this machine. Raises `RootError`."""
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise RootError(f"{path} cannot be taken away: {error.strerror}.") from error
