"""Words over a line's last bar and the next one: moved left where a line ends between them, and clear of the notes."""

import pymupdf

from collaparte.paper.pages.draw_pdf import POINTS, draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import LaidLine, Laying
from paper.laid import Part, engraved

OVER_A_BARLINE = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Over" tagline = ##f }
\relative c'' {
  \key d \major \time 4/4
  d4 e fis g | a2 a | fis1 | e'2 r2 |
  \once \override Score.RehearsalMark.self-alignment-X = #CENTER \mark "D.C. al Fine"
  d,,4 e fis g | \break a2 a | b4 a g fis | e1 | \bar "|."
}
"""
"""Words in the middle over the barline behind bar 4, whose last note is high and stands before them."""


def test_words_at_a_lines_end_stand_over_its_notes_not_on_them() -> None:
    the = engraved(OVER_A_BARLINE)
    assert [(sign.bar, sign.at) for sign in the.reading.signs] == [(4, "end")]
    order = printed_order(the.reading)
    layings = [lay(the.reading, the.cut.table, order, (float(width), 197.0)) for width in range(70, 140, 5)]
    ending = [(x, line) for x in layings for line in x.pages[0].lines if line.bars[-1].steps == (3, 3)]
    met = [_clear(the, laying, line) for laying, line in ending]
    assert any(met)


def _clear(the: Part, laying: Laying, line: LaidLine) -> bool:
    """Whether words at the line's end reach over its high note; they stand clear of it."""
    page = pymupdf.open(stream=draw_cut(the.cut, laying))[0]
    chars = [
        (char["c"], span["font"], pymupdf.Rect(char["bbox"]), char["origin"][1])
        for block in page.get_text("rawdict")["blocks"]
        for row in block.get("lines", ())
        for span in row["spans"]
        for char in span["chars"]
    ]
    near = [c for c in chars if (line.y0 - 20) * POINTS < c[3] < line.y0 * POINTS]
    (head,) = [c for c in near if "Emmentaler" in c[1] and c[2].x0 > line.bars[-1].x0 * POINTS]
    words = [c for c in near if c[0] in "DCalFine" and "Emmentaler" not in c[1] and c[2].x0 > head[2].x0 - 20 * POINTS]
    over = min(c[2].x0 for c in words) < head[2].x1
    assert not over or max(c[3] for c in words) < head[3] - laying.space / 2 * POINTS
    return over
