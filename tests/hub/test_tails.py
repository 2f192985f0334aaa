"""Where a laying begins behind a page that stays."""

from hypothesis import given
from hypothesis import strategies as st

from collaparte.band.parts import PartOrder, PartStep
from collaparte.hub.tails import NO_BAR, first_step_after, laying_steps
from collaparte.music.form import Step
from collaparte.music.played import Played

BARS = 24
WRITTEN = tuple(Step(f"b{n}", 1) for n in range(BARS))


def ranges(out: set[int]) -> tuple[tuple[int, int], ...]:
    return tuple((n, n) for n in sorted(out))


cuts = st.sets(st.integers(0, BARS - 1), max_size=BARS - 1).map(lambda out: Played(WRITTEN, ranges(out)))


@given(cuts, cuts, st.integers(0, BARS))
def test_everything_before_was_on_the_page_or_before_it_and_nothing_behind_is_lost(
    shown: Played, now: Played, next_step: int
) -> None:
    first = first_step_after(shown, next_step, now)
    before = shown.positions()
    read = before[min(next_step, len(before)) - 1] if next_step else -1
    assert all(position <= read for position in now.positions()[:first])
    assert all(position > read for position in now.positions()[first:])


def test_a_cut_and_its_taking_back_lead_to_the_same_bar() -> None:
    whole, cut = Played(WRITTEN), Played(WRITTEN, ((8, 15),))
    assert first_step_after(whole, 6, cut) == 6
    assert first_step_after(whole, 12, cut) == 8
    assert first_step_after(cut, 8, whole) == 8, "what was cut right behind the page comes first"
    assert first_step_after(cut, 9, whole) == 17
    assert first_step_after(cut, 4, whole) == 4


def test_a_bar_that_a_part_does_not_have_keeps_its_place() -> None:
    order = PartOrder((PartStep(1, 0, 1), PartStep(3, 2, 3, join=True)))
    assert [step.bar for step in laying_steps(order, 4)] == [1, NO_BAR, 3, NO_BAR]
    assert laying_steps(PartOrder(()), 4) == ()


def test_a_page_of_one_written_order_goes_on_in_another() -> None:
    """The repeats after the jump are taken again, or no more: on with the next bar's time through that is left."""
    once, again = (
        Played(tuple(Step(f"b{bar}", int(pass_)) for bar, pass_ in (one.split("/") for one in said.split())))
        for said in ("1/1 2/1 1/2 3/1 4/1 1/3 3/2 5/1", "1/1 2/1 1/2 3/1 4/1 1/3 2/2 1/4 3/2 5/1")
    )
    assert [first_step_after(once, n, again) for n in range(9)] == [0, 1, 2, 3, 4, 5, 6, 9, 10]
    assert [first_step_after(again, n, once) for n in range(11)] == [0, 1, 2, 3, 4, 5, 6, 6, 6, 7, 8]
