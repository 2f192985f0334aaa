"""What every test runs under: whatever blocks the event loop in our code fails the test that made it, what waits for
ever ends in a sentence, a busy machine is waited for, and what failed says what it was drawn from."""

import asyncio
import functools
import inspect
import sys
import traceback
from collections.abc import Awaitable, Callable, Generator, Iterator
from pathlib import Path

import blockbuster.blockbuster as guard
import hypothesis
import pytest

from seeded import SEED

HANGS = 240
"""Seconds after which a test that waits says that it hangs; not a measure of speed."""

# No test goes by a clock, those that draw their cases neither; the rest is as Hypothesis sets it, in CI and out of it.
hypothesis.settings.register_profile(
    "untimed", hypothesis.settings(), deadline=None, suppress_health_check=[hypothesis.HealthCheck.too_slow]
)
hypothesis.settings.load_profile("untimed")


@pytest.fixture(autouse=True)
def no_blocking_calls(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Blocking calls (files, sleeps, locks, SQLite, sockets) made on the event loop from our packages.

    The error is raised where the call was made and may be caught there, so it is noted as well.
    """
    noted: list[str] = []

    class Noted(guard.BlockingError):
        def __init__(self, func: str) -> None:
            super().__init__(func)
            noted.append(func)

    monkeypatch.setattr(guard, "BlockingError", Noted)
    with guard.blockbuster_ctx(["collaparte", "collaparte_client"]) as watched:
        # A line of the hub's own log may be written where it happens.
        for written in ("io.TextIOWrapper.write", "io.BufferedWriter.write"):
            watched.functions[written].can_block_in("logging/__init__.py", {"emit", "flush"})
        yield
    assert not noted, f"blocked the event loop: {', '.join(noted)}"


@pytest.fixture(autouse=True)
def busy_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    """An answer that comes late as this machine has other work is waited for; a client on stage gives up after two
    seconds."""
    if band := sys.modules.get("collaparte_client.band"):
        monkeypatch.setattr(band, "ANSWER_WITHIN", HANGS / 2)


def in_time(test: Callable[..., Awaitable[None]]) -> Callable[..., Awaitable[None]]:
    """The test, which fails with the line that it waits at when that lasts too long."""

    @functools.wraps(test)
    async def run(*args: object, **more: object) -> None:
        try:
            async with asyncio.timeout(HANGS) as limit:
                await test(*args, **more)
        except TimeoutError as error:
            if not limit.expired():
                raise
            own = [
                at for at in traceback.extract_tb((error.__cause__ or error).__traceback__) if at.filename != __file__
            ]
            at = next((at for at in reversed(own) if Path(__file__).parent in Path(at.filename).parents), own[-1])
            words = f"It hangs: after {HANGS} s it still waited at {at.filename}:{at.lineno}, {at.line}"
            raise AssertionError(words) from error

    return run


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None]:
    """Every asynchronous test runs so."""
    if inspect.iscoroutinefunction(test := getattr(item, "obj", None)):
        item.obj = in_time(test)  # type: ignore[attr-defined]
    return (yield)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """What failed can be repeated, in whichever lane it was."""
    if {"failed", "error"} & terminalreporter.stats.keys():
        terminalreporter.write_line(f"COLLAPARTE_SEED={SEED} draws the same charts and cases again.")
