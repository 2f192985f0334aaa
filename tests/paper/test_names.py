"""Names before staves: a score's at its first line, one that is another where it begins, a part's with its title."""

from dataclasses import replace

import pytest

from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Laying, Placed
from collaparte.paper.read import read_part
from paper.laid import Part, engraved, with_reading
from remade import PLAIN, Maker, remade
from second_engraving import engraved as engraved_second

NOTES = r"\relative c'' { \repeat unfold 6 { g4 a b c | d2 b4 g | c b a g | d'1 | } }"
SCORE = rf"""
\version "2.24.0"
#(set-global-staff-size 15)
\header {{ title = "Door" composer = "A. Nobody" tagline = ##f }}
<<
  \new Staff \with {{ instrumentName = "Voice" shortInstrumentName = "V." }} {NOTES}
  \new PianoStaff \with {{ instrumentName = "Harmonium" shortInstrumentName = "Hm." }} <<
    \new Staff {NOTES}
    \new Staff {{ \clef bass \transpose c c,, {NOTES} }} >>
>>
"""
OUTLINES: Maker = replace(PLAIN, text="outlines", music="outlines")


def _sung(number: int, name: str, short: str) -> tuple[str, str]:
    """A part of a score for the second engraver."""
    first = (
        "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time>"
        "<clef><sign>G</sign><line>2</line></clef></attributes>"
    )
    notes = "".join(
        f"<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>1</duration><type>quarter</type></note>"
        for step in "GABG"
    )
    bars = "".join(f'<measure number="{n}">{first if n == 1 else ""}{notes}</measure>' for n in range(1, 25))
    named = f"<part-name>{name}</part-name><part-abbreviation>{short}</part-abbreviation>"
    return f'<score-part id="P{number}">{named}</score-part>', f'<part id="P{number}">{bars}</part>'


def _second() -> bytes:
    parts = [_sung(1, "Soprano", "S."), _sung(2, "Alto", "A."), _sung(3, "Tenor", "T.")]
    told, music = ("".join(one) for one in zip(*parts, strict=True))
    score = f'<?xml version="1.0"?><score-partwise version="3.1"><part-list>{told}</part-list>{music}</score-partwise>'
    return engraved_second(score, "Leland", "auto", 36, (794, 1123))


@pytest.fixture(scope="module", params=["lilypond", "outlines", "verovio"])
def the(request: pytest.FixtureRequest) -> Part:
    if request.param == "lilypond":
        return engraved(SCORE)
    pdf = remade(engraved(SCORE).pdf, OUTLINES) if request.param == "outlines" else _second()
    return with_reading(pdf, read_part(pdf))


def _names(the: Part, laying: Laying) -> list[list[Placed]]:
    """Those of each page."""
    pieces = {name.piece for name in the.cut.table.names}
    return [[p for p in page.placed if p.piece in pieces] for page in laying.pages]


@pytest.mark.parametrize("page", [(148.0, 197.0), (70.0, 150.0)])
def test_names_stand_before_the_first_line_only(the: Part, page: tuple[float, float]) -> None:
    """At the middle of their staves, or of those that a brace joins (common practice)."""
    laying = lay(the.reading, the.cut.table, printed_order(the.reading), page, 6.0)
    first, *later = _names(the, laying)
    assert len(first) == len(the.cut.table.names) == (2 if the.cut.table.groups else 3)
    assert not any(later)
    staves = laying.pages[0].lines[0].bars[0].staves
    left = min(r.x0 for r in laying.pages[0].rules if r.y0 > staves[0] - 1 and r.y1 < staves[-1] + 1)
    for placed, name in zip(first, the.cut.table.names, strict=True):
        e = the.cut.table.extents[placed.piece]
        assert 0 <= placed.slices[0].x0 < placed.slices[0].x1 < left
        top, bottom = (placed.y + y * placed.space for y in (e.top, e.bottom))
        assert abs((top + bottom) / 2 - (staves[name.first] + staves[name.last]) / 2) < 0.6 * laying.space


def test_other_lines_begin_at_the_margin(the: Part) -> None:
    heads = [line.bars[0].x0 for page in the.laying.pages for line in page.lines]
    assert heads[0] > heads[1] + 4 * the.laying.space
    assert max(heads[1:]) < heads[0] - 4 * the.laying.space


def test_a_tail_has_none(the: Part) -> None:
    """It goes on behind a page that shows them."""
    tail = lay(the.reading, the.cut.table, printed_order(the.reading)[8:], first_page=False)
    assert not any(_names(the, tail))


DOUBLE = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Two Chairs" %s tagline = ##f }
\new Staff \with { instrumentName = "Alto Sax" shortInstrumentName = "A. Sx." } \relative c'' {
  g4 a b c | d2 b4 g | \break c b a g | r1^"To Flute" | \break
  \set Staff.shortInstrumentName = "Fl." g4 a b c | d2 b4 g | \break c b a g | d1 \bar "|." }
"""
"""Eight bars on four lines; from the third on another instrument is named before them."""


@pytest.mark.parametrize("outlines", [False, True])
def test_another_name_stands_over_the_bar_where_it_begins(outlines: bool) -> None:
    """Short names of the same instrument are not said again."""
    the = engraved(DOUBLE % 'instrument = "1st Alto Sax"')
    if outlines:
        pdf = remade(the.pdf, OUTLINES)
        the = with_reading(pdf, read_part(pdf))
    assert [bar.number for bar in the.cut.table.bars if bar.words] == [4, 5]
    (word,) = the.cut.table.bars[4].words
    assert word.above
    assert word.anchor == "start"


def test_short_names_in_another_language_are_no_others() -> None:
    """Common practice: a score of mixed origin; whoever it is that changes, changes alone."""
    score = SCORE.replace('"V."', '"S."').replace('"Hm."', '"Org."')
    assert not any(bar.words for bar in engraved(score).cut.table.bars)
    one = SCORE.replace('"V."', '"Fl."')
    begins = next(bar.number for bar in engraved(one).cut.table.bars if bar.system == 1)
    assert [bar.number for bar in engraved(one).cut.table.bars if bar.words] == [begins]


def test_a_parts_own_name_is_set_with_the_title_unless_it_is_told_there() -> None:
    told, untold = engraved(DOUBLE % 'instrument = "1st Alto Sax"'), engraved(DOUBLE % "")
    assert [word.align for word in told.cut.table.title] == ["centre", "centre"]
    assert [word.align for word in untold.cut.table.title] == ["centre", "left"]


HIDDEN = r"""
\version "2.24.0"
#(set-global-staff-size 15)
\header { title = "Hidden" tagline = ##f }
\new StaffGroup <<
  \new Staff \with { instrumentName = "Flute" shortInstrumentName = "Fl." } \relative c'' {
    \repeat unfold 4 { g4 a b c | } \break R1*4 | \break \repeat unfold 4 { g'4 a b c, | } }
  \new Staff \with { instrumentName = "Oboe" shortInstrumentName = "Ob." } \relative c'' {
    \repeat unfold 12 { g4 a b g | } }
  \new Staff \with { instrumentName = "Bassoon" shortInstrumentName = "Bsn." } \relative c {
    \clef bass \repeat unfold 12 { g'4 a b g | } }
>>
\layout { \context { \Staff \RemoveEmptyStaves } }
"""
"""Twelve bars; the second line has no stave for the flute, which begins the third over its stave."""


def test_where_staves_change_each_has_its_name_clear_of_its_notes() -> None:
    the = engraved(HIDDEN)
    bars, extents = the.cut.table.bars, the.cut.table.extents
    assert [(bar.number, [word.stave for word in bar.words]) for bar in bars if bar.words] == [
        (5, [0, 1]),
        (9, [0, 1, 2]),
    ]
    assert all(extents[word.piece].bottom <= -2.9 for bar in bars for word in bar.words)
