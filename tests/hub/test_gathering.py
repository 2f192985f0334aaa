"""What is found in the folders that are brought in, and in what order."""

from pathlib import Path

import pytest

from collaparte.hub.gathering import GatherError, gather
from collaparte.store.files import content_hash


def test_files_are_gathered_as_people_number_them(tmp_path: Path) -> None:
    for name in ("10 Tune/a.pdf", "2 Tune/b 10.pdf", "2 Tune/b 9.pdf", ".hidden/c.pdf", "2 Tune/.DS_Store"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content_hash(name.encode()).encode())
    came = gather([tmp_path, tmp_path / "10 Tune" / "a.pdf"])
    names = ("2 Tune/b 9.pdf", "2 Tune/b 10.pdf", "10 Tune/a.pdf")
    assert [file.name for file in came] == [str(Path(name)) for name in names]
    assert came[0].folders == ("2 Tune", tmp_path.name)
    with pytest.raises(GatherError, match="There is no file or folder"):
        gather([tmp_path / "nowhere"])
