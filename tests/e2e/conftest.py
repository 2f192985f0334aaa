"""The demo band, brought in once for all the tests of this room, and one browser for their tablets."""

import subprocess
import sys
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import pytest_asyncio
from playwright.async_api import Browser

from collaparte.demo import BAND
from collaparte.store import settings
from e2e.stage import browser_for


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


@pytest_asyncio.fixture(scope="session", loop_scope="session")
async def browser(demo_band: Path) -> AsyncIterator[Browser]:
    """A browser in which each tablet is a context of its own: what it keeps, and its cache, are nobody else's."""
    async with browser_for(settings.load(demo_band / "settings.json")) as browser:
        yield browser


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests with that browser run in its event loop."""
    for item in items:
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.asyncio(loop_scope="session"), append=False)
