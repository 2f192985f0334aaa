"""Words that tell how to play, between two lines of music or over words that are sung: of two engravers."""

import pytest

from collaparte.paper.cutting.items import Item
from collaparte.paper.cutting.ownership import own
from collaparte.paper.cutting.table import Extent
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.read import read_part
from paper.laid import Part, engraved, with_reading
from second_engraving import engraved as engraved_second

TELLS = "Play second time only, with plunger, behind the alto solo"
SONG = rf"""
\version "2.24.0"
#(set-global-staff-size 16)
\header {{ title = "Song" tagline = ##f }}
\layout {{ indent = 0 }}
<< \new Staff \new Voice = "v" \relative c'' {{ \time 4/4
      g4 b c b | a8 g a b g4 f | e2. f4 | a2_"{TELLS}" g | \break
      g4 b c b | a8_\markup \italic "{TELLS}" g a b g4 f | e2. f4 | a2 g | \bar "|." }}
    \new Lyrics \lyricsto "v" {{
      Ne -- ver let the lan -- tern down be -- fore the win -- dow of
      our small room is dark and all the boats are home to -- night at last }} >>
"""


def _note(step: str, word: str, kind: str) -> str:
    sung = f"<lyric><syllabic>single</syllabic><text>{word}</text></lyric>" if word else ""
    return (
        f"<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>{2 if kind == 'half' else 1}</duration>"
        f"<type>{kind}</type>{sung}</note>"
    )


def _second(words: str) -> bytes:
    """Twelve bars of four quarters with one word to a note, and told at bars 3 and 8."""
    sung, bars = iter(words.split()), ""
    for number in range(1, 13):
        told = f'<direction placement="below"><direction-type><words>{TELLS}</words></direction-type></direction>'
        notes = "".join(_note(step, next(sung, ""), "quarter") for step in "CGAB")
        divisions = (
            "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
        )
        start = divisions if number == 1 else ""
        bars += f'<measure number="{number}">{start}{told if number in (3, 8) else ""}{notes}</measure>'
    score = (
        '<?xml version="1.0"?><score-partwise version="3.1"><part-list><score-part id="P1"><part-name/></score-part>'
        f'</part-list><part id="P1">{bars}</part></score-partwise>'
    )
    return engraved_second(score, "Leland", "auto", 36, (794, 1123))


DENSE = "all we see is all the sea and so we go to sea and see it all as we do go on so far as we can see " * 3


@pytest.fixture(scope="module", params=["lilypond", "verovio"])
def the(request: pytest.FixtureRequest) -> Part:
    if request.param == "lilypond":
        return engraved(SONG)
    pdf = _second(DENSE)
    return with_reading(pdf, read_part(pdf))


def _items(the: Part) -> list[Item]:
    return own(the.cut.pages[0], the.reading, 0).items


def test_a_line_of_words_is_one_thing_at_its_first_words_bar(the: Part) -> None:
    """Under its stave, and over the words sung there (common practice)."""
    told = [i for i in _items(the) if i.letters.startswith("Play")]
    assert [i.letters for i in told] == [TELLS, TELLS]
    bars = sorted(the.reading.pages[0].systems[i.system].bars[i.bar].number for i in told)
    assert bars == ([4, 6] if the.reading.positions == 8 else [3, 8])
    assert not any(i.above for i in told)


def test_words_sung_stay_sung_one_by_one(the: Part) -> None:
    """However evenly the notes over them stand."""
    sung = [i.letters for i in _items(the) if i.style == ("lyric",)]
    assert len(sung) == (26 if the.reading.positions == 8 else 48)
    assert not {"plunger,", "behind"} & set(sung)


@pytest.mark.parametrize("stave", [6.0, 10.0])
def test_no_line_of_words_is_cut_off(the: Part, stave: float) -> None:
    """Where it is too long for its line it is moved left, and narrowed."""
    table = the.cut.table
    width = 135.0
    laying = lay(the.reading, table, printed_order(the.reading), (width, 216.0), stave)

    def is_line(e: Extent) -> bool:
        return e.right - e.left > 20 and e.bottom - e.top < 3

    words = {w.piece for bar in table.bars for w in bar.words if is_line(table.extents[w.piece])}
    placed = [p for page in laying.pages for p in page.placed if p.piece in words]
    assert len(placed) == 2
    for p in placed:
        e = table.extents[p.piece]
        assert (p.slices[0].sx0, p.slices[0].sx1) == (e.left, e.right)
        assert 0 <= p.slices[0].x0 < p.slices[0].x1 <= width


PIANO = rf"""
\version "2.24.0"
#(set-global-staff-size 16)
\header {{ title = "Hands" tagline = ##f }}
\layout {{ indent = 0 }}
\new PianoStaff <<
  \new Staff \relative c'' {{ g4_"{TELLS}" b c b | a1 | g1 | f1 \bar "|." }}
  \new Staff \relative c {{ \clef bass c4^"{TELLS}" e g e | f1 | c1 | f1 }}
>>
"""


def test_two_lines_of_words_between_two_staves_keep_their_distance() -> None:
    """Both go with the upper stave, however far the lower one is on the page."""
    the = engraved(PIANO)
    told = [i for i in _items(the) if i.letters == TELLS]
    assert [(i.stave, i.above) for i in told] == [(0, False), (0, False)]


SHORT = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Short" tagline = ##f }
\relative c'' {
  c4_"cup mute" b a b | c b a b | c b a b | c b a b | c b a_"to flute" b | c b a_"all espressivo" b | \break
  c^"solo" b a b | c^"open" b a b | c^"straight" b a b | c^"tutti" b a b | c^"growl" b a b | c_"dolce" b a b | \break
  c^"solo" b a b | c^"open" b a b | c^"straight" b a b | c^"tutti" b a b | c^"growl" b a b | c1 \bar "|."
}
"""
"""Two short instructions on one line, one over a barline, and one under notes in the type of all over notes."""


def test_short_words_stay_whole_at_their_own_line() -> None:
    bars = {bar.number: bar for bar in engraved(SHORT).cut.table.bars}
    under = {number for number, bar in bars.items() if any(not word.above for word in bar.words)}
    assert under == {1, 5, 6, 12}
    assert [len(bar.words) for _, bar in sorted(bars.items())] == [1, 0, 0, 0, 1, 1] + [1] * 6 + [1] * 5 + [0]
