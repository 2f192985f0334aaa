"""Braces and brackets at the left of a line are the print's. What each part has is its engraver's own setting."""

import pymupdf
import pytest

import second_engraving
from collaparte.paper.cutting.pieces import cut_ink
from collaparte.paper.cutting.table import Group
from collaparte.paper.read import read_part
from paper.laid import ALTO, FERRY_PIANO, KEYS, Part, engraved, part
from paper.test_owned import GROUP

BRACE = (Group(0, 1, True),)

ALONE = r"""
\version "2.24.0"
#(set-global-staff-size 16)
\header { title = "Alone" tagline = ##f }
one = \relative c'' { g4 a b c | g1 | \break g4 a b c | g1 \bar "|." }
\score { << \new Staff \one \new Staff \one >> }
"""
"""Two staves that only a line joins."""


@pytest.mark.parametrize(("name", "groups"), [(FERRY_PIANO, BRACE), (KEYS, BRACE), (ALTO, ())])
def test_the_demos_keyboards_have_their_brace(name: str, groups: tuple[Group, ...]) -> None:
    assert part(name).cut.table.groups == groups


def test_a_brace_in_two_halves_is_one() -> None:
    """Two outlines, as the second engraver draws it."""
    seed = next(n for n in range(9004, 9100) if second_engraving.chart(n)[1].staves == 2)
    pdf = second_engraving.chart(seed)[0]
    assert cut_ink(pdf, read_part(pdf)).table.groups == BRACE


def test_a_bracket_round_some_of_the_staves_stays_round_those() -> None:
    the = engraved(GROUP)
    assert the.cut.table.groups == (Group(0, 1, False),)
    line = the.laying.pages[0].lines[0]
    staves = line.bars[0].staves
    left = [r for r in the.laying.pages[0].rules if r.x1 < 2.0 and r.x1 - r.x0 > 0.5 and r.y1 - r.y0 > 7]
    assert left and all(r.y1 < staves[2] - 3.5 for r in left if r.y0 < staves[2])


def test_staves_that_a_line_joins_have_no_bracket() -> None:
    the = engraved(ALONE)
    assert not the.cut.table.groups
    assert not the.laying.pages[0].braces
    assert min(r.x0 for r in the.laying.pages[0].rules) == pytest.approx(0.5, abs=0.01)


def test_a_brace_spans_its_staves_on_every_line_of_the_pdf() -> None:
    the: Part = part(KEYS)
    for page, drawn in zip(the.laying.pages, pymupdf.open(stream=the.laid).pages(), strict=True):
        assert len(page.braces) == len(page.lines)
        for box, line in zip(page.braces, page.lines, strict=True):
            assert (box.y0, box.y1) == (pytest.approx(line.y0, abs=0.2), pytest.approx(line.y1, abs=0.2))
            clip = pymupdf.Rect(*(v * 72 / 25.4 for v in (box.x0, box.y0, box.x1, box.y1)))
            ink = drawn.get_pixmap(dpi=200, clip=clip, colorspace=pymupdf.csGRAY)
            rows = [min(ink.samples[n * ink.stride : n * ink.stride + ink.width]) for n in range(1, ink.height - 1)]
            assert max(rows) < 245, "it is unbroken, its thin ends too"


ONE_LINE = r"""
\version "2.24.0"
#(set-global-staff-size 17)
\header { title = "Market" tagline = ##f }
beat = \drummode { tri4 tri tri tri | tri1 | tri4 tri tri tri | tri1 \bar "|." }
alone = \with { drumStyleTable = #percussion-style \override StaffSymbol.line-count = #1 }
\new StaffGroup << \new DrumStaff \with { \alone } \beat \new DrumStaff \with { \alone } \beat
  \new Staff \relative c { \clef bass d4 a d a | d1 | d4 a d a | d1 } >>
"""


def test_barlines_go_through_staves_of_one_line_where_they_do_in_print() -> None:
    """On one line alone a barline is a space long to both sides (common practice); so is what joins the staves."""
    the = engraved(ONE_LINE)
    assert the.cut.table.lines == (1, 1, 5) and the.cut.table.parted == ()
    page, u = the.laying.pages[0], the.laying.space
    first, _, last = page.lines[0].bars[0].staves
    through = [r for r in page.rules if r.y1 - r.y0 > last - first]
    assert {round(r.y0 - first + u, 1) for r in through if r.x0 > 5} == {0.0}
    assert min(r.y0 for r in through) > first - 1.5 * u
