"""A stave of notes over one of tablature, whose six lines stand half as far again apart (common practice), with chords'
diagrams, on two pages."""

from itertools import pairwise

import pymupdf
import pytest

from collaparte.paper.cutting.items import Role
from collaparte.paper.cutting.ownership import own
from collaparte.paper.pages.draw_pdf import POINTS
from collaparte.paper.pages.lay import lay, printed_order
from paper.laid import Part, engraved

TABLATURE = r"""
\version "2.24.0"
\include "predefined-guitar-fretboards.ly"
#(set-global-staff-size 18)
\header { title = "A Cold Fence" instrument = "Guitar" composer = "C. Nobody" tagline = ##f }
ch = \chordmode { e1:m g d a:m | c g a d }
m = { \key g \major \tempo "Slowly" 4 = 72
  e8 g b e' g' e' b g | g, b, d g b d' g' b | \repeat volta 2 { d a d' fis' a' fis' d' a |
  a, e a c' e' c' a e } | \pageBreak c e g c' e' c' g e | g, b, d g b d' g' b | a, e a c' e' c' a e |
  d1 \bar "|." }
<< \new ChordNames \ch \new FretBoards \ch
  \new StaffGroup << \new Staff { \clef "treble_8" \m } \new TabStaff { \clef moderntab \m } >> >>
"""
STRINGS = 6


@pytest.fixture(scope="module")
def the() -> Part:
    return engraved(TABLATURE)


def test_lines_of_a_tablature_are_as_far_apart_as_in_print(the: Part) -> None:
    """Its figures stand on its lines, so that nothing but barlines is between those."""
    page = the.laying.pages[0]
    u = the.laying.space
    for line in page.lines:
        _, middle = line.bars[0].staves
        lines = [r for r in page.rules if r.x1 - r.x0 > 100 and abs((r.y0 + r.y1) / 2 - middle) < 5 * u]
        lines = sorted(lines, key=lambda r: r.y0)[-STRINGS:]
        assert [b.y0 - a.y0 for a, b in pairwise(lines)] == pytest.approx([1.5 * u] * 5, abs=0.02)
        bottom = lines[-1].y1
        assert [r for r in page.rules if r.x1 - r.x0 < u and abs(r.y1 - bottom) < 0.1 * u], "barlines end there"
        for n in (0, 2, 4):  # in the others are a repeat's dots
            between = (lines[n].y1 + lines[n + 1].y0) / 2
            assert _ink(the, (line.bars[0].x0, between - 0.1 * u, line.bars[-1].x1 - u, between + 0.1 * u)) < 0.03


def _ink(the: Part, box: tuple[float, float, float, float]) -> float:
    """The share of a box of the first laid page (mm) that is dark."""
    clip = pymupdf.Rect(*(v * POINTS for v in box))
    seen = pymupdf.open(stream=the.laid)[0].get_pixmap(dpi=300, clip=clip, colorspace=pymupdf.csGRAY)
    return sum(v < 128 for v in seen.samples) / len(seen.samples)


def test_a_repeat_s_dots_are_drawn_anew_where_a_tablature_has_them(the: Part) -> None:
    """In the spaces beside its middle one; the printed ones go, and no key is told from them."""
    assert len({head.key_name for head in the.cut.table.heads}) == 1
    dots = [d for p in the.laying.pages for d in p.dots]
    staves = [b.staves for p in the.laying.pages for line in p.lines for b in line.bars]
    off = {
        round(min((abs(d.y - s[-1]) for s in staves), key=lambda y: abs(y - 2.6)) / the.laying.space, 1) for d in dots
    }
    assert 1.5 in off


def test_no_chord_or_diagram_of_a_later_page_is_taken_for_its_running_title(the: Part) -> None:
    """ "A" and "C" are words of the head; the running title itself goes."""
    owned = own(the.cut.pages[1], the.reading, 1)
    words = [i.letters for i in owned.items if i.role is Role.WORDS and i.bar >= 0]
    assert {"C", "G", "A", "D"} <= set(words) and "Guitar" not in words
    assert sum(i.style == ("diagram",) for i in owned.items) == 4


def test_a_line_of_tablature_at_the_foot_of_a_page_stays_on_it(the: Part) -> None:
    for height in range(110, 200, 15):
        laying = lay(the.reading, the.cut.table, printed_order(the.reading), (148.0, float(height)))
        for page in laying.pages:
            assert max(r.y1 for r in page.rules) < height - 10 + 0.1


@pytest.mark.parametrize("stave", [7.0, 10.0])
def test_what_stands_high_over_the_first_line_is_clear_of_the_title(the: Part, stave: float) -> None:
    """Chords' names over their diagrams are taller than the white that a title leaves over tall staves."""
    extents, titles = the.cut.table.extents, {w.piece for w in the.cut.table.title}
    laying = lay(the.reading, the.cut.table, printed_order(the.reading), stave=stave)
    page = laying.pages[0]
    over = [p for p in page.placed if p.piece not in titles]
    lowest = max(p.y + extents[p.piece].bottom * p.space for p in page.placed if p.piece in titles)
    assert min(p.y + extents[p.piece].top * p.space for p in over) > lowest + 0.5 * laying.space
    assert all(line.y1 <= 197 - 10 + 0.01 for p in laying.pages for line in p.lines)
