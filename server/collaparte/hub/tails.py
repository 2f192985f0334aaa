"""Where a new laying starts, so that nothing moves on the page that is in front of the player."""

from bisect import bisect_left

from collaparte.band.parts import PartOrder
from collaparte.music.form import Step as Written
from collaparte.music.played import Played
from collaparte.paper.pages.laying import Step

NO_BAR = 0
"""The bar of a step that a part does not have: the step keeps its place in the order, and nothing is laid for it."""


def first_step_after(shown: Played, next_step: int, now: Played) -> int:
    """The first step of the order as it is now behind a page that showed the old order up to before `next_step`."""
    before = shown.laid()
    beyond = (before[next_step].after, before[next_step].nth) if next_step < len(before) else (len(shown.written), 0)
    if shown.written != now.written:
        beyond = (_rebased(shown.written, now.written, beyond[0]), beyond[1])
    fold = next((fold for fold in now.folds if beyond[1] == 0 and fold.first <= beyond[0] <= fold.last), None)
    if fold is not None:
        # What comes next stands between repeat signs now, with the first time round.
        beyond = (fold.by + beyond[0] - fold.first, 0)
    return bisect_left(now.laid(), beyond, key=lambda bar: (bar.after, bar.nth))


def _rebased(before: tuple[Written, ...], now: tuple[Written, ...], position: int) -> int:
    """Where the bar at a position of one written order, or the next that is left, comes in another."""
    at = {step: n for n, step in enumerate(now)}
    return next((at[step] for step in before[position:] if step in at), len(now))


def laying_steps(order: PartOrder, laid: int) -> tuple[Step, ...]:
    """A part's order with one step for each of the `laid` bars, so that a step's index is its bar's."""
    steps = [Step(NO_BAR, 0)] * laid
    for step in order.steps:
        steps[step.position] = Step(
            step.bar, step.number, step.pass_, step.join, step.label, step.starts, step.ends, step.kept
        )
    return tuple(steps) if order.steps else ()
