"""The ruler that parts make: checked against what stands on the pages that were drawn for it."""

import json
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from collaparte.music.align import align
from collaparte.music.ruler import fault
from collaparte.paper.read import read_part
from collaparte.paper.reading import Reading
from collaparte.paper.ruler import chart, chart_outline, outline
from hub import sheets_of_music as sheets

MARKS = {1: "A", 9: "B", 17: "C", 25: "D"}


def read(bars: int = 32, marks: dict[int, str] | None = None) -> Reading:
    return read_part(sheets.part("Blue Harbour", "Alto", bars, MARKS if marks is None else marks))


def ids(count: int) -> list[str]:
    return [f"b{n}" for n in range(count)]


def test_bars_and_marks_are_those_of_the_page() -> None:
    made = chart([read()], ids(32))
    assert [bar.number for bar in made.bars] == list(range(1, 33))
    assert [(mark.text, mark.bar) for mark in made.marks] == [("A", "b0"), ("B", "b8"), ("C", "b16"), ("D", "b24")]
    assert fault(made) == ""


def test_a_part_lies_on_the_ruler_that_it_made() -> None:
    reading = read()
    made = chart([reading], ids(32))
    assert align(outline(reading), chart_outline(made)).bars == tuple(range(32))


def test_a_mark_holds_when_half_of_the_parts_have_it_under_the_name_that_most_use() -> None:
    few, named = read(marks={1: "A", 17: "C"}), read(marks={1: "Intro", 9: "Verse", 17: "Verse", 25: "Solo"})
    made = chart([few, read(), read(), named], ids(32))
    assert [mark.text for mark in made.marks] == ["A", "B", "C", "D"]
    assert [mark.text for mark in chart([few, few, few, read()], ids(32)).marks] == ["A", "C"]


def test_parts_of_different_lengths_make_no_ruler() -> None:
    with pytest.raises(ValueError, match="as many bars"):
        chart([read(32), read(31)], ids(32))


def truths() -> list[Any]:
    folder = resources.files("collaparte.demo") / "truth"
    tunes = [json.loads(file.read_text(encoding="utf-8")) for file in folder.iterdir() if file.name.endswith(".json")]
    return [next(part for part in tune["parts"] if part["bars"]) for tune in tunes]


@pytest.mark.parametrize("truth", truths(), ids=lambda truth: Path(truth["file"]).stem)
def test_the_ruler_is_what_the_engraver_counted(truth: Any) -> None:
    """The demo band's parts, against what the engraver wrote down while it set them."""
    file = resources.files("collaparte.demo") / "band" / truth["file"]
    first = truth["first_page"]
    reading = read_part(file.read_bytes(), range(first, first + len(truth["pages"])))
    made = chart([reading], ids(reading.positions))
    at = {bar.id: bar.number for bar in made.bars}
    assert fault(made) == ""
    assert (made.bars[-1].number, made.bars[0].number == 0) == (truth["bars"], truth["pickup"])
    assert [(mark.text, at[mark.bar]) for mark in made.marks] == [(m["text"], m["bar"]) for m in truth["marks"]]
    assert {(sign.kind, at[sign.bar]) for sign in made.signs} == {(s["kind"], s["bar"]) for s in truth["signs"]}
    assert [(e.passes, at[e.bar]) for e in made.endings] == [((e["number"],), e["bar"]) for e in truth["endings"]]
    starts = {at[repeat.bar] for repeat in made.repeats if repeat.side == "start"}
    ends = {at[repeat.bar] + 1 for repeat in made.repeats if repeat.side == "end"}
    # An engraver's glyph holds ":" on the side of the bars that are repeated.
    assert starts == {line["before"] for line in truth["barlines"] if line["glyph"].endswith(":")}
    assert ends == {line["before"] for line in truth["barlines"] if line["glyph"].startswith(":")}
