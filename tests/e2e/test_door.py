"""The Door in a real browser."""

from pathlib import Path

import pytest
from playwright.async_api import Browser

from e2e.stage import PATIENCE, on_stage

pytestmark = pytest.mark.browser


async def test_a_code_is_typed_on_while_the_door_is_drawn_anew(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    """As when the hub, or the browser on whether it keeps the page, answers in the middle of it."""
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        page = await stage.door()
        await page.click("[data-do=role]", timeout=PATIENCE)
        code = stage.hub.settings.codes.leader
        field = page.locator("[data-field=role]")
        await field.click()
        for letter in code:
            await page.keyboard.type(letter)
            await page.evaluate("import('/tablet/app.js').then(({ app }) => app.door.draw())")
        assert await field.input_value() == code
        # In the middle of it, too.
        await page.keyboard.press("ArrowLeft")
        await page.evaluate("import('/tablet/app.js').then(({ app }) => app.door.draw())")
        await page.keyboard.type("x")
        assert await field.input_value() == f"{code[:-1]}x{code[-1]}"
