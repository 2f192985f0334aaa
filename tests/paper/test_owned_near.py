"""What stands close to something else's: hooks where two endings meet, raised figures under a barline, old numbers."""

from paper.laid import Part, engraved
from paper.test_owned import letters

MEETING = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Meeting" tagline = ##f }
\relative c'' {
  \override Score.VoltaBracket.shorten-pair = #'(0.0 . -0.35)
  \repeat volta 2 { c4 d e f | g2 e | }
  \alternative { { c1 | d1 } { e1 | c1 } }
  c4 d e f | g1 \bar "|."
}
"""
"""The first ending's line reaches to where the second's begins."""

CROWDED = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Crowded" tagline = ##f }
\paper { system-system-spacing = #'((basic-distance . 9) (minimum-distance . 9) (padding . 0.3)) ragged-last = ##f }
\score { <<
  \new ChordNames \chordmode { \time 1/8 s8*24 | \time 4/4 \repeat unfold 4 { d4:m7 ees:9 fis:m7.5- g:7 } }
  \new Staff \relative c'' { \time 1/8 \omit Staff.TimeSignature \repeat unfold 24 c8 | \break
    \time 4/4 \repeat unfold 16 g'4 \bar "|." }
>> }
"""
"""A line of twenty-four barlines, and close under it a line of sixteen chord names."""


def brackets(the: Part, bar: int) -> float:
    """How far the ending's bracket over a bar hangs down."""
    (cut,) = (b for b in the.cut.table.bars if b.number == bar)
    extents = [the.cut.table.extents[b.piece] for b in cut.brackets]
    return max(e.bottom - e.top for e in extents)


def test_each_ending_keeps_the_hook_at_its_own_end() -> None:
    the = engraved(MEETING)
    first, second = the.reading.endings
    assert (first.bar, first.last_bar, second.bar) == (3, 4, 5)
    boxes = [
        (bar.number, [(round(b[0] - ink.x, 1), round(b[2] - b[0], 1)) for b in ink.boxes if b[3] - b[1] > ink.space])
        for bar in the.cut.table.bars
        for ink in [the.cut.inks[b.piece] for b in bar.brackets]
    ]
    hooks = {number: len(found) for number, found in boxes}
    assert hooks[3] == hooks[4] == hooks[5] == 1, boxes


def test_raised_figures_stay_with_their_chord_whatever_barline_stands_over_them() -> None:
    the = engraved(CROWDED)
    under = [bar for bar in the.cut.table.bars if bar.system == 1]
    over = [bar for bar in the.cut.table.bars if bar.system == 0]
    assert len(under) == 4 and not any(bar.words for bar in over)
    names = [letters(the, w.piece) for bar in under for w in bar.words]
    assert len(names) == 16, names


NUMBERED = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Numbered" tagline = ##f }
\relative c'' {
  \override Score.BarNumber.break-visibility = ##(#t #t #t)
  \set Score.barNumberVisibility = #all-bar-numbers-visible \bar ""
  \compressMMRests { c4 d e f | g1 | R1*3 | R1*2 \bar "||" | R1*4 \bar "||" | c4 d e f | g1 \bar "|." }
}
"""
"""Every bar is numbered, the long rests too: 3, 6 and 8 stand at their barlines, the counts 3, 2 and 4 over them."""


def test_the_old_number_of_a_long_rest_goes_and_its_count_stays() -> None:
    the = engraved(NUMBERED)
    assert [(b.number, b.count) for b in the.cut.table.bars if b.count > 1] == [(3, 3), (6, 2), (8, 4)]
    words = {b.number: [letters(the, w.piece) for w in b.words] for b in the.cut.table.bars}
    assert {number: found for number, found in words.items() if found} == {3: ["3"], 6: ["2"], 8: ["4"]}
