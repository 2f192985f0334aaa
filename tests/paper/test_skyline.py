"""How far the ink of lines reaches: all lines at once against one box after the other."""

import numpy as np
import pytest

from collaparte.paper.cutting.rows import rowed, shifts
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Step
from collaparte.paper.pages.linefit import LineFitter
from collaparte.paper.pages.showing import Showing
from collaparte.paper.pages.shown import Shown
from collaparte.paper.pages.skyline import NUMBER_ROOM, STRIP, Skylines, Stretch
from collaparte.paper.pages.workings import Workings
from paper.laid import ALTO, DRUMS, PIANO, part

WIDTH = 84.0


def one_by_one(shown: list[Shown], line: Stretch, start: float, foot: float) -> tuple[list[float], list[float]]:
    """The reach of one line, box after box, strip after strip; bars touch."""
    count = int(WIDTH / STRIP) + 1
    up, down = [NUMBER_ROOM] + [0.0] * (count - 1), [foot] + [0.0] * (count - 1)
    bars, x = shown[line.i : line.j], start
    for n, (one, moved) in enumerate(zip(bars, shifts([rowed(s.bar) for s in bars]), strict=True)):
        factor = line.each[n] if line.each else line.rests if one.bar.count > 1 else line.notes
        width = one.rigid + one.flex * factor
        stretch = width / max(one.rigid + one.flex / one.bar.ease, 0.1)
        for left, right, above, below, row, lift in one.boxes:
            above += lift if n == 0 else 0.0
            above -= moved.get(row, 0.0) if above else 0.0
            below += moved.get(row, 0.0) if below else 0.0
            left_out = one.starts[n == 0]
            left, right = (left - left_out, right - left_out) if left > left_out else (left, right)
            reach = (right - left) * max(stretch, 1.0)
            edge = x + (one.signs.width if n else one.signs.at_head)
            from_x = max(min(edge + left * stretch, WIDTH - reach), 0.0)  # moved in from an end of the line
            to_x = from_x + reach
            first = min(max(int(from_x / STRIP), 0), count - 1)
            for strip in range(first, max(first, min(int(to_x / STRIP), count - 1)) + 1):
                up[strip], down[strip] = max(up[strip], above), max(down[strip], below)
        x += width - (0.0 if n else one.spare)
    return up, down


@pytest.mark.parametrize(("name", "rows"), [(ALTO, False), (DRUMS, False), (PIANO, True)])
def test_all_lines_at_once(name: str, rows: bool) -> None:
    the = part(name)
    shown = Showing(the.cut.table).show(printed_order(the.reading))
    starts, feet = [5.0 + n % 3 for n in range(len(shown))], [n % 4 / 2 for n in range(len(shown))]
    lines = [Stretch(i, min(i + 1 + i % 6, len(shown)), 0.8 + i % 7 / 10, 1.0 + i % 3 / 5) for i in range(len(shown))]
    lines += [Stretch(i, i + 3, 1.0, 1.0, (0.9, 1.1, 1.3)) for i in range(len(shown) - 3)]
    moved = [moves for line in lines for moves in shifts([rowed(s.bar) for s in shown[line.i : line.j]])]
    assert any(moved) == rows
    up, down = Skylines(shown, starts, feet, [0.0] * (len(shown) - 1)).of(lines, WIDTH)
    for n, line in enumerate(lines):
        above, below = one_by_one(shown, line, starts[line.i], feet[line.i])
        assert up[n] == pytest.approx(np.array(above))
        assert down[n] == pytest.approx(np.array(below))


def test_no_lines() -> None:
    up, down = Skylines([], [], [], []).of([], WIDTH)
    assert len(up) == len(down) == 0


@pytest.mark.parametrize("name", [ALTO, DRUMS, PIANO])
def test_what_was_worked_out_for_another_order_serves(name: str) -> None:
    the = part(name)
    whole = printed_order(the.reading)
    workings = Workings(the.cut.table)
    cut = [*whole[:20], Step(whole[30].bar, whole[30].number, 1, join=True), *whole[31:]]
    repeated = [*whole[:24], *(Step(s.bar, s.number, 2, join=not n) for n, s in enumerate(whole[8:]))]
    for order in (whole, cut, repeated, whole, cut[20:]):
        again = lay(the.reading, the.cut.table, order, workings=workings)
        assert again == lay(the.reading, the.cut.table, order)


@pytest.mark.parametrize("name", [ALTO, DRUMS, PIANO])
def test_a_last_line_reaches_where_its_bars_are_set(name: str) -> None:
    """Also one that is nearly full, and is filled: else what stands over its end meets the line before."""
    the = part(name)
    shown = Showing(the.cut.table).show(printed_order(the.reading))
    fitter = LineFitter(the.cut.table, shown, WIDTH, {})
    end, filled = len(shown), 0
    for i in range(end - 8, end):
        if i + len(fitter.lines(i)) < end or not np.isfinite(fitter.lines(i)[-1].cost):
            continue
        fit = fitter.fit(i, end)
        filled += max(fit.factors) > 1.12
        line = Stretch(i, end, 1.0, 1.0, fit.factors)
        up, down = Skylines(shown, fitter._starts, [fitter._head_foot(n) for n in range(end)], fitter._between).of(
            [line], WIDTH
        )
        assert fitter.lines(i)[-1].up == pytest.approx(up[0])
        assert fitter.lines(i)[-1].down == pytest.approx(down[0])
    assert filled or name != ALTO
