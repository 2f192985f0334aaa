"""The demo band, set up once for all the tests of this room, and one browser for their tablets."""

import signal
import subprocess
import sys
import threading
from collections.abc import AsyncIterator
from pathlib import Path
from typing import NamedTuple

import pytest
import pytest_asyncio
from playwright.async_api import Browser

from collaparte.store import settings
from e2e.stage import browser_for
from hub.bands import free_port

HANGS = 240
"""Seconds after which it is said that the demo band cannot be set up; not a measure of speed."""


class Demo(NamedTuple):
    """A band folder with the demo band's tunes, and what was printed until it was served."""

    folder: Path
    said: str


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """`collaparte demo`, run until it serves, then stopped."""
    folder = tmp_path_factory.mktemp("demo") / "band"
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "collaparte", "demo", str(folder), "--port", str(free_port())],
        stdout=subprocess.PIPE,
        text=True,
    )
    said = ""
    hangs = threading.Timer(HANGS, process.kill)
    hangs.start()
    with process:
        assert process.stdout is not None
        for line in process.stdout:
            said += line
            if line.startswith("Stop with Ctrl-C."):
                process.send_signal(signal.SIGTERM)
    hangs.cancel()
    assert process.returncode == 0, f"`collaparte demo` did not come to serve, or to stop; it said: {said}"
    return Demo(folder, said)


@pytest.fixture(scope="session")
def demo_band(demo: Demo) -> Path:
    """The demo band's folder, for copies."""
    return demo.folder


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
