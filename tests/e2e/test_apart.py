"""A bad evening: stands part from the hub in every way at once, go on alone, and come together again."""

import asyncio
import signal
from pathlib import Path

import pytest
from playwright.async_api import Browser

from collaparte.wire.commands import Call
from collaparte_client import join
from e2e.stage import PATIENCE, Link, Stand, on_stage

pytestmark = pytest.mark.browser

FERRY, WALTZ = "Half Past the Ferry", "Ninepenny Waltz"

_STROKE = """const { lines, space } = app.reader.over.mapOf(app.reader.place);
const { x0, y0 } = lines[argument.line][0];
app.marker.layer = argument.layer;
app.marker.drew(Array.from({ length: 9 }, (_, n) => ({ x: x0 + 3 * n, y: y0 - (n % 2) * space, pressure: 0.7 })));
return [...app.session.markings.made.keys()].at(-1);"""


async def marked(stand: Stand, line: int, layer: str = "section") -> str:
    """Draw a stroke over a line of the visible page; the marking's id."""
    made: str = await stand.app(_STROKE, {"line": line, "layer": layer})
    return made


async def rubbed_out(stand: Stand, marking: str) -> None:
    """As the eraser does where it meets this marking."""
    await stand.app("app.session.erase(argument, app.reader.place.chair);", marking)


async def until_marked(stand: Stand, ids: set[str]) -> None:
    """Wait until the stand holds exactly these markings and none of its own waits for the hub."""
    await stand.until_so(
        """const made = [...app.session.markings.made.keys()].sort();
        return made.join() === argument.join() && app.session.outbox.waiting.length === 0;""",
        sorted(ids),
    )


async def where(stand: Stand) -> tuple[str, str, str]:
    data = await stand.data()
    return data["tune"], data["page"], data["call"]


async def test_parted_in_every_way_and_together_again(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        codes = stage.hub.settings.codes
        link = Link()
        leader = await stage.sit("Bass", codes.leader)
        alto1, alto2 = await stage.sit("Alto 1"), await stage.sit("Alto 2", link=link)
        tenor = await stage.sit("Tenor")
        players = (alto1, alto2, tenor)
        await leader.call(FERRY, 1)
        for one in players:
            await one.until(call="1", glass="shown")
            await one.settled()
        ferry = (await leader.data())["tune"]
        common = await marked(alto1, 0)
        for one in players:
            await until_marked(one, {common})

        # What the hub says to Alto 2 is held back; it marks and turns, is reloaded in the middle, and marks again.
        link.holds = True
        unheard = await marked(alto2, 1)
        await alto2.page.keyboard.press("PageDown")
        await alto2.until(page="1", glass="shown")
        await alto2.page.reload()
        await alto2.until(screen="stand", glass="shown", page="1")
        assert set(await alto2.markings()) == {common, unheard}, "marked, not yet acknowledged, and reloaded"
        later = await marked(alto2, 0)

        # The hub is killed while the leader's call is on its way; nobody knows who heard it.
        await leader.page.keyboard.press("l")
        await leader.page.locator("main.lead [data-tune]", has_text=WALTZ).click(timeout=PATIENCE)
        await leader.page.locator("main.lead [data-is=next]").wait_for(timeout=PATIENCE)
        await leader.page.locator("main.lead [data-do=call]:enabled").wait_for(timeout=PATIENCE)
        calling = asyncio.create_task(leader.page.click("[data-do=call]", timeout=PATIENCE))
        await stage.hub.end(signal.SIGKILL)
        await calling
        for one in (leader, alto1, tenor):
            await one.until(link="away")

        # Alone: Alto 1 rubs out what all have and marks anew, the Tenor marks a page further on.
        await rubbed_out(alto1, common)
        again = await marked(alto1, 2)
        await tenor.page.keyboard.press("PageDown")
        await tenor.until(glass="shown")
        far = await marked(tenor, 0)
        # Alto 2 rubs out the same, without knowing that another did.
        await rubbed_out(alto2, common)

        await stage.hub.start()
        link.release()
        for one in (leader, *players):
            await one.until(link="joined")
        everything = {unheard, later, again, far}
        for one in players:
            await until_marked(one, everything)

        # The call was taken or it was not: all are under the same, and on its tune.
        address = f"127.0.0.1:{stage.hub.settings.ports.http}"
        async with join(address, codes.join, codes=[codes.leader]) as band:
            call = band.position.call
            assert call in (1, 2)
            for one in (leader, *players):
                await one.until(call=str(call), glass="shown", tune=str(band.position.tune))
            if call == 1:
                assert (await where(alto2))[:2] == (ferry, "1"), "coming back is not a call"
                assert (await where(alto1))[:2] == (ferry, "0")
            # And the next call finds everyone.
            await band.do(Call(next(row.tune for row in band.set.tunes if row.title == WALTZ)))
            for one in (leader, *players):
                await one.until(call=str(call + 1), glass="shown", page="0", tune=str(band.position.tune))

        # All of it is on the tablets and in the log: after a second kill and a reload it is there.
        await stage.hub.end(signal.SIGKILL)
        await stage.hub.start()
        for one in players:
            await one.page.reload()
            await one.until(screen="stand", link="joined", glass="shown")
            await until_marked(one, everything)
