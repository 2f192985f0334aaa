"""Repeats after the D.S., said on the Form in a real browser: every stand lays the tune anew, and back."""

import asyncio
from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import PATIENCE, Stand, on_stage

pytestmark = pytest.mark.browser

FERRY = "Half Past the Ferry"
"""Its D.S. at bar 90 goes back to 9; 9 to 16 are repeated, 15 to 16 the first ending (demo/truth)."""


async def until_times(stand: Stand, bar: str, times: int) -> None:
    """Wait until the stand holds a laying with this bar so many times."""
    async with asyncio.timeout(PATIENCE / 1000):
        while True:
            if [one.split("/")[0] for one in await stand.bars()].count(bar) == times:
                return
            await asyncio.sleep(0.1)


async def test_repeats_after_the_jump_are_said_on_the_form(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        trumpet = await stage.sit("Trumpet 1")
        director = await stage.sit("Drums", stage.hub.settings.codes.md)
        await asyncio.gather(*(one.until(complete="true") for one in (trumpet, director)))
        form = director.page
        title = await form.evaluate(
            "async () => (await import('/tablet/app.js')).app.shelf.tune("
            "(await import('/tablet/app.js')).app.reader.place.tune).title"
        )
        assert title == FERRY
        # The first ending is not played after the D.S. unless that is said.
        await until_times(trumpet, "15", 1)
        while "17/2" not in (shown := await trumpet.visible()):
            before = (await trumpet.data())["page"]
            await trumpet.page.keyboard.press("PageDown")
            await trumpet.page.wait_for_selector(f"body:not([data-page='{before}'])", timeout=PATIENCE)
        await form.keyboard.press("f")
        await form.locator("[data-repeats=false][aria-pressed=true]").wait_for(timeout=PATIENCE)
        await form.click("[data-repeats=true]")
        await form.locator("[data-repeats=true][aria-pressed=true]").wait_for(timeout=PATIENCE)
        await trumpet.page.locator(".slip", has_text="Repeats after the D.S.: taken again").wait_for(timeout=PATIENCE)
        assert await form.locator(".slip").count() == 0, "the Form says what is decided, and nothing lies over it"
        await until_times(trumpet, "15", 2)
        assert await trumpet.visible() == shown, "the page behind the jump is still known by its own bars"
        await form.click("[data-repeats=false]")
        await until_times(trumpet, "15", 1)
