"""Long words that come to stand over bars that were not near them in print are raised clear of what is there."""

from collaparte.paper.cutting.items import Role
from collaparte.paper.cutting.ownership import own
from collaparte.paper.pages.lay import lay, printed_order
from paper.laid import Part, engraved, written

JUMPS = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Switchback" tagline = ##f }
right = { \once \override Score.RehearsalMark.break-visibility = #end-of-line-visible
  \once \override Score.RehearsalMark.self-alignment-X = #RIGHT }
\relative c'' { \key g \major
  \segnoMark \default e2 fis | g4 r r fis8 g | a4. g8~ g2 |
  r8 a4. b4 c \mark \markup { \small "To Coda" \musicglyph "scripts.coda" } | \bar "||" d2 c | b a | g fis |
  e4 d8 c b4 a \right \mark \markup \italic \bold "D.S. al Coda (no repeats)" \bar "||" \break
  \codaMark \default e'2 fis | g1 \bar "|." }
"""


def over(the: Part, letters: str) -> list[tuple[float, float, float, float]]:
    """The boxes in mm of the laid words that say this."""
    (item,) = (i for i in own(the.cut.pages[0], the.reading, 0).items if i.letters.startswith(letters))
    (piece,) = (n for n, ink in enumerate(the.cut.inks) if {p.mark for p in ink.parts} == set(item.marks))
    e = the.cut.table.extents[piece]
    placed = [p for page in the.laying.pages for p in page.placed if p.piece == piece]
    return [(p.slices[0].x0, p.y + e.top * p.space, p.slices[-1].x1, p.y + e.bottom * p.space) for p in placed]


def test_words_moved_left_from_a_lines_end_are_clear_of_those_of_other_bars() -> None:
    the = engraved(JUMPS)
    (to,), (ds,) = over(the, "To Coda"), over(the, "D.S.")
    assert ds[0] < to[2], "they do not stand over each other here"
    assert ds[3] < to[1] or to[3] < ds[1]
    assert ds[1] > 10 + 20, "nor in the title"


def test_heads_in_the_corner_of_a_signs_box_are_notes() -> None:
    """Where the jump is written out its sign goes, and the notes stay."""
    the = engraved(JUMPS)
    items = own(the.cut.pages[0], the.reading, 0).items
    (sign,) = (i for i in items if i.letters.startswith("To Coda"))
    assert len(sign.marks) == len("ToCoda") + 1
    bars = {b.number: b for b in the.cut.table.bars}
    heights = {n: min(e.top for e in bars[n].over) for n in (4, 5)}
    assert heights[4] < -3 and heights[5] < -4  # c''' and d''' stand that high
    assert sum(i.role is Role.SOLID and i.bar in (3, 4) and i.system == 0 for i in items) > 8
    assert lay(the.reading, the.cut.table, written(the.reading)).pages
    assert lay(the.reading, the.cut.table, printed_order(the.reading), (100.0, 160.0)).pages
