"""The desk over real sockets: files sent in, questions answered, readings corrected, and what reaches the stands."""

import asyncio
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any

import httpx
import msgspec
import pymupdf
import pytest

import scanning
import second_engraving
from collaparte.hub.desk import Desk, NotTaken
from collaparte.hub.limits import Limits
from collaparte.hub.serving import Hub, serve
from collaparte.hub.workers import Pool
from collaparte.hub.writer import Writer
from collaparte.paper.confirmed import PROVEN
from collaparte.paper.pages.laying import Laying
from collaparte.store.files import Files
from collaparte.store.log import Log
from collaparte.wire.commands import Call, Correct, MakeMarking, NameBand, TakeBackCorrection
from collaparte.wire.corrections import (
    BarlineHere,
    Correction,
    LineIsRight,
    MarkHere,
    NoBarline,
    Place,
    RestHere,
    Said,
)
from collaparte.wire.markings import Ink, Marking, Point
from collaparte.wire.views import DeskView, PartView, TuneView
from collaparte_client import Band, Refused
from hub import sheets_of_music as sheets
from hub.bands import HANGS, WAITS, hello, joined, make_band, raw, served

MARKS = {1: "A", 9: "B", 17: "C", 25: "D"}
EMPTY = [NameBand("Night Owls")]


class Librarian:
    """The desk as the librarian's tablet sees it."""

    def __init__(self, hub: Hub, http: httpx.AsyncClient, band: Band) -> None:
        self.hub, self.http, self.band = hub, http, band
        self.corrections = 0

    async def get(self, path: str) -> Any:
        answer = await self.http.get(path)
        assert answer.status_code == 200, answer.text
        return answer.json()

    async def send(self, name: str, pdf: bytes, folders: str = "") -> str:
        answer = await self.http.post("/desk/file", params={"name": name, "folders": folders}, content=pdf)
        assert answer.status_code == 200, answer.text
        return str(answer.json()["id"])

    async def bring(self, *ids: str, **told: Any) -> DeskView:
        answer = await self.http.post("/desk/bring", json={"files": ids, **told})
        assert answer.status_code == 200, answer.text
        return await self.until(lambda view: not any(row.became.startswith(("being", "wait")) for row in view.came))

    async def until(self, so: Callable[[DeskView], bool]) -> DeskView:
        """Wait for the desk's view to be so."""
        async with asyncio.timeout(HANGS):
            async for view in self.band:
                if isinstance(view, DeskView) and so(view):
                    return view
        raise AssertionError

    async def the_part(self) -> Any:
        (tune,) = await self.get("/desk/library")
        return await self.get(f"/desk/part/{tune['tune']}/{tune['parts'][0]['part']}")

    async def correct(self, part: Any, said: Said) -> str:
        self.corrections += 1
        correction = Correction(f"r{self.corrections}", part["version"], said)
        done = await self.band.do(Correct(part["tune"], part["row"]["part"], correction))
        await self.until(lambda view: view.seq > done.seq and not view.mending)
        return correction.id


async def librarian(hub: Hub) -> AsyncIterator[Librarian]:
    async with (
        joined(hub, roles=["librarian"], client="desk-tablet") as band,
        httpx.AsyncClient(
            base_url=f"http://127.0.0.1:{hub.addresses.port}",
            headers={"Authorization": f"Bearer {hub.codes.librarian}"},
            trust_env=False,
            timeout=60,
        ) as http,
    ):
        yield Librarian(hub, http, band)


@pytest.fixture
async def desk(tmp_path: Path) -> AsyncIterator[Librarian]:
    async with served(tmp_path / "band", EMPTY) as hub:
        async for one in librarian(hub):
            yield one


async def test_files_sent_in_become_parts(desk: Librarian) -> None:
    ids = [
        await desk.send(f"{chair}.pdf", sheets.part("Blue Harbour", chair, 32, MARKS), "Blue Harbour")
        for chair in ("Alto 1", "Alto 2", "Trombone")
    ]
    view = await desk.bring(*ids)
    assert [(row.became, row.title, row.part, row.bars, row.marks) for row in view.came] == [
        ("new", "Blue Harbour", chair, 32, 4) for chair in ("Alto 1", "Alto 2", "Trombone")
    ]
    (tune,) = await desk.get("/desk/library")
    assert (tune["title"], tune["bars"]) == ("Blue Harbour", 32)
    row = tune["parts"][0]
    assert (row["name"], row["bars"], row["marks"], row["as_printed"]) == ("Alto 1", 32, ["A", "B", "C", "D"], False)
    # A stave of 7 mm on A4 (ISO 216: 210 mm wide) shown whole on a page of 148 mm.
    assert row["paper_mm"] == pytest.approx(7.06, abs=0.06) and row["whole_mm"] == pytest.approx(4.7, abs=0.1)


async def test_a_page_is_shown_as_it_is_and_as_it_is_laid(desk: Librarian) -> None:
    await desk.bring(await desk.send("Alto 1.pdf", sheets.part("Blue Harbour", "Alto 1", 32, MARKS)))
    part = await desk.the_part()
    assert part["reading"]["bars"] == 32 and part["corrections"] == []
    where = f"/desk/part/{part['tune']}/{part['row']['part']}"
    # 2 atan(7 / 1500) is 32.1 minutes of arc, 2 atan(7 / 1800) 26.7 (NUREG-0700 rev. 2, 1.3.1-4).
    assert "as laid. Seen from 75 cm." in part["legible"] and "7.0 mm (32', readable) as laid" in part["legible"]
    far = (await desk.get(f"{where}?cm=90"))["legible"]
    assert "7.0 mm (27', too small) as laid" in far and "Seen from 90 cm." in far
    assert (await desk.http.get(f"{where}?cm=5")).status_code == 400
    picture = pymupdf.Pixmap((await desk.http.get(f"{where}/page/0?wide=600")).content)
    assert picture.width in (600, 601) and 840 <= picture.height <= 860
    laid = await desk.get(f"{where}/laid")
    assert (await desk.http.get(f"/laying/{laid['laying']}")).json()["stave"] == 7.0
    assert (await desk.http.get(f"{where}/page/7")).status_code == 422
    assert (await desk.http.get(f"{where}/page/0?wide=x")).status_code == 400


@pytest.mark.parametrize("code", ["", "wrong", "join", "leader", "md"])
async def test_only_the_librarians_code_opens_the_desk(tmp_path: Path, code: str) -> None:
    async with served(tmp_path / "band", EMPTY) as hub, httpx.AsyncClient(trust_env=False) as http:
        said = getattr(hub.codes, code, code)
        headers = {"Authorization": f"Bearer {said}"} if said else {}
        for method, path in (
            ("GET", "/desk/library"),
            ("GET", "/desk/part/a/b"),
            ("GET", "/desk/part/a/b/page/0"),
            ("GET", "/desk/part/a/b/laid"),
            ("POST", "/desk/file?name=a.pdf"),
            ("POST", "/desk/bring"),
            ("POST", "/desk/put-away"),
            ("POST", "/desk/part/a/b/again"),
        ):
            answer = await http.request(
                method, f"http://127.0.0.1:{hub.addresses.port}{path}", headers=headers, content=b"%PDF-"
            )
            assert answer.status_code == 401 and answer.text.endswith(".\n"), path
        async with joined(hub, client="plain") as band:
            assert not any(isinstance(view, DeskView) for view in await so_far(band))


async def so_far(band: Band) -> list[object]:
    """What of the desk came before a question's answer."""
    with pytest.raises(Refused):
        await band.do(Call("ghost"))
    return [band.desk]


async def test_codes_are_not_tried_for_ever(tmp_path: Path) -> None:
    async with served(tmp_path / "band", EMPTY) as hub, httpx.AsyncClient(trust_env=False) as http:
        url = f"http://127.0.0.1:{hub.addresses.port}/desk/library"
        answers = [await http.get(url, headers={"Authorization": f"Bearer guess{n}"}) for n in range(12)]
        assert answers[-1].status_code == 429 and "wait" in answers[-1].text


async def test_what_is_no_part_is_one_sentence(desk: Librarian) -> None:
    assert (await desk.http.post("/desk/file?name=empty.pdf", content=b"")).text.startswith("empty.pdf is empty")
    text = await desk.send("notes.txt", b"Bring sandwiches.")
    view = await desk.bring(text)
    assert [(row.became, row.why) for row in view.came] == [
        ("not understood", "notes.txt is not a PDF, it is text: export the part as PDF and bring that.")
    ]
    assert (await desk.http.post("/desk/bring", json={"files": [text]})).status_code == 404
    assert (await desk.http.post("/desk/bring", content=b"{")).status_code == 400
    assert (await desk.http.post("/desk/bring", content=b"x" * 70_000)).status_code == 413
    assert (await desk.get("/desk/library")) == []


async def test_names_that_are_paths_stay_in_their_place(desk: Librarian) -> None:
    pdf = sheets.part("Blue Harbour", "Alto 1", 8)
    for name in ("../../settings.json", "..\\..\\log.sqlite", "", "/", ".", "a" * 400 + ".pdf"):
        await desk.send(name, pdf, "../..")
    view = await desk.until(lambda view: len(view.came) == 6)
    assert [row.file for row in view.came][:5] == ["settings.json", "log.sqlite", "file.pdf", "file.pdf", "file.pdf"]
    assert len(view.came[5].file) <= 120 and view.came[5].file.endswith(".pdf")
    await desk.http.post("/desk/put-away", json={"files": [row.id for row in view.came]})
    assert (await desk.until(lambda view: not view.came)).came == ()


async def test_a_question_is_answered_at_the_desk(desk: Librarian) -> None:
    id = await desk.send("scan0001.pdf", sheets.part("Blue Harbour", "", 16, MARKS))
    view = await desk.bring(id)
    assert [(row.became, row.why) for row in view.came] == [
        ("question", "It is not clear who plays this: say the chair.")
    ]
    view = await desk.bring(id, chair="Alto 1")
    assert [(row.became, row.part) for row in view.came] == [("new", "Alto 1")]
    part = await desk.the_part()
    again = await desk.http.post(
        f"/desk/part/{part['tune']}/{part['row']['part']}/again",
        json={"files": [], "tune": "Another Tune", "chair": "Alto 1"},
    )
    assert again.status_code == 200
    view = await desk.until(lambda view: len(view.came) == 2 and view.came[1].became == "new")
    assert view.came[1].title == "Another Tune"


async def test_a_file_above_the_limit_is_refused_and_not_kept(tmp_path: Path) -> None:
    log = await Log.open(tmp_path / "log.sqlite", epoch="e")
    pool = Pool(1, limits=Limits(file_mb=1))
    started: asyncio.Task[None] = asyncio.create_task(asyncio.sleep(0))
    one = Desk(Writer(log, await log.state()), Files(tmp_path / "files"), tmp_path / "incoming", pool, started)

    async def body() -> AsyncIterator[bytes]:
        for _ in range(20):
            yield b"x" * 100_000

    with pytest.raises(NotTaken, match=r"big\.pdf is more than the 1 MB that are opened"):
        await one.take("big.pdf", (), body())
    assert one.view.came == () and not list((tmp_path / "incoming").glob("*"))
    await log.close()


def bars_of(laying: bytes) -> int:
    pages = msgspec.json.decode(laying, type=Laying).pages
    return sum(bar.steps[1] - bar.steps[0] + 1 for page in pages for line in page.lines for bar in line.bars)


def middle(part: Any, line: int, barline: int) -> Place:
    system = part["reading"]["pages"][0]["systems"][line]
    return Place(0, system["barlines"][barline]["x"], (system["bbox"][1] + system["bbox"][3]) / 2)


async def test_a_correction_reaches_the_stands_and_markings_stay_at_their_bars(desk: Librarian) -> None:
    await desk.bring(await desk.send("Alto 1.pdf", sheets.part("Blue Harbour", "Alto 1", 32, MARKS)))
    part = await desk.the_part()
    tune, chair = part["tune"], part["row"]["chairs"][0]
    own = desk.hub.writer.state.tunes[tune]
    bar = {b.number: b.id for b in own.chart.bars} if own.chart else {}
    async with raw(desk.hub) as player:
        await player.say(hello(desk.hub, chair, roles=["leader"], page=(148.0, 197.0)))
        assert bars_of(await file(desk, (await laid_for(player, lambda view: bool(view.laying))).laying)) == 32
        async with joined(desk.hub, chair, client="pencil") as pencil:
            ink = Ink((Point(bar[20], 0.5, 0, 1.0), Point(bar[20], 0.6, 0, 1.0)))
            await pencil.do(MakeMarking(Marking("m1", tune, chair, "mine", ink)))
        # The barline between bars 6 and 7 is false; and one is missing in bar 30.
        system = part["reading"]["pages"][0]["systems"][7]
        inside = (system["bars"][1]["x0"] + system["bars"][1]["x1"]) / 2
        first = await desk.correct(part, NoBarline(middle(part, 1, 1)))
        view = await player.until(TuneView)
        assert len(view.written) == 31
        now = {step.bar: step.number for step in view.written}
        assert now[bar[6]] == 6 and bar[7] not in now and now[bar[20]] == 19
        part_view = await laid_for(player, lambda view: view.revision == 1)
        assert bars_of(await file(desk, part_view.laying)) == 31
        second = await desk.correct(part, BarlineHere(Place(0, inside, middle(part, 7, 0).y)))
        changed = await desk.the_part()
        assert changed["reading"]["bars"] == 32
        assert [row["words"] for row in changed["corrections"]] == [
            "Page 1: no barline",
            "Page 1: barline",
        ]
        for id in (first, second):
            done = await desk.band.do(TakeBackCorrection(tune, part["row"]["part"], id))
            await desk.until(lambda view, seq=done.seq: view.seq > seq and not view.mending)  # type: ignore[misc]
    after = desk.hub.writer.state.tunes[tune]
    assert after.chart == own.chart and len(after.markings) == 1
    assert len(after.parts[part["row"]["part"]].versions) <= 2


async def test_a_scan_that_nobody_bears_out_is_laid_once_its_lines_are_said_to_be_right(desk: Librarian) -> None:
    flat = scanning.Damage(200, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")
    scan, _ = scanning.scanned(sheets.part("Blue Harbour", "Bass", 8, {1: "A", 5: "B"}), flat, 1)
    await desk.bring(await desk.send("Bass.pdf", scan, "Blue Harbour"), tune="Blue Harbour", chair="Bass")
    part = await desk.the_part()
    assert part["row"]["as_printed"] and part["row"]["bars"] == 8
    first, second = part["reading"]["pages"][0]["systems"]
    assert max(first["confidence"], second["confidence"]) < PROVEN
    for line in (first, second):
        x0, top, x1, bottom = line["bbox"]
        await desk.correct(part, LineIsRight(Place(0, (x0 + x1) / 2, (top + bottom) / 2)))
    after = desk.hub.writer.state.tunes[part["tune"]]
    assert after.chart and [bar.number for bar in after.chart.bars] == list(range(1, 9))
    mended = after.parts[part["row"]["part"]].current
    assert not mended.as_printed and mended.bars == tuple(bar.id for bar in after.chart.bars)
    assert not (await desk.the_part())["row"]["as_printed"]


async def file(desk: Librarian, hash_: str) -> bytes:
    return (await desk.http.get(f"/laying/{hash_}")).content


async def laid_for(player: Any, so: Callable[[PartView], bool]) -> PartView:
    while True:
        view = await player.until(PartView)
        if so(view):
            return view


async def test_one_part_mended_comes_to_agree_and_the_ruler_stays(desk: Librarian) -> None:
    ids = [
        await desk.send(f"{chair}.pdf", sheets.part("Blue Harbour", chair, bars, MARKS), "Blue Harbour")
        for chair, bars in (("Alto 1", 32), ("Alto 2", 32), ("Trombone", 31))
    ]
    await desk.bring(*ids)
    (tune,) = await desk.get("/desk/library")
    own = desk.hub.writer.state.tunes[tune["tune"]]
    row = next(row for row in tune["parts"] if row["name"] == "Trombone")
    part = await desk.get(f"/desk/part/{tune['tune']}/{row['part']}")
    system = part["reading"]["pages"][0]["systems"][7]
    inside = (system["bars"][0]["x0"] + system["bars"][0]["x1"]) / 2
    await desk.correct(part, BarlineHere(Place(0, inside, (system["bbox"][1] + system["bbox"][3]) / 2)))
    after = desk.hub.writer.state.tunes[tune["tune"]]
    assert after.chart == own.chart and after.revision == own.revision
    assert after.chart and after.parts[row["part"]].current.bars == tuple(bar.id for bar in after.chart.bars)


async def test_a_mark_that_most_parts_come_to_have_is_the_tunes(desk: Librarian) -> None:
    ids = [
        await desk.send(f"{chair}.pdf", sheets.part("Blue Harbour", chair, 32, MARKS), "Blue Harbour")
        for chair in ("Alto 1", "Alto 2")
    ]
    await desk.bring(*ids)
    (tune,) = await desk.get("/desk/library")
    for row in tune["parts"]:
        part = await desk.get(f"/desk/part/{tune['tune']}/{row['part']}")
        x0, y0, x1, y1 = part["reading"]["marks"][3]["box"]
        await desk.correct(part, MarkHere(Place(0, (x0 + x1) / 2, (y0 + y1) / 2), "Coda"))
    chart = desk.hub.writer.state.tunes[tune["tune"]].chart
    assert chart and [mark.text for mark in chart.marks] == ["A", "B", "C", "Coda"]


async def test_a_correction_that_was_not_laid_before_the_hub_stopped_is_laid_when_it_starts(tmp_path: Path) -> None:
    await make_band(tmp_path / "band", EMPTY)
    async with serve(tmp_path / "band", announced=False, patience=WAITS, workers=1) as hub:
        async for one in librarian(hub):
            await one.bring(await one.send("Alto 1.pdf", sheets.part("Blue Harbour", "Alto 1", 32, MARKS)))
            part = await one.the_part()
            at = Place(0, 200, middle(part, 2, 0).y)
            await one.band.do(
                Correct(part["tune"], part["row"]["part"], Correction("r", part["version"], RestHere(at, 4)))
            )
            break
    async with serve(tmp_path / "band", announced=False, patience=WAITS, workers=1) as hub:
        async for one in librarian(hub):
            await one.until(lambda view: not view.mending)
            own = hub.writer.state.tunes[part["tune"]]
            assert (
                own.chart and len(own.chart.bars) == 35 and own.parts[part["row"]["part"]].current.corrected == ("r",)
            )
            break


async def test_a_page_on_its_side_is_shown_as_it_was_read(desk: Librarian) -> None:
    """Signs as paths and no letter upright say nothing of how a page lies: only its reading knows."""
    drawn, _, _ = second_engraving.chart(3)
    outlines = pymupdf.open(stream=pymupdf.open(stream=drawn)[0].get_svg_image().encode(), filetype="svg")
    document = pymupdf.open(stream=outlines.convert_to_pdf())
    document[0].set_rotation(180)
    await desk.bring(await desk.send("Alto 1.pdf", document.tobytes()), tune="Blue Harbour", chair="Alto 1")
    part = await desk.the_part()
    assert part["reading"]["pages"][0]["turned"] == 180
    where = f"/desk/part/{part['tune']}/{part['row']['part']}"
    turned = pymupdf.Pixmap((await desk.http.get(f"{where}/page/0?wide=600")).content)
    document[0].set_rotation(0)
    scale = 600 / document[0].rect.width
    upright = document[0].get_pixmap(matrix=pymupdf.Matrix(scale, scale), colorspace=pymupdf.csGRAY, alpha=False)
    assert turned.samples == upright.samples


async def test_corrections_follow_a_new_edition(desk: Librarian) -> None:
    """A page set lower and larger, with another line at its end: what was said of the lines that are there holds."""
    await desk.bring(await desk.send("Alto 1.pdf", sheets.part("Blue Harbour", "Alto 1", 32, MARKS)))
    part = await desk.the_part()
    system = part["reading"]["pages"][0]["systems"][1]
    middle = (system["bbox"][1] + system["bbox"][3]) / 2
    bar = system["bars"][0]
    await desk.correct(part, RestHere(Place(0, (bar["x0"] + bar["x1"]) / 2, middle), 4))
    before = await desk.the_part()
    assert before["reading"]["bars"] == 35
    old = pymupdf.open(stream=sheets.part("Blue Harbour", "Alto 1", 32, MARKS))
    new = pymupdf.open()
    page = new.new_page(width=old[0].rect.width, height=old[0].rect.height)
    page.show_pdf_page(pymupdf.Rect(20, 30, old[0].rect.width - 20, old[0].rect.height - 26), old, 0)
    id = await desk.send("Alto 1.pdf", new.tobytes())
    view = await desk.bring(id)
    assert view.came[-1].became == "new version", view.came[-1]
    await desk.until(lambda view: not view.mending)
    after = await desk.the_part()
    assert [one["words"] for one in after["corrections"]] == ["Page 1: 4 bars rest"]
    assert (after["version"] != before["version"]) and after["reading"]["bars"] == 35
