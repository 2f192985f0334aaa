"""What is no music of a bar: barlines, composers and page numbers over staves of one line, bar numbers before words."""

import pymupdf
from msgspec.structs import replace

from collaparte.paper.pages.lay import printed_order
from collaparte.paper.pages.workings import Workings
from paper.laid import ALTO, engraved, part

DRUMS = r"""
\version "2.24.0"
#(set-global-staff-size 20)
#(set-default-paper-size "a5")
\header { title = "Triangles" composer = "I. Nobody" tagline = ##f }
line = \with { \override StaffSymbol.line-count = #1 \override BarLine.bar-extent = #'(-1 . 1) }
\score { \new StaffGroup <<
  \new Staff \with { \line } { \clef percussion \repeat unfold 12 { c'4 c' r c' | R1 | c'2 c' | } \bar "|." }
  \new Staff \with { \line } { \clef percussion \repeat unfold 12 { R1 | c'4 r c' r | R1 | } }
  \new Staff { \clef bass \repeat unfold 36 { c4 c c c | } }
>> }
"""
"""36 bars on two pages, the first staves of one line."""

TOLD = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Told" tagline = ##f }
\layout { \context { \Score
  barNumberVisibility = #all-bar-numbers-visible \override BarNumber.break-visibility = #end-of-line-invisible
  \override BarNumber.font-size = #0 \override BarNumber.outside-staff-priority = ##f
  \override BarNumber.Y-offset = #4 \override BarNumber.self-alignment-X = #LEFT
  \override TextScript.outside-staff-priority = ##f
  \override TextScript.Y-offset = #4 \override TextScript.X-offset = #0.8
} }
\relative c'' { c4 c c c | c c c c | c c c c | c4^"straight" c c c | c c c c-\tweak Y-offset #-6 _"cup mute" |
  c c c c | c1 \bar "|." }
"""
"""A bar number stands before words, and words under a bar's last note reach over the next."""

NAMED = r"""
\version "2.24.0"
#(set-global-staff-size 16)
\header { title = "Named" tagline = ##f }
<< \new ChordNames \with { majorSevenSymbol = "maj7" } \chordmode {
     \repeat unfold 3 { bes1:maj7 ees:maj7 c:m7 f:7 d:m7 g:7 bes:maj7 ees:maj7 } }
   \new Staff { \improvisationOn \repeat unfold 24 { b'4 b' b' b' | } } >>
"""
"""24 bars with a chord's name over each, four of eight with a raised "maj7"."""


def test_raised_words_of_chords_are_not_sung() -> None:
    bars = engraved(NAMED).cut.table.bars
    assert [len(bar.words) for bar in bars] == [1] * 24
    assert all(word.above for bar in bars for word in bar.words)


def test_short_barlines_composers_and_page_numbers_are_no_music_of_staves_of_one_line() -> None:
    the = engraved(DRUMS)
    assert len(the.reading.pages) > 1 and len(the.cut.table.title) == 2
    # Of bars 2, 5, 8 ... the first stave has a whole bar's rest, which stands in the middle, and nothing else.
    assert {bar.main[0] for bar in the.cut.table.bars if bar.number % 3 == 2} == {-1}
    assert {len(bar.words) for bar in the.cut.table.bars} == {1}


def test_a_bar_number_before_words_goes() -> None:
    the = engraved(TOLD)
    printed, laid = ({word[4] for word in pymupdf.open(stream=pdf)[0].get_text("words")} for pdf in (the.pdf, the.laid))
    assert printed >= {"4", "straight"}
    assert "straight" in laid and not laid & set("234567")


def test_words_under_a_last_note_have_their_room_at_a_lines_end() -> None:
    bars = {bar.number: bar for bar in engraved(TOLD).cut.table.bars}
    assert bars[5].overhang > 3 > bars[4].overhang


def test_only_where_the_music_ends_stands_a_final_barline() -> None:
    """Common practice: where it goes back to the beginning two thin strokes; at "Fine" the final ones."""
    the = part(ALTO)
    printed = list(printed_order(the.reading))
    again = [replace(printed[0], join=True, pass_=2), *(replace(step, pass_=2) for step in printed[1:4])]
    shown = Workings(the.cut.table).showing.show([*printed, *again])
    assert [one.right for one in shown].count("final") == 1 and shown[-1].right == "final"
    assert [one.right for one in shown if one.first == len(printed) - 1] == ["double"]
