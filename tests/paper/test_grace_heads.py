"""Grace notes at a line's start, beside a longer key on the other stave: they are the bar's, not the line's head."""

from collaparte.paper.pages.lay import lay, printed_order
from paper.laid import engraved

GRACE = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Stairs" tagline = ##f }
\new PianoStaff <<
  \new Staff \relative c'' { \key des \major \time 4/4 f2 ges | aes1 | \break \key d \major
    \grace { a16 b cis } d2 e | fis1 | g2 fis | e1 | fis2 e | d1 \bar "|." }
  \new Staff \relative c { \clef bass \key des \major des2 ees | f1 | \key d \major
    d2 e | fis1 | g2 fis | e1 | fis2 e | d1 }
>>
"""
"""The engraver sets the key of a stave without grace notes behind them, so that the upper key ends before."""


def test_grace_notes_beside_another_stave_s_key_are_shown_once_where_they_are_played() -> None:
    the = engraved(GRACE)
    table = the.cut.table
    bar = next(bar for bar in table.bars if bar.number == 3)
    head = table.heads[bar.head_here]
    assert len(the.cut.inks[head.key[0]].boxes) == 2, "two sharps, and no heads of notes"
    laying = lay(the.reading, table, printed_order(the.reading), (90.0, 160.0))
    assert sum(len(page.lines) for page in laying.pages) > 3
    shown = [p.piece for page in laying.pages for p in page.placed]
    assert [shown.count(piece) for piece in bar.main] == [1, 1]
