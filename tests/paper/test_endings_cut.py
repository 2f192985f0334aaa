"""An ending whose beginning was cut away still says which one it is."""

import pymupdf
import pytest

import second_engraving
from collaparte.paper.pages.draw_pdf import POINTS, draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Step, Words
from paper.laid import Part, _laid, engraved

SOURCE = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Endings" tagline = ##f }
\relative c'' {
  \key d \major \time 4/4
  \repeat volta 3 { d4 e fis g | a2 a | b4 a g fis | e1 | }
  \alternative {
    \volta 1,2 { a4 g fis e | d2 e | d4 cis b a | g a b cis }
    \volta 3 { d2 a | d1 | d4 e fis g | a2 a }
  }
  d,4 e fis g | a2 a | b4 a g fis | e1 | \bar "|."
}
"""
"""Bars 5 to 8 are the first two endings, bars 9 to 12 the third."""
WIDE = (1000.0, 197.0)


@pytest.fixture(scope="module")
def the() -> Part:
    return engraved(SOURCE)


def opened(the: Part, *kept: range, page: tuple[float, float] = WIDE) -> list[tuple[Words, int]]:
    """The numbers that we set under brackets when these bars are left, each with the bar that it stands at."""
    printed = {step.bar: step for step in printed_order(the.reading)}
    order: list[Step] = []
    for run in kept:
        order += [Step(n, printed[n].number, join=bool(order) and n == run[0]) for n in run]
    laying = lay(the.reading, the.cut.table, order, page)
    out = []
    for laid in laying.pages:
        for words in (w for w in laid.words if w.style == "count"):
            line = next(line for line in laid.lines if line.y0 - 20 < words.y < line.y0)
            bar = next(bar for bar in reversed(line.bars) if bar.x0 - 2 < words.x)
            assert bar.x0 - 1 < words.x < bar.x0 + 3
            out.append((words, order[bar.steps[0]].bar))
    return out


@pytest.mark.parametrize(("lands", "number"), [(6, "1, 2."), (8, "1, 2."), (10, "3.")])
def test_a_cut_into_an_ending_says_which(the: Part, lands: int, number: str) -> None:
    assert [(w.text, bar) for w, bar in opened(the, range(1, 4), range(lands, 17))] == [(number, lands)]


def test_one_that_begins_where_the_cut_lands_has_its_own(the: Part) -> None:
    assert opened(the, range(1, 4), range(5, 17)) == []
    assert opened(the, range(1, 6), range(9, 17)) == []


def test_a_cut_out_of_an_ending_and_one_within_it_need_none(the: Part) -> None:
    assert opened(the, range(1, 7), range(13, 17)) == []
    assert opened(the, range(1, 6), range(7, 17)) == []


def test_a_cut_from_one_ending_into_another_says_it(the: Part) -> None:
    assert [(w.text, bar) for w, bar in opened(the, range(1, 6), range(10, 17))] == [("3.", 10)]


def test_an_ending_that_goes_on_on_the_next_line_is_as_ever(the: Part) -> None:
    assert opened(the, range(1, 17), page=(80.0, 197.0)) == []


def test_a_number_said_again_in_print_is_not_within_a_line() -> None:
    """The second engraver says an ending's number in brackets where its own line ends in the ending."""
    the = _laid(second_engraving.chart(9106)[0])
    printed = [word[4] for page in pymupdf.open(stream=the.pdf) for word in page.get_text("words")]
    assert "(1)" in printed, "print does not break it: choose another seed"
    assert "(1)" not in [word[4] for page in pymupdf.open(stream=the.laid) for word in page.get_text("words")]


@pytest.mark.parametrize("width", [84.0, 96.0])
def test_its_hook_stands_within_the_page(width: float) -> None:
    """At a printed line's end it hangs over a repeat's wide barline; written out, a narrower one stands there."""
    the = engraved(SOURCE.replace("g a b cis }", "g a b cis \\break }"))
    printed = printed_order(the.reading)
    twice = [Step(s.bar, s.number, 2, join=s is printed[0]) for s in printed[:8]]
    order = [*printed[:8], *twice, Step(9, 9, join=True), *printed[9:]]
    laying = lay(the.reading, the.cut.table, order, (width, 197.0))
    ends = [bar.steps[1] for page in laying.pages for line in page.lines for bar in line.bars[-1:]]
    assert any(order[n].bar == 8 for n in ends)
    edge = (width - 0.4) * POINTS
    for page in pymupdf.open(stream=draw_cut(the.cut, laying)):
        assert not [d["rect"] for d in page.get_drawings() if d["rect"].x1 > edge]
