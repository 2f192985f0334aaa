"""Layings made ready for the stands: each once, the most urgent first, by worker processes."""

import asyncio
import hashlib
import heapq
import itertools
import logging
import time
from collections.abc import Awaitable, Callable

import msgspec

from collaparte.hub.workers import JobFailed, Pool
from collaparte.paper.pages.laying import Step

log = logging.getLogger(__name__)

AHEAD = 1_000_000
"""Urgency from which a laying is for later, should it be wanted at all: reading and cutting come before it."""


class Wanted(msgspec.Struct, frozen=True):
    """What a laying depends on: the part's table (its hash), the order, page and stave in mm, and where it starts.

    `order` is a digest of the steps, so that this is small and can be a key.
    """

    table: str
    order: str
    page: tuple[float, float]
    stave: float
    first: int


class Made(msgspec.Struct, frozen=True):
    """A laying's content hash, or one sentence why there is none."""

    laying: str
    failed: str = ""


def order_digest(steps: tuple[Step, ...]) -> str:
    """A short name for an order of steps."""
    return hashlib.sha256(msgspec.msgpack.encode(steps)).hexdigest()[:32]


class Layings:
    """The queue, and what came of it.

    `started` ends when the pool's workers have started, `fetch` gives a stored table by its hash, `keep` stores a
    laying and gives its hash, `needed` tells whether anybody still waits for one, `made` is told when it is there.
    """

    def __init__(
        self,
        pool: Pool,
        started: asyncio.Task[None],
        fetch: Callable[[str], Awaitable[bytes]],
        keep: Callable[[bytes], Awaitable[str]],
        needed: Callable[[Wanted], bool],
        made: Callable[[Wanted], None],
    ) -> None:
        self._pool = pool
        self._started = started
        self._fetch = fetch
        self._keep = keep
        self._needed = needed
        self._tell = made
        self._made: dict[Wanted, Made] = {}
        self._being_made: set[Wanted] = set()
        self._took: dict[tuple[str, tuple[float, float]], float] = {}
        """Seconds that the last laying of each table on each page took."""
        self._queue: list[tuple[int, int, Wanted, tuple[Step, ...], str]] = []
        self._turn = itertools.count()
        self._something = asyncio.Event()
        self._tasks = [asyncio.create_task(self._work()) for _ in range(pool.size)]

    def made(self, wanted: Wanted) -> Made | None:
        """What is there already."""
        return self._made.get(wanted)

    def ask(self, wanted: Wanted, steps: tuple[Step, ...], name: str, urgency: int) -> None:
        """Have a laying made; those of the least `urgency` number come first."""
        # Asked again with more urgency, it stands twice in the queue; the second time it is there already.
        heapq.heappush(self._queue, (urgency, next(self._turn), wanted, steps, name))
        self._something.set()

    async def stop(self) -> None:
        """Give up what waits."""
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)

    async def _work(self) -> None:
        await asyncio.wait([self._started])
        while True:
            while not self._queue:
                self._something.clear()
                await self._something.wait()
            urgency, _, wanted, steps, name = self._next()
            if wanted in self._made or wanted in self._being_made or not self._needed(wanted):
                continue
            self._being_made.add(wanted)
            began = time.monotonic()
            self._made[wanted] = await self._make(wanted, steps, name, first_served=urgency < AHEAD)
            self._took[wanted.table, wanted.page] = time.monotonic() - began
            self._being_made.discard(wanted)
            self._tell(wanted)

    def _next(self) -> tuple[int, int, Wanted, tuple[Step, ...], str]:
        """Of the most urgent whose tables a free worker has at hand, that which took longest the last time, so that
        all are there soonest; else the first."""
        urgency, ready = self._queue[0][0], self._pool.at_hand()
        at_hand = [asked for asked in self._queue if asked[0] == urgency and asked[2].table in ready]
        if not at_hand:
            return heapq.heappop(self._queue)
        found = min(at_hand, key=lambda asked: (-self._took.get((asked[2].table, asked[2].page), 0.0), asked[1]))
        self._queue.remove(found)
        heapq.heapify(self._queue)
        return found

    async def _make(self, wanted: Wanted, steps: tuple[Step, ...], name: str, *, first_served: bool) -> Made:
        try:
            laying = await self._pool.lay(
                wanted.table,
                lambda: self._fetch(wanted.table),
                steps,
                name=name,
                page=wanted.page,
                stave=wanted.stave,
                first=wanted.first,
                first_served=first_served,
            )
            return Made(await self._keep(laying))
        except JobFailed as error:
            return Made("", str(error))
        except Exception:
            log.exception("no laying of %s", name)
            return Made("", f"{name} could not be laid out: see the hub's log.")
