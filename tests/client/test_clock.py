"""Words for a moment are not shown when they come more than two seconds late."""

from collaparte_client.clock import HubClock


def test_late_by_the_quickest_message_so_far() -> None:
    clock = HubClock()
    clock.hear(5.0, 100.0)
    clock.hear(7.02, 102.04)
    assert not clock.too_late(14.5, 110.0), "half a second on the way"
    assert clock.too_late(12.9, 110.0), "two seconds and more"
    assert not clock.too_late(0.0, 110.0), "these may come at any time"
    clock.forget()
    assert not clock.too_late(1.0, 110.0), "another hub has another clock"
