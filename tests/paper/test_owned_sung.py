"""Words sung and what stands by them; clefs of an octave lower; words right over the notes of a first line."""

import random

import pytest

from collaparte.paper.cutting.items import Item
from collaparte.paper.cutting.ownership import own
from paper.laid import Part, engraved

SONG = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Song" tagline = ##f }
\layout { indent = 0 }
<<
  \new Staff << \new Voice = "v" \relative c' { \clef "treble_8" \key ees \major \time 4/4
      g4 bes c bes | aes2 g4 f | ees2. f4 | \break aes2 g | f4 g8 aes bes4 c | bes4 g ees2 | \bar "|." }
    \new Lyrics \lyricsto "v" { \set stanza = "1. "
      Nev -- er let the lan -- tern down be -- fore the win -- dow __ sill of our small room is dark } >>
  \new PianoStaff \with { \override VerticalAxisGroup.staff-staff-spacing.padding = #-1 } <<
    \new Staff \relative c''' { \key ees \major
      ees1 | f2 ees | g1 | <ees aes>1 | f1 | ees1 }
    \new Staff \relative c { \clef bass \key ees \major ees1 | f2 c | ees1 | aes1 | f1 | ees1 } >>
>>
"""
"""Six bars on two lines of three staves: the piano's notes are high, so that its upper stave is near to the words."""


@pytest.fixture(scope="module")
def the() -> Part:
    return engraved(SONG)


@pytest.fixture(scope="module")
def items(the: Part) -> list[Item]:
    return own(the.cut.pages[0], the.reading, 0).items


def test_words_sung_stand_under_their_stave(items: list[Item]) -> None:
    """Their hyphens with them, however near the next stave's notes are (common practice)."""
    sung = [i for i in items if i.style == ("lyric",)]
    assert len(sung) == 19
    assert {(i.stave, i.above) for i in sung} == {(0, False)}
    assert {(i.stave, i.above) for i in items if i.letters == "-"} == {(0, False)}


def test_hyphens_stand_in_the_row_of_their_syllables(the: Part) -> None:
    """Which moves where bars of several printed lines come to stand on one."""
    extents = the.cut.table.extents
    words = [(w, extents[w.piece]) for bar in the.cut.table.bars for w in bar.words]
    assert {w.row for w, e in words if e.bottom - e.top < 0.4} == {w.row for w, _ in words if w.row >= 0}


def test_a_verses_number_stands_with_its_words(items: list[Item]) -> None:
    (verse,) = (i for i in items if i.letters.strip() == "1.")
    assert (verse.system, verse.stave, verse.above) == (0, 0, False)


def test_barlines_part_where_they_do_in_print(the: Part) -> None:
    """Between voice and piano, not between the piano's hands; the words stand between them."""
    assert the.cut.table.parted == (0,)
    (page, *_) = the.laying.pages
    line = page.lines[0]
    first, second, third = (y for y in line.bars[0].staves)
    end = line.bars[0].x1
    upright = sorted((r.y0, r.y1) for r in page.rules if abs(r.x0 - end) < 0.1 and line.y0 - 1 < r.y0 < line.y1)
    assert len(upright) == 2
    assert upright[0][1] < second - 2 * the.laying.space - 1 < upright[1][0] < second < third < upright[1][1]
    assert upright[0][0] < first < upright[0][1]


def test_a_clefs_figure_is_at_every_line(the: Part) -> None:
    """An octave lower than read is an octave wrong."""
    extents, heads = the.cut.table.extents, the.cut.table.heads
    lines = [bar for bar in the.cut.table.bars if bar.index in (1, 4)]
    clefs = [extents[heads[bar.head_here].clef[0]] for bar in lines]
    assert clefs[0] == clefs[1]
    inks = the.cut.inks[heads[lines[0].head_here].clef[0]]
    assert len(inks.parts) == 2


DRUMS = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Kit" composer = "A. Nobody" tagline = ##f }
\new DrumStaff \drummode { \stemUp hh8 hh hh hh hh^"H.H." hh hh hh | cymc4^"crash" cymc cymc cymc | hh1 \bar "|." }
"""


def test_words_right_over_notes_are_not_the_titles() -> None:
    the = engraved(DRUMS)
    owned = own(the.cut.pages[0], the.reading, 0)
    words = {i.letters.strip(): i.bar for i in owned.items if i.letters.strip() in ("H.H.", "crash")}
    assert words == {"H.H.": 0, "crash": 1}
    assert {"Kit", "Nobody"} <= {w for i in owned.head for w in i.letters.split()}


CLOSE = r"""
\version "2.24.0"
#(set-global-staff-size 16)
\header { title = "Close" tagline = ##f }
\new ChoirStaff << UPPER LOWER >>
"""
BEATS = "{}4", "{}8 {}8", "{}8. {}16", "r4"


def voice(chance: random.Random, clef: str, pitches: str) -> str:
    bars = (" ".join(chance.choice(BEATS) for _ in range(4)) for _ in range(16))
    music = " | ".join(bar.format(*chance.choices(pitches.split(), k=8)) for bar in bars)
    words = " ".join(chance.choices(("har -- bour", "la", "low", "lamps", "wa -- ter", "and"), k=32))
    return rf'\new Staff {{ \clef {clef} \key d \major \time 4/4 {music} \bar "|." }} \addlyrics {{ {words} }}'


@pytest.mark.parametrize("seed", [0, 3, 4, 11, 18, 20])
def test_a_hyphen_close_between_two_syllables_joins_no_bars(seed: int) -> None:
    """Found by eye: the syllable of a bar's last note stood over the clef where the next bar began a line. A syllable
    is centred on its note (common practice), and no note stands over the barline before its bar."""
    chance = random.Random(seed)
    upper, lower = voice(chance, "treble", "c' e' g' b' d'' f''"), voice(chance, "bass", "e, g, b, d f a")
    the = engraved(CLOSE.replace("UPPER", upper).replace("LOWER", lower))
    extents = the.cut.table.extents
    sung = [(bar.number, extents[w.piece].left) for bar in the.cut.table.bars for w in bar.words if w.row >= 0]
    assert len(sung) > 40
    assert [bar for bar, left in sung if left < -2.5] == []
