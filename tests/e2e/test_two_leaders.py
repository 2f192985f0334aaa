"""Two leaders at once: the last word by the hub's order, on both Leads and on a player's page."""

import asyncio
from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import PATIENCE, Link, Stand, on_stage

pytestmark = pytest.mark.browser

FERRY, WALTZ, GLOVES = "Half Past the Ferry", "Ninepenny Waltz", "Two Left Gloves"


async def named(leader: Stand, title: str) -> None:
    await leader.page.locator("main.lead [data-tune]", has_text=title).click(timeout=PATIENCE)
    await leader.page.locator("main.lead [data-is=next]", has_text=title).wait_for(timeout=PATIENCE)
    # Its row may be the next one before the hub has answered that it is, which a link that is held from here on keeps.
    await leader.page.locator("main.lead [data-do=call]:enabled").wait_for(timeout=PATIENCE)


async def said(leader: Stand, words: str) -> None:
    await leader.page.locator("main.lead .stands", has_text=words).wait_for(timeout=PATIENCE)


async def test_two_leaders_at_once(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        code = stage.hub.settings.codes.leader
        links = Link(), Link()
        bass = await stage.sit("Bass", code, links[0])
        drums = await stage.sit("Drums", code, links[1])
        player = await stage.sit("Alto 1")
        for one in (bass, drums):
            await one.page.keyboard.press("l")
        await player.keep_slips()
        # Each names a tune and calls it; what they say leaves at once, and what they hear is held back meanwhile.
        await named(drums, GLOVES)
        links[1].holds = links[1].mute = True
        await named(bass, WALTZ)
        links[0].holds = links[0].mute = True
        await asyncio.gather(*(one.page.click("[data-do=call]", timeout=PATIENCE) for one in (bass, drums)))
        await asyncio.gather(*(link.asked() for link in links))
        for link in links:
            link.speak()
        await player.until(call="2", glass="shown")
        for link in links:
            link.release()
        stands = (bass, drums, player)
        await asyncio.gather(*(one.until(call="2") for one in stands))
        assert len({(await one.data())["tune"] for one in stands}) == 1, "everyone is on one tune"
        on = await bass.page.locator("main.lead h1").inner_text()
        if on == GLOVES:
            await said(bass, f"Drums called {GLOVES} just after you: theirs stands.")
            await said(drums, f"Bass called {WALTZ} just before you: yours stands.")
        else:
            await said(drums, f"Bass called {WALTZ} just after you: theirs stands.")
            await said(bass, f"Drums called {GLOVES} just before you: yours stands.")
        by = "Drums" if on == GLOVES else "Bass"
        await player.until_said(f"{on}: called by {by}")

        # Taken back, the other's stands.
        for one in (bass, drums):
            await one.may_take_back()
            await one.page.locator("main.lead .taking").wait_for(timeout=PATIENCE)
        await bass.page.click("[data-do=take-back]", timeout=PATIENCE)
        await asyncio.gather(*(one.until(call="3", glass="shown") for one in stands))
        assert {await one.page.locator("main.lead h1").inner_text() for one in (bass, drums)} == {
            WALTZ if on == GLOVES else GLOVES
        }


async def test_a_players_two_tablets_are_two_leaders(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        code = stage.hub.settings.codes.leader
        links = Link(), Link()
        big = await stage.sit("Bass", code, links[0])
        small = await stage.sit("Bass", code, links[1])
        player = await stage.sit("Alto 1")
        for one in (big, small):
            await one.page.keyboard.press("l")
        await player.keep_slips()
        await named(small, GLOVES)
        links[1].holds = links[1].mute = True
        await named(big, WALTZ)
        links[0].holds = links[0].mute = True
        # The small one's call leaves as soon as the hub has answered the other's: within the two seconds of "at once".
        for one, link in ((big, links[0]), (small, links[1])):
            await one.page.click("[data-do=call]", timeout=PATIENCE)
            await link.asked()
        for link in links:
            link.speak()
            await link.heard("done")
        await player.until(call="2", glass="shown")
        for link in links:
            link.release()
        await asyncio.gather(*(one.until(call="2") for one in (big, small)))
        await said(big, f"Bass on another tablet called {GLOVES} just after you: theirs stands.")
        await said(small, f"Bass on another tablet called {WALTZ} just before you: yours stands.")
        await player.until_said(f"{GLOVES}: called by Bass")


async def test_what_only_comes_next_gives_way_and_no_key_changes_under_the_thumb(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        code = stage.hub.settings.codes.leader
        link = Link()
        bass = await stage.sit("Bass", code)
        drums = await stage.sit("Drums", code, link)
        for one in (bass, drums):
            await one.page.keyboard.press("l")
        await named(bass, WALTZ)
        await drums.page.locator("main.lead [data-is=next]", has_text=WALTZ).wait_for(timeout=PATIENCE)
        # Named no longer: what Drums' key calls now is what comes next in the set.
        await bass.page.locator("main.lead [data-is=next]").click(timeout=PATIENCE)
        await drums.page.locator("main.lead .act", has_text="Next in the set").wait_for(timeout=PATIENCE)
        await drums.page.locator("main.lead [data-do=call]:enabled").wait_for(timeout=PATIENCE)
        link.holds = True
        await named(bass, WALTZ)
        await bass.page.click("[data-do=call]", timeout=PATIENCE)
        await bass.until(call="1")
        await drums.page.click("[data-do=call]", timeout=PATIENCE)
        # The key has become "Take back" when the call comes, and rests before it may be touched.
        rested = await drums.app(
            """globalThis.rested = new Promise((told) => new MutationObserver(() => {
              const key = document.querySelector('main.lead [data-do=take-back]');
              if (key) told(key.disabled);
            }).observe(document.querySelector('main.lead .act'), { childList: true }));
            return true;"""
        )
        assert rested
        link.release()
        await drums.page.locator(".slip", has_text=f'"{WALTZ}" has been called by Bass').wait_for(timeout=PATIENCE)
        assert await drums.page.evaluate("globalThis.rested") is True
        assert (await bass.data())["call"] == "1", "the opener was not called over it"
        await drums.page.locator("main.lead [data-do=take-back]:enabled, main.lead [data-do=call]:enabled").wait_for(
            timeout=PATIENCE
        )
