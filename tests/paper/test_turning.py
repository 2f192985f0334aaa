"""How long there is to turn: by arithmetic on the chart's own rests, meters and tempi."""

import random
from itertools import pairwise

import pytest

from collaparte.music.beats import bar_quarters, counted
from collaparte.paper.pages.lay import printed_order
from collaparte.paper.pages.shown import Shown
from collaparte.paper.pages.turning import (
    BY_FOOT,
    ENOUGH,
    HASTY,
    IN_A_RUN,
    RUN_COST,
    TURN_COST,
    Turning,
    turn_cost,
)
from collaparte.paper.pages.workings import Workings
from paper.laid import ALTO, DRUMS, KEYS, PIANO, Part, engraved, part

RESTS = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Rests" tagline = ##f }
\relative c'' { \compressMMRests { \numericTimeSignature \time 4/4 \tempo 4 = 90
  c4 c c r | r2 c | c1 | c2 r4 r8 c8 | R1 | c1 | R1*4 | c1 | \time 6/8 \tempo 4. = 60 c4. r4. | r4 c8 c4. |
  \time 4/4 \tempo "Slow" c2. r4 | c4 c c c \bar "|." } }
"""
"""Bars 1 to 15; a beat lasts 2/3 of a second up to bar 11, then a dotted quarter lasts one."""

BUSY = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Busy" tagline = ##f }
{ \numericTimeSignature \time 4/4 MUSIC \bar "|." }
"""
"""Bars of eighths without a rest, here and there one that ends in a half or a whole note."""

COUNTED = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Counted" tagline = ##f }
\relative c'' { \numericTimeSignature \time 4/4 \tempo "Steady" NOTE = FIGURE
  c4 c c c | R1 | c4 c c c | c4 c c c | c4 c c c | c4 c c c | c1 \bar "|." }
"""
"""A rest in bar 2."""


def turning(the: Part) -> tuple[list[Shown], Turning]:
    shown = Workings(the.cut.table).showing.show(printed_order(the.reading), True)
    return shown, Turning(the.cut.table, shown, the.reading.tempos)


def test_rests_at_both_sides_of_a_turn_in_seconds() -> None:
    shown, the = turning(engraved(RESTS))
    seconds = {one.bar.number: the.seconds(n) for n, one in enumerate(shown) if n}
    beat = 60 / 90
    assert list(seconds) == [2, 3, 4, 5, 6, 7, 11, 12, 13, 14, 15]
    assert seconds[2] == pytest.approx(3 * beat)
    assert seconds[3] == seconds[4] == seconds[12] == 0
    assert seconds[5] == seconds[6] == pytest.approx(4 * beat)
    assert seconds[7] >= ENOUGH and seconds[11] >= ENOUGH
    assert seconds[13] == pytest.approx(1 + 2 / 3)
    assert seconds[14] == 0
    assert 0.5 < seconds[15] < 1.5  # one beat, slow


def test_a_part_in_two_staves_rests_where_both_do() -> None:
    """Against the reading's word on each bar of the demo's keyboard part: no time where neither side rests."""
    shown, the = turning(part(KEYS))
    for n, (before, after) in enumerate(pairwise(shown), 1):
        rests = before.bar.ends_in_rest or after.bar.starts_in_rest
        assert (the.seconds(n) > 0) == rests


def test_a_figure_counts_the_beat_of_its_meter() -> None:
    """Common practice: the dotted quarter in 6/8, 9/8 and 12/8, the half in cut time, else the lower figure."""
    assert bar_quarters("4/4") == (4, 1)
    assert bar_quarters("2/2") == (4, 2)
    assert bar_quarters("6/8") == (3, 1.5)
    assert bar_quarters("7/8") == (3.5, 0.5)
    assert bar_quarters("of system 3") == (4, 1)


def test_more_time_never_costs_more_and_three_seconds_cost_nothing() -> None:
    costs = [turn_cost(tenths / 10) for tenths in range(40)]
    assert costs == sorted(costs, reverse=True)
    assert costs[0] == TURN_COST + RUN_COST + IN_A_RUN and costs[30:] == [0.0] * 10
    held = [turn_cost(0.2, tenths / 10) for tenths in range(40)]
    assert held == sorted(held, reverse=True)


def test_the_laid_pages_say_where_there_is_a_rest_to_turn() -> None:
    the = part(ALTO)
    shown, time = turning(the)
    at = {one.first: n for n, one in enumerate(shown)}
    for page, following in pairwise(the.laying.pages):
        assert page.turn_at_rest == (time.seconds(at[following.lines[0].bars[0].steps[0]]) > 0)


def test_rests_are_better_than_held_notes_and_these_than_a_short_rest_and_a_run_is_worst() -> None:
    """Common practice, at 120 beats a minute: two seconds of rest, one, a whole note, a half, an eighth's rest between
    quarters, quarters, eighths, sixteenths."""
    turns = [(BY_FOOT, 0.0), (1.0, 0.5), (0.0, 2.0), (0.0, 1.0), (0.25, 0.5), (0.0, 0.5), (0.0, 0.25), (0.0, 0.125)]
    costs = [turn_cost(*turn) for turn in turns]
    assert costs == sorted(costs) and costs[0] < costs[1] / 5


def busy(chance: random.Random) -> tuple[Part, dict[int, str]]:
    """Such a chart, and the bars that end in a long note."""
    ends: dict[int, str] = {}
    music: list[str] = []
    while len(music) < 80:
        music += ["c''8 d'' e'' f'' g'' f'' e'' d''"] * chance.randint(4, 9)
        ends[len(music) + 1] = chance.choice(["c''1", "c''8 d'' e'' f'' g''2"])
        music.append(ends[len(music) + 1])
    return engraved(BUSY.replace("MUSIC", " | ".join(music))), ends


def test_how_long_a_bar_holds_its_last_note() -> None:
    """By the charts' own lengths; print tells them within two fifths. Repeated bars are no notes to read."""
    last = {1: 1.0, 2: 2.0, 3: 4.0, 4: 0.5, 6: 4.0, 11: 4.0, 12: 1.5, 13: 1.5, 14: 3.0, 15: 1.0}
    shown, _ = turning(engraved(RESTS))
    told = {one.bar.number: one.held for one in shown}
    assert {n: told[n] for n in last} == {n: pytest.approx(length, rel=0.4) for n, length in last.items()}
    assert told[5] == told[7] == 0
    repeated = [one for one in turning(part(DRUMS))[0] if one.bar.number in (44, 45, 46)]
    assert [one.held for one in repeated] == [4.0, 4.0, 4.0]


def test_no_turn_is_in_a_run_where_a_long_note_is_to_be_had() -> None:
    the, ends = busy(random.Random(4))
    turns = [page.lines[0].bars[0].steps[0] for page in the.laying.pages[1:]]
    assert len(turns) > 1 and set(turns) <= set(ends)


@pytest.mark.parametrize("name", [KEYS, PIANO])
def test_no_page_stays_half_empty_for_a_turn_that_is_none(name: str) -> None:
    """The keyboard's first page held one system once, before an eighth's rest."""
    shown, time = turning(part(name))
    at = {one.first: n for n, one in enumerate(shown)}
    for page, following in pairwise(part(name).laying.pages):
        seconds = time.seconds(at[following.lines[0].bars[0].steps[0]])
        assert len(page.lines) > 1 and (max(line.y1 for line in page.lines) > 197 / 2 or seconds >= HASTY)


@pytest.mark.parametrize(
    ("counts", "quarters"), [("2", 2.0), ("2.", 3.0), ("4", 1.0), ("4.", 1.5), ("8", 0.5), ("1", 4.0), ("16", 0.25)]
)
def test_a_figure_counts_the_note_before_it(counts: str, quarters: float) -> None:
    """So many of that note a minute: a rest of one whole bar of 4/4 lasts four quarters of it."""
    figure = round(240 / quarters)
    the = engraved(COUNTED.replace("NOTE", counts).replace("FIGURE", str(figure)))
    assert [tempo.bpm for tempo in the.reading.tempos] == [figure]
    assert counted(the.reading.tempos[0].text) == quarters
    shown, turning_at = turning(the)
    at = next(n for n, one in enumerate(shown) if one.bar.number == 3)
    assert turning_at.seconds(at) == pytest.approx(4 * 60 / 240, rel=0.01)
