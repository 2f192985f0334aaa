"""Numbers of strings over notes, in circles as small as a fingering, beside rehearsal marks in circles of their own."""

import pytest

import engraving
from collaparte.paper.read import read_part
from collaparte.paper.sight.frames import find_frames
from collaparte.paper.sight.strokes import Blob
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


def test_a_slur_over_a_triplets_figure_is_no_frame() -> None:
    """Drawn as two curves that bend alike; an oval of two bends both ways."""
    left, right = (10.0, 13.0), (120.0, 20.0)
    slur = (("c", left, (22.0, 5.0), (110.0, 11.0), right), ("c", right, (110.0, 12.0), (22.0, 6.0), left))
    oval = (
        ("c", left, (10.0, -5.0), (120.0, -5.0), (120.0, 13.0)),
        ("c", (120.0, 13.0), (120.0, 31.0), (10.0, 31.0), left),
    )
    assert find_frames([], [Blob(10.0, 8.0, 120.0, 20.0, slur, False)], 4.0) == []
    assert find_frames([], [Blob(10.0, -0.5, 120.0, 26.5, oval, False)], 4.0) == [(10.0, -0.5, 120.0, 26.5)]
