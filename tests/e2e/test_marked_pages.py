"""Pages with markings: one layer when they are turned to, two while one draws on them; nothing is lost between."""

from pathlib import Path

import numpy as np
import pymupdf
import pytest
from playwright.async_api import Browser

from e2e.stage import Stand, on_stage

pytestmark = pytest.mark.browser

_LAYERS = """const leaf = [...document.querySelectorAll('.leaf')].find((one) => one.style.opacity === '1');
return leaf.querySelectorAll('canvas').length;"""
_ONE_EACH = """return [...document.querySelectorAll('.leaf')]
  .every((leaf) => leaf.querySelectorAll('canvas').length < 2);"""
_STROKE = """const { lines, space } = app.reader.over.mapOf(app.reader.place);
const { x0, y0 } = lines[argument][0];
app.marker.drew(Array.from({ length: 9 }, (_, n) => ({ x: x0 + 3 * n, y: y0 - (n % 2) * space, pressure: 0.7 })));"""
"""A stroke over the line with this number."""


def apart(before: bytes, after: bytes) -> float:
    """The share of pixels whose colour is not nearly the same: the two ways of laying ink on round differently."""
    a, b = (np.frombuffer(pymupdf.Pixmap(png).samples, np.uint8).astype(np.int16) for png in (before, after))
    return float((np.abs(a - b) > 8).mean())


async def turned_away_and_back(stand: Stand) -> None:
    """On to the next page and back again, once the page that was left has been made ready for it."""
    await stand.page.keyboard.press("PageDown")
    await stand.until(page="1", glass="shown")
    await stand.until_so(_ONE_EACH)
    await stand.page.keyboard.press("PageUp")
    await stand.until(page="0", glass="shown")


async def test_a_marked_page_is_turned_to_as_one_layer(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        stand = await stage.sit("Alto 1")
        await stand.settled()
        plain = await stand.glass()
        assert await stand.app(_LAYERS) == 1, "nothing is marked: no second layer"

        await stand.app(_STROKE, 0)
        marked = await stand.glass()
        assert apart(plain, marked) > 0
        await turned_away_and_back(stand)
        assert await stand.app(_LAYERS) == 1
        assert apart(marked, await stand.glass()) == 0

        # Drawn on again while it is seen: what was there stays, and is there after the next turn.
        await stand.app(_STROKE, 1)
        twice = await stand.glass()
        assert apart(marked, twice) > 0
        await turned_away_and_back(stand)
        assert await stand.app(_LAYERS) == 1
        assert apart(twice, await stand.glass()) == 0

        # The later one is taken back, then the other: the page is as it was composed.
        await stand.app("app.marker.undo();")
        assert apart(marked, await stand.glass()) == 0
        await stand.app("app.marker.undo();")
        assert apart(plain, await stand.glass()) == 0
        assert await stand.app(_LAYERS) == 1


async def test_what_is_marked_on_a_page_that_is_not_seen_is_there_when_it_is(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        mine, other = await stage.sit("Alto 1"), await stage.sit("Alto 1")
        for stand in (mine, other):
            await stand.settled()
        plain = await mine.glass()
        await mine.page.keyboard.press("PageDown")
        await mine.until(page="1", glass="shown")
        await other.app(_STROKE, 0)
        marked = await other.glass()
        await mine.until_so("return app.session.markings.made.size === 1;")
        await mine.until_so(_ONE_EACH)
        await mine.page.keyboard.press("PageUp")
        await mine.until(page="0", glass="shown")
        assert await mine.app(_LAYERS) == 1
        assert apart(marked, await mine.glass()) == 0 < apart(plain, marked)
