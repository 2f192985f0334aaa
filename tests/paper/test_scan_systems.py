"""Whose loose ink on a scan is: chord names go with the line below them; and how such lines stand.

What each line holds is the chart's own text, set here by the engraver.
"""

from collections.abc import Sequence
from functools import cache

import numpy as np
import pymupdf
import pytest
from msgspec.structs import replace

import scanning
from collaparte.paper.cutting.pieces import Cut, cut_ink
from collaparte.paper.cutting.scan_given import Given
from collaparte.paper.cutting.scan_parts import Pixels
from collaparte.paper.cutting.scan_straight import named
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.read import read_part
from collaparte.paper.reading import Box, Reading, Sign, SignKind
from collaparte.paper.scans.parts import connected
from paper.laid import engraved

FLAT = scanning.Damage(300, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")

CLOSE = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Close" tagline = ##f }
\paper { system-system-spacing = #'((basic-distance . 9) (minimum-distance . 9) (padding . 0.5)) ragged-last = ##f }
\score { <<
  \new ChordNames \chordmode { c2 d:m7 g:7 c c d:m7 g:7 c c d:m7 g:7 c c d:m7 g:7 c c d:m7 g:7 c c d:m7 g:7 c }
  \new Staff \relative c'' { \set Score.rehearsalMarkFormatter = #format-mark-box-alphabet
    g4 a b c | g2 c | g4 a b c | b2 c, | \break
    b'4 a g a | b2 g | g4 a b c | b2 c | \break
    g4 a b c | g2 c | g4 a b c | b1 \bar "|." }
>> }
"""
"""Three lines of eight chord names, of which the rows stand midway between the staves."""


def unsure(reading: Reading) -> Reading:
    """The reading with no line sure, so that each is laid whole."""
    pages = tuple(
        replace(page, systems=tuple(replace(system, confidence=0.7) for system in page.systems))
        for page in reading.pages
    )
    return replace(reading, pages=pages)


@cache
def close() -> tuple[Reading, Cut]:
    scan, _ = scanning.scanned(engraved(CLOSE).pdf, FLAT, 1)
    reading = unsure(read_part(scan, scans=True))
    return reading, cut_ink(scan, reading)


def test_a_row_of_chord_names_goes_with_the_line_below() -> None:
    _, cut = close()
    wholes = [cut.table.extents[bar.whole] for bar in cut.table.bars]
    assert len(wholes) == 3
    for e in wholes:
        assert e.top < -4.5, "its chord names stand over it"
        assert e.bottom < 4.5, "and no others under it"


def test_lines_of_a_scan_stand_at_one_size_one_below_the_other() -> None:
    reading, cut = close()
    laying = lay(reading, cut.table, printed_order(reading))
    pieces = {bar.whole for bar in cut.table.bars}
    placed = [p for page in laying.pages for p in page.placed if p.piece in pieces]
    assert len({p.space for p in placed}) == 1
    staves = [p.slices[0].x0 - p.slices[0].sx0 * p.space for p in placed]
    assert max(staves) - min(staves) < 0.05
    right = max(p.slices[-1].x1 for p in placed)
    assert right == pytest.approx(147.5, abs=1.0) or placed[0].space == laying.space
    # Lines stand no farther apart than their ink at the size that it has.
    lines = [line for page in laying.pages for line in page.lines]
    assert lines[1].y0 - lines[0].y1 < 14 * placed[0].space


ENDINGS = r"""
\version "2.24.0"
#(set-global-staff-size 16)
\header { title = \markup \abs-fontsize #22 "Happy, Happy Rain"
  instrument = "Cornet" composer = "I. Nobody of Nowhere Lane" tagline = ##f }
\paper { system-system-spacing = #'((basic-distance . 9) (minimum-distance . 9) (padding . 0.5)) ragged-last = ##f }
\score { \new Staff \relative c'' { \set Score.rehearsalMarkFormatter = #format-mark-box-alphabet
    \override DynamicText.extra-offset = #'(0 . 0.3)
    g4 a b c | g2 c | g4 a b c | b2\mf c, | \break
    \repeat volta 2 { b'4 a g a | b2 g | }
    \alternative { { g4 a b c | \break b2 c | } { g'4 a b c | g2 c, | g' c, | g' c, | } }
    \mark \default g4 a b c | b1 \bar "|." }
}
"""
"""Three lines: a dynamic under the first and close over the bracket of an ending that goes on from the second line into
the third, where the next one ends at a mark."""


@cache
def endings() -> Cut:
    scan, _ = scanning.scanned(engraved(ENDINGS).pdf, FLAT._replace(dpi=200), 1)
    return cut_ink(scan, unsure(read_part(scan, scans=True)))


def test_an_ending_stands_over_its_own_line_and_a_dynamic_under_its_own() -> None:
    """Found by eye: a bracket, the end of the one before and the mark behind it were one thing, and given to the line
    above; a dynamic with the bracket under it to the line below."""
    first, second, third = (endings().table.extents[bar.whole] for bar in endings().table.bars)
    assert 4 < first.bottom < 7, "its dynamic stands under it, and not the bracket below"
    assert -7 < second.top < -5, "which stands over the second"
    assert second.bottom < 4, "under which there is nothing"
    assert third.top < -5, "for the third has its brackets and its mark"


def test_a_title_in_the_middle_of_a_scan_stays_there_beside_who_wrote_it() -> None:
    """Found by eye: title and instrument, one under the other, were a word as high as both, and so near to the next."""
    assert [word.align for word in endings().table.title] == ["centre", "centre", "right"]


def test_a_sign_at_the_end_of_a_lines_first_bar_is_not_the_line_befores() -> None:
    """Found by counting whose ink is shown on scanned charts (8950029, 8500001): a D.S. that begins at the second
    barline stood under the line above. One that is printed at that line's end, for the bar behind it, does."""
    reading, _ = close()
    first, second = reading.pages[0].systems[:2]
    bar, sp = second.bars[0], second.space
    y0, y1 = first.bbox[3] + 3 * sp, first.bbox[3] + 4.5 * sp

    def whose(x0: float) -> int:
        box = (x0, y0, x0 + 8 * sp, y1)
        sign = Sign(kind=SignKind.DS, bar=bar.number, at="end", page=0, box=box)
        alone = replace(reading, marks=(), tempos=(), endings=(), head=(), signs=(sign,))
        return next(s for place, s in named(alone, 0) if place[0] == pytest.approx(x0 - 1.0))

    assert whose(bar.x1 + sp) == 1
    assert whose(first.bbox[2] - 7 * sp) == 0


def given(blocks: Sequence[Box], named: Sequence[tuple[Box, int]] = ()) -> list[int]:
    """Whose blocks of loose ink are on the page of `close`, of which nothing but its staves is there besides.

    Blocks in spaces, from the first line's left end and down from its lowest line."""
    read = close()[0].pages[0]
    unit = 0.25
    x, y, sp = read.systems[0].bbox[0] / unit, read.systems[0].bbox[3] / unit, read.systems[0].space / unit
    ink = np.zeros((round(read.height / unit), round(read.width / unit)), np.bool_)
    pixels = np.full(ink.shape, -1, np.int16)
    for s, system in enumerate(read.systems):
        x0, y0, x1, y1 = (round(v / unit) for v in system.bbox)
        ink[y0:y1, x0:x1], pixels[y0:y1, x0:x1] = True, s

    def placed(box: Box) -> Pixels:
        return round(x + box[0] * sp), round(y + box[1] * sp), round(x + box[2] * sp), round(y + box[3] * sp)

    for x0, y0, x1, y1 in map(placed, blocks):
        ink[y0:y1, x0:x1] = True
    parts = connected(ink)
    groups = [(np.array([parts.labels[y0, x0]], np.intp), (x0, y0, x1, y1)) for x0, y0, x1, y1 in map(placed, blocks)]
    words: list[tuple[Box, int]] = []
    for box, s in named:
        x0, y0, x1, y1 = placed(box)
        words.append(((x0 * unit, y0 * unit, x1 * unit, y1 * unit), s))
    return Given(pixels, parts, read, words, unit, first=True).of(groups, [False] * len(groups))


def test_a_dynamic_under_a_slur_goes_where_the_slur_goes() -> None:
    """Found by counting (8950020): it stood nearer to the next line than to its own line's notes."""
    first, second = close()[0].pages[0].systems[:2]
    between = (second.bbox[1] - first.bbox[3]) / first.space
    slur, dynamic = (20.0, 1.0, 30.0, 1.4), (24.0, between / 2 - 0.6, 26.0, between / 2 + 1.0)
    assert given([dynamic]) == [1], "by itself it is the line's below"
    assert given([dynamic, slur]) == [0, 0]


def test_words_beside_the_title_that_were_not_read_are_the_titles() -> None:
    """Found by counting (8950018, 8950022): a composer's name near the first stave was drawn over its music. Chord
    names on that row are not."""
    chair, row = (30.0, -7.5, 36.0, -6.0), [(float(x), -7.5, x + 2.0, -6.0) for x in (5, 15, 45, 55)]
    head = len(close()[0].pages[0].systems)
    assert given([row[3], chair], [(chair, head)]) == [head, head]
    assert given(row, [(chair, head)]) == [0] * 4


JOINED = r"""
\version "2.24.0"
#(set-global-staff-size 16)
\header { title = "Joined" instrument = "Cornet" composer = "I. Nobody" tagline = ##f }
\paper { markup-system-spacing = #'((basic-distance . 3) (minimum-distance . 3) (padding . 1.2)) ragged-last = ##f
  system-system-spacing = #'((basic-distance . 13) (minimum-distance . 13)) }
\score { \new Staff \relative c'' {
    g4 a b c | g4 a b c | g4 a b c | b2 c | \break
    \repeat volta 2 { b4 a g a | b2 g | } \alternative { { g4 a b c | b2 c | } { g4 a b c | } } b1 \bar "|." } }
"""
"""Two lines, and over the second the bracket of an ending."""


@cache
def joined() -> tuple[Reading, Cut]:
    """The chart with a pencil's circle from the first line's stave to the rule of the second one's bracket."""
    pdf = pymupdf.open(stream=engraved(JOINED).pdf)
    printed = read_part(engraved(JOINED).pdf)
    upper, ending = printed.pages[0].systems[0], printed.endings[0]
    x = ending.box[0] + 0.6 * (ending.box[2] - ending.box[0])
    circle = pymupdf.Rect(x - 20, upper.bbox[3] - upper.space, x + 20, ending.box[1] + 1.0)
    pdf[0].draw_oval(circle, width=1.4)
    scan, _ = scanning.scanned(pdf.tobytes(), FLAT._replace(dpi=200), 1)
    reading = unsure(read_part(scan, scans=True))
    return reading, cut_ink(scan, reading)


def test_a_bracket_that_pencil_joins_to_the_line_above_stands_over_its_own() -> None:
    """Found by eye (8950003, 8950010): the bracket was shown under the line above."""
    first, second = (joined()[1].table.extents[bar.whole] for bar in joined()[1].table.bars)
    assert first.bottom < 8.5, "no hooks hang under the line above, where the rule is 8 spaces down"
    assert -8 < second.top < -5.3, "the bracket stands over its own line"
