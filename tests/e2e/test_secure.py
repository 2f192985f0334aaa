"""Stands on the secure page: they come up with the hub dead; without trust, nothing is silent."""

import asyncio
import contextlib
import os
import re
import signal
import subprocess
import sys
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.async_api import BrowserContext, Error, Page, async_playwright

from collaparte.hub.certificates import Root
from collaparte.store.folder import settings_of
from collaparte.store.settings import Ports, Settings
from collaparte_client import join
from e2e import trusting
from e2e.stage import GLASS, PATIENCE, HubProcess, Stand, browser_arguments, copy_band, find_chromium
from e2e.test_on_stage import changed, draw, ink
from hub.bands import certify

pytestmark = pytest.mark.browser


@dataclass
class Room:
    """A hub with a certificate, and one tablet's browser, which may be closed and opened again."""

    hub: HubProcess
    root: Root
    ports: Ports
    folder: Path

    @property
    def plain(self) -> str:
        """The hub's plain origin, by its name."""
        return f"http://{self.hub.settings.host}:{self.hub.settings.ports.http}"

    @property
    def secure(self) -> str:
        """Its secure one."""
        return f"https://{self.hub.settings.host}:{self.ports.http}"

    def trusting(self) -> Path:
        """A home folder whose browsers trust the root."""
        home, der = self.folder / "trusting", self.folder / "root.der"
        if not home.exists():
            der.write_bytes(self.root.der)
            subprocess.run([sys.executable, trusting.__file__, str(home), str(der)], check=True)
        return home

    def wary(self) -> Path:
        """One whose browsers do not."""
        (home := self.folder / "wary").mkdir(exist_ok=True)
        return home

    @contextlib.asynccontextmanager
    async def tablet(self, home: Path, **how: bool) -> AsyncIterator[BrowserContext]:
        """The tablet's browser, opened with all that it kept."""
        async with async_playwright() as play:
            context = await play.chromium.launch_persistent_context(
                self.folder / "profile",
                executable_path=find_chromium(),
                args=browser_arguments(self.hub.settings),
                env={**os.environ, "HOME": str(home)},
                viewport=GLASS,  # type: ignore[arg-type]
                has_touch=True,
                **how,  # type: ignore[arg-type]
            )
            context.set_default_timeout(PATIENCE)
            try:
                yield context
            finally:
                await context.close()

    async def door(self, context: BrowserContext) -> Page:
        """The plain Door, with the code."""
        page = await context.new_page()
        await page.goto(f"{self.plain}/#code={self.hub.settings.codes.join}")
        return page


@pytest.fixture
async def room(demo_band: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Room]:
    find_chromium()
    if trusting.LIBRARY is None:
        pytest.skip("no NSS on this machine: how Chromium trusts a root here cannot be set up by a test")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    folder = tmp_path / "band"

    def made() -> tuple[Settings, Root, Ports]:
        copy_band(demo_band, folder)
        root = certify(folder)
        own = settings_of(folder)
        assert own.secure is not None
        return own, root, own.secure

    own, root, ports = await asyncio.to_thread(made)
    hub = HubProcess(folder, own)
    await hub.start()
    try:
        yield Room(hub, root, ports, tmp_path)
    finally:
        await hub.end(signal.SIGTERM)


async def sit(page: Page, chair: str) -> Stand:
    await page.get_by_role("button", name=re.compile(f"^{chair},")).click(timeout=PATIENCE)
    await page.click("[data-do=sit]")
    stand = Stand(page)
    await stand.until(screen="stand", link="joined")
    await stand.until_so(
        """const { missing, tunes } = app.shelf.storedOf(app.room.inSet, app.session.self.chairs);
        return missing === 0 && tunes > 0;"""
    )
    await stand.until(glass="shown", complete="true", stored="true")
    return stand


async def waiting(stand: Stand) -> int:
    count: int = await stand.app("return app.session.outbox.waiting.length;")
    return count


async def test_a_stand_comes_up_with_the_hub_dead(room: Room) -> None:
    home = await asyncio.to_thread(room.trusting)
    async with room.tablet(home) as browser:
        page = await room.door(browser)
        # Trusted, the secure page is taken by itself; the code comes along.
        await page.wait_for_url(f"{room.secure}/", timeout=PATIENCE)
        assert await page.evaluate("isSecureContext") is True
        await page.locator("[data-keeping=kept]").wait_for(timeout=PATIENCE)
        stand = await sit(page, "Alto 1")
        await stand.until(kept="true")
        before = await stand.glass()
        assert 0.01 < ink(before) < 0.3
        at = await stand.data()

        await room.hub.end(signal.SIGKILL)
        await page.reload()
        await stand.until(screen="stand", glass="shown", tune=at["tune"], page=at["page"], link="away")
        assert changed(before, await stand.glass()) == 0
        await page.keyboard.press("PageDown")
        await stand.until(page="1", glass="shown")
        await draw(stand, "section", 300, 480)
        (mark,) = await stand.markings()
        marked = await stand.glass()
        assert changed(before, marked) > 0.005

    # The browser is closed and opened again, hours later maybe; still no hub.
    async with room.tablet(home) as browser:
        page = await browser.new_page()
        await page.goto(f"{room.secure}/")
        stand = Stand(page)
        await stand.until(screen="stand", glass="shown", tune=at["tune"])
        if (await stand.data())["page"] == "0":  # where it was is kept in a lull, and the browser was closed
            await page.keyboard.press("PageDown")
        await stand.until(page="1", glass="shown")
        assert changed(marked, await stand.glass()) == 0, "the music and the marking are as they were"
        assert await waiting(stand) == 1

        await room.hub.start()
        await stand.until(link="joined")
        await stand.until_so("return app.session.outbox.waiting.length === 0;")
        der = room.folder / "root.der"
        async with join(
            f"https://localhost:{room.ports.http}", room.hub.settings.codes.join, chairs=(at["chair"],), trust=der
        ) as band:
            assert mark in band.markings


async def test_untrusted_nothing_falls_back_silently(room: Room) -> None:
    home = await asyncio.to_thread(room.wary)
    async with room.tablet(home) as browser:
        page = await room.door(browser)
        offer = page.locator("[data-keeping=offered] a")
        await offer.wait_for(timeout=PATIENCE)
        with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
            await (await browser.new_page()).goto(f"{room.secure}/")
        # Plain http goes on, as without a certificate.
        assert page.url == f"{room.plain}/"
        stand = await sit(page, "Alto 1")
        assert (await stand.data())["kept"] == "null"
        guide = await room.door(browser)
        await guide.goto(f"{room.plain}/trust")
        async with guide.expect_download() as coming:
            await guide.click("a[download]")
        got = await (await coming.value).path()
        assert await asyncio.to_thread(got.read_bytes) == room.root.der

    # Clicked through, the page calls itself secure; the browser keeps nothing of it all the same, and that is said.
    async with room.tablet(home, ignore_https_errors=True) as browser:
        page = await browser.new_page()
        await page.goto(f"{room.secure}/#code={room.hub.settings.codes.join}")
        assert await page.evaluate("isSecureContext") is True
        await page.locator("[data-keeping=refused] a").wait_for(timeout=PATIENCE)
        stand = await sit(page, "Alto 1")
        await stand.until(kept="false")
        await page.get_by_role("button", name="This browser does not keep this page").wait_for(timeout=PATIENCE)


async def test_a_tablet_whose_clock_is_years_behind_is_told(room: Room) -> None:
    async with room.tablet(await asyncio.to_thread(room.wary)) as browser:
        page = await browser.new_page()
        await page.clock.set_system_time("2019-05-01T12:00:00")
        await page.goto(f"{room.plain}/#code={room.hub.settings.codes.join}")
        said = page.locator("[data-keeping=clock]")
        await said.wait_for(timeout=PATIENCE)
        assert "2019" in await said.inner_text()


async def test_what_waits_on_the_plain_page_is_delivered_before_it_goes_over(room: Room) -> None:
    """A stand of before the certificate: marked while the hub was dead, its tablet trusts the certificate since."""
    async with room.tablet(await asyncio.to_thread(room.wary)) as browser:
        stand = await sit(await room.door(browser), "Alto 1")
        await room.hub.end(signal.SIGKILL)
        await stand.until(link="away")
        await draw(stand, "mine", 300, 480)
        (mark,) = await stand.markings()
        assert await waiting(stand) == 1
    await room.hub.start()
    async with room.tablet(await asyncio.to_thread(room.trusting)) as browser:
        page = await browser.new_page()
        await page.goto(f"{room.plain}/")
        stand = Stand(page)
        # Whoever sits is left where they are.
        await stand.until(screen="stand", link="joined")
        await stand.until_so("return app.session.outbox.waiting.length === 0;")
        assert page.url == f"{room.plain}/"
        await stand.app("app.stand.to.leave();")
        await page.wait_for_url(f"{room.secure}/", timeout=PATIENCE)
        over_there = await sit(page, "Alto 1")
        assert list(await over_there.markings()) == [mark]
