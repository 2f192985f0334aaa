"""One file opened in a worker process of its own: what it does wrong is one sentence, and stops nothing here."""

import asyncio
from collections.abc import Awaitable, Callable
from typing import TypeVar

from collaparte.hub.limits import Limits
from collaparte.hub.workers import Pool

_Done = TypeVar("_Done")


def alone(work: Callable[[Pool], Awaitable[_Done]], limits: Limits | None = None) -> _Done:
    """Do work with a pool of one worker. Raises `JobFailed`, and whatever `work` raises."""

    async def do() -> _Done:
        async with Pool(1, limits=limits) as pool:
            return await work(pool)

    return asyncio.run(do())
