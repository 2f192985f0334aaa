"""The librarian's desk in Chromium: a part sent in, mended by mouse, keyboard and touch, and on a stand."""

import asyncio
from pathlib import Path
from typing import Any

import pymupdf
import pytest
from playwright.async_api import Browser, Locator, Page

from collaparte.demo import BAND
from collaparte.paper.read import read_part
from e2e.stage import PATIENCE, Stage, Stand, on_stage
from hub import sheets_of_music as sheets
from music.musicxml import START, end, score

pytestmark = pytest.mark.browser

MARKS = {1: "A", 9: "B", 17: "C", 25: "D"}


def with_a_line_in_bar_6(pdf: bytes) -> bytes:
    """The part with a stroke across the stave in the middle of bar 6, as of a pencil, that is no barline, and with a
    second note behind it: the reading doubts a bar in which nothing stands."""
    system = read_part(pdf).pages[0].systems[1]
    x, middle = (system.bars[1].x0 + system.bars[1].x1) / 2, (system.bbox[1] + system.bbox[3]) / 2
    document = pymupdf.open(stream=pdf, filetype="pdf")
    document[0].draw_line((x, system.bbox[1]), (x, system.bbox[3]), width=0.8)
    document[0].draw_rect((x + 20, middle, x + 26, middle + system.space), fill=(0, 0, 0), width=0)
    return bytes(document.tobytes())


async def desk_of(stage: Stage, *, touch: bool = False) -> Page:
    """A librarian's tablet with the desk open."""
    context = await stage.browser.new_context(viewport={"width": 1280, "height": 800}, has_touch=touch)
    context.set_default_timeout(PATIENCE)
    page = await context.new_page()
    await page.goto(f"{stage.address}/#code={stage.hub.settings.codes.join}")
    await page.click("[data-do=librarian]", timeout=PATIENCE)
    await page.keyboard.type(stage.hub.settings.codes.librarian)
    await page.click("[data-do=desk]")
    await page.wait_for_selector("body[data-screen=desk]", timeout=PATIENCE)
    return page


async def on_page(page: Page, x: float, y: float) -> tuple[float, float]:
    """A point of the part's page (points) on the screen (CSS px), scrolled into view."""
    found: list[float] = await page.evaluate(
        """([x, y]) => {
          const svg = document.querySelector('.desk-sheet svg');
          const paper = document.querySelector('.desk-paper');
          const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
          paper.scrollTop = y * scale - paper.clientHeight / 2;
          const { left, top } = svg.getBoundingClientRect();
          return [left + x * scale, top + y * scale];
        }""",
        [x, y],
    )
    return found[0], found[1]


async def reading(page: Page) -> Any:
    """What the open part's reading is, as the desk has it."""
    return await page.evaluate("import('/tablet/app.js').then(({ app }) => app.desk.part.part.reading)")


async def settled(page: Page, bars: int) -> None:
    """Wait until the part has so many bars and is laid with them."""
    await page.wait_for_selector(f".desk-part[data-bars='{bars}'][data-mending=false]", timeout=PATIENCE)
    await page.wait_for_selector(f".desk-laid[data-bars='{bars}']", timeout=PATIENCE)


def row(page: Page, name: str, title: str) -> Locator:
    """A part's row."""
    return page.locator(".desk-tune", has_text=title).locator(f"[data-name='{name}']")


async def test_a_part_is_sent_in_mended_and_shown_on_a_stand(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    pdf = await asyncio.to_thread(with_a_line_in_bar_6, sheets.part("Blue Harbour", "Alto 1", 32, MARKS))
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        page = await desk_of(stage)
        errors: list[str] = []
        page.on("pageerror", lambda error: errors.append(str(error)))
        await page.click("[data-drawer=coming]")
        files: list[Any] = [
            {"name": "Blue Harbour Alto 1.pdf", "mimeType": "application/pdf", "buffer": pdf},
            {"name": "notes.pdf", "mimeType": "application/pdf", "buffer": b"Bring sandwiches."},
        ]
        await page.set_input_files("[data-field=files]", files)
        await page.wait_for_selector("[data-became=new]", timeout=PATIENCE)
        why = page.locator("[data-became='not understood'] .why")
        assert "notes.pdf is not a PDF" in (await why.inner_text())

        await page.click("[data-drawer=parts]")
        await row(page, "Alto 1", "Blue Harbour").click(timeout=PATIENCE)
        await settled(page, 33)
        stand = await stage.sit("Alto 1", stage.hub.settings.codes.leader)
        await stand.call("Blue Harbour")
        assert len(await some_bars(stand)) == 33

        # By mouse: the false barline is picked and taken away.
        line = (await reading(page))["pages"][0]["systems"][1]
        middle = (line["bbox"][1] + line["bbox"][3]) / 2
        await page.mouse.click(*await on_page(page, line["barlines"][1]["x"], middle))
        await page.click("[data-picked=barline] [data-do=remove]", timeout=PATIENCE)
        await settled(page, 32)
        # By keyboard: bar 20 is picked with the arrows, B parts it in two.
        line = (await reading(page))["pages"][0]["systems"][4]
        await page.mouse.click(*await on_page(page, line["barlines"][2]["x"], (line["bbox"][1] + line["bbox"][3]) / 2))
        await page.keyboard.press("ArrowRight")
        assert "Bar 20" in await page.locator("[data-picked=bar] h2").inner_text()
        await page.keyboard.press("b")
        await settled(page, 33)
        # Renumbered: the first bar is a pickup.
        line = (await reading(page))["pages"][0]["systems"][0]
        bar = line["bars"][0]
        await page.mouse.click(
            *await on_page(page, (bar["x0"] + bar["x1"]) / 2, (line["bbox"][1] + line["bbox"][3]) / 2)
        )
        await page.locator("[data-field=number]").fill("0")
        await page.click("[data-do=number]")
        await page.wait_for_selector(".desk-part[data-bars='32'][data-mending=false]", timeout=PATIENCE)

        await until_bars(stand, [f"{n}/1" for n in range(33)])
        assert len(await page.locator("[data-correction]").all()) == 3
        await page.locator("[data-correction]").first.locator("[data-do=take-back]").click()
        await until_bars(stand, [f"{n}/1" for n in range(34)])
        assert errors == []


async def test_one_half_of_a_sheet_with_two_copies_is_taken(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    """Two copies beside each other on a sheet, to be cut apart with scissors (common practice); none names a chair."""
    copy = pymupdf.open(next(BAND.rglob("The Lamp You Left On/Trombone.pdf")))
    copy[0].draw_rect(pymupdf.Rect(30, 50, 125, 75), color=None, fill=(1, 1, 1))  # over the name of its chair
    sheet = pymupdf.open()
    page = sheet.new_page(width=1190.6, height=841.9)
    for n in (0, 1):
        page.show_pdf_page(pymupdf.Rect(595.3 * n, 0, 595.3 * (n + 1), 841.9), copy, 0)
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        desk = await desk_of(stage)
        await desk.click("[data-drawer=coming]")
        file: Any = {
            "name": "Blue Harbour - Alto 1.pdf",
            "mimeType": "application/pdf",
            "buffer": bytes(sheet.tobytes()),
        }
        await desk.set_input_files("[data-field=files]", [file])
        # A tune of that title is there, and its Alto 1 has another part.
        await desk.wait_for_selector("[data-became=question]", timeout=PATIENCE)
        await desk.locator("[data-field=told-tune]").fill("Blue Harbour")
        await desk.click("[data-do=answer]")
        await desk.wait_for_selector("[data-became=new]", timeout=PATIENCE)
        await desk.click("[data-drawer=parts]")
        await row(desk, "Alto 1", "Blue Harbour").click(timeout=PATIENCE)
        await desk.wait_for_selector(".desk-part[data-bars='104'][data-mending=false]", timeout=PATIENCE)
        told = desk.locator(".desk-facts .why", has_text="take one half at the desk")
        assert await told.count() == 1
        right = desk.locator("[data-half='2']")
        assert await right.inner_text() == "Take the right half"
        await right.click()
        await settled(desk, 52)
        lines = (await reading(desk))["pages"][0]["systems"]
        assert min(line["bbox"][0] for line in lines) > 595
        assert await desk.locator(".desk-facts .why").count() == 0 and await right.count() == 0
        stand = await stage.sit("Alto 1", stage.hub.settings.codes.leader)
        await stand.call("Blue Harbour")
        assert len(await some_bars(stand)) == 52
        await desk.click("[data-correction] [data-do=take-back]")
        await desk.wait_for_selector(".desk-part[data-bars='104'][data-mending=false]", timeout=PATIENCE)
        assert await desk.locator("[data-half]").count() == 2


async def test_what_most_parts_have_is_taken_with_one_touch_and_back_with_keys(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    """Three parts have the mark C at bar 17, one has not; it is put in, taken back, and put in again by hand."""
    marks = [MARKS, MARKS, MARKS, {n: text for n, text in MARKS.items() if text != "C"}]
    chairs = ("Alto 1", "Alto 2", "Tenor", "Trombone")
    pdfs = [sheets.part("Blue Harbour", chair, 32, own) for chair, own in zip(chairs, marks, strict=True)]
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        page = await desk_of(stage, touch=True)
        await page.click("[data-drawer=coming]")
        files: list[Any] = [
            {"name": f"Blue Harbour {chair}.pdf", "mimeType": "application/pdf", "buffer": pdf}
            for chair, pdf in zip(chairs, pdfs, strict=True)
        ]
        await page.set_input_files("[data-field=files]", files)
        await page.locator("[data-became=new]").nth(3).wait_for(timeout=PATIENCE)
        await page.click("[data-drawer=parts]")
        await row(page, "Trombone", "Blue Harbour").click(timeout=PATIENCE)
        await settled(page, 32)
        told = page.locator(".desk-facts .why", has_text="Trombone has no mark C; the others have it at bar 17.")
        await told.wait_for(timeout=PATIENCE)
        take, show = page.locator("[data-do=take]"), page.locator("[data-do=show]")
        assert await take.inner_text() == "Put in mark C at bar 17"
        assert await in_sight(told) and await in_sight(take) and await in_sight(show)
        # Another librarian has the part open and types; what the first one does comes there and takes nothing away.
        other = await desk_of(stage)
        await row(other, "Trombone", "Blue Harbour").click(timeout=PATIENCE)
        await settled(other, 32)
        await other.locator(".desk-sheet svg").focus()
        await other.keyboard.press("ArrowDown")
        await other.keyboard.press("ArrowRight")
        await other.locator("[data-field=rest]").fill("12")
        await show.tap()
        assert await page.locator("[data-picked=bar] h2").inner_text() == "Bar 17"
        await take.tap()
        await told.wait_for(state="detached", timeout=PATIENCE)
        await settled(page, 32)
        assert [mark["text"] for mark in (await reading(page))["marks"]] == ["A", "B", "C", "D"]
        await other.locator("[data-correction]").wait_for(timeout=PATIENCE)
        assert await other.locator("[data-field=rest]").input_value() == "12"
        await other.close()
        await page.locator(".desk-sheet svg").focus()
        await page.keyboard.press("Control+z")
        await told.wait_for(timeout=PATIENCE)
        # By keyboard: the bar that was shown is still picked.
        for press in ("m", "C", "Enter"):
            await page.keyboard.press(press)
        await told.wait_for(state="detached", timeout=PATIENCE)
        assert [(mark["text"], mark["bar"]) for mark in (await reading(page))["marks"]][2] == ("C", 17)
        await pressed(page, 2, "s", "Enter")
        assert [(sign["kind"], sign["bar"]) for sign in (await reading(page))["signs"]] == [("segno", 17)]
        await to_next(page, "sign")
        await pressed(page, 3, "Shift+ArrowRight")
        await pressed(page, 4, "Delete")
        assert (await reading(page))["signs"] == []
        await to_next(page, "barline")
        before = await barlines(page)
        await pressed(page, 5, "Shift+ArrowRight")
        assert sum(one != other for one, other in zip(before, await barlines(page), strict=True)) == 1
        await pressed(page, 6, "Delete")
        assert (await reading(page))["bars"] == 31
        await to_next(page, "system")
        await pressed(page, 7, "Shift+ArrowDown")
        await pressed(page, 8, "Delete")
        assert (await reading(page))["bars"] < 31
        for left in range(7, -1, -1):
            await pressed(page, left, "Control+z")
        assert (await reading(page))["bars"] == 32


async def barlines(page: Page) -> list[float]:
    """The x of all barlines on the part's first page."""
    systems = (await reading(page))["pages"][0]["systems"]
    return [line["x"] for system in systems for line in system["barlines"]]


async def to_next(page: Page, kind: str) -> None:
    """Go along with the arrow key to the next thing of a kind."""
    for _ in range(20):
        await page.keyboard.press("ArrowRight")
        if await page.locator(f"[data-picked={kind}]").count():
            return
    raise AssertionError(kind)


async def pressed(page: Page, corrections: int, *keys: str) -> None:
    """Press keys; then so many corrections hold."""
    for press in keys:
        await page.keyboard.press(press)
    await page.wait_for_function(
        f"() => document.querySelectorAll('[data-correction]').length === {corrections}", timeout=PATIENCE
    )


async def in_sight(one: Locator) -> bool:
    """Whether it is on the glass without scrolling."""
    found: bool = await one.evaluate(
        """(one) => {
          const { left, top, right, bottom } = one.getBoundingClientRect();
          return left >= 0 && top >= 0 && right <= innerWidth && bottom <= innerHeight;
        }"""
    )
    return found


async def test_a_score_is_chosen_beside_its_parts(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    """The tune's MusicXML has bars 9 to 16 three times, which the part does not show: the stand plays the score's."""
    part = sheets.part("Blue Harbour", "Alto 1", 32, MARKS)
    form = score(32, {9: START}, {16: end("3")})
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        page = await desk_of(stage)
        await page.click("[data-drawer=coming]")
        kinds = await page.get_attribute("[data-field=files]", "accept")
        assert kinds and {".pdf", ".musicxml", ".mxl"} <= set(kinds.split(","))
        files: list[Any] = [
            {"name": "Blue Harbour Alto 1.pdf", "mimeType": "application/pdf", "buffer": part},
            {"name": "Blue Harbour.musicxml", "mimeType": "", "buffer": form},
        ]
        await page.set_input_files("[data-field=files]", files)
        await page.wait_for_selector("[data-became=score]", timeout=PATIENCE)
        assert "32 bars" in await page.locator("[data-became=score]").inner_text()
        await page.wait_for_selector("[data-became=new]", timeout=PATIENCE)
        stand = await stage.sit("Alto 1", stage.hub.settings.codes.leader)
        await stand.call("Blue Harbour")
        eight = range(9, 17)
        order = [f"{n}/1" for n in range(1, 17)] + [f"{n}/{time}" for time in (2, 3) for n in eight]
        thread = await stand.app(
            "return app.shelf.tune(app.reader.place.tune).written.map((step) => `${step[1]}/${step[2]}`);"
        )
        assert thread == order + [f"{n}/1" for n in range(17, 33)]


async def some_bars(stand: Stand) -> list[str]:
    """The bars of the first laying that the stand holds, waited for."""
    async with asyncio.timeout(PATIENCE / 1000):
        while True:
            if got := await stand.bars():
                return got
            await asyncio.sleep(0.1)


async def until_bars(stand: Stand, wanted: list[str]) -> None:
    """Wait until the stand holds a laying of exactly these bars."""
    async with asyncio.timeout(PATIENCE / 1000):
        while (got := await stand.bars()) != wanted:
            assert isinstance(got, list)
            await asyncio.sleep(0.1)


async def test_a_finger_drags_a_barline_and_keys_are_large_enough(
    demo_band: Path, tmp_path: Path, browser: Browser
) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        page = await desk_of(stage, touch=True)
        await row(page, "Tenor", "Half Past the Ferry").click(timeout=PATIENCE)
        await page.wait_for_selector(".desk-laid[data-laying]", timeout=PATIENCE)
        line = (await reading(page))["pages"][0]["systems"][1]
        x, middle = line["barlines"][1]["x"], (line["bbox"][1] + line["bbox"][3]) / 2
        at = await on_page(page, x, middle)
        await page.touchscreen.tap(*at)
        await page.wait_for_selector("[data-picked=barline]", timeout=PATIENCE)
        session = await page.context.new_cdp_session(page)
        for kind, by in (("touchStart", 0), ("touchMove", 8), ("touchMove", 16), ("touchEnd", 16)):
            points = [] if kind == "touchEnd" else [{"x": at[0] + by, "y": at[1]}]
            await session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        await page.wait_for_selector("[data-correction]", timeout=PATIENCE)
        await page.wait_for_selector(".desk-part[data-mending=false]", timeout=PATIENCE)
        moved = (await reading(page))["pages"][0]["systems"][1]["barlines"][1]["x"]
        assert 2 < moved - x < 20
        # A stave that was drawn stays to be seen until it is made a line.
        await page.locator("[data-tool=stave]").tap()
        for kind, by in (("touchStart", 0), ("touchMove", 15), ("touchMove", 30), ("touchEnd", 30)):
            points = [] if kind == "touchEnd" else [{"x": at[0] + 10 * by, "y": at[1] + by}]
            await session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        await page.wait_for_selector("[data-do=one-line]", timeout=PATIENCE)
        assert await page.locator(".desk-sheet rect.dragged").count() == 1
        await page.locator("[data-tool=pick]").tap()
        await page.locator(".desk-sheet rect.dragged").wait_for(state="detached", timeout=PATIENCE)
        for width in (600, 1280):
            await page.set_viewport_size({"width": width, "height": 800})
            small = await page.evaluate(
                """() => [...document.querySelectorAll('.desk button, .desk input')]
                  .filter((one) => one.offsetParent && (one.offsetHeight < 44 || one.offsetWidth < 44))
                  .map((one) => one.outerHTML.slice(0, 80))"""
            )
            assert small == []
            assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")


async def test_chairs_are_added_renamed_and_moved(demo_band: Path, tmp_path: Path, browser: Browser) -> None:
    async with on_stage(demo_band, tmp_path / "band", browser) as stage:
        page = await desk_of(stage)
        await page.click("[data-drawer=chairs]")
        await page.locator("[data-field=new-chair]").fill("Tuba")
        await page.locator("[data-field=new-section]").fill("Brass")
        await page.click("[data-do=add-chair]")
        tuba = page.locator(".desk-chair", has_text="Tuba")
        await tuba.wait_for(timeout=PATIENCE)
        await tuba.locator("[data-do=up]").click()
        await page.wait_for_function(
            """() => [...document.querySelectorAll('[data-section=Brass] .desk-chair .desk-name')]
              .at(-2)?.textContent === 'Tuba'"""
        )
        await tuba.locator("[data-do=rename]").click()
        await page.locator("[data-field=chair-name]").fill("Sousaphone")
        await page.click("[data-do=rename-done]")
        await page.locator(".desk-chair", has_text="Sousaphone").wait_for(timeout=PATIENCE)
        await page.locator("[data-field=new-chair]").fill("Alto 1")
        await page.click("[data-do=add-chair]")
        await page.locator(".desk-news", has_text="There is a chair called Alto 1 already").wait_for(timeout=PATIENCE)
