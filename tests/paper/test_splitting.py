"""A bar that is wider than the line goes on on the next one, from a beat on; else it is narrowed."""

from collections import Counter
from itertools import pairwise

import pypdfium2

from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from paper.laid import Part, engraved

SUNG = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Wide" tagline = ##f }
mel = \relative c' { \time 4/4 f4 g a b | \autoBeamOff f16 g a b c b a g f g a b c b a g | f4 g a b \bar "|." }
words = \lyricmode { few words are sung through straights and strong bells sound long and loud from sea
  to shore through fog then here and now then }
\score { << \new ChordNames \chordmode { f1 f4 g:m c:7 f f1 } \new Staff \new Voice = "m" \mel
  \new Lyrics \lyricsto m \words >> }
"""
"""Three bars; the second has a long syllable on every sixteenth and a chord name on every beat."""

BEAMED = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Beamed" tagline = ##f }
\relative c' { \time 4/4 c1 | c16[ d e f g a g f e d c d e f g a] | c,1 \bar "|." }
"""
"""Three bars; one beam over all of the second."""


def letters(pdf: bytes) -> Counter[str]:
    document = pypdfium2.PdfDocument(pdf)
    return Counter(c for page in document for c in page.get_textpage().get_text_range() if c.isalpha() and c.isascii())


def positions(the: Part, number: int) -> list[float]:
    """Where in its bar, in quarter notes, each part of it begins: by the syllables before it, one a note."""
    bar = next(b for b in the.cut.table.bars if b.number == number)
    each = {1: 1.0, 2: 0.25}[number]
    starts = [0.0]
    for part in bar.parts[:-1]:
        heads = [w for w in part.words if not w.above and the.cut.table.extents[w.piece].bottom > 4]
        starts.append(starts[-1] + each * len(heads))
    return starts


def test_a_wide_bar_goes_on_on_the_next_line_from_a_beat_on() -> None:
    the = engraved(SUNG)
    laying = the.laying
    assert laying.notes == ("Bar 2 is wider than the page and goes on on the next line.",)
    lines = [line for page in laying.pages for line in page.lines]
    assert [line for line in lines if line.bars[0].steps == (1, 1)]
    shown = [bar.steps for line in lines for bar in line.bars]
    assert list(dict.fromkeys(shown)) == [(0, 0), (1, 1), (2, 2)]
    assert 2 <= shown.count((1, 1)) <= 3
    assert positions(the, 2) == [0.0, 1.0, 2.0, 3.0]


def test_its_number_stands_where_it_begins_a_line_only_and_no_barline_within_it() -> None:
    the = engraved(SUNG)
    page = the.laying.pages[0]
    heads = [two.bars[0].steps for one, two in pairwise(page.lines) if one.bars[-1].steps != two.bars[0].steps]
    assert [w.text for w in page.words if w.style == "number"] == [str(first + 1) for first, _ in heads]
    for one, two in pairwise(page.lines):
        tall = [r for r in page.rules if r.x0 > 146 and one.y0 - 0.5 < r.y0 < one.y1 and r.y1 - r.y0 > 6]
        assert bool(tall) == (one.bars[-1].steps != two.bars[0].steps)


def test_nothing_of_it_is_lost_or_doubled() -> None:
    the = engraved(SUNG)
    assert letters(the.laid) == letters(the.pdf)
    narrow = lay(the.reading, the.cut.table, printed_order(the.reading), (110.0, 160.0), 8.0)
    assert letters(draw_cut(the.cut, narrow)) == letters(the.pdf)


def test_a_bar_that_fits_stays_whole() -> None:
    the = engraved(SUNG)
    wide = lay(the.reading, the.cut.table, printed_order(the.reading), (260.0, 197.0), 7.0)
    assert [bar.steps for page in wide.pages for line in page.lines for bar in line.bars] == [(0, 0), (1, 1), (2, 2)]
    assert not wide.notes


def test_under_one_beam_it_is_narrowed_and_said() -> None:
    the = engraved(BEAMED)
    laying = lay(the.reading, the.cut.table, printed_order(the.reading), (70.0, 197.0), 12.0)
    assert [bar.steps for page in laying.pages for line in page.lines for bar in line.bars].count((1, 1)) == 1
    (note,) = laying.notes
    assert note.startswith("Bar 2 is wider than the page and was narrowed to ")
