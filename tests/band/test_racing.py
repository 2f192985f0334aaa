"""Two leaders at once: the last word by the hub's order, and nothing that was not named acts late."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from band.bands import LEADER, MD, Band, small_band
from collaparte.band.decide import decide
from collaparte.band.racing import AT_ONCE
from collaparte.band.roles import Refusal, Who
from collaparte.band.views import position_view
from collaparte.wire import commands as c
from collaparte.wire.events import Called

ALTO, KEYS = ("alto1", frozenset({"leader"})), ("keys", frozenset({"leader", "md"}))


def leader(of: tuple[str, frozenset[str]], now: float) -> Who:
    chair, roles = of
    return Who((chair,), chair, roles, now=now, device=f"{chair}'s")


def raced(second: c.Command, after: float = 0.1, first: c.Command = c.Call("bus")) -> Band | str:  # noqa: B008 - it never changes
    """The band after Alto 1's command and Keys', asked under the same call; or why the second was refused."""
    band = small_band()
    band.do(c.Call("bus"), leader(ALTO, 900.0))
    band.do(first, leader(ALTO, 1000.0), call=1)
    decided = decide(band.state, second, leader(KEYS, 1000.0 + after), 1)
    if isinstance(decided, Refusal):
        return decided.why
    band.do(second, leader(KEYS, 1000.0 + after), call=1)
    return band


def test_the_last_word_by_the_hubs_order_stands_and_says_whom_it_came_after() -> None:
    band = raced(c.Call("ember"))
    assert isinstance(band, Band)
    view = position_view(band.state)
    assert (view.call, view.tune, view.by, view.after, view.after_by) == (3, "ember", "Keys", "Night Bus", "Alto 1")
    # Taken back, the other's stands: it was called, and nobody took it back.
    band.do(c.TakeBackCall(3), leader(KEYS, 1001.0))
    assert (band.state.position.tune, band.state.position.by, band.state.position.returns_to) == ("bus", "alto1", 2)


@pytest.mark.parametrize("chair", ["alto1", ""])
def test_two_who_sign_alike_are_told_apart_by_their_devices(chair: str) -> None:
    chairs, lead = (chair,) if chair else (), frozenset({"leader"})
    one, other = (Who(chairs, chair, lead, now=1000.0 + n, device=device) for n, device in enumerate(("x", "y")))
    band = small_band()
    band.do(c.Call("bus"), one, call=0)
    band.do(c.Call("ember"), other, call=0)
    view = position_view(band.state)
    name = "Alto 1" if chair else "the leader"
    assert (view.tune, view.by, view.after, view.after_by) == ("ember", name, "Night Bus", name)
    assert (view.device, view.after_device) == ("y", "x")
    # The same tablet again, under the same call, is a finger that came down twice.
    assert "came too late" in band.refused(c.Call("bus"), other, call=0)


def test_what_both_called_is_called_once() -> None:
    for second in (c.Call("bus"), c.Call("bus", in_turn=True)):
        band = raced(second)
        assert isinstance(band, Band) and band.state.position.call == 2


def test_a_place_of_the_tune_that_was_on_is_named_too() -> None:
    band = raced(c.From("C"), first=c.From("B"))
    assert isinstance(band, Band)
    view = position_view(band.state)
    assert (view.start, view.by, view.after, view.after_by) == ("b20", "Keys", "Night Bus from B", "Alto 1")
    why = str(raced(c.From("C"), first=c.Call("ember")))
    assert why.startswith('This "from" came too late: "Ember" has been called by Alto 1 since it was asked.')


@pytest.mark.parametrize(
    ("second", "what"), [(c.Call("ember", in_turn=True), "This call"), (c.Next("ember"), "This next")]
)
def test_what_only_comes_next_gives_way_and_says_who_called_what(second: c.Command, what: str) -> None:
    why = str(raced(second))
    assert why.startswith(f'{what} came too late: "Night Bus" has been called by Alto 1 since it was asked.')


def test_taking_back_what_another_came_after_says_who() -> None:
    band = raced(c.Call("ember"))
    assert isinstance(band, Band)
    assert band.refused(c.TakeBackCall(2), leader(ALTO, 1000.2)) == (
        'That call cannot be taken back any more: "Ember" has been called by Keys since.'
    )


def test_later_than_the_houses_limit_it_is_stale() -> None:
    assert isinstance(raced(c.Call("ember"), AT_ONCE - 0.01), Band)
    for after in (AT_ONCE, 60.0, -5.0):
        assert "came too late" in str(raced(c.Call("ember"), after))


def test_ones_own_call_and_one_taken_back_are_not_anothers() -> None:
    band = small_band()
    band.do(c.Call("bus"), LEADER)
    band.do(c.Call("bus"), leader(ALTO, 1000.0))
    assert "came too late" in band.refused(c.Call("ember"), leader(ALTO, 1000.1), call=1)
    band.do(c.TakeBackCall(2), leader(ALTO, 1000.2))
    assert "came too late" in band.refused(c.Call("ember"), leader(KEYS, 1000.3), call=1)
    # Nor one whose time nobody knows, as in a log of before.
    band.do(c.Call("bus"), LEADER)
    assert "came too late" in band.refused(c.Call("ember"), MD_LEADS, call=3)


MD_LEADS = Who(MD.chairs, MD.chair, frozenset({"leader"}), now=1.0, device="keys's")

_ASKED = st.builds(c.Call, st.sampled_from(["bus", "ember"]), st.just(""), st.none(), st.booleans()) | st.sampled_from(
    [c.From("B"), c.From("C"), c.Next("ember"), c.Next(None)]
)
_ASKS = st.lists(
    st.tuples(
        st.sampled_from([ALTO, KEYS, ("alto2", frozenset({"leader"}))]),
        st.one_of(_ASKED, st.builds(c.TakeBackCall, st.integers(0, 8))),
        st.integers(0, 3),
        st.sampled_from([0.0, 0.4, 1.1, 2.5]),
    ),
    max_size=12,
)


@settings(max_examples=300)
@given(_ASKS)
def test_nothing_stale_acts_but_a_named_call_within_two_seconds_of_anothers(
    asks: list[tuple[tuple[str, frozenset[str]], c.Command, int, float]],
) -> None:
    """Each is asked under a call up to three behind, by people who do not hear of each other."""
    band, now = small_band(), 1000.0
    calls: dict[int, tuple[str, float]] = {}
    """Whose each call of the band was, and when it came; what is not in it was a taking back."""
    for who, command, behind, passes in asks:
        now += passes
        here = band.state.position
        under = max(0, here.call - behind)
        decided = decide(band.state, command, leader(who, now), under)
        if isinstance(decided, Refusal):
            continue
        since = range(under + 1, here.call + 1)
        if since and not isinstance(command, c.TakeBackCall):
            others = [calls.get(number, (who[0], 0.0)) for number in since]
            assert all(by != who[0] for by, _ in others) and now - others[0][1] < AT_ONCE
            assert isinstance(command, c.From) or (isinstance(command, c.Call) and (not decided or not command.in_turn))
        band.do(command, leader(who, now), call=under)
        after = band.state.position
        if called := [event for event in decided if isinstance(event, Called)]:
            calls[after.call] = (who[0], now)
            assert (after.by, after.call) == (who[0], here.call + 1), "the last word stands"
            assert called[0].came_after == bool(since)
            view = position_view(band.state)
            assert bool(view.after) == bool(since) and (not since or view.after_by)


@given(st.permutations([ALTO, KEYS, ("alto2", frozenset({"leader"}))]), st.sampled_from([0.0, 0.5]))
def test_whoever_comes_last_stands_whatever_the_order(order: list[tuple[str, frozenset[str]]], passes: float) -> None:
    band = small_band()
    band.do(c.AddTune("waltz", "Waltz"))
    wants = {"alto1": "bus", "keys": "ember", "alto2": "waltz"}
    for n, one in enumerate(order):
        band.do(c.Call(wants[one[0]]), leader(one, 1000.0 + n * passes), call=0)
    assert band.state.position.tune == wants[order[-1][0]] and band.state.position.by == order[-1][0]
