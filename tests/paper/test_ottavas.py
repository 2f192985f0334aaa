"""Ottavas and other dashed lines: with their bars, said again where a line or a cut lands in them, evenly dashed."""

from itertools import pairwise

import pymupdf
import pytest

from collaparte.paper.cutting.pieces import cut_ink
from collaparte.paper.pages.draw_pdf import POINTS, draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Laying, Step
from collaparte.paper.read import read_part
from paper.laid import Part, engraved
from second_engraving import engraved as engraved_second

SOURCE = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Lines" tagline = ##f }
\paper { system-system-spacing.padding = #3.5 }
\layout { \context { \Score \override BarNumber.break-visibility = #end-of-line-invisible } }
\relative c''' {
  \key d \major \time 4/4
  d4 e fis g | a2 a | \ottava #1 fis'4 g a b | a g fis e | d2 e | d4 cis b a | g a b cis | d2 a | \ottava #0 d,1 |
  \break d4 e fis g | a a, d fis | \ottava #-1 d,4 e fis g | a b cis d | \ottava #0 d1 | e1 | d1 |
  \break a'2 g | fis4 g a b | a1 | a4 b a g | fis1 | d1 \bar "|."
}
"""
"""22 bars in three printed lines, every bar numbered, some over high notes; an ottava over bars 3 to 8, one under bars
12 and 13, nearer to the next line's high notes."""
UP, DOWN = range(3, 9), range(12, 14)
NARROW = (110.0, 197.0)
"""mm: a page on which both ottavas go over a line's end."""
LOW = (148.0, 55.0)
"""mm: pages of one line."""
SHORT = 0.8 * POINTS
"""A dash is no longer, a ledger line is."""


@pytest.fixture(scope="module")
def the() -> Part:
    return engraved(SOURCE)


def dashes(the: Part, laying: Laying) -> list[tuple[int, float, float, float]]:
    """Every dash as drawn: its page, height, left and right, in mm."""
    out = []
    for n, page in enumerate(pymupdf.open(stream=draw_cut(the.cut, laying))):
        for drawing in page.get_drawings():
            for item in drawing["items"] if drawing["type"] == "s" else ():
                if item[0] == "l" and abs(item[1].y - item[2].y) < 0.01 and 0 < abs(item[2].x - item[1].x) < SHORT:
                    x0, x1 = sorted((item[1].x / POINTS, item[2].x / POINTS))
                    out.append((n, round(item[1].y / POINTS, 1), x0, x1))
    return out


def over(laying: Laying, order: tuple[Step, ...], dash: tuple[int, float, float, float]) -> int:
    """The bar that a dash stands over or under, on a page of one line."""
    page, _, x0, x1 = dash
    bar = next(bar for bar in reversed(laying.pages[page].lines[0].bars) if bar.x0 < (x0 + x1) / 2 + 1)
    return order[bar.steps[0]].bar


def landing_at(the: Part, bar: int) -> tuple[tuple[Step, ...], Laying]:
    order = printed_order(the.reading)
    lands = order[bar - 1]
    cut = (*order[:2], Step(lands.bar, lands.number, join=True), *order[bar:])
    return cut, lay(the.reading, the.cut.table, cut)


def test_a_dashed_line_with_a_bar_number_under_it_is_no_ending(the: Part) -> None:
    """An ending's bracket is solid (common practice); the source has none."""
    assert the.reading.endings == ()


def test_numbers_over_high_notes_go_like_the_others(the: Part) -> None:
    letters = "".join(page.get_text() for page in pymupdf.open(stream=the.laid))
    digits = [word for word in letters.split() if word.isdigit()]
    heads = [w.text for page in the.laying.pages for w in page.words if w.style == "number"]
    ours = [*heads, "8", "8"]  # and the ottavas' own figures
    assert sorted(digits) == sorted(ours)


def test_each_ottava_stands_at_its_own_bars(the: Part) -> None:
    order = printed_order(the.reading)
    laying = lay(the.reading, the.cut.table, order, LOW, first_page=False)
    assert all(len(page.lines) == 1 for page in laying.pages)
    assert {over(laying, order, dash) for dash in dashes(the, laying)} == {*UP, *DOWN}


def test_a_line_that_begins_in_an_ottava_says_so(the: Part) -> None:
    order = printed_order(the.reading)
    laying = lay(the.reading, the.cut.table, order, NARROW)
    said = [w for page in laying.pages for w in page.words if w.style == "note"]
    starts = [order[line.bars[0].steps[0]].bar for page in laying.pages for line in page.lines]
    within = [bar for bar in starts if bar in (*UP[1:], *DOWN[1:])]
    assert within, "no line begins in an ottava: choose another page"
    assert [w.text for w in said] == ["(8)"] * len(within)


@pytest.mark.parametrize("bar", [UP[2], DOWN[1]])
def test_a_cut_that_lands_in_an_ottava_says_so(the: Part, bar: int) -> None:
    order, laying = landing_at(the, bar)
    said = [w for page in laying.pages for w in page.words if w.style == "note"]
    line, landed = next((line, b) for line in laying.pages[0].lines for b in line.bars if order[b.steps[0]].bar == bar)
    assert said[0].text == "(8)"
    assert landed.x0 - 1 < said[0].x < landed.x1
    assert (said[0].y < line.y0) == (bar in UP)


def test_dashes_are_even_over_barlines(the: Part) -> None:
    """As printed: ink and white in one measure, so that no two dashes run into each other."""
    rows: dict[tuple[int, float], list[tuple[float, float]]] = {}
    for page, y, x0, x1 in dashes(the, the.laying):
        rows.setdefault((page, y), []).append((x0, x1))
    assert rows
    for row in rows.values():
        row.sort()
        joined = [row[0]]
        for x0, x1 in row[1:]:  # a dash over a barline is in two parts
            if x0 - joined[-1][1] < 0.1:
                joined[-1] = joined[-1][0], x1
            else:
                joined.append((x0, x1))
        usual = sorted(x1 - x0 for x0, x1 in joined)[len(joined) // 2]
        assert all(x1 - x0 < 1.3 * usual for x0, x1 in joined)
        assert all(b[0] - a[1] > 0.5 * usual for a, b in pairwise(joined))


@pytest.mark.parametrize(("up", "down"), [("8a", "8ba"), ("8va", "8vb"), ("15ma", "8va bassa")])
def test_an_ottava_is_said_again_as_it_is_spelt(up: str, down: str) -> None:
    """Spellings of several countries (common practice)."""
    source = SOURCE.replace(r"\ottava #1", rf'\ottava #1 \set Staff.ottavation = "{up}"')
    the = engraved(source.replace(r"\ottava #-1", rf'\ottava #-1 \set Staff.ottavation = "{down}"'))
    for bar, word in ((UP[2], up), (DOWN[1], down)):
        _, laying = landing_at(the, bar)
        assert next(w.text for page in laying.pages for w in page.words if w.style == "note") == f"({word})"


def test_a_figure_in_brackets_at_a_lines_head_is_no_key() -> None:
    """As a second engraver says an octave again on the line that it goes on over, close to the clef."""
    notes = "".join(f'<note pname="{name}" oct="4" dur="4"/>' for name in "cgab")
    bars = "".join(
        f'<measure n="{n}"><staff n="1"><layer n="1">{notes}</layer></staff>%s</measure>' for n in range(1, 25)
    )
    line = '<octave staff="1" dis="8" dis.place="above" tstamp="1" tstamp2="20m+4"/>'
    score = (
        '<?xml version="1.0"?><mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>'
        "<titleStmt><title>Eight</title></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv><score>"
        '<scoreDef meter.count="4" meter.unit="4"><staffGrp><staffDef n="1" lines="5" clef.shape="G" clef.line="2"/>'
        f"</staffGrp></scoreDef><section>{bars.replace('%s', line, 1).replace('%s', '')}</section></score></mdiv>"
        "</body></music></mei>"
    )
    pdf = engraved_second(score, "Leland", "auto", 36, (794, 1123))
    cut = cut_ink(pdf, read_part(pdf))
    assert len({bar.system for bar in cut.table.bars}) > 2
    assert {head.key for head in cut.table.heads} == {(-1,)}


def test_a_long_rest_in_an_octave_line_that_goes_on_is_a_rest() -> None:
    """The figure in brackets at the line's head reaches over the rest, whose own is no ending's under the line."""
    out, number = "", 1
    for at in range(16):
        bars = 12 if at in (6, 7) else 1
        says = f"<measure-style><multiple-rest>{bars}</multiple-rest></measure-style>" if bars > 1 else ""
        if at == 0:
            says = (
                "<divisions>1</divisions><key><fifths>-2</fifths></key><time><beats>4</beats><beat-type>4</beat-type>"
            )
            says += "</time><clef><sign>G</sign><line>2</line></clef>"
        shift = {3: "down", 14: "stop"}.get(at)
        note = "<note><pitch><step>A</step><octave>5</octave></pitch><duration>1</duration><type>quarter</type></note>"
        for n in range(bars):
            out += f'<measure number="{number}"><attributes>{says if n == 0 else ""}</attributes>'
            if shift:
                out += '<direction placement="above"><direction-type>'
                out += f'<octave-shift type="{shift}" size="8"/></direction-type></direction>'
            out += note * 4 if bars == 1 else '<note><rest measure="yes"/><duration>4</duration></note>'
            out += "</measure>"
            number += 1
    part = f'<part-list><score-part id="P"><part-name/></score-part></part-list><part id="P">{out}</part>'
    pdf = engraved_second(f'<score-partwise version="4.0">{part}</score-partwise>', "Leipzig", "block", 36, (794, 1123))
    reading = read_part(pdf)
    assert (reading.bars, reading.endings, reading.doubts) == (38, (), ())
    assert [(rest.bar, rest.count) for rest in reading.multirests] == [(7, 12), (19, 12)]


BETWEEN = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Between" tagline = ##f }
\new PianoStaff <<
  \new Staff \relative c'' {
    c4 d e f | \ottava #-1 c d e f | \ottava #0 c d e f | g1 | \break c,4 d e f | g1 \bar "|." }
  \new Staff \relative c' { \clef bass
    c4 d e f | g1 | \ottava #1 c4 d e f | \ottava #0 c,1 | \break c4 d e f | g1 \bar "|." }
>>
"""
"""A bar of the upper stave an octave lower, one of the lower stave an octave higher: both lines between the staves."""


def test_a_line_between_two_staves_stays_with_its_system() -> None:
    between = engraved(BETWEEN)
    lines = [(bar.number, line.stave, line.text) for bar in between.cut.table.bars for line in bar.lines]
    assert lines == [(2, 0, "8"), (3, 1, "8")]
