"""Scores: where most pages would hold one line, staves are a little lower and pages hold two (common practice: a score
is set in lower staves than a part, so that whoever reads it turns less often)."""

import random
from functools import cache

import pytest

import engraving
from collaparte.paper.pages.lay import LOWEST, lay, printed_order
from collaparte.paper.pages.laying import Laying
from collaparte.paper.pages.workings import Workings
from paper.laid import KEYS, Part, engraved, part

pytestmark = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")

SCORE = r"""\version "2.24.0"
#(set-global-staff-size 16)
#(set-default-paper-size "a4")
\header { title = "Lanterns" tagline = ##f }
\score { \new StaffGroup << STAVES >> }
"""
CELLS = "{a}4 {b} {a} {b}", "{a}8 {b} {a} {b} {a}2", "{b}2. {a}4", "r4 {a} {b}2", "{a}1"
BARS = 30


@cache
def score(staves: int) -> Part:
    chance = random.Random(staves)
    music = []
    for n in range(staves):
        clef, (a, b) = ("treble", ("g'", "d''")) if 2 * n < staves else ("bass", ("c", "g"))
        bars = " | ".join(chance.choice(CELLS).format(a=a, b=b) for _ in range(BARS))
        music.append(rf'\new Staff {{ \clef {clef} \time 4/4 {bars} \bar "|." }}')
    return engraved(SCORE.replace("STAVES", " ".join(music)))


def laid(staves: int, stave: float, page: tuple[float, float] = (148.0, 197.0)) -> Laying:
    the = score(staves)
    return lay(the.reading, the.cut.table, printed_order(the.reading), page, stave)


def alone(laying: Laying) -> int:
    return sum(len(page.lines) == 1 for page in laying.pages)


@pytest.mark.parametrize(
    ("staves", "stave", "page"), [(7, 7.0, (148.0, 197.0)), (5, 10.0, (148.0, 197.0)), (8, 7.0, (105.0, 210.0))]
)
def test_a_score_is_a_little_lower_where_that_puts_two_lines_on_a_page(
    staves: int, stave: float, page: tuple[float, float]
) -> None:
    laying = laid(staves, stave, page)
    assert max(LOWEST, 0.85 * stave) <= laying.stave < stave
    assert 2 * alone(laying) <= len(laying.pages)
    assert laying.notes[0].startswith(f"Staves are {laying.stave:.1f} mm high")
    # every line is as high as is said: four spaces a stave
    tops = [line.bars[0].staves[0] - line.y0 for page in laying.pages for line in page.lines]
    assert tops == pytest.approx([laying.stave / 2] * len(tops), abs=0.02)


def test_a_score_keeps_its_height_where_two_lines_stand_on_a_page_or_never_will() -> None:
    for staves, stave in ((5, 8.0), (8, 8.0), (6, LOWEST)):
        laying = laid(staves, stave)
        assert laying.stave == stave and not laying.notes


def test_a_part_is_as_high_as_was_asked() -> None:
    the = part(KEYS)
    for stave in (7.0, 10.0):
        assert lay(the.reading, the.cut.table, printed_order(the.reading), stave=stave).stave == stave


def test_what_is_laid_anew_of_a_score_is_as_high_as_the_page_before_it() -> None:
    """A stand shows the rest of an order behind the page that is played from."""
    the = score(7)
    order, workings = printed_order(the.reading), Workings(the.cut.table)
    for steps, first in ((order, True), (order[-3:], False)):
        laying = lay(the.reading, the.cut.table, steps, stave=7.0, first_page=first, workings=workings)
        assert laying.stave == laid(7, 7.0).stave < 7.0
