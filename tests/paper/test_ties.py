"""A slur broken by a printed line's end is one slur again where its bars stand in one line."""

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.paper.cutting.ink import Shape
from collaparte.paper.cutting.table import BarCut
from collaparte.paper.cutting.ties import bow
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Step
from paper.laid import engraved

TIED = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Tied" tagline = ##f }
\layout { ragged-right = ##t }
\relative c'' {
  \time 4/4
  a4 b c d | e2 a,~ | \break a2 c4( d | e f g a) | g1 \bar "|."
}
"""
"""Five bars on two lines; a tie over the line's end, and a slur within the second line."""


def test_a_tie_over_a_printed_line_end_is_one_bow() -> None:
    the = engraved(TIED)
    left, right = (list(b.open) for b in the.cut.table.bars[1:3])
    assert [(o.right, o.mate >= 0) for o in left] == [(True, True)]
    assert [(o.right, o.mate) for o in right] == [(False, left[0].mate)]
    (line,) = the.laying.pages[0].lines
    placed = [p for p in the.laying.pages[0].placed if p.piece == left[0].mate]
    assert len(placed) == 1
    x0, x1 = placed[0].slices[0].x0, placed[0].slices[-1].x1
    assert line.bars[1].x0 < x0 < line.bars[1].x1 < x1 < line.bars[2].x1
    halves = {left[0].piece, right[0].piece}
    assert not halves & {p.piece for p in the.laying.pages[0].placed}


PHRASED = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Phrased" tagline = ##f }
\layout { ragged-right = ##t }
\relative c'' { a4\( b c d | e2 c | \break b4 c d e | c4 b a g\) | g1 \bar "|." }
"""
"""Five bars on two lines; a slur over the first four."""


def test_a_slur_over_several_bars_and_a_printed_line_end_is_one() -> None:
    """Two halves as printed are two phrases when they meet in one line. Where they meet the bars beside them, the one
    drawn instead is as high as theirs."""
    the = engraved(PHRASED)
    table = the.cut.table
    left, right = (list(b.open) for b in table.bars[1:3])
    assert [o.right for o in left] == [True] and [o.right for o in right] == [False]
    mate = left[0].mate
    assert mate >= 0 and right[0].mate == mate
    (line,) = the.laying.pages[0].lines
    pieces = [p.piece for p in the.laying.pages[0].placed]
    assert pieces.count(mate) == 1
    assert not {left[0].piece, right[0].piece} & set(pieces)
    (whole,) = (p for p in the.laying.pages[0].placed if p.piece == mate)
    assert whole.slices[0].x0 == pytest.approx(line.bars[1].x0, abs=0.5)
    assert whole.slices[-1].x1 == pytest.approx(line.bars[2].x1, abs=0.5)
    first, last = table.extents[table.bars[0].main[0]], table.extents[table.bars[3].main[0]]
    assert table.extents[mate].top < -2
    assert table.extents[mate].top == pytest.approx(min(first.top, last.top), abs=0.8)


def test_at_a_laid_line_end_both_halves_are_as_printed() -> None:
    the = engraved(TIED)
    order = printed_order(the.reading)
    halves = [o.piece for b in the.cut.table.bars[1:3] for o in b.open]
    for part, half in ((order[:2], halves[0]), (order[2:], halves[1])):
        tail = part[0].bar > 1  # behind a page that shows the bars before
        laying = lay(the.reading, the.cut.table, part, first_page=not tail)
        pieces = {p.piece for p in laying.pages[0].placed}
        assert half in pieces
        assert the.cut.table.bars[1].open[0].mate not in pieces


SWELLING = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Swelling" tagline = ##f }
\layout { ragged-right = ##t }
\relative c'' { a4\< b c d | e2 c | \break b4 c d e | c4 b a2\! | a4 b c\> d \break | e2 c2\! |
  a1\< \break c4 d e f\f \bar "|." }
"""
"""Eight bars on four lines: a hairpin over four, one over a line's end that closes, one that opens."""


@pytest.mark.parametrize("first", [1, 4, 6])
def test_a_hairpin_over_a_printed_line_end_has_no_step(first: int) -> None:
    """An engraver lets it begin anew on the next line, less open than it was; in one line its two lines go on."""
    the = engraved(SWELLING)
    table = the.cut.table
    left, right = (list(b.open) for b in table.bars[first : first + 2])
    mates = {o.mate for o in left}
    assert len(mates) == 2 and min(mates) >= 0 and {o.mate for o in right} == mates
    laying = lay(the.reading, table, printed_order(the.reading)[first : first + 2], first_page=False)
    (line,) = laying.pages[0].lines
    pieces = [p.piece for p in laying.pages[0].placed]
    assert mates <= set(pieces) and not {o.piece for o in (*left, *right)} & set(pieces)
    for whole in (p for p in laying.pages[0].placed if p.piece in mates):
        assert whole.slices[0].x0 < line.bars[0].x1 < line.bars[1].x0 < whole.slices[-1].x1
    upper, lower = sorted((table.extents[mate] for mate in mates), key=lambda e: e.top + e.bottom)
    assert lower.top + lower.bottom > upper.top + upper.bottom + 0.3


@given(st.floats(5, 200), st.floats(-20, 20), st.floats(-20, 20), st.floats(0.5, 8), st.sampled_from([-1, 1]))
def test_a_bow_bulges_to_its_side(length: float, y0: float, y1: float, bulge: float, side: int) -> None:
    shape = bow(length, y0, y1, side * bulge * 5, 5.0)
    x0, top, x1, bottom = shape.box
    assert (x0, x1) == pytest.approx((0, length))
    middle = (y0 + y1) / 2 + side * bulge * 5
    reach = top if side < 0 else bottom
    assert reach * side >= (middle * side) - 1e-6


UNEVEN = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Swelling" tagline = ##f }
\layout { ragged-right = ##t }
\relative c'' { g4 a b c | d2\< d | \break a,4 b c d\! | g'1 \bar "|." }
"""
"""Four bars on two lines; a hairpin over the break, its second half under low notes."""


def test_a_hairpin_over_a_printed_line_end_is_level_where_it_is_one() -> None:
    """Common practice: a hairpin opens evenly round a level axis. Its halves stand at two heights in print."""
    the = engraved(UNEVEN)
    table = the.cut.table
    halves = [o for bar in table.bars for o in bar.open]
    mates = list(dict.fromkeys(o.mate for o in halves))
    assert len(mates) == 2 and -1 not in mates
    strokes = []
    for mate in mates:
        ink = the.cut.inks[mate]
        shape = the.cut.pages[ink.page].ink[ink.parts[0].mark]
        assert isinstance(shape, Shape)
        (sub,) = shape.path
        strokes.append((sub.y / ink.space, sub.segments[0][1] / ink.space))
    middle = [(strokes[0][end] + strokes[1][end]) / 2 for end in (0, 1)]
    assert middle[0] == pytest.approx(middle[1], abs=0.01)
    # No nearer to the low notes than printed under them.
    printed = [table.extents[o.piece].bottom for o in halves if not o.right]
    assert max(y for stroke in strokes for y in stroke) >= max(printed) - 0.2


LONG = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Long" tagline = ##f }
\relative c'' { g4\< a b c | d2 b | \break a,4 b c d | a2 c | \break g'4 a b c | d2 b\! \bar "|." }
"""
"""Six bars on three lines under one hairpin, low notes on the second."""


def test_a_hairpin_over_many_bars_keeps_one_axis_on_all_lines() -> None:
    """Found by eye: parts of two printed lines that stood in one line were joined by a slant over two bars."""
    table = engraved(LONG).cut.table
    torn = [[table.extents[o.piece] for o in bar.open] for bar in table.bars if bar.open]
    mates = {bar.index: [table.extents[o.mate] for o in bar.open if o.right] for bar in table.bars if bar.open}
    axes = [
        (min(e.top for e in lines) + max(e.bottom for e in lines)) / 2 for lines in [*torn, *mates.values()] if lines
    ]
    assert len(axes) == 4 + 2
    assert max(axes) - min(axes) < 0.1


CUT = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Cut" tagline = ##f }
\layout { ragged-right = ##t }
\relative c'' {
  a4 b c d~ | d c b a( | c d e f | g f e) d~ | d c b a | c2. d4~ | \break d2 c4 d\glissando | g4 e d c \bar "|."
}
"""
"""Eight bars on two lines: ties over the barlines after bars 1, 4 and 6, the last over a line's end, a slur over bars 2
to 4, a glissando into bar 8."""


def _played(order: Sequence[int]) -> tuple[list[int], list[BarCut]]:
    """The pieces on the pages of a cut, and the part's bars."""
    the = engraved(CUT)
    steps = [Step(bar, bar, join=n > 0 and bar != order[n - 1] + 1) for n, bar in enumerate(order)]
    pages = lay(the.reading, the.cut.table, steps).pages
    return [placed.piece for page in pages for placed in page.placed], list(the.cut.table.bars)


@pytest.mark.parametrize("bar", [2, 5, 7, 8])
def test_where_a_cut_lands_nothing_comes_from_the_bars_left_out(bar: int) -> None:
    """What came to the first note over the barline, within a printed line or over its end, is gone; it is there where
    the bar before it is."""
    (half,) = (o for o in engraved(CUT).cut.table.bars[bar - 1].open if not o.right)
    whole = {half.piece, half.mate} - {-1}
    assert whole & set(_played(range(1, 9))[0])
    assert not whole & set(_played([3, bar])[0])
    assert not whole & set(_played([bar])[0])


def test_a_slur_goes_on_from_the_first_note_where_a_cut_lands_in_it() -> None:
    pieces, bars = _played([1, 3, 4])
    (half,) = bars[2].open
    assert half.landed is not None and half.landed in pieces and half.piece not in pieces
    shown, notes = (engraved(CUT).cut.table.extents[n] for n in (half.landed, bars[2].main[0]))
    assert shown.left == pytest.approx(notes.left, abs=0.1)


def test_a_tie_stays_where_the_bar_before_ends_in_one_from_the_same_note() -> None:
    pieces, bars = _played([1, 2, 3, 4, 2])
    (tie,) = (o for o in bars[1].open if not o.right)
    assert pieces.count(tie.piece) == 2
