"""Bars of damaged scans whose count was once wrong: what stands before a repeat's start, rests of many, torn staves.

The truth is the generated chart's own; each is damaged by the scan of its seed.
"""

import tempfile
from pathlib import Path

import pytest

import engraving
import scanning
import second_engraving
from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE

WHY = {
    8100003: "a pickup of a note that was not told, before a repeat's start",
    8100007: "half bars' rests in spread print, as long as a short H-bar, under marks that are figures",
    8100019: "a repeat's start close behind a meter that was taken for a note",
    8100020: "old rest signs four spaces from each other",
    8100026: "an old rest sign alone, and what is left of a barline beside it",
    8500003: "a pickup of a note that was not told, before a rest",
    8600032: "a pickup of a rest, close behind a meter",
    8600056: "a pickup of a note before a repeat's start, close behind a meter",
    8650050: "a pickup of a beamed pair as tall as a meter, close behind one",
    8890476: "a pickup of a note that was not told, behind pencil over the meter",
    8890611: "a pickup of a note that reaches from the stave's top to its bottom as a meter does",
    8890624: "a pickup of beamed notes on ledger lines, far under the stave",
    8500055: "a key that was not told, and a meter that was taken for a note, before a repeat's start",
    8500036: "a rest that pencil hides, under its number",
    8300030: "an old rest of two that pencil hides, under its number",
    8800026: "lines whose ends fall steeply over bent paper, torn off by that",
    8100052: "a stave whose lines run off their rows between two shadows",
}
JUMPS = (8890611,)
"""Those full of jumps."""


@pytest.mark.parametrize("seed", WHY, ids=WHY.values())
def test_a_damaged_scan_has_its_charts_bars(seed: int) -> None:
    if seed % 2:
        pdf, truth, _ = second_engraving.chart(seed, signs=seed in JUMPS)
    elif engraving.engraver() is None:
        pytest.skip("the engraver's package is not installed")
    else:
        with tempfile.TemporaryDirectory() as folder:
            pdf, truth = engraving.engrave(engraving.chart(seed), Path(folder))
    reading = read_part(scanning.scanned(pdf, scanning.damage(seed), seed)[0], scans=True)
    assert (reading.bars, reading.pickup) == (truth.bars, truth.pickup)
    assert [(rest.bar, rest.count) for rest in reading.multirests] == truth.multirests


def _engraved_and_scanned(seed: int, *, signs: bool = False) -> tuple[bytes, bytes]:
    if engraving.engraver() is None:
        pytest.skip("the engraver's package is not installed")
    with tempfile.TemporaryDirectory() as folder:
        pdf, _ = engraving.engrave(engraving.chart(seed, signs=signs), Path(folder))
    return pdf, scanning.scanned(pdf, scanning.damage(seed), seed)[0]


def test_notes_before_a_repeats_end_whose_dots_are_not_seen_are_a_bar() -> None:
    """They passed for a key, the repeat's end for a start behind it."""
    pdf, scan = _engraved_and_scanned(8700062)
    printed = read_part(pdf).pages[0].systems[1]
    seen = read_part(scan, scans=True).pages[0].systems[1]
    assert [(bar.number, bar.count) for bar in seen.bars] == [(bar.number, bar.count) for bar in printed.bars]


@pytest.mark.parametrize("seed", [8820050, 8830072])
def test_a_first_line_is_not_surely_counted_wrong(seed: int) -> None:
    """A mark of the next line under a half note was a rest's number; a pickup's barline passed for a part of the
    head."""
    pdf, scan = _engraved_and_scanned(seed)
    printed = read_part(pdf).pages[0].systems[0]
    seen = read_part(scan, scans=True).pages[0].systems[0]
    same = [(bar.number, bar.count) for bar in seen.bars] == [(bar.number, bar.count) for bar in printed.bars]
    assert same or seen.confidence < SURE


def test_two_lines_of_which_one_is_torn_do_not_turn_a_page() -> None:
    """Their ends were more alike than what was left of their beginnings."""
    _, scan = _engraved_and_scanned(8830012)
    assert not read_part(scan, scans=True).pages[0].turned


def test_one_system_of_two_clefs_does_not_turn_its_page() -> None:
    """Its staves begin unlike and end alike, as in a piano part's last line on a page of its own."""
    _, scan = _engraved_and_scanned(8860210, signs=True)
    assert {page.turned for page in read_part(scan, scans=True).pages} == {0}
