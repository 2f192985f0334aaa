"""Parts of the demo band, read, cut and laid, for the tests of laying."""

import subprocess
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pymupdf

from collaparte.demo import BAND
from collaparte.demo.engrave import engraver
from collaparte.music.form import written_order
from collaparte.paper.cutting.pieces import Cut, cut_ink
from collaparte.paper.pages.draw_pdf import OWN_FONTS, draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Laying, Step, Words
from collaparte.paper.read import read_part
from collaparte.paper.reading import Reading
from collaparte.paper.ruler import chart

ALTO = "Half Past the Ferry/01 Half Past the Ferry - 1st Alto.pdf"
TRUMPET = "Two Left Gloves/Two_Left_Gloves_Tpt1.pdf"
KEYS = "Two Left Gloves/Two_Left_Gloves_Keys.pdf"
PIANO = "The Lamp You Left On/Piano.pdf"
DRUMS = "Half Past the Ferry/11 Half Past the Ferry - Drums.pdf"
GUITAR = "The Lamp You Left On/Guitar.pdf"
VOCAL = "The Lamp You Left On/Vocal.pdf"
PARTS = (ALTO, TRUMPET, KEYS, PIANO, DRUMS, GUITAR)

Box = tuple[float, float, float, float]

FERRY_PIANO = "Half Past the Ferry/09 Half Past the Ferry - Piano.pdf"
FERRY_BASS = "Half Past the Ferry/10 Half Past the Ferry - Bass.pdf"
GLOVES_ALTO = "Two Left Gloves/Two_Left_Gloves_ASax1.pdf"
GLOVES_GUITAR = "Two Left Gloves/Two_Left_Gloves_Gtr.pdf"
WRITTEN_OUT = (ALTO, DRUMS, FERRY_PIANO, FERRY_BASS, GLOVES_ALTO, KEYS)
"""Parts with repeats and jumps."""


@dataclass(frozen=True)
class Part:
    """One part of the demo band on its way to the page."""

    pdf: bytes
    reading: Reading
    cut: Cut
    laying: Laying
    laid: bytes


KEY_CHANGE = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Change" tagline = ##f }
\relative c'' {
  \key d \major \time 4/4
  d4 e fis g | a2 a | b4 a g fis | e1 |
  \key aes \major aes4 bes c des | ees2 c | aes1 | c4 bes aes g | aes1 \bar "|."
}
"""
"""Nine bars, a change of key in the middle of the first line."""

KEYS_CHANGE = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Keys Change" tagline = ##f }
\relative c'' {
  \key g \major \time 4/4
  g4 a b c | d2 b | \bar "||" \key c \major c4 d e f | g2 e | \key aes \major aes4 g f ees | c2 aes |
  \break ees'4 f g aes | g2 f | \key e \major e4 fis gis a | b2 gis | e1 \bar "|."
}
"""
"""Eleven bars on two lines; the first line has two changes of key, the last one."""

CLEF_CHANGE = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Change" tagline = ##f }
\relative c {
  \clef bass \key f \major \time 4/4
  f4 a c f | e c bes a | \clef tenor c' d e f | g2 f | e4 d c bes |
  \break f'4 e d c | d2 c | f1 \bar "|."
}
"""
"""Eight bars on two lines, a change of clef before the third."""


SUNG = r"""
\version "2.24.0"
#(set-global-staff-size 17)
\header { title = "Harbour Lullaby" instrument = "Voice" composer = "I. Nobody" tagline = ##f }
<<
  \new ChordNames \chordmode {
    f2. f c:7 f f bes g:m c:7 bes f c:7 d:m g:m f g:m f f f c:7 f f bes g:m f }
  \new Staff \relative c' { \key f \major \time 3/4
    f4 a c | c2 a4 | bes a g | f2. | f4 a c | d2 c4 | bes a g | c2. |
    d4 d bes | c2 a4 | bes bes g | a2 f4 | g a bes | c2 f4 | e d g, | f2. |
    f4 a c | c2 a4 | bes g e | f2. | f4 a c | d2 c4 | bes a g | f2. \bar "|." }
  \addlyrics {
    Sleep, lit -- tle har -- bour, the boats are all in, the lamps on the wa -- ter are yel -- low and thin;
    the gulls on the chim -- neys have fold -- ed their wings, the tide at the ta -- ble is tun -- ing its strings.
    Sleep, lit -- tle har -- bour, the boats are all in, the lamps on the wa -- ter are low. }
>>
"""
"""A song of 24 bars on three lines, chord names close under the words of the line before."""


@cache
def part(name: str) -> Part:
    return _laid((BAND / name).read_bytes())


@cache
def engraved(source: str) -> Part:
    """A part set by the engraver here and now, a second or two."""
    with TemporaryDirectory() as folder:
        command = [engraver(), "-dno-point-and-click", "--loglevel=ERROR", "-o", f"{folder}/part", "-"]
        subprocess.run(command, input=source.encode(), check=True, timeout=60)
        return _laid(Path(folder, "part.pdf").read_bytes())


def written(reading: Reading) -> tuple[Step, ...]:
    """The order in which the part is played: its repeats and jumps written out."""
    made = chart([reading], [str(n) for n in range(1, reading.positions + 1)])
    numbers = {bar.id: bar.number for bar in made.bars}
    steps: list[Step] = []
    for step in written_order(made).steps:
        index = int(step.bar)
        join = bool(steps) and index != steps[-1].bar + 1
        again = join and 1 < step.pass_ != steps[-1].pass_
        label = f"{step.pass_}{ {2: 'nd', 3: 'rd'}.get(step.pass_, 'th') } time" if again else ""
        steps.append(Step(index, numbers[step.bar], step.pass_, join, label))
    return tuple(steps)


@cache
def written_out(name: str) -> Laying:
    the = part(name)
    return lay(the.reading, the.cut.table, written(the.reading))


def words_box(words: Words) -> Box:
    """The box of words as the PDF sets them, their capitals two thirds of an em high (common practice)."""
    width = pymupdf.get_text_length(words.text, fontname=OWN_FONTS[words.style][1], fontsize=words.size)
    x = words.x - {"start": 0.0, "middle": width / 2, "end": width}[words.anchor]
    return x, words.y - 0.68 * words.size, x + width, words.y


def _laid(pdf: bytes) -> Part:
    return with_reading(pdf, read_part(pdf))


def with_reading(pdf: bytes, reading: Reading) -> Part:
    """A part as cut and laid with this reading."""
    cut = cut_ink(pdf, reading)
    laying = lay(reading, cut.table, printed_order(reading))
    return Part(pdf, reading, cut, laying, draw_cut(cut, laying))
