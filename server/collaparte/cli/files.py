"""Files that a verb is given: what is wrong with one is a sentence that names it."""

from pathlib import Path
from typing import Annotated

import typer

Half = Annotated[
    int | None, typer.Option(min=1, help="Of parts that share a page only this one: 1 is the first in reading order.")
]


class FileError(Exception):
    """A file cannot be read: one sentence."""


def is_folder(path: Path) -> bool:
    """Whether there is a folder of this name; what cannot be a name is none."""
    try:
        return path.is_dir()
    except OSError:
        return False


def read_file(path: Path, most: int = -1) -> bytes:
    """A file's content, `most` bytes of it. Raises `FileError`."""
    try:
        with path.open("rb") as opened:
            return opened.read(most)
    except FileNotFoundError as error:
        raise FileError(f"There is no file {path}: see how it is spelled, and where it is.") from error
    except OSError as error:
        if is_folder(path):
            raise FileError(f"{path} is a folder: name a file in it.") from error
        raise FileError(f"{path} cannot be read ({error.strerror}): see whose it is, or copy it anew.") from error
