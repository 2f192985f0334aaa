"""A stand whose pages come late: what it lacks of a decision is said on the page, and a turn leads to it."""

import asyncio
import re
from pathlib import Path

import pytest
from playwright.async_api import Browser, Page, Route

from collaparte.wire.commands import Call, From, MakeCut, SayEdit, TakeBackEdit
from collaparte_client import Band, join
from e2e.stage import PATIENCE, Link, Stage, Stand, on_stage

pytestmark = pytest.mark.browser

FERRY = "Half Past the Ferry"
"""D to G are bars 35 to 66, played twice; F is 59 (demo/truth)."""


class SlowPages:
    """Layings for one stand: passed on as they are asked for, or held back as by a slow link."""

    def __init__(self) -> None:
        self.holds = False
        self._waiting: list[Route] = []

    async def lay(self, page: Page) -> None:
        """Put it between this page and its hub."""
        await page.route("**/laying/**", self._asked)

    async def _asked(self, route: Route) -> None:
        if self.holds:
            self._waiting.append(route)
        else:
            await route.continue_()

    async def release(self) -> None:
        """All that was held back comes now."""
        self.holds = False
        for route in self._waiting:
            await route.continue_()
        self._waiting.clear()


async def lack(stand: Stand) -> tuple[str, bool] | None:
    """What the visible page says it lacks, and whether a turn leads there."""
    found: dict[str, object] | None = await stand.app(
        """const { lackOf } = await import('/tablet/lacking.js');
        const lack = lackOf(app.reader.shelf, app.reader.place);
        return lack && { bars: lack.bars.join('-'), turn: lack.turn };"""
    )
    return found and (str(found["bars"]), bool(found["turn"]))


async def rounds(stand: Stand) -> list[str]:
    """The stretches of the visible page that are flagged as played another number of times."""
    found: list[str] = await stand.app(
        """const { roundsOf } = await import('/tablet/lacking.js');
        const { shelf, place, over } = app.reader;
        const boxes = over.mapOf(place).lines.flat();
        return roundsOf(shelf, place, boxes).map(({ bars, times }) => `${bars.join('-')}: ${times}`);"""
    )
    return found


async def until_revision(stand: Stand, revision: int, *, laid: bool) -> None:
    """Wait until the stand knows this revision of its tune, and has its page when it is `laid`."""
    await stand.until_so(
        """const { tune, chair } = app.reader.place;
        const copies = app.reader.shelf.copies(tune, chair);
        const has = copies.some((one) => one.firstStep === 0 && one.revision === argument.revision);
        return app.shelf.tune(tune).revision === argument.revision && has === argument.laid;""",
        {"revision": revision, "laid": laid},
    )


async def test_called_onto_a_page_that_was_laid_before(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        dep, pages = await _late_stand(stage)
        codes = stage.hub.settings.codes
        address = f"127.0.0.1:{stage.hub.settings.ports.http}"
        async with join(address, codes.join, codes=[codes.leader, codes.md]) as band:
            tune = next(row.tune for row in band.set.tunes if row.title == FERRY)
            await band.do(Call(tune))
            await dep.until(call="1", glass="shown")
            await cut_twice(band, tune)
            await until_revision(dep, 2, laid=True)
            await band.do(From("E"))
            await dep.until(call="2", glass="shown")
            before = await dep.visible()
            assert "58/1" in before and "67/1" in before and "59/1" not in before and await lack(dep) is None

            # Put back while the dep's link is slow: the page that it is called onto lacks the bars, and says so.
            pages.holds = True
            await band.do(TakeBackEdit("cut"))
            await band.do(From("third bar of E"))
            await dep.until(call="3", glass="shown")
            await until_revision(dep, 3, laid=False)
            assert await lack(dep) == ("59-66", False)
            plain = await dep.glass()

            # Its page comes: nothing moves, but a turn now leads to what is next.
            await pages.release()
            await until_revision(dep, 3, laid=True)
            assert await dep.visible() == before and await lack(dep) == ("59-66", True)
            assert await dep.glass() != plain, "what is played from another page by now is shaded"
            await dep.page.keyboard.press("ArrowRight")
            await dep.until_so("return app.reader.isOnGlass && app.reader.place.copy.revision === 3;")
            assert (await dep.visible())[0] == "59/1"
            await dep.page.keyboard.press("ArrowLeft")
            await dep.until_so("return app.reader.isOnGlass && app.reader.place.copy.revision === 2;")
            assert await dep.visible() == before


async def test_a_stretch_on_the_glass_that_is_played_more_often_is_flagged(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        player, _ = await _late_stand(stage)
        codes = stage.hub.settings.codes
        address = f"127.0.0.1:{stage.hub.settings.ports.http}"
        async with join(address, codes.join, codes=[codes.leader, codes.md]) as band:
            tune = next(row.tune for row in band.set.tunes if row.title == FERRY)
            await band.do(Call(tune))
            await player.until(call="1", glass="shown")
            await until_revision(player, 0, laid=True)
            await player.until_so("return app.reader.isOnGlass && app.reader.place.copy !== null;")
            plain, page = await player.glass(), await player.visible()
            assert "9/1" in page and await rounds(player) == []
            await band.do(SayEdit("four", tune, "times", "A", "4 after A", times=4))
            await until_revision(player, 1, laid=True)
            assert await player.visible() == page and await rounds(player) == ["9-12: 4"]
            assert await player.glass() != plain
            # The page of the next call has it itself; taken back, it says so.
            await band.do(From("top"))
            await player.until_so("return app.reader.isOnGlass && app.reader.place.copy.revision === 1;")
            assert await rounds(player) == []
            await band.do(TakeBackEdit("four"))
            await until_revision(player, 2, laid=True)
            assert set(await rounds(player)) == {"9-12: null"}


async def test_a_called_bar_that_is_not_here_yet_is_waited_for(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        dep, pages = await _late_stand(stage)
        codes = stage.hub.settings.codes
        address = f"127.0.0.1:{stage.hub.settings.ports.http}"
        async with join(address, codes.join, codes=[codes.leader, codes.md]) as band:
            tune = next(row.tune for row in band.set.tunes if row.title == FERRY)
            await band.do(Call(tune))
            await dep.until(call="1", glass="shown")
            await cut_twice(band, tune)
            await until_revision(dep, 2, laid=True)
            pages.holds = True
            await band.do(TakeBackEdit("cut"))
            await band.do(From("F"))
            await dep.until(call="2", glass="shown")
            assert "59/1" not in await dep.visible()
            await pages.release()
            await dep.until_so("return app.reader.isOnGlass && app.reader.place.copy.revision === 3;")
            assert "59/1" in await dep.visible()


async def test_a_called_bar_is_marked_on_the_page_that_is_on_the_glass_too(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        player, _ = await _late_stand(stage)
        codes = stage.hub.settings.codes
        address = f"127.0.0.1:{stage.hub.settings.ports.http}"
        async with join(address, codes.join, codes=[codes.leader]) as band:
            await band.do(Call(next(row.tune for row in band.set.tunes if row.title == FERRY)))
            await player.until(call="1", glass="shown")
            await until_revision(player, 0, laid=True)
            await band.do(From("A"))
            await player.until(call="2", glass="shown")
            await player.until_so("return app.reader.isOnGlass && app.reader.place.copy !== null;")
            before, page = await player.glass(), await player.visible()
            await band.do(From("third bar of A"))
            await player.until(call="3", glass="shown")
            assert await player.visible() == page
            async with asyncio.timeout(PATIENCE / 1000):
                while await player.glass() == before:  # noqa: ASYNC110 - a canvas tells nobody
                    await asyncio.sleep(0.2)


async def test_a_card_that_says_on_its_way_is_not_told_as_the_page(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    """Whoever leads sees a chair filled once its page is seen, not while the player still waits for it."""
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        leader = await stage.sit("Bass", stage.hub.settings.codes.leader)
        pages, link = SlowPages(), Link()
        page = await stage.door(link=link)
        await pages.lay(page)
        pages.holds = True
        await page.get_by_role("button", name=re.compile("^Alto 1,")).click(timeout=PATIENCE)
        await page.click("[data-do=sit]")
        late = Stand(page)
        await late.until(screen="stand", link="joined")
        link.mute = True
        await leader.call(FERRY)
        await late.until(call="1", glass="waiting")
        await seen(late)
        assert await page.locator("[data-card=coming]").count() == 1
        assert not [one for one in link.unsaid("shown") if one["stage"] == "glass"]
        await pages.release()
        await late.until(glass="shown")
        await seen(late)
        assert {one["call"] for one in link.unsaid("shown") if one["stage"] == "glass"} == {1}


async def seen(stand: Stand) -> None:
    """What is on the glass has been seen, and what a stand says of it then is said."""
    await stand.page.evaluate("""() => new Promise((seen) => {
      let frames = 6;
      const next = () => (frames-- ? requestAnimationFrame(next) : seen());
      next();
    })""")


async def cut_twice(band: Band, tune: str) -> None:
    """Two cuts; without the first the pages are others than any that the stand has had."""
    await band.do(MakeCut("cut", tune, "F", "G"))
    await band.do(MakeCut("another", tune, "C", "D"))


async def _late_stand(stage: Stage) -> tuple[Stand, SlowPages]:
    pages = SlowPages()
    dep = await stage.sit("Alto 1")
    await pages.lay(dep.page)
    await dep.page.wait_for_selector("body[data-complete='true']", timeout=PATIENCE)
    return dep, pages
