"""The leader's screens: the set's rows, a request in three letters, and a date opened and closed."""

import re
from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import PATIENCE, on_stage

pytestmark = pytest.mark.browser

FERRY, WALTZ, LAMP, GLOVES = "Half Past the Ferry", "Ninepenny Waltz", "The Lamp You Left On", "Two Left Gloves"


async def test_a_tune_that_is_played_again_as_an_encore(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        leader = await stage.sit("Bass", stage.hub.settings.codes.leader)
        player = await stage.sit("Alto 1")
        page = leader.page
        ferry = (await player.data())["tune"]
        await page.keyboard.press("l")
        # It is added behind the last row; the rows of one tune are told apart.
        await page.click("main.lead [data-do=change]")
        await page.click("main.lead .row[data-at='3']")
        await page.click("main.lead [data-do=find]")
        await page.keyboard.type("fer")
        await page.keyboard.press("Enter")
        again = page.locator("main.lead .row[data-at='4']")
        await again.locator("small", has_text="again").wait_for(timeout=PATIENCE)
        assert await again.locator(".nr").inner_text() == "5"
        await page.click("main.lead [data-do=change]")

        # The opener is called, turned through and back to; then the encore is: every stand goes to its first page.
        await page.click("main.lead .row[data-at='0']")
        await page.wait_for_selector("main.lead .row[data-at='0'][data-is=next]", timeout=PATIENCE)
        await page.click("main.lead [data-do=call]")
        await player.until(call="1", tune=ferry, item="", page="0", glass="shown")
        await page.wait_for_selector("main.lead .row[data-is=on]", timeout=PATIENCE)
        assert await page.locator("main.lead .row[data-is=on]").count() == 1
        await player.page.keyboard.press("PageDown")
        await player.until(page="1", glass="shown")
        await again.click()
        await page.wait_for_selector("main.lead .row[data-at='4'][data-is=next]", timeout=PATIENCE)
        assert await page.locator("main.lead .next").inner_text() == f"{FERRY}, again"
        assert await page.locator("main.lead .row[data-at='0']").get_attribute("data-is") == "on"
        await player.page.locator(".thread-next", has_text=f"{FERRY}, again").wait_for(timeout=PATIENCE)
        await page.click("main.lead [data-do=call]")
        await player.until(call="2", tune=ferry, page="0", glass="shown")
        item = (await player.data())["item"]
        assert item and item == await again.get_attribute("data-item")
        await page.wait_for_selector("main.lead .row[data-at='4'][data-is=on]", timeout=PATIENCE)
        # Nothing comes behind it, while the opener is followed by the second tune.
        assert await player.page.locator(".thread-next").inner_text() == ""
        await leader.may_take_back()
        await page.click("main.lead [data-do=take-back]")
        await player.until(call="3", tune=ferry, item="", page="1", glass="shown")

        # Words at the foot lie in the page's margin, not over music, and leave the keys to other screens free.
        await page.keyboard.press("Escape")
        await leader.app("app.stand.slips.say('Cut D to F, for tonight');")
        found = await leader.app(
            """const lines = app.shelf.laying(app.reader.place.copy).pages[app.reader.place.page].lines;
            const foot = app.shape.top + lines.at(-1).y1 * app.shape.scale;
            const slip = [...document.querySelectorAll('.slip')].at(-1).getBoundingClientRect();
            const keys = document.querySelector('.thread-roles').getBoundingClientRect();
            return [foot, slip.top, keys.right, slip.left, slip.bottom, innerHeight];"""
        )
        assert found[0] <= found[1] and found[2] <= found[3] and found[4] <= found[5]
        await page.keyboard.press("l")

        # On a phone the places stand behind the set, not over it.
        async def box(which: str) -> tuple[float, float, float, float]:
            found = await page.locator(which).last.bounding_box()
            assert found is not None
            return found["x"], found["y"], found["x"] + found["width"], found["y"] + found["height"]

        await page.set_viewport_size({"width": 390, "height": 844})
        assert (await box("main.lead .columns > .set"))[3] <= (await box("main.lead .columns > .side"))[1]
        # A tablet is turned: the thread is as long as the page is wide, and ends where the next tune's name begins.
        for width, height in ((1024, 768), (768, 1024)):
            await page.keyboard.press("Escape")
            await page.set_viewport_size({"width": width, "height": height})
            await leader.until_so(
                """const line = [...document.querySelectorAll('.thread-line .bars')].at(-1).getBoundingClientRect();
                const room = document.querySelector('.thread-next').getBoundingClientRect().left - line.right;
                return innerWidth === argument && room > 0 && room < 40;""",
                width,
            )


async def test_the_set_on_the_lead_and_the_date(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        codes = stage.hub.settings.codes
        leader = await stage.sit("Bass", codes.leader)
        player = await stage.sit("Alto 1")
        page = leader.page
        await page.keyboard.press("l")

        async def rows() -> list[str]:
            titles: list[str] = await page.eval_on_selector_all(
                "main.lead .rows .title", "all => all.map((one) => one.firstChild.textContent)"
            )
            return titles

        async def until_rows(*wanted: str) -> None:
            await page.wait_for_function(
                "(wanted) => [...document.querySelectorAll('main.lead .rows .title')]"
                ".map((one) => one.firstChild.textContent).join() === wanted",
                arg=",".join(wanted),
                timeout=PATIENCE,
            )

        # Times come from the tempo and the played bars: 158 bars of 4/4 at 144 are 263 s (demo/truth).
        await until_rows(FERRY, WALTZ, LAMP, GLOVES)
        assert await page.locator("main.lead .row .time").first.inner_text() == "4:23"
        foot = await page.locator("main.lead .foot").inner_text()
        assert foot.startswith("4 tunes · about 13:")

        # Rows move by keys and by the thumb; a break, a segue and an alternative are said of them.
        await page.click("main.lead [data-do=change]")
        await page.keyboard.press("Shift+ArrowDown")
        await until_rows(WALTZ, FERRY, LAMP, GLOVES)
        await page.click("main.lead [data-then=segue]")
        await page.wait_for_selector("main.lead .row[data-at='1'][data-then=segue]", timeout=PATIENCE)
        grip = page.locator("[data-grip='3']")
        await grip.hover()
        await page.mouse.down()
        box = await page.locator("main.lead .row[data-at='0']").bounding_box()
        assert box is not None
        await page.mouse.move(box["x"] + 40, box["y"] + 4, steps=4)
        await page.mouse.up()
        await until_rows(GLOVES, WALTZ, FERRY, LAMP)
        await page.click("main.lead [data-do=break]")
        await until_rows(GLOVES, "Break", WALTZ, FERRY, LAMP)
        await page.click("main.lead .row[data-at='4']")
        await page.click("main.lead [data-do=or]")
        await page.wait_for_selector("main.lead .row[data-at='4'][data-instead=true]", timeout=PATIENCE)
        sizes = await page.eval_on_selector_all(
            "main.lead button:not([hidden])",
            "all => all.map((one) => one.getBoundingClientRect()).filter((box) => box.width)"
            ".map((box) => Math.min(box.width, box.height))",
        )
        assert min(sizes) >= 44, "every key is one for a thumb (WCAG 2.2, 2.5.5: 44 px)"
        await page.click("main.lead [data-do=change]")
        assert (await page.locator("main.lead .foot").inner_text()).endswith("break after 3:46")

        # The whole library in three letters, from a keyboard: it is next; the segue names what follows it.
        await page.keyboard.type("fer")
        await page.keyboard.press("Enter")
        await page.wait_for_selector("main.lead .row[data-is=next]", timeout=PATIENCE)
        await page.click("main.lead [data-do=call]")
        for one in (player, leader):
            await one.until(call="1", page="0", glass="shown")
        assert FERRY in await page.locator("main.lead h1").inner_text()
        assert "called by Bass" in await page.locator("main.lead .now .over").inner_text()
        ferry = (await player.data())["tune"]

        # The Line-up: who sits, what is stored, and one sentence.
        await page.click("main.lead [data-do=lineup]")
        row = page.locator("main.lineup .beaded", has_text="Alto 1")
        await row.locator("small", has_text="all stored").wait_for(timeout=PATIENCE)
        said = page.locator("main.lineup [data-ready=false]", has_text=re.compile(r"^10 of 12 chairs are empty\.$"))
        await said.wait_for(timeout=PATIENCE)
        await page.click("main.lineup [data-do=lead]")

        # A date is opened and closed; the players' pages stay.
        await page.click("main.lead [data-do=date]")
        await page.click("main.date [data-kind=gig]")
        await page.click("main.date [data-do=open-date]")
        await page.locator("main.date h1", has_text="Gig").wait_for(timeout=PATIENCE)
        # The lead is handed to a chair: it is one that leads until the date is closed.
        await page.click("main.date .handing [data-role=leader]")
        await page.locator("main.date .handing [data-chair]", has_text="Alto 1").click()
        await player.until(roles="leader")
        await page.click("main.date [data-do=close-date]")
        await page.click("main.date [data-do=close-now]")
        await page.locator("main.date h1", has_text="No date is open").wait_for(timeout=PATIENCE)
        await player.until(roles="")
        await page.locator("main.date .history [data-what=date-ended]").wait_for(timeout=PATIENCE)
        await player.until(call="3", tune=ferry, page="0", glass="shown")
