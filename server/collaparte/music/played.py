"""Played order: the written order and a set of edits. The order in which edits arrive never matters.

Each edit marks steps of the written order by itself, without looking at the others; what is played is what none of
them leaves out. So taking one back restores exactly what it alone had left out, and no edit can invent a bar.
"""

from collections.abc import Iterable, Iterator, Mapping

import msgspec

from collaparte.music.form import Step, Written
from collaparte.wire.chart import BarId
from collaparte.wire.edits import Cut, Edit


class Played(msgspec.Struct, frozen=True):
    """What is played of a written order: `cut` are the first and last positions (0-based) of what is left out."""

    written: tuple[Step, ...]
    cut: tuple[tuple[int, int], ...] = ()

    def positions(self) -> list[int]:
        """Positions in the written order of the steps that are played, in order."""
        out = self.left_out()
        return [position for position in range(len(self.written)) if position not in out]

    def left_out(self) -> set[int]:
        """Positions in the written order of the steps that are cut."""
        return {position for first, last in self.cut for position in range(first, last + 1)}

    def steps(self) -> tuple[Step, ...]:
        """The steps that are played, in order."""
        return tuple(self.written[position] for position in self.positions())


def evaluate(written: Written, bars: Iterable[BarId], edits: Iterable[Edit]) -> Played:
    """What is played of an order over `bars` (the chart's, in document order) under these edits.

    Edits that name chairs do not change the order: every part plays the same bars.
    """
    place = {bar: index for index, bar in enumerate(bars)}
    out: set[int] = set()
    for edit in edits:
        if not edit.chairs:
            out |= cut_positions(written.steps, place, edit.what)
    return Played(written.steps, tuple(_ranges(sorted(out))))


def cut_positions(steps: tuple[Step, ...], place: Mapping[BarId, int], cut: Cut) -> set[int]:
    """The positions that one cut leaves out; empty when it names bars that are not in the order.

    `place`: document index of each bar. Up to a later bar in print: every stretch of the order between the two, however
    it is reached. Up to an earlier one: from `first` on to where it next comes. To the end: from the first time on.
    """
    if cut.first not in place or (cut.until is not None and cut.until not in place):
        return set()
    begins = [
        position
        for position, step in enumerate(steps)
        if step.bar == cut.first and (not cut.passes or step.pass_ in cut.passes)
    ]
    if cut.until is None:
        return set(range(begins[0], len(steps))) if begins else set()
    if place[cut.until] > place[cut.first]:
        return set(_stretches(steps, place, cut))
    out: set[int] = set()
    for begin in begins:
        end = next((position for position in range(begin, len(steps)) if steps[position].bar == cut.until), None)
        out |= set(range(begin, end)) if end is not None else set()
    return out


def _stretches(steps: tuple[Step, ...], place: Mapping[BarId, int], cut: Cut) -> Iterator[int]:
    """Positions between two bars in print. A stretch has the pass of the bar that it begins with."""
    first, until = place[cut.first], place[cut.until] if cut.until else len(place)
    wanted = inside = False
    for position, step in enumerate(steps):
        was_inside, inside = inside, first <= place[step.bar] < until
        if inside and (not was_inside or step.bar == cut.first):
            wanted = not cut.passes or step.pass_ in cut.passes
        if inside and wanted:
            yield position


def _ranges(positions: list[int]) -> list[tuple[int, int]]:
    """Sorted positions as ranges, first and last inclusive."""
    ranges: list[tuple[int, int]] = []
    for position in positions:
        if ranges and ranges[-1][1] == position - 1:
            ranges[-1] = (ranges[-1][0], position)
        else:
            ranges.append((position, position))
    return ranges
