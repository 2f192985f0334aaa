"""Chances that a scanned line's bars are counted wrong, on the lines of a flat scan, as they are and spoilt."""

from functools import cache

import pytest
from msgspec.structs import replace

import scanning
import second_engraving
from collaparte.paper.counting import number_bars
from collaparte.paper.opening import opened
from collaparte.paper.read_page import Seen, upright_page
from collaparte.paper.reading import BarlineKind, Mark
from collaparte.paper.scans import beginning
from collaparte.paper.scans.chances import Chance, Left, chances, is_aside
from collaparte.paper.scans.numbers import (
    LIMIT,
    Stretch,
    beginnings,
    behind,
    borne_out,
    denied,
    misread,
    told_inside,
    with_marks,
)
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.numbers import settle
from collaparte.paper.sight.rests import count_bars
from collaparte.paper.sight.strokes import OUTLINE, Glyph

FLAT = scanning.Damage(200, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")


@cache
def scan() -> bytes:
    pdf, truth, _ = second_engraving.chart(8100011)
    assert not truth.pickup
    return scanning.scanned(pdf, FLAT, 1)[0]


def lines() -> list[MusicLine]:
    """The chart's lines, anew each time, as they are spoilt."""
    document = opened(scan())
    read = upright_page(document, 0, 0, Seen(), (), True).lines
    settle(read)
    return read


def plainest(read: list[MusicLine]) -> int:
    """A line of music alone."""
    return next(n for n, line in enumerate(read) if n and len(line.parts) > 4 and not any(c.box for c in line.counts))


def test_lines_of_a_flat_scan_are_hardly_wrong() -> None:
    assert all(off.few < LIMIT > off.many for off in chances(lines(), {}))


def test_two_bars_in_one_are_a_bar_too_few() -> None:
    read = lines()
    at = plainest(read)
    line = read[at]
    one, two = line.parts[1:3]
    line.parts[1:3] = [one._replace(x1=two.x1, after=two.after)]
    line.counts[1:3] = line.counts[1:2]
    assert chances(read, {})[at].few > LIMIT > chances(read, {})[at].many


def test_a_stroke_that_was_not_taken_matters_in_a_wide_bar_alone() -> None:
    read = lines()
    at = plainest(read)
    part = read[at].parts[1]
    stroke = {at: [Left((part.x0 + part.x1) / 2, 0.4)]}
    plain, doubted = chances(read, {})[at].few, chances(read, stroke)[at].few
    assert plain < doubted < LIMIT
    others = [p.x1 - p.x0 for n, p in enumerate(read[at].parts) if n != 1]
    wide = 1.5 * sorted(others)[len(others) // 2]
    read[at].parts[1] = part._replace(x1=part.x0 + wide)
    assert chances(read, stroke)[at].few > 3 * chances(read, {})[at].few


@pytest.mark.parametrize(("high", "doubted"), [(4.0, True), (3.5, False)])
def test_what_is_as_high_as_its_stave_may_hold_a_barline(high: float, doubted: bool) -> None:
    """Pencil that touches a barline looks like a note, whose stem is 3.5 spaces long (common practice); a bar so wide
    was sure."""
    read = lines()
    at = plainest(read)
    line, part, space, top = read[at], read[at].parts[1], read[at].space, read[at].system.staves[0].top
    others = sorted(p.x1 - p.x0 for n, p in enumerate(line.parts) if n != 1)
    line.parts[1] = part._replace(x1=part.x0 + 1.7 * others[len(others) // 2])
    x, y = part.x0 + 5 * space, top + high * space
    line.system.glyphs[:] = [Glyph(x - 0.6 * space, top, x + 0.6 * space, y, x, y, space, "head", "", OUTLINE)]
    assert (chances(read, {}, [16.0] * len(read))[at].few > LIMIT) is doubted


def test_a_weak_stroke_between_narrow_bars_is_a_bar_too_many() -> None:
    read = lines()
    at = plainest(read)
    line = read[at]
    part = line.parts[1]
    middle = (part.x0 + part.x1) / 2
    weak = replace(line.barlines[1], x=middle, x0=middle, x1=middle, confidence=0.6)
    line.parts[1:2] = [part._replace(x1=middle, after=weak), part._replace(x0=middle, before=weak)]
    line.counts[1:2] = [line.counts[1]] * 2
    line.barlines.append(weak)
    assert chances(read, {})[at].many > LIMIT > chances(read, {})[at].few


def test_a_wide_bar_is_less_in_doubt_on_a_finer_scan_and_at_a_parts_end() -> None:
    """Of 1,292 scanned charts barlines were unseen in the mean once in 5,000 bars, where a space has 12 pixels or fewer
    once in 600; 5 % of last bars were as wide as 0.4 % of others."""
    read = lines()
    line, part = read[-1], read[-1].parts[-1]
    line.parts[-1] = part._replace(x1=part.x0 + 1.2 * max(p.x1 - p.x0 for p in line.parts[:-1]))
    coarse, fine = (chances(read, {}, [pixels] * len(read))[-1].few_at[-1] for pixels in (10.0, 16.0))
    within = chances([*read, read[0]], {}, [16.0] * len(read))[len(read) - 1].few_at[-1]
    assert 0 < 3 * fine < min(coarse, within)


def test_a_barline_near_the_one_before_that_ends_no_bar_may_end_one_whose_note_was_not_told() -> None:
    read = lines()
    at = plainest(read)
    line, part = read[at], read[at].parts[1]
    for spaces, doubted in ((1.0, False), (4.0, True)):
        x = part.x0 + spaces * line.space
        line.barlines.append(replace(line.barlines[1], x=x, x0=x, x1=x))
        assert (chances(read, {})[at].few > LIMIT) is doubted


@pytest.mark.parametrize(("ends", "doubted"), [(7.0, True), (6.0, False)])
def test_what_stands_close_before_a_repeats_start_may_be_a_key_that_was_not_told(ends: float, doubted: bool) -> None:
    """A signature ends about a space before it, a note further off; pencil over a change of key passed for a bar."""
    read = lines()
    at = plainest(read)
    line, space = read[at], read[at].space
    before = line.parts[1].before
    assert before is not None
    x = before.x1 + 8 * space
    start = replace(before, x=x, x0=x, x1=x + 0.5 * space, kind=BarlineKind.REPEAT_START)
    end, top = before.x1 + ends * space, line.system.staves[0].top
    ink = Glyph(end - 3 * space, top - space, end, top + 3 * space, end, top, space, "head", "", OUTLINE)
    line.parts[1:2] = [
        line.parts[1]._replace(x1=x, after=start, music=(ink,)),
        line.parts[1]._replace(x0=start.x1, before=start),
    ]
    line.counts[1:2] = [line.counts[1]] * 2
    line.barlines.append(start)
    assert (chances(read, {})[at].many_at[0] > 0.2) is doubted


def test_a_bar_where_a_key_would_stand_that_was_not_told_may_be_the_key() -> None:
    """A clef ends 3.5 spaces behind its stave's left end, a key of four flats four spaces further (common practice)."""
    read = lines()
    at = plainest(read)
    line, left, space = read[at], read[at].system.bbox[0], read[at].space
    after = line.parts[0].after
    assert after is not None
    for key_told, ends, doubted in ((False, 11.5, True), (True, 11.5, False), (False, 20.0, False)):
        line.head = line.head._replace(x1=left + (7.5 if key_told else 3.5) * space)
        line.parts[0] = line.parts[0]._replace(after=replace(after, x0=left + ends * space))
        assert (chances(read, {})[at].many > LIMIT) is doubted


@pytest.mark.parametrize("over", [1.0, -0.6])
def test_a_rests_number_over_a_bar_of_one_is_a_bar_too_few(over: float) -> None:
    """Some fonts' figures reach into the stave."""
    read = lines()
    at = plainest(read)
    line, part, space = read[at], read[at].parts[1], read[at].space
    x, y = (part.x0 + part.x1) / 2, line.system.staves[0].top - over * space
    line.system.glyphs.append(Glyph(x - space, y - 2 * space, x + space, y, x, y, space, "letter", "4", OUTLINE))
    assert chances(read, {})[at].few > LIMIT


@pytest.mark.parametrize(("sign", "bars"), [("", 4), ("slash", 1)])
def test_a_bar_that_pencil_hides_is_a_rest_under_its_number_but_no_counted_repeat(sign: str, bars: int) -> None:
    """Repeated bars are counted by figures over their signs (common practice)."""
    read = lines()
    line = read[plainest(read)]
    part, space, top = line.parts[1], line.space, line.system.staves[0].top
    x, y = (part.x0 + part.x1) / 2, top - 0.3 * space
    figure = Glyph(x - 0.6 * space, y - 2 * space, x + 0.6 * space, y, x, y, space, "letter", "4", OUTLINE)
    hidden = Glyph(x - space, top + space, x + space, y + 3 * space, x, y, space, "head", sign, OUTLINE)
    line.system.glyphs[:] = [figure]
    part = part._replace(music=(hidden,))
    assert count_bars(part, line.system, [], [], seen=True).bars == bars


def test_a_long_rest_off_its_bars_middle_has_another_bar_beside_it() -> None:
    read = lines()
    at, n = next((at, n) for at, line in enumerate(read) for n, count in enumerate(line.counts) if count.box)
    part = read[at].parts[n]
    assert chances(read, {})[at].few < LIMIT
    read[at].parts[n] = part._replace(x1=2 * part.x1 - part.x0)
    assert chances(read, {})[at].few > LIMIT


def test_a_rest_before_which_no_meter_was_told_stands_as_much_further_right() -> None:
    """A part's first line has a meter (common practice); on other lines the same place is off the bar's middle."""
    read = lines()
    first, part, space = read[0], read[0].parts[0], read[0].space
    first.system.glyphs[:] = [sign for sign in first.system.glyphs if sign.kind != "meter"]
    first.head = first.head._replace(clef="g")
    middle = (part.x0 + part.x1) / 2
    wide = part._replace(x0=part.x0 - 3.5 * space, x1=part.x1 - 0.2 * (part.x1 - part.x0), before=None)
    rest = (middle - space, 0.0, middle + space, 1.0)
    first.parts[0] = wide
    assert not is_aside(read, first, wide, rest)
    assert is_aside([read[1], *read], first, wide, rest)
    beside = (wide.x1 - 3 * space, 0.0, wide.x1 - space, 1.0)
    assert is_aside(read, first, wide, beside), "a bar before it"


def test_a_rest_in_doubt_does_not_make_up_for_itself() -> None:
    """Where the count leads to a printed number it is right, unless something else is wrong, too."""
    read = lines()
    at, n = next((at, n) for at, line in enumerate(read) for n, c in enumerate(line.counts) if at and c.box)
    stretch = Stretch(at, at + 1, 10, sum(count.bars for count in read[at].counts))
    read[at].counts[n] = read[at].counts[n]._replace(confidence=0.5)
    off = chances(read, {})[at]
    assert min(off.few, off.many) > LIMIT
    # not the part's first stretch, in which a pickup may make up for one
    parts = [Stretch(0, 0, 1, None), stretch]
    assert at in borne_out(read, parts, [off] * len(read))
    spoilt = off._replace(few=off.few + 0.5)
    assert at not in borne_out(read, parts, [spoilt] * len(read))


def test_lines_that_are_borne_out_begin_as_the_count_says_whatever_is_left_open() -> None:
    """A line whose last barline was not seen seems to go on in the next, whose numbers went astray."""
    read = lines()
    counted = [sum(count.bars for count in line.counts) for line in read[:3]]
    parts = [Stretch(0, 3, 1, sum(counted)), Stretch(3, len(read), sum(counted) + 1, None)]
    assert beginnings(read, parts, {0, 1, 2}) == {1: 1 + counted[0], 2: 1 + counted[0] + counted[1]}
    assert beginnings(read, parts, {0}) == {}


def test_a_number_is_hardly_misread_where_the_count_was_likely_to_be_off_so() -> None:
    read = lines()
    counted = sum(count.bars for count in read[0].counts)
    parts = [Stretch(0, 1, 1, counted + 1), Stretch(1, len(read), counted + 2, None)]
    plain, wide = Chance(0.001, 0.001), Chance(0.2, 0.001)
    assert misread(read, [parts[0]._replace(bars=counted), parts[1]], [plain] * len(read)) == 0
    assert misread(read, parts, [wide] * len(read)) < LIMIT < misread(read, parts, [plain] * len(read))
    assert misread(read, [parts[0]._replace(bars=counted - 1), parts[1]], [wide] * len(read)) > LIMIT


@pytest.mark.parametrize(
    ("read", "held", "told"),
    [
        ({1: 27, 2: 42}, {1: 27}, True),  # a rest of 7 was read as 17, so that 42 was not led to
        ({1: 27, 2: 42}, {1: 27, 2: 42}, False),
        ({1: 27, 2: 4}, {1: 27}, False),  # a figure that is no bar's number
        ({1: 12, 2: 42}, {2: 42}, False),  # the next bears the count out
    ],
)
def test_a_number_that_is_not_led_to_leaves_the_lines_before_it_in_doubt(
    read: dict[int, int], held: dict[int, int], told: bool
) -> None:
    assert denied(read, held) == told


def test_a_line_that_ends_before_the_others_may_have_lost_a_bar() -> None:
    read = lines()
    assert chances(read, {})[0].few < LIMIT
    x0, top, x1, bottom = read[0].system.bbox
    read[0].system.bbox = (x0, top, x1 - 10 * read[0].space, bottom)
    assert chances(read, {})[0].few > LIMIT


def test_a_last_line_that_ends_like_any_other_may_have_lost_a_bar() -> None:
    """A part ends with a final barline, a double one or a repeat (common practice)."""
    read = lines()
    assert chances(read, {})[-1].few < LIMIT
    last = read[-1].parts[-1]
    assert last.after is not None
    read[-1].parts[-1] = last._replace(after=replace(last.after, kind=BarlineKind.SINGLE))
    assert chances(read, {})[-1].few > LIMIT


def test_what_is_too_narrow_for_a_lines_first_bar_may_be_of_its_head() -> None:
    read = lines()
    at = plainest(read)
    line = read[at]
    first = line.parts[0]
    third = first.x0 + (first.x1 - first.x0) / 5
    assert first.after is not None
    between = replace(first.after, x=third, x0=third, x1=third)
    line.parts[:1] = [first._replace(x1=third, after=between), first._replace(x0=third)]
    line.counts[:1] = [line.counts[0]] * 2
    line.system.glyphs[:] = [g for g in line.system.glyphs if not first.x0 <= g.x0 < third]
    assert chances(read, {})[at].many > LIMIT


def test_a_repeats_start_far_behind_the_head_has_a_bar_before_it() -> None:
    read = lines()
    at = plainest(read)
    line = read[at]
    del line.parts[0], line.counts[0]
    line.barlines[:] = [replace(line.barlines[0], kind=BarlineKind.REPEAT_START, line_start=True), *line.barlines[1:]]
    assert chances(read, {})[at].few > LIMIT


def test_a_piece_of_a_torn_stave_is_in_doubt() -> None:
    """It begins far to the right of the others, or runs on behind its last barline with nothing read there."""
    read = lines()
    at = plainest(read)
    x0, top, x1, bottom = read[at].system.bbox
    read[at].system.bbox = (x0 + 20 * read[at].space, top, x1, bottom)
    assert min(chances(read, {})[at][:2]) > LIMIT
    read[at].system.bbox = (x0, top, x1 + 10 * read[at].space, bottom)
    assert min(chances(read, {})[at][:2]) > LIMIT


def test_chances_add_up_from_line_to_line() -> None:
    off = [Chance(0.3 * LIMIT, 0.1 * LIMIT)] * 4
    assert behind(range(4), off, 0.0, ()) == {0, 1}
    assert behind(range(4), off, 0.7 * LIMIT, ()) == set()


def test_a_line_with_a_number_inside_bears_out_those_before_it() -> None:
    """Only a bar too few and one too many together would come to the number."""
    off = [Chance(0.3 * LIMIT, 0.1 * LIMIT)] * 4
    assert behind(range(4), off, 0.7 * LIMIT, (2,)) == {0, 1, 2, 3}
    assert behind(range(4), [off[0], Chance(0.5, 0.5), *off[2:]], 0.0, (2,)) == {0}


def test_bars_before_a_number_on_its_line_are_of_the_stretch_that_leads_there() -> None:
    """A pickup may make up for a bar too many there, which no number behind it tells."""
    off = [Chance(0.001, 0.001), Chance(0.001, 1.0), Chance(0.001, 0.001)]
    assert behind(range(3), off, 0.8, (1, 2)) == {2}
    assert behind(range(3), [off[0], off[0], off[2]], 0.8, (1, 2)) == {1, 2}
    assert behind(range(3), off, 0.0, (1, 2)) == {0, 1, 2}


def test_marks_that_are_their_bars_numbers_tell_lines() -> None:
    read = lines()
    number_bars(read, False)
    places = [read[n].bars[1].number for n in (1, 2)]
    assert all(place >= 4 for place in places)
    right = [Mark(str(place), place, 0, (0.0, 0.0, 1.0, 1.0)) for place in places]
    assert told_inside(read, right) == ({1, 2}, set())
    assert told_inside(read, right[:1]) == (set(), set())  # by chance
    sections = [replace(mark, text=str(n)) for n, mark in enumerate(right, 5)]
    assert told_inside(read, sections) == (set(), set())
    bars = read[2].bars[1:4]
    more = [
        Mark(str(bar.number + off), bar.number, 0, (0.0, 0.0, 1.0, 1.0))
        for bar, off in zip(bars, (0, 0, 1), strict=True)
    ]
    # a bar is lacking between the last two of the second line
    assert told_inside(read, [right[0], *more]) == ({1}, {2})


def test_marks_off_by_like_bars_leave_the_lines_from_the_last_right_one_on_in_doubt() -> None:
    """A rest of seven was taken for one bar under pencil; sections' numbers grow otherwise than the count."""
    read = lines()
    number_bars(read, False)
    at = [read[n].bars[1].number for n in range(len(read))]

    def marked(*off: int | None) -> list[Mark]:
        said = [(n, more) for n, more in enumerate(off) if more is not None]
        return [Mark(str(at[n] + more), at[n], 0, (0.0, 0.0, 1.0, 1.0)) for n, more in said]

    last = len(read) - 1
    assert last > 2
    assert told_inside(read, marked(None, 0, 6, 6))[1] == set(range(1, last + 1))
    assert told_inside(read, marked(None, 0, 6, 7))[1] == set()


@pytest.mark.parametrize(("likely", "sure"), [(1.0, True), (0.6, False)])
def test_a_narrow_first_bar_whose_barline_may_be_none_is_no_sure_pickup(likely: float, sure: bool) -> None:
    """The stem of a natural was taken for a barline in faint print: what it cut off was as narrow as a pickup."""
    read = lines()
    first, line = read[0].parts[0], read[0]
    others = sorted(part.x1 - part.x0 for part in line.parts[1:])
    x = first.x0 + 0.3 * others[len(others) // 2]
    assert first.after is not None
    after = replace(first.after, x=x, x0=x, x1=x, kind=BarlineKind.SINGLE, confidence=likely)
    line.parts[0] = first._replace(x1=x, before=None, after=after)
    line.barlines[:] = [after]
    line.counts[:] = [count._replace(bars=1, box=None) for count in line.counts]
    stretch = Stretch(0, 1, 0, len(line.counts))
    assert (0 in borne_out(read, [stretch], [Chance(0.002, 0.002)])) is sure


@pytest.mark.parametrize("at", [1.0, 0.1])
def test_the_first_mark_behind_a_wide_first_bar_leaves_it_in_doubt(at: float) -> None:
    """A pickup of two beats is as wide as a bar, and one bar was cut off with the line's end."""
    read = lines()
    first, line = read[0].parts[0], read[0]
    others = sorted(part.x1 - part.x0 for part in line.parts[1:])
    line.parts[0] = first._replace(x1=first.x0 + 2 * others[len(others) // 2], before=None)
    line.counts[:] = [count._replace(bars=1, box=None) for count in line.counts]
    top, x = line.system.staves[0].top, first.x0 + at * (line.parts[0].x1 - first.x0)
    marks = [Mark("A", 1, 0, (x, top - 20.0, x + 6.0, top - 10.0))]
    stretch, off = Stretch(0, 1, 1, len(line.counts)), [Chance(0.5, 0.002)]
    assert borne_out(read, [stretch], off) == {0}
    assert with_marks({0}, read, [stretch], off, marks) == ({0} if at < 0.5 else set())


@pytest.mark.parametrize(("share", "few", "sure"), [(2.0, 0.3, True), (0.8, 0.3, False), (0.3, 0.003, False)])
def test_a_first_bar_as_wide_as_others_is_no_pickup(share: float, few: float, sure: bool) -> None:
    """Where it may be a pickup a barline that was missed makes up for it, up to the first printed number."""
    read = lines()
    first, line = read[0].parts[0], read[0]
    others = sorted(part.x1 - part.x0 for part in line.parts[1:])
    line.parts[0] = first._replace(x1=first.x0 + share * others[len(others) // 2], before=None)
    line.counts[:] = [count._replace(bars=1, box=None) for count in line.counts]
    stretch = Stretch(0, 1, 1, len(line.counts))
    assert (0 in borne_out(read, [stretch], [Chance(few, 0.002)])) is sure


@pytest.mark.parametrize(("at", "sure"), [(None, False), (0.1, True), (1.0, False)])
def test_the_first_mark_before_a_narrow_bar_tells_that_it_is_no_pickup(at: float | None, sure: bool) -> None:
    """No mark stands at a pickup (common practice; none of 291 on 1,292 scanned charts did)."""
    read = lines()
    first, line = read[0].parts[0], read[0]
    others = sorted(part.x1 - part.x0 for part in line.parts[1:])
    wide = 0.7 * others[len(others) // 2]
    line.parts[0] = first._replace(x1=first.x0 + wide, before=None)
    line.counts[:] = [count._replace(bars=1, box=None) for count in line.counts]
    top, x = line.system.staves[0].top, first.x0 + (at or 0.0) * wide
    marks = [] if at is None else [Mark("A", 1, 0, (x - 3.0, top - 20.0, x + 3.0, top - 10.0))]
    stretch = Stretch(0, 1, 1, len(line.counts))
    assert (0 in borne_out(read, [stretch], [Chance(0.03, 0.002)], marks)) is sure


@pytest.mark.parametrize(
    ("share", "bar", "pickup", "sure"),
    [(1.0, 1, False, True), (0.4, 2, True, True), (0.4, 1, None, False), (1.0, 2, True, False)],
)
def test_the_first_mark_tells_a_pickup_surely_where_the_width_agrees(
    share: float, bar: int, pickup: bool | None, sure: bool
) -> None:
    """No mark stands at a pickup (common practice)."""
    read = lines()
    first = read[0].parts[0]
    others = sorted(part.x1 - part.x0 for part in read[0].parts[1:])
    read[0].parts[0] = first._replace(x1=first.x0 + share * others[len(others) // 2], before=None)
    read[0].counts[0] = read[0].counts[0]._replace(bars=1, box=None)
    told = beginning.begins_with_pickup(read, [Mark("A", bar, 0, (0.0, 0.0, 1.0, 1.0))])
    assert told is pickup
    assert (beginning.unlike(read, told, bool(told)) < LIMIT) is sure


def test_a_first_mark_at_the_second_of_a_lines_two_bars_tells_a_pickup_too() -> None:
    """On a line that short no width tells anything."""
    read = lines()
    del read[0].parts[2:], read[0].counts[2:]
    read[0].counts[0] = read[0].counts[0]._replace(bars=1, box=None)
    told = beginning.begins_with_pickup(read, [Mark("A", 2, 0, (0.0, 0.0, 1.0, 1.0))])
    assert told is True
    assert beginning.unlike(read, told, told) > LIMIT
