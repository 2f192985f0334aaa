"""What is touched on stage is large enough for a finger, on every screen and glass.

W3C, WCAG 2.2, success criterion 2.5.5, Target Size (Enhanced): at least 44 by 44 CSS px.
"""

import re
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import PATIENCE, Stand, on_stage

pytestmark = pytest.mark.browser

LEAST = 44
"""CSS px, both ways (WCAG 2.2, 2.5.5)."""
SHAPES = ((390, 844), (844, 390), (768, 1024), (1024, 768), (1024, 1366))
FERRY = "Half Past the Ferry"

CONTROLS = "button, a[href], input, select, textarea, [role=slider]"
TOO_SMALL = (
    f"""(least) => [...document.querySelectorAll('{CONTROLS}')]
"""
    """  .filter((one) => one.checkVisibility({ visibilityProperty: true }) && !one.closest('[inert]'))
  .map((one) => [one, one.getBoundingClientRect()])
  .filter(([, box]) => box.width > 0 && box.height > 0)
  .map(([one, box]) => ({ what: `${one.className} ${one.dataset.do ?? ''} ${one.textContent.slice(0, 20)}`.trim(),
    wide: Math.round(10 * box.width) / 10, high: Math.round(10 * box.height) / 10,
    outside: box.left < -0.5 || box.right > innerWidth + 0.5, cut: one.scrollWidth > one.clientWidth + 1 }))
  .filter(({ wide, high, outside, cut }) => wide < least || high < least || outside || cut)"""
)
"""Controls that are seen and smaller than this, stand out at the side, or whose words are cut off."""


async def screens(stand: Stand) -> AsyncIterator[str]:
    """Every screen of one who leads, directs and keeps the library, in each of its states that has keys of its own."""
    page, press = stand.page, stand.page.keyboard.press

    async def touch(where: str) -> None:
        await page.locator(where).first.click(timeout=PATIENCE)

    yield "the page"
    await press("m")
    await page.wait_for_selector(".tools", timeout=PATIENCE)
    yield "the marking tools"
    await press("m")
    await press("l")
    yield "the Lead"
    await touch("main.lead [data-do=find]")
    yield "the Lead, finding a tune"
    await touch("main.lead [data-do=find-not]")
    await touch("main.lead [data-do=from-typed]")
    yield "the Lead, typing a place"
    await touch("main.lead .from-place .key:text('No keys')")
    await touch("main.lead [data-do=change]")
    await touch("main.lead .row[data-at='0']")
    yield "the Lead, changing the set"
    await touch("main.lead [data-do=change]")
    await touch("main.lead [data-do=date]")
    yield "the Date"
    await press("Escape")
    await press("l")
    await touch("main.lead [data-do=lineup]")
    yield "the Line-up"
    await press("Escape")
    await press("f")
    yield "the Form"
    await press("Escape")
    await press("p")
    yield "the part as printed"
    await press("Escape")


async def test_the_door_is_large_enough(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        page = await stage.door()
        await page.get_by_role("button", name=re.compile("^Drums,")).click(timeout=PATIENCE)
        await page.click("[data-do=role]", timeout=PATIENCE)
        for width, height in SHAPES:
            await page.set_viewport_size({"width": width, "height": height})
            assert await page.evaluate(TOO_SMALL, LEAST) == [], width


async def test_everything_that_is_touched_is_large_enough(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        codes = stage.hub.settings.codes
        stand = await stage.sit("Drums", codes.md)
        await stand.app("app.sit(app.session.self.chairs, argument);", codes.leader)
        await stand.until(roles="leader md")
        small: list[object] = []
        await stand.call(FERRY)
        for width, height in SHAPES:
            await stand.page.set_viewport_size({"width": width, "height": height})
            async for screen in screens(stand):
                found = await stand.page.evaluate(TOO_SMALL, LEAST)
                small += [(width, screen, one["what"], one["wide"], one["high"]) for one in found]
        assert not small, "\n".join(map(str, small))
