"""The main job, end to end: a hub process, Chromium, four stands, a leader and an MD, on the hub's own name."""

import asyncio
import contextlib
import signal
from pathlib import Path

import numpy as np
import psutil
import pymupdf
import pytest
from playwright.async_api import Browser

from collaparte.wire.commands import MakeMarking
from collaparte.wire.markings import Ink, Marking, Point
from collaparte_client import join
from e2e.stage import PATIENCE, Stage, Stand, browser_for, on_stage

pytestmark = pytest.mark.browser

FERRY = "Half Past the Ferry"
WALTZ = "Ninepenny Waltz"


def picture(png: bytes) -> np.ndarray:
    """Grey levels, 0 to 255."""
    grey = pymupdf.Pixmap(pymupdf.csGRAY, pymupdf.Pixmap(png))
    return np.frombuffer(grey.samples, np.uint8).reshape(grey.height, grey.width, grey.n)[..., 0].astype(np.int16)


def ink(png: bytes) -> float:
    """The share of dark pixels."""
    return float((picture(png) < 128).mean())


def changed(before: bytes, after: bytes) -> float:
    """The share of pixels that are clearly not as before."""
    return float((np.abs(picture(before) - picture(after)) > 48).mean())


async def everyone(stands: list[Stand], **hooks: str) -> None:
    """Wait until all stands' hooks are so."""
    await asyncio.gather(*(stand.until(**hooks) for stand in stands))


async def until_equal(stand: Stand, wanted: list[str]) -> None:
    """Wait until the stand holds a whole laying of exactly these bars."""
    async with asyncio.timeout(PATIENCE / 1000):
        while (got := await stand.bars()) != wanted:
            assert isinstance(got, list)
            await asyncio.sleep(0.1)


async def draw(stand: Stand, layer: str, x: int, y: int) -> None:
    """A long press, the layer, a stroke, done."""
    mouse = stand.page.mouse
    await mouse.move(380, 700)
    await mouse.down()
    await stand.page.wait_for_selector("[data-marking=true]", timeout=PATIENCE)
    await mouse.up()
    await stand.page.click(f"[data-layer={layer}]")
    await mouse.move(x, y)
    await mouse.down()
    for step in range(1, 12):
        await mouse.move(x + 4 * step, y + (10 if step % 2 else -10))
    await mouse.up()
    await stand.page.click("[data-do=done]")


async def test_call_cut_marking_and_a_killed_hub(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        codes = stage.hub.settings.codes
        alto1 = await stage.sit("Alto 1")
        alto2 = await stage.sit("Alto 2")
        trumpet = await stage.sit("Trumpet 1")
        piano = await stage.sit("Piano")
        leader = await stage.sit("Bass", codes.leader)
        director = await stage.sit("Drums", codes.md)
        stands = [alto1, alto2, trumpet, piano]
        band = [*stands, leader, director]
        await everyone(band, complete="true", stored="true")
        # The hub's name is no secure context, as it will be in the room (W3C Secure Contexts, 3.1).
        assert await alto1.page.evaluate("isSecureContext") is False

        # Next moves nothing; call takes everyone to the first page, each of their own part.
        before = [await stand.glass() for stand in stands]
        was = (await alto1.data())["tune"]
        await leader.page.keyboard.press("l")
        row = leader.page.locator("main.lead [data-tune]", has_text=WALTZ)
        waltz = await row.get_attribute("data-tune")
        await row.click()
        await leader.page.locator("main.lead [data-is=next]").wait_for(timeout=PATIENCE)
        assert (await alto1.data())["tune"] == was != waltz
        assert [changed(a, await stand.glass()) for a, stand in zip(before, stands, strict=True)] == [0] * 4
        # The first page of the next call is decoded before it comes: it is among the leaves that are ready.
        await alto1.until_so(
            """const place = { tune: argument, chair: app.reader.place.chair };
            const copy = app.reader.shelf.copies(place.tune, place.chair).find((one) => one.firstStep === 0);
            return Boolean(copy) && [...document.querySelectorAll('.leaf')].length > 1
              && app.reader.to.glass.has(app.reader.keyOf({ ...place, copy, page: 0, start: null }));""",
            waltz,
        )
        await leader.page.click("[data-do=call]")
        await everyone(band, call="1", tune=str(waltz), page="0", glass="shown")
        pages = [await stand.glass() for stand in stands]
        assert all(0.01 < ink(page) < 0.3 for page in pages), [ink(page) for page in pages]
        assert all(changed(a, b) > 0.01 for n, a in enumerate(pages) for b in pages[n + 1 :]), "each its own part"

        # Taken back, each is where it was.
        await leader.may_take_back()
        await leader.page.click("[data-do=take-back]")
        await everyone(band, tune=was, glass="shown")
        assert [changed(a, await stand.glass()) for a, stand in zip(before, stands, strict=True)] == [0] * 4
        await leader.page.keyboard.press("Escape")

        await leader.call(FERRY, 3)
        await everyone(band, call="3", glass="shown", complete="true")
        written = await alto1.bars()
        for stand in stands:
            assert await stand.bars() == written, "every part plays the same bars in one order"
        ferry = (await alto1.data())["tune"]

        # From C: the page on every glass holds C, and C is bar 27 by the engraver's own account (demo/truth).
        await leader.page.keyboard.press("l")
        await leader.page.click("[data-from=C]")
        await everyone(band, call="4", glass="shown")
        await leader.page.keyboard.press("Escape")
        for stand in band:
            seen = await stand.visible()
            assert "27/1" in seen, (await stand.data(), seen)

        # Back to the top, so that the cut lies ahead of what is seen.
        await leader.page.keyboard.press("l")
        await leader.page.locator("main.lead [data-from]", has_text="Top").click()
        await everyone(band, call="5", page="0", glass="shown")
        await leader.page.keyboard.press("Escape")

        # A marking for the section, in bar 9 or later of Alto 1's first page, before the cut.
        await draw(alto1, "section", 300, 480)
        mark = next(iter(await alto1.markings()))
        await alto2.until_so("return app.session.markings.made.has(argument);", mark)
        assert await alto2.markings() == await alto1.markings()
        assert await trumpet.markings() == await piano.markings() == {}
        # The MD cuts C to D: bars 27 to 34, every time through. Nothing moves; then exactly those are gone.
        seen = [await stand.glass() for stand in stands]
        await director.page.keyboard.press("f")
        await director.page.click("[data-do=type]")
        for field, words in (("first", "C"), ("until", "D")):
            await director.page.locator(f"[data-field={field}]").click()
            await director.page.keyboard.type(words)
        await director.page.click("[data-do=cut]")
        left = [bar for bar in written if int(bar.split("/")[0]) not in range(27, 35)]
        # Eight bars the first time; after the D.S. only six, up to the To Coda after bar 32 (demo/truth).
        assert len(written) - len(left) == 14
        for stand in stands:
            await until_equal(stand, left)
        for before_cut, stand in zip(seen, stands, strict=True):
            # Where cut bars are in front of the player they are shaded; else nothing changes but the slip at the foot.
            shaded = any(int(bar.split("/")[0]) in range(27, 35) for bar in await stand.visible())
            assert changed(before_cut, await stand.glass()) < (0.08 if shaded else 0.01), "nothing moves"

        # The hub is killed. The stands go on; it comes back, and so do they, each on its own page.
        top = (await alto2.data())["first"]
        await alto2.page.keyboard.press("PageDown")
        await alto2.page.wait_for_selector(f"body[data-glass=shown]:not([data-first='{top}'])", timeout=PATIENCE)
        page = await alto2.data()
        assert page["firstStep"] != "0", "what follows the visible page is the tail, laid anew from there"
        await stage.hub.end(signal.SIGKILL)
        await everyone(band, link="away")
        await alto1.page.keyboard.press("PageDown")
        await alto1.until(glass="shown")
        assert ink(await alto1.glass()) > 0.01, "a stand is useful alone"
        await stage.hub.start()
        await everyone(band, link="joined", call="5", tune=ferry)
        back = await alto2.data()
        assert [back[hook] for hook in ("page", "first", "call")] == [page[hook] for hook in ("page", "first", "call")]
        for stand in stands:
            await until_equal(stand, left)
        assert mark in await alto2.markings()

        # Taken back on the MD's own screen, all is as written; the marking is still there after a reload.
        await director.page.keyboard.press("f")
        await director.page.click("[data-do=take-back-edit]", timeout=PATIENCE)
        for stand in stands:
            await until_equal(stand, written)
        await alto2.page.reload()
        await alto2.until(screen="stand", link="joined", glass="shown")
        assert (await alto2.markings())[mark] == (await alto1.markings())[mark]


async def test_a_stand_that_stops_reading_hurts_nobody(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    """Its processes are stopped while its socket stays open with data waiting; others go on; it is dropped."""
    async with (
        on_stage(demo_band, tmp_path / "band", browser) as stage,
        browser_for(stage.hub.settings) as frozen_browser,
    ):
        codes = stage.hub.settings.codes
        leader = await stage.sit("Bass", codes.leader)
        trumpet = await stage.sit("Trumpet 1")
        mine = set(psutil.Process().children(recursive=True))
        frozen = await Stage(stage.hub, frozen_browser).sit("Trumpet 2")
        me = (await frozen.data())["chair"]
        # All processes of the second browser: those with its own profile folder.
        processes = _browser_tree(frozen_browser, mine)
        assert processes
        for process in processes:
            with contextlib.suppress(psutil.NoSuchProcess):
                process.suspend()
        try:
            address = f"127.0.0.1:{stage.hub.settings.ports.http}"
            chair = (await trumpet.data())["chair"]
            async with join(address, codes.join, chairs=(chair,)) as feeder:
                tune = (await trumpet.data())["tune"]
                bar = (await trumpet.data())["first"]
                for n in range(12):
                    points = tuple(Point(bar, i / 3000, 0, 1.0) for i in range(3000))
                    await feeder.do(MakeMarking(Marking(f"big-{n}", tune, chair, "band", Ink(points))), chair=chair)
            await leader.call(WALTZ, 1)
            await everyone([leader, trumpet], call="1", glass="shown")
            # Ten seconds, then it is nobody's seat any more: the leader sees the chair empty.
            await leader.page.keyboard.press("l")
            await leader.until_so(
                """const chairs = app.room.band.sections.flatMap((one) => one.chairs);
                return chairs.find((one) => one.id === argument).stands === 0;""",
                me,
            )
        finally:
            for process in processes:
                with contextlib.suppress(psutil.NoSuchProcess):
                    process.resume()
        # Awake again, it comes back by itself, to the call that it missed.
        await frozen.until(link="joined", call="1", glass="shown")


def _browser_tree(_browser: object, before: set[psutil.Process]) -> list[psutil.Process]:
    """Browser processes that have come since."""
    return [
        process
        for process in psutil.Process().children(recursive=True)
        if process not in before and "chrom" in process.name()
    ]


async def test_a_wrong_code_is_told_in_one_sentence(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        page = await stage.door("wrong1")
        said = page.locator("main.door [role=alert]")
        await said.wait_for(timeout=PATIENCE)
        assert (await said.inner_text()).strip().endswith(".")
        assert await page.locator("[data-do=sit]").count() == 0


async def test_late_stands_and_other_chairs(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    """A late stand opens the called tune; on past the last page is the next tune, here only; tacet is a card."""
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        leader = await stage.sit("Bass", stage.hub.settings.codes.leader)
        tenor = await stage.sit("Tenor")
        await leader.call(WALTZ, 1)
        late = await stage.sit("Vocal")
        await late.until(call="1")
        await late.page.locator("[data-card=tacet]").wait_for(timeout=PATIENCE)
        await tenor.until(call="1", page="0", glass="shown", complete="true")
        pages = int((await tenor.data())["pages"])
        first = (await tenor.data())["tune"]
        for n in range(1, pages):
            await tenor.page.keyboard.press("PageDown" if n % 2 else "ArrowRight")
            await tenor.until(page=str(n), glass="shown")
        await tenor.page.keyboard.press(" ")
        await tenor.page.wait_for_selector(f"body:not([data-tune='{first}'])[data-page='0']", timeout=PATIENCE)
        assert (await leader.data())["tune"] == first
        await tenor.page.keyboard.press("PageUp")
        await tenor.until(tune=first, page=str(pages - 1), glass="shown")
        # A tap right of centre turns on, left of it back.
        await tenor.page.touchscreen.tap(100, 500)
        await tenor.until(page=str(pages - 2), glass="shown")
        await tenor.page.touchscreen.tap(700, 500)
        await tenor.until(page=str(pages - 1), glass="shown")


async def test_an_open_stretch_and_its_cue_across_stands(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    """The MD opens E to F and has A played four times; every stand has the same order, and is told the cue at once."""
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        codes = stage.hub.settings.codes
        trumpet = await stage.sit("Trumpet 1")
        leader = await stage.sit("Bass", codes.leader)
        director = await stage.sit("Drums", codes.md)
        band = [trumpet, leader, director]
        await leader.call(FERRY, 1)
        await everyone(band, call="1", glass="shown", complete="true")
        written = await trumpet.bars()
        seen = await trumpet.glass()
        form = director.page
        await form.keyboard.press("f")
        await form.click("[data-choice=open]")
        await form.click("main.form .stretch[data-from=E]")
        await form.click("main.form .stretch[data-from=F]")
        await form.click("[data-do=open]")
        await form.locator("[data-edit]", has_text="Open until cued: E to F").wait_for(timeout=PATIENCE)
        await form.click("[data-choice=times]")
        await form.click("main.form .stretch[data-from=G]")
        await form.click("main.form .stretch[data-from=H]")
        await form.click("[data-do=times]")
        # Sixteen bars from G are written out four times; E to F stands between repeat signs, so nothing is added.
        g = [bar for bar in written if int(bar.split("/")[0]) in range(67, 83)]
        at = written.index("82/1") + 1
        assert len(g) == 16
        for stand in band:
            await until_equal(stand, [*written[:at], *g * 3, *written[at:]])
        await trumpet.page.wait_for_selector(".slips:empty", state="attached", timeout=PATIENCE)
        assert changed(seen, await trumpet.glass()) == 0, "nothing moves"

        await trumpet.page.locator(".thread-line .loop[data-open=true]").first.wait_for(timeout=PATIENCE)
        await trumpet.on_time()
        await form.click("[data-do=cue]")
        await trumpet.page.locator(".slip", has_text="Last time: E to F, then F").wait_for(timeout=PATIENCE)
        await trumpet.page.locator(".thread-line .loop[data-cued=true]").first.wait_for(timeout=PATIENCE)
        # One that comes later has the state and no words that were for that moment.
        late = await stage.sit("Tenor")
        await late.page.locator(".thread-line .loop[data-cued=true]").first.wait_for(timeout=PATIENCE)
        assert await late.page.locator(".slip").count() == 0
        # Whatever was decided, the part can be seen as it was printed.
        await trumpet.page.keyboard.press("p")
        await trumpet.page.wait_for_function(
            "() => document.querySelector('.printed-page').naturalWidth > 300", timeout=PATIENCE
        )
        await trumpet.page.keyboard.press("Escape")
        await trumpet.until(screen="stand")
        # The next call begins anew: open again.
        await leader.page.keyboard.press("l")
        await leader.page.click("[data-from=B]")
        await everyone([*band, late], call="2")
        await late.page.locator(".thread-line .loop[data-cued=true]").first.wait_for(state="detached", timeout=PATIENCE)
