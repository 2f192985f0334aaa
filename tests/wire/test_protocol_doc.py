"""docs/reference/protocol.md speaks of everything in `wire`."""

import re
from pathlib import Path
from typing import Any, get_args

import msgspec
import pytest
from websockets.frames import Close

from collaparte.wire import commands, events, messages, service, views

PAGE = (Path(__file__).parents[2] / "docs" / "reference" / "protocol.md").read_text(encoding="utf-8")
UNIONS = (messages.FromClient, messages.FromHub, commands.Command, events.Event, views.View)
TYPES = sorted({kind for union in UNIONS for kind in get_args(union)}, key=lambda kind: kind.__name__)


@pytest.mark.parametrize("kind", TYPES)
def test_every_message_has_a_heading_and_every_field_a_row(kind: Any) -> None:
    tag = kind.__struct_config__.tag
    sections = re.findall(rf"^### `{tag}`\n(.*?)(?=^##|\Z)", PAGE, re.MULTILINE | re.DOTALL)
    fields = [field.encode_name for field in msgspec.structs.fields(kind) if field.encode_name != "v"]
    # A command and a message may share a tag, as their places never do; one of the sections is this one's.
    assert any(all(f"| `{field}` |" in section for field in fields) for section in sections), f"{tag} is not described"


def test_every_close_code_is_explained() -> None:
    codes = [value for name, value in vars(messages).items() if name.startswith("CLOSE_")]
    assert all(f"| {code} |" in PAGE for code in codes)


def test_close_codes_are_private_ones_and_may_be_sent() -> None:
    # RFC 6455, section 7.4.2: 4000-4999 are for private use; the websockets library checks what may be sent.
    for name, code in vars(messages).items():
        if name.startswith("CLOSE_"):
            assert 4000 <= code <= 4999
            Close(code, "").check()


def test_what_is_announced_is_explained() -> None:
    assert service.SERVICE in PAGE
    for key in (service.TXT_VERSION, service.TXT_BAND, service.TXT_SOCKET, service.TXT_EPOCH):
        assert f"`{key}`" in PAGE
