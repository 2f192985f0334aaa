"""Two leaders at once: which call may still be taken although another's came first. Pure; the time is the asker's."""

import msgspec

from collaparte.band.roles import Who
from collaparte.band.state import Made, Position

AT_ONCE = 2.0
"""Seconds: what was not acknowledged for so long has failed where it was asked (docs/explanation/the-house.md)."""


def overtaken(here: Position, call: int | None, who: Who) -> tuple[Made, ...]:
    """The calls since number `call` that `who` may come after now.

    All of them from other devices (two may sign alike), none taken back, the first less than `AT_ONCE` ago; else none.
    """
    since = tuple(made for made in here.latest if call is not None and made.call > call)
    whole = call is not None and len(since) == here.call - call
    if not since or not whole or any(made.device == who.device for made in since):
        return ()
    return since if 0 <= who.now - since[0].at < AT_ONCE else ()


def on_one_row(since: tuple[Made, ...]) -> bool:
    """Whether all these calls were about the row of the set that was on before them: places of one tune."""
    return all((made.tune, made.item) == made.was for made in since)


def with_latest(here: Position, made: Made) -> Position:
    """The position with this call among its latest; those that nobody can come after any more are dropped."""
    still = tuple(one for one in here.latest if made.at - one.at < AT_ONCE)
    return msgspec.structs.replace(here, latest=(*still, made) if made.at else ())
