"""Scans laid line by line: where their bars stand, and which are struck out."""

from itertools import pairwise

import pytest
from msgspec.structs import replace

import scanning
from collaparte.paper.cutting.pieces import cut_ink
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Laying, Step
from collaparte.paper.read import read_part
from hub import sheets_of_music as sheets
from paper.test_scan_systems import unsure

FLAT = scanning.Damage(200, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")
BAR = (sheets.A4[0] - 100) / sheets.ACROSS
"""Points that a bar is wide on these sheets."""
POINT = 7.0 / (4 * sheets.SPACE)
"""mm on the laid page a point there, its staves 7 mm high."""


def laid(*wanted: int) -> Laying:
    """A scan of eight bars, four a line, in this order."""
    scan, _ = scanning.scanned(sheets.part("Blue Harbour", "Bass", 8, {1: "A", 5: "B"}), FLAT, 1)
    reading = unsure(read_part(scan, scans=True))
    steps = {step.bar: step for step in printed_order(reading)}
    order: list[Step] = []
    for bar in wanted:
        order.append(replace(steps[bar], join=bool(order) and bar != order[-1].bar + 1))
    # as wide as the sheet, so that its lines keep their size
    return lay(reading, cut_ink(scan, reading).table, order, (210.0, 280.0))


def test_each_bar_of_a_whole_line_has_its_place() -> None:
    (page,) = laid(*range(1, 9)).pages
    first, second = page.lines
    assert [bar.steps for bar in (*first.bars, *second.bars)] == [(n, n) for n in range(8)]
    for one, two in pairwise(second.bars):
        # sheets_of_music draws them at equal distances; a stave of 200 dpi is measured to 1 or 2 %
        assert two.x0 - one.x0 == pytest.approx(BAR * POINT, rel=0.02)
    assert page.rules == ()


def test_bars_that_are_left_out_are_struck_out() -> None:
    (page,) = laid(1, 2, 7, 8).pages
    first, second = page.lines
    assert [bar.steps for bar in first.bars] == [(0, 0), (1, 1)]
    assert [bar.steps for bar in second.bars] == [(2, 2), (3, 3)]
    for line, x0, x1 in (
        (first, first.bars[1].x1, first.bars[1].x1 + 2 * BAR * POINT),
        (second, second.bars[0].x0 - 2 * BAR * POINT, second.bars[0].x0),
    ):
        struck = [rule for rule in page.rules if rule.y0 < line.y0 + 0.1 and rule.y1 > line.y1 - 0.1]
        assert min(rule.x0 for rule in struck) == pytest.approx(x0, abs=1.5)
        assert max(rule.x1 for rule in struck) == pytest.approx(x1, abs=1.5)


def test_a_line_that_the_order_repeats_within_stands_once_with_its_printed_signs() -> None:
    (page,) = laid(1, 2, 3, 2, 3, 4, 5, 6, 7, 8).pages
    first, second = page.lines
    assert [bar.steps for bar in first.bars] == [(0, 5)]
    assert len(second.bars) == 4
    assert page.rules == ()
