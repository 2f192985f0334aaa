"""Numbers of strings over notes, in circles as small as a fingering, beside rehearsal marks in circles of their own."""

import pytest

import engraving
from collaparte.paper.read import read_part
from paper.laid import engraved

CHART = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\paper { ragged-last = ##f system-system-spacing.padding = #4 }
\relative c'' {
  \set Score.rehearsalMarkFormatter = #format-mark-circle-numbers
  \set stringNumberOrientations = #'(up)
  \mark \default e4 g a b | <c\3>4 <b\2> a g | <a\1> b c d | \break
  \mark \default <c\2> d e f | <g\3>4 <f\3> <e\3> <d\3> | <c\2>1 | \break
  <e\1>4 d c b | <a\3>2 <b\2> | \mark \default c1 | \break d4 e f g | <c,\2>1 \bar "|."
}
"""


@pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")
def test_a_strings_number_is_no_mark_and_hides_none() -> None:
    marks = read_part(engraved(CHART).pdf).marks
    assert [(mark.text, mark.bar) for mark in marks] == [("1", 1), ("2", 4), ("3", 9)]
