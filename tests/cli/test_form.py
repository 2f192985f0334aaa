"""`collaparte form`: the written order of MusicXML and PDF, as JSON and as musicians read it."""

import json
from pathlib import Path

import pytest
from msgspec.structs import replace
from typer.testing import CliRunner, Result

from collaparte.cli import app_of
from collaparte.demo import BAND
from collaparte.paper.read import read_part
from collaparte.paper.unsure import unsure
from music.musicxml import END, START, direction, ending, score

PART = next(BAND.rglob("*1st Alto.pdf"))
MARK = "<direction><direction-type><rehearsal>B</rehearsal></direction-type></direction>"


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(app_of(("form",)), ["form", *map(str, words)])


@pytest.fixture
def tune(tmp_path: Path) -> Path:
    file = tmp_path / "tune.musicxml"
    before = {2: MARK + START, 4: ending("1", "start"), 5: ending("2", "start")}
    file.write_bytes(score(6, before, {4: ending("1", "stop", True), 5: ending("2", "stop"), 6: direction("M.D.C.")}))
    return file


def test_json_of_a_score(tune: Path) -> None:
    said = json.loads(run(tune, "--json").output)
    assert (said["version"], said["bars"], said["written_order"]) == (1, 6, "1-4 2-3 5-6")
    assert said["marks"] == [{"text": "B", "bar": 2}]
    assert [(sign["kind"], sign["bar"]) for sign in said["signs"]] == [
        ("repeat-start", 2),
        ("ending", 4),
        ("repeat-end", 4),
        ("ending", 5),
    ]
    assert "M.D.C." in said["diagnosis"]


def test_a_score_in_words(tune: Path) -> None:
    said = run(tune).output
    assert "Written order: The top to bar 4; B second time to bar 3; bar 5 to the end." in said
    for words in ("6 bars", "Mark B", "Repeat begins", "First ending", "Not sure: The words", "Repeat ends"):
        assert words in said


def test_a_part_that_is_read() -> None:
    """The demo band's chart is engraved from sources that say its form (server/collaparte/demo/sources)."""
    said = json.loads(run(PART, "--json").output)
    assert said["bars"] == 98
    assert said["written_order"] == "1-16 9-14 17-66 35-90 9-14 17-32 91-98"
    assert "A third time to bar 14; bar 17 second time to bar 32; bar 91 to the end." in run(PART).output


def test_repeats_after_a_jump_are_a_switch(tmp_path: Path) -> None:
    file = tmp_path / "dc.musicxml"
    file.write_bytes(score(5, {1: START}, {2: END, 3: direction("Fine"), 5: direction("D.C. al Fine")}))
    assert json.loads(run(file, "--json").output)["written_order"] == "1-2 1-5 1-3"
    assert json.loads(run(file, "--json", "--repeats-after-jump").output)["written_order"] == "1-2 1-5 1-2 1-3"


def test_doubtful_signs_of_a_part_are_told() -> None:
    reading = read_part(PART.read_bytes())
    shaky = replace(
        reading,
        signs=tuple(replace(sign, confidence=0.8) for sign in reading.signs[:1]),
        endings=tuple(replace(ending, confidence=0.8) for ending in reading.endings[:1]),
    )
    assert unsure(reading) == []
    assert unsure(shaky) == [
        f"The segno at bar {reading.signs[0].bar} may stand elsewhere.",
        f"The ending over bar {reading.endings[0].bar} was not read for sure.",
    ]


def test_nonsense_is_told(tmp_path: Path) -> None:
    file = tmp_path / "nested.musicxml"
    file.write_bytes(score(5, {1: START, 2: START}, {3: END, 4: END}))
    said = json.loads(run(file, "--json").output)
    assert said["written_order"] == "1-5" and "one inside the other" in said["diagnosis"]


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"Dear band,", "not well-formed XML"),
        (b"%PDF-1.7 but no more", "cut short"),
        (b"<opus/>", "not a MusicXML score"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_sentence(tmp_path: Path, data: bytes, why: str) -> None:
    file = tmp_path / "bad.mxl"
    file.write_bytes(data)
    done = run(file)
    assert done.exit_code == 1 and done.stderr.startswith("bad.mxl") and why in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    done = run(tmp_path / "none.mxl")
    assert done.exit_code == 1 and "There is no file" in done.stderr
