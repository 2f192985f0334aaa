"""The tune's and the chair's names at the head of a page, close over its first line: they are no words of its music.

All found by eye on charts made for it: they stood over bar 3, between two lines, or lacked their figure.
"""

import pytest

from collaparte.paper.cutting.ownership import own
from paper.laid import engraved

CROWDED = r"""
\version "2.24.0"
#(set-global-staff-size 17)
\paper { indent = 0 top-margin = 10\mm markup-system-spacing.basic-distance = #1 markup-system-spacing.padding = #0.2 }
\header { title = "Slow Canal" subtitle = "from Four Waters" instrument = "Violin II" composer = "H. Ostrander"
  tagline = ##f }
\relative c' { \time 3/4 \tempo "Andante" 4 = 84
  ees4\downbow( f g | aes2 bes4) | c2.( | des4 c bes | aes2.~ | aes4) r ees'-0\upbow |
  \mark \default <>^"div." << { c'2. | bes2 aes4 | g2. } \\ { aes,2. | g2 f4 | ees2. } >> | g2. \bar "|." }
"""
"""Words of the music right under the chair's name."""

SWING = r"""
\version "2.24.0"
#(set-global-staff-size 19)
\paper { indent = 0 }
\header { title = "Lantern Street" subtitle = "for the Tuesday Band" instrument = "2nd Tenor Sax" poet = "Medium Swing"
  composer = "M. Aldous" arranger = "arr. P. Quill" tagline = ##f }
\relative c'' { \key d \major \tempo "Medium Swing" 4 = 144 r8 fis-^ r4 a8 b a fis | e4 r8 d~ d2 | a'1\fermata | d,1 |
  fis8 g a b a2 | fis8 a d a fis2 | d1 | e1 \bar "|." }
"""
"""How it is to be played is said in the row of the chair's name too."""

SHAKER = r"""
\version "2.24.0"
#(set-global-staff-size 19)
\paper { indent = 0 }
\header { title = "Market Day" instrument = "Percussion (Shaker, Congas)" composer = "J. Pellegrin" tagline = ##f }
hits = \drummode { \repeat unfold 8 { cl8 cl16 cl cl8 cl cl8 cl16 cl cl8 cl } cl1 \bar "|." }
\layout { \context { \DrumStaff \override StaffSymbol.line-count = #1 drumStyleTable = #percussion-style
  \override BarLine.bar-extent = #'(-1.5 . 1.5) } }
<< \new DrumStaff \hits \new DrumStaff \hits >>
"""
"""Who wrote it is right over the first line's last notes."""

CHAIR = r"""
\version "2.24.0"
#(set-global-staff-size 16)
\paper { markup-system-spacing.padding = #6 property-defaults.fonts.serif = "Nimbus Mono PS" }
\header { title = "Chart" instrument = "Chair 1" composer = "Nobody" tagline = ##f }
\relative c'' { \mark \default c4 d e f | g a b c | d c b a | g1 | c,4 d e f | g1 \bar "|." }
"""
"""A typewriter's wide space before a figure far over the line."""


@pytest.mark.parametrize(
    ("source", "said"),
    [
        (CROWDED, ["Slow Canal", "from Four Waters", "Violin II", "H. Ostrander"]),
        (SWING, ["Lantern Street", "for the Tuesday Band", "2nd Tenor Sax", "M. Aldous", "arr. P. Quill"]),
        (SHAKER, ["Market Day", "Percussion (Shaker, Congas)", "J. Pellegrin"]),
        (CHAIR, ["Chart", "Chair", "1", "Nobody"]),
    ],
    ids=["under it words", "under it a tempo", "under it notes", "a figure"],
)
def test_the_names_at_the_head_of_a_page_stay_there(source: str, said: list[str]) -> None:
    the = engraved(source)
    owned = own(the.cut.pages[0], the.reading, 0)
    words = {one for item in owned.head for one in item.letters.split()}
    assert words == {one for line in said for one in line.split()}
    sung = [item.letters for item in owned.items if set(item.letters.split()) & (words - {"1"})]
    assert [s for s in sung if s != "Medium Swing"] == []
