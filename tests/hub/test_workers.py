"""Workers: real processes on real files, good ones and the worst ones. Each bad file gets one sentence, and no more."""

import asyncio
import hashlib
import random
import subprocess
import sys
from collections.abc import AsyncIterator, Callable

import msgspec
import psutil
import pymupdf
import pytest

from collaparte.hub import jobs
from collaparte.hub.limits import Limits
from collaparte.hub.workers import JobFailed, Pool
from collaparte.paper.pages.lay import printed_order
from collaparte.paper.pages.laying import Laying, Step
from hub import sheets_of_music as sheets
from hub.bands import HANGS

MARKS = {1: "A", 9: "B", 17: "C", 25: "D"}
GOOD = sheets.part("Blue Harbour", "2nd Alto", 32, MARKS)


@pytest.fixture
async def pool() -> AsyncIterator[Pool]:
    async with Pool(1) as pool:
        yield pool


def big_page() -> bytes:
    document = pymupdf.open()
    document.new_page(width=6000, height=6000)
    return bytes(document.tobytes())


def many_pages() -> bytes:
    document = pymupdf.open()
    for _ in range(401):
        document.new_page()
    return bytes(document.tobytes())


def big_picture() -> bytes:
    picture = pymupdf.Pixmap(pymupdf.csGRAY, pymupdf.IRect(0, 0, 13000, 13000), False)
    picture.clear_with(255)
    document = pymupdf.open()
    page = document.new_page()
    page.insert_image(page.rect, pixmap=picture)
    return bytes(document.tobytes(deflate=True))


BAD: list[tuple[str, Callable[[], bytes], str]] = [
    ("notes.pdf", lambda: b"Second set:\nBlue Harbour\n", "notes.pdf is not a PDF, it is text"),
    ("picture.pdf", lambda: b"\x89PNG\r\n\x1a\n" + bytes(64), "picture.pdf is not a PDF, it is a PNG picture"),
    ("empty.pdf", lambda: b"", "empty.pdf is empty (0 bytes)"),
    ("half.pdf", lambda: GOOD[: len(GOOD) // 2], "half.pdf is cut short, its end is missing"),
    ("locked.pdf", lambda: sheets.locked(GOOD), "locked.pdf is locked with a password"),
    ("noise.pdf", lambda: b"%PDF-1.7\n" + bytes(range(256)) * 8 + b"\n%%EOF", "noise.pdf is damaged"),
    ("wall.pdf", big_page, "Page 1 of wall.pdf is 2117 mm long"),
    ("library.pdf", many_pages, "library.pdf has 401 pages, more than the 400"),
    ("poster.pdf", big_picture, "Page 1 of poster.pdf holds pictures of 169 megapixels"),
]


@pytest.mark.parametrize(("name", "make", "said"), BAD, ids=[name for name, _, _ in BAD])
async def test_a_bad_file_gets_one_sentence_and_the_worker_goes_on(
    pool: Pool, name: str, make: Callable[[], bytes], said: str
) -> None:
    with pytest.raises(JobFailed) as failed:
        await pool.look(make(), name)
    assert str(failed.value).startswith(said)
    assert str(failed.value).endswith(".")
    assert len((await pool.look(GOOD, "good.pdf")).heads) == 1


async def test_a_photograph_is_opened_and_has_no_bars(pool: Pool) -> None:
    photograph = sheets.photograph()
    assert [head.words for head in (await pool.look(photograph, "photo.pdf")).heads] == [()]
    reading = await pool.read(photograph, "photo.pdf", (0, 0))
    assert reading.bars == 0
    assert reading.pages[0].as_printed


async def test_a_file_that_never_ends_is_given_up_and_the_next_job_works() -> None:
    async with Pool(1, limits=Limits(look_seconds=2, starved=100)) as pool:
        (before,) = workers()
        with pytest.raises(JobFailed, match=r"^endless.pdf took more than 2 s and was given up"):
            await pool.look(sheets.endless(), "endless.pdf")
        assert not before.is_running()
        assert len((await pool.look(GOOD, "good.pdf")).heads) == 1


@pytest.mark.skipif(not psutil.LINUX, reason="only this system holds a process to an address space")
async def test_a_file_that_eats_memory_is_stopped_and_the_next_job_works() -> None:
    async with Pool(1, limits=Limits(memory_mb=400, look_seconds=300)) as pool:
        assert pool.memory_held
        with pytest.raises(JobFailed, match=r"^greedy.pdf (is too big or damaged|needs more than the 400 MB)"):
            await pool.look(sheets.greedy(), "greedy.pdf")
        assert len((await pool.look(GOOD, "good.pdf")).heads) == 1


@pytest.mark.skipif(psutil.WINDOWS, reason="the time that a processor works is not counted there")
async def test_a_file_is_not_given_up_because_the_machine_has_other_work() -> None:
    """The worker gets no processor for longer than its job may take, as behind much other work; then it goes on."""
    async with Pool(1, limits=Limits(look_seconds=1)) as pool:
        (worker,) = workers()
        worker.suspend()
        job = asyncio.create_task(pool.look(GOOD, "good.pdf"))
        done, _ = await asyncio.wait([job], timeout=2)
        assert not done
        worker.resume()
        assert len((await job).heads) == 1
        # One that does nothing but wait is given up all the same.
        worker.suspend()
        with pytest.raises(JobFailed, match=r"^good.pdf was not done within 6 s, as this machine has too much other"):
            await pool.look(GOOD, "good.pdf")
        assert len((await pool.look(GOOD, "good.pdf")).heads) == 1


async def test_one_bad_file_harms_no_other_job() -> None:
    async with Pool(2, limits=Limits(look_seconds=3), keep_one_free=False) as pool:
        looks = [pool.look(sheets.endless(), "endless.pdf"), *(pool.look(GOOD, f"{n}.pdf") for n in range(6))]
        first, *others = await asyncio.gather(*looks, return_exceptions=True)
        assert isinstance(first, JobFailed)
        assert all(isinstance(other, jobs.Looked) for other in others)


async def test_a_worker_that_is_killed_is_replaced() -> None:
    async with Pool(1) as pool:
        (worker,) = workers()
        job = asyncio.create_task(pool.look(sheets.endless(), "endless.pdf"))
        await at_work(worker)
        worker.kill()
        with pytest.raises(JobFailed, match="it stopped the process that opened it"):
            await job
        # One that ends while it starts is started once more: the file is not to blame.
        job = asyncio.create_task(pool.look(GOOD, "good.pdf"))
        for _ in range(6000):
            if starting := workers():
                starting[0].kill()
                break
            await asyncio.sleep(0.01)
        assert len((await job).heads) == 1


async def test_a_worker_that_is_not_ready_in_time_is_told_of() -> None:
    pool = Pool(1, limits=Limits(start_seconds=0.01))
    with pytest.raises(JobFailed, match=r"^good.pdf was not worked on\. The process .* was not ready within 0 s"):
        await pool.look(GOOD, "good.pdf")
    assert workers() == []


async def test_a_job_that_is_cancelled_frees_its_worker() -> None:
    async with Pool(1) as pool:
        (worker,) = workers()
        job = asyncio.create_task(pool.look(sheets.endless(), "endless.pdf"))
        await at_work(worker)
        job.cancel()
        with pytest.raises(asyncio.CancelledError):
            await job
        assert len((await pool.look(GOOD, "good.pdf")).heads) == 1


async def test_laying_does_not_wait_for_a_pile_of_files() -> None:
    async with Pool(2, limits=Limits(look_seconds=60)) as pool:
        cut = await read_and_cut(pool)
        pile = [asyncio.create_task(pool.look(sheets.endless(), f"{n}.pdf")) for n in range(4)]
        await asyncio.sleep(0.1)
        assert Laying is type(msgspec.json.decode(await lay(pool, cut, cut.steps), type=Laying))
        assert not any(job.done() for job in pile)
        for job in pile:
            job.cancel()
        await asyncio.gather(*pile, return_exceptions=True)


@pytest.mark.skipif(psutil.WINDOWS, reason="workers are not told apart by priority there")
async def test_a_pile_of_files_uses_a_worker_more_that_gives_way_to_layings() -> None:
    async with Pool(2) as pool:
        for_the_room = workers()
        pile = [asyncio.create_task(pool.look(sheets.endless(), f"{n}.pdf")) for n in range(3)]
        async with asyncio.timeout(HANGS):
            while not (more := [worker for worker in workers() if worker not in for_the_room]):  # noqa: ASYNC110
                await asyncio.sleep(0.05)
            while more[0].nice() <= max(worker.nice() for worker in for_the_room):  # noqa: ASYNC110 - it is starting
                await asyncio.sleep(0.05)
        assert len(more) == 1
        for job in pile:
            job.cancel()
        await asyncio.gather(*pile, return_exceptions=True)
        assert len((await pool.look(GOOD, "good.pdf")).heads) == 1
    assert not any(worker.is_running() for worker in (*for_the_room, *more))


async def at_work(worker: psutil.Process) -> None:
    """Return once it has begun what it was given."""
    before = worker.cpu_times().user
    async with asyncio.timeout(HANGS):
        while worker.cpu_times().user < before + 0.1:  # noqa: ASYNC110 - it tells nothing before it is done
            await asyncio.sleep(0.02)


async def test_no_worker_outlives_the_pool() -> None:
    async with Pool(2):
        here = workers()
        assert len(here) == 2
    assert not any(worker.is_running() for worker in here)


class CutPart(msgspec.Struct):
    table: bytes
    hash: str
    steps: tuple[Step, ...]
    fetched: int = 0

    async def fetch(self) -> bytes:
        self.fetched += 1
        return self.table


async def read_and_cut(pool: Pool) -> CutPart:
    reading = await pool.read(GOOD, "good.pdf", (0, 0))
    cut = await pool.cut(GOOD, "good.pdf", (0, 0), reading)
    return CutPart(cut.table, hashlib.sha256(cut.table).hexdigest(), printed_order(reading))


async def lay(pool: Pool, cut: CutPart, steps: tuple[Step, ...], first: int = 0) -> bytes:
    return await pool.lay(cut.hash, cut.fetch, steps, name="Alto 2", page=(148.0, 197.0), stave=7.0, first=first)


async def test_pages_that_a_file_loses_once_it_was_read_are_told_as_damage(pool: Pool) -> None:
    """As where the library mends a damaged file while it is worked on."""
    reading = await pool.read(GOOD, "good.pdf", (0, 0))
    longer = msgspec.structs.replace(reading, pages=reading.pages * 3)
    for work in (pool.cut(GOOD, "lost.pdf", (0, 2), longer), pool.overlay(GOOD, "lost.pdf", (0, 2), longer)):
        with pytest.raises(JobFailed, match=r"^lost\.pdf is damaged, .*\.$"):
            await work


def shown(laying: bytes) -> list[tuple[int, int]]:
    pages = msgspec.json.decode(laying, type=Laying).pages
    return [bar.steps for page in pages for line in page.lines for bar in line.bars]


async def test_a_part_is_read_cut_laid_and_drawn(pool: Pool) -> None:
    cut = await read_and_cut(pool)
    laying = await lay(pool, cut, cut.steps)
    assert shown(laying) == [(n, n) for n in range(32)]
    drawn = await pool.draw(GOOD, "good.pdf", None, cut.table, laying)
    page = pymupdf.open(stream=drawn, filetype="pdf")[0].rect
    assert (round(page.width / 72 * 25.4), round(page.height / 72 * 25.4)) == (148, 197)


async def test_a_table_is_fetched_once(pool: Pool) -> None:
    cut = await read_and_cut(pool)
    for _ in range(3):
        await lay(pool, cut, cut.steps)
    assert cut.fetched == 1


async def test_bars_keep_their_places_in_the_order_when_some_are_not_in_the_part(pool: Pool) -> None:
    cut = await read_and_cut(pool)
    steps = (*cut.steps[:4], *[Step(0, 0)] * 3, *cut.steps[4:])
    assert shown(await lay(pool, cut, steps)) == [(n, n) for n in (*range(4), *range(7, 35))]
    assert shown(await lay(pool, cut, steps, first=9)) == [(n, n) for n in range(9, 35)]


async def test_a_file_with_several_parts_is_read_page_by_page(pool: Pool) -> None:
    book = sheets.book("Blue Harbour", ["1st Alto", "Tenor"], 80, MARKS)
    looked = await pool.look(book, "book.pdf")
    starts = [n for n, head in enumerate(looked.heads) if head.starts_part]
    assert starts == [0, 2]
    second = await pool.read(book, "book.pdf", (2, 3))
    assert second.bars == 80
    assert [mark.page for mark in second.marks] == [0, 0, 0, 0]
    cut = await pool.cut(book, "book.pdf", (2, 3), second)
    assert cut.pictures


def workers() -> list[psutil.Process]:
    mine = psutil.Process().children()
    return [child for child in mine if "collaparte.hub.worker" in child.cmdline()]


def test_a_worker_goes_when_the_hub_is_killed() -> None:
    hub = subprocess.Popen(
        [
            sys.executable,
            "-c",
            "import asyncio\nfrom collaparte.hub.workers import Pool\n"
            "async def main():\n"
            "    async with Pool(1):\n        print('ready', flush=True)\n        await asyncio.sleep(60)\n"
            "asyncio.run(main())",
        ],
        stdout=subprocess.PIPE,
    )
    assert hub.stdout
    hub.stdout.readline()
    (worker,) = psutil.Process(hub.pid).children()
    hub.kill()
    hub.wait()
    hub.stdout.close()
    gone, _ = psutil.wait_procs([worker], timeout=HANGS)
    assert gone


def damaged(pdf: bytes, seed: int) -> bytes:
    """The file with some bytes changed, lost and doubled, as on a bad stick."""
    dice = random.Random(seed)
    data = bytearray(pdf)
    for _ in range(dice.choice((1, 5, 30))):
        at = dice.randrange(len(data))
        match dice.randrange(3):
            case 0:
                data[at] = dice.randrange(256)
            case 1:
                del data[at : at + dice.choice((1, 40))]
            case _:
                data[at:at] = data[at // 2 : at // 2 + 20]
    return bytes(data)


async def test_damaged_files_are_worked_on_or_refused_in_a_sentence(pool: Pool) -> None:
    plain = pymupdf.open(stream=GOOD).tobytes(expand=255)
    for seed in range(24):
        name = f"{seed}.pdf"
        try:
            looked = await pool.look(damaged(plain, seed), name)
            pages = (0, len(looked.heads) - 1)
            await pool.cut(damaged(plain, seed), name, pages, await pool.read(damaged(plain, seed), name, pages))
        except JobFailed as failed:
            assert name in str(failed)
            assert str(failed).endswith(".")
    assert len((await pool.look(GOOD, "good.pdf")).heads) == 1
