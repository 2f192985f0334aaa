"""An ossia over some bars: its notes, its clef and its staff lines go where those bars go."""

import pymupdf
import pytest

from collaparte.paper.cutting.ownership import own
from collaparte.paper.pages.draw_pdf import POINTS, draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Laying, Step
from paper.laid import Part, engraved

SOURCE = r"""
\version "2.24.0"
#(set-global-staff-size 19)
\header { title = "Either Way" tagline = ##f }
\new Staff = "main" \relative c'' {
  \time 4/4 c4 d e f | g a b c | a g f e | d c b a | \break
  c d e f | g a b c |
  << { c,4 d e f | g2 a }
     \new Staff = "ossia" \with { alignAboveContext = "main" \remove "Time_signature_engraver"
       \override StaffSymbol.staff-space = #(magstep -3) fontSize = #-3 firstClef = ##t }
     \relative c'' { c8 d e f g a b c | e,2 f } >> |
  d,4 c b a | \break c d e f | g1 \bar "|."
}
"""
"""Bars 7 and 8 have an ossia of ten notes over them, its notes as near to the line before as to theirs."""
NOTES, CLEF = 10, 1


@pytest.fixture(scope="module")
def the() -> Part:
    return engraved(SOURCE)


def small(the: Part, laying: Laying) -> list[float]:
    """Where the small signs stand across pages of one line each, in mm: an ossia's are two thirds as large."""
    spans = [
        span
        for page in pymupdf.open(stream=draw_cut(the.cut, laying))
        for block in page.get_text("rawdict")["blocks"]
        for line in block.get("lines", ())
        for span in line["spans"]
        if "Emmentaler" in span["font"]
    ]
    usual = max(span["size"] for span in spans)
    return [
        c["bbox"][0] / POINTS for span in spans if span["size"] < 0.8 * usual for c in span["chars"] if c["c"] != " "
    ]


def test_its_ink_is_owned_by_the_bars_that_it_stands_over(the: Part) -> None:
    owned = own(the.cut.pages[0], the.reading, 0)
    sizes = {i.style[2] for i in owned.items if i.style[:1] == ("glyph",)}
    little = [(i.system, i.bar) for i in owned.items if i.style[:1] == ("glyph",) and i.style[2] == min(sizes)]
    assert sorted(little) == [(1, 2)] * 9 + [(1, 3)] * 2
    uprights = [i for i in owned.items if i.box[2] - i.box[0] < 0.1 * (i.box[3] - i.box[1]) and i.bar == 4]
    assert all(i.box[3] > the.reading.pages[0].systems[1].bbox[1] for i in uprights if i.system == 1)


def test_its_notes_stand_over_their_bars_and_its_clef_before_them(the: Part) -> None:
    laying = lay(the.reading, the.cut.table, printed_order(the.reading), (300.0, 197.0))
    bars = {bar.steps[0] + 1: bar for page in laying.pages for line in page.lines for bar in line.bars}
    signs = sorted(small(the, laying))
    assert len(signs) == NOTES + CLEF
    assert bars[6].x0 < signs[0] < bars[7].x0
    assert all(bars[7].x0 < x < bars[7].x1 for x in signs[1:9])
    assert all(bars[8].x0 < x < bars[8].x1 for x in signs[9:])


def test_a_cut_that_lands_on_it_shows_its_clef(the: Part) -> None:
    order = printed_order(the.reading)
    lands = order[6]
    laying = lay(the.reading, the.cut.table, [*order[:2], Step(lands.bar, lands.number, join=True), *order[7:]])
    assert len(small(the, laying)) == NOTES + CLEF


def test_bars_without_it_show_nothing_of_it(the: Part) -> None:
    order = printed_order(the.reading)
    laying = lay(the.reading, the.cut.table, order[:6])
    assert not small(the, laying)
