"""Clef, key and meter where a bar is landed at: drawn when they are others than before, and only then."""

from functools import cache

import pytest
from msgspec.structs import replace

from collaparte.paper.cutting.pieces import cut_ink
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import LaidBar, LaidPage, Laying, Step
from paper.laid import ALTO, KEYS_CHANGE, Part, engraved, part

TURNS = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Turns" tagline = ##f }
\relative c'' {
  \key ees \major \time 4/4
  g4 aes bes c | d2 d | c4 bes aes g | f1 | g4 f ees d | ees1 |
  \key c \major \time 3/4 c'4 d e | f2. | e4 d c | b2. | c4 b a | g2. | a4 b c | d2. |
  \time 4/4 \clef bass c,,4 d e f | g1 | a4 g f e | c1 \bar "|."
}
"""
"""Three flats in 4/4; from bar 7 no flats in 3/4; from bar 15 4/4 in the bass clef: each changes in mid-line."""

THREE_LINES = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Three Lines" tagline = ##f }
\relative c'' { \time 3/4 g4 a b | c2. | b4 a g \break a b c | d2. | c4 b a \break g a b | c2. | g2. \bar "|." }
"""
"""Three bars to a line."""


@cache
def turns() -> Part:
    return engraved(TURNS)


def laid(*bars: int, first_page: bool = True) -> Laying:
    steps: list[Step] = []
    for bar in bars:
        steps.append(Step(bar, bar, 1, bool(steps) and bar != steps[-1].bar + 1))
    the = turns()
    return lay(the.reading, the.cut.table, steps, first_page=first_page)


def bars_of(laying: Laying) -> list[tuple[LaidPage, LaidBar]]:
    return [(page, bar) for page in laying.pages for line in page.lines for bar in line.bars]


def pieces_in(laying: Laying, place: int) -> set[int]:
    """The pieces that begin within the bar at this place of the order."""
    page, bar = bars_of(laying)[place]
    return {
        p.piece
        for p in page.placed
        if abs(p.y - bar.staves[0]) < 0.01 and bar.x0 - 0.01 <= p.slices[0].x0 and p.slices[-1].x1 <= bar.x1 + 0.5
    }


def meters_in(laying: Laying, place: int) -> list[str]:
    found = pieces_in(laying, place)
    return [meter.name for meter in turns().cut.table.meters if found & set(meter.pieces)]


def test_the_meters_that_the_reading_found_are_the_tables() -> None:
    table = turns().cut.table
    assert [meter.name for meter in table.meters] == ["4/4", "3/4"]
    assert [table.meters[bar.meter_here].name for bar in table.bars] == ["4/4"] * 6 + ["3/4"] * 8 + ["4/4"] * 4


def test_nothing_is_drawn_again_in_print() -> None:
    laying = lay(turns().reading, turns().cut.table, printed_order(turns().reading))
    assert all(not meters_in(laying, place) for place in range(18))


def test_a_jump_into_another_meter_draws_it() -> None:
    laying = laid(1, 2, 9, 10, 3, 4)
    assert [meters_in(laying, place) for place in range(6)] == [[], [], ["3/4"], [], ["4/4"], []]


def test_behind_a_line_laid_whole_the_meter_that_holds_is_not_drawn_again() -> None:
    the = engraved(THREE_LINES)
    page = the.reading.pages[0]
    unsure = tuple(replace(s, confidence=0.3) if n == 1 else s for n, s in enumerate(page.systems))
    reading = replace(the.reading, pages=(replace(page, systems=unsure), *the.reading.pages[1:]))
    table = cut_ink(the.pdf, reading).table
    assert [bar.whole >= 0 for bar in table.bars] == [False] * 3 + [True] + [False] * 3
    laying = lay(reading, table, printed_order(reading))
    drawn = [p.piece for page in laying.pages for p in page.placed]
    # Once at the head of all: as the bar's own, not as the table's that is drawn where one is due.
    assert [table.meters[bar.meter_here].name for bar in table.bars] == ["3/4"] * 7
    assert not set(table.meters[0].pieces) & set(drawn)


def test_a_jump_within_the_meter_draws_none() -> None:
    laying = laid(1, 2, 5, 6, 3)
    assert all(not meters_in(laying, place) for place in range(5))


def test_a_jump_to_where_the_meter_is_printed_draws_it_once() -> None:
    laying = laid(1, 2, 7, 8)
    assert all(not meters_in(laying, place) for place in range(4))


def test_a_jump_to_a_line_whose_head_shows_the_meter_draws_it_only_where_it_differs() -> None:
    """Found by eye: wherever a part began again its meter stood in mid-line, as if it changed there."""
    the = turns()
    (meter,) = the.cut.table.bars[0].meter
    for bars, times in (((1, 2, 3, 1, 2), 1), ((1, 2, 8, 9, 1, 2), 2)):
        laying = laid(*bars)
        assert [p.piece for page in laying.pages for p in page.placed].count(meter) == times
        assert not any(meters_in(laying, place) for place in range(len(bars)) if bars[place] in (1, 2, 3))


def test_a_wide_rest_at_the_beginning_is_not_drawn_anew_where_a_meter_may_be_in_its_ink() -> None:
    """Found by eye: a scan that began with eight bars' rest had no meter, as that is cut out with the rest."""
    the = part(ALTO)
    first = replace(the.cut.table.bars[0], columns=((0.5, 16.0),))
    assert first.count > 1 and first.meter_here >= 0
    untold = replace(first, meter=(), meter_width=0.0, meter_here=-1)
    for bar, drawn in ((first, False), (untold, True)):
        table = replace(the.cut.table, bars=(bar, *the.cut.table.bars[1:]))
        page = lay(the.reading, table, printed_order(the.reading)).pages[0]
        assert (bar.main[0] in {p.piece for p in page.placed}) == drawn


def test_music_that_begins_later_shows_its_meter_and_a_tail_does_not() -> None:
    assert meters_in(laid(9, 10, 11), 0) == ["3/4"]
    assert meters_in(laid(9, 10, 11, first_page=False), 0) == []


def test_a_key_taken_back_is_drawn_as_naturals() -> None:
    """Three flats: three naturals of four strokes, on the lines and spaces of B, E and A (the treble clef's third
    line, fourth space and second space: common practice)."""
    with_key, without = laid(1, 2, 9, 10), laid(1, 2, 3, 4)
    bar = bars_of(with_key)[2][1]
    u, middle = with_key.space, bar.staves[0]

    def strokes(laying: Laying) -> list[tuple[float, float, float, float]]:
        place = bars_of(laying)[2][1]
        return [
            tuple(r) if isinstance(r, tuple) else (r.x0, r.y0, r.x1, r.y1)
            for r in laying.pages[0].rules
            if place.x0 <= r.x0 and r.x1 < place.x1 and r.x1 - r.x0 < u and abs(r.y0 - middle) < 3 * u
        ]

    found = strokes(with_key)
    assert len(found) == 12 and not strokes(without)
    centres = [round(((a[1] + b[3]) / 2 - middle) / u, 1) for a, b in zip(found[::4], found[1::4], strict=True)]
    assert [round(2 * c) / 2 for c in centres] == [0.0, -1.5, 0.5]


def test_a_key_that_differs_is_drawn_in_mid_line() -> None:
    key = turns().cut.table.heads[turns().cut.table.bars[0].head].key[0]
    laying = laid(9, 10, 3, 4)
    assert [key in pieces_in(laying, place) for place in range(4)] == [False, False, True, False]


def test_a_clef_that_changed_within_the_last_line_holds_for_what_follows() -> None:
    table = turns().cut.table
    names = [table.heads[bar.head_here].clef_name for bar in table.bars]
    assert len(set(names[:14])) == len(set(names[14:])) == 1 and names[0] != names[14]


def test_a_jump_into_another_clef_draws_it() -> None:
    table = turns().cut.table
    treble, bass = (table.heads[table.bars[n].head_here].clef[0] for n in (0, 16))
    laying = laid(1, 2, 16, 17, 3)
    assert [treble in pieces_in(laying, n) for n in range(5)] == [False, False, False, False, True]
    assert [bass in pieces_in(laying, n) for n in range(5)] == [False, False, True, False, False]


def test_signs_have_room_of_their_own() -> None:
    """A sign at a join ends before the bar's first note begins."""
    laying = laid(1, 2, 9, 10, 3, 4, 16, 17)
    table = turns().cut.table
    signs = {p for m in table.meters for p in m.pieces} | {p for h in table.heads for p in (*h.clef, *h.key)}
    for page, bar in bars_of(laying):
        inside = [p for p in page.placed if bar.x0 <= p.slices[0].x0 < bar.x1 and abs(p.y - bar.staves[0]) < 0.01]
        ends = [p.slices[-1].x1 for p in inside if p.piece in signs]
        notes = [p.slices[0].x0 for p in inside if p.piece not in signs]
        if ends and notes:
            assert max(ends) < min(notes)


def test_a_key_at_a_join_keeps_off_the_first_note() -> None:
    """Found by reading pages again: a note close behind its barline stood so near to a key that its last sharp seemed
    to be the note's own. More white than an accidental has before its note is common practice."""
    the = engraved(KEYS_CHANGE)
    laying = lay(the.reading, the.cut.table, [Step(1, 1), Step(2, 2), Step(6, 6, join=True)])
    (page, bar), table = bars_of(laying)[2], the.cut.table
    six = table.bars[5]
    (key,) = table.heads[six.head_here].key
    (end,) = (p.slices[-1].x1 for p in page.placed if p.piece == key and p.slices[0].x0 >= bar.x0)
    (main,) = (p for p in page.placed if p.piece == six.main[0])
    first = next(cut.x0 for cut in main.slices if cut.sx0 >= six.columns[0][0] - 0.01)
    assert first - end > (0.7 + six.columns[0][0]) * laying.space


def test_a_line_with_two_changes_of_key_keeps_each_for_its_own_bars() -> None:
    the = engraved(KEYS_CHANGE)
    cut = the.cut
    signs = [
        sum(len(cut.inks[piece].boxes) for piece in cut.table.heads[bar.head_here].key if piece >= 0)
        for bar in cut.table.bars
    ]
    assert signs == [1, 1, 0, 0, 4, 4, 4, 4, 4, 4, 4]


def test_from_a_last_key_to_one_without_signs() -> None:
    """From four sharps in the last line back to the bars in C: the sharps are taken back."""
    the = engraved(KEYS_CHANGE)
    order = list(printed_order(the.reading))
    back = [*order[:10], replace(order[2], join=True, pass_=2), replace(order[3], pass_=2)]
    laying = lay(the.reading, the.cut.table, back)
    assert [bar.steps for page in laying.pages for line in page.lines for bar in line.bars][-1] == (11, 11)


KEYS_ON_TWO_LINES = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Keys" tagline = ##f }
\relative c'' { \key ees \major \time 4/4 ees4 d c bes | aes1 | g4 f g aes | bes1 \bar "||"
  \key c \major c4 d e f | g1 | e4 d c d | \break \key g \major g4 fis e d | d1 | \bar "||"
  \key d \major d4 e fis g | a1 | b4 a g fis | \bar "||" \key c \major c4 d e f | c1 \bar "|." }
"""
"""Three flats; none from bar 5; one sharp from bar 8, where a line begins; two from bar 10; none from bar 13."""


def key_of(bar: int) -> int:
    return 3 if bar < 5 else 0 if bar < 8 else 1 if bar < 10 else 2 if bar < 13 else 0


def by_stroke(laying: Laying) -> list[int]:
    """How many naturals are drawn on each line: a natural has two uprights of one height, 2.05 spaces (rules)."""
    page = laying.pages[0]
    uprights = [r for r in page.rules if r.x1 - r.x0 < 0.3 and abs(r.y1 - r.y0 - 2.05 * laying.space) < 0.05]
    return [sum(line.y0 - 3 < r.y0 < line.y1 for r in uprights) // 2 for line in page.lines]


def test_each_bar_knows_its_key() -> None:
    the = engraved(KEYS_ON_TWO_LINES)
    for bar in the.cut.table.bars:
        signs = the.cut.table.heads[bar.head_here].key[0]
        assert (len(the.cut.inks[signs].boxes) if signs >= 0 else 0) == key_of(bar.number), bar.number


def test_a_jump_onto_a_change_of_key_takes_back_the_key_that_it_comes_from() -> None:
    """In print bar 13 takes back two sharps. From three flats it has three naturals, from none it has nothing."""
    the = engraved(KEYS_ON_TWO_LINES)
    (change,) = next(b for b in the.cut.table.bars if b.number == 13).change
    for before, naturals in ((2, 3), (6, 0), (9, 1)):
        steps = [Step(before, before), Step(13, 13, 1, True), Step(14, 14)]
        laying = lay(the.reading, the.cut.table, steps)
        assert change not in {p.piece for p in laying.pages[0].placed}
        assert by_stroke(laying) == [naturals], before
    printed = lay(the.reading, the.cut.table, [Step(12, 12), Step(13, 13), Step(14, 14)])
    assert change in {p.piece for p in printed.pages[0].placed}
    assert by_stroke(printed) == [0]


def test_a_line_that_begins_where_a_key_is_taken_back_says_so() -> None:
    """No head without signs could tell that the flats or sharps of the line before hold no longer."""
    the = engraved(KEYS_ON_TWO_LINES)
    (change,) = next(b for b in the.cut.table.bars if b.number == 13).change
    narrow = (50.0, 197.0)
    laying = lay(the.reading, the.cut.table, [Step(12, 12), Step(13, 13), Step(14, 14)], narrow, first_page=False)
    line = next(line for line in laying.pages[0].lines if line.bars[0].steps[0] == 1)
    (placed,) = (p for p in laying.pages[0].placed if p.piece == change)
    assert line.y0 < placed.y < line.y1
    jumped = lay(the.reading, the.cut.table, [Step(2, 2), Step(13, 13, 1, True)], narrow, first_page=False)
    assert [len(line.bars) for line in jumped.pages[0].lines] == [1, 1]
    assert by_stroke(jumped) == [0, 3]


CLEFS = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\paper { ragged-right = ##t }
\header { title = "Clefs" tagline = ##f }
\new PianoStaff << \new Staff \relative c'' { \key d \major d1 | a' | \break g | d \bar "|." }
  \new Staff \relative c { \clef bass \key d \major d1 | a' | \clef treble d' | a' } >>
"""
"""Two staves in D on two lines; with the second line the lower one's clef changes, and the key does not."""


def test_a_new_clef_is_no_new_key() -> None:
    the = engraved(CLEFS)
    lines = the.laying.pages[0].lines
    assert len(lines[0].bars) > 2
    keys = {piece for head in the.cut.table.heads for piece in head.key}
    assert sum(p.piece in keys for p in the.laying.pages[0].placed) == 2 * len(lines)


@pytest.mark.parametrize("wide", [60.0, 75.0, 148.0])
def test_a_first_bar_that_a_join_lands_on_is_numbered_at_a_line_s_head_too(wide: float) -> None:
    """Found by eye: a D.C. that came to a line's head looked as if the music went on; elsewhere its number is said."""
    the = engraved(KEYS_CHANGE)
    order = printed_order(the.reading)
    back = [*order, replace(order[0], join=True, pass_=2), *(replace(step, pass_=2) for step in order[1:])]
    laying = lay(the.reading, the.cut.table, back, (wide, 197.0))
    landed = len(order)
    for page in laying.pages:
        for line in page.lines:
            if line.bars[0].steps[0] == landed:
                near = [w for w in page.words if w.text == "1" and line.y0 - 15 < w.y < line.y0]
                assert [w.style for w in near] == ["number"] and near[0].x < line.bars[0].x0
                return
            if any(bar.steps[0] == landed for bar in line.bars):
                assert [w.style for w in page.words if w.text == "1"] == ["join"]
                return
    raise AssertionError("it is laid")
