"""Bytes to messages and back: the shared vectors, strange input, and events of other releases."""

import json
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.wire import codec, commands, events, messages, views
from collaparte.wire.codec import WireError, decode_event, decode_from_client, decode_from_hub, encode

VECTORS = json.loads((Path(__file__).parent.parent / "vectors" / "messages.json").read_text(encoding="utf-8"))


def tags(union: Any) -> set[str]:
    return {kind.__struct_config__.tag for kind in get_args(union)}


@pytest.mark.parametrize("message", VECTORS["from_client"], ids=lambda m: m.get("command", m)["type"])
def test_a_clients_message_is_the_same_again(message: dict[str, Any]) -> None:
    assert json.loads(encode(decode_from_client(json.dumps(message)))) == message


@pytest.mark.parametrize("message", VECTORS["from_hub"], ids=lambda m: m["type"])
def test_a_hubs_message_is_the_same_again(message: dict[str, Any]) -> None:
    assert json.loads(encode(decode_from_hub(json.dumps(message)))) == message


@pytest.mark.parametrize("event", VECTORS["events"], ids=lambda e: e["type"])
def test_an_event_is_the_same_again(event: dict[str, Any]) -> None:
    assert json.loads(encode(decode_event(json.dumps(event)))) == event


def test_the_vectors_have_one_of_every_kind() -> None:
    assert {message["type"] for message in VECTORS["from_client"]} == tags(messages.FromClient)
    assert {message["command"]["type"] for message in VECTORS["from_client"] if message["type"] == "do"} == tags(
        commands.Command
    )
    assert {message["type"] for message in VECTORS["from_hub"]} == tags(messages.FromHub)
    assert tags(views.View) <= tags(messages.FromHub)
    assert {type(decode_event(json.dumps(event))) for event in VECTORS["events"]} == set(get_args(events.Event))


@pytest.mark.parametrize("message", VECTORS["not_from_client"], ids=json.dumps)
def test_what_does_not_fit_is_refused_in_a_sentence(message: object) -> None:
    with pytest.raises(WireError, match=r"^This message does not fit the protocol: .*\.$"):
        decode_from_client(json.dumps(message))


def test_a_field_that_a_later_release_added_is_passed_over() -> None:
    assert decode_from_client(b'{"type":"ping","n":1,"mood":"calm"}') == messages.Ping(1)


@pytest.mark.parametrize("data", [b"", b"{", b"\xff\xfe", b"[" * 100_000, b'{"type":"ping","n":1e999}', "\ud800"])
def test_damaged_messages_and_events(data: bytes | str) -> None:
    for decode in (decode_from_client, decode_from_hub, decode_event):
        with pytest.raises(WireError):
            decode(data)


_KEYS = st.sampled_from(["type", "v", "id", "command", "n", "chair"])
_JSON: st.SearchStrategy[object] = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text() | st.sampled_from(["ping", "called"]),
    lambda inner: st.lists(inner) | st.dictionaries(_KEYS, inner),
)


@given(_JSON)
def test_any_json_is_a_message_or_a_sentence(value: object) -> None:
    data = json.dumps(value).encode()
    for decode in (decode_from_client, decode_from_hub, decode_event):
        try:
            decode(data)
        except WireError as error:
            assert str(error).endswith(".")


@pytest.mark.parametrize(
    "raw",
    [
        '{"type":"tempo-said","v":1,"bpm":{"exact":119.50}}',
        '{"type":"called","v":2,"where":["bus"]}',
        '{"v":1,"name":"without a type"}',
        '{"type":"unknown","v":1,"raw":"twice"}',
    ],
)
def test_an_event_of_another_release_is_kept_to_the_letter(raw: str) -> None:
    event = decode_event(raw)
    assert event == events.Unknown(raw=raw)
    assert encode(event) == raw.encode()
    assert decode_event(encode(event)) == event


def test_an_event_without_its_fields_is_damage_and_not_another_release() -> None:
    with pytest.raises(WireError, match="event of the log is damaged"):
        decode_event('{"type":"called","v":1,"call":3}')


def test_every_event_says_its_version() -> None:
    assert all("v" in kind.__struct_fields__ for kind in get_args(events.Event))
    assert {version for _, version in codec._KNOWN} == {1}
