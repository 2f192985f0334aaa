"""Corrections put into readings: what was misread comes right, the rest stays, and a new reading takes them too."""

from functools import cache
from itertools import pairwise
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from collaparte.demo import BAND
from collaparte.paper.corrected import corrected
from collaparte.paper.read import read_part
from collaparte.paper.reading import Barline, BarlineKind, Reading, SignKind, System
from collaparte.wire.corrections import (
    BarlineHere,
    Correction,
    EndingHere,
    LineIsRight,
    MarkHere,
    NoBarline,
    NoEnding,
    NoMark,
    NoSign,
    NoSystem,
    NumberHere,
    Place,
    RestHere,
    Said,
    SignHere,
    SystemHere,
)
from hub import sheets_of_music as sheets

PARTS = ("*1st Alto.pdf", "*1st Trumpet.pdf", "Two_Left_Gloves_Tbn.pdf", "Piano.pdf")


@cache
def reading_of(name: str) -> Reading:
    return read_part(next(BAND.rglob(name)).read_bytes())


@cache
def plain() -> Reading:
    """32 bars, four a line, marks at 1, 9, 17 and 25."""
    return read_part(sheets.part("Blue Harbour", "Alto", 32, {1: "A", 9: "B", 17: "C", 25: "D"}))


def said(reading: Reading, *things: Said) -> Reading:
    return corrected(reading, [Correction(str(n), "v", thing) for n, thing in enumerate(things)])


def systems(reading: Reading) -> list[tuple[int, System]]:
    return [(n, system) for n, page in enumerate(reading.pages) for system in page.systems]


def place(page: int, system: System, x: float) -> Place:
    return Place(page, x, (system.bbox[1] + system.bbox[3]) / 2)


def bar_at(reading: Reading, number: int) -> Place:
    """The middle of the bar of this number."""
    return next(
        place(page, system, (bar.x0 + bar.x1) / 2)
        for page, system in systems(reading)
        for bar in system.bars
        if bar.number == number
    )


def centre(page: int, box: tuple[float, float, float, float]) -> Place:
    return Place(page, (box[0] + box[2]) / 2, (box[1] + box[3]) / 2)


def told(reading: Reading) -> dict[str, Any]:
    """All that the ruler, the laying and the stands take from a reading, without ink's positions."""
    return {
        "bars": reading.bars,
        "pickup": reading.pickup,
        "counts": [[(bar.number, bar.index, bar.count, bar.continued) for bar in s.bars] for _, s in systems(reading)],
        "barlines": [[(line.kind, line.line_start) for line in s.barlines] for _, s in systems(reading)],
        "marks": [(mark.text, mark.bar) for mark in reading.marks],
        "rests": [(rest.bar, rest.count) for rest in reading.multirests],
        "signs": sorted((sign.kind, sign.bar, sign.at) for sign in reading.signs),
        "endings": [(ending.passes, ending.bar, ending.last_bar) for ending in reading.endings],
        "tempos": [(tempo.text, tempo.bar) for tempo in reading.tempos],
        "changes": [(change.bar, change.clef, change.fifths, change.meter) for change in reading.changes],
    }


def inner(reading: Reading) -> list[tuple[int, System, Barline]]:
    """Barlines with a single bar of their own at each side."""
    out = []
    for page, system in systems(reading):
        for one, two in pairwise(system.bars):
            between = [line for line in system.barlines if one.x1 - 1 <= line.x <= two.x0 + 1]
            if len(between) == 1 and one.count == two.count == 1:
                out.append((page, system, between[0]))
    return out


def test_nothing_said_changes_nothing() -> None:
    assert corrected(plain(), []) is plain()


@pytest.mark.parametrize("name", PARTS)
def test_confirming_every_line_changes_no_bar(name: str) -> None:
    reading = reading_of(name)
    sure = said(reading, *(LineIsRight(place(page, s, s.bars[0].x1)) for page, s in systems(reading)))
    assert told(sure) == told(reading)
    assert sure.confidence == 1.0 and not any(s.doubt for _, s in systems(sure))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(PARTS), st.data())
def test_a_barline_taken_away_and_put_back_leaves_the_part_as_it_was(name: str, data: st.DataObject) -> None:
    reading = reading_of(name)
    page, system, barline = data.draw(st.sampled_from(inner(reading)))
    at = place(page, system, barline.x)
    without = said(reading, NoBarline(at))
    assert without.bars == reading.bars - 1
    again = said(without, BarlineHere(at, barline.kind))
    assert told(again) == told(reading)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(PARTS), st.data())
def test_a_false_barline_put_in_and_taken_away_leaves_the_part_as_it_was(name: str, data: st.DataObject) -> None:
    reading = reading_of(name)
    page, system = data.draw(st.sampled_from(systems(reading)))
    bar = data.draw(st.sampled_from(system.bars))
    at = place(page, system, bar.x0 + (bar.x1 - bar.x0) * data.draw(st.floats(0.3, 0.7)))
    more = said(reading, BarlineHere(at))
    assert more.bars == reading.bars + 1
    assert told(said(more, NoBarline(at))) == told(reading)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(PARTS), st.data(), st.integers(0, 999))
def test_a_slightly_different_reading_takes_the_same_corrections(name: str, data: st.DataObject, seed: int) -> None:
    reading = reading_of(name)
    page, system, barline = data.draw(st.sampled_from(inner(reading)))
    other_page, other, _ = data.draw(st.sampled_from(inner(reading)))
    bar = data.draw(st.sampled_from([bar for bar in other.bars if bar.count == 1]))
    things: list[Said] = [
        BarlineHere(place(page, system, barline.x), "double"),
        RestHere(place(other_page, other, (bar.x0 + bar.x1) / 2), 4),
    ]
    if reading.marks:
        mark = data.draw(st.sampled_from(reading.marks))
        things.append(MarkHere(centre(mark.page, mark.box), "Zed"))
    misread = said(reading, NoBarline(place(page, system, barline.x)))
    random = Random(seed)
    for other_reading in (reading, misread):
        assert told(said(shaken(other_reading, random), *things)) == told(said(reading, *things))


def shaken(reading: Reading, random: Random) -> Reading:
    """As another release would read the same page: every edge a little elsewhere, up to a fifth of a staff space."""

    def near(space: float, x: float) -> float:
        return x + random.uniform(-0.2, 0.2) * space

    pages = []
    for page in reading.pages:
        own = []
        for s in page.systems:
            lines = tuple(replace(b, x=near(s.space, b.x)) for b in s.barlines)
            bars = tuple(replace(b, x0=near(s.space, b.x0), x1=near(s.space, b.x1)) for b in s.bars)
            x0, y0, x1, y1 = (near(s.space, edge) for edge in s.bbox)
            own.append(replace(s, barlines=lines, bars=bars, bbox=(x0, y0, x1, y1)))
        pages.append(replace(page, systems=tuple(own)))
    marks = tuple(replace(m, box=tuple(near(5, edge) for edge in m.box)) for m in reading.marks)
    return replace(reading, pages=tuple(pages), marks=marks)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(PARTS), st.data())
def test_the_same_said_again_changes_nothing(name: str, data: st.DataObject) -> None:
    reading = reading_of(name)
    page, system, barline = data.draw(st.sampled_from(inner(reading)))
    by = data.draw(st.floats(-2, 2)) * system.space
    bar = system.bars[0]
    things: tuple[Said, ...] = (
        BarlineHere(place(page, system, barline.x), "", barline.x + by),
        MarkHere(Place(page, bar.x0, system.bbox[1] - 4 * system.space), "K9"),
        RestHere(place(page, system, (bar.x0 + bar.x1) / 2), 3),
        NumberHere(bar_at(reading, 1), 0),
    )
    once = said(reading, *things)
    assert told(said(once, *things)) == told(once)


def test_a_moved_barline_parts_its_bars_elsewhere() -> None:
    page, system = systems(plain())[1]
    line = system.barlines[1]
    moved = systems(said(plain(), BarlineHere(place(page, system, line.x), "", line.x + 20)))[1][1]
    assert moved.bars[1].x1 == pytest.approx(system.bars[1].x1 + 20)
    assert moved.bars[2].x0 == pytest.approx(system.bars[2].x0 + 20)
    assert len(moved.bars) == len(system.bars)


def test_a_kind_makes_a_repeat() -> None:
    page, system = systems(plain())[1]
    here = place(page, system, system.barlines[-1].x)
    kinds = [line.kind for line in systems(said(plain(), BarlineHere(here, "repeat-end")))[1][1].barlines]
    assert kinds[-1] is BarlineKind.REPEAT_END and len(kinds) == len(system.barlines)


def test_a_line_that_was_not_read_takes_up_what_stands_over_it_when_it_is_drawn() -> None:
    page = plain().pages[0]
    lost = page.systems[4]
    marks = tuple(replace(mark, bar=21) if mark.text == "C" else mark for mark in plain().marks)
    without = replace(page, systems=(*page.systems[:4], *page.systems[5:]))
    misread = replace(plain(), pages=(without,), marks=marks)
    drawn = SystemHere(0, tuple((s.x0, s.top, s.x1, s.bottom) for s in lost.staves))
    inner = [BarlineHere(place(0, lost, line.x)) for line in lost.barlines[:-1]]
    mended = said(misread, drawn, *inner)
    assert [(mark.text, mark.bar) for mark in mended.marks] == [("A", 1), ("B", 9), ("C", 17), ("D", 25)]
    assert mended.bars == 32


def test_marks_are_named_moved_added_and_taken_away() -> None:
    b = plain().marks[1]
    here = centre(b.page, b.box)
    assert [m.text for m in said(plain(), MarkHere(here, "Solo")).marks] == ["A", "Solo", "C", "D"]
    assert [(m.text, m.bar) for m in said(plain(), MarkHere(here, "B", bar_start(11))).marks][1] == ("B", 11)
    assert [m.text for m in said(plain(), NoMark(here)).marks] == ["A", "C", "D"]
    free = bar_start(5)
    added = said(plain(), MarkHere(Place(free.page, free.x, free.y - 25), "A2"))
    assert [(m.text, m.bar) for m in added.marks][1] == ("A2", 5)


def bar_start(number: int) -> Place:
    return next(
        place(page, system, bar.x0) for page, system in systems(plain()) for bar in system.bars if bar.number == number
    )


def test_a_rest_moves_everything_behind_it() -> None:
    longer = said(plain(), RestHere(bar_at(plain(), 10), 8))
    assert longer.bars == 39
    assert [(m.text, m.bar) for m in longer.marks] == [("A", 1), ("B", 9), ("C", 24), ("D", 32)]
    assert [(r.bar, r.count) for r in longer.multirests] == [(10, 8)]
    assert said(longer, RestHere(bar_at(longer, 10), 1)).bars == 32


def test_the_first_bar_said_to_be_0_is_a_pickup() -> None:
    pickup = said(plain(), NumberHere(bar_at(plain(), 1), 0))
    assert pickup.pickup and pickup.bars == 31
    assert [(m.text, m.bar) for m in pickup.marks] == [("A", 0), ("B", 8), ("C", 16), ("D", 24)]
    assert not said(pickup, NumberHere(bar_at(pickup, 0), 1)).pickup


def test_a_number_that_the_count_does_not_reach_says_where_to_look() -> None:
    off = said(plain(), NumberHere(bar_at(plain(), 9), 9), NumberHere(bar_at(plain(), 17), 18))
    words = (
        "The bar on page 1 that is said to be 18 would be 17 by the count: 1 bar is missing between bar 9 and there."
    )
    assert off.doubts == (words,) and off.confidence < 0.9
    doubted = [n for n, (_, system) in enumerate(systems(off)) if system.doubt]
    assert doubted == [2, 3]
    page, system = systems(plain())[2]
    bar = system.bars[1]
    right = said(
        plain(),
        NumberHere(bar_at(plain(), 9), 9),
        NumberHere(bar_at(plain(), 17), 18),
        BarlineHere(place(page, system, (bar.x0 + bar.x1) / 2)),
    )
    assert right.doubts == () and right.bars == 33


def test_a_doubtful_rest_between_two_numbers_is_counted_by_them() -> None:
    guessed = said(plain(), RestHere(bar_at(plain(), 10), 2))
    pages = list(guessed.pages)
    unsure = [
        replace(s, bars=tuple(replace(bar, confidence=0.5 if bar.count > 1 else 1.0) for bar in s.bars))
        for s in pages[0].systems
    ]
    pages[0] = replace(pages[0], systems=tuple(unsure))
    counted = said(replace(guessed, pages=tuple(pages)), NumberHere(bar_at(guessed, 12), 18))
    assert [(r.bar, r.count) for r in counted.multirests] == [(10, 8)] and counted.bars == 39


def test_a_printed_number_that_disagrees_is_no_doubt_once_the_bars_agree() -> None:
    page, system = systems(plain())[3]
    pages = list(plain().pages)
    own = list(pages[page].systems)
    own[3] = replace(system, printed_number=14)
    own[2] = replace(own[2], confidence=0.3, doubt="The bar on page 1 that is numbered 14 would be 13 by the count.")
    pages[page] = replace(pages[page], systems=tuple(own))
    misread = replace(plain(), pages=tuple(pages), doubts=(own[2].doubt,), confidence=0.3)
    bar = own[2].bars[0]
    right = said(misread, BarlineHere(place(page, own[2], (bar.x0 + bar.x1) / 2)))
    assert right.doubts == () and right.confidence >= 0.9 and right.bars == 33
    assert said(misread, LineIsRight(place(page, own[3], bar.x1)), LineIsRight(place(page, own[2], bar.x1))).bars == 32
    assert said(misread, LineIsRight(place(page, own[2], bar.x1))).confidence < 0.9
    settled = said(misread, *(LineIsRight(place(page, line, bar.x1)) for line in own[:3]))
    assert settled.doubts == () and settled.confidence >= 0.9 and settled.bars == 32


def test_signs_are_changed_added_and_taken_away() -> None:
    reading = reading_of("*1st Alto.pdf")
    sign = next(s for s in reading.signs if s.kind is SignKind.TO_CODA)
    here = centre(sign.page, sign.box)
    changed = said(reading, SignHere(here, "fine", "end"))
    assert (SignKind.FINE, sign.bar) in [(s.kind, s.bar) for s in changed.signs if s.at == "end"]
    assert len(changed.signs) == len(reading.signs)
    assert len(said(reading, NoSign(here)).signs) == len(reading.signs) - 1
    at = bar_at(reading, 9)
    added = said(reading, SignHere(Place(at.page, at.x, at.y - 30), "segno", "start", bar_at(reading, 9)))
    assert any(s.kind is SignKind.SEGNO and s.bar in (9, 10) for s in added.signs)


def test_endings_are_added_changed_and_taken_away() -> None:
    made = said(plain(), EndingHere(bar_at(plain(), 7), bar_at(plain(), 8), (1,)))
    assert [(e.passes, e.bar, e.last_bar) for e in made.endings] == [((1,), 7, 8)]
    other = said(made, EndingHere(bar_at(plain(), 7), bar_at(plain(), 9), (1, 2)))
    assert [(e.passes, e.bar, e.last_bar) for e in other.endings] == [((1, 2), 7, 9)]
    moved = EndingHere(bar_at(plain(), 11), bar_at(plain(), 12), (1,), instead=bar_at(plain(), 7))
    for once_or_twice in ([moved], [moved, moved]):
        assert [(e.passes, e.bar, e.last_bar) for e in said(made, *once_or_twice).endings] == [((1,), 11, 12)]
    assert said(made, NoEnding(bar_at(plain(), 8))).endings == ()


def test_a_system_is_taken_away_and_drawn_again() -> None:
    page, system = systems(plain())[2]
    without = said(plain(), NoSystem(place(page, system, 300)))
    assert without.bars == 28 and [m.text for m in without.marks] == ["A", "C", "D"]
    stave = system.staves[0]
    drawn = said(without, SystemHere(page, ((stave.x0, stave.top, stave.x1, stave.bottom),)))
    assert drawn.bars == 29
    lines = [BarlineHere(place(page, system, line.x)) for line in system.barlines[:-1]]
    whole = said(without, SystemHere(page, ((stave.x0, stave.top, stave.x1, stave.bottom),)), *lines)
    assert whole.bars == 32 and told(whole)["counts"] == told(plain())["counts"]


def test_what_finds_no_line_any_more_is_told_and_changes_nothing() -> None:
    lost = said(plain(), NoBarline(Place(0, 300, 5)), NoBarline(Place(7, 300, 300)))
    assert told(lost) == told(plain())
    assert [words for words in lost.doubts if "found no line" in words]
