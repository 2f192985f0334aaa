"""What must not be left on a scan's laid page: old bar numbers, running heads, bits of staff lines, noise of shadows.

And what is not to be taken for something else: pencil for a bracket, letters for notes, a meter for a bar's notes.
"""

from functools import cache

import cv2
import numpy as np
import numpy.typing as npt
import pytest
from msgspec.structs import replace

import scanning
from collaparte.paper.confirmed import all_sure
from collaparte.paper.cutting.pieces import cut
from collaparte.paper.cutting.scan_brackets import bracket
from collaparte.paper.cutting.scan_clefs import HeadInk
from collaparte.paper.cutting.scan_dust import noise
from collaparte.paper.cutting.scan_parts import round_it
from collaparte.paper.cutting.scan_rules import bracket_of
from collaparte.paper.cutting.scan_staff import without_barlines, without_staff
from collaparte.paper.cutting.scan_words import Loose
from collaparte.paper.read import read_part
from collaparte.paper.reading import Reading
from collaparte.paper.scans.parts import connected
from paper.laid import engraved

CHART = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Ropes" instrument = "Horn" tagline = ##f }
\paper { ragged-last = ##f top-margin = 10\mm top-system-spacing = #'((basic-distance . 0) (padding . 2)) }
\score { \new Staff \relative c' {
    \override Score.BarNumber.break-visibility = ##(#f #t #t)
    \set Score.barNumberVisibility = #(every-nth-bar-number-visible 4)
    \clef "treble_8" \key g \major \time 3/4 \bar ".|:"
    \repeat volta 2 { g4 a b | c4 b a | g2. | d'4 e fis | } g4 fis e | d2. | b4 c d | \break
    e4 d c | b4 a g | a2. | b4 a g | fis2. | g4 b d | g2. | \pageBreak c,4 b a | g4 a b | c2. | b4 g a | g2. \bar "|."
} }
"""
"""Every fourth bar has its number, in mid-line too; the line opens with a meter and a repeat; the second page has a
running head close over its line."""
SPACE = 20.0


@cache
def scan() -> tuple[bytes, Reading]:
    how = scanning.Damage(200, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")
    pdf, _ = scanning.scanned(engraved(CHART).pdf, how, 7)
    return pdf, all_sure(read_part(pdf, scans=True))


def test_old_bar_numbers_are_left_out_wherever_they_stand_and_whether_they_were_read_or_not() -> None:
    pdf, reading = scan()
    unread = tuple(
        replace(page, systems=tuple(replace(v, printed_number=None, printed_number_box=None) for v in page.systems))
        for page in reading.pages
    )
    for one in (reading, replace(reading, pages=unread)):
        table = cut(pdf, one)
        # A number stands a space over its stave, and is one high at least; no note of these bars reaches so far.
        over = {bar.number: table.extents[bar.main[0]].top for bar in table.bars if bar.number % 4 == 0}
        assert not any(bar.words for bar in table.bars)
        assert len(over) == 4 and all(top > -3.8 for top in over.values())


def test_a_meter_before_the_repeat_that_opens_a_line_is_the_lines_meter() -> None:
    pdf, reading = scan()
    table = cut(pdf, reading)
    assert table.bars[0].left == "repeat-start" and len(table.meters) == 1
    # Common practice: two figures, each two spaces high, fill the stave.
    meter = table.extents[table.meters[0].pieces[0]]
    assert abs(meter.top + 2) < 0.4 and abs(meter.bottom - 2) < 0.4


def test_a_later_pages_running_head_stands_over_no_bar() -> None:
    pdf, reading = scan()
    table = cut(pdf, reading)
    assert len(reading.pages) == 2 and len(table.foot) == 2
    assert all(table.extents[bar.main[0]].top > -3.8 for bar in table.bars if bar.number > 14)


def _stave() -> npt.NDArray[np.bool_]:
    """Lines two pixels thick, but for a pixel more on every fifth place; a barline, and a head right behind it."""
    ink = np.zeros((160, 400), np.bool_)
    for y in range(40, 121, 20):
        ink[y : y + 2] = True
        ink[y + 2, ::5] = True
    ink[40:122, 200:204] = True
    cv2.ellipse(drawn := ink.astype(np.uint8), (232, 70), (12, 9), -20, 0, 360, 1, -1)
    return drawn.astype(np.bool_)


def test_a_staff_line_between_a_barline_and_a_note_leaves_nothing_behind() -> None:
    ink = _stave()
    lines, barlines = [y + 0.5 for y in range(40, 121, 20)], [(200.0, 204.0)]
    without_staff(ink, lines, barlines, SPACE)
    without_barlines(ink, (40.0, 122.0), barlines, SPACE)
    assert not ink[:, :218].any() and ink[:, 218:].any()


def test_a_barline_beyond_a_lines_ink_takes_nothing_off() -> None:
    """Met on a scan as wide as its staves (8950031): the sheet's dark edge, which goes, was read as a barline; the part
    could not be laid."""
    ink = _stave()
    before = ink.copy()
    without_barlines(ink, (40.0, 122.0), [(414.0, 418.0)], SPACE)
    assert (ink == before).all()


def test_a_wavy_line_of_pencil_is_no_endings_bracket() -> None:
    x = np.arange(5, 235)
    wave = np.zeros((30, 240), np.uint8)
    points = np.stack([x, 12 + 0.2 * SPACE * np.sin(x / 8)], axis=1)
    cv2.polylines(wave, [np.round(points).astype(np.int32)], False, 1, 7)
    rule = np.zeros((30, 240), np.bool_)
    rule[2:5] = rule[:, :4] = True
    for mask in (wave.astype(np.bool_), rule):
        rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
        mine = mask[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
        assert (bracket(mine, SPACE) is not None) == (mask is rule)


def test_a_shadows_noise_beside_the_staves_is_dust_and_a_number_there_is_none() -> None:
    dice = np.random.default_rng(3)
    ink = np.zeros((800, 1200), np.bool_)
    for y, x in zip(dice.integers(0, 790, 400), dice.integers(0, 60, 400), strict=True):
        ink[y : y + 4, x : x + 3] = True
    ink[100:220, 5:9] = True  # a bit of the sheet's dark edge
    ink[300:328, 100:114] = ink[500:504, 600:604] = True
    parts = connected(ink)
    found = noise(parts, 150.0, 1150.0, SPACE)
    dusty = parts.x1 < 70
    edge = parts.y1 - parts.y0 >= 120
    assert edge.sum() == 1 and found[edge].all()
    assert found[dusty].mean() > 0.9 and not found[~dusty].any()


def test_letters_that_touch_over_a_barline_are_one_word_and_a_slur_there_is_none() -> None:
    ink = np.zeros((200, 500), np.uint8)
    cv2.putText(ink, "Fine", (70, 70), cv2.FONT_HERSHEY_SIMPLEX, 1.5, 1, 8)
    ink[62:68, 75:165] = 1  # they touch
    cv2.ellipse(ink, (350, 90), (60, 40), 0, 200, 340, 1, 5)
    parts = connected(ink.astype(np.bool_))
    loose = Loose(parts, (120.0, 200.0), SPACE)
    found = loose.over(np.ones(len(parts), np.bool_), [150.0, 350.0])
    assert [round_it(numbers, parts)[0] < 150 for numbers in found] == [True]


LARGE = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Large" tagline = ##f }
\paper { ragged-last = ##f }
\score { \new Staff \with { \override TimeSignature.font-size = #3 }
  \relative c { \clef bass \key aes \major \numericTimeSignature \time 2/2
    \partial 2 aes2 | \repeat volta 2 { g4 aes bes c | des2 c | aes4 bes c bes | aes1 } \break
    g4 aes bes c | des2 c | bes4 g f g | aes1 \bar "|." } }
"""
"""A meter as high as a handwritten font's, and a first note from the stave's top to its bottom as a meter is."""


def test_a_first_note_is_not_taken_for_the_meter_before_it() -> None:
    """Found by eye on a fresh scan (8950055): the meter stood upon the key."""
    how = scanning.Damage(200, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")
    scan, _ = scanning.scanned(engraved(LARGE).pdf, how, 1)
    reading = all_sure(read_part(scan, scans=True))
    page = reading.pages[0]
    first = page.systems[0]
    note = min(b.x0 for b in first.barlines) - 7 * first.space
    bars = (replace(first.bars[0], x0=note), *first.bars[1:])  # as it was read there, behind the meter
    page = replace(page, systems=(replace(first, bars=bars), *page.systems[1:]))
    table = cut(scan, replace(reading, pages=(page,)))
    assert table.bars[0].number == 0 and table.heads[table.bars[0].head_here].key_width > 1
    assert table.extents[table.bars[0].main[0]].left > -0.3, "the meter begins the first bar"


@pytest.mark.parametrize("wide", [1.75, 2.1])
def test_a_wide_sharp_is_not_cut_at_its_edge(wide: float) -> None:
    """Found by eye on fresh scans (8950051, 8950031: a sharp 1.75 spaces wide, of which half stood in the first bar);
    what is wider touches a note."""
    ink = np.zeros((200, 400), np.bool_)
    ink[30:150, 20:74] = True
    ink[20:82, 94 : 94 + round(wide * SPACE)] = True
    parts = connected(ink)
    head = HeadInk(parts, np.ones(len(parts), np.bool_), (40.0, 120.0), 140.0, SPACE, ends=84)
    found = head.key_up_to(round(1.6 * SPACE), through=False)
    assert found is not None and len(found.numbers) == 2
    assert found.end == (None if wide < 2 else 84 + round(1.6 * SPACE))


@pytest.mark.parametrize("thick", [4, 10])
def test_a_beam_with_pencil_at_its_end_is_no_bracket_of_an_ending(thick: int) -> None:
    """Found by counting (8950054): a beam (half a space thick) was drawn over the next line; a bracket is thin."""
    ink = np.zeros((160, 240), np.bool_)
    ink[60 : 60 + thick, 20:200] = ink[60:110, 20:23] = True
    parts = connected(ink)
    assert bool(bracket_of(parts, 0, (30, 130), SPACE)) == (thick == 4)
