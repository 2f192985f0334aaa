"""Glass of other shapes, in a real browser: words at the foot are never over music, a cue leaves the thread seen."""

from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import PATIENCE, on_stage

pytestmark = pytest.mark.browser

FERRY = "Half Past the Ferry"
SHAPES = ((768, 1024), (600, 800), (844, 390), (390, 844), (1180, 820))
"""CSS px; tablets upright and on their side, a phone both ways."""

AT_THE_FOOT = """const { copy, page, tune } = app.reader.place;
  const { shape } = app;
  if (!copy || app.shelf.laying(copy)?.page.join() !== shape.page.join()) return null;
  const music = shape.top + app.shelf.laying(copy).pages[page].lines.at(-1).y1 * shape.scale;
  const keys = document.querySelector('.thread-roles').getBoundingClientRect();
  const boxes = [...document.querySelectorAll('.slip')].map((slip) => slip.getBoundingClientRect());
  return { music, beside: shape.left + shape.page[0] * shape.scale, keys: keys.right,
           boxes: boxes.map((box) => [box.top, box.left, box.right, box.bottom]),
           said: [...document.querySelectorAll('.slip')].map((slip) => slip.textContent) };"""


async def test_words_at_the_foot_never_lie_over_music(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        stand = await stage.sit("Trumpet 1", stage.hub.settings.codes.leader)
        said = (
            "C to D is cut",
            "Behind the cut still: cup mute, to flugelhorn, solo, a tempo",
            "Last time: E to F, then F",
        )
        for width, height in SHAPES[1:4]:  # each takes as long as a player is given to read
            await stand.page.set_viewport_size({"width": width, "height": height})
            await stand.page.wait_for_selector(".slips:empty", state="attached", timeout=PATIENCE)
            # The stand hears of its new size a frame later, and then waits for a page of that shape.
            fits = "Math.round(2 * app.shape.left + app.shape.page[0] * app.shape.scale) === argument"
            await stand.until_so(f"return {fits} && Boolean((() => {{ {AT_THE_FOOT} }})());", width)
            await stand.keep_slips()
            for words in said:
                await stand.app("app.stand.slips.say(argument);", words)
            seen = await stand.app(AT_THE_FOOT)
            assert seen["said"][-1] == said[-1], "the newest is said at once"
            for top, left, right, bottom in seen["boxes"]:
                # The thread is 24 px high at least, which a phone's margin may be a hair less than.
                over = top < seen["music"] - 3 and left < seen["beside"]
                assert not over and bottom <= height and seen["keys"] <= left and right <= width
            # All are said, one after the other, the long one in turns.
            while boxes := (seen := await stand.app(AT_THE_FOOT))["boxes"]:
                assert all(top >= seen["music"] - 3 or left >= seen["beside"] for top, left, _, _ in boxes)
                assert all(left >= seen["keys"] for _, left, _, _ in boxes)
                await stand.page.wait_for_timeout(300)
            heard = await stand.page.evaluate("window.said.join(' ')")
            assert all(word in heard for words in said for word in words.split())


async def test_words_about_a_tune_leave_with_it(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        stand = await stage.sit("Trumpet 1")
        said = await stand.app(
            """const said = () => [...document.querySelectorAll('.slip')].map((slip) => slip.textContent);
            const here = app.reader.place.tune;
            const other = app.room.inSet.find(({ tune }) => tune !== here).tune;
            app.hearing.hear({ type: 'slip', tune: here, words: 'Cut D to E', edit: '', chairs: [], at: 0 });
            const before = said();
            app.stand.slips.turnTo(other);
            const after = said();
            app.hearing.hear({ type: 'slip', tune: other, words: 'Cut A to B', edit: '', chairs: [], at: 0 });
            return [before, after, said()];"""
        )
        assert said == [["Cut D to E"], [], ["Ninepenny Waltz: Cut A to B"]]


async def test_a_cue_leaves_the_thread_in_sight(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        codes = stage.hub.settings.codes
        leader = await stage.sit("Bass", codes.leader)
        await leader.call(FERRY)
        director = await stage.sit("Drums", codes.md)
        await director.until(call="1", glass="shown")
        form = director.page
        await form.keyboard.press("f")
        await form.click("[data-choice=open]")
        await form.click("main.form .stretch[data-from=E]")
        await form.click("main.form .stretch[data-from=F]")
        await form.click("[data-do=open]")
        await form.locator("[data-do=cue]").wait_for(timeout=PATIENCE)
        for width, height in SHAPES:
            await form.set_viewport_size({"width": width, "height": height})
            cue = await form.locator("[data-do=cue]").bounding_box()
            thread = await form.locator("main.form .stretch[data-from=E]").bounding_box()
            assert cue and cue["height"] >= 44 and cue["y"] + cue["height"] <= height
            assert thread and thread["y"] + thread["height"] <= height, (
                f"the open stretch is in sight at {width} x {height}"
            )
        # Who plays next is behind a key, and said on it and on the thread.
        await form.click("[data-do=players]")
        await form.locator("[data-player]", has_text="Alto 2").click()
        await form.locator("[data-do=players]", has_text="Plays next: Alto 2").wait_for(timeout=PATIENCE)


async def test_the_librarians_rows_are_whole_on_a_phone(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        stand = await stage.sit("Alto 1", stage.hub.settings.codes.librarian)
        await stand.page.set_viewport_size({"width": 390, "height": 844})
        await stand.app("app.show('desk');")
        await stand.page.locator(".desk-line").first.wait_for(timeout=PATIENCE)
        over = await stand.page.evaluate(
            """() => [...document.querySelectorAll('.desk-line, .desk-heads, .desk-tune > header')].flatMap((line) => {
              // What is written, not the cell that it is written in.
              const boxes = [...line.children].map((one) => {
                const range = document.createRange();
                range.selectNodeContents(one);
                return [one.textContent, range.getBoundingClientRect()];
              }).filter(([, box]) => box.width > 0);
              const beside = boxes.some(([, box]) => box.left < 0 || box.right > innerWidth);
              const meet = boxes.some(([, a], n) => boxes.slice(n + 1).some(([, b]) =>
                a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom));
              return beside || meet ? [line.textContent] : [];
            })"""
        )
        assert over == []
