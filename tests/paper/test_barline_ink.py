"""Barlines are drawn anew: nothing of the printed ones stays in their bars' ink, however they were drawn."""

import pytest

from collaparte.paper.cutting.ink import Subpath
from collaparte.paper.cutting.seen import apart
from collaparte.paper.read import read_part
from paper.laid import engraved, with_reading

SHAKER = r"""
\version "2.24.0"
#(set-global-staff-size 19)
\header { title = "Market Day" tagline = ##f }
\layout { \context { \DrumStaff \override StaffSymbol.line-count = #1 drumStyleTable = #percussion-style
  \override BarLine.bar-extent = #'(-HALF . HALF) } }
hits = \drummode { cl8 cl16 cl cl8 cl cl4 r | cl4 cl cl cl | \break \repeat percent 4 { cl8 cl cl4 cl8 cl cl4 }
  \break cl1 | cl1 \bar "|." }
<< \new DrumStaff \hits \new DrumStaff \hits >>
"""


@pytest.mark.parametrize("half", ["1", "1.5", "2"])
def test_barlines_of_staves_of_one_line_are_not_drawn_twice(half: str) -> None:
    """Found by eye: of barlines three spaces high the old ones stayed, and signs stood beside the middle of bars."""
    the = engraved(SHAKER.replace("HALF", half))
    repeated = [bar for bar in the.cut.table.bars if bar.number in (4, 5, 6)]
    assert len(repeated) == 3
    for bar in repeated:
        assert [len(the.cut.inks[piece].boxes) for piece in bar.main] == [3, 3], "a stroke and two dots"
        left, right = bar.columns[0][0], bar.width - bar.columns[-1][1]
        assert abs(left - right) < 2.5, (bar.number, bar.columns, bar.width)


def box(x0: float, y0: float, x1: float, y1: float, *, back: bool = False) -> Subpath:
    corners = [(x1, y0), (x1, y1), (x0, y1)]
    return Subpath(x0, y0, corners[::-1] if back else corners, closed=True)


BARLINE, BIT, LAST = box(10, 0, 11, 32), box(10, 0, 11, 0.4), box(50, 0, 51, 32)


def test_boxes_of_one_path_that_lie_on_each_other_are_boxes_all_the_same() -> None:
    """Found by eye: barlines drawn with a bit over each end were taken for a frame, and stood at the heads of lines."""
    assert apart([BARLINE, BIT, LAST], False) == [[BARLINE], [BIT], [LAST]]


@pytest.mark.parametrize("even_odd", [True, False])
def test_a_box_left_out_of_another_makes_a_frame(even_odd: bool) -> None:
    """ISO 32000-1, 8.5.3.3: by the nonzero rule what is drawn in the opposite sense, by the other either."""
    path = [box(0, 0, 20, 20), box(1, 1, 19, 19, back=not even_odd)]
    assert apart(path, even_odd) == [path]


def test_no_barline_of_a_chart_drawn_so_stands_in_a_bar() -> None:
    pytest.importorskip("verovio")
    import second_engraving
    from remade import maker, remade

    pdf, _, _ = second_engraving.chart(77001204)
    the = with_reading(again := remade(pdf, maker(77002004), 77002004), read_part(again))
    space = the.reading.pages[0].systems[0].space
    for bar in the.cut.table.bars:
        for x0, y0, x1, y1 in (part for piece in bar.main for part in the.cut.inks[piece].boxes):
            assert x1 - x0 < 5 * space or y1 - y0 < 2 * space, bar.number
