"""A tablet on its side shows the upright page, whole and in the middle."""

import os
from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import on_stage
from e2e.test_on_stage import FERRY, everyone

SIDEWAYS = {"width": 1180, "height": 820}


async def test_a_tablet_on_its_side_shows_the_upright_page_in_the_middle(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        piano = await stage.sit("Piano")
        leader = await stage.sit("Bass", stage.hub.settings.codes.leader)
        await leader.call(FERRY, 1)
        await everyone([piano, leader], call="1", glass="shown")
        upright = await piano.visible()
        await piano.page.set_viewport_size(SIDEWAYS)
        await piano.until_so("return app.shape.left > 0 && app.reader.isOnGlass;")
        await piano.until(glass="shown")
        if folder := os.environ.get("COLLAPARTE_PICTURES"):
            await piano.page.screenshot(path=f"{folder}/sideways.png")
        box = await piano.page.evaluate(
            """() => { const leaf = [...document.querySelectorAll('.leaf')]
                .find((one) => getComputedStyle(one).opacity === '1');
              const { x, y, width, height } = leaf.getBoundingClientRect(); return { x, y, width, height }; }"""
        )
        assert box["height"] > box["width"], "upright"
        assert box["x"] + box["width"] / 2 == pytest.approx(SIDEWAYS["width"] / 2, abs=1)
        assert box["y"] >= 0 and box["y"] + box["height"] <= SIDEWAYS["height"] + 1, "whole"
        assert (await piano.visible())[0] == upright[0]
