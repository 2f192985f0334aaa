"""Chords' diagrams: one thing with their signs, fingers and frets, at their bar, right under their chord's name."""

from collections import Counter

import pymupdf
import pytest

from collaparte.paper.cutting.items import Role
from collaparte.paper.cutting.ownership import Owned, own
from collaparte.paper.pages.draw_pdf import POINTS, draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from paper.laid import Part, engraved

DIAGRAMS = r"""
\version "2.24.0"
\include "predefined-guitar-fretboards.ly"
#(set-global-staff-size 18)
\header { title = "Grids" tagline = ##f }
\paper { indent = 0 system-system-spacing.padding = #1.5 }
grids = \chordmode { c1 | g | d:7 | a:m | e:m | c | f:m6 | a:7.9- | g:7 }
<< \new ChordNames \grids
  \new FretBoards \grids
  \new Staff \relative c'' { c4 c c c | c, c c c |
    \break \mark \default e4 d c c | e g c e | c'' c c c | c1 |
    \break \mark \default c,,4 e g c | c'16 c c c c4 c c | c,1 \bar "|." } >>
"""
"""Nine bars on three lines: chords of which some have fingers, some a fret's number; marks over their names, nearer to
the notes of the line before than to those under them."""

STRINGS = 6
"""A guitar's."""


@pytest.fixture(scope="module")
def the() -> Part:
    return engraved(DIAGRAMS)


@pytest.fixture(scope="module")
def owned(the: Part) -> Owned:
    return own(the.cut.pages[0], the.reading, 0)


def test_a_diagram_is_one_thing_of_its_bar(the: Part, owned: Owned) -> None:
    """Its left strings stand left of the barline in print; signs over it are no words of another line, or a title."""
    grids = [i for i in owned.items if i.style == ("diagram",)]
    bars = [(0, 0), (0, 1), (1, 0), (1, 1), (1, 2), (1, 3), (2, 0), (2, 1), (2, 2)]
    assert sorted((i.system, i.bar) for i in grids) == bars
    assert all(i.above and len(i.marks) >= 11 for i in grids)
    loose = [i for i in owned.items if i.role is Role.WORDS and i.style != ("diagram",)]
    assert not [i.letters for i in loose if set(i.letters) & set("XOxoiv")]
    assert [i.letters for i in owned.head] == [word.text for word in the.reading.head] == ["Grids"]
    assert not [i.letters for i in loose if i.letters.strip() and set(i.letters.strip()) <= set("1234")]


def test_marks_over_a_row_of_chord_names_go_with_it(owned: Owned) -> None:
    marks = {i.letters: (i.system, i.bar, i.above) for i in owned.items if i.letters in ("A", "B")}
    assert marks == {"A": (1, 0, True), "B": (2, 0, True)}


def test_a_diagram_moves_with_its_chords_name(the: Part) -> None:
    """Where bars of two printed lines come to stand on one, all names stand at one height, and all diagrams."""
    order = printed_order(the.reading)
    one = lay(the.reading, the.cut.table, order[4:], (300.0, 197.0))
    (page,) = pymupdf.open(stream=draw_cut(the.cut, one))
    thin = [d["rect"] for d in page.get_drawings() if d["rect"].width < 0.1 * d["rect"].height]
    tops = Counter(round(rect.y0 / POINTS, 1) for rect in thin)
    assert len(one.pages[0].lines) == 1
    assert tops[min(tops)] == 5 * STRINGS, tops


def test_fingers_under_a_diagram_are_no_ending_s_number() -> None:
    """Found by eye: its frets are level lines with a 2 or a 1 under them, and no repeat could be followed."""
    fingered = r"""
\version "2.24.0"
\include "predefined-guitar-fretboards.ly"
#(set-global-staff-size 17)
\header { title = "Cold Tap" tagline = ##f }
grids = \chordmode { a1:7 | e:7 | d:7 | a:7 | d:7 | a:7 }
<< \new ChordNames \grids
  \new FretBoards \with { \override FretBoard.size = #0.8 } \grids
  \new Staff \relative c' { a4 c e g | e gis b d | \repeat volta 2 { d,4 fis a c | }
    \alternative { { a4 c e g } { d,4 fis a c } } | a1 \bar "|." } >>
"""
    reading = engraved(fingered).reading
    assert [(e.passes, e.bar, e.last_bar) for e in reading.endings] == [((1,), 4, 4), ((2,), 5, 5)]
