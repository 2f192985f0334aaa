"""Files kept by what is in them: a file's name is the hash of its content, so it is never changed and never half there.

Everything here blocks; the hub calls it off the event loop.
"""

import hashlib
import os
import tempfile
from pathlib import Path

HASH = hashlib.sha256
_LENGTH = HASH().digest_size * 2
_UNFINISHED = ".new-"


class FilesError(OSError):
    """A file could not be kept or found: one sentence what to do."""


def content_hash(data: bytes) -> str:
    """The name that this content has: SHA-256, hexadecimal."""
    return HASH(data).hexdigest()


def is_hash(name: str) -> bool:
    """Whether a name could be that of a kept file (and so no path of any other kind)."""
    return len(name) == _LENGTH and all(letter in "0123456789abcdef" for letter in name)


class Files:
    """Content-addressed files in one folder."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def put(self, data: bytes) -> str:
        """Keep this content and return its hash; it is on the disk when this returns. Raises `FilesError`."""
        name = content_hash(data)
        path = self._path(name)
        if not path.exists():
            write_whole(path, data)
        return name

    def lay_by(self, data: bytes) -> str:
        """Keep what can be made again, without waiting for the disk; return its hash. Raises `FilesError`.

        It may be gone, or torn, when the power was; so it is written even where it seems to be.
        """
        name = content_hash(data)
        write_whole(self._path(name), data, durable=False)
        return name

    def has(self, name: str) -> bool:
        """Whether content of this hash is kept."""
        return is_hash(name) and self._path(name).is_file()

    def path(self, name: str) -> Path:
        """Where content of this hash is kept. Raises `FilesError` when it is not."""
        if not self.has(name):
            raise FilesError(f"The file {name[:12]!r} is not in the band folder; bring the part in again.")
        return self._path(name)

    def get(self, name: str) -> bytes:
        """Content by its hash. Raises `FilesError` when it is not there or no longer what it was."""
        try:
            data = self.path(name).read_bytes()
        except OSError as error:
            if isinstance(error, FilesError):
                raise
            raise FilesError(f"The file {name[:12]!r} of the band folder cannot be read: {error.strerror}.") from error
        if content_hash(data) != name:
            raise FilesError(f"The file {name[:12]!r} of the band folder is damaged; bring the part in again.")
        return data

    def sweep(self) -> None:
        """Remove what a killed process left unfinished. Only for the folder's one writer, before it writes."""
        for path in self._folder.glob(f"*/{_UNFINISHED}*"):
            path.unlink(missing_ok=True)

    def _path(self, name: str) -> Path:
        return self._folder / name[:2] / name


def write_whole(path: Path, data: bytes, mode: int = 0o644, *, durable: bool = True) -> None:
    """Write a file so that, whatever happens, it is there whole or as it was. Raises `FilesError`.

    Not `durable`: whatever happens but a loss of power.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=_UNFINISHED, delete=False) as new:
            try:
                new.write(data)
                new.flush()
                if durable:
                    os.fsync(new.fileno())
            except BaseException:
                new.close()
                Path(new.name).unlink(missing_ok=True)
                raise
        Path(new.name).chmod(mode)
        Path(new.name).replace(path)
        if durable:
            _sync_folder(path.parent)
    except OSError as error:
        why = error.strerror or str(error)
        name = f"A file ({path.name[:8]})" if is_hash(path.name) else path.name
        raise FilesError(
            f"{name} cannot be written to {path.parent} ({why}): see that there is room and that you may write there; "
            "nothing was changed."
        ) from error


def _sync_folder(folder: Path) -> None:
    """Make a rename durable. Windows keeps folders by itself and cannot open one."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
