"""Pages that parts share, and pages that share a sheet, engraved and read: right, or said in one sentence.

How players' parts stand on one page (staves of one system with their barlines over one another; a title and a meter
where a part begins; two pages beside each other on a sheet on its side) is common practice.
`COLLAPARTE_SEED=n pytest tests/paper/test_read_shared_pages.py` engraves the same again.
"""

import random
from collections.abc import Callable
from pathlib import Path

import pymupdf
import pytest

import engraving
from collaparte.paper.corrected import corrected
from collaparte.paper.cutting.pieces import cut
from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE, Reading
from collaparte.paper.shared import half
from collaparte.wire.corrections import Correction, HalfHere, Place
from seeded import SEED

pytestmark = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")

print(f"COLLAPARTE_SEED={SEED}")
NO_LINE = r"\context { \Score \remove System_start_delimiter_engraver }"
NO_NUMBERS = r"\context { \Score \omit BarNumber }"
BARS = ("c'4 d' e' f'", "g'1", "a'2 g'", "r1", "f'8 e' d' c' a'4 g'", "c''2. r4", "e'16 f' g' a' bes'4 a'2")
PLAYERS = r"""\score {{ << \new Staff {{ \time 4/4 {} \bar "|." }} \new Staff {{ \time 4/4 {} \bar "|." }} >>
    \layout {{ {} {} }} }}"""


def engrave(music: str, folder: Path, title: str = "Paper Lanterns", size: int = 20) -> bytes:
    head = rf"""\version "2.24.0" #(set-global-staff-size {size}) \header {{ title = "{title}" tagline = ##f }}"""
    (folder / "barlines.jsonl").write_text("", encoding="utf-8")
    return engraving.engrave(engraving.Chart(0, head + music, engraving.Truth(), music), folder)[0]


def part(bars: int, seed: int) -> str:
    dice = random.Random(seed)
    return " | ".join(dice.choice(BARS) for _ in range(bars))


def one(bars: int, seed: int, layout: str = "") -> str:
    return rf"""\score {{ \new Staff {{ \time 4/4 {part(bars, seed)} \bar "|." }} \layout {{ {layout} }} }}"""


def beside(*pages: bytes) -> bytes:
    """The first pages of some files, two to a sheet that lies on its side."""
    sheets = pymupdf.open()
    for n, pdf in enumerate(pages):
        sheet = sheets.new_page(width=842, height=595) if n % 2 == 0 else sheets[-1]
        sheet.show_pdf_page(pymupdf.Rect(421 * (n % 2), 0, 421 * (n % 2 + 1), 595), pymupdf.open(stream=pdf), 0)
    data: bytes = sheets.tobytes()
    return data


def over(*pages: bytes) -> bytes:
    """The first pages of two files, one above the other on a sheet."""
    sheets = pymupdf.open()
    sheet = sheets.new_page(width=595, height=842)
    for n, pdf in enumerate(pages):
        sheet.show_pdf_page(pymupdf.Rect(0, 421 * n, 595, 421 * (n + 1)), pymupdf.open(stream=pdf), 0)
    data: bytes = sheets.tobytes()
    return data


def said(reading: Reading) -> bool:
    """No line of it is sure, from the second part on, and the first sentence says what to do."""
    return reading.confidence < SURE and "on pages of its own" in reading.doubts[0]


def taken(reading: Reading, number: int) -> Reading:
    """The reading with one half of its pages taken, as by `--half`."""
    said = half(reading, number)
    assert said is not None
    return corrected(reading, [Correction("half", "", said)])


def test_two_copies_of_a_part_on_a_sheet_are_the_same_part(tmp_path: Path) -> None:
    copy = engrave(one(14, SEED), tmp_path)
    reading = read_part(beside(copy, copy))
    assert said(reading) and half(reading, 3) is None
    left, right = taken(reading, 1), taken(reading, 2)
    assert left.bars == right.bars == 14 and min(left.confidence, right.confidence) >= SURE
    a, b = left.pages[0].systems[0].bbox, right.pages[0].systems[0].bbox
    assert b[0] - a[0] == pytest.approx(421, abs=0.5)  # places stay those of the sheet
    one_of, other = (cut(beside(copy, copy), alone) for alone in (left, right))
    assert [(t.align, t.y) for t in one_of.title] == [(t.align, t.y) for t in other.title] != []
    assert [round(bar.width, 1) for bar in one_of.bars] == [round(bar.width, 1) for bar in other.bars]
    alone = cut(copy, read_part(copy))
    assert [len(bar.words) for bar in one_of.bars] == [len(bar.words) for bar in alone.bars]


def test_a_half_that_cannot_be_told_apart_any_more_is_said(tmp_path: Path) -> None:
    reading = read_part(engrave(one(14, SEED), tmp_path))
    lost = corrected(reading, [Correction("half", "", HalfHere(Place(0, 100, 100)))])
    assert lost.bars == 14 and "cannot be told apart there any more" in lost.doubts[0]


@pytest.mark.parametrize("numbers", ["", NO_NUMBERS])
def test_two_players_staves_that_no_line_joins_are_one_system(tmp_path: Path, numbers: str) -> None:
    music = PLAYERS.format(part(40, SEED), part(40, SEED + 1), NO_LINE, numbers)
    reading = read_part(engrave(music, tmp_path))
    assert reading.bars == 40
    assert {len(system.staves) for page in reading.pages for system in page.systems} == {2}


def test_one_system_alone_on_the_last_page_is_like_those_before(tmp_path: Path) -> None:
    music = PLAYERS.format(part(40, 1001), part(40, 1002), NO_LINE, NO_NUMBERS)
    reading = read_part(engrave(music, tmp_path))
    assert [len(page.systems) for page in reading.pages][1:] == [1]
    assert reading.bars == 40


@pytest.mark.parametrize("systems", [8, 9, 10, 11])
def test_two_systems_of_a_keyboard_part_alone_on_a_page_stay_two(tmp_path: Path, systems: int) -> None:
    hands = rf"\new Staff {{ \repeat unfold {systems} {{ b'1 b'1 b'1 b'1 \break }} }}"
    music = rf"\score {{ \new PianoStaff << {hands} {hands} >> \layout {{ {NO_NUMBERS} }} }}"
    reading = read_part(engrave(music, tmp_path))
    assert reading.bars == 4 * systems
    assert sum(len(page.systems) for page in reading.pages) == systems


def test_a_part_s_lines_of_bars_equally_wide_stay_lines_of_their_own(tmp_path: Path) -> None:
    music = r"\score { \new Staff { \time 4/4 \repeat unfold 32 { b'1 } } }"
    assert read_part(engrave(music, tmp_path)).bars == 32


def test_two_pages_of_one_part_beside_each_other_are_read_on(tmp_path: Path) -> None:
    music = one(150, SEED)
    pdf = engrave(music, tmp_path)
    pages = len(pymupdf.open(stream=pdf))
    assert pages > 1
    halves = []
    for n in range(pages):
        half = pymupdf.open(stream=pdf)
        half.select([n])
        halves.append(half.tobytes())
    reading = read_part(beside(*halves))
    assert reading.bars == 150 and reading.confidence >= SURE


@pytest.mark.parametrize("together", [beside, over])
@pytest.mark.parametrize("numbers", ["", NO_NUMBERS])
def test_two_parts_on_one_sheet_are_said(tmp_path: Path, together: Callable[..., bytes], numbers: str) -> None:
    first = engrave(one(14, SEED, numbers), tmp_path)
    second = engrave(one(18, SEED + 1, numbers), tmp_path, "Slow Ferry")
    reading = read_part(together(first, second))
    assert said(reading)
    for number, title, bars in ((1, "Paper Lanterns", 14), (2, "Slow Ferry", 18)):
        alone = taken(reading, number)
        assert (alone.head[0].text, alone.bars, alone.doubts) == (title, bars, ())
        assert alone.confidence >= SURE


@pytest.mark.parametrize("together", [beside, over])
def test_two_parts_in_two_sizes_on_one_sheet_are_said(tmp_path: Path, together: Callable[..., bytes]) -> None:
    first = engrave(one(20, SEED), tmp_path)
    second = engrave(one(20, SEED + 1), tmp_path, "Slow Ferry", 15)
    assert said(read_part(together(first, second)))


def test_two_movements_on_one_page_are_said(tmp_path: Path) -> None:
    music = one(20, SEED) + r'\markup \fill-line { \fontsize #5 \bold "II. Waltz" }' + one(20, SEED + 1)
    assert said(read_part(engrave(music, tmp_path)))


def test_a_change_of_meter_behind_a_final_barline_begins_no_part(tmp_path: Path) -> None:
    music = rf"""\score {{ \new Staff {{ \time 4/4 {part(12, SEED)} \bar "|." \break
        \time 3/4 \repeat unfold 12 {{ c'2. }} \bar "|." }} }}"""
    reading = read_part(engrave(music, tmp_path))
    assert reading.bars == 24 and not reading.doubts
