"""Files by their content: kept once, never half, found damaged when they are."""

import hashlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.store.files import Files, FilesError, content_hash, is_hash, write_whole


def test_content_is_kept_under_its_sha_256(tmp_path: Path) -> None:
    """FIPS 180-4's example: SHA-256 of "abc"."""
    files = Files(tmp_path / "files")
    name = files.put(b"abc")
    assert name == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert files.put(b"abc") == name and files.has(name)
    assert (files.get(name), files.path(name).read_bytes()) == (b"abc", b"abc")
    assert [path.name for path in (tmp_path / "files").rglob("*") if path.is_file()] == [name]


def test_a_file_that_is_damaged_or_not_there(tmp_path: Path) -> None:
    files = Files(tmp_path / "files")
    name = files.put(b"abc")
    files.path(name).write_bytes(b"abd")
    with pytest.raises(FilesError, match=r"is damaged; bring the part in again\.$"):
        files.get(name)
    files.path(name).unlink()
    with pytest.raises(FilesError, match=r"is not in the band folder; bring the part in again\.$"):
        files.get(name)


def test_what_can_be_made_again_waits_for_no_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def slow(handle: int) -> None:
        raise AssertionError("waited for the disk")

    monkeypatch.setattr("os.fsync", slow)
    files = Files(tmp_path / "files")
    name = files.lay_by(b"abc")
    # As after a loss of power: the name is there, and the content is not.
    files.path(name).write_bytes(b"")
    assert files.lay_by(b"abc") == name == content_hash(b"abc")
    assert files.get(name) == b"abc"
    assert [path.name for path in (tmp_path / "files").rglob("*") if path.is_file()] == [name]


@given(st.text(max_size=70))
def test_no_name_reaches_outside_the_folder(name: str) -> None:
    assert is_hash(name) == (len(name) == 64 and set(name) <= set("0123456789abcdef"))
    for path in ("../../settings.json", "/etc/passwd", name):
        with pytest.raises(FilesError):
            Files(Path("/")).path(path)


@given(st.binary(max_size=200))
def test_the_name_is_what_any_other_program_would_work_out(data: bytes) -> None:
    assert content_hash(data) == hashlib.new("sha256", data).hexdigest() and is_hash(content_hash(data))


def test_a_write_that_fails_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "settings.json"
    write_whole(path, b"before")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(FilesError, match=r"^settings.json cannot .* \(No space left on device\): .*; noth"):
        write_whole(path, b"after")
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("settings.json", b"before")]


def test_a_file_in_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "files").write_bytes(b"")
    with pytest.raises(FilesError, match="cannot be written"):
        Files(tmp_path / "files").put(b"abc")
