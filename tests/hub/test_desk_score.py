"""A tune's score at the desk, over real sockets: sent in beside its parts, or later, or not usable."""

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from collaparte.wire.corrections import MarkHere, Place
from hub import sheets_of_music as sheets
from hub.bands import HANGS, joined, served
from hub.test_desk import EMPTY, MARKS, Librarian, librarian
from music.musicxml import START, end, score

BOX = "<direction><direction-type><rehearsal>{}</rehearsal></direction-type></direction>"


@pytest.fixture
async def desk(tmp_path: Path) -> AsyncIterator[Librarian]:
    async with served(tmp_path / "band", EMPTY) as hub:
        async for one in librarian(hub):
            yield one


def blue_harbour(bars: int = 32) -> bytes:
    """A score whose bars 9 to 16 are played three times, which no part shows."""
    marks = {n: BOX.format(text) for n, text in MARKS.items()}
    data = score(bars, marks | {9: BOX.format("B") + START}, {16: end("3")})
    return data.replace(b"<part-list>", b"<movement-title>Blue Harbour</movement-title><part-list>", 1)


def played(desk: Librarian) -> int:
    (tune,) = desk.band.tunes.values()
    return len(tune.written)


async def parts(desk: Librarian, trombone: int = 32) -> list[str]:
    ids = []
    for chair, count in (("Alto 1", 32), ("Trombone", trombone)):
        marks = {n - (n > 9 and count < 32): text for n, text in MARKS.items()}
        ids.append(await desk.send(f"{chair}.pdf", sheets.part("Blue Harbour", chair, count, marks), "Blue Harbour"))
    return ids


async def test_a_score_among_the_parts_gives_the_tune_its_form(desk: Librarian) -> None:
    ids = await parts(desk, 31)
    view = await desk.bring(*ids, await desk.send("score.musicxml", blue_harbour(), "Blue Harbour"))
    rows = {row.file.rpartition("/")[2]: row for row in view.came}
    row = rows["score.musicxml"]
    assert (row.became, row.title, row.part, row.why) == ("score", "Blue Harbour", "Score", "")
    assert (row.bars, row.marks) == (32, 4)
    (tune,) = await desk.get("/desk/library")
    assert [(one["name"], one["bars"]) for one in tune["parts"]] == [("Alto 1", 32), ("Trombone", 31)]
    trombone = next(one for one in tune["parts"] if one["name"] == "Trombone")
    assert "one bar fewer than the score" in " ".join(trombone["differs"])
    async with joined(desk.hub, trombone["chairs"][0]) as stand:
        assert [len(one.written) for one in stand.tunes.values()] == [32 + 2 * 8]


async def test_a_score_that_comes_later_reaches_the_stands_and_holds(desk: Librarian) -> None:
    await desk.bring(*await parts(desk))
    assert played(desk) == 32
    await desk.bring(await desk.send("Blue Harbour.musicxml", blue_harbour()))
    async with asyncio.timeout(HANGS):
        async for _ in desk.band:
            if played(desk) == 48:
                break
    # Whatever is then mended in the parts, bars, marks and form stay the score's.
    library = await desk.get("/desk/library")
    before = desk.hub.writer.state.tunes[library[0]["tune"]].chart
    assert before and before.source.endswith("Blue Harbour.musicxml")
    for row in library[0]["parts"]:
        part = await desk.get(f"/desk/part/{library[0]['tune']}/{row['part']}")
        x0, y0, x1, y1 = next(mark["box"] for mark in part["reading"]["marks"] if mark["text"] == "B")
        await desk.correct(part, MarkHere(Place(0, (x0 + x1) / 2, (y0 + y1) / 2), "BB"))
    assert desk.hub.writer.state.tunes[library[0]["tune"]].chart == before
    (tune,) = await desk.get("/desk/library")
    assert all("B" in " ".join(one["differs"]) for one in tune["parts"])


@pytest.mark.parametrize(
    ("name", "data", "why"),
    [
        ("Blue Harbour.mxl", b"PK but no more", "damaged or locked"),
        ("Blue Harbour.xml", b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>", "defines entities"),
        ("Blue Harbour.musicxml", blue_harbour(30), "has 30 bars where the tune has 32: it is left out"),
        ("Red Lantern.musicxml", blue_harbour().replace(b"Blue Harbour", b"Red Lantern"), "no part of it is here"),
    ],
)
async def test_a_score_that_cannot_be_used_is_one_sentence(desk: Librarian, name: str, data: bytes, why: str) -> None:
    await desk.bring(*await parts(desk))
    before = desk.hub.writer.state
    view = await desk.bring(await desk.send(name, data))
    row = next(row for row in view.came if row.file.endswith(name))
    assert why in row.why and row.why.endswith(".") and "\n" not in row.why
    assert desk.hub.writer.state.tunes == before.tunes
