"""What stands over the beginning of a line: tempos drawn as outlines, a bar number within a mark's frame."""

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

import engraving
import second_engraving
from collaparte.paper.cutting.ink import letter
from collaparte.paper.cutting.items import Role
from collaparte.paper.cutting.ownership import own
from collaparte.paper.cutting.table import BarCut
from paper.laid import GUITAR, PIANO, SUNG, Part, _laid, engraved, part
from remade import PLAIN, remade

TEMPOS = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Heads" tagline = ##f }
\fixed c'' {
  \key d \major \time 2/2
  \tempo "Slow" 2 = 88 d4 e fis g | a2 a | d4 e fis g | a2 a | d4 e fis g | a2 a |
  \tempo 4. = 104 d4 e fis g | a2 a | d4 e fis g | a2 a |
  \tempo "Medium Fast" 4 = 132 d4 e fis g | a2 a | d4 e fis g | a1 | \bar "|."
}
"""
AT = (1, 7, 11)
COUNTED = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Counted" tagline = ##f }
\fixed c'' { \compressMMRests { \key g \major \tempo 4 = 132 R1*6 g2 a | \tempo 4 = 123 g2 a | b1 | \bar "|." } }
"""
"""A long rest's count stands close behind a tempo, on its height."""


def words(the: Part, bar: BarCut) -> list[float]:
    """How wide each thing over a bar is that floats there, in spaces."""
    return [the.cut.table.extents[w.piece].right - the.cut.table.extents[w.piece].left for w in bar.words]


def test_a_tempo_of_outlines_is_one_thing_as_one_of_letters_is() -> None:
    """The same page with its letters as letters and as outlines."""
    plain = engraved(TEMPOS)
    drawn = _laid(remade(plain.pdf, replace(PLAIN, text="outlines", music="outlines")))
    for number in AT:
        of = [next(b for b in the.cut.table.bars if b.number == number) for the in (plain, drawn)]
        (lettered,), (outlined,) = words(plain, of[0]), words(drawn, of[1])
        assert abs(lettered - outlined) < 0.3
    assert not [b.number for b in drawn.cut.table.bars if b.words and b.number not in AT]


def test_a_long_rest_s_count_is_no_part_of_the_tempo_before_it() -> None:
    """Else it stays over a bar or two of the rest when the others are cut."""
    the = engraved(COUNTED)
    counted, plain = (max(words(the, next(b for b in the.cut.table.bars if b.number == n))) for n in (1, 8))
    assert counted == pytest.approx(plain, abs=0.1)


def test_a_number_within_a_marks_frame_is_no_part_of_the_mark() -> None:
    """The second engraver sets a circle round a word so wide that it goes over the bar number at the line's head."""
    pdf, truth, _ = second_engraving.chart(1700844)
    the = _laid(pdf)
    assert ("Chorus", 13) in truth.marks, "another chart: choose another seed"
    (bar,) = (b for b in the.cut.table.bars if b.number == 13)
    assert {letters(the, word.piece) for word in bar.words} == {"Chorus"}


def letters(the: Part, piece: int) -> str:
    """What a piece says, its marks from left to right."""
    ink = the.cut.inks[piece]
    marks = sorted((the.cut.pages[ink.page].ink[part.mark] for part in ink.parts), key=lambda mark: mark.box[0])
    return "".join(letter(mark) for mark in marks)


@pytest.mark.parametrize(
    ("name", "said", "number"),
    [
        ("The Lamp You Left On/Bass.pdf", "rit.", 51),
        (GUITAR, "rit.", 51),
        (PIANO, "rit.", 51),
        ("The Lamp You Left On/Tenor Sax.pdf", "Vocal", 5),
        ("Two Left Gloves/Two_Left_Gloves_ASax2.pdf", "Bass and drums", 51),
    ],
)
def test_words_upon_other_words_of_a_line_are_of_that_line(name: str, said: str, number: int) -> None:
    """Over chord names or a long rest's count, beside a mark; the bars are those of the band's own sources."""
    the = part(name)
    words = [(bar.number, w) for bar in the.cut.table.bars for w in bar.words if letters(the, w.piece) == plain(said)]
    assert [(bar, w.above) for bar, w in words] == [(number, True)]


def plain(text: str) -> str:
    return text.replace(" ", "")


def test_what_is_sung_goes_with_its_own_line_however_near_the_next_one_s_chords_are() -> None:
    the = engraved(SUNG)
    assert the.reading.bars == 24
    over = "".join(letters(the, w.piece) for bar in the.cut.table.bars for w in bar.words if w.above)
    assert set(over) <= set("FBbGmCD7\ufffd")


def test_who_wrote_it_is_no_word_of_the_first_line() -> None:
    """Set right and close to the stave, on the line of type of the chair's name."""
    with TemporaryDirectory() as folder:
        pdf, _ = engraving.engrave(engraving.chart(9108), Path(folder))
    the = _laid(pdf)
    assert "Nobody" not in {letters(the, w.piece) for bar in the.cut.table.bars for w in bar.words}
    assert "Nobody" in {letters(the, w.piece) for w in the.cut.table.title}


FIRST = r"""
\version "2.24.0"
#(set-global-staff-size 17)
\header { title = "First Line" instrument = "Drums" composer = "O. Nobody" tagline = ##f }
\compressMMRests { \tempo "Medium Rock" 4 = 126 \time 4/4 R1*2 \sectionLabel "Verse One" c''4 c'' c'' c'' | c''1 |
  c''4^\markup { \column { \bold "Maestoso" "Gt. Diap. 8, 4" } } d'' e'' f'' | g''1 \bar "|." }
"""


def test_words_right_over_a_tempo_or_other_words_of_the_first_line_are_the_music_s() -> None:
    """They are no words of the title, nor part of the tempo that the note's stem joins them to."""
    the = engraved(FIRST)
    owned = own(the.cut.pages[0], the.reading, 0)
    assert sorted(i.letters for i in owned.head) == ["Drums", "First Line", "O. Nobody"]
    over = {i.letters: i.bar for i in owned.items if i.role is Role.WORDS and i.letters[:1].isalpha()}
    assert over["Verse One"] == 1 and over["Maestoso"] == over["Gt. Diap. 8, 4"] == 3
