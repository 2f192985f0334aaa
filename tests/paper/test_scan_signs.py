"""Rests, endings and barlines on scans where dirt, a head that was not told or a torn line speaks against them.

How they stand is common practice: the count of old rest signs is printed over them, an ending that is broken over a
line goes on right behind the next line's head, a barline ends at its stave's outer lines.
"""

import numpy as np
import pytest
from msgspec.structs import replace

from collaparte.paper.reading import SURE, BarBox, Barline, BarlineKind
from collaparte.paper.scans.chances import chances
from collaparte.paper.scans.numbers import borne_out, heads_that_hold, stretches
from collaparte.paper.scans.staves import ScannedStave
from collaparte.paper.scans.strokes import Stroke, as_rules
from collaparte.paper.sight.bars import Segment, plays
from collaparte.paper.sight.endings import find_endings
from collaparte.paper.sight.heads import NOTHING
from collaparte.paper.sight.lines import ONE, Count, MusicLine, Printed
from collaparte.paper.sight.marks import find_marks
from collaparte.paper.sight.rests import count_bars
from collaparte.paper.sight.shapes import nearest_signs
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import OUTLINE, Glyph, Rule
from collaparte.paper.sight.systems import Skeleton
from collaparte.paper.sight.words import Phrase

SPACE = 5.0


def _stave(top: float) -> StaveLines:
    return StaveLines(tuple(top + n * SPACE for n in range(5)), 40.0, 540.0, SPACE, 0.6, top, top + 4 * SPACE)


def _word(text: str, x: float, y: float) -> Phrase:
    return Phrase(text, x, y, x + 4.0 * len(text), y + 7.0, y + 7.0, 10.0, (OUTLINE, 9.0), False)


def _sign(kind: str, value: str, x: float, y: float, width: float, height: float) -> Glyph:
    return Glyph(x, y, x + width, y + height, x, y + height, 20.0, kind, value, OUTLINE)


@pytest.mark.parametrize(
    ("number", "bars", "x1"),
    [("6", 6, 200.0), ("5", 1, 200.0), ("", 1, 200.0), ("6", 1, 280.0)],  # the last stand at their bar's left
)
def test_old_rest_signs_count_beside_dirt_when_their_sum_is_printed_over_them(
    number: str, bars: int, x1: float
) -> None:
    stave = _stave(100.0)
    rests = (_sign("rest", "longa", 120, 105, 3, 10), _sign("rest", "breve", 127, 105, 3, 5))
    dirt = _sign("head", "", 60, 98, 6, 8)
    part = Segment(50.0, x1, None, None, (dirt, *rests))
    system = Skeleton([stave], SPACE, [], 50.0, x1, [dirt, *rests])
    words = [_word(number, 123, 85)] if number else []
    count = count_bars(part, system, [], words, seen=True)
    assert count.bars == bars
    assert count_bars(part, system, [], words).bars == 1, "where nothing is dirt what stands there is music"


def test_old_rest_signs_whose_number_is_not_told_are_in_doubt_beside_what_is_left_of_a_barline() -> None:
    """The bar was one of notes, and sure."""
    stave = _stave(100.0)
    rests = (_sign("rest", "longa", 120, 105, 3, 10), _sign("rest", "whole", 127, 105, 6, 3))
    left = _sign("head", "", 49, 100, 2, 20)
    figure = _sign("clef", "g", 122, 84, 6, 9)
    part = Segment(50.0, 200.0, None, None, (left, *rests))
    system = Skeleton([stave], SPACE, [], 50.0, 200.0, [left, *rests, figure])
    assert count_bars(part, system, [], [], seen=True).confidence < SURE
    system.glyphs.remove(figure)
    assert count_bars(part, system, [], [], seen=True).confidence >= SURE


def test_a_row_of_old_rest_signs_under_pencil_is_in_doubt_and_counted_by_the_next_number() -> None:
    """Its sum cannot be read, so it is one bar in doubt, over the whole bar, for the next line's number to tell."""
    stave = _stave(100.0)
    circle, figure = _sign("head", "", 60, 90, 55, 30), _sign("letter", "6", 118, 85, 6, 11)
    near, apart = [[_sign("rest", "longa", x, 105, 3, 10) for x in (110, other)] for other in (115, 125)]

    def count(rests: list[Glyph]) -> Count:
        system = Skeleton([stave], SPACE, [], 50.0, 200.0, [circle, figure, *rests])
        return count_bars(Segment(50.0, 200.0, None, None, (circle, *rests)), system, [], [], seen=True)

    assert count(near).bars == 1 and count(near).confidence < SURE and count(near).box is not None
    assert count(apart) == ONE


@pytest.mark.parametrize("taken_for", ["", "slash"])
def test_signs_as_large_as_rests_of_four_bars_are_these_under_their_sum(taken_for: str) -> None:
    stave = _stave(100.0)
    rests = (_sign("rest", "longa", 117, 105, 3, 10), _sign("head", taken_for, 122, 105, 4, 11))
    part = Segment(50.0, 200.0, None, None, rests)
    system = Skeleton([stave], SPACE, [], 50.0, 200.0, [*rests])
    assert count_bars(part, system, [], [_word("8", 119, 85)], seen=True).bars == 8


def test_two_signs_of_two_bars_side_by_side_are_a_whole_note_of_spread_print() -> None:
    """Four bars are one sign (common practice)."""
    stave = _stave(100.0)
    halves = (_sign("rest", "breve", 117, 105, 4, 6), _sign("rest", "breve", 123, 105, 4, 6))
    part = Segment(50.0, 200.0, None, None, halves)
    system = Skeleton([stave], SPACE, [], 50.0, 200.0, [*halves])
    assert count_bars(part, system, [], [_word("2", 120, 85)], seen=True) == ONE
    assert count_bars(part, system, [], [_word("4", 120, 85)]).bars == 4, "where signs are told for sure they are two"


def test_a_number_off_the_middle_of_its_long_rest_may_have_lost_a_figure() -> None:
    """A rest's number is over its middle (common practice): pencil crossed the 1 of "16", and six bars were sure."""
    stave = _stave(100.0)
    bar = _sign("h-bar", "", 100, 107.5, 50, 5)
    system = Skeleton([stave], SPACE, [], 50.0, 200.0, [bar])
    part = Segment(50.0, 200.0, None, None, (bar,))
    for x, sure in ((123.0, True), (126.0, False), (120.0, False)):
        count = count_bars(part, system, [], [_word("6", x, 90)], seen=True)
        assert (count.bars, count.confidence >= SURE) == (6, sure)


@pytest.mark.parametrize(
    ("long", "thick", "rest"), [(9.0, 0.4, False), (3.1, 0.8, False), (5.7, 1.1, True), (10.0, 0.7, True)]
)
def test_pencil_and_spread_rests_among_notes_are_no_long_rest(long: float, thick: float, rest: bool) -> None:
    """Measured on 1,292 scanned charts."""
    stave = _stave(100.0)
    bar = _sign("h-bar", "", 100, 110 - thick * SPACE / 2, long * SPACE, thick * SPACE)
    music = (_sign("head", "", 70, 100, 7, 20), bar)
    system = Skeleton([stave], SPACE, [], 50.0, 200.0, [*music])
    count = count_bars(Segment(50.0, 200.0, None, None, music), system, [], [], seen=True)
    assert (count.bars, count.confidence < SURE) == (1, rest)


def _line(first: int, ends: list[float], head: float, last: BarlineKind = BarlineKind.SINGLE) -> MusicLine:
    barlines = [Barline(x, x - 0.4, x + 0.4, last if x == ends[-1] else BarlineKind.SINGLE) for x in ends]
    lefts = [head, *(b.x1 for b in barlines[:-1])]
    befores = [None, *barlines[:-1]]
    parts = [Segment(x, b.x0, a, b, ()) for x, a, b in zip(lefts, befores, barlines, strict=True)]
    line = MusicLine(0, Skeleton([_stave(100.0)], SPACE, barlines, 0.0, 200.0), NOTHING._replace(x1=head), parts,
                     barlines, [ONE] * len(parts))  # fmt: skip
    line.bars = [BarBox(first + n, first + n, 1, p.x0, p.x1, 1.0) for n, p in enumerate(parts)]
    line.next_number = first + len(parts)
    return line


def test_an_ending_goes_on_behind_a_head_that_was_not_told() -> None:
    upper = _line(1, [200.0, 370.0, 540.0], 70.0)
    lower = _line(4, [210.0, 370.0, 540.0], 41.0)  # its clef and key are not told: they reach to 75
    brackets = [Rule(372.0, 80.0, 541.0, 81.0), Rule(76.0, 80.0, 209.0, 81.0)]
    pages = [([upper], [_word("2.", 378, 83)], brackets[:1], True), ([lower], [], brackets[1:], True)]
    endings, _ = find_endings(pages)
    assert [(e.passes, e.bar, e.last_bar) for e in endings] == [((2,), 3, 4)]


def test_the_side_of_a_torn_frame_lengthens_no_ending() -> None:
    upper, lower = _line(1, [200.0, 370.0, 540.0], 70.0), _line(4, [210.0, 370.0, 540.0], 70.0)
    pages = [
        ([upper], [_word("2.", 378, 83)], [Rule(372.0, 80.0, 541.0, 81.0)], True),
        ([lower], [], [Rule(76.0, 80.0, 110.0, 81.0)], True),
    ]
    endings, _ = find_endings(pages)
    assert [(e.passes, e.bar, e.last_bar) for e in endings] == [((2,), 3, 3)]


def test_a_bracket_that_something_lengthened_ends_with_the_bar_it_hardly_passes() -> None:
    line = _line(1, [200.0, 370.0, 540.0], 70.0)
    page = ([line], [_word("1.", 206, 83)], [Rule(201.0, 80.0, 381.0, 81.0)], True)
    endings, _ = find_endings([page])
    assert [(e.passes, e.bar, e.last_bar) for e in endings] == [((1,), 2, 2)]


@pytest.mark.parametrize(("end", "ends_at"), [(87, 80), (76, 80), (95, 95)])
def test_a_barline_ends_at_its_staves_outer_line(end: int, ends_at: int) -> None:
    stave = ScannedStave((16.0, 32.0, 48.0, 64.0, 80.0), 0.0, 400.0, 16.0, 1.0)
    (rule,) = as_rules([Stroke(200, 203, 16, end, 1.0)], [stave])
    assert (rule.y0, rule.y1) == (16, ends_at)


@pytest.mark.parametrize(
    ("kind", "at", "sure"),
    [
        (BarlineKind.SINGLE, 104.0, True),
        (BarlineKind.REPEAT_START, 104.0, False),
        (BarlineKind.REPEAT_START, 112.0, True),  # too far behind the head for a meter alone
        (BarlineKind.REPEAT_START, -104.0, True),  # a note is told apart from the meter
    ],
)
def test_what_stands_before_a_repeats_start_is_no_sure_pickup(kind: BarlineKind, at: float, sure: bool) -> None:
    apart, at = at < 0, abs(at)
    first, second = _line(0, [at, 220.0, 330.0, 440.0, 540.0], 75.0), _line(5, [200.0, 370.0, 540.0], 70.0)
    first.system.glyphs.append(_sign("clef", "g", 42, 92, 12, 36))  # a line without one has lost its beginning
    if apart:
        first.system.glyphs += [_sign("head", "", 78, 99, 8, 22), _sign("head", "", 95, 105, 7, 20)]
    ends = replace(first.barlines[0], kind=kind)
    first.barlines[0] = ends
    first.parts[0] = first.parts[0]._replace(after=ends, music=(_sign("head", "", 90, 105, 6, 8),))
    first.parts[1] = first.parts[1]._replace(before=ends)
    second.printed = Printed(5, _word("5", 40, 85), 0, True)
    lines = [first, second]
    held = heads_that_hold(lines)
    assert held == {1: 5}
    assert (0 in borne_out(lines, stretches(lines, held, True), chances(lines, {}))) == sure


@pytest.mark.parametrize(("tall", "found"), [(9.0, 3), (5.0, 0)])
def test_large_figures_that_are_their_bars_own_numbers_are_marks(tall: float, found: int) -> None:
    line = _line(1, [200.0, 370.0, 540.0], 70.0)
    line.bars[0] = replace(line.bars[0], count=8)
    line.bars[1:] = [replace(line.bars[1], number=9), replace(line.bars[2], number=10)]
    words = [
        replace(_word(text, x, 92 - tall), y1=92.0, y=92.0)
        for text, x in (("1", 72), ("8", 130), ("9", 199), ("10", 368))
    ]
    marks, _ = find_marks([([line], words, [])])
    assert [(mark.text, mark.bar) for mark in marks] == [("1", 1), ("9", 9), ("10", 10)][:found]
    assert all(mark.confidence < SURE for mark in marks)


def test_a_block_is_the_rest_that_is_as_high() -> None:
    """All ink: a half or whole rest is about half a space high, more when it has spread; a double whole one is as high
    as a space (common practice, and SMuFL's fonts)."""
    wide, high = np.tile(np.linspace(0.9, 1.5, 40), 2), np.repeat([0.66, 1.05], 40)
    found = nearest_signs(np.ones((80, 256), np.float32), wide.astype(np.float32), high.astype(np.float32), space=1.0)
    assert {match.value for match in found[:40]} <= {"half", "whole"}
    assert {match.value for match in found[40:]} == {"breve"}


@pytest.mark.parametrize(("behind", "sounds"), [("accidental", False), ("head", True)])
def test_two_flats_that_run_together_among_a_keys_signs_are_no_pickup(behind: str, sounds: bool) -> None:
    """As tall as a note with its stem, before a repeat's start; a bar was counted there, and the seven lines behind it
    were sure."""
    flats = [_sign("accidental", "flat", 61, 100, 5, 14), _sign("flag", "", 65.5, 93.5, 6, 22)]
    last = [_sign(behind, "", 74.5, 96, 4.5, 13), _sign(behind, "", 79.5, 105, 4.5, 13)]
    system = Skeleton([_stave(100.0)], SPACE, [], 50.0, 200.0, [*flats, *last])
    assert plays(system, 66.0, Barline(92.0, 89.5, 94.0, BarlineKind.REPEAT_START)) is sounds
