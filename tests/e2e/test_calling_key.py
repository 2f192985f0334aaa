"""A pedal key that the leader has taught to call. Names of keys: W3C, UI Events KeyboardEvent key Values."""

from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import PATIENCE, on_stage

pytestmark = pytest.mark.browser


async def test_a_taught_key_calls_once_from_the_page_and_survives_a_reload(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        leader = await stage.sit("Bass", stage.hub.settings.codes.leader)
        player = await stage.sit("Alto 1")
        page = leader.page
        await page.keyboard.press("l")
        await page.click("[data-do=teach]", timeout=PATIENCE)
        await page.keyboard.press("a")
        await page.locator(".calling-key", has_text="press another key").wait_for(timeout=PATIENCE)
        assert await page.locator("main.lead[data-searching=true]").count() == 0, "it did not begin a search"
        await page.keyboard.press("PageUp")
        await page.locator(".calling-key", has_text="Page up on your pedal calls").wait_for(timeout=PATIENCE)
        await page.keyboard.press("Escape")

        # From the page; stamped twice it calls once, since for five seconds the call can be taken back.
        await page.keyboard.press("PageUp")
        await player.until(call="1")
        first = (await player.data())["tune"]
        await leader.until(call="1", glass="shown")
        await leader.may_take_back()
        await page.keyboard.press("PageUp")
        # Turning on is still the other key's; the hub has answered the turn by then, and a second call with it.
        await page.keyboard.press("PageDown")
        await leader.until(page="1", glass="shown")
        assert (await player.data())["call"] == "1"
        # Taught for good, on this tablet.
        await page.reload()
        await leader.until(screen="stand", link="joined", glass="shown")
        await page.keyboard.press("PageUp")
        await player.until(call="2")
        assert (await player.data())["tune"] != first

        # Forgotten, it turns back again; who does not lead has nothing to teach.
        await page.keyboard.press("l")
        await page.click("[data-do=forget]", timeout=PATIENCE)
        await page.keyboard.press("Escape")
        await page.keyboard.press("PageDown")
        await leader.until(page="1", glass="shown")
        await page.keyboard.press("PageUp")
        await leader.until(page="0", glass="shown")
        assert (await player.data())["call"] == "2"
