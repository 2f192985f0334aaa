"""Files and folders as they were named: which files there are, in the order that people number them."""

import os
import re
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

MOST_FILES = 5000
"""More than this is no band's music but a whole disk."""


class GatherError(ValueError):
    """A file or folder that cannot be brought in, in one sentence."""


class Came(NamedTuple):
    """One file. `name`: how it is shown. `folders`: names of the folders that it lies in, innermost first."""

    path: Path
    name: str
    folders: tuple[str, ...]


def gather(paths: Iterable[Path]) -> list[Came]:
    """Every file named, and every one in the folders named; hidden ones are left out. Raises `GatherError`."""
    found: dict[Path, Came] = {}
    for path in paths:
        try:
            there, folder = path.exists(), path.is_dir()
        except OSError as error:
            raise _closed(error) from error
        if folder:
            for file in _within(path):
                inner = file.relative_to(path).parent.parts
                folders = (*reversed(inner), path.resolve().name)
                found.setdefault(file.resolve(), Came(file, str(file.relative_to(path)), folders))
        elif there:
            found.setdefault(path.resolve(), Came(path, path.name, (path.resolve().parent.name,)))
        else:
            raise GatherError(f"There is no file or folder {path}: see how it is spelled, and where it is.")
        if len(found) > MOST_FILES:
            raise GatherError(f"{path} holds more than {MOST_FILES} files: name the folder of a tune or of a band.")
    return list(found.values())


def _within(folder: Path) -> list[Path]:
    files: list[Path] = []
    for root, folders, names in os.walk(folder, onerror=_refuse):
        folders[:] = sorted((name for name in folders if not _hidden(name)), key=_in_order)
        files += [Path(root, name) for name in sorted(names, key=_in_order) if not _hidden(name)]
        if len(files) > MOST_FILES:
            break
    return files


def _refuse(error: OSError) -> None:
    raise _closed(error) from error


def _closed(error: OSError) -> GatherError:
    why = f"{error.filename} cannot be looked into ({error.strerror})"
    return GatherError(f"{why}: see whose it is, or name the files beside it.")


def _hidden(name: str) -> bool:
    return name.startswith((".", "~$")) or name.lower() in ("thumbs.db", "desktop.ini", "__macosx")


def _in_order(name: str) -> list[tuple[int, str]]:
    """ "2 Tune" before "10 Tune"."""
    return [(int(part), "") if part.isdigit() else (0, part.casefold()) for part in re.split(r"(\d+)", name)]
