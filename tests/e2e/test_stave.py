"""The stave height chosen on a stand, in Chromium: at once, at the same bar, and without a hub."""

import os
import signal
from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import PATIENCE, Stand, on_stage
from e2e.test_on_stage import FERRY, WALTZ, changed, draw, everyone, ink

pytestmark = pytest.mark.browser

BALLAD = "The Lamp You Left On"


async def stored(stand: Stand, *heights: int) -> None:
    """Wait until the visible tune is stored whole at these heights."""
    await stand.until_so(
        """const { tune, chair } = app.reader.place;
        const copies = app.shelf.copies(tune, chair).filter((one) => one.firstStep === 0);
        return argument.every((mm) => copies.some((one) => app.shelf.laying(one)?.stave === mm));""",
        list(heights),
    )


async def choose(stand: Stand, way: str, millimetres: int) -> None:
    """Touch minus or plus among the tools, and wait for the page."""
    await stand.page.click(f"[data-do=stave-{way}]", timeout=PATIENCE)
    await stand.until(stave=str(millimetres), glass="shown")


async def inked_bars(stand: Stand) -> list[str]:
    """Numbers of the bars on the glass that a marking of this tune lies on."""
    found: list[str] = await stand.app(
        """const { place } = app.reader;
        const map = app.reader.over.mapOf(place);
        const { runsOf } = await import('/tablet/ink.js');
        const numbers = new Map(map.view.written.map((one) => [one[0], String(one[1])]));
        return app.reader.over.visible(place, app.session.markings.made.values())
          .filter((one) => runsOf(one, map).some((run) => run.length))
          .map((one) => numbers.get(one.what.points[0][0]));"""
    )
    return found


async def test_another_stave_height_at_once_and_without_a_hub(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        alto = await stage.sit("Alto 1")
        leader = await stage.sit("Bass", stage.hub.settings.codes.leader)
        await leader.call(FERRY, 1)
        await everyone([alto, leader], call="1", glass="shown")
        await alto.page.keyboard.press("PageDown")
        await alto.until(page="1", stave="7", glass="shown")
        await draw(alto, "mine", 300, 420)
        marked = await inked_bars(alto)
        before = await alto.visible()
        assert len(marked) == 1
        assert f"{marked[0]}/1" in before
        await stored(alto, 6, 7, 8)
        seen = await alto.glass()

        # A step up: the bar that the page began with is on it still, and the marking is on its bar.
        await alto.page.keyboard.press("m")
        await choose(alto, "higher", 8)
        if folder := os.environ.get("COLLAPARTE_PICTURES"):
            await alto.page.screenshot(path=f"{folder}/stave-8.png")
        assert before[0] in await alto.visible()
        assert changed(seen, await alto.glass()) > 0.01
        assert "8 mm" in await alto.page.locator(".stave-height").inner_text()
        await stored(alto, 7, 8, 9)

        # Without the hub both steps are there; the next page and the one before are, too.
        await stage.hub.end(signal.SIGKILL)
        await everyone([alto], link="away")
        await choose(alto, "higher", 9)
        assert before[0] in await alto.visible()
        await choose(alto, "lower", 8)
        await choose(alto, "lower", 7)
        assert await alto.visible() == before, "trying heights leads to no other page"
        await choose(alto, "higher", 8)
        await choose(alto, "higher", 9)
        await alto.page.click("[data-do=done]")
        assert 0.01 < ink(await alto.glass()) < 0.3
        for key in ("PageDown", "PageUp"):
            was = (await alto.data())["page"]
            await alto.page.keyboard.press(key)
            await alto.page.wait_for_selector(f"body[data-glass=shown]:not([data-page='{was}'])", timeout=PATIENCE)
            assert (await alto.data())["stave"] == "9"
        await alto.page.keyboard.press("m")
        for height in (8, 7, 6):
            await choose(alto, "lower", height)
        await alto.page.keyboard.press("Escape")

        # The hub is back: the choice holds for every tune, for this chair on this tablet only, and after a reload.
        await stage.hub.start()
        await everyone([alto, leader], link="joined")
        await leader.call(WALTZ, 2)
        await alto.until(call="2", stave="6", glass="shown")
        await leader.until(call="2", stave="7", glass="shown")
        await alto.page.reload()
        await alto.until(screen="stand", link="joined", stave="6", glass="shown")
        await leader.call(FERRY, 3)
        await alto.until(call="3", stave="6", page="0", glass="shown")
        for _ in range(3):
            if marked[0] in await inked_bars(alto):
                break
            await alto.page.keyboard.press("PageDown")
        assert await inked_bars(alto) == marked


async def test_a_part_as_printed_says_why_and_has_no_stave_height(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        vocal = await stage.sit("Vocal")
        leader = await stage.sit("Bass", stage.hub.settings.codes.leader)
        await leader.call(BALLAD, 1)
        await everyone([vocal], call="1", glass="shown")
        await vocal.page.keyboard.press("m")
        told = vocal.page.locator(".told p").first
        await told.wait_for(timeout=PATIENCE)
        assert (await told.inner_text()).endswith(".")
        if folder := os.environ.get("COLLAPARTE_PICTURES"):
            await vocal.page.screenshot(path=f"{folder}/told.png")
        assert await vocal.page.locator("[data-do=stave-higher]").is_disabled()
