"""What stands over or beside a page's music and is none of it: running heads, page numbers, stamps. Common practice."""

from collections import Counter
from dataclasses import replace
from functools import cache
from typing import Literal

import pymupdf
import pytest

from collaparte.paper.read import read_part
from paper.laid import ALTO, KEY_CHANGE, Part, engraved, part, with_reading
from remade import PLAIN, remade


def words(pdf: bytes) -> Counter[str]:
    return Counter(word[4] for page in pymupdf.open(stream=pdf) for word in page.get_text("words"))


@cache
def with_heads(more: str) -> Part:
    pdf = remade(part(ALTO).pdf, replace(PLAIN, more=more))
    return with_reading(pdf, read_part(pdf))


def test_running_heads_and_page_numbers_are_no_words_of_a_bar() -> None:
    """The first page's own stands with the title, and what stands at the foot there."""
    the = with_heads("footers")
    plain = words(with_heads("nothing").laid)
    said = words(the.laid) - plain
    assert words(the.pdf)["Trumpet"] == len(the.reading.pages) > 1
    assert said["Trumpet"] == 1 and sum(said[n] for n in "12") <= 2
    assert plain - words(the.laid) == Counter()


def test_what_is_stamped_over_the_music_is_left_out_and_told() -> None:
    the = with_heads("stamp")
    assert words(the.pdf)["Perusal"] == len(the.reading.pages)
    assert words(the.laid) == words(with_heads("nothing").laid)
    assert [note for note in the.laying.notes if "left out" in note] == [
        f"The large words over the music of page {n + 1} are left out." for n in range(len(the.reading.pages))
    ]


def test_large_words_that_slant_over_the_music_are_left_out_in_black_too() -> None:
    plain = part(ALTO)
    document = pymupdf.open(stream=plain.pdf)
    middle = pymupdf.Point(200, 500)
    turned = (middle, pymupdf.Matrix(1, 1).prerotate(45))
    document[0].insert_text(middle, "Rehearsal copy", fontsize=50, morph=turned)
    pdf = document.tobytes()
    the = with_reading(pdf, plain.reading)
    assert "Rehearsal" not in "".join(page.get_text() for page in pymupdf.open(stream=the.laid))
    assert words(the.laid) == words(plain.laid)
    assert len(the.laying.notes) == 1 + len(plain.laying.notes)


def test_a_long_line_at_the_foot_of_a_short_part_is_not_sung() -> None:
    plain = engraved(KEY_CHANGE)
    document = pymupdf.open(stream=plain.pdf)
    height = document[0].rect.height
    document[0].insert_text((40, height - 30), "Copyright by nobody at all. No rights reserved.", fontsize=12)
    the = with_reading(document.tobytes(), plain.reading)
    assert not any(word.row >= 0 for bar in the.cut.table.bars for word in bar.words)
    assert [bar.words for bar in the.cut.table.bars] == [bar.words for bar in plain.cut.table.bars]
    assert words(the.laid) - words(plain.laid) == Counter(
        ["Copyright", "by", "nobody", "at", "all.", "No", "rights", "reserved."]
    )


STAMPED, SIDE = (
    "The large words over the music of page 1 are left out.",
    "The words up the side of page 1 are left out.",
)
OVER = {
    "pale": ("Perusal copy", 60, 35, (0.8, 0.8, 0.8), (60, 230), STAMPED),
    "level": ("Property of nobody", 40, 0, (0.7, 0.7, 0.7), (60, 120), STAMPED),
    "side": ("Property of nobody, do not copy", 9, 90, (0, 0, 0), (20, 300), SIDE),
    "foot": ("Property of nobody, number 1234", 9, 0, (0, 0, 0), (60, 815), ""),
}
"""Words, their size, how much they rise (degrees), their colour, where they begin, and what is said of them."""


def _outlined(pdf: bytes) -> Part:
    """A part by a maker who draws all text as outlines."""
    drawn = remade(pdf, replace(PLAIN, text="outlines"))
    return with_reading(drawn, read_part(drawn))


@cache
def _plain() -> Part:
    return _outlined(engraved(KEY_CHANGE).pdf)


@pytest.mark.parametrize("kind", OVER)
def test_stamps_and_lines_beside_the_music_are_no_bars_when_they_are_outlines(kind: str) -> None:
    text, size, rise, colour, at, said = OVER[kind]
    document = pymupdf.open(stream=engraved(KEY_CHANGE).pdf)
    place = pymupdf.Point(at)
    document[0].insert_text(place, text, fontsize=size, color=colour, morph=(place, pymupdf.Matrix(-rise)))
    the, plain = _outlined(document.tobytes()), _plain()
    assert the.laying.notes == (*((said,) if said else ()), *plain.laying.notes)
    assert [len(bar.words) for bar in the.cut.table.bars] == [len(bar.words) for bar in plain.cut.table.bars]
    assert [len(the.cut.inks[n].parts) for n in _mains(the)] == [len(plain.cut.inks[n].parts) for n in _mains(plain)]
    assert len(the.cut.table.foot) == (kind == "foot")


@pytest.mark.parametrize("music", ["cid", "outlines"])
def test_cues_in_grey_are_no_stamp(music: Literal["cid", "outlines"]) -> None:
    """Cues are set small or grey (common practice); rests and clefs among them are as large as letters."""
    grey = " ".join(
        rf"\override {one}.color = #(rgb-color 0.65 0.65 0.65)"
        for one in ("NoteHead", "Stem", "Rest", "Flag", "Beam", "Accidental")
    )
    cue = grey + r" r4 g16 gis r16 g r4 r16 a r8 | r2 r4 r16 b8. | \key aes \major"
    source = KEY_CHANGE.replace(r"\key aes \major", cue)
    pdf = remade(engraved(source).pdf, replace(PLAIN, music=music, colour="grey"))
    the = with_reading(pdf, read_part(pdf))
    assert the.laying.notes == ()
    assert sum(min(mark.colour, default=0.0) > 0.6 for page in the.cut.pages for mark in page.ink) > 40


def _mains(the: Part) -> list[int]:
    return [piece for bar in the.cut.table.bars for piece in bar.main]
