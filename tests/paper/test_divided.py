"""A part that is on one stave in some lines and on two in others."""

import pytest

from collaparte.paper.pages.lay import lay
from collaparte.paper.pages.laying import Step
from paper.laid import engraved

DIVIDED = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Divided" tagline = ##f }
\layout { indent = 0 }
\new StaffGroup <<
  \new Staff \relative c'' { \key d \major \time 3/4 d4^"unis." e fis | g a b |
    \break d,^"div." e fis | g a b | \time 2/4
    \break a g | fis2 \bar "|." }
  \new Staff \with { \RemoveAllEmptyStaves } \relative c'' { \key d \major s2.*2 | a4 b cis | d e fis | s2*2 } >>
"""
"""Six bars on three lines; the second stave is in the middle one only."""


@pytest.mark.parametrize("bars", [(1, 2, 3, 4, 5, 6), (1, 3, 5), (3, 1, 5, 4), (5, 6, 1, 4)])
def test_a_line_has_the_staves_of_its_bars(bars: tuple[int, ...]) -> None:
    """No bar stands with an empty stave, nor a second stave's notes where the line begins without its clef."""
    the = engraved(DIVIDED)
    table = the.cut.table
    staves = {bar.index: len(bar.main) for bar in table.bars}
    assert staves == {1: 1, 2: 1, 3: 2, 4: 2, 5: 1, 6: 1}
    steps = [Step(bar, bar, join=n > 0 and bar != bars[n - 1] + 1) for n, bar in enumerate(bars)]
    (page,) = lay(the.reading, table, steps).pages
    shown = [staves[bars[bar.steps[0]]] for line in page.lines for bar in line.bars]
    assert shown == [len(bar.staves) for line in page.lines for bar in line.bars]
    clefs = {piece for head in table.heads for piece in head.clef}
    for line in page.lines:
        assert len({len(bar.staves) for bar in line.bars}) == 1
        lines = [r for r in page.rules if r.x1 - r.x0 > 20 and line.y0 - 0.5 < r.y0 < line.y1 + 0.5]
        assert len(lines) == 5 * len(line.bars[0].staves)
        near = [p for p in page.placed if p.piece in clefs and line.y0 < p.y < line.y1]
        assert len(near) == len(line.bars[0].staves)
