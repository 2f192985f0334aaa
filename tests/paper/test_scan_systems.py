"""Whose loose ink on a scan is: chord names go with the line below them; and how such lines stand.

What each line holds is the chart's own text, set here by the engraver.
"""

from functools import cache

import pytest
from msgspec.structs import replace

import scanning
from collaparte.paper.cutting.pieces import Cut, cut_ink
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.read import read_part
from collaparte.paper.reading import Reading
from paper.laid import engraved

FLAT = scanning.Damage(300, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")

CLOSE = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Close" tagline = ##f }
\paper { system-system-spacing = #'((basic-distance . 9) (minimum-distance . 9) (padding . 0.5)) ragged-last = ##f }
\score { <<
  \new ChordNames \chordmode { c2 d:m7 g:7 c c d:m7 g:7 c c d:m7 g:7 c c d:m7 g:7 c c d:m7 g:7 c c d:m7 g:7 c }
  \new Staff \relative c'' { \set Score.rehearsalMarkFormatter = #format-mark-box-alphabet
    g4 a b c | g2 c | g4 a b c | b2 c, | \break
    b'4 a g a | b2 g | g4 a b c | b2 c | \break
    g4 a b c | g2 c | g4 a b c | b1 \bar "|." }
>> }
"""
"""Three lines of eight chord names, of which the rows stand midway between the staves."""


def unsure(reading: Reading) -> Reading:
    """The reading with no line sure, so that each is laid whole."""
    pages = tuple(
        replace(page, systems=tuple(replace(system, confidence=0.7) for system in page.systems))
        for page in reading.pages
    )
    return replace(reading, pages=pages)


@cache
def close() -> tuple[Reading, Cut]:
    scan, _ = scanning.scanned(engraved(CLOSE).pdf, FLAT, 1)
    reading = unsure(read_part(scan, scans=True))
    return reading, cut_ink(scan, reading)


def test_a_row_of_chord_names_goes_with_the_line_below() -> None:
    _, cut = close()
    wholes = [cut.table.extents[bar.whole] for bar in cut.table.bars]
    assert len(wholes) == 3
    for e in wholes:
        assert e.top < -4.5, "its chord names stand over it"
        assert e.bottom < 4.5, "and no others under it"


def test_lines_of_a_scan_stand_at_one_size_one_below_the_other() -> None:
    reading, cut = close()
    laying = lay(reading, cut.table, printed_order(reading))
    pieces = {bar.whole for bar in cut.table.bars}
    placed = [p for page in laying.pages for p in page.placed if p.piece in pieces]
    assert len({p.space for p in placed}) == 1
    staves = [p.slices[0].x0 - p.slices[0].sx0 * p.space for p in placed]
    assert max(staves) - min(staves) < 0.05
    right = max(p.slices[-1].x1 for p in placed)
    assert right == pytest.approx(147.5, abs=1.0) or placed[0].space == laying.space
    # Lines stand no farther apart than their ink at the size that it has.
    lines = [line for page in laying.pages for line in page.lines]
    assert lines[1].y0 - lines[0].y1 < 14 * placed[0].space


ENDINGS = r"""
\version "2.24.0"
#(set-global-staff-size 16)
\header { title = \markup \abs-fontsize #22 "Happy, Happy Rain"
  instrument = "Cornet" composer = "I. Nobody of Nowhere Lane" tagline = ##f }
\paper { system-system-spacing = #'((basic-distance . 9) (minimum-distance . 9) (padding . 0.5)) ragged-last = ##f }
\score { \new Staff \relative c'' { \set Score.rehearsalMarkFormatter = #format-mark-box-alphabet
    \override DynamicText.extra-offset = #'(0 . 0.3)
    g4 a b c | g2 c | g4 a b c | b2\mf c, | \break
    \repeat volta 2 { b'4 a g a | b2 g | }
    \alternative { { g4 a b c | \break b2 c | } { g'4 a b c | g2 c, | g' c, | g' c, | } }
    \mark \default g4 a b c | b1 \bar "|." }
}
"""
"""Three lines: a dynamic under the first and close over the bracket of an ending that goes on from the second line into
the third, where the next one ends at a mark."""


@cache
def endings() -> Cut:
    scan, _ = scanning.scanned(engraved(ENDINGS).pdf, FLAT._replace(dpi=200), 1)
    return cut_ink(scan, unsure(read_part(scan, scans=True)))


def test_an_ending_stands_over_its_own_line_and_a_dynamic_under_its_own() -> None:
    """Found by eye: a bracket, the end of the one before and the mark behind it were one thing, and given to the line
    above; a dynamic with the bracket under it to the line below."""
    first, second, third = (endings().table.extents[bar.whole] for bar in endings().table.bars)
    assert 4 < first.bottom < 7, "its dynamic stands under it, and not the bracket below"
    assert -7 < second.top < -5, "which stands over the second"
    assert second.bottom < 4, "under which there is nothing"
    assert third.top < -5, "for the third has its brackets and its mark"


def test_a_title_in_the_middle_of_a_scan_stays_there_beside_who_wrote_it() -> None:
    """Found by eye: title and instrument, one under the other, were a word as high as both, and so near to the next."""
    assert [word.align for word in endings().table.title] == ["centre", "centre", "right"]
