"""A choir's score on two staves: words over the upper stave, between the two and under the lower one."""

from collections import defaultdict
from dataclasses import replace

import pytest

from collaparte.paper.cutting.items import Item
from collaparte.paper.cutting.ownership import own
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.read import read_part
from paper.laid import Part, engraved, with_reading
from remade import PLAIN, remade

WORDS = r"""\repeat unfold 2 { Row me a -- long to the lock in the eve -- ning light; __
  o -- pen the gate and __ go qui -- et -- ly home. }"""
CHOIR = rf"""
\version "2.24.0"
#(set-global-staff-size 16)
\header {{ title = "Lock Gate Hymn" composer = "A. Nobody" tagline = ##f }}
\new ChoirStaff <<
  \new Lyrics = "sop" \with {{ \override VerticalAxisGroup.staff-affinity = #DOWN }}
  \new Staff <<
    \new Voice = "s" \relative c'' {{ \voiceOne \key g \major \repeat unfold 2 {{
      g4 a b c | d2 b4 g | e' d c b | a1 | b4\p c d e | d( c) b a | g a b a | g2. r4 | }} }}
    \new Voice = "a" \relative c' {{ \voiceTwo \repeat unfold 2 {{
      d4 e g g | g2 g4 d | g g fis g | fis1 | g4 a b c | b( a) g fis | d e g fis | d2. r4 | }} }} >>
  \new Lyrics = "alt"
  \new Staff << \clef bass
    \new Voice = "t" \relative c' {{ \voiceOne \key g \major \repeat unfold 2 {{
      b4 c d e | d2 d4 b | c b a d | d1 | d4 e d g | g( e) d d | b c d c | b2. r4 | }} }}
    \new Voice = "b" \relative c {{ \voiceTwo \repeat unfold 2 {{
      g4 g g c | b2 g4 g | c g' a g | d1 | g4 g, g c | d2 d4 d | g, c d d | g,2. r4 | }} }} >>
  \new Lyrics = "bas"
  \context Lyrics = "sop" \lyricsto "s" {{ {WORDS} }}
  \context Lyrics = "alt" \lyricsto "a" {{ \override LyricText.font-shape = #'italic {WORDS} }}
  \context Lyrics = "bas" \lyricsto "b" {{ {WORDS} }}
>>
"""
"""Sixteen bars on two lines; the second line's words over it are close under the first line's."""


LEFT_OUT = 0.12
"""Outlines of letters are in one piece or in more, and a word right at a stem stays with its note."""


@pytest.fixture(scope="module", params=["letters", "outlines"])
def the(request: pytest.FixtureRequest) -> Part:
    if request.param == "letters":
        return engraved(CHOIR)
    pdf = remade(engraved(CHOIR).pdf, replace(PLAIN, text="outlines", music="outlines"))
    return with_reading(pdf, read_part(pdf))


@pytest.fixture(scope="module")
def sung(the: Part) -> list[Item]:
    return [i for i in own(the.cut.pages[0], the.reading, 0).items if i.style == ("lyric",)]


def test_each_row_is_whole_at_its_stave(the: Part, sung: list[Item]) -> None:
    """As many syllables over, between and under the staves of each line (common practice: a voice's words at its
    stave)."""
    systems = the.reading.pages[0].systems
    counts: dict[tuple[int, int, bool], int] = defaultdict(int)
    for item in (i for i in sung if "-" not in i.letters):
        counts[item.system, item.stave, item.above] += len(item.marks)
    assert set(counts) == {(s, *place) for s in range(len(systems)) for place in ((0, True), (0, False), (1, False))}
    for s in range(len(systems)):
        rows = counts[s, 0, True], counts[s, 0, False], counts[s, 1, False]
        assert max(rows) - min(rows) <= LEFT_OUT * max(rows)


def test_no_word_is_the_titles(the: Part) -> None:
    assert {word.text for word in the.reading.head} == {"Lock Gate Hymn", "A. Nobody"}
    assert len(the.cut.table.title) == 2


@pytest.mark.parametrize("page", [(148.0, 197.0), (90.0, 180.0)])
def test_rows_stand_at_one_height_over_and_under_every_line(the: Part, page: tuple[float, float]) -> None:
    laying = lay(the.reading, the.cut.table, printed_order(the.reading), page, 6.0)
    rows = {word.piece: (word.row, word.base) for bar in the.cut.table.bars for word in bar.words if word.row >= 0}
    assert len({row for row, _ in rows.values()}) == 3
    for sheet in laying.pages:
        heights: dict[tuple[int, int], set[float]] = defaultdict(set)
        for placed in (p for p in sheet.placed if p.piece in rows):
            row, base = rows[placed.piece]
            middle = placed.y + base * placed.space
            staves = [(abs(y - placed.y), n) for n, laid in enumerate(sheet.lines) for y in laid.bars[0].staves]
            _, line = min(staves)
            heights[line, row].add(round(middle, 1))
        assert {row for _, row in heights} == {row for row, _ in rows.values()}
        assert all(max(ys) - min(ys) < 0.11 for ys in heights.values())
