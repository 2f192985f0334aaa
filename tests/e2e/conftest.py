"""The demo band, brought in once for all the tests of this room."""

import subprocess
import sys
from pathlib import Path

import pytest

from collaparte.demo import BAND


@pytest.fixture(scope="session")
def demo_band(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A band folder with the demo band's tunes, brought in by the command that a librarian uses."""
    folder = tmp_path_factory.mktemp("demo") / "band"
    tunes = sorted(str(tune) for tune in BAND.iterdir() if tune.is_dir())
    done = subprocess.run(
        [sys.executable, "-m", "collaparte", "bring", str(folder), *tunes, "--yes", "--name", "The Test Pilots"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return folder
