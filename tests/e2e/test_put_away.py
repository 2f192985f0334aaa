"""A tablet that is put away right after a turn comes back on the page that was turned to."""

from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import Stand, on_stage

pytestmark = pytest.mark.browser

_NO_FRAMES = """globalThis.requestAnimationFrame = () => 0; globalThis.requestIdleCallback = () => 0;"""
"""As a browser does to a page that is not shown: it gets no frame (HTML, "update the rendering": hidden documents have
no rendering opportunities)."""


async def until_stored(stand: Stand, page: int) -> None:
    """Wait until this page is what the tablet would open at."""
    await stand.until_so("return (await app.store.get('self', 'here'))?.place?.page === argument;", page)


@pytest.mark.parametrize("how", ["hidden", "left"])
async def test_put_away_before_a_frame_came(how: str, demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    """Hidden and, for all it knows, never shown again; or left: the place is stored then, not with a later frame."""
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        stand = await stage.sit("Alto 1")
        await stand.settled()
        await until_stored(stand, 0)
        await stand.page.evaluate(_NO_FRAMES)
        await stand.page.keyboard.press("PageDown")
        # What a turn says of itself waits for a frame, so the page's own word is asked.
        assert await stand.app("return app.reader.place.page;") == 1
        # A browser without a window never hides a page, and one that is left tells no more: the events are given to it.
        await stand.page.evaluate(
            """(how) => {
              if (how === 'left') return dispatchEvent(new PageTransitionEvent('pagehide'));
              Object.defineProperty(document, 'visibilityState', { value: 'hidden', configurable: true });
              return document.dispatchEvent(new Event('visibilitychange'));
            }""",
            how,
        )
        await until_stored(stand, 1)
        await stand.page.reload()
        await stand.until(screen="stand", glass="shown", page="1")


async def test_another_chair_begins_where_the_band_is(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    """Left right after sitting down elsewhere, it does not open on the page of the chair before."""
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        stand = await stage.sit("Alto 1")
        await stand.settled()
        await stand.page.keyboard.press("PageDown")
        await stand.until(page="1", glass="shown")
        await until_stored(stand, 1)
        await stand.page.evaluate(_NO_FRAMES)
        await stand.app(
            """const chairs = app.room.band.sections.flatMap((one) => one.chairs);
            app.sit([chairs.find((one) => one.name === 'Tenor').id], '');"""
        )
        await stand.until_so("return (await app.store.get('self', 'here')).place === null;")
        await stand.page.reload()
        await stand.until(screen="stand", glass="shown", page="0")


async def test_the_foot_stays_as_it_is_when_others_are_told_of(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    """How the band fares is told to those who lead and is shown on other screens: nothing here is written anew."""
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        leader = await stage.sit("Bass", stage.hub.settings.codes.leader)
        await leader.settled()
        await leader.until_so("return app.room.presence.stands.length > 0;")
        written = await leader.app(
            """const observer = new MutationObserver(() => {});
            observer.observe(document.body, { attributes: true, childList: true, subtree: true });
            return [app.room.presence, app.room.set].map((view) => {
              app.hearing.hear({ ...view });
              return observer.takeRecords().length;
            });"""
        )
        assert written[0] == 0 < written[1], "and that of the set is seen to be"
