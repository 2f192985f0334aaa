"""Bytes to messages and events, and back. Whatever does not fit the types raises `WireError` with one sentence."""

from typing import Any

import msgspec

from collaparte.wire import events
from collaparte.wire.events import Event, Unknown
from collaparte.wire.messages import FromClient, FromHub


class WireError(ValueError):
    """A message that does not fit the protocol, in one sentence."""


_from_client: msgspec.json.Decoder[FromClient] = msgspec.json.Decoder(FromClient)
_from_hub: msgspec.json.Decoder[FromHub] = msgspec.json.Decoder(FromHub)
_event: msgspec.json.Decoder[Event] = msgspec.json.Decoder(Event)
_head: msgspec.json.Decoder[dict[str, Any]] = msgspec.json.Decoder(dict[str, Any])
_encoder = msgspec.json.Encoder()

_KNOWN = {(event.__struct_config__.tag, 1) for event in Event.__args__ if event is not events.Unknown}


def encode(message: FromClient | FromHub | Event) -> bytes:
    """One message or event as JSON."""
    if isinstance(message, Unknown):
        return message.raw.encode()
    return _encoder.encode(message)


def decode_from_client(data: str | bytes) -> FromClient:
    """A client's message."""
    try:
        return _from_client.decode(data)
    except (msgspec.DecodeError, UnicodeError, RecursionError) as error:
        raise WireError(f"This message does not fit the protocol: {error}.") from error


def decode_from_hub(data: str | bytes) -> FromHub:
    """The hub's message."""
    try:
        return _from_hub.decode(data)
    except (msgspec.DecodeError, UnicodeError, RecursionError) as error:
        raise WireError(f"This message does not fit the protocol: {error}.") from error


def decode_event(data: str | bytes) -> Event:
    """An event of the log; one of a type or version unknown here comes back as `Unknown`, whole."""
    try:
        head = _head.decode(data)
        kind, version = head.get("type"), head.get("v", 1)
        if not isinstance(kind, str) or not isinstance(version, int) or (kind, version) not in _KNOWN:
            return Unknown(raw=data if isinstance(data, str) else data.decode())
        return _event.decode(data)
    except (msgspec.DecodeError, UnicodeError, RecursionError) as error:
        raise WireError(f"This event of the log is damaged: {error}.") from error
