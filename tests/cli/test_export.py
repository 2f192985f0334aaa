"""`collaparte export` as it is typed, on a band folder on the disk, served or not."""

import asyncio
import shutil
import subprocess
import sys
from pathlib import Path

import httpx
import numpy as np
import numpy.typing as npt
import pypdfium2
import pytest

from cli.test_hub_verbs import collaparte
from collaparte.band.decide import decide
from collaparte.band.roles import EVERY_ROLE, Refusal, Who
from collaparte.band.state import State
from collaparte.hub.keeping import commit
from collaparte.hub.serving import serve
from collaparte.store.folder import BandFolder
from collaparte.store.log import Entry, Log
from collaparte.wire.commands import MakeCut, MakeMarking, SayEdit, SetTheSet
from collaparte.wire.markings import Ink, Marking, Note, PageInk, PagePoint, Point
from collaparte.wire.setlist import SetItem
from hub import sheets_of_music as sheets
from hub.bands import WAITS, address, free_port, joined

MARKS = {1: "A", 9: "B", 17: "C"}


def run(*words: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from collaparte.cli import main; main()", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False, timeout=120, cwd=cwd)


@pytest.fixture(scope="module")
def band(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two tunes in a set, the second first; Vocal has words to one of them; both have edits."""
    here = tmp_path_factory.mktemp("export")
    for title, chairs in (("Blue Harbour", ("1st Alto", "Tenor")), ("Rain Check", ("1st Alto",))):
        (here / "in" / title).mkdir(parents=True)
        for chair in chairs:
            (here / "in" / title / f"{chair}.pdf").write_bytes(sheets.part(title, chair, 24, MARKS))
    (here / "in" / "Rain Check" / "Vocal.pdf").write_bytes(sheets.words("Rain Check", "Vocal", ["It rains again"]))
    assert run("bring", "owls", "in", "--yes", "--name", "Night Owls", cwd=here).returncode == 0
    asyncio.run(_decide(here / "owls"))
    return here / "owls"


@pytest.fixture(scope="module")
def encore(band: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same band, that plays the first tune of the set again at its end."""
    here = tmp_path_factory.mktemp("encore") / "owls"
    shutil.copytree(band, here)
    asyncio.run(_reprise(here))
    return here


async def test_from_a_running_hub_with_what_was_decided_tonight(band: Path, tmp_path: Path) -> None:
    await asyncio.to_thread(shutil.copytree, band, tmp_path / "owls")
    async with serve(tmp_path / "owls", port=free_port(), announced=False, patience=WAITS, workers=1) as hub:
        at = address(hub)

        async def export(*words: str, hub_at: str = at, code: str = hub.codes.join) -> tuple[int, str, str]:
            pdf = str(tmp_path / "book.pdf")
            return await collaparte("export", hub_at, "--chair", "1st alto", "-o", pdf, *words, code=code)

        assert await export() == (0, f"{tmp_path / 'book.pdf'}: 2 tunes.\n", "")
        before = await asyncio.to_thread(pages_of, tmp_path / "book.pdf")
        assert [label for label, _ in before] == ["Rain Check 1", "Blue Harbour 1"]
        assert "C" in before[1][1].split() and before[1][1].count("Häupl cues") == 1 and "private" not in before[1][1]
        # Cut and marked a moment ago by others in the room.
        blue = next(tune.id for tune in hub.writer.state.tunes.values() if tune.title == "Blue Harbour")
        alto = next(id for id, chair in hub.writer.state.chairs.items() if chair.name == "Alto 1")
        chart = hub.writer.state.tunes[blue].chart
        assert chart is not None
        note = Note(Point(chart.bars[4].id, 0.1, 0, 4.0), "watch Kim")
        async with joined(hub, alto, roles=["md"]) as there:
            await there.do(MakeMarking(Marking("m9", blue, alto, "mine", note)), chair=alto)
            await there.do(MakeCut("e9", blue, "C", "end"), chair=alto)
        assert (await export("--paper", "tablet"))[0] == 0
        after = await asyncio.to_thread(pages_of, tmp_path / "book.pdf")
        assert "C" not in after[1][1].split() and after[1][1].count("watch Kim") == 1
        assert (await export("--no-markings"))[0] == 0
        assert "watch Kim" not in (await asyncio.to_thread(pages_of, tmp_path / "book.pdf"))[1][1]

        # What goes wrong is a sentence, and the book that is there stays.
        kept = await asyncio.to_thread((tmp_path / "book.pdf").read_bytes)
        for words, reason in (
            (export(code="nonsense"), "That is not this band's join code"),
            (export(code=""), "The join code is missing"),
            (export("--chair", "Kazoo"), 'There is no chair "Kazoo" in this band; the nearest are'),
            (export("--paper", "A3"), '"A3" is no paper'),
            (export("--stave", "70"), "A stave of 70 mm cannot be laid"),
            (export(hub_at=f"127.0.0.1:{free_port()}"), "No hub answers at 127.0.0.1:"),
            (export(hub_at="nowhere/at/all:x"), "No hub called 'nowhere/at/all:x' answers"),
        ):
            code, out, err = await words
            assert (code, out) == (1, "") and reason in err and len(err.strip().splitlines()) == 1
        assert await asyncio.to_thread((tmp_path / "book.pdf").read_bytes) == kept
        # The same over plain HTTP, as another program would ask; the hub checks what it is asked for itself.
        async with httpx.AsyncClient(trust_env=False, base_url=f"http://{at}") as http:
            assert (await http.get("/book", params={"chair": "Tenor"})).status_code == 401
            bearer = {"Authorization": f"Bearer {hub.codes.join}"}
            answer = await http.get("/book", params={"chair": "Tenor", "stave": "nan"}, headers=bearer)
            assert (answer.status_code, answer.text) == (
                404,
                "A stave of nan mm cannot be laid; choose one from 3 to 12 mm.\n",
            )
            answer = await http.get("/book", params={"chair": "Tenor"}, headers=bearer)
            assert answer.content.startswith(b"%PDF") and answer.headers["content-type"] == "application/pdf"


def test_a_tune_that_is_played_again_is_in_the_book_again(encore: Path) -> None:
    done = run("export", encore, "--chair", "Alto 1", cwd=encore.parent)
    assert (done.returncode, done.stderr) == (0, "") and done.stdout.endswith(": 3 tunes.\n")
    book = pages_of(encore.parent / "Night Owls - Alto 1.pdf")
    assert [label for label, _ in book] == ["Rain Check 1", "Blue Harbour 1", "Rain Check, again 1"]
    assert book[0][1] == book[2][1]


async def _reprise(path: Path) -> None:
    with BandFolder.open(path, "test", "") as folder:
        log = await Log.open(folder.log_path, epoch="e")
        state = await log.state()
        await commit([SetTheSet((*state.set.items, state.set.items[0]))], state, log)
        await log.close()


async def _decide(path: Path) -> None:
    with BandFolder.open(path, "test", "") as folder:
        log = await Log.open(folder.log_path, epoch="e")
        state = await log.state()
        by_title = {tune.title: tune.id for tune in state.tunes.values()}
        order = (by_title["Rain Check"], by_title["Blue Harbour"])
        await commit([SetTheSet(tuple(SetItem(tune=tune) for tune in order))], state, log)
        rain, blue = order
        alto = next(id for id, chair in state.chairs.items() if chair.name == "Alto 1")
        for edit in (
            MakeCut("e1", blue, "B", "C", False),
            SayEdit("e2", rain, "times", "A", "B", times=4),
            SayEdit("e3", rain, "tacet", "C", "end", chairs=(alto,)),
        ):
            state = await log.state()
            made = decide(state, edit, EVERY_ROLE, state.position.call)
            assert not isinstance(made, Refusal), made
            await log.append([Entry("test", edit.id, "", made, "{}")], "")
        for chair, marking in _markings(await log.state(), rain, blue):
            made = decide(await log.state(), MakeMarking(marking), Who((chair,), chair))
            assert not isinstance(made, Refusal), made
            await log.append([Entry("test", marking.id, "", made, "{}")], "")
        await log.close()


def _markings(state: State, rain: str, blue: str) -> list[tuple[str, Marking]]:
    """Alto's own stroke along the first bar and words of its own; the section's by Tenor; a stroke on Vocal's page."""
    by_name = {chair.name: id for id, chair in state.chairs.items()}
    alto, tenor, vocal = (by_name[name] for name in ("Alto 1", "Tenor", "Vocal"))
    chart = state.tunes[blue].chart
    assert chart is not None
    bars = [bar.id for bar in chart.bars]
    along = tuple(Point(bars[0], x / 10, 0, 0.0) for x in range(1, 10))
    over = tuple(Point(bars[1], x / 10, 0, 4.0) for x in range(1, 10))
    return [
        (alto, Marking("m1", blue, alto, "mine", Ink(along, 0.8))),
        (alto, Marking("m2", blue, alto, "mine", Note(Point(bars[2], 0.1, 0, 4.0), "Häupl cues"))),
        (tenor, Marking("m3", blue, tenor, "section", Ink(over, 0.5))),
        (tenor, Marking("m4", blue, tenor, "mine", Note(Point(bars[3], 0.1, 0, 4.0), "private"))),
        (vocal, Marking("m5", rain, vocal, "mine", PageInk((PagePoint(0, 0.2, 0.5), PagePoint(0, 0.8, 0.5)), 0.01))),
    ]


def coloured(path: Path, page: int, colour: tuple[int, int, int]) -> npt.NDArray[np.bool_]:
    """Where a page as another library draws it is of one colour, nearly."""
    drawn = pypdfium2.PdfDocument(path)[page].render(scale=3, rev_byteorder=True).to_numpy()[..., :3]
    out: npt.NDArray[np.bool_] = (np.abs(drawn.astype(int) - colour) < 40).all(axis=2)
    return out


OWN, SECTION = (0, 114, 178), (0, 158, 115)


def pages_of(path: Path) -> list[tuple[str, str]]:
    document = pypdfium2.PdfDocument(path)
    return [(document.get_page_label(n), page.get_textpage().get_text_range()) for n, page in enumerate(document)]


def test_the_book_is_the_set_in_order_with_what_was_cut(band: Path) -> None:
    done = run("export", band, "--chair", "1st alto sax", cwd=band.parent)
    assert (done.returncode, done.stderr) == (0, "")
    book = pages_of(band.parent / "Night Owls - Alto 1.pdf")
    assert [label for label, _ in book] == ["Rain Check 1", "Blue Harbour 1"]
    rain, blue = (text.split() for _, text in book)
    assert "B" in rain and "B" not in blue and "C" in blue
    # Played four times between repeat signs; what leaves the order as it is, in words.
    assert "4times" in "".join(rain)
    assert "acet" in "".join(rain) and "acet" not in "".join(blue)


def test_markings_stand_in_the_book_at_their_bars(band: Path) -> None:
    assert run("export", band, "--chair", "Alto", "--paper", "tablet", "-o", "marked.pdf", cwd=band.parent).stderr == ""
    done = run(
        "export", band, "--chair", "Alto", "--paper", "tablet", "--no-markings", "-o", "bare.pdf", cwd=band.parent
    )
    assert done.returncode == 0
    marked, bare = band.parent / "marked.pdf", band.parent / "bare.pdf"
    text, without = pages_of(marked)[1][1], pages_of(bare)[1][1]
    assert text.count("Häupl cues") == 1 and "private" not in text
    assert sorted(text.replace("Häupl cues", "").split()) == sorted(without.split())
    own = coloured(marked, 1, OWN)
    # The stroke along the first bar is on the first stave's middle line: the third of five rows dark throughout.
    dark = np.flatnonzero(coloured(bare, 1, (0, 0, 0)).mean(axis=1) > 0.5)
    lines = [int(rows.mean()) for rows in np.split(dark, np.flatnonzero(np.diff(dark) > 2) + 1)]
    assert own[lines[2] - 3 : lines[2] + 4].any(axis=0).sum() > 30
    assert coloured(marked, 1, SECTION).sum() > 50
    assert not coloured(bare, 1, OWN).any() and not coloured(bare, 1, SECTION).any()
    assert not coloured(marked, 0, OWN).any()


def test_a_stroke_on_a_page_as_printed_is_in_the_book(band: Path) -> None:
    assert run("export", band, "--chair", "Vocal", "-o", "sung.pdf", cwd=band.parent).returncode == 0
    assert pages_of(band.parent / "sung.pdf")[0][1].count("It rains again") == 1
    stroke = np.argwhere(coloured(band.parent / "sung.pdf", 0, OWN))
    assert len(stroke) > 100 and np.ptp(stroke[:, 0]) < 20 < np.ptp(stroke[:, 1])


def test_a_chair_is_found_as_people_say_it(band: Path) -> None:
    done = run("export", band, "--chair", "Reeds", "-o", "none.pdf", cwd=band.parent)
    assert done.returncode == 1
    assert done.stderr.strip() == '"Reeds" may be more than one chair in this band: say which of Alto 1, Tenor.'
    done = run("export", band, "--chair", "Vokal 9", "-o", "none.pdf", cwd=band.parent)
    assert "the nearest are: Vocal" in done.stderr


def test_tacet_and_as_printed(band: Path) -> None:
    done = run("export", band, "--chair", "Vocal", "--paper", "tablet", "-o", "vocal.pdf", cwd=band.parent)
    assert (done.returncode, done.stdout.strip()) == (0, "vocal.pdf: 2 tunes.")
    words, card = pages_of(band.parent / "vocal.pdf")
    assert "It rains again" in words[1]
    assert "tacet" in card[1] and "Blue Harbour" in card[1]


def test_the_folder_stays_as_it_is_while_a_hub_serves_it(band: Path) -> None:
    log = (band / "log.sqlite").read_bytes()
    with BandFolder.open(band, "serve", ""):
        done = run("export", band, "--chair", "Tenor", "-o", "tenor.pdf", cwd=band.parent)
    assert done.returncode == 0
    assert (band / "log.sqlite").read_bytes() == log


def test_a_part_that_is_gone_leaves_a_page_that_says_so(band: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(band, copy)
    for file in (copy / "files").glob("*/*"):
        if file.read_bytes().startswith(b"%PDF"):
            file.unlink()
    done = run("export", copy, "--chair", "Tenor", "-o", "tenor.pdf", cwd=tmp_path)
    assert done.returncode == 1
    assert "Blue Harbour: The file" in done.stderr and "Traceback" not in done.stderr
    assert [label for label, _ in pages_of(tmp_path / "tenor.pdf")] == ["Rain Check 1", "Blue Harbour 1"]


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (["--paper", "B7"], "A4, Letter or tablet"),
        (["--stave", "40"], "40 mm"),
        (["--chair", "Kazoo"], "Kazoo"),
    ],
)
def test_what_is_asked_wrongly_is_a_sentence(band: Path, words: list[str], reason: str) -> None:
    done = run("export", band, "--chair", "Tenor", "-o", "none.pdf", *words, cwd=band.parent)
    assert done.returncode == 1
    assert reason in done.stderr and len(done.stderr.strip().splitlines()) == 1
    assert not (band.parent / "none.pdf").exists()


def test_no_band_folder_is_a_sentence(tmp_path: Path) -> None:
    done = run("export", tmp_path, "--chair", "Tenor", cwd=tmp_path)
    assert done.returncode == 1 and "no band folder" in done.stderr
