"""A small pool of worker processes: everything that opens a PDF or costs more than a moment runs there.

Workers are started afresh (never forked), and do one job at a time. One that dies, or takes longer than its job may,
is ended and replaced; the job fails with one sentence and no other job is touched. Nothing here blocks the event loop.
"""

import asyncio
import contextlib
import heapq
import itertools
import logging
import os
import signal
import sys
import time
from collections.abc import AsyncIterator, Awaitable, Callable
from types import TracebackType
from typing import Self, TypeVar

import msgspec

from collaparte.hub import jobs
from collaparte.hub.jobs import FRAME
from collaparte.hub.limits import Limits
from collaparte.music.musicxml import Score
from collaparte.paper.pages.laying import Step
from collaparte.paper.reading import Reading

log = logging.getLogger(__name__)

UNKNOWN_LENGTH = 20
"""Pages that a job is given time for when nobody has counted them."""

NICE, NICER = 10, 15
"""How far workers stand behind the hub itself (while sixteen parts are laid, a command is still acknowledged as if
nothing were), and one that gives way to them: where both want a core, it gets a quarter (common practice)."""

UNHEARD = 255
"""What the event loop says a process ended with when the system told another of it, or nobody."""

_encoder = msgspec.msgpack.Encoder()
_decoder: msgspec.msgpack.Decoder[jobs.Answer] = msgspec.msgpack.Decoder(jobs.Answer)
_Answer = TypeVar("_Answer", bound=jobs.Answer)


class JobFailed(Exception):
    """A job that was not done; the message is one sentence for the librarian."""


class Pool:
    """Workers for as long as the `async with` lasts.

    `size`: how many (default: one a core, 2 to 4). `keep_one_free`: reading and cutting never take the last worker, so
    that a cut made on stage is laid at once while a librarian brings in a hundred scans. The core that this leaves idle
    is used by one worker more, started when it is first needed: it never lays, and gives way to those that do.
    """

    def __init__(self, size: int | None = None, *, limits: Limits | None = None, keep_one_free: bool = True) -> None:
        self.limits = limits or Limits()
        self.size = size or min(max(os.cpu_count() or 1, 2), 4)
        giving_way = keep_one_free and self.size > 1 and hasattr(os, "nice")
        self._workers = [_Worker(self.limits) for _ in range(self.size)]
        self._spare = [_Worker(self.limits, NICER) for _ in range(giving_way)]
        self._free, self._spare_free = list(self._workers), list(self._spare)
        self._slow = asyncio.Semaphore(self.size if giving_way or not keep_one_free else max(self.size - 1, 1))
        self._waiting: list[tuple[int, int, asyncio.Future[_Worker]]] = []
        self._turn = itertools.count()

    async def __aenter__(self) -> Self:
        """Start every worker; what they need to import is then ready before the first job."""
        await asyncio.gather(*(worker.start() for worker in self._workers))
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """End every worker; a job still running is given up."""
        await asyncio.gather(*(worker.end() for worker in (*self._workers, *self._spare)))

    @property
    def memory_held(self) -> bool:
        """The system holds every worker to its memory limit."""
        return all(worker.memory_held for worker in self._workers)

    async def look(self, pdf: bytes, name: str) -> jobs.Looked:
        """Open a file within the limits; the words at the head of each page. Raises `JobFailed`."""
        return await self._run(jobs.Look(name, pdf), jobs.Looked, self.limits.look_seconds)

    async def read(self, pdf: bytes, name: str, pages: jobs.Pages = None, *, scans: bool = False) -> Reading:
        """Read one part, with `scans` pages that are pictures too. Raises `JobFailed`."""
        answer = await self._run(jobs.Read(name, pdf, pages, scans), jobs.DidRead, self._seconds(pages))
        return answer.reading

    async def score(self, data: bytes, name: str) -> Score:
        """Read a tune's MusicXML. Raises `JobFailed`."""
        return (await self._run(jobs.Score(name, data), jobs.DidScore, self.limits.look_seconds)).score

    async def cut(self, pdf: bytes, name: str, pages: jobs.Pages, reading: Reading) -> jobs.DidCut:
        """Cut a part's pieces and draw its sheets. Raises `JobFailed`."""
        return await self._run(jobs.Cut(name, pdf, pages, reading), jobs.DidCut, self._seconds(pages))

    async def lay(
        self,
        table: str,
        fetch: Callable[[], Awaitable[bytes]],
        steps: tuple[Step, ...],
        *,
        name: str,
        page: tuple[float, float],
        stave: float,
        first: int = 0,
        first_served: bool = True,
    ) -> bytes:
        """Lay a part; the laying as JSON. `fetch` is asked for the table of that hash only if the worker lacks it.

        `first_served`: before reading and cutting that wait for a worker.

        Raises `JobFailed`, and whatever `fetch` raises.
        """
        job = jobs.Lay(name, table, None, steps, page, stave, first)
        seconds = self.limits.lay_seconds
        async with self._worker(first_served=first_served, table=table) as worker:
            answer = await worker.do(job, seconds)
            if isinstance(answer, jobs.TableWanted):
                answer = await worker.do(msgspec.structs.replace(job, data=await fetch()), seconds)
            worker.tables.add(table)
        return _expect(answer, jobs.DidLay).laying

    def at_hand(self) -> set[str]:
        """Hashes of the tables that workers who are free have had already."""
        return {table for worker in self._free for table in worker.tables}

    async def draw(self, pdf: bytes, name: str, pages: jobs.Pages, table: bytes, laying: bytes) -> bytes:
        """A laying as a PDF. Raises `JobFailed`."""
        answer = await self._run(jobs.Draw(name, pdf, pages, table, laying), jobs.DidDraw, self._seconds(pages))
        return answer.pdf

    async def picture(self, pdf: bytes, name: str, page: int, wide: int, turned: int = 0) -> bytes:
        """One page (0-based) as PNG, turned clockwise, `wide` pixels wide. Raises `JobFailed`."""
        job = jobs.Picture(name, pdf, page, wide, turned)
        answer = await self._run(job, jobs.DidPicture, self.limits.look_seconds + self.limits.page_seconds)
        return answer.png

    async def print_part(self, job: jobs.Print) -> bytes:
        """A part's pages of a book. Raises `JobFailed`."""
        return (await self._run(job, jobs.DidDraw, self._seconds(job.pages))).pdf

    async def bind(self, job: jobs.Card | jobs.Bind) -> bytes:
        """A card of a book, or the book. Raises `JobFailed`."""
        return (await self._run(job, jobs.DidDraw, self._seconds(None))).pdf

    async def overlay(self, pdf: bytes, name: str, pages: jobs.Pages, reading: Reading) -> tuple[bytes, ...]:
        """What was read, drawn over the pages, a PNG each. Raises `JobFailed`."""
        job = jobs.Overlay(name, pdf, pages, reading)
        return (await self._run(job, jobs.DidOverlay, self._seconds(pages))).pictures

    async def lay_out(self, job: jobs.LayOut) -> jobs.DidLayOut:
        """A part cut, laid and drawn at once. Raises `JobFailed`."""
        return await self._run(job, jobs.DidLayOut, self._seconds((0, len(job.reading.pages))))

    def _seconds(self, pages: jobs.Pages) -> float:
        count = pages[1] - pages[0] + 1 if pages else UNKNOWN_LENGTH
        return self.limits.look_seconds + count * self.limits.page_seconds

    async def _run(self, job: jobs.Job, wanted: type[_Answer], seconds: float) -> _Answer:
        async with self._slow:
            # The spare one takes what the others may not.
            if not (self._spare_free and self._slow.locked()):
                async with self._worker() as worker:
                    return _expect(await worker.do(job, seconds), wanted)
            spare = self._spare_free.pop()
            try:
                return _expect(await spare.do(job, seconds), wanted)
            finally:
                self._spare_free.append(spare)

    @contextlib.asynccontextmanager
    async def _worker(self, *, first_served: bool = False, table: str = "") -> AsyncIterator["_Worker"]:
        if self._free:
            worker = next((free for free in self._free if table in free.tables), self._free[0])
            self._free.remove(worker)
        else:
            turn: asyncio.Future[_Worker] = asyncio.get_running_loop().create_future()
            heapq.heappush(self._waiting, (0 if first_served else 1, next(self._turn), turn))
            try:
                worker = await turn
            except asyncio.CancelledError:
                if turn.done() and not turn.cancelled():
                    self._give_back(turn.result())
                raise
        try:
            yield worker
        finally:
            self._give_back(worker)

    def _give_back(self, worker: "_Worker") -> None:
        while self._waiting:
            _, _, turn = heapq.heappop(self._waiting)
            if not turn.done():
                turn.set_result(worker)
                return
        self._free.append(worker)


def _expect(answer: jobs.Answer, wanted: type[_Answer]) -> _Answer:
    if isinstance(answer, jobs.Failed):
        if answer.inside:
            log.debug("%s\n%s", answer.words, answer.inside)
        raise JobFailed(answer.words)
    if not isinstance(answer, wanted):
        raise TypeError(f"a worker answered {type(answer).__name__} where {wanted.__name__} was due")
    return answer


class _Worker:
    """One process, started when it is first needed and again whenever it has been ended."""

    def __init__(self, limits: Limits, nice: int = NICE) -> None:
        self.limits = limits
        self.nice = nice
        self.memory_held = self.time_held = False
        self.tables: set[str] = set()
        """Tables that the process has had; a hint, since it forgets the oldest."""
        self._process: asyncio.subprocess.Process | None = None
        self._killed: list[asyncio.subprocess.Process] = []
        """Ended, and not yet waited for."""

    async def start(self) -> asyncio.subprocess.Process:
        """A new process, ready for its first job. Raises `JobFailed`."""
        within = self.limits.start_seconds
        for left in (1, 0):
            try:
                async with asyncio.timeout(within):
                    return await self._started()
            except TimeoutError as error:
                await self.end()
                why = f"was not ready within {within:.0f} s, as this machine has too much other work"
                raise JobFailed(f"The process that opens files {why}: try again when it has less.") from error
            except (asyncio.IncompleteReadError, OSError) as error:
                # Memory that another process has for a moment is no reason to give a file up.
                await self.end()
                if not left:
                    why = "does not start: close other programs, or install Colla Parte again."
                    raise JobFailed(f"The process that opens files {why}") from error
            except BaseException:
                self.kill()
                raise
        raise AssertionError

    async def _started(self) -> asyncio.subprocess.Process:
        # One thread of arithmetic a worker: the pool is what spreads over the cores.
        surroundings = os.environ | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
        limits = msgspec.json.encode(self.limits).decode()
        command = (sys.executable, "-P", "-m", "collaparte.hub.worker", limits, str(self.nice))
        process = await asyncio.create_subprocess_exec(
            *command,
            env=surroundings,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            limit=1 << 22,
        )
        self._process = process
        self.tables = set()
        ready = await _answer_of(process)
        if isinstance(ready, jobs.Ready):
            self.memory_held, self.time_held = ready.memory_held, ready.time_held
        return process

    async def do(self, job: jobs.Job, seconds: float) -> jobs.Answer:
        """Have one job done. Raises `JobFailed` when the worker died or had to be ended."""
        try:
            process = self._process or await self.start()
        except JobFailed as error:
            raise JobFailed(f"{job.name} was not worked on. {error}") from error
        too_long = f"{job.name} took more than {seconds:.0f} s and was given up: export it again, or split it."
        within = seconds * self.limits.starved if self.time_held else seconds
        began = time.monotonic()
        try:
            async with asyncio.timeout(within):
                data = _encoder.encode(jobs.Order(job, seconds, within))
                assert process.stdin
                process.stdin.write(FRAME.pack(len(data)) + data)
                await process.stdin.drain()
                return await _answer_of(process)
        except TimeoutError as error:
            await self.end()
            if not self.time_held:
                raise JobFailed(too_long) from error
            # It would have been ended before, had it worked all the time.
            why = f"{job.name} was not done within {within:.0f} s, as this machine has too much other work"
            raise JobFailed(f"{why}: try again when it has less.") from error
        except (asyncio.IncompleteReadError, OSError) as error:
            await self.end()
            unheard = process.returncode == UNHEARD and time.monotonic() - began >= seconds
            if self.time_held and (process.returncode == -signal.SIGPROF or unheard):
                raise JobFailed(too_long) from error
            log.info("A worker died with %s over %s.", process.returncode, job.name)
            raise JobFailed(
                f"{job.name} is too big or damaged, it stopped the process that opened it: "
                "export it again, or scan it at 300 dpi in grey."
            ) from error
        except BaseException:
            # Cancelled in the middle of a job: what this process would answer next belongs to nobody.
            self.kill()
            raise

    def kill(self) -> None:
        if self._process:
            with contextlib.suppress(ProcessLookupError):
                self._process.kill()
            self._killed.append(self._process)
        self._process = None

    async def end(self) -> None:
        self.kill()
        while self._killed:
            await self._killed.pop().wait()


async def _answer_of(process: asyncio.subprocess.Process) -> jobs.Answer:
    assert process.stdout
    (size,) = FRAME.unpack(await process.stdout.readexactly(FRAME.size))
    return _decoder.decode(await process.stdout.readexactly(size))
