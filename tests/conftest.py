"""What every test runs under: whatever blocks the event loop in our code fails the test that made it."""

from collections.abc import Iterator

import blockbuster.blockbuster as guard
import hypothesis
import pytest

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
