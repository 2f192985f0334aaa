"""What a message replaces on its way, and close codes."""

from typing import get_args

from websockets.frames import Close

from collaparte.wire import messages, views
from collaparte.wire.messages import key_of


def test_views_replace_older_ones_of_their_kind_and_answers_replace_nothing() -> None:
    assert key_of(views.StatusView(1)) == key_of(views.StatusView(2)) is not None
    one, other = (views.TuneView(tune, "T", 0, (), (), ()) for tune in ("a", "b"))
    assert key_of(one) != key_of(other)
    page, tail = (views.PartView("a", "alto", 0, "T", "p", first_step=step) for step in (0, 7))
    assert key_of(page) != key_of(tail)
    assert key_of(page) != key_of(views.PartView("a", "alto", 0, "T", "p", stave=8.0))
    for message in (
        messages.Done("1", 1),
        messages.Refused("1", "No."),
        views.Slip("a", "Cut"),
        views.MarkingsView(1, ()),
    ):
        assert key_of(message) is None


def test_close_codes_are_private_ones() -> None:
    """RFC 6455, section 7.4.2: 4000-4999; checked by the websockets library."""
    codes = [value for name, value in vars(messages).items() if name.startswith("CLOSE_")]
    assert len(set(codes)) == len(codes) >= 4
    for code in codes:
        Close(code, "").check()
        assert 4000 <= code <= 4999


def test_no_two_kinds_of_message_share_a_type() -> None:
    for union in (messages.FromClient, messages.FromHub):
        kinds = [kind.__struct_config__.tag for kind in get_args(union)]
        assert len(set(kinds)) == len(kinds)
