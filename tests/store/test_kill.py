"""`kill -9` in the middle of appends: whatever was told is there."""

from pathlib import Path

from store.kill import kill_once


def test_what_was_told_survives_a_kill(tmp_path: Path) -> None:
    told = [kill_once(tmp_path / "log.sqlite", after) for after in (0, 1, 7, 23)]
    assert told == sorted(told) and told[-1] >= 23
