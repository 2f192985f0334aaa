"""How late words for a moment came: the hub's clock and ours are set apart by an unknown amount."""

LATE = 2.0
"""Seconds: a cue that comes later than this would mislead."""


class HubClock:
    """The quickest message so far tells best how far the clocks are apart; a later one is late by the difference."""

    def __init__(self) -> None:
        self._apart: float | None = None

    def forget(self) -> None:
        """Another hub, another clock."""
        self._apart = None

    def hear(self, at: float, now: float) -> None:
        """A message sent at `at` by the hub's clock (s; 0: it does not say) came at `now` by ours."""
        if at:
            self._apart = now - at if self._apart is None else min(self._apart, now - at)

    def too_late(self, at: float, now: float) -> bool:
        """Whether words for the moment `at` (0: they may come at any time) come too late to be shown."""
        if not at:
            return False
        self.hear(at, now)
        return self._apart is not None and now - at - self._apart > LATE
