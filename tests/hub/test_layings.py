"""In which order layings that are equally urgent are made, by a real worker."""

import asyncio
from pathlib import Path

from collaparte.hub.layings import Layings, Wanted, order_digest
from collaparte.hub.workers import Pool
from collaparte.paper.pages.lay import printed_order
from collaparte.paper.pages.laying import Step
from collaparte.store.files import Files, content_hash
from hub import sheets_of_music as sheets
from hub.bands import HANGS

PAGE = (148.0, 197.0)


async def test_the_longest_comes_first_once_it_is_known_so_that_all_are_there_soonest(tmp_path: Path) -> None:
    """As jobs for more than one worker are best begun: R. Graham, "Bounds on Multiprocessing Timing Anomalies", SIAM
    Journal on Applied Mathematics 17, 1969 (from memory)."""
    files = Files(tmp_path)
    tables: dict[str, bytes] = {}
    orders: dict[str, tuple[Step, ...]] = {}
    made: list[str] = []
    there: asyncio.Queue[str] = asyncio.Queue()

    async def fetch(table: str) -> bytes:
        return tables[table]

    async def keep(laying: bytes) -> str:
        return await asyncio.to_thread(files.lay_by, laying)

    async with Pool(1) as pool:
        for bars in (4, 160):
            pdf, name = sheets.part("Long and Short", "Alto 1", bars), f"{bars} bars"
            reading = await pool.read(pdf, name)
            cut = await pool.cut(pdf, name, None, reading)
            tables[content_hash(cut.table)], orders[content_hash(cut.table)] = cut.table, printed_order(reading)
        started = asyncio.create_task(asyncio.sleep(0))
        layings = Layings(pool, started, fetch, keep, lambda _: True, lambda wanted: there.put_nowait(wanted.table))
        for left_out in (0, 1, 2):
            for table, order in orders.items():
                steps = order[left_out:]
                layings.ask(Wanted(table, order_digest(steps), PAGE, 7.0, 0), steps, "a part", 0)
            async with asyncio.timeout(HANGS):
                made += [await there.get(), await there.get()]
        await layings.stop()
    short, long = orders
    assert made[:2] == [short, long], "as they were asked for"
    assert made[4:] == [long, short]
