"""Which disk a folder is on: SQLite's write-ahead log works on one machine only (sqlite.org/wal.html)."""

import sys
from pathlib import Path

_NETWORK = ("nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ncpfs", "ceph", "glusterfs", "fuse.sshfs")


_REMOTE = 4
"""GetDriveTypeW: a network drive (fileapi.h)."""


def network(path: Path) -> str:
    """The kind of network disk that a folder is on; "" for a disk of this machine, or where it cannot be told.

    Told on Linux and Windows; macOS does not say it to a program without native code.
    """
    if sys.platform == "win32":
        import ctypes

        return "network drive" if ctypes.windll.kernel32.GetDriveTypeW(path.resolve().anchor) == _REMOTE else ""
    return kind_in(Path("/proc/self/mounts"), path)


def kind_in(mounts: Path, path: Path) -> str:
    """The kind of network disk a folder is on by a table of mounts (device, place, kind, ... by spaces)."""
    try:
        rows = [row.split() for row in mounts.read_text(encoding="utf-8", errors="replace").splitlines()]
    except OSError:
        return ""
    places = {Path(row[1].replace("\\040", " ")): row[2] for row in rows if len(row) > 2}
    folder = path.resolve()
    kind = next((places[above] for above in (folder, *folder.parents) if above in places), "")
    return kind if kind in _NETWORK else ""
