"""Charts by a second engraver that draws every sign as a path: told by shape alone. Seeds as in test_read_engraved."""

from collections import Counter

import pytest

from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE
from seeded import SEED

pytest.importorskip("verovio")
import second_engraving

CHARTS = 6


@pytest.mark.parametrize("seed", [SEED * CHARTS + n for n in range(CHARTS)])
def test_a_chart_is_read_as_it_was_engraved(seed: int) -> None:
    pdf, truth, notes = second_engraving.chart(seed)
    print(f"COLLAPARTE_SEED={SEED}: {notes}")
    reading = read_part(pdf)
    assert (reading.bars, reading.pickup) == (truth.bars, truth.pickup), notes
    assert Counter((m.text, m.bar) for m in reading.marks) == Counter(truth.marks), notes
    assert Counter((r.bar, r.count) for r in reading.multirests) == Counter(truth.multirests), notes
    # words between two lines may suit both: such a sign must be called doubtful, no other may be wrong
    assert Counter(s.kind.value for s in reading.signs) == Counter(kind for kind, _ in truth.signs), notes
    assert {(s.kind.value, s.bar) for s in reading.signs if s.confidence >= SURE} <= set(truth.signs), notes
    assert [(e.passes, e.bar, e.last_bar) for e in reading.endings] == truth.endings, notes
    assert all(len(s.staves) == truth.staves for page in reading.pages for s in page.systems), notes


@pytest.mark.parametrize("seed", [7000243, 7001020])
def test_a_coda_sign_set_close_behind_the_words_is_where_they_lead(seed: int) -> None:
    """The barline before it tells that it is the next bar's."""
    pdf, truth, notes = second_engraving.chart(seed)
    reading = read_part(pdf)
    assert {(s.kind.value, s.bar) for s in reading.signs} == set(truth.signs), notes


@pytest.mark.parametrize("seed", [7002536, 83028])
def test_a_fine_under_a_line_s_notes_is_that_line_s(seed: int) -> None:
    """The next line has a double barline where the word ends, but is several spaces further off."""
    pdf, truth, notes = second_engraving.chart(seed)
    reading = read_part(pdf)
    assert {(s.kind.value, s.bar) for s in reading.signs} == set(truth.signs), notes


@pytest.mark.parametrize("seed", [310000182, 310000622])
def test_a_frame_s_side_parts_it_from_a_word_that_touches_it(seed: int) -> None:
    """A To Coda set against the mark of the next bar, and a bar number across the side of a mark's ellipse."""
    pdf, truth, notes = second_engraving.chart(seed)
    assert Counter((m.text, m.bar) for m in read_part(pdf).marks) == Counter(truth.marks), notes


def test_a_piece_of_a_barline_between_staves_is_no_rest() -> None:
    """Words at a repeat's end stand in the barline between two staves; what is left of it looked like an old rest, so
    the long rest behind it was one bar, and sure."""
    pdf, truth, notes = second_engraving.chart(8600013)
    reading = read_part(pdf)
    assert (reading.bars, reading.pickup) == (truth.bars, truth.pickup), notes
    assert Counter((r.bar, r.count) for r in reading.multirests) == Counter(truth.multirests), notes


def test_a_low_note_of_the_line_above_makes_no_bar_of_the_key_under_it() -> None:
    pdf, truth, notes = second_engraving.chart(8500044)
    reading = read_part(pdf)
    assert (reading.bars, reading.pickup) == (truth.bars, truth.pickup), notes
    assert reading.confidence >= SURE


def test_a_long_rest_s_count_behind_a_segno_is_no_second_segno_s_number() -> None:
    """Found by eye: the count was the sign's, and was left off the laid page with it."""
    pdf, truth, notes = second_engraving.chart(9200012)
    reading = read_part(pdf)
    segno = next(sign for sign in reading.signs if sign.kind.value == "segno")
    rest = next(rest for rest in reading.multirests if rest.bar == segno.bar)
    assert (rest.bar, rest.count) in truth.multirests, notes
    assert segno.text == ""
    assert segno.box[2] < rest.box[0]
