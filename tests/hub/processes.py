"""A hub in a process of its own, as a user starts it."""

import asyncio
import contextlib
import signal
import sys
from collections.abc import AsyncIterator
from pathlib import Path

import httpx

from collaparte.store.settings import Settings
from hub.bands import HANGS


async def start(folder: Path, settings: Settings) -> asyncio.subprocess.Process:
    """Start `collaparte serve` and wait until it answers; one that does not is left to nobody."""
    said = folder.with_name("hub.log")
    with await asyncio.to_thread(said.open, "ab") as log:
        process = await asyncio.create_subprocess_exec(
            *(sys.executable, "-m", "collaparte", "serve", str(folder)),
            stdout=asyncio.subprocess.DEVNULL,
            stderr=log,
        )
    answers = False
    url = f"http://127.0.0.1:{settings.ports.http}/hub.json"
    try:
        async with asyncio.timeout(2 * HANGS), httpx.AsyncClient(trust_env=False) as client:
            while process.returncode is None:
                with contextlib.suppress(httpx.TransportError):
                    await client.get(url)
                    answers = True
                    return process
                await asyncio.sleep(0.05)
        words = "ended"
    except TimeoutError:
        words = f"did not answer within {2 * HANGS} s"
    finally:
        if not answers and process.returncode is None:
            process.kill()
            await process.wait()
    raise AssertionError(f"The hub {words}; it said: {await asyncio.to_thread(said.read_text)}")


@contextlib.asynccontextmanager
async def hub_process(folder: Path, settings: Settings) -> AsyncIterator[asyncio.subprocess.Process]:
    """A hub process that is stopped in the end."""
    process = await start(folder, settings)
    try:
        yield process
    finally:
        if process.returncode is None:
            process.send_signal(signal.SIGTERM)
        await process.wait()
