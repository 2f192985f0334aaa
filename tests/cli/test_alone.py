"""What one file does in its worker is one sentence at the command line."""

from pathlib import Path

import pytest

from collaparte.cli.alone import alone
from collaparte.cli.files import FileError, read_file
from collaparte.hub.gathering import GatherError, gather
from collaparte.hub.limits import Limits
from collaparte.hub.workers import JobFailed
from hub import sheets_of_music as sheets


def test_a_file_that_never_ends_is_given_up() -> None:
    with pytest.raises(JobFailed, match=r"^endless.pdf took more than 2 s and was given up"):
        alone(lambda pool: pool.look(sheets.endless(), "endless.pdf"), Limits(look_seconds=2, starved=100))


def test_what_cannot_be_a_name_is_one_sentence() -> None:
    """A whole line pasted for a name is longer than a system's names may be (POSIX, NAME_MAX: 255 on most)."""
    with pytest.raises(FileError, match=r"^x+ cannot be read \(.*\): "):
        read_file(Path("x" * 300))
    with pytest.raises(GatherError, match=r"^x+ cannot be looked into \(.*\): "):
        gather([Path("x" * 300)])


def test_a_good_file_is_opened() -> None:
    looked = alone(lambda pool: pool.look(sheets.part("Blue Harbour", "2nd Alto", 8), "good.pdf"))
    assert len(looked.heads) == 1
