"""Whatever the order, page and stave: every step is laid once, in order, inside the margins, and can be drawn."""

import gc

import pymupdf
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import CannotLay, lay, printed_order
from collaparte.paper.pages.laying import Step
from collaparte.paper.pages.workings import Workings
from paper.laid import ALTO, DRUMS, PIANO, part

SIDE, TOP = 0.5, 10.0
SHAPES = [(148.0, 197.0), (148.0, 237.0), (120.0, 160.0), (210.0, 280.0)]


@st.composite
def orders(draw: st.DrawFn) -> list[tuple[int, int]]:
    """Stretches of bars (first, last) in any order: cuts, repeats, jumps."""
    return draw(st.lists(st.tuples(st.integers(0, 97), st.integers(1, 30)), min_size=1, max_size=6))


def stretch_out(whole: tuple[Step, ...], stretches: list[tuple[int, int]]) -> list[Step]:
    order: list[Step] = []
    for n, (first, length) in enumerate(stretches):
        steps = list(whole[first % len(whole) :][:length])
        if n:
            steps[0] = replace(steps[0], join=True, label="2nd time" if n % 2 else "")
        order += [replace(s, pass_=n + 1) for s in steps]
    return order


@pytest.mark.parametrize("name", [ALTO, DRUMS, PIANO])
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(stretches=orders(), shape=st.sampled_from(SHAPES), stave=st.sampled_from([6.0, 7.0, 10.0]))
@example(stretches=[(0, 1), (0, 1), (0, 8)], shape=(148.0, 197.0), stave=6.0)  # a bar shown without its meter
def test_any_order(name: str, stretches: list[tuple[int, int]], shape: tuple[float, float], stave: float) -> None:
    the = part(name)
    order = stretch_out(printed_order(the.reading), stretches)
    laying = lay(the.reading, the.cut.table, order, shape, stave)
    shown = [n for p in laying.pages for li in p.lines for b in li.bars for n in range(b.steps[0], b.steps[1] + 1)]
    assert shown == list(range(len(order)))
    for page in laying.pages:
        ends = TOP
        for line in page.lines:
            assert line.y0 >= ends
            ends = line.y1
            right = SIDE
            for bar in line.bars:
                assert right <= bar.x0 < bar.x1 <= shape[0] - SIDE + 0.01
                right = bar.x1
        assert ends <= shape[1] - TOP + 0.01
    pages = pymupdf.open(stream=draw_cut(the.cut, laying))
    assert len(pages) == len(laying.pages)
    assert pages[0].get_pixmap(dpi=30).width > 0


@pytest.mark.parametrize("name", [ALTO, DRUMS, PIANO])
def test_laying_leaves_no_circles_in_memory(name: str) -> None:
    """Workers do not sweep memory amid layings, so a night of them must not need it."""
    the = part(name)
    order = printed_order(the.reading)
    gc.collect()
    gc.disable()
    try:
        workings = Workings(the.cut.table)
        for cut in (0, 5, 9):
            lay(the.reading, the.cut.table, order[cut:], workings=workings)
        with pytest.raises(CannotLay):
            lay(the.reading, the.cut.table, order, (148.0, 20.0), workings=workings)
        del workings
        assert gc.collect() == 0
    finally:
        gc.enable()


@pytest.mark.parametrize("page", [(148.0, 20.0), (148.0, 5.0), (1.0, 197.0), (0.5, 0.5)])
def test_a_page_without_room_is_refused_in_a_sentence(page: tuple[float, float]) -> None:
    the = part(ALTO)
    with pytest.raises(CannotLay, match=r"^a page of .* mm has no room between its margins; choose a larger one\.$"):
        lay(the.reading, the.cut.table, printed_order(the.reading), page)


@pytest.mark.parametrize("page", [(148.0, 110.0), (148.0, 130.0)])
def test_staves_are_lower_where_a_line_would_be_taller_than_the_page(page: tuple[float, float]) -> None:
    the = part(PIANO)
    laying = lay(the.reading, the.cut.table, printed_order(the.reading), page, 30.0)
    assert 4 <= laying.stave < 30
    assert (
        laying.notes[0] == f"Staves are {laying.stave:.1f} mm high, as lines of higher ones are taller than the page."
    )
    assert all(line.y1 <= page[1] - TOP + 0.01 for sheet in laying.pages for line in sheet.lines)


def test_lines_taller_than_a_page_at_any_height_are_refused_in_a_sentence() -> None:
    the = part(PIANO)
    with pytest.raises(CannotLay, match=r"^its lines are taller than a page of 148 x 30 mm; choose a larger one\.$"):
        lay(the.reading, the.cut.table, printed_order(the.reading), (148.0, 30.0), 7.0)
