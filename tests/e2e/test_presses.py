"""A leader's press counts once, and for what lay under the finger, whatever the hub says meanwhile."""

from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import PATIENCE, Link, on_stage

pytestmark = pytest.mark.browser

REDRAW = "app.redraw();"
"""What the app does when the hub says anything at all: that a stand confirmed, that a chair filled."""


async def test_a_press_outlives_a_screen_that_is_drawn_anew(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        leader = await stage.sit("Bass", stage.hub.settings.codes.leader)
        page = leader.page
        await page.keyboard.press("l")
        await page.click("main.lead [data-do=change]")
        breaks = page.locator("main.lead .rows .title", has_text="Break")

        async def place(which: str) -> tuple[float, float]:
            x, y, width, height = await page.eval_on_selector(
                which, "(key) => (({ x, y, width, height }) => [x, y, width, height])(key.getBoundingClientRect())"
            )
            return x + width / 2, y + height / 2

        async def is_new(which: str, was: object) -> bool:
            return bool(await page.evaluate("([which, was]) => document.querySelector(which) !== was", [which, was]))

        key = "main.lead [data-do=break]"
        # By a mouse.
        was = await page.query_selector(key)
        await page.mouse.move(*await place(key))
        await page.mouse.down()
        await leader.app(REDRAW)
        assert await is_new(key, was)
        await page.mouse.up()
        await breaks.nth(0).wait_for(timeout=PATIENCE)
        assert await breaks.count() == 1
        # By a finger: Chromium itself clicks what then lies there, other browsers nothing; once it is in all.
        # Drawn anew as it comes down, as one that rests there for long is no press to a browser.
        await leader.app(f"addEventListener('pointerdown', () => {{ {REDRAW} }}, {{ once: true }});")
        was = await page.query_selector(key)
        await page.touchscreen.tap(*await place(key))
        assert await is_new(key, was)
        await breaks.nth(1).wait_for(timeout=PATIENCE)
        await page.wait_for_timeout(500)  # a second click would have come by now
        assert await breaks.count() == 2
        # A finger that rests there longer than browsers take for a press, and again where none clicks: once each.
        x, y = await place(key)
        session = await page.context.new_cdp_session(page)
        await session.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
        await page.wait_for_timeout(600)
        await session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        await breaks.nth(2).wait_for(timeout=PATIENCE)
        await page.evaluate("addEventListener('mouseup', () => (window.clicks = true), true)")
        x, y = await place(key)
        gesture = {"x": x, "y": y, "duration": 600, "gestureSourceType": "touch"}
        await session.send("Input.synthesizeTapGesture", gesture)
        await breaks.nth(3).wait_for(timeout=PATIENCE)
        await page.wait_for_timeout(300)
        assert await breaks.count() == 4
        assert not await page.evaluate("Boolean(window.clicks)"), "the browser itself clicks; nothing was tested"
        # What has become another key under the finger was not meant: this row is another tune's now.
        row = "main.lead .row[data-at='0']"
        await page.click("main.lead [data-do=change]")
        await page.mouse.move(*await place(row))
        await page.mouse.down()
        await leader.app("app.room.items.reverse(); app.redraw();")
        await page.mouse.up()
        await page.wait_for_timeout(200)
        assert await page.locator("main.lead [data-is=next]").count() == 0


async def test_a_press_means_the_row_that_was_moved(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    """The set comes before the hub's answer to the change: the row chosen is the one that was moved, at once."""
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        link = Link()
        leader = await stage.sit("Bass", stage.hub.settings.codes.leader, link)
        page = leader.page
        await page.keyboard.press("l")
        await page.click("main.lead [data-do=change]")
        moved = await page.get_attribute("main.lead .row[data-at='0']", "data-tune")
        link.holds = True
        await page.keyboard.press("Shift+ArrowDown")
        await link.heard("done")
        link.release(but="done")
        await page.wait_for_selector(f"main.lead .row[data-at='1'][data-tune='{moved}']", timeout=PATIENCE)
        await page.click("main.lead [data-then=segue]")
        link.release()
        await page.wait_for_selector(f"main.lead .row[data-tune='{moved}'][data-then=segue]", timeout=PATIENCE)
        assert await page.locator("main.lead .row[data-then=segue]").count() == 1


async def test_who_has_named_a_tune_does_not_call_the_one_before(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    """Until the hub has answered, the key still has the tune that was next: it waits, and so does the pedal."""
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        link = Link()
        leader = await stage.sit("Bass", stage.hub.settings.codes.leader, link)
        page = leader.page
        await page.keyboard.press("l")
        link.holds = True
        await page.click("main.lead .row[data-at='2']")
        assert await page.locator("main.lead [data-do=call]").is_disabled()
        await leader.app("await app.lead.act.callByFoot();")
        link.release()
        await page.wait_for_selector("main.lead .row[data-at='2'][data-is=next]", timeout=PATIENCE)
        await page.click("main.lead [data-do=call]", timeout=PATIENCE)
        await leader.until(call="1", tune=str(await page.get_attribute("main.lead .row[data-at='2']", "data-tune")))
