"""Lines stretched over the page count for what they hold."""

from pathlib import Path

import pytest

from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Laying
from collaparte.paper.read import read_part
from paper.laid import GLOVES_GUITAR, PIANO, engraved, part, with_reading
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


ALIKE = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Alike" tagline = ##f }
\relative c'' { \key ees \major \time 4/4 \set Score.rehearsalMarkFormatter = #format-mark-box-alphabet
  \repeat unfold 4 { g4 aes bes c | } \break \mark \default \repeat unfold 4 { g4 aes bes c | } \break
  R1 | \repeat unfold 3 { g4 aes bes c | } \bar "|." }
"""
"""Twelve bars on three lines, one alike the other but for a rest; a mark where the second line begins."""


def test_a_bar_that_began_a_printed_line_stands_no_farther_behind_its_barline_than_others() -> None:
    """Common practice: a line's first notes stand wide of its key, others close behind a barline.

    Found by eye: the white behind the key stayed before them in mid-line, stretched."""
    the = engraved(ALIKE)
    bars = {bar.number: bar for bar in the.cut.table.bars}
    assert 0.9 <= bars[5].columns[0][0] <= bars[6].columns[0][0]
    rest = bars[9]
    before, behind = rest.columns[0][0], rest.width - rest.columns[-1][1]
    assert before == pytest.approx(behind, rel=0.1), "a whole bar's rest stays in the middle of its bar"
    # Its mark stands over the barline all the same.
    mark = the.cut.table.extents[bars[5].words[0].piece]
    assert mark.left < 0.5


def test_a_part_that_is_set_loosely_all_over_is_laid_closer() -> None:
    """Bars of two quarters, three to a line of 180 mm as printed: five go to one of 147 mm at 7 mm staves."""
    pdf = KEPT.with_name("bitmaps-902.pdf").read_bytes()
    lines = lines_of(with_reading(pdf, read_part(pdf)).laying)
    assert sum(map(len, lines)) / len(lines) > 4
    assert max(map(len, lines)) <= 7


def lines_of(laying: Laying) -> list[list[tuple[int, int]]]:
    return [[bar.steps for bar in line.bars] for page in laying.pages for line in page.lines]
