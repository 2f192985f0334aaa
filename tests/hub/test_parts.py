"""What each stand is given of each tune: real parts, brought in, laid by worker processes, fetched over HTTP."""

import asyncio
import shutil
from pathlib import Path

import httpx
import msgspec
import pytest

from collaparte.cli import bring
from collaparte.demo import BAND
from collaparte.hub.gathering import gather
from collaparte.hub.incoming import Told
from collaparte.hub.serving import Hub, serve
from collaparte.paper.pages.laying import Laying, Pieces
from collaparte.wire.commands import Call, MakeCut, TakeBackEdit
from collaparte.wire.messages import Shown, Sorry
from collaparte.wire.views import PartView
from collaparte_client import Band
from hub.bands import HANGS, WAITS, Raw, address, free_port, hello, joined, raw

PAGE = (148.0, 197.0)


def on_page(band: Band, tune: str) -> list[int]:
    """Positions in the written order of the bars that stand on the page, where nothing is played more often."""
    view = band.tunes[tune]
    ranges = [*view.cut, *((fold.first, fold.last) for fold in view.folds)]
    out = {n for first, last in ranges for n in range(first, last + 1)}
    return [n for n in range(len(view.written)) if n not in out]


async def part(band: Band, tune: str, chair: str, revision: int = 0, *, tail: bool = False) -> PartView:
    """Wait for a chair's part of a tune."""
    async with asyncio.timeout(HANGS):
        async for view in band:
            if (
                isinstance(view, PartView)
                and (view.tune, view.chair, view.revision) == (tune, chair, revision)
                and (view.first_step > 0) == tail
                and (view.laying or not view.part)
            ):
                return view
    raise AssertionError("the hub went away")


async def laying(hub: Hub, view: PartView) -> Laying:
    """A laying over HTTP; the pictures of its pieces are there, too."""
    async with httpx.AsyncClient(base_url=f"http://{address(hub)}", trust_env=False) as client:
        pieces = msgspec.json.decode((await client.get(f"/pieces/{view.pieces}")).content, type=Pieces)
        sheet = await client.get(f"/sheet/{pieces.sheets[0][0]}")
        assert sheet.headers["content-type"].startswith("image/")
        return msgspec.json.decode((await client.get(f"/laying/{view.laying}")).content, type=Laying)


def steps_of(laid: Laying) -> list[int]:
    """The steps that a laying shows, in order."""
    bars = [bar for page in laid.pages for line in page.lines for bar in line.bars]
    return sorted({step for bar in bars for step in range(bar.steps[0], bar.steps[1] + 1)})


@pytest.fixture(scope="module")
def brought(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A band folder with three parts of a tune and one of another that is shown as printed."""
    folder = tmp_path_factory.mktemp("brought") / "band"
    files = sorted(path for path in BAND.rglob("*.pdf") if "1st Alto" in path.name or "Drums" in path.name)[:2]
    files += list(BAND.rglob("*Vocal*.pdf"))
    asyncio.run(bring.run(folder, gather(files), Told(take=True), "Night Owls", ask=False, json=True))
    return folder


@pytest.fixture
def folder(brought: Path, tmp_path: Path) -> Path:
    """A copy of it for one test."""
    return Path(shutil.copytree(brought, tmp_path / "band"))


def chairs_of(band: Band) -> dict[str, str]:
    return {chair.name: chair.id for section in band.band.sections for chair in section.chairs}


async def test_a_part_is_laid_whole_on_the_stands_own_page(folder: Path) -> None:
    async with serve(folder, port=free_port(), announced=False, patience=WAITS, workers=2) as hub:
        async with joined(hub) as door:
            chairs = chairs_of(door)
        async with joined(hub, chairs["Alto 1"], page=PAGE) as stand:
            tune = stand.set.tunes[0].tune
            view = await part(stand, tune, chairs["Alto 1"])
            laid = await laying(hub, view)
            assert laid.page == PAGE
            assert laid.stave == 7.0
            assert steps_of(laid) == list(range(len(on_page(stand, tune))))
            # Bars 9 to 16 are repeated, 15 and 16 as a first ending (demo/truth): they stand between their signs.
            folds = [(fold.first, fold.last, fold.by) for fold in stand.tunes[tune].folds]
            assert folds == [(16, 21, 8)]
            async with httpx.AsyncClient(base_url=f"http://{address(hub)}", trust_env=False) as client:
                printed = await client.get(f"/printed/{view.version}/0?wide=600")
                assert printed.headers["content-type"] == "image/png"
                assert int.from_bytes(printed.content[16:20]) == 600, "a PNG's width (ISO/IEC 15948, 11.2.2)"
                beyond = [f"/printed/{view.version}/99", "/printed/0000/0", f"/printed/{view.version}/0?wide=x"]
                assert [(await client.get(path)).status_code for path in beyond] == [404, 404, 400]
        async with joined(hub, chairs["Alto 1"], page=(200.0, 260.0)) as large:
            other = await part(large, tune, chairs["Alto 1"])
            assert len((await laying(hub, other)).pages) <= len(laid.pages)
        async with joined(hub, chairs["Alto 1"], page=PAGE) as again:
            assert (await part(again, tune, chairs["Alto 1"])).laying == view.laying


async def test_a_cut_lays_what_follows_the_visible_page_and_leaves_that_page(folder: Path) -> None:
    async with serve(folder, port=free_port(), announced=False, patience=WAITS, workers=2) as hub:
        async with joined(hub) as door:
            alto, drums = (chairs_of(door)[name] for name in ("Alto 1", "Drums"))
        async with (
            joined(hub, alto, roles=["leader", "md"], page=PAGE) as md,
            joined(hub, drums, page=PAGE) as drummer,
        ):
            tune = next(row.tune for row in md.set.tunes if md.tunes[row.tune].written)
            await md.do(Call(tune))
            before = await laying(hub, await part(md, tune, alto))
            whole = on_page(md, tune)
            next_step = before.pages[0].lines[-1].bars[-1].steps[1] + 1
            await md.show(Shown("glass", alto, 1, tune, 0, 0, next_step))
            marks = [step.mark for step in md.tunes[tune].written if step.mark]
            first = next(mark for mark in marks if marks.count(mark) == 1)
            until = marks[marks.index(first) + 1]
            await md.do(MakeCut("cut", tune, first, until))

            tail = await part(md, tune, alto, 1, tail=True)
            now = on_page(md, tune)
            # Nothing is cut before the page's end here, so the tail starts with the bar that comes after it.
            assert now[tail.first_step] == whole[next_step]
            assert steps_of(await laying(hub, tail)) == list(range(next_step, len(now)))
            assert steps_of(await laying(hub, await part(md, tune, alto, 1))) == list(range(len(now)))
            # The drummer's stand told of no page, so it gets the tune from the top only.
            from_top = await part(drummer, tune, drums, 1)
            assert steps_of(await laying(hub, from_top)) == list(range(len(now)))

            await md.do(TakeBackEdit("cut"))
            back = await laying(hub, await part(md, tune, alto, 2))
            assert back == before


async def test_a_page_turned_meanwhile_moves_the_tail_on(folder: Path) -> None:
    async with serve(folder, port=free_port(), announced=False, patience=WAITS, workers=2) as hub:
        async with joined(hub) as door:
            alto = chairs_of(door)["Alto 1"]
        async with joined(hub, alto, roles=["leader", "md"], page=PAGE) as md:
            tune = next(row.tune for row in md.set.tunes if md.tunes[row.tune].written)
            await md.do(Call(tune))
            whole = on_page(md, tune)
            await md.show(Shown("glass", alto, 1, tune, 0, 0, 10))
            marks = [step.mark for step in md.tunes[tune].written if step.mark]
            await md.do(MakeCut("cut", tune, marks[-2], marks[-1]))
            first = (await part(md, tune, alto, 1, tail=True)).first_step
            now = on_page(md, tune)
            assert first == len([n for n in now if n < whole[10]])
            await md.show(Shown("glass", alto, 1, tune, 0, 1, 40))
            async with asyncio.timeout(HANGS):
                async for view in md:
                    if isinstance(view, PartView) and view.first_step > first:
                        break
            assert view.first_step == len([n for n in now if n < whole[40]])


async def test_a_part_as_printed_is_shown_so_and_tacet_is_told(folder: Path) -> None:
    async with serve(folder, port=free_port(), announced=False, patience=WAITS, workers=2) as hub:
        async with joined(hub) as door:
            alto, vocal = (chairs_of(door)[name] for name in ("Alto 1", "Vocal"))
        async with joined(hub, alto, vocal, page=PAGE) as stand:
            ballad = next(row.tune for row in stand.set.tunes if not stand.tunes[row.tune].written)
            view = await part(stand, ballad, vocal)
            assert view.as_printed
            assert (await laying(hub, view)).as_printed
            tacet = await part(stand, ballad, alto)
            assert (tacet.part, tacet.laying) == ("", "")


async def test_without_a_page_nothing_is_laid(folder: Path) -> None:
    async with serve(folder, port=free_port(), announced=False, patience=WAITS, workers=1) as hub:
        async with joined(hub) as door:
            alto = chairs_of(door)["Alto 1"]
        async with joined(hub, alto) as listener, joined(hub, alto, page=PAGE) as stand:
            await part(stand, stand.set.tunes[0].tune, alto)
            assert listener.parts == {}


async def test_one_that_comes_back_to_a_restarted_hub_after_a_cut_keeps_its_page(folder: Path) -> None:
    port = free_port()
    async with serve(folder, port=port, announced=False, patience=WAITS, workers=1) as hub, joined(hub) as door:
        alto = chairs_of(door)["Alto 1"]
        tune = next(row.tune for row in door.set.tunes if door.tunes[row.tune].written)
    async with serve(folder, port=port, announced=False, patience=WAITS, workers=1) as hub:
        async with joined(hub, roles=["leader", "md"]) as md:
            await md.do(Call(tune))
            whole = on_page(md, tune)
            marks = [step.mark for step in md.tunes[tune].written if step.mark]
            await md.do(MakeCut("cut", tune, marks[-2], marks[-1]))
        async with joined(hub, alto, page=PAGE) as stand:
            await stand.show(Shown("glass", alto, 1, tune, 0, 0, 20))
            tail = await part(stand, tune, alto, 1, tail=True)
            assert tail.first_step == len([n for n in on_page(stand, tune) if n < whole[20]])


async def laid_parts(stand: Raw, many: int) -> list[PartView]:
    """The next so many views of parts that have a laying, as they come."""
    found: list[PartView] = []
    async with asyncio.timeout(HANGS):
        while len(found) < many:
            message = await stand.hear()
            if isinstance(message, PartView) and message.laying:
                found.append(message)
    return found


async def test_the_steps_next_to_the_chosen_stave_are_laid_after_everything_else(folder: Path) -> None:
    async with serve(folder, port=free_port(), announced=False, patience=WAITS, workers=1) as hub:
        async with joined(hub) as door:
            chairs = [chairs_of(door)[name] for name in ("Alto 1", "Drums")]
        async with raw(hub) as stand:
            await stand.say(hello(hub, *chairs, page=PAGE, stave=8.0, ahead=(7.0, 8.0, 9.0)))
            views = await laid_parts(stand, 6)
            # One worker lays them in their order: for both chairs at the chosen height, then what might be chosen.
            assert [view.stave for view in views[:2]] == [8.0, 8.0]
            assert sorted(view.stave for view in views[2:]) == [7.0, 7.0, 9.0, 9.0]
            for view in views:
                laid = await laying(hub, view)
                assert laid.stave == view.stave
                assert steps_of(laid) == steps_of(await laying(hub, views[0]))
            pages = {view.stave: len((await laying(hub, view)).pages) for view in views if view.chair == chairs[0]}
            assert pages[7.0] <= pages[8.0] <= pages[9.0]


async def test_ahead_is_laid_anew_after_a_cut_once_the_chosen_stave_is(folder: Path) -> None:
    async with serve(folder, port=free_port(), announced=False, patience=WAITS, workers=1) as hub:
        async with joined(hub) as door:
            alto = chairs_of(door)["Alto 1"]
        async with joined(hub, roles=["leader", "md"]) as md, raw(hub) as stand:
            tune = next(row.tune for row in md.set.tunes if md.tunes[row.tune].written)
            await stand.say(hello(hub, alto, page=PAGE, ahead=(6.0, 8.0)))
            await laid_parts(stand, 3)
            await md.do(Call(tune))
            await stand.say(Shown("glass", alto, 1, tune, 0, 0, 20))
            marks = [step.mark for step in md.tunes[tune].written if step.mark]
            await md.do(MakeCut("cut", tune, marks[-2], marks[-1]))
            views = await laid_parts(stand, 4)
            assert {view.revision for view in views} == {1}
            # The tail behind the visible page and the whole at the chosen height; of the others the whole only.
            assert [(view.stave, view.first_step > 0) for view in views[:2]] == [(7.0, True), (7.0, False)]
            assert sorted((view.stave, view.first_step) for view in views[2:]) == [(6.0, 0), (8.0, 0)]


async def test_stave_heights_that_nobody_reads_are_not_laid_ahead(folder: Path) -> None:
    async with serve(folder, port=free_port(), announced=False, patience=WAITS, workers=1) as hub:
        for ahead in ((0.5,), tuple(6.0 + n / 8 for n in range(9))):
            async with raw(hub) as stand:
                await stand.say(hello(hub, page=PAGE, ahead=ahead))
                assert (await stand.until(Sorry)).why.endswith(".")
