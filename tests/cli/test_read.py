"""`collaparte read`: words for people, JSON for programs, pictures to look at, one sentence when it cannot."""

import json
from pathlib import Path

import pymupdf
import pytest
from typer.testing import CliRunner

from collaparte.cli import app_of
from collaparte.demo import BAND

PART = next(BAND.rglob("*1st Alto.pdf"))
RUN = CliRunner()
APP = app_of(("read",))


def test_it_says_what_is_understood() -> None:
    done = RUN.invoke(APP, ["read", str(PART)])
    assert done.exit_code == 0
    for words in ("1st Alto", "98 bars", "Mark C", "16 bars rest, bars 35 to 50", "D.S. al Coda", "1st ending"):
        assert words in done.output


def test_it_says_how_tall_the_staves_are_where_one_sits() -> None:
    said = " ".join(RUN.invoke(APP, ["read", str(PART), "--tablet", "210x297", "--distance", "80"]).output.split())
    assert "Staves: 7.5 mm (32', readable) on paper; 7.5 mm (32', readable) with the page whole on 210 x 297 mm" in said
    read = json.loads(RUN.invoke(APP, ["read", str(PART), "--json", "--stave", "8"]).output)["legibility"]
    assert read["laid"] == {"stave_mm": 8.0, "minutes": 36.7, "verdict": "good"} and read["whole"]["stave_mm"] < 5.1
    done = RUN.invoke(APP, ["read", str(PART), "--tablet", "big"])
    assert done.exit_code == 1 and done.stderr.count("\n") == 1 and "148x197" in done.stderr


def test_json_has_what_other_programs_need() -> None:
    read = json.loads(RUN.invoke(APP, ["read", str(PART), "--json"]).output)
    assert read["bars"] == 98 and read["version"] >= 1 and read["pickup"] is False
    assert {"text", "bar"} <= read["marks"][0].keys()
    assert {"bar", "count"} <= read["multirests"][0].keys()
    assert {"kind", "bar"} <= read["signs"][0].keys()
    assert {"number", "bar"} <= read["endings"][0].keys()
    system = read["pages"][0]["systems"][0]
    assert len(system["bbox"]) == 4 and {"top", "bottom"} <= system["staves"][0].keys()
    assert {"x", "kind"} <= system["barlines"][0].keys() and {"index", "x0", "x1"} <= system["bars"][0].keys()
    assert read["pages"][0]["ms"] > 0


def test_pictures_of_the_pages_asked_for(tmp_path: Path) -> None:
    done = RUN.invoke(APP, ["read", str(PART), "--picture", str(tmp_path / "seen.png"), "--pages", "1-2"])
    assert done.exit_code == 0
    assert sorted(file.name for file in tmp_path.iterdir()) == ["seen-1.png", "seen-2.png"]
    assert pymupdf.Pixmap(str(tmp_path / "seen-1.png")).width > 500


def test_corrections_in_a_file_are_put_in_first(tmp_path: Path) -> None:
    read = json.loads(RUN.invoke(APP, ["read", str(PART), "--json"]).output)
    rest = read["multirests"][0]
    here = [rest["page"], (rest["box"][0] + rest["box"][2]) / 2, (rest["box"][1] + rest["box"][3]) / 2]
    file = tmp_path / "mended.json"
    file.write_text(json.dumps([{"type": "rest", "at": here, "count": rest["count"] + 2}]))
    mended = json.loads(RUN.invoke(APP, ["read", str(PART), "--json", "--corrections", str(file)]).output)
    assert mended["bars"] == read["bars"] + 2 and mended["multirests"][0]["count"] == rest["count"] + 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[{", "holds no corrections"),
        ('[{"type": "smudge", "at": [0, 1, 1]}]', "holds no corrections"),
        ('[{"type": "rest", "at": [0, 1, 1], "count": 0}]', "A rest counts 1 to"),
    ],
)
def test_corrections_that_cannot_be_meant_are_one_sentence(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "mended.json"
    file.write_text(text)
    done = RUN.invoke(APP, ["read", str(PART), "--corrections", str(file)])
    assert done.exit_code == 1 and said in done.output and done.output.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["nowhere.pdf"], "There is no file nowhere.pdf: see"),
        (["."], ". is a folder: name a file in it."),
        ([__file__], "not a PDF"),
        ([str(PART), "--pages", "7-3"], "names no pages"),
        ([str(PART), "--half", "2"], "has no page that parts share and that can be cut between them: leave --half out"),
        ([str(PART), "--pages", "1", "--picture", f"{PART}/page.png"], "page.png cannot be written to"),
    ],
)
def test_what_cannot_be_read_is_one_sentence(arguments: list[str], said: str) -> None:
    done = RUN.invoke(APP, ["read", *arguments])
    assert done.exit_code == 1 and said in done.stderr and len(done.stderr.strip().splitlines()) == 1
