"""What a browser does from a key press until the turned page is painted, by its own account (trace event format).

Of it: "Decode Image" and "ImageDecodeTask" are pictures decoded, "ResourceSendRequest" is a request; what comes
after the page is painted (pages ahead are made ready) is none of the turn's.
"""

import asyncio
import base64
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image

from collaparte.store import settings
from e2e.stage import PATIENCE, Stand, browser_for, on_stage
from e2e.test_on_stage import FERRY

TRACED = ["devtools.timeline", "disabled-by-default-devtools.timeline", "cc", "loading", "blink.user_timing"]
DECODING = {"Decode Image", "ImageDecodeTask", "Decode LazyPixelRef", "Image Decode"}
NETWORK = {"ResourceSendRequest"}
PRESSES = ("PageDown", "PageUp", "PageDown")

_TOLD = """() => addEventListener('keydown', () => {
  performance.mark('pressed');
  requestAnimationFrame(() => requestAnimationFrame(() => { performance.mark('painted'); window.turned = true; }));
}, { capture: true })"""


_READY = """const { placeIn } = await import('/tablet/turn.js');
const { place, shelf, to } = app.reader;
const { pages } = shelf.laying(place.copy);
const around = [1, -1].map((by) => ({ ...place, page: place.page + by })).filter(({ page }) => pages[page]);
if (app.room.coming) around.push(placeIn(shelf, app.room.coming));
return around.every((one) => one.copy && to.glass.has(app.reader.keyOf(one)));"""
"""The pages that a turn or the next call may lead to are on the glass, under the one that is seen."""


async def ready(stand: Stand) -> None:
    """Every page around is made ready, and nothing else is on the way."""
    await stand.settled()
    await stand.until_so(_READY)


def during(events: list[dict[str, Any]]) -> list[str]:
    """The names of what was done from the press to the painted page, in every thread of the browser."""
    marks = {e["name"]: e["ts"] for e in events if e["name"] in ("pressed", "painted")}
    return [e["name"] for e in events if marks["pressed"] <= e.get("ts", 0) <= marks["painted"]]


async def test_a_turn_decodes_nothing_asks_nobody_and_shows_no_other_page(demo_band: Path, tmp_path: Path) -> None:
    own = await asyncio.to_thread(settings.load, demo_band / "settings.json")
    async with browser_for(own) as alone, on_stage(demo_band, tmp_path / "band", alone) as stage:
        leader = await stage.sit("Alto 1", stage.hub.settings.codes.leader)
        await leader.call(FERRY, 1)
        await leader.page.evaluate(_TOLD)
        for key in PRESSES:
            await ready(leader)
            before = (await leader.data())["page"]
            await stage.browser.start_tracing(page=leader.page, categories=TRACED)
            await leader.page.keyboard.press(key)
            await leader.page.wait_for_function("() => window.turned")
            account = json.loads(await stage.browser.stop_tracing())
            await leader.page.evaluate("() => { window.turned = false; }")
            assert (await leader.data())["page"] != before
            done = during(account["traceEvents"])
            assert "RequestAnimationFrame" in done, "the account is of the turn"
            assert not DECODING & set(done) and not NETWORK & set(done), sorted(set(done))

        watch = await leader.page.context.new_cdp_session(leader.page)
        frames: list[str] = []
        seen: set[asyncio.Future[Any]] = set()

        def came(frame: dict[str, Any]) -> None:
            frames.append(frame["data"])
            seen.add(asyncio.ensure_future(watch.send("Page.screencastFrameAck", {"sessionId": frame["sessionId"]})))

        watch.on("Page.screencastFrame", came)
        for key in PRESSES[1:]:
            await ready(leader)
            frames.clear()
            await watch.send("Page.startScreencast", {"format": "png", "everyNthFrame": 1})
            await until(lambda: bool(frames))
            first = inked(frames[0])
            await leader.page.keyboard.press(key)
            await until(lambda: changed(first, inked(frames[-1])) > 2)  # noqa: B023 - awaited here
            await asyncio.sleep(0.3)  # more frames, if there are any
            await watch.send("Page.stopScreencast")
            pages = [inked(frame) for frame in frames]
            assert changed(pages[0], pages[-1]) > 2, "the turn was seen"
            for page in pages:
                assert (page < 128).mean() > 0.005, "not blank"
                assert min(changed(page, pages[0]), changed(page, pages[-1])) < 2, "one of the two"
        await asyncio.gather(*seen)


async def until(seen: Callable[[], bool]) -> None:
    """Wait for what the browser's frames show."""
    async with asyncio.timeout(PATIENCE / 1000):
        while not seen():  # noqa: ASYNC110 - frames come by themselves
            await asyncio.sleep(0.1)


def changed(one: npt.NDArray[np.int16], other: npt.NDArray[np.int16]) -> float:
    return float(np.abs(one - other).mean())


def inked(frame: str) -> npt.NDArray[np.int16]:
    """What is on the glass over the thread at its foot, from 0 to 255."""
    return np.asarray(Image.open(io.BytesIO(base64.b64decode(frame))).convert("L"), np.int16)[:-60]
