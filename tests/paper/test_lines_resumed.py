"""Lines behind "rit.", "cresc." and trills: said again in brackets where a line or a cut lands in them, at one height.

Common practice (engravers' handbooks, from memory): dashes go on over a line's end to its edge, the words are said
again in brackets on the next line, and a trill's wave with "(tr)".
"""

import random
import re

import pymupdf
import pytest

import second_engraving
from collaparte.paper.pages.draw_pdf import POINTS, draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import LaidBar, Laying, Placed, Step
from paper.laid import Part, _laid, engraved

SOURCE = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Lines" tagline = ##f }
\paper { system-system-spacing.padding = #3.5 }
\relative c'' {
  \key d \major \time 4/4
  \override TextSpanner.bound-details.left.text = "rit."
  d4 e fis g | a2 a | a4\startTextSpan g fis e | d2 e | d4 cis b a | g a b cis | d2 a\stopTextSpan | d,1 |
  \crescTextCresc d4\< e fis g | a a, d fis | d4 e fis g | a b cis d | d1\! | e1 | d2 e | d1 |
  a'2 g | fis4\startTrillSpan g a b | a1 | a4 b a g | fis1\stopTrillSpan | d1 | d1 \bar "|."
}
"""
SPANS = {"rit.": range(3, 8), "cresc.": range(9, 14), "tr": range(18, 21)}
"""Which bars each line stands over."""
NARROW = (90.0, 197.0)
"""mm: a page of lines of some three bars, so that each of them goes over a line's end."""


@pytest.fixture(scope="module")
def the() -> Part:
    return engraved(SOURCE)


@pytest.fixture(scope="module")
def drawn_one_by_one() -> Part:
    """The second engraver sets each dash by itself, and breaks all lines in print."""
    setting = second_engraving.Setting(random.Random(5), 1, 4, 4, ("G", 2, (4, 5)))
    more = {
        3: '<dynam staff="1" tstamp="1" tstamp2="6m+4" extender="true" place="below">cresc.</dynam>',
        11: '<tempo staff="1" tstamp="1" tstamp2="3m+4" extender="true" place="above">rit.</tempo>',
        15: '<trill staff="1" tstamp="1" tstamp2="3m+4" extender="true" place="above"/>',
    }
    for number in range(1, 25):
        end = "end" if number == 24 else ""
        setting.measures.append(second_engraving._measure(setting, number, more.get(number, ""), right=end))
    score = second_engraving._mei(setting)
    return _laid(second_engraving.engraved(score, "Bravura", "auto", 40, (794, 1123)))


def said_at(the: Part, laying: Laying, order: tuple[Step, ...]) -> list[tuple[str, int]]:
    """What is said again, each with the bar whose line it stands at the head of, or that it stands over."""
    out = []
    for page in laying.pages:
        for words in (w for w in page.words if w.style == "note"):
            line = min(page.lines, key=lambda line: max(line.y0 - words.y, words.y - line.y1))
            begun = [bar for bar in line.bars if bar.x0 <= words.x + 0.5] or [line.bars[0]]
            out.append((words.text, order[begun[-1].steps[0]].bar))
    return out


def over(laying: Laying, piece: int) -> list[tuple[Placed, LaidBar]]:
    """Where a piece was placed, and the first bar of the line of music there."""
    out = []
    for page in laying.pages:
        for placed in (p for p in page.placed if p.piece == piece):
            line = min(page.lines, key=lambda line: abs(line.y0 - placed.y))
            out.append((placed, line.bars[0]))
    return out


@pytest.mark.parametrize("word", SPANS)
def test_what_a_line_begins_in_is_said_again(the: Part, word: str) -> None:
    order = printed_order(the.reading)
    laying = lay(the.reading, the.cut.table, order, NARROW)
    heads = {order[line.bars[0].steps[0]].bar for page in laying.pages for line in page.lines}
    within = sorted(heads & set(SPANS[word][1:]))
    assert within, "no line begins in it: choose another page"
    assert [bar for text, bar in said_at(the, laying, order) if text == f"({word})"] == within


@pytest.mark.parametrize(("word", "bar"), [("rit.", 5), ("cresc.", 11), ("tr", 19)])
def test_a_cut_that_lands_in_it_says_so(the: Part, word: str, bar: int) -> None:
    order = printed_order(the.reading)
    lands = order[bar - 1]
    cut = (*order[:2], Step(lands.bar, lands.number, join=True), *order[bar:])
    laying = lay(the.reading, the.cut.table, cut)
    assert (f"({word})", bar) in said_at(the, laying, cut)


def test_nothing_is_said_again_within_a_line(the: Part) -> None:
    laying = lay(the.reading, the.cut.table, printed_order(the.reading), (1000.0, 197.0))
    assert len([line for page in laying.pages for line in page.lines]) == 1
    assert not [w for page in laying.pages for w in page.words if w.style == "note"]


def test_dashes_end_at_the_line_s_edge_and_go_on_behind_the_words(the: Part) -> None:
    order = printed_order(the.reading)
    laying = lay(the.reading, the.cut.table, order, NARROW)
    gone_on = 0
    for page in laying.pages:
        for line in page.lines:
            first, last = (the.cut.table.bars[order[bar.steps[0]].bar - 1] for bar in (line.bars[0], line.bars[-1]))
            at = {p.piece: p for p in page.placed if abs(p.y - line.bars[0].staves[0]) < 0.1}
            for one in (one for one in last.lines if one.goes):
                assert at[one.piece].slices[-1].x1 > line.bars[-1].x1
                gone_on += 1
            for one in (one for one in first.lines if one.came and one.piece in at):
                height = at[one.piece].y + one.y * laying.space
                (words,) = (w for w in page.words if w.text == f"({one.text})" and abs(w.y - height) < laying.space)
                assert at[one.piece].slices[0].x0 > words.x + 0.4 * len(words.text) * words.size
    assert gone_on >= 3


def test_dashes_drawn_one_by_one_are_said_again_alike(drawn_one_by_one: Part) -> None:
    the, order = drawn_one_by_one, printed_order(drawn_one_by_one.reading)
    laying = lay(the.reading, the.cut.table, order, (70.0, 197.0))
    said = said_at(the, laying, order)
    for word, bars in {"cresc.": range(3, 10), "rit.": range(11, 15), "tr": range(15, 19)}.items():
        heads = {order[line.bars[0].steps[0]].bar for page in laying.pages for line in page.lines}
        assert [bar for text, bar in said if text == f"({word})"] == sorted(heads & set(bars[1:])) != []


def test_a_line_that_print_broke_stands_at_one_height(drawn_one_by_one: Part) -> None:
    the, order = drawn_one_by_one, printed_order(drawn_one_by_one.reading)
    laying = lay(the.reading, the.cut.table, order, (1000.0, 197.0))
    for word in ("cresc.", "rit."):
        of = [(bar, one) for bar in the.cut.table.bars for one in bar.lines if one.text == word]
        assert len({bar.system for bar, _ in of}) == 2, "print did not break it: choose another seed"
        heights = {round(p.y + one.y * p.space, 1) for _, one in of for p, _ in over(laying, one.piece)}
        assert len(heights) == 1


def test_sung_hyphens_and_chords_are_no_lines() -> None:
    source = SOURCE.replace("\\startTextSpan", "").replace("\\stopTextSpan", "")
    source = re.sub(r"\\relative", r"\\new Staff \\relative", source)
    source += "\\addlyrics { " + " ".join("la -- lo -- ly" for _ in range(24)) + " }"
    source = source.replace("\\new Staff", "<< \\new Staff").rstrip() + " >>"
    the = engraved(source)
    assert {one.text for bar in the.cut.table.bars for one in bar.lines} == {"cresc.", "tr"}


PEDAL = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Pedal" tagline = ##f }
\relative c'' {
  \set Staff.pedalSustainStyle = #'bracket
  c4\sustainOn d e f | g2 e | \break
  c4 d e f | a,,2 e''\sustainOff | c4\sustainOn d e f | \break
  g,,2 g | c'4 d e f\sustainOff | g1 \bar "|."
}
"""
"""Two pedals, each over the end of a printed line, lower in one than in the other for low notes' sake."""


def test_a_pedals_line_that_print_broke_is_one_again_at_one_height() -> None:
    the = engraved(PEDAL)
    laying = lay(the.reading, the.cut.table, printed_order(the.reading), (400.0, 197.0))
    (line,) = laying.pages[0].lines
    (page,) = pymupdf.open(stream=draw_cut(the.cut, laying))
    rects = [d["rect"] for d in page.get_drawings()]
    low = [r for r in rects if r.y0 > (line.y1 + 0.5) * POINTS and r.width > 20]
    middle = line.bars[4].x0 * POINTS
    for under in ([r for r in low if r.x0 < middle - 5], [r for r in low if r.x0 > middle - 5]):
        assert len(under) >= 3 and len({round(r.y0) for r in under}) == 1, under


UNDER_A_KEY = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Pedal" composer = "N. Body" tagline = ##f }
\layout { indent = 0 }
\new Staff { \set Staff.pedalSustainStyle = #'bracket \key d \major \time 4/4
  d'4\sustainOn fis' a' d'' | a'4 a' a' a' | fis' d' fis' a' | \break
  \key f \major \time 3/4 f'4 a' c'' | f'4\sustainOff a' c'' | f'2. \bar "|." }
"""
"""A pedal's line that print draws on under the next line's key and meter, to the end of the staff lines."""


def test_a_pedals_line_ends_with_the_barline_that_its_line_ends_with() -> None:
    """Found by eye: it went on to the page's edge, and under what a cut lands on."""
    the = engraved(UNDER_A_KEY)
    main = the.cut.table.bars[2].main[0]
    assert the.cut.table.extents[main].right > the.cut.table.bars[2].width + 4
    printed = printed_order(the.reading)
    back = Step(printed[0].bar, printed[0].number, 2, join=True)
    for steps in (printed, (*printed[:3], back)):
        laying = lay(the.reading, the.cut.table, steps)
        bars = [bar for page in laying.pages for line in page.lines for bar in line.bars]
        (placed,) = (p for page in laying.pages for p in page.placed if p.piece == main)
        assert placed.slices[-1].x1 < bars[2].x1 + 0.6 * laying.space
