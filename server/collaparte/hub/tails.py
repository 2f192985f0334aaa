"""Where a new laying starts, so that nothing moves on the page that is in front of the player."""

from bisect import bisect_left, bisect_right

from collaparte.band.parts import PartOrder
from collaparte.music.form import Step as Written
from collaparte.music.played import Played
from collaparte.paper.pages.laying import Step

NO_BAR = 0
"""The bar of a step that a part does not have: the step keeps its place in the order, and nothing is laid for it."""


def first_step_after(shown: Played, next_step: int, now: Played) -> int:
    """The first step of the order as it is now behind a page on which the old order was read up to before `next_step`.

    What comes in right there, such as bars whose cut was taken back, is behind it.
    """
    if next_step <= 0:
        return 0
    before = shown.laid()
    read = before[min(next_step, len(before)) - 1]
    behind = (read.after, read.nth)
    if shown.written != now.written:
        behind = _rebased(shown.written, now.written, behind)
    laid = [(bar.after, bar.nth) for bar in now.laid()]
    coming = behind[0] + 1
    fold = next((fold for fold in now.folds if fold.first <= coming <= fold.last), None)
    if fold is not None:
        # What comes next stands between repeat signs now, with the first time round.
        return bisect_left(laid, (fold.by + coming - fold.first, 0))
    return bisect_right(laid, behind)


def _rebased(before: tuple[Written, ...], now: tuple[Written, ...], read: tuple[int, int]) -> tuple[int, int]:
    """The last bar read in one written order as a place in another: itself, or right before the next that is left."""
    at = {step: n for n, step in enumerate(now)}
    own = at.get(before[read[0]])
    if own is not None:
        return own, read[1]
    return next((at[step] for step in before[read[0] :] if step in at), len(now)) - 1, 0


def laying_steps(order: PartOrder, laid: int) -> tuple[Step, ...]:
    """A part's order with one step for each of the `laid` bars, so that a step's index is its bar's."""
    steps = [Step(NO_BAR, 0)] * laid
    for step in order.steps:
        steps[step.position] = Step(
            bar=step.bar,
            number=step.number,
            pass_=step.pass_,
            join=step.join,
            label=step.label,
            starts=step.starts,
            ends=step.ends,
            kept=step.kept,
            followed=order.followed,
        )
    return tuple(steps) if order.steps else ()
