"""How far apart the staves of a line stand: no words in the next stave's ink, none nearer to it than to their own."""

from collections.abc import Iterator

import pytest

from collaparte.paper.cutting.table import Word
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Laying
from paper.laid import Part, engraved

HYMN = r"""
\version "2.24.0"
#(set-global-staff-size 16)
\header { title = "At the Lock" tagline = ##f }
words = \lyricmode { The gates are shut for eve -- ning and all the boats are low, my jol -- ly pi -- lot,
  the gates are shut for eve -- ning and all the boats are low, my jol -- ly pi -- lot. }
notes = { \key g \major \time 3/4 }
\new ChoirStaff <<
  \new Staff \new Voice = "s" \relative c'' { \notes b2\p b4 | a2 b4 | c2 b4 | b2 d4 | e2 c4 | b2 a4 | g2 d'4 | a2 a4 |
    \break b2 b4 | a2 b4 | c,2 b4 | b'2 d4 | e2 c4 | b2 a4 | g2 d'4 | a2 a4 \bar "|." }
  \new Lyrics \lyricsto "s" \words  \new Lyrics \lyricsto "s" \words
  \new Staff \new Voice = "a" \relative c' { \notes g'2 g4 | fis2\fermata g4 | g2 fis4 | g2 g4 | g2 a4 | g2 e4 | e2 e4 |
    fis2 fis4 | \break g2 g4 | fis2 g4 | g2\fermata fis4 | g2 g4 | g2 a4 | b'2( e,4) | e2 e4 | fis2 fis4 }
  \new Lyrics \lyricsto "a" \words  \new Lyrics \lyricsto "a" \words
  \new Staff \new Voice = "b" \relative c { \notes \clef bass g'2 g4 | d2 g4 | c,2 d4 | g2 g4 | c,2 a4 | b2 c4 | e2 e4 |
    d2 d4 | \break g2 g4 | d2 g4 | c,2 d4 | g2 g4 | c,2 a4 | b2\fermata c4 | e2 e4 | d2 d4 }
>>
"""
"""Sixteen bars on two lines, whose words stand lower under the second one, with holds over the next staves' notes."""

TAB = r"""
\version "2.24.0"
#(set-global-staff-size 17)
\header { title = "Tap" tagline = ##f }
music = \relative c' { \clef "treble_8" g'4 a b c | d e d b | g1 | a4 b c d | e d c b | g1 \bar "|." }
\new StaffGroup << \new Staff \music \new TabStaff { \music } >>
"""

SPACES_CLEAR = 1.5
"""From words to the next stave (common practice: nearer to the stave that they are sung to)."""


@pytest.mark.parametrize("page", [(148.0, 197.0), (120.0, 160.0), (237.0, 148.0)])
def test_sung_words_are_nearer_to_their_own_stave_than_to_the_next(page: tuple[float, float]) -> None:
    the = engraved(HYMN)
    laying = lay(the.reading, the.cut.table, printed_order(the.reading), page)
    seen = 0
    for stave, low, middles in words_under(the, laying):
        own, following = middles[stave], middles[stave + 1]
        assert following - 2 * laying.space - low > (SPACES_CLEAR - 0.05) * laying.space, (low, own, following)
        seen += 1
    assert seen > 60


def test_a_tablature_is_as_clear_of_its_stave_as_another_stave_is() -> None:
    """Found by eye: the 8 under its clef stood on the T of TAB; six lines are higher than five."""
    the = engraved(TAB)
    for page in the.laying.pages:
        for line in page.lines:
            upper, lower = line.bars[0].staves
            halves = 2.0 + 2.5 * the.cut.table.apart[1]
            assert lower - upper >= (halves + 3.0 - 0.01) * the.laying.space


def words_under(the: Part, laying: Laying) -> Iterator[tuple[int, float, tuple[float, ...]]]:
    """Of words in rows under a stave that is not the last: the stave, how low they reach, all staves' middles (mm)."""
    words: dict[int, Word] = {w.piece: w for bar in the.cut.table.bars for w in bar.words if w.row >= 0 and not w.above}
    for page in laying.pages:
        for placed in page.placed:
            word = words.get(placed.piece)
            line = min(page.lines, key=lambda li: max(li.y0 - placed.y, placed.y - li.y1))
            if word is not None and word.stave + 1 < len(line.bars[0].staves):
                low = placed.y + the.cut.table.extents[placed.piece].bottom * placed.space
                yield word.stave, low, line.bars[0].staves
