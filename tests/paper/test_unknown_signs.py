"""Music fonts that no table tells: their signs are letters or nothing at all, as of one engraver's own font."""

from msgspec.structs import replace

from collaparte.paper.reading import SURE, Barline, BarlineKind
from collaparte.paper.sight.barlines import Row, find_barlines
from collaparte.paper.sight.bars import Segment, segments
from collaparte.paper.sight.rests import count_bars
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import OUTLINE, Glyph, Rule
from collaparte.paper.sight.systems import Skeleton
from collaparte.paper.sight.words import Phrase

STAVE = StaveLines((10.0, 14.0, 18.0, 22.0, 26.0), 0.0, 300.0, 4.0, 0.3, 10.0, 26.0)


def colon(x: float, middle: float) -> Glyph:
    return Glyph(x, middle - 2.6, x + 1.3, middle + 2.6, x, middle + 4, 10.0, "letter", ":", "Signs")


def kind_beside(dots: Glyph) -> BarlineKind:
    strokes = [Rule(100.0, 10.0, 102.0, 26.0), Rule(103.5, 10.0, 103.8, 26.0)]
    (barline,) = find_barlines([STAVE], strokes, Row.of([]), Row.of([dots]), 1.2).barlines
    return barline.kind


def test_a_colon_on_the_stave_s_middle_beside_a_barline_is_a_repeat_s_dots() -> None:
    assert kind_beside(colon(105.2, 18.0)) is BarlineKind.REPEAT_START
    assert kind_beside(colon(97.5, 18.0)) is BarlineKind.REPEAT_END
    assert kind_beside(colon(105.2, 24.0)) is BarlineKind.FINAL


def test_a_slur_s_piece_at_a_barline_is_no_head_of_a_stem() -> None:
    """A shape as large as a head is one where a stem ends, not where a barline goes on past it."""
    strokes = [Rule(100.0, 10.0, 100.7, 26.0), Rule(200.0, 10.0, 200.7, 26.0)]
    piece, head = (
        Glyph(x, y, x + 7, y + 5, x, y + 5, 16.0, "other", "", OUTLINE) for x, y in ((100.4, 11.0), (193.5, 23.5))
    )
    found = find_barlines([STAVE], strokes, Row.of([piece, head]), Row.of([]), 1.2).barlines
    assert [barline.x0 for barline in found] == [100.0]


def test_a_whole_rest_across_two_barlines_is_the_bar_between_them() -> None:
    """As one engraver sets a bar that holds two rests of a bar each: its barlines are a space apart."""
    lines = [Barline(x + 0.3, x, x + 0.6, BarlineKind.SINGLE) for x in (100.0, 104.6, 200.0)]
    head, rest = (
        Glyph(x, 14.0, x + 8, 16.0, x, 14.0, 16.0, kind, value, "Signs")
        for x, kind, value in ((50.0, "head", "black"), (98.6, "rest", "whole"))
    )
    notes = [head, replace(head, x0=150.0, x1=158.0)]
    for glyphs, bars in (([notes[0], rest, notes[1]], 3), (notes, 2)):
        system = Skeleton([STAVE], 4.0, lines, 0.0, 300.0, glyphs)
        assert len(segments(system, 20.0)[0]) == bars


def counted(sign: Glyph, number: str) -> tuple[int, float]:
    system = Skeleton([STAVE], 4.0, [], 0.0, 300.0, [sign])
    over = Phrase(number, 143.0, 1.0, 147.0, 8.0, 8.0, 8.0, ("Serif", 8.0), False)
    count = count_bars(Segment(120.0, 170.0, None, None, ()), system, [], [over] if number else [])
    return count.bars, count.confidence


def test_a_long_sign_that_no_font_tells_counts_what_stands_over_it_in_doubt() -> None:
    long = Glyph(130.0, 14.0, 160.0, 22.0, 130.0, 22.0, 10.0, "", "", "Signs")
    bars, confidence = counted(long, "3")
    assert bars == 3 and confidence < SURE
    assert counted(long, "") == (1, 1.0)
    assert counted(replace(long, x1=134.0), "3") == (1, 1.0)


def test_a_flag_of_the_next_line_is_none_of_an_old_rest() -> None:
    rest = Glyph(143.0, 14.0, 151.0, 22.0, 143.0, 22.0, 16.0, "rest", "maxima", "Signs")
    flag = Glyph(146.0, 36.0, 149.0, 46.0, 146.0, 46.0, 11.0, "flag", "8th", "Signs")
    system = Skeleton([STAVE], 4.0, [], 0.0, 300.0, [rest, flag])
    over = Phrase("8", 145.0, 1.0, 149.0, 8.0, 8.0, 8.0, ("Serif", 8.0), True)
    assert count_bars(Segment(120.0, 170.0, None, None, (rest, flag)), system, [], [over]).bars == 8
