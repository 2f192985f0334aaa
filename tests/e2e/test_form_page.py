"""The Form in a real browser, as an MD works it: dragged, typed, refused, asked back, contradicted; who is told."""

import asyncio
from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import PATIENCE, Link, Stage, Stand, on_stage

pytestmark = pytest.mark.browser

FERRY, LAMP = "Half Past the Ferry", "The Lamp You Left On"
"""F to G of the first are bars 59 to 66; the second has a Vocal part of words only (demo/truth, demo/README)."""


async def until_bars(stand: Stand, numbers: range, there: bool) -> None:
    """Wait until the stand's laying has these bars, or none of them."""
    await stand.until_so(
        """const { tune, chair } = app.reader.place;
        const copy = app.reader.shelf.copies(tune, chair).find((one) => one.firstStep === 0);
        const laying = copy && app.shelf.laying(copy);
        if (!laying) return false;
        const { written } = app.shelf.tune(tune);
        const shown = new Set(laying.pages.flatMap((page) => page.lines).flatMap((line) => line.bars)
          .flatMap(({ steps: [a, z] }) => copy.order.slice(a, z + 1).map((position) => written[position][1])));
        return argument.numbers.every((number) => shown.has(number) === argument.there);""",
        {"numbers": list(numbers), "there": there},
    )


async def _form_of_the_ferry(stage: Stage, link: Link | None = None) -> tuple[Stand, Stand, Stand]:
    """A trumpet, behind this link if one is given, the leader who has called the tune, and the MD, at the Form."""
    codes = stage.hub.settings.codes
    trumpet, drums = await stage.sit("Trumpet 1", link=link), await stage.sit("Drums", codes.md)
    leader = await stage.sit("Bass", codes.leader)
    await leader.call(FERRY)
    await leader.page.keyboard.press("l")
    for stand in (trumpet, drums):
        await stand.until(call="1", glass="shown", complete="true")
    await drums.page.keyboard.press("f")
    return trumpet, leader, drums


async def test_the_mds_work_on_the_form(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        trumpet, leader, drums = await _form_of_the_ferry(stage)
        form = drums.page

        # Dragged from mark to mark.
        await form.hover("main.form .stretch[data-from=F]")
        await form.mouse.down()
        await form.hover("main.form .stretch[data-from=G]")
        await form.mouse.up()
        assert await form.locator("[data-field=first]").input_value() == "F"
        assert await form.locator("[data-field=until]").input_value() == "G"
        await form.click("[data-do=cut]")
        cut = form.locator("[data-edit]", has_text="Cut F to G")
        await cut.wait_for(timeout=PATIENCE)
        await until_bars(trumpet, range(59, 67), there=False)
        # Asked, as it matters: some have notes that lead on; they keep their bar, everyone else goes on as decided.
        asked = await cut.locator(".leads small").inner_text()
        assert "Trumpet 1" in asked and "Drums" not in asked
        assert asked.endswith("have notes leading on in the last bar cut, bar 66.")
        await form.click("[data-do=pickup]")
        await form.locator("[data-edit]", has_text="Keep bar 66 as a pickup").wait_for(timeout=PATIENCE)
        await until_bars(trumpet, range(66, 67), there=True)
        await until_bars(trumpet, range(59, 66), there=False)
        await until_bars(drums, range(59, 67), there=False)

        async def typed(first: str, until: str = "", choice: str = "cut") -> None:
            await form.click(f"[data-choice={choice}]")
            for field, words in (("first", first), ("until", until)):
                await form.locator(f"[data-field={field}]").fill(words)
            await form.click(f"[data-do={choice}]")

        # Said in one breath, and refused with the nearest there is; what was typed stays.
        await typed("bars 27-34")
        await form.locator("[data-edit]", has_text="Cut C to D").wait_for(timeout=PATIENCE)
        await typed("K", "L")
        await form.locator(".slip", has_text='There is no "K" in this tune; the nearest mark is "H".').wait_for(
            timeout=PATIENCE
        )
        assert await form.locator("[data-field=first]").input_value() == "K"
        await typed("from C")
        await form.locator(".slip", has_text="Say up to where as well").wait_for(timeout=PATIENCE)

        # Of two that contradict each other the later holds, and the list says why the other waits.
        await typed("E", "F", "open")
        await typed("E", "F", "times")
        waits = form.locator("[data-waits=true]", has_text="Open until cued: E to F")
        assert '"Play E to F 4 times" was decided later for the same bars.' in await waits.inner_text()

        # How far the stands are: the page in front of a player stays until the next call or turn.
        far = "Of 3 stands: received by 3, laid out by 3, on the glass of"
        await form.locator(".have", has_text=f"{far} 0.").wait_for(timeout=PATIENCE)
        for stand in (trumpet, drums, leader):
            await stand.until_so(
                """const { tune, chair } = app.reader.place;
                const { revision } = app.shelf.tune(tune);
                const copies = app.reader.shelf.copies(tune, chair);
                return copies.some((one) => one.firstStep === 0 && one.revision === revision);"""
            )
        # The leader says it as it is said: bar 27 is C, which is cut, and four bars before it is 23 (demo/truth).
        for said in ("from letter K", "four before letter c"):
            if said.endswith("K"):
                await leader.page.click("[data-do=from-typed]")
            await leader.page.locator("[data-field=from]").fill(said)
            await leader.page.click("[data-do=from-there]")
        await leader.page.locator(".slip", has_text='There is no "from letter K" in this tune').wait_for(
            timeout=PATIENCE
        )
        await trumpet.until(call="2", glass="shown")
        assert "23/1" in await trumpet.visible()
        await form.locator(".have", has_text=f"{far} 3.").wait_for(timeout=PATIENCE)

        # A part of words only is told in words, and the MD sees which.
        await leader.page.locator("main.lead [data-tune]", has_text=LAMP).click()
        await leader.page.click("[data-do=call]")
        await drums.until(call="3", glass="shown")
        await form.keyboard.press("f")
        await form.locator("main.form h1", has_text=LAMP).wait_for(timeout=PATIENCE)
        await typed("all of B")
        await form.locator("[data-edit]", has_text="Cut B to C").wait_for(timeout=PATIENCE)
        await form.locator("[data-told='1']", has_text="Told in words only: Vocal.").wait_for(timeout=PATIENCE)


async def test_what_is_typed_while_the_hub_answers_stays(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        link = Link()
        drums = await stage.sit("Drums", stage.hub.settings.codes.md, link)
        form = drums.page
        await form.keyboard.press("f")
        first, until = (form.locator(f"[data-field={field}]") for field in ("first", "until"))
        link.holds = True
        await first.fill("C")
        await until.fill("D")
        await form.click("[data-do=cut]")
        await first.fill("E")
        await until.fill("F")
        link.release()
        await form.locator("[data-edit]", has_text="Cut C to D").wait_for(timeout=PATIENCE)
        await form.click("[data-do=cut]")
        await form.locator("[data-edit]", has_text="Cut E to F").wait_for(timeout=PATIENCE)
        await form.wait_for_function("document.querySelector('[data-field=first]').value === ''")


async def test_a_stand_to_which_the_cue_comes_late_shows_only_how_things_stand(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        link = Link()
        trumpet, _, drums = await _form_of_the_ferry(stage, link)
        form = drums.page
        await form.click("[data-choice=open]")
        await form.locator("[data-field=first]").fill("E to F")
        await form.click("[data-do=open]")
        await trumpet.page.locator(".thread-line .loop[data-open=true]").first.wait_for(timeout=PATIENCE)
        await trumpet.page.wait_for_selector(".slips:empty", state="attached", timeout=PATIENCE)
        await trumpet.keep_slips()
        link.holds = True
        await form.click("[data-do=cue]")
        await form.locator("[data-do=not-yet]").wait_for(timeout=PATIENCE)
        await link.heard("slip")
        # More than the two seconds after which words for a moment are stale.
        await asyncio.sleep(4)
        link.release()
        await trumpet.page.locator(".thread-line .loop[data-cued=true]").first.wait_for(timeout=PATIENCE)
        assert await trumpet.page.evaluate("window.said") == []
        # What comes in time is said; on a busy machine it may come late, so the stand's clock stands still.
        await trumpet.on_time()
        await form.click("[data-do=not-yet]")
        await trumpet.until_said("Not yet: E to F is still open")
