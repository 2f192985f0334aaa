"""A band on stage: a hub in its own process, and stands in a real browser."""

import asyncio
import contextlib
import json
import os
import re
import shutil
import signal
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.async_api import Browser, Page, WebSocketRoute, async_playwright

from collaparte.store import settings
from collaparte.store.settings import Ports, Settings
from hub.bands import free_port
from hub.processes import start

GLASS = {"width": 768, "height": 1024}
"""A 3:4 tablet in CSS px."""
PATIENCE = 60_000
"""ms that a stand is given on a busy machine before the test says that it hangs; not a measure of speed."""


def find_chromium() -> str:
    """The browser's path; without one the test is skipped, and fails in CI."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        if path := shutil.which(name):
            return path
    words = "no Chromium on this machine: the browser tests are left out (install one to run them)"
    if os.environ.get("CI"):
        pytest.fail(words)
    pytest.skip(words)


def free_ports() -> Ports:
    """Two ports that are free now."""
    return Ports(free_port(), free_port())


def copy_band(master: Path, to: Path) -> Settings:
    """A band folder for one test, on free ports; files by content hash are linked, since they never change."""
    shutil.copytree(master, to, ignore=shutil.ignore_patterns("files", "lock"))
    shutil.copytree(master / "files", to / "files", copy_function=os.link)
    own = settings.load(to / "settings.json")
    changed = Settings(**{**{name: getattr(own, name) for name in own.__struct_fields__}, "ports": free_ports()})
    settings.save(to / "settings.json", changed)
    return changed


class HubProcess:
    """`collaparte serve` as a user starts it."""

    def __init__(self, folder: Path, own: Settings) -> None:
        self.folder = folder
        self.settings = own
        self._process: asyncio.subprocess.Process | None = None

    async def start(self) -> None:
        """Start it and wait until it answers."""
        self._process = await start(self.folder, self.settings)

    async def end(self, how: signal.Signals) -> None:
        """SIGTERM or SIGKILL, and wait until it is gone."""
        if self._process and self._process.returncode is None:
            self._process.send_signal(how)
            try:
                await asyncio.wait_for(self._process.wait(), PATIENCE / 1000)
            except TimeoutError:
                self._process.kill()
                raise AssertionError(f"The hub did not end within {PATIENCE // 1000} s of {how.name}.") from None


class Link:
    """What the hub says to one stand, and what that says: passed on as it comes, or held back as by a bad network.

    Whether the stand is there is asked and answered all the while: the hub lets go of one that does not answer, and how
    long a test holds things back is the machine's affair.
    """

    def __init__(self) -> None:
        self.holds = False
        """What the hub says."""
        self.mute = False
        """What the stand says."""
        self._waiting: list[tuple[WebSocketRoute, str | bytes]] = []
        self._unsaid: list[tuple[WebSocketRoute, str | bytes]] = []

    async def lay(self, page: Page) -> None:
        """Put it between this page and its hub; before the page is opened."""
        await page.route_web_socket(re.compile("^ws"), self._joined)

    def _joined(self, stand: WebSocketRoute) -> None:
        hub = stand.connect_to_server()
        hub.on_message(lambda said: self._pass(stand, said, self._waiting, self.holds))
        stand.on_message(lambda said: self._pass(hub, said, self._unsaid, self.mute))

    def _pass(
        self, to: WebSocketRoute, said: str | bytes, waiting: list[tuple[WebSocketRoute, str | bytes]], holds: bool
    ) -> None:
        if holds and self._type(said) not in ("ping", "pong"):
            waiting.append((to, said))
        else:
            to.send(said)

    def release(self, but: str = "") -> None:
        """All that the hub said comes now, in order; `but` one type of message and what came after it."""
        types = [self._type(said) for _, said in self._waiting]
        late = types.index(but) if but in types else len(types)
        now, self._waiting[:] = self._waiting[:late], self._waiting[late:]
        self.holds = bool(self._waiting)
        for stand, said in now:
            stand.send(said)

    def speak(self) -> None:
        """All that the stand said leaves now."""
        self.mute = False
        for hub, said in self._unsaid:
            hub.send(said)
        self._unsaid.clear()

    def unsaid(self, type_: str) -> list[dict[str, Any]]:
        """The messages of this type among what is held back of the stand's."""
        return [json.loads(said) for _, said in self._unsaid if self._type(said) == type_]

    async def heard(self, type_: str) -> None:
        """Wait until a message of this type is among what is held back of the hub's."""
        await self._among(self._waiting, type_)

    async def asked(self) -> None:
        """Wait until a command is among what is held back of the stand's."""
        await self._among(self._unsaid, "do")

    async def _among(self, waiting: list[tuple[WebSocketRoute, str | bytes]], type_: str) -> None:
        async with asyncio.timeout(PATIENCE / 1000):
            while all(self._type(said) != type_ for _, said in waiting):  # noqa: ASYNC110 - a browser brings them
                await asyncio.sleep(0.02)

    @staticmethod
    def _type(said: str | bytes) -> str:
        return str(json.loads(said)["type"])


@dataclass
class Stand:
    """One tablet: a browser context with the stand's page."""

    page: Page

    async def data(self) -> dict[str, str]:
        """The hooks on the page's body."""
        found: dict[str, str] = await self.page.evaluate("({...document.body.dataset})")
        return found

    async def until(self, **hooks: str) -> None:
        """Wait until the body's hooks are so."""
        wanted = "".join(f"[data-{name}='{value}']" for name, value in hooks.items())
        await self.page.wait_for_selector(f"body{wanted}", timeout=PATIENCE)

    async def call(self, title: str, number: int = 1) -> None:
        """Next, then call, on the leader's own Lead; and back to the page, which `number` of call is on."""
        await self.page.keyboard.press("l")
        await self.page.locator("main.lead [data-tune]", has_text=title).click(timeout=PATIENCE)
        # Another may have been next before: a call that was taken back leaves its tune so.
        await self.page.locator("main.lead [data-is=next]", has_text=title).wait_for(timeout=PATIENCE)
        await self.page.click("[data-do=call]", timeout=PATIENCE)
        await self.until(call=str(number))
        await self.page.keyboard.press("Escape")
        await self.until(screen="stand", glass="shown")

    async def app(self, script: str, argument: object = None) -> Any:
        """Ask the page's own program: `script` is the body of a function of `app` and `argument`."""
        return await self.page.evaluate(
            "async (argument) => { const { app } = await import('/tablet/app.js'); " + script + " }", argument
        )

    async def until_so(self, script: str, argument: object = None) -> None:
        """Wait until the page's own program says so. (Playwright takes the promise of an async predicate for yes.)"""
        async with asyncio.timeout(PATIENCE / 1000):
            while True:
                if await self.app(script, argument):
                    return
                await asyncio.sleep(0.1)

    async def may_take_back(self) -> None:
        """The last call may still be taken back: its five seconds begin anew, however long the test took since."""
        await self.app("app.lead.act.called(app.room.position.call); app.lead.draw();")

    async def keep_slips(self) -> None:
        """Keep what is said at the foot of the page from now on: it leaves by itself, however busy this machine is."""
        await self.app(
            """window.said = [];
            new MutationObserver(() => window.said.push(...[...document.querySelectorAll('.slip')]
              .map((one) => one.textContent))).observe(document.querySelector('.slips'), { childList: true });"""
        )

    async def until_said(self, words: str) -> None:
        """Wait until these were among the words that are kept."""
        await self.until_so("return window.said.some((one) => one.includes(argument));", words)

    async def on_time(self) -> None:
        """Words for a moment come in time from now on, however busy this machine is: no time passes for them here."""
        await self.app("app.clock.forget(); app.clock.now = () => 0;")

    async def settled(self) -> None:
        """Wait until a page is on the glass and everything that the hub told of is here."""
        await self.until_so("return Boolean(app.reader.place?.copy) && app.reader.isOnGlass && app.shelf.complete;")

    async def bars(self) -> list[str]:
        """Numbers and passes ("17/2") of all bars that the newest whole laying of the visible tune shows, in order."""
        found: list[str] = await self.app(
            """const { tune, chair } = app.reader.place;
            const copy = app.reader.shelf.copies(tune, chair).find((one) => one.firstStep === 0);
            const { written } = app.shelf.tune(tune);
            const laying = copy && app.shelf.laying(copy);
            if (!laying) return [];
            // A tune's written order may have come before the laying that follows it.
            const said = (step) => {
              const [, number, pass] = written[copy.order[step]] ?? [];
              return `${number}/${pass}`;
            };
            return laying.pages.flatMap((page) => page.lines).flatMap((line) => line.bars)
              .flatMap(({ steps: [a, z] }) => Array.from({ length: z - a + 1 }, (_, n) => said(a + n)));"""
        )
        return found

    async def visible(self) -> list[str]:
        """The same of the page on the glass."""
        found: list[str] = await self.app(
            """const { place } = app.reader;
            const { written } = app.shelf.tune(place.tune);
            const page = app.shelf.laying(place.copy).pages[place.page];
            const said = (step) => `${written[place.copy.order[step]][1]}/${written[place.copy.order[step]][2]}`;
            return page.lines.flatMap((line) => line.bars)
              .flatMap(({ steps: [a, z] }) => Array.from({ length: z - a + 1 }, (_, n) => said(a + n)));"""
        )
        return found

    async def markings(self) -> dict[str, str]:
        """Bars of the first point of each marking that this stand holds, by id, as numbers."""
        found: dict[str, str] = await self.app(
            """const { written } = app.shelf.tune(app.reader.place.tune);
            const numbers = new Map(written.map((one) => [one[0], one[1]]));
            return Object.fromEntries([...app.session.markings.made.values()]
              .map((one) => [one.id, String(numbers.get(one.what.points[0][0]))]));"""
        )
        return found

    async def glass(self) -> bytes:
        """What the player sees of the page, as PNG; the thread at its foot left out."""
        clip: Any = {"x": 0, "y": 0, "width": GLASS["width"], "height": GLASS["height"] - 50}
        return await self.page.screenshot(clip=clip)


@dataclass
class Stage:
    """A hub and a browser whose stands reach it by its own name."""

    hub: HubProcess
    browser: Browser

    @property
    def address(self) -> str:
        """The hub's one origin: not localhost, hence no secure context, as in the room."""
        return f"http://{self.hub.settings.host}:{self.hub.settings.ports.http}"

    async def door(self, code: str | None = None, link: Link | None = None) -> Page:
        """A new tablet at the Door, behind this link if one is given."""
        context = await self.browser.new_context(viewport=GLASS, has_touch=True)  # type: ignore[arg-type]
        context.set_default_timeout(PATIENCE)
        page = await context.new_page()
        if link:
            await link.lay(page)
        await page.goto(f"{self.address}/#code={self.hub.settings.codes.join if code is None else code}")
        return page

    async def sit(self, chair: str, role: str = "", link: Link | None = None) -> Stand:
        """Two taps from the Door to the music; a role's code is typed where asked for."""
        page = await self.door(link=link)
        await page.get_by_role("button", name=re.compile(f"^{chair},")).click(timeout=PATIENCE)
        if role:
            await page.click("[data-do=role]")
            await page.locator("[data-field=role]").click()
            await page.keyboard.type(role)
        await page.click("[data-do=sit]")
        stand = Stand(page)
        await stand.until(screen="stand", link="joined", glass="shown")
        # Told everything, so that no screen is drawn anew under a finger by what still comes.
        await stand.until_so("return app.session.self.seq > 0;")
        # What it asks may be answered late, as this machine has other work; on stage it gives up after two seconds.
        await stand.app(
            """const { outbox } = app.session;
            const { after } = outbox.to.clock;
            outbox.to.clock = { ...outbox.to.clock, after: (ms, then) => after(argument, then) };""",
            PATIENCE,
        )
        return stand


def browser_arguments(own: Settings) -> list[str]:
    """For Chromium, to which the hub's name shall be this machine."""
    return [
        f"--host-resolver-rules=MAP {own.host} 127.0.0.1",
        *("--disable-background-networking", "--disable-component-update", "--disable-quic", "--no-first-run"),
    ]


@contextlib.asynccontextmanager
async def browser_for(own: Settings, *more: str) -> AsyncIterator[Browser]:
    """Chromium for which the hub's name is this machine; with `more` arguments."""
    async with async_playwright() as play:
        arguments = [*browser_arguments(own), *more]
        browser = await play.chromium.launch(executable_path=find_chromium(), args=arguments)
        try:
            yield browser
        finally:
            await browser.close()


@contextlib.asynccontextmanager
async def on_stage(master: Path, folder: Path, browser: Browser) -> AsyncIterator[Stage]:
    """A stage with a band folder of its own, whose tablets are contexts of this browser, closed in the end."""
    own = await asyncio.to_thread(copy_band, master, folder)
    hub = HubProcess(folder, own)
    await hub.start()
    try:
        yield Stage(hub, browser)
    finally:
        try:
            async with asyncio.timeout(PATIENCE / 1000):
                await asyncio.gather(*(context.close() for context in browser.contexts))
        finally:
            await hub.end(signal.SIGTERM)
