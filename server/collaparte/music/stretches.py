"""Stretches of a written order: where two bars in print bound it, and how its rounds and repeats lie in it.

Positions are 0-based in the written order. A *round* is one time through a stretch that begins with its first bar.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from collaparte.music.form import Step, Written
from collaparte.music.ruler import indices
from collaparte.wire.chart import BarId, Chart

UNDER_NO_BRACKET = 4
"""Bars that a last ending goes on behind its bracket, which is often drawn over its first bars only (common
practice)."""


class Span(NamedTuple):
    """Positions from `first` to `last`, both taken."""

    first: int
    last: int

    @property
    def length(self) -> int:
        """How many bars it is."""
        return self.last - self.first + 1

    def meets(self, other: "Span") -> bool:
        """Whether the two have a position in common."""
        return self.first <= other.last and other.first <= self.last


def spans(positions: Iterable[int]) -> list[Span]:
    """Positions as spans without a gap."""
    found: list[Span] = []
    for position in sorted(positions):
        if found and found[-1].last == position - 1:
            found[-1] = Span(found[-1].first, position)
        else:
            found.append(Span(position, position))
    return found


def between(
    steps: Sequence[Step],
    place: Mapping[BarId, int],
    first: BarId,
    until: BarId | None,
    passes: Sequence[int] = (),
) -> set[int]:
    """The positions between two bars; empty when they are not in the order.

    `place`: document index of each bar. Up to a later bar in print: every stretch of the order between the two, however
    it is reached. Up to an earlier one: from `first` on to where it next comes. To the end: from the first time on.
    """
    if first not in place or (until is not None and until not in place):
        return set()
    begins = [
        position for position, step in enumerate(steps) if step.bar == first and (not passes or step.pass_ in passes)
    ]
    if until is None:
        return set(range(begins[0], len(steps))) if begins else set()
    if place[until] > place[first]:
        return set(_printed(steps, place, first, until, passes))
    found: set[int] = set()
    for begin in begins:
        end = comes_next(steps, until, begin)
        found |= set(range(begin, end)) if end is not None else set()
    return found


def _printed(
    steps: Sequence[Step], place: Mapping[BarId, int], first: BarId, until: BarId, passes: Sequence[int]
) -> Iterator[int]:
    """Positions between two bars in print. A stretch has the pass of the bar that it begins with."""
    wanted = inside = False
    for position, step in enumerate(steps):
        was_inside, inside = inside, place[first] <= place[step.bar] < place[until]
        if inside and (not was_inside or step.bar == first):
            wanted = not passes or step.pass_ in passes
        if inside and wanted:
            yield position


def comes_next(steps: Sequence[Step], bar: BarId, position: int) -> int | None:
    """Where a bar comes next, from a position on."""
    return next((at for at in range(position, len(steps)) if steps[at].bar == bar), None)


def rounds(
    steps: Sequence[Step],
    place: Mapping[BarId, int],
    first: BarId,
    until: BarId | None,
    passes: Sequence[int] = (),
) -> list[list[Span]]:
    """The rounds of a stretch, those that follow one another at once together."""
    inside = spans(between(steps, place, first, until))
    found: list[list[Span]] = []
    for stretch in inside:
        starts = [position for position in range(stretch.first, stretch.last + 1) if steps[position].bar == first]
        # A stretch that a repeat enters behind its first bar has no round of its own.
        ends = [*(start - 1 for start in starts[1:]), stretch.last][: len(starts)]
        for start, end in zip(starts, ends, strict=True):
            if passes and steps[start].pass_ not in passes:
                continue
            if found and start > stretch.first and found[-1][-1].last == start - 1:
                found[-1].append(Span(start, end))
            else:
                found.append([Span(start, end)])
    return found


def as_one(written: Written, turns: list[Span]) -> list[Span]:
    """The rounds of a stretch as the one that they are where the stretch goes on behind the repeat that they are of."""
    closes = next((at for at in written.closed if at >= turns[-1].first), turns[-1].last)
    behind = turns[-1].last - closes
    bars = [step.bar for step in written.steps[turns[-1].first : closes + 1]]
    ended = any(step.bar not in bars for step in written.steps[turns[0].first : turns[0].last + 1])
    inner = len(turns) > 1 and behind > (UNDER_NO_BRACKET if ended else 0)
    return [Span(turns[0].first, turns[-1].last)] if inner else turns


def repeats(written: Written) -> list[list[int]]:
    """The written repeats: where each one's rounds begin, the first one included."""
    found: list[list[int]] = []
    for begin in written.again:
        if begin >= len(written.steps):
            continue
        bar = written.steps[begin].bar
        before = next((at for at in range(begin - 1, -1, -1) if written.steps[at].bar == bar), None)
        if before is None:
            continue
        if found and found[-1][-1] == before:
            found[-1].append(begin)
        else:
            found.append([before, begin])
    return found


def beyond_jump(written: Written, place: Mapping[BarId, int], landed: int) -> Span | None:
    """What a jump that landed at a position adds: all up to where the order comes to what follows it in print."""
    steps = written.steps
    if not 0 < landed < len(steps):
        return None
    here = place[steps[landed - 1].bar]
    follows = next((at for at in range(landed, len(steps)) if place[steps[at].bar] == here + 1), None)
    if follows is None:
        follows = next((at for at in range(landed, len(steps)) if place[steps[at].bar] > here), len(steps))
    return Span(landed, follows - 1) if follows > landed else None


def landings_of(chart: Chart, order: Sequence[Step]) -> list[tuple[int, str]]:
    """Positions at which a D.S. or D.C. lands in an order, with "ds" or "dc"."""
    at = indices(chart)
    jumps = {sign.bar: sign.kind[:2] for sign in chart.signs if sign.kind[:2] in ("ds", "dc")}
    last: dict[BarId, int] = {}
    for position in range(1, len(order)):
        before, here = order[position - 1].bar, order[position].bar
        # A repeat at the same bar line is taken before the jump is.
        if before in jumps and at[here] <= at[before]:
            last[before] = position
    return sorted((position, jumps[bar]) for bar, position in last.items())
