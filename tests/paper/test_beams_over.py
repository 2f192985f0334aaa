"""A beam over a barline: where its bars come to stand apart, each has its own part of it, up to the barline.

A beam that ends at a line's end or begins at its head is common practice; notes without it would be twice as long.
"""

from functools import cache

import numpy as np
import numpy.typing as npt
import pypdfium2
import pytest

from collaparte.paper.cutting.edges import beams_over
from collaparte.paper.cutting.items import Item, Role
from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import LaidBar, Laying, Step
from paper.laid import engraved

OVER = r"""
\version "2.24.0"
#(set-global-staff-size 20)
\header { title = "Over" tagline = ##f }
\relative c'' { \time 4/4 \autoBeamOff
  c4 c c c8[ c | c c] c4 c c | c4 c c c8[ c | c c] c4 c c | c4 c c c8[ c | c] r r4 c2 | c1 \bar "|." }
"""
"""Seven bars; beams from the first to the second, the third to the fourth, the fifth to the sixth, below the stave."""
GOING, COMING = (1, 3, 5), (2, 4, 6)
DPI = 200
MM = 25.4 / DPI


@cache
def pictures(page: tuple[float, float], order: tuple[Step, ...]) -> tuple[Laying, list[npt.NDArray[np.bool_]]]:
    the = engraved(OVER)
    laying = lay(the.reading, the.cut.table, order, page)
    pages = pypdfium2.PdfDocument(draw_cut(the.cut, laying))
    return laying, [one.render(scale=DPI / 72, grayscale=True).to_numpy().squeeze() < 128 for one in pages]


def beam(ink: npt.NDArray[np.bool_], bar: LaidBar, space: float) -> tuple[float, float] | None:
    """From where to where (spaces from the bar's edges, at the left and at the right) its longest run of ink below the
    stave reaches; None where there is none as long as a space."""
    top, bottom = ((bar.staves[0] + d * space) / MM for d in (2.3, 5.0))
    left, right = round((bar.x0 - 0.5 * space) / MM), round((bar.x1 + 0.5 * space) / MM)
    runs = []
    for row in ink[round(top) : round(bottom), max(left, 0) : right]:
        edges = np.flatnonzero(np.diff(np.r_[0, row.astype(np.int8), 0]))
        runs += [(b - a, a, b) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    long, a, b = max(runs, default=(0, 0, 0))
    if long * MM < space:
        return None
    return (max(left, 0) + a) * MM / space - bar.x0 / space, bar.x1 / space - (max(left, 0) + b) * MM / space


def orders() -> list[tuple[Step, ...]]:
    cut = [Step(1, 1), Step(4, 4, join=True), Step(6, 6, join=True), Step(3, 3, join=True), Step(2, 2, join=True)]
    return [printed_order(engraved(OVER).reading), tuple(cut), tuple(Step(n, n, join=True) for n in (5, 2, 1, 6, 3, 4))]


@pytest.mark.parametrize("page", [(60.0, 160.0), (148.0, 197.0)])
@pytest.mark.parametrize("which", [0, 1, 2])
def test_each_bar_keeps_its_part_up_to_the_barline(page: tuple[float, float], which: int) -> None:
    order = orders()[which]
    laying, inks = pictures(page, order)
    for ink, sheet in zip(inks, laying.pages, strict=True):
        assert not ink[:, : round(0.4 / MM)].any() and not ink[:, -round(0.4 / MM) :].any(), "over the page's edge"
        for bar in (bar for line in sheet.lines for bar in line.bars):
            number, found = order[bar.steps[0]].number, beam(ink, bar, laying.space)
            assert (found is None) == (number == 7), number
            if found and number in GOING:
                assert found[0] > 3 and found[1] < 0.5, number
            elif found and number in COMING:
                assert found[0] < 1 and found[1] > 3, number


def test_a_line_s_end_under_a_beam_costs_more_than_under_a_slur() -> None:
    crossing = [bar.crossing for bar in engraved(OVER).cut.table.bars]
    assert all(number > 1 for number in crossing[:5:2]) and not any(crossing[1::2])


def test_a_strip_of_a_scan_s_bar_is_no_beam_over_the_barline() -> None:
    """Found by bringing one: its ink ends behind the barline, and it has none of a drawing's marks."""
    system = engraved(OVER).reading.pages[0].systems[0]
    line = system.barlines[0]
    box = (line.x0 - 2 * system.space, system.bbox[1], line.x1 + system.space, system.bbox[3])
    strip, beam = Item([], box, Role.BEAM, bar=0), Item([0], box, Role.BEAM, ("shape",), bar=0)
    assert [item.role for item in beams_over([strip, beam], system)] == [Role.BEAM, Role.THROUGH]
