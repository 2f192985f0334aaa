"""Counts that a printed number says are off, mended where one place accounts for it: lines of a flat scan, spoilt."""

from functools import cache

import pytest
from msgspec.structs import replace

import scanning
import second_engraving
from collaparte.paper.opening import opened
from collaparte.paper.read_page import Seen, upright_page
from collaparte.paper.reading import SURE, Box
from collaparte.paper.scans.chances import Left, chances
from collaparte.paper.scans.numbers import Stretch
from collaparte.paper.scans.settled import settle
from collaparte.paper.sight.lines import Count, MusicLine
from collaparte.paper.sight.numbers import settle as settle_numbers

FLAT = scanning.Damage(200, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")


@cache
def scan() -> bytes:
    return scanning.scanned(second_engraving.chart(8100011)[0], FLAT, 1)[0]


def lines() -> tuple[list[MusicLine], int, Stretch]:
    """The chart's lines, anew each time, one of music alone, and what printed numbers would say of it."""
    read = upright_page(opened(scan()), 0, 0, Seen(), (), True).lines
    settle_numbers(read)
    at = next(n for n, line in enumerate(read) if n and len(line.parts) > 4 and not any(c.box for c in line.counts))
    return read, at, Stretch(at, at + 1, 10, len(read[at].parts))


def merged(line: MusicLine) -> float:
    """Two bars of a line made one, as if their barline had not been taken; where it stood."""
    one, two = line.parts[1:3]
    assert one.after is not None
    x = one.after.x
    line.parts[1:3] = [one._replace(x1=two.x1, after=two.after)]
    line.counts[1:3] = line.counts[1:2]
    line.barlines[:] = [barline for barline in line.barlines if barline.x != x]
    return x


def test_a_stroke_in_a_wide_bar_is_taken_when_a_bar_is_lacking() -> None:
    read, at, stretch = lines()
    plain = [part.x1 for part in read[at].parts]
    x = merged(read[at])
    strokes = {at: [Left(x, 0.4)]}
    settle(read, [stretch], chances(read, strokes), strokes)
    assert [part.x1 for part in read[at].parts] == pytest.approx(plain, abs=0.2 * read[at].space)
    assert any(barline.x == x for barline in read[at].barlines)


def test_nothing_is_taken_where_two_bars_may_be_two() -> None:
    read, at, stretch = lines()
    strokes = {at: [Left(merged(read[at]), 0.4)]}
    wide = read[at].parts[-1]
    read[at].parts[-1] = wide._replace(x1=2 * wide.x1 - wide.x0)
    many = len(read[at].parts)
    settle(read, [stretch], chances(read, strokes), strokes)
    assert len(read[at].parts) == many


def test_no_stroke_is_taken_that_leaves_less_than_a_bar() -> None:
    """A barline that was rubbed out let a stroke beside a long rest be one, and the line be sure."""
    read, at, stretch = lines()
    merged(read[at])
    many, space = len(read[at].parts), read[at].space
    strokes = {at: [Left(read[at].parts[1].x0 + 1.3 * space, 0.4)]}
    settle(read, [stretch], chances(read, strokes), strokes)
    assert len(read[at].parts) == many


def test_a_bar_with_no_room_for_a_note_is_in_doubt() -> None:
    """However wide the one beside it is: it may be two, and the count right by chance."""
    read, at, _ = lines()
    sure = chances(read, {})[at].many
    merged(read[at])
    part, close = read[at].parts[1], read[at].parts[1].x0 + 1.3 * read[at].space
    assert part.before is not None
    barline = replace(part.before, x=close, x0=close, x1=close, confidence=1.0)
    read[at].parts[1:2] = [part._replace(x1=close, after=barline), part._replace(x0=close, before=barline)]
    read[at].counts[1:2] = [read[at].counts[1]] * 2
    read[at].barlines.append(barline)
    assert sure < 0.02 < chances(read, {})[at].many


def test_a_stroke_in_doubt_between_narrow_bars_is_left_when_there_is_a_bar_too_many() -> None:
    read, at, stretch = lines()
    line = read[at]
    part = line.parts[1]
    middle = (part.x0 + part.x1) / 2
    weak = replace(line.barlines[1], x=middle, x0=middle, x1=middle, confidence=0.6)
    line.parts[1:2] = [part._replace(x1=middle, after=weak), part._replace(x0=middle, before=weak)]
    line.counts[1:2] = [line.counts[1]] * 2
    line.barlines.append(weak)
    settle(read, [stretch], chances(read, {}), {})
    assert (line.parts[1].x0, line.parts[1].x1, len(line.parts)) == (part.x0, part.x1, stretch.bars)
    assert weak not in line.barlines


def rest(line: MusicLine, n: int) -> Count:
    """A rest of many in the middle of a bar, whose number was not told."""
    part, (_, top, _, bottom) = line.parts[n], line.system.bbox
    middle = (part.x0 + part.x1) / 2
    box: Box = (middle - line.space, top, middle + line.space, bottom)
    return Count(1, 0.2, box)


def test_the_one_rest_in_doubt_counts_what_the_number_says() -> None:
    read, at, stretch = lines()
    assert stretch.bars is not None
    read[at].counts[2] = rest(read[at], 2)
    settle(read, [stretch._replace(bars=stretch.bars + 7)], chances(read, {}), {})
    assert read[at].counts[2] == Count(8, SURE, rest(read[at], 2).box)


def test_of_two_rests_in_doubt_none_is_told() -> None:
    read, at, stretch = lines()
    assert stretch.bars is not None
    read[at].counts[1:3] = [rest(read[at], 1), rest(read[at], 2)]
    settle(read, [stretch._replace(bars=stretch.bars + 7)], chances(read, {}), {})
    assert [count.bars for count in read[at].counts[1:3]] == [1, 1]


def test_no_rest_is_told_where_a_lines_end_may_not_have_been_seen() -> None:
    """A line cut off at the glass with its last rest let the one in doubt before it count that, too."""
    read, at, stretch = lines()
    assert stretch.bars is not None
    read[at].counts[2] = rest(read[at], 2)
    x0, top, x1, bottom = read[at].system.bbox
    read[at].system.bbox = (x0, top, x1 - 10 * read[at].space, bottom)
    settle(read, [stretch._replace(bars=stretch.bars + 7)], chances(read, {}), {})
    assert read[at].counts[2].bars == 1
