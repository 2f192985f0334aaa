"""The band folder: minted once, held by one process, refused in words."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.store import disks
from collaparte.store.folder import BandFolder, FolderError, is_band_folder
from collaparte.store.settings import Ports, host_label


def test_settings_are_minted_once_and_stay(tmp_path: Path) -> None:
    path = tmp_path / "band"
    with BandFolder.make(path, "Die Böse Nine & Co.", "demo", "today", Ports(9001, 9002)) as made:
        own = made.settings
    assert own.host == f"die-bose-nine-co-{own.band}.local" and own.ports == Ports(9001, 9002)
    codes = [own.codes.join, own.codes.leader, own.codes.md, own.codes.librarian]
    assert len(set(codes)) == 4 and [len(code) for code in codes] == [6, 8, 8, 8]
    assert (path / "settings.json").stat().st_mode & 0o077 == 0
    with BandFolder.open(path, "serve", "later") as opened:
        assert opened.settings == own
        opened.set_ports(Ports(9003, 9004))
    with BandFolder.open(path, "serve", "later") as opened:
        assert (opened.settings.ports, opened.settings.codes) == (Ports(9003, 9004), own.codes)


def test_codes_give_roles_however_they_are_typed(tmp_path: Path) -> None:
    with BandFolder.make(tmp_path / "band", "Nine", "demo", "today") as folder:
        codes = folder.settings.codes
    assert codes.roles((codes.leader.upper(), f" {codes.md[:4]}-{codes.md[4:]} ")) == {"leader", "md"}
    assert codes.roles((codes.join, "", "xxxxxxxx")) == frozenset()


@given(st.text(max_size=200))
def test_any_name_makes_a_host_label(name: str) -> None:
    """RFC 952 / 1123: letters, digits, hyphens inside; RFC 1035: at most 63 octets, with the id and hyphen."""
    label = f"{host_label(name)}-2345"
    assert len(label) <= 63 and label[0] != "-" and set(label) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")


def test_one_process_writes_and_the_other_is_told_who(tmp_path: Path) -> None:
    path = tmp_path / "band"
    BandFolder.make(path, "Nine", "demo", "today").close()
    script = (
        "import sys; from pathlib import Path; from collaparte.store.folder import BandFolder\n"
        "held = BandFolder.open(Path(sys.argv[1]), 'serve', '20:15'); print('held', flush=True); sys.stdin.read()"
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", script, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout is not None and holder.stdout.readline() == "held\n"
    with pytest.raises(FolderError, match=rf'in use by "serve" \(process {holder.pid} on .*, since 20:15\); stop that'):
        BandFolder.open(path, "bring", "now")
    holder.kill()
    holder.communicate()
    # The lock goes with its process, however that ended.
    BandFolder.open(path, "bring", "now").close()


def test_what_a_killed_process_left_unfinished_is_swept_away(tmp_path: Path) -> None:
    path = tmp_path / "band"
    with BandFolder.make(path, "Nine", "demo", "today") as folder:
        name = folder.files.put(b"kept")
        unfinished = folder.files.path(name).parent / ".new-abc"
        unfinished.write_bytes(b"hal")
    with BandFolder.open(path, "serve", "now") as folder:
        assert folder.files.get(name) == b"kept" and not unfinished.exists()


def test_a_holder_that_has_not_signed_yet_is_still_a_holder(tmp_path: Path) -> None:
    path = tmp_path / "band"
    with BandFolder.make(path, "Nine", "demo", "today"):
        (path / "lock").write_text("")
        with pytest.raises(FolderError, match="in use by another process; stop that first"):
            BandFolder.open(path, "bring", "now")


def test_what_is_no_band_folder_is_refused_and_left_alone(tmp_path: Path) -> None:
    full = tmp_path / "full"
    full.mkdir()
    (full / "tax.txt").write_text("mine")
    with pytest.raises(FolderError, match="is not empty and is no band folder"):
        BandFolder.make(full, "Nine", "demo", "today")
    with pytest.raises(FolderError, match="is a file; give the name of a folder"):
        BandFolder.make(full / "tax.txt", "Nine", "demo", "today")
    with pytest.raises(FolderError, match="is no band folder; make one with"):
        BandFolder.open(full, "serve", "today")
    assert [path.name for path in full.iterdir()] == ["tax.txt"] and not is_band_folder(full)
    # As what may not be looked into: the system answers neither yes nor no (POSIX, stat: ENAMETOOLONG, EACCES).
    too_long = tmp_path / ("x" * 300)
    with pytest.raises(FolderError, match=r"cannot be looked into .*: see that"):
        BandFolder.make(too_long, "Nine", "demo", "today")
    with pytest.raises(FolderError, match="is no band folder; make one with"):
        BandFolder.open(too_long, "serve", "today")
    band = tmp_path / "band"
    BandFolder.make(band, "Nine", "demo", "today").close()
    with pytest.raises(FolderError, match="is a band folder already"):
        BandFolder.make(band, "Nine", "demo", "today")


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"{", "cannot be read"),
        (b'{"format": 1}', "cannot be read"),
        (b'{"format": 2, "new": true}', "written by a newer release; start that one"),
    ],
)
def test_settings_that_cannot_be_used(tmp_path: Path, content: bytes, why: str) -> None:
    path = tmp_path / "band"
    BandFolder.make(path, "Nine", "demo", "today").close()
    (path / "settings.json").write_bytes(content)
    for _ in range(2):
        with pytest.raises(FolderError, match=why):
            BandFolder.open(path, "serve", "now")
    assert (path / "settings.json").read_bytes() == content


def test_settings_of_a_later_release_with_more_in_them_are_read(tmp_path: Path) -> None:
    path = tmp_path / "band"
    with BandFolder.make(path, "Nine", "demo", "today") as folder:
        own = folder.settings
    kept = json.loads((path / "settings.json").read_text())
    (path / "settings.json").write_text(json.dumps(kept | {"colour": "blue"}))
    with BandFolder.open(path, "serve", "now") as folder:
        assert folder.settings == own


@pytest.mark.parametrize(
    ("place", "kind"),
    [("/home/me/band", ""), ("/home/me/share/band", "nfs4"), ("/mnt/our band/x", "cifs"), ("/home/me/sharer", "")],
)
def test_network_disks_are_told_from_the_table_of_mounts(tmp_path: Path, place: str, kind: str) -> None:
    """Fields as in fstab(5): device, place with \\040 for a space, kind."""
    mounts = tmp_path / "mounts"
    mounts.write_text(
        "/dev/vda1 / ext4 rw 0 0\nsrv:/x /home/me/share nfs4 rw 0 0\n//srv/y /mnt/our\\040band cifs rw 0 0\n\n"
    )
    assert disks.kind_in(mounts, Path(place)) == kind
    assert disks.kind_in(tmp_path / "none", Path(place)) == ""
