"""The band folder: settings, log, files and a lock, all that a band has, in one place that can be copied.

```
settings.json   who the band is, its ports, host name and codes
log.sqlite      every event that was decided (and log.sqlite-wal while in use)
files/          originals, readings, layings and pictures by content hash
lock            who writes to it now
```
"""

from pathlib import Path
from typing import Self

from collaparte.store import disks, settings
from collaparte.store.files import Files, FilesError
from collaparte.store.lock import Held, Lock
from collaparte.store.settings import Ports, Settings, SettingsError

_ROOM = "see that there is room and that you may write there, or choose another place."


class FolderError(Exception):
    """The band folder cannot be used: one sentence why and what to do."""


class BandFolder:
    """An open band folder, held for writing by this process alone until `close`."""

    def __init__(self, path: Path, own: Settings, lock: Lock) -> None:
        self.path = path
        self.settings = own
        self.files = Files(path / "files")
        self.log_path = path / "log.sqlite"
        self._lock = lock

    @classmethod
    def make(cls, path: Path, name: str, what: str, at: str, ports: Ports | None = None) -> Self:
        """Make a band folder for a band called `name` and hold it for `what`. Raises `FolderError`."""
        if is_band_folder(path):
            raise FolderError(f"{path} is a band folder already.")
        if not is_free(path):
            if path.is_file():
                raise FolderError(f"{path} is a file; give the name of a folder.")
            raise FolderError(f"{path} is not empty and is no band folder; give an empty or a new one.")
        try:
            path.mkdir(parents=True, exist_ok=True)
            _refuse_network(path)
            lock = Lock.take(path / "lock", what, at)
        except OSError as error:
            raise FolderError(f"{path} cannot be made ({error.strerror}): {_ROOM}") from error
        except Held as held:
            raise FolderError(str(held)) from held
        try:
            own = settings.mint(name, at, ports or Ports())
            settings.save(path / "settings.json", own)
        except FilesError as error:
            lock.release()
            raise FolderError(str(error)) from error
        return cls(path, own, lock)

    @classmethod
    def open(cls, path: Path, what: str, at: str) -> Self:
        """Open a band folder and hold it for `what` ("serve"). Raises `FolderError`, naming who holds it."""
        if not is_band_folder(path):
            raise FolderError(f"{path} is no band folder; make one with `collaparte bring` or `collaparte demo`.")
        _refuse_network(path)
        try:
            lock = Lock.take(path / "lock", what, at)
        except Held as held:
            raise FolderError(str(held)) from held
        except OSError as error:
            raise FolderError(f"{path} cannot be written to ({error.strerror}): {_ROOM}") from error
        try:
            folder = cls(path, settings.load(path / "settings.json"), lock)
            folder.files.sweep()
        except SettingsError as error:
            lock.release()
            raise FolderError(str(error)) from error
        except OSError as error:
            lock.release()
            raise FolderError(f"{path} cannot be written to ({error.strerror}): {_ROOM}") from error
        return folder

    def set_ports(self, ports: Ports) -> None:
        """Keep other ports from now on; stands that joined under the old ones must join anew. Raises `FolderError`."""
        self._save(settings.with_ports(self.settings, ports))

    def set_secure(self, ports: Ports | None) -> None:
        """Serve over TLS at these ports as well from now on, or no more. Raises `FolderError`."""
        self._save(settings.with_secure(self.settings, ports))

    def _save(self, own: Settings) -> None:
        try:
            settings.save(self.path / "settings.json", own)
        except FilesError as error:
            raise FolderError(str(error)) from error
        self.settings = own

    def close(self) -> None:
        """Let others use the folder."""
        self._lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def is_band_folder(path: Path) -> bool:
    """Whether a folder has been made into a band's; one that cannot be looked into is none."""
    try:
        return (path / "settings.json").is_file()
    except OSError:
        return False


def is_free(path: Path) -> bool:
    """Whether a band folder can be made there: nothing is there, or an empty folder. Raises `FolderError`."""
    try:
        return not path.exists() or (path.is_dir() and not any(path.iterdir()))
    except OSError as error:
        raise FolderError(f"{path} cannot be looked into ({error.strerror}): {_ROOM}") from error


def settings_of(path: Path) -> Settings:
    """A band folder's settings, without holding it: for a client at the hub's own machine. Raises `FolderError`."""
    if not is_band_folder(path):
        raise FolderError(f"{path} is no band folder; make one with `collaparte bring` or `collaparte demo`.")
    try:
        return settings.load(path / "settings.json")
    except SettingsError as error:
        raise FolderError(str(error)) from error


def _refuse_network(path: Path) -> None:
    kind = disks.network(path)
    if kind:
        raise FolderError(
            f"{path} is on a network disk ({kind}), where the log would not be safe; use a folder on this machine."
        )
