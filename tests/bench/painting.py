"""Turns and the first page, as they come to the glass of a real browser that has only a share of a core.

Times are the page's own: from the key press or the tap, as the browser stamps it, until the second frame after.
"""

import base64
import contextlib
from collections.abc import AsyncIterator

from playwright.async_api import Page

from bench.ratios import Figure, percentile
from bench.rooms import TUNE, Room
from collaparte.wire.commands import Call
from collaparte_client import join
from e2e.stage import PATIENCE, HubProcess, Stage, Stand, browser_for

SLOWER = 4
"""The browser's main thread gets one in so many parts of a core."""
GLASS = {"width": 1024, "height": 1366}
DENSITY = 2
"""Together 2048 x 2732 pixels."""
DENSE = f"--force-device-scale-factor={DENSITY}"
"""Told to the page alone, the browser paints one pixel where the page speaks of four."""
REST = 150
"""ms before a key is pressed."""

_READY = """async ({key}) => {
  const { app } = await import('/tablet/app.js');
  const turn = await import('/tablet/turn.js');
  const { reader } = app;
  const to = () => key === 'PageUp' ? turn.backward(reader.place) : turn.onward(reader.shelf, reader.place);
  const there = () => reader.place && to() && reader.to.glass.has(reader.keyOf(to()));
  while (!there()) await new Promise((done) => setTimeout(done, 20));
}"""
_TIMED = """(name) => {
  window.painted = new Promise((done) => addEventListener(name, (event) => requestAnimationFrame(() =>
    requestAnimationFrame(() => done(performance.now() - event.timeStamp))), { once: true, capture: true }));
}"""
_FIRST = """() => {
  window.painted = new Promise((done) => addEventListener('click', (event) => {
    const look = () => document.body.dataset.glass === 'shown' && document.querySelector('.leaf canvas')
      ? requestAnimationFrame(() => done(performance.now() - event.timeStamp)) : requestAnimationFrame(look);
    look();
  }, { once: true, capture: true }));
}"""
_MARKED = """const { lines, space } = app.reader.over.mapOf(app.reader.place);
for (const line of lines) {
  const [left, right, y] = [line[0].x0, line.at(-1).x1, line[0].y0 - 2 * space];
  app.marker.drew(Array.from({ length: 60 }, (_, n) =>
    ({ x: left + (right - left) * n / 59, y: y + (n % 2) * space, pressure: 0.7 })));
}"""
"""A stroke over every line of the visible page."""
_UNMARKED = """for (const one of [...app.session.markings.made.keys()]) app.session.erase(one, app.reader.place.chair);
while (app.session.outbox.waiting.length) await new Promise((done) => setTimeout(done, 20));"""
"""The band is left as it was for what is measured next."""
_FRAMES = """new Promise((done) => { const since = performance.now(); requestAnimationFrame(() =>
  requestAnimationFrame(() => done(performance.now() - since))); })"""
_SWAPPED = """async (pictures) => {
  document.body.style.margin = '0';
  const leaves = await Promise.all(pictures.map(async (source) => {
    const picture = await createImageBitmap(await (await fetch(source)).blob());
    const { width, height } = picture;
    const leaf = Object.assign(document.createElement('canvas'), { width, height });
    // The least that a swap can cost: an <img> of the same picture is taken for transparent, and blended.
    leaf.getContext('bitmaprenderer', { alpha: false }).transferFromImageBitmap(picture);
    leaf.style.cssText = 'position:absolute;inset:0;width:100vw;height:100vh;will-change:opacity';
    document.body.append(leaf);
    return leaf;
  }));
  let front = 0;
  const show = () => leaves.forEach((leaf, n) => { leaf.style.opacity = n === front ? '1' : '0'; });
  addEventListener('keydown', () => { front = 1 - front; show(); });
  show();
}"""


async def turn(room: Room, runs: int, *, marked: bool = False) -> Figure:
    """A key press until the turned page is painted, against swapping two decoded pictures of the same pages.

    `marked`: a stroke of the pen lies over every line of both pages. A second bare page tells what of the ratio is the
    browser's own noise: how far two that do the same lie apart.
    """
    name, over = ("turn_marked", ", both pages marked") if marked else ("turn", "")
    figure = Figure(name, [], [], "p95 <= 1.1 x", f"a turn of 2048 x 2732, a browser {SLOWER} times slower{over}")
    async with _stage(room) as stage, contextlib.AsyncExitStack() as ended:
        stand = await _seated(stage)
        await stand.until(complete="true")
        if marked:
            ended.push_async_callback(stand.app, _UNMARKED)
            await stand.app(_MARKED)
        pictures = [await stand.page.screenshot()]
        await _ready(stand.page, "PageDown")
        await _pressed(stand.page, "PageDown")
        if marked:
            await stand.app(_MARKED)
        pictures.append(await stand.page.screenshot())
        bare = [await _page(stage) for _ in range(2)]
        for page in bare:
            sources = [f"data:image/png;base64,{base64.b64encode(one).decode()}" for one in pictures]
            await page.evaluate(_SWAPPED, sources)
        again: list[float] = []
        pages = list(zip((stand.page, *bare), (figure.ours, figure.floor, again), strict=True))
        # Each is shown once before it counts.
        for n in range(runs + 2):
            key = "PageUp" if n % 2 == 0 else "PageDown"
            await _ready(stand.page, key)
            for page, times in pages[n % 3 :] + pages[: n % 3]:
                async with _held(page):
                    took = await _pressed(page, key)
                if n > 1:
                    times.append(took)
    ours, least, noise = (percentile(times, 95) for times in (figure.ours, figure.floor, again))
    figure.extra |= {"p95_ratio": round(ours / least, 2), "p95_of_two_swaps": round(noise / least, 2)}
    return figure


async def first_page(room: Room, runs: int) -> Figure:
    """The tap that joins, until the first page is painted, against two frames; and a turn while the set comes in."""
    figure = Figure(
        "first_page", [], [], "<= 1000 ms", f"a tap at the Door until the first page is painted, {SLOWER} times slower"
    )
    turns: list[float] = []
    rest: list[float] = []
    async with _stage(room) as stage:
        for n in range(runs + 1):
            page = await _page(stage)
            async with _held(page):
                await page.goto(f"{stage.address}/#code={room.settings.codes.join}")
                await page.locator("button", has_text="Alto 1").click(timeout=PATIENCE)
                frames = await page.evaluate(_FRAMES)
                await page.evaluate(_FIRST)
                await page.click("[data-do=sit]")
                took = await page.evaluate("window.painted")
                await _ready(page, "PageDown")
                turned = await _pressed(page, "PageDown")
                came = await page.evaluate("document.body.dataset.complete")
                await Stand(page).until(complete="true")
            await page.context.close()
            if n:
                figure.ours.append(took)
                figure.floor.append(frames)
                turns.append(turned)
                rest.append(float(came != "true"))
    figure.extra |= {"turn_meanwhile_ms": round(percentile(turns, 95), 1), "still_coming": sum(rest)}
    return figure


@contextlib.asynccontextmanager
async def _stage(room: Room) -> AsyncIterator[Stage]:
    """A browser before the hub, and the tune on that has pages to turn."""
    codes = room.settings.codes
    async with (
        browser_for(room.settings, DENSE) as chromium,
        join(f"127.0.0.1:{room.settings.ports.http}", codes.join, codes=(codes.leader,)) as leader,
    ):
        await leader.do(Call(room.tunes[TUNE]))
        yield Stage(HubProcess(room.folder, room.settings), chromium)


async def _page(stage: Stage) -> Page:
    context = await stage.browser.new_context(viewport=GLASS, device_scale_factor=DENSITY)  # type: ignore[arg-type]
    return await context.new_page()


@contextlib.asynccontextmanager
async def _held(page: Page) -> AsyncIterator[None]:
    """A page with its share of a core. What holds it burns the rest, so only one page is held at a time."""
    session = await page.context.new_cdp_session(page)
    await session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    try:
        yield
    finally:
        await session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
        await session.detach()


async def _seated(stage: Stage) -> Stand:
    page = await _page(stage)
    await page.goto(f"{stage.address}/#code={stage.hub.settings.codes.join}")
    await page.locator("button", has_text="Alto 1").click(timeout=PATIENCE)
    await page.click("[data-do=sit]")
    stand = Stand(page)
    await stand.until(screen="stand", link="joined", glass="shown")
    return stand


async def _ready(page: Page, key: str) -> None:
    """Wait until the page that a turn leads to is ready, as a player finds it."""
    await page.evaluate(_READY, {"key": key})


async def _pressed(page: Page, key: str) -> float:
    """ms from a key press until what it shows is painted."""
    await page.wait_for_timeout(REST)
    await page.evaluate(_TIMED, "keydown")
    await page.keyboard.press(key)
    return float(await page.evaluate("window.painted"))
