"""What waits for one client: in order, bounded, the newest of each kind."""

from hypothesis import given
from hypothesis import strategies as st

from collaparte.hub.outbox import Outbox

messages = st.lists(st.tuples(st.binary(max_size=20), st.none() | st.sampled_from("abc")), max_size=60)


@given(messages)
def test_the_newest_of_each_key_is_kept_in_the_order_of_its_coming(puts: list[tuple[bytes, str | None]]) -> None:
    outbox = Outbox(1000, 100_000)
    for message, key in puts:
        assert outbox.put(message, key)
    last = {key: place for place, (_, key) in enumerate(puts) if key is not None}
    expected = [message for place, (message, key) in enumerate(puts) if key is None or last[key] == place]
    assert [outbox.take() for _ in range(len(outbox))] == expected


@given(messages, st.integers(1, 10), st.integers(1, 100))
def test_never_more_than_it_may_hold(puts: list[tuple[bytes, str | None]], most: int, most_bytes: int) -> None:
    outbox = Outbox(most, most_bytes)
    for message, key in puts:
        outbox.put(message, key)
        assert len(outbox) <= most
    assert sum(len(outbox.take()) for _ in range(len(outbox))) <= most_bytes


def test_one_that_does_not_fit_is_said() -> None:
    outbox = Outbox(2, 10)
    assert outbox.put(b"12345")
    assert not outbox.put(b"123456")
    assert outbox.put(b"12345")
    assert not outbox.put(b"")


def test_a_question_goes_first() -> None:
    outbox = Outbox(10, 100)
    outbox.put(b"view", "view")
    outbox.put(b"ping", "ping", first=True)
    assert outbox.take() == b"ping"
