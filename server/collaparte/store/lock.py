"""One writer a band folder: a lock that goes with its process, however that ends. Linux, macOS and Windows."""

import contextlib
import json
import os
import socket
import sys
from pathlib import Path
from typing import IO, Self

_BEYOND = 1 << 30
"""Byte that is locked on Windows, where a locked byte cannot be read: far past the holder's name."""


class Held(Exception):
    """Another process writes to this band folder: one sentence who."""


class Lock:
    """The right to write to a band folder. Hold it for as long as the folder is written to."""

    def __init__(self, file: IO[str]) -> None:
        self._file = file

    @classmethod
    def take(cls, path: Path, what: str, at: str) -> Self:
        """Take the lock kept in the file `path` for `what` ("serve"), or raise `Held`; `at`: the time, for people."""
        file = path.open("a+", encoding="utf-8")
        try:
            _lock(file)
        except OSError as error:
            holder = _holder(file)
            file.close()
            raise Held(f"The band folder {path.parent} is in use{holder}; stop that first.") from error
        holder_text = json.dumps({"what": what, "process": os.getpid(), "machine": socket.gethostname(), "since": at})
        file.seek(0)
        file.truncate()
        file.write(holder_text)
        file.flush()
        return cls(file)

    def release(self) -> None:
        """Give the lock back."""
        if self._file.closed:
            return
        with contextlib.suppress(OSError):
            self._file.seek(0)
            self._file.truncate()
        self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.release()


def _holder(file: IO[str]) -> str:
    """ " by ..." as the holder wrote it, or "" while it is still writing."""
    try:
        file.seek(0)
        held = json.loads(file.read())
        return f' by "{held["what"]}" (process {held["process"]} on {held["machine"]}, since {held["since"]})'
    except (OSError, ValueError, KeyError, TypeError):
        return " by another process"


if sys.platform == "win32":
    import msvcrt

    def _lock(file: IO[str]) -> None:
        os.lseek(file.fileno(), _BEYOND, os.SEEK_SET)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _lock(file: IO[str]) -> None:
        fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
