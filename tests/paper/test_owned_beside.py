"""What stands over or beside a page's music and is none of it: running heads, page numbers, stamps. Common practice."""

from collections import Counter
from dataclasses import replace
from functools import cache

import pymupdf

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
        f"The large pale words over page {n + 1} are left out." for n in range(len(the.reading.pages))
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
