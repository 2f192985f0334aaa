"""Corrections on the next edition of a part: they follow the lines that are the same, and the rest is told."""

import pymupdf

from collaparte.paper.corrected import corrected
from collaparte.paper.followed import followed
from collaparte.paper.read import read_part
from collaparte.paper.reading import Reading
from collaparte.wire.corrections import BarlineHere, Correction, NumberHere, Place, RestHere, Said, SystemHere
from hub import sheets_of_music as sheets

MARKS = {1: "A", 9: "B"}


def _place(reading: Reading, line: int, bar: int) -> Place:
    system = reading.pages[0].systems[line]
    box = system.bars[bar]
    return Place(0, (box.x0 + box.x1) / 2, (system.bbox[1] + system.bbox[3]) / 2)


def _corrected(reading: Reading, said: list[Said]) -> Reading:
    return corrected(reading, [Correction(str(n), "", one) for n, one in enumerate(said)])


def test_what_was_said_of_a_line_follows_it_to_another_place_and_size() -> None:
    old = pymupdf.open(stream=sheets.part("Blue Harbour", "Alto 1", 16, MARKS))
    new = pymupdf.open()
    page = new.new_page(width=700, height=990)
    page.show_pdf_page(pymupdf.Rect(10, 40, 690, 990), old, 0)
    before, after = read_part(old.tobytes()), read_part(new.tobytes())
    at = _place(before, 1, 2)
    said: list[Said] = [
        RestHere(at, 5),
        BarlineHere(_place(before, 2, 0), "", at.x),
        NumberHere(_place(before, 0, 0), 1),
    ]
    there, lost = followed(said, before, after)
    assert not lost
    was, now = _corrected(before, said), _corrected(after, there)
    assert [(b.number, b.count) for s in now.pages[0].systems for b in s.bars] == [
        (b.number, b.count) for s in was.pages[0].systems for b in s.bars
    ]
    assert now.bars == was.bars != before.bars


def test_a_line_that_is_another_takes_no_correction_and_keeps_none_from_the_others() -> None:
    before = read_part(sheets.part("Blue Harbour", "Alto 1", 16, MARKS))
    document = pymupdf.open(stream=sheets.part("Blue Harbour", "Alto 1", 16, MARKS))
    x0, top, x1, bottom = before.pages[0].systems[1].bbox
    x = x0 + 0.55 * (x1 - x0)
    document[0].draw_line((x, top), (x, bottom), width=0.8)
    after = read_part(document.tobytes())
    assert len(after.pages[0].systems[1].bars) == len(before.pages[0].systems[1].bars) + 1
    on_it, beside = RestHere(_place(before, 1, 2), 5), RestHere(_place(before, 2, 2), 5)
    assert followed([on_it, beside], before, after) == ([beside], [on_it])
    drawn = SystemHere(0, ((x0, top, x1, bottom),))
    assert followed([drawn], before, after) == ([], [drawn])
    assert followed([drawn], before, before) == ([drawn], [])
