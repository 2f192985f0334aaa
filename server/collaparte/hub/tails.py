"""Where a new laying starts, so that nothing moves on the page that is in front of the player."""

from bisect import bisect_left

from collaparte.band.parts import PartOrder
from collaparte.music.played import Played
from collaparte.paper.laying import Step

NO_BAR = 0
"""The bar of a step that a part does not have: the step keeps its place in the order, and nothing is laid for it."""


def first_step_after(shown: Played, next_step: int, now: Played) -> int:
    """The first step of the order as it is now behind a page that showed the old order up to before `next_step`."""
    before = shown.positions()
    written = before[next_step] if next_step < len(before) else len(shown.written)
    return bisect_left(now.positions(), written)


def laying_steps(order: PartOrder, played: int) -> tuple[Step, ...]:
    """A part's order with one step for each of the `played` positions, so that a step's index is its position."""
    steps = [Step(NO_BAR, 0)] * played
    for step in order.steps:
        steps[step.position] = Step(step.bar, step.number, step.pass_, step.join, step.label)
    return tuple(steps) if order.steps else ()
