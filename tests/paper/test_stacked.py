"""Words printed just under chord names stay there, wherever their bar comes to stand."""

from itertools import pairwise

import pytest
from msgspec.structs import replace

from collaparte.paper.cutting.table import Extent
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Placed, Step
from paper.laid import engraved, words_box, written

SOURCE = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Words" tagline = ##f }
\layout { \context { \Score \override ChordName.Y-offset = #0 } }
<<
  \new ChordNames { \override VerticalAxisGroup.nonstaff-relatedstaff-spacing.padding = #0.1
    \chordmode { \repeat unfold 16 { d2:7 ees:9 } } }
  \new Staff \relative c'' { \key d \major
    \repeat unfold 4 { a4^"open" fis g a | b4 a g fis | a2 g | fis2 a | } \bar "|." }
>>
"""


def test_words_under_chord_names_do_not_jump_over_them() -> None:
    """At the heads of lines and where cuts land; the engraver sets them a hair under the names."""
    the = engraved(SOURCE)
    extents = the.cut.table.extents
    under = {w.piece: bar.index for bar in the.cut.table.bars for w in bar.words if w.row < 0}
    names = [extents[w.piece] for bar in the.cut.table.bars for w in bar.words if w.row >= 0]
    assert len(under) == 4 and len(names) == 32
    assert all(extents[piece].top > min(e.bottom for e in names) - 0.3 for piece in under)
    order = printed_order(the.reading)
    cut = (*order[:3], Step(order[8].bar, order[8].number, join=True), *order[9:])
    for steps in (order, cut):
        for width in (60.0, 80.0, 148.0):
            laying = lay(the.reading, the.cut.table, steps, (width, 197.0))
            for page in laying.pages:
                for placed in (p for p in page.placed if p.piece in under):
                    stave = min(
                        (s for line in page.lines for s in line.bars[0].staves), key=lambda y: abs(y - placed.y)
                    )
                    assert abs(placed.y - stave) < 0.5 * laying.space


RAISED = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Marks" tagline = ##f }
\relative c'' { \key d \major
  d4 e fis g | a2 a \textEndMark \markup { \italic "To Coda" } |
  \mark \markup \box \bold "B" d,4 e fis g | a2 a | b4 a g fis | e1 | \bar "|." }
"""


def test_a_mark_comes_down_where_what_raised_it_is_elsewhere() -> None:
    """In print the mark stands on the words over the barline before it; at the head of a line, or where a cut lands,
    those are not there, and a mark is set near its stave (common practice)."""
    the = engraved(RAISED)
    (mark,) = (w for bar in the.cut.table.bars if bar.index == 3 for w in bar.words)
    printed = -the.cut.table.extents[mark.piece].bottom
    assert printed > 4, "the engraver did not raise it"
    order = printed_order(the.reading)
    cut = (order[0], Step(order[2].bar, order[2].number, join=True), *order[3:])
    raised = []
    for steps in (order[2:], cut, order):
        laying = lay(the.reading, the.cut.table, steps, (148.0, 197.0), first_page=False)
        (placed,) = (p for page in laying.pages for p in page.placed if p.piece == mark.piece)
        stave = laying.pages[0].lines[0].bars[0].staves[0]
        raised.append(printed - (placed.y - stave) / laying.space)
    head, landed, in_line = raised
    assert head < printed - 1 and landed < printed - 1 and head > 2
    assert abs(in_line - printed) < 0.1


NARROW = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Narrow" tagline = ##f }
\relative c'' { \key d \major
  d4 e fis g | a2 a | d,1 | \mark \markup \box \bold "B" d4 e fis g | a2 a | b4 a g fis | e1 | \bar "|." }
"""


def test_a_mark_stands_clear_of_a_label_that_is_wider_than_its_bar() -> None:
    the = engraved(NARROW)
    order = printed_order(the.reading)
    again = (*order[:3], replace(order[2], join=True, pass_=2, label="2nd time"), *order[3:])
    laying = lay(the.reading, the.cut.table, again)
    (mark,) = (w.piece for bar in the.cut.table.bars if bar.index == 4 for w in bar.words)
    extent = the.cut.table.extents[mark]
    (page,) = laying.pages
    (placed,) = (p for p in page.placed if p.piece == mark)
    (label,) = (w for w in page.words if w.text == "2nd time")
    left, top, right, bottom = words_box(label)
    assert left < placed.slices[-1].x1 and placed.slices[0].x0 < right, "the label is not over the mark's bar"
    assert placed.y + extent.bottom * placed.space < top or bottom < placed.y + extent.top * placed.space


RESTS = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Rests" tagline = ##f }
\compressMMRests \relative c'' {
  c4 d e f | \mark \markup \box \bold "A" R1*7 | g4 a b c | d1 | R1 | d4 c b a | c1 \bar "|." }
"""


@pytest.mark.parametrize("label", ["4 times", "To Flute, 2nd time"])
@pytest.mark.parametrize(("lands", "count"), [(2, "7"), (4, "5"), (11, "")])
def test_a_label_stands_clear_of_a_rests_count_and_of_the_next_bars_notes(label: str, lands: int, count: str) -> None:
    """By more white than signs need, as its letters are read beside the count's: as printed, drawn anew for a rest cut
    into, and where the label reaches over the bar behind."""
    the = engraved(RESTS)
    order = printed_order(the.reading)
    steps = (*order[:1], replace(order[lands - 1], join=True, label=label), *order[lands:])
    (page,) = lay(the.reading, the.cut.table, steps).pages
    (said,) = (words_box(w) for w in page.words if w.text == label)
    extents, clear = the.cut.table.extents, 0.4 * 7.0 / 4
    ink = [words_box(w) for w in page.words if w.text != label]
    ink += [
        (p.slices[0].x0, p.y + extents[p.piece].top * p.space, p.slices[-1].x1, p.y + extents[p.piece].bottom * p.space)
        for p in page.placed
    ]
    over = [box for box in ink if box[0] < said[2] and said[0] < box[2] and box[1] > said[1] - 1]
    assert over and all(box[1] > said[3] + clear for box in over)
    assert not count or any(w.text == count for w in page.words) or lands == 2


LANDED = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Stomp" tagline = ##f }
\relative c' { \clef bass \key bes \major \set Score.rehearsalMarkFormatter = #format-mark-box-alphabet
  f,4 g a bes | c d e f | \mark \default \repeat volta 2 { bes,4 d8 f~ f2 | es4 c8 a~ a2 |
  \alternative { { c2 f,4 r } { c'2 f4 r } } } g,1 \bar "|." }
"""
"""A mark is printed right over the height of the first note behind it, which is just over the stave."""


@pytest.mark.parametrize("page", [(68.0, 145.0), (110.0, 145.0), (148.0, 197.0)])
def test_the_number_where_a_join_lands_is_clear_of_the_first_note(page: tuple[float, float]) -> None:
    """Found by eye: the printed mark beside the note let the number come as near to it as the mark was."""
    the = engraved(LANDED)
    laying = lay(the.reading, the.cut.table, written(the.reading), page, 4.5)
    steps = written(the.reading)
    bars = {bar.index: bar for bar in the.cut.table.bars}
    met = 0
    for sheet in laying.pages:
        for line in sheet.lines:
            for laid in line.bars[1:]:
                step = steps[laid.steps[0]]
                if not step.join or step.number != 3:
                    continue
                head = min((e for e in bars[step.bar].over if e.right - e.left > 1), key=lambda e: e.left)
                x, y, u = laid.x0, laid.staves[0], laying.space
                number = next(
                    w for w in sheet.words if w.text == "3" and abs(w.y - y) < 8 * u and w.x > line.bars[0].x0
                )
                box = words_box(number)
                met += 1
                over = box[0] < x + head.right * u and x + head.left * u < box[2] + 1.2 * u
                assert not over or box[3] < y + (head.top - 0.1) * u
    assert met == 1


OPEN = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Doors" tagline = ##f }
ch = \chordmode { s1*2 d1:m7 g:7 d:m7 g:7 c:6 a:7 d:m7 g:7 c:6 c:6 }
<< \new ChordNames \ch
  \new Staff \relative c' { \time 4/4 r2 r8 c8 e g | c1 |
    \mark \default \repeat volta 2 { <>^\markup { \italic "Open for solos - backgrounds on cue, 3rd & 4th x only" }
    \improvisationOn b4 b b b | b b b b | b b b b | b b b b | b b b b | b b b b | b b b b | b b b b | b1 | }
    \improvisationOff c''1 \bar "|." } >>
"""
"""Chord names stand higher over the second line, whose last bar has a high note."""


@pytest.mark.parametrize("wide", [68.0, 80.0, 92.0, 110.0])
def test_a_line_of_words_moved_left_is_clear_of_what_stands_over_its_bar_s_start(wide: float) -> None:
    """Found by eye: moved in from the page's edge, the words ran through the mark, the number and what is said over the
    bar's start."""
    the = engraved(OPEN)
    order = [Step(11, 11), Step(3, 3, 2, join=True, label="2nd time"), *(Step(n, n, 2) for n in range(4, 13))]
    laying = lay(the.reading, the.cut.table, order, (wide, 145.0), 4.5)
    extents = the.cut.table.extents
    long = {
        w.piece for bar in the.cut.table.bars for w in bar.words if extents[w.piece].right - extents[w.piece].left > 20
    }
    assert len(long) == 1
    met = 0
    for sheet in laying.pages:
        marks = {w.piece for bar in the.cut.table.bars for w in bar.words if w.row < 0} - long
        others = [words_box(w) for w in sheet.words if w.text in ("2nd time", "3")]
        others += [placed_box(p, extents[p.piece]) for p in sheet.placed if p.piece in marks]
        for x0, y0, x1, y1 in (placed_box(p, extents[p.piece]) for p in sheet.placed if p.piece in long):
            met += 1
            assert not [b for b in others if x0 < b[2] and b[0] < x1 and y0 < b[3] and b[1] < y1]
    assert met == 1


AGAIN = r"""
\version "2.24.0"
#(set-global-staff-size 22)
\header { title = "Long Water" tagline = ##f }
\relative c' { \key f \major \time 4/4 \tempo "Broadly" 4 = 60
  \repeat volta 2 { c4 d e f | g a bes c | d c bes a | g f e d | c d e f | g a bes c | d2 d | c bes | a g | f1 | }
  \alternative { { a4 g f e | c2 r | } { a'4 g f2 | c1 } } f1 \bar "|." }
"""


@pytest.mark.parametrize("wide", [100.0, 120.0, 148.0, 180.0])
def test_no_room_is_kept_over_a_tempo_for_what_it_does_not_meet(wide: float) -> None:
    """Found by eye: the tempo ended half a space beyond its bar, and its line stood twenty spaces down."""
    the = engraved(AGAIN)
    laying = lay(the.reading, the.cut.table, written(the.reading), (wide, 297.0))
    (page,) = laying.pages
    gaps = [(b.y0 - a.y1) / laying.space for a, b in pairwise(page.lines)]
    assert max(gaps) < 16, gaps


def placed_box(placed: Placed, e: Extent) -> tuple[float, float, float, float]:
    x0, x1 = placed.slices[0].x0, placed.slices[-1].x1
    return x0, placed.y + e.top * placed.space, x1, placed.y + e.bottom * placed.space


METER_GONE = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Again" tagline = ##f }
\layout { \context { \Score rehearsalMarkFormatter = #format-mark-box-numbers } }
<< \new ChordNames \chordmode { b2.:6 c:6 f f f f }
   \new Staff { \key aes \major \time 3/4 \mark 10 f'2 c'8. c'16 | c''4 d'' e'' | f'2. | f' | f' | f'
     \bar "|." } >>
"""


def test_a_mark_is_clear_of_a_name_that_a_meter_kept_away_in_print() -> None:
    """Found by eye: where a repeat lands on the first bar its meter is not shown again, and the first chord's name came
    to stand under the mark's frame."""
    the = engraved(METER_GONE)
    table = the.cut.table
    order = [Step(bar, bar, 1, join) for bar, join in ((1, False), (2, False), (1, True), (2, False))]
    laying = lay(the.reading, table, order)
    words = {w.piece: w.row for w in table.bars[0].words if w.above}
    (mark,) = (w.piece for w in table.bars[0].words if table.extents[w.piece].left < 1.0 and w.above)
    name = next(piece for piece in words if piece != mark)
    at = {n: [p for p in laying.pages[0].placed if p.piece == n] for n in (mark, name)}
    assert len(at[mark]) == len(at[name]) == 2
    for framed, chord in zip(at[mark], at[name], strict=True):
        foot = framed.y + table.extents[mark].bottom * framed.space
        top = chord.y + table.extents[name].top * chord.space
        assert framed.slices[-1].x1 < chord.slices[0].x0 or foot < top
