"""A hairpin between two lines goes where its dynamic goes, however high the notes of the line under it reach."""

from collaparte.paper.cutting.items import Role
from collaparte.paper.cutting.ownership import own
from paper.laid import engraved

HIGH = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Doors" tagline = ##f }
\paper { indent = 0 system-system-spacing = #'((basic-distance . 5) (minimum-distance . 5) (padding . 0.2)) }
\relative c'' { c4\p c r2 | d2->\f d4 dis | e1\p | d2->\fp\< d4 dis | e1\! |
  \break c''4 c c c | c c c c | c c c c | c c c c | c c c c | c1 | \break c,1 | c1 \bar "|." }
"""
"""Found by eye: the hairpin behind fp was nearer to the notes two octaves up on the next line, and stood over them."""


def test_a_hairpin_goes_where_the_dynamic_beside_it_goes() -> None:
    the = engraved(HIGH)
    items = own(the.cut.pages[0], the.reading, 0).items
    systems = the.reading.pages[0].systems
    strokes = [i for i in items if i.role is Role.THROUGH and i.style[:1] == ("line",)]
    slanted = [i for i in strokes if 0.2 < (i.box[3] - i.box[1]) / systems[0].space < 2]
    assert sorted((i.system, i.bar, i.above) for i in slanted) == [(0, 3, False)] * 2
