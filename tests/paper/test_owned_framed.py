"""Framed instructions are whole, with their frames, at the bar they begin over; lines of one text go together."""

from collaparte.paper.cutting.ownership import Owned, own
from paper.laid import Part, engraved

REED = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "The Understudy" tagline = ##f }
\relative c'' { \compressEmptyMeasures \time 2/4 c4 d | e f |
  <>^\markup { \box "Vamp – cut on cue" } \repeat volta 2 { c2( | d) | } a8 g f e | d4 r |
  <>^\markup \box "take Piccolo" R2*11 | <>^"Picc." c'4 d | e f | g2 | c,4 d | e c | g'2 \bar "|." }
"""
"""Long words in frames, one over a rest that is narrower than they."""

SOLO = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Road Map" tagline = ##f }
\paper { indent = 0 system-system-spacing = #'((basic-distance . 7) (minimum-distance . 6) (padding . 0.4)) }
\relative c'' { \compressEmptyMeasures c,4 c c c | b b b b | c c c c | a,1^"low" | \break
  c'4 d e f | g a b c | c b a g | <>^\markup \column { "Solo (2 choruses)" \italic "pickup last time" } R1*4 |
  g8 a b d e4-> r | c1 \bar "|." }
"""
"""A text of two lines under notes far below the stave of the line before."""


def owned(the: Part) -> Owned:
    return own(the.cut.pages[0], the.reading, 0)


def test_long_words_in_a_frame_are_one_with_it() -> None:
    """Found by eye: the frame's upper side was taken for an ending's bracket, and its right side went with that."""
    the = engraved(REED)
    framed = {i.letters: i for i in owned(the).items if i.style == ("frame",)}
    assert set(framed) == {"Vamp – cut on cue", "take Piccolo"}
    for item in framed.values():
        assert len(item.marks) == len(item.letters.replace(" ", "")) + 4
    assert not [i for i in owned(the).items if i.style == ("bracket",)]


def test_framed_words_stand_at_the_bar_that_they_begin_over() -> None:
    """Found by eye: what is to be taken in a rest stood behind it, where it is played."""
    the = engraved(REED)
    numbers = {}
    for item in (i for i in owned(the).items if i.style == ("frame",)):
        numbers[item.letters] = the.reading.pages[0].systems[item.system].bars[item.bar].number
    assert numbers == {"Vamp – cut on cue": 3, "take Piccolo": 7}


def test_the_lines_of_one_text_go_together() -> None:
    """Found by eye: the first of two lines stood under the line before, whose low notes were nearer."""
    the = engraved(SOLO)
    words = {i.letters: (i.system, i.above) for i in owned(the).items if " " in i.letters}
    assert words == {"Solo (2 choruses)": (1, True), "pickup last time": (1, True)}
