"""`collaparte bring` and `collaparte chairs` as they are typed: a process of its own, a folder, an exit code."""

import asyncio
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from collaparte.band.state import State
from collaparte.store.folder import BandFolder
from collaparte.store.log import Log
from hub import sheets_of_music as sheets
from music.musicxml import START, end, score

MARKS = {1: "A", 9: "B", 17: "C"}


def run(*words: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from collaparte.cli import main; main()", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False, timeout=120)


@pytest.fixture
def inbox(tmp_path: Path) -> Path:
    folder = tmp_path / "inbox" / "07 Blue Harbour"
    folder.mkdir(parents=True)
    for chair in ("1st Alto", "Tenor", "Guitar"):
        (folder / f"{chair}.pdf").write_bytes(sheets.part("Blue Harbour", chair, 24, MARKS))
    return folder.parent


@pytest.fixture
def band(tmp_path: Path, inbox: Path) -> Path:
    path = tmp_path / "Night Owls"
    assert run("bring", path, inbox).returncode == 0
    return path


def told(done: subprocess.CompletedProcess[str]) -> Any:
    return json.loads(done.stdout)


def test_a_new_band_is_made_and_every_file_said(tmp_path: Path, inbox: Path) -> None:
    done = run("bring", tmp_path / "Night Owls", inbox)
    assert done.returncode == 0
    for said in ("Blue Harbour (new)", "Alto 1", "Tenor", "Guitar", "24", "3 new.", "New in Reeds: Alto 1, Tenor"):
        assert said in done.stdout
    assert "Traceback" not in done.stderr


def test_json_says_what_became_of_each_part(tmp_path: Path, inbox: Path) -> None:
    (inbox / "notes.pdf").write_bytes(b"bring the blue folder")
    done = run("bring", tmp_path / "Night Owls", inbox, "--json")
    assert done.returncode == 1
    parts = {part["file"]: part for part in told(done)["parts"]}
    alto = parts[str(Path("07 Blue Harbour", "1st Alto.pdf"))]
    assert (alto["tune"], alto["chairs"], alto["bars"], alto["became"]) == ("Blue Harbour", ["Alto 1"], 24, "new")
    assert alto["marks"] == [{"text": "A", "bar": 1}, {"text": "B", "bar": 9}, {"text": "C", "bar": 17}]
    assert parts["notes.pdf"]["became"] == "not understood"
    assert "is not a PDF" in parts["notes.pdf"]["why"]


def test_nothing_understood_makes_no_band(tmp_path: Path) -> None:
    (tmp_path / "notes.pdf").write_bytes(b"hello")
    done = run("bring", tmp_path / "band", tmp_path / "notes.pdf")
    assert done.returncode == 1
    assert "notes.pdf is not a PDF" in done.stdout
    assert not (tmp_path / "band").exists()


def test_twice_is_once(band: Path, inbox: Path) -> None:
    done = run("bring", band, inbox)
    assert done.returncode == 0
    assert "3 already in." in done.stdout


def test_what_the_page_does_not_say_is_told_by_hand(band: Path, tmp_path: Path) -> None:
    scan = tmp_path / "scan0001.pdf"
    scan.write_bytes(sheets.photograph())
    asked = run("bring", band, scan)
    assert asked.returncode == 1
    assert "tell it with --chair" in asked.stdout
    done = run("bring", band, scan, "--tune", "Blue Harbour", "--chair", "Bass", "--json")
    assert done.returncode == 0
    assert told(done)["parts"][0]["as_printed"]
    assert told(done)["new_chairs"] == [{"name": "Bass", "section": "Rhythm"}]


@pytest.mark.parametrize(
    "words", [["bring"], ["bring", "band"], ["bring", "band", "nowhere.pdf"], ["chairs", "band", "shuffle"]]
)
def test_bad_usage_is_two(tmp_path: Path, words: list[str]) -> None:
    words = [str(tmp_path / word) if word == "band" else word for word in words]
    done = run(*words)
    assert done.returncode == 2
    assert done.stderr
    assert "Traceback" not in done.stderr


def test_a_folder_that_is_no_band_is_left_alone(tmp_path: Path, inbox: Path) -> None:
    done = run("bring", inbox, inbox / "07 Blue Harbour" / "Tenor.pdf")
    assert done.returncode == 2
    assert "is no band folder" in done.stderr
    assert [path.name for path in inbox.iterdir()] == ["07 Blue Harbour"]


def test_while_a_hub_holds_the_folder_it_says_so(band: Path, inbox: Path) -> None:
    with BandFolder.open(band, "serve", "2026-11-25 20:00"):
        for words in (["bring", band, inbox], ["chairs", band, "add", "Alto 2"]):
            done = run(*words)
            assert done.returncode == 2
            assert 'is in use by "serve"' in done.stderr
        assert run("chairs", band).returncode == 0


def test_chairs_are_listed_added_renamed_moved_and_removed(band: Path) -> None:
    def seats(done: subprocess.CompletedProcess[str]) -> dict[str, list[str]]:
        assert done.returncode == 0, done.stderr
        return {s["name"]: [c["name"] for c in s["chairs"]] for s in told(done)["sections"]}

    assert seats(run("chairs", band, "--json")) == {"Reeds": ["Alto 1", "Tenor"], "Rhythm": ["Guitar"]}
    assert seats(run("chairs", band, "add", "2nd Alto", "--json"))["Reeds"] == ["Alto 1", "2nd Alto", "Tenor"]
    assert seats(run("chairs", band, "rename", "guitar", "Banjo", "--json"))["Rhythm"] == ["Banjo"]
    moved = seats(run("chairs", band, "move", "Tenor", "--section", "Rhythm", "--place", "1", "--json"))
    assert moved == {"Reeds": ["Alto 1", "2nd Alto"], "Rhythm": ["Tenor", "Banjo"]}
    assert seats(run("chairs", band, "remove", "2nd alto", "--json"))["Reeds"] == ["Alto 1"]
    assert "Banjo  (1 of 1 tunes)" in run("chairs", band).stdout


def test_a_chair_that_is_not_there_is_said(band: Path) -> None:
    done = run("chairs", band, "remove", "Tuba")
    assert done.returncode == 2
    assert done.stderr == 'There is no chair "Tuba" in this band; there are: Alto 1, Tenor, Guitar.\n'
    taken = run("chairs", band, "add", "Tenor")
    assert taken.returncode == 1
    assert "There is a chair called Tenor already" in taken.stderr


BOX = "<direction><direction-type><rehearsal>{}</rehearsal></direction-type></direction>"


def blue_harbour(title: str = "Blue Harbour", bars: int = 24) -> bytes:
    """The score of the tune in `inbox`: its third time of bars 9 to 16 is in no part that is engraved here."""
    data = score(
        bars, {n: BOX.format(text) for n, text in MARKS.items()} | {9: BOX.format("B") + START}, {16: end("3")}
    )
    return data.replace(b"<part-list>", f"<movement-title>{title}</movement-title><part-list>".encode(), 1)


def test_a_score_beside_the_parts_gives_bars_and_form(tmp_path: Path, inbox: Path) -> None:
    (inbox / "07 Blue Harbour" / "score.musicxml").write_bytes(blue_harbour())
    short = {mark - (mark > 9): text for mark, text in MARKS.items()}
    (inbox / "07 Blue Harbour" / "Trombone.pdf").write_bytes(sheets.part("Blue Harbour", "Trombone", 23, short))
    done = run("bring", tmp_path / "Night Owls", inbox)
    assert done.returncode == 0, done.stdout
    assert "Trombone has one bar fewer than the score, between B and C." in done.stdout
    assert "1 score" in done.stdout
    tune = next(iter(state_of(tmp_path / "Night Owls").tunes.values()))
    assert tune.chart and tune.chart.source.endswith("score.musicxml")
    assert len(tune.written.steps) == 24 + 2 * 8

    # A part that comes later is held against the score as well.
    late = tmp_path / "Blue Harbour - Baritone Sax.pdf"
    late.write_bytes(sheets.part("Blue Harbour", "Baritone Sax", 23, short))
    done = run("bring", tmp_path / "Night Owls", late)
    assert "has one bar fewer than the score, between B and C." in done.stdout


def test_the_first_of_two_scores_counts(tmp_path: Path, inbox: Path) -> None:
    (inbox / "07 Blue Harbour" / "score.musicxml").write_bytes(blue_harbour())
    (inbox / "07 Blue Harbour" / "score old.musicxml").write_bytes(blue_harbour(bars=30))
    done = run("bring", tmp_path / "Night Owls", inbox)
    assert done.returncode == 1 and "is a second score of Blue Harbour" in " ".join(done.stdout.split())


def test_a_score_that_comes_later_mends_the_form(band: Path, tmp_path: Path) -> None:
    before = next(iter(state_of(band).tunes.values()))
    file = tmp_path / "Blue Harbour.musicxml"
    file.write_bytes(blue_harbour(""))
    assert run("bring", band, file).returncode == 0
    after = next(iter(state_of(band).tunes.values()))
    assert before.chart and after.chart and before.chart.bars == after.chart.bars
    assert (len(before.written.steps), len(after.written.steps)) == (24, 40)


@pytest.mark.parametrize(
    ("name", "data", "why"),
    [
        ("Blue Harbour.mxl", b"PK but no more", "damaged or locked"),
        ("Blue Harbour.xml", b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>", "defines entities"),
        ("Blue Harbour.musicxml", blue_harbour(bars=30), "has 30 bars where the tune has 24: it is left out"),
        ("Red Lantern.musicxml", blue_harbour("Red Lantern"), "no part of it is here: bring them together"),
    ],
)
def test_a_score_that_cannot_be_used_changes_nothing(
    band: Path, tmp_path: Path, name: str, data: bytes, why: str
) -> None:
    before = state_of(band)
    (tmp_path / name).write_bytes(data)
    done = run("bring", band, tmp_path / name)
    assert done.returncode == 1 and why in " ".join(done.stdout.split())
    assert state_of(band) == before


def state_of(band: Path) -> State:
    async def read() -> State:
        log = await Log.open(folder.log_path, epoch="tests")
        try:
            return await log.state()
        finally:
            await log.close()

    folder = BandFolder.open(band, "tests", "2026-11-25")
    try:
        return asyncio.run(read())
    finally:
        folder.close()
