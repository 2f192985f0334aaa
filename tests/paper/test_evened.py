"""Lines stretched over the page count for what they hold."""

from pathlib import Path

import pytest

from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Laying
from collaparte.paper.read import read_part
from paper.laid import GLOVES_GUITAR, PIANO, part, with_reading
from paper.test_lay_written import stand_clear

KEPT = Path(__file__).parent / "engraved" / "curves-117.pdf"


def test_a_bar_alone_on_its_line_takes_the_room_of_its_notes() -> None:
    """Bar 36 has four notes and a line of its own in print; in the engraver's other lines stand three bars and more."""
    the = with_reading(KEPT.read_bytes(), read_part(KEPT.read_bytes()))
    notes = [bar for bar in the.cut.table.bars if bar.count == 1]
    alone = next(bar for bar in notes if bar.number == 36)
    assert sum(bar.system == alone.system for bar in notes) == 1
    assert alone.ease < 0.6
    assert sum(bar.ease > 1.4 * alone.ease for bar in notes) > 0.8 * len(notes)
    assert min(map(len, lines_of(the.laying))) > 1


@pytest.mark.parametrize(("wide", "close"), [(65, 67), (66, 68)])
def test_bars_that_are_alike_are_more_alike_beside_each_other_than_printed(wide: int, close: int) -> None:
    """They are the same music in the part's own source, on a loose line and on the last one, printed close."""
    the = part(GLOVES_GUITAR)
    printed = {bar.number: bar for bar in the.cut.table.bars}
    assert printed[wide].system != printed[close].system
    order = [step for step in printed_order(the.reading) if 65 <= step.number <= 68]
    line = lay(the.reading, the.cut.table, order).pages[0].lines[0]
    laid = {order[bar.steps[0]].number: bar.x1 - bar.x0 for bar in line.bars}
    assert laid[wide] / laid[close] < printed[wide].width / printed[close].width


def test_a_chord_name_has_its_flat_within_it() -> None:
    """Found by eye: the flat of the A flat minor sixth was a word by itself, so that no gap of its bar might shrink."""
    the = part(PIANO)
    bar = next(bar for bar in the.cut.table.bars if bar.number == 38)
    assert len(bar.words) == 1


def test_words_of_a_stretched_line_stand_clear() -> None:
    """The last line's gaps count for a third, and no less than its four chord names need."""
    the = part(PIANO)
    order = [step for step in printed_order(the.reading) if step.number > 48]
    stand_clear(the, lay(the.reading, the.cut.table, order))


def test_a_part_that_is_set_loosely_all_over_is_laid_closer() -> None:
    """Bars of two quarters, three to a line of 180 mm as printed: five go to one of 147 mm at 7 mm staves."""
    pdf = KEPT.with_name("bitmaps-902.pdf").read_bytes()
    lines = lines_of(with_reading(pdf, read_part(pdf)).laying)
    assert sum(map(len, lines)) / len(lines) > 4
    assert max(map(len, lines)) <= 7


def lines_of(laying: Laying) -> list[list[tuple[int, int]]]:
    return [[bar.steps for bar in line.bars] for page in laying.pages for line in page.lines]
