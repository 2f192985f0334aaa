"""Lines stretched over the page count for what they hold."""

from pathlib import Path

from collaparte.paper.pages.laying import Laying
from collaparte.paper.read import read_part
from paper.laid import with_reading

KEPT = Path(__file__).parent / "engraved" / "curves-117.pdf"


def test_a_bar_alone_on_its_line_takes_the_room_of_its_notes() -> None:
    """Bar 36 has four notes and a line of its own in print; in the engraver's other lines stand three bars and more."""
    the = with_reading(KEPT.read_bytes(), read_part(KEPT.read_bytes()))
    notes = [bar for bar in the.cut.table.bars if bar.count == 1]
    alone = next(bar for bar in notes if bar.number == 36)
    assert sum(bar.system == alone.system for bar in notes) == 1
    assert alone.ease < 0.6
    assert sum(bar.ease == 1 for bar in notes) > 0.8 * len(notes)
    assert min(map(len, lines_of(the.laying))) > 1


def lines_of(laying: Laying) -> list[list[tuple[int, int]]]:
    return [[bar.steps for bar in line.bars] for page in laying.pages for line in page.lines]
