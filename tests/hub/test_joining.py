"""Coming in over a real socket: who is let in, who is not and why, and what everyone is shown."""

import socket
from pathlib import Path

import pytest
from websockets.exceptions import InvalidStatus

from collaparte.wire.commands import Next
from collaparte.wire.messages import (
    CLOSE_UNKNOWN_CHAIR,
    CLOSE_WRONG_CODE,
    CLOSE_WRONG_MESSAGE,
    CLOSE_WRONG_PROTOCOL,
    MAX_MESSAGE,
    Do,
    Ping,
    Pong,
    Refused,
    Sorry,
    Welcome,
)
from collaparte.wire.views import (
    BandView,
    DateView,
    MarkingsView,
    PositionView,
    RolesView,
    SetView,
    StatusView,
    TuneView,
)
from hub.bands import hello, raw, served


async def test_everything_is_shown_on_joining(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as client:
        await client.say(hello(hub, "alto-1"))
        welcome = await client.hear()
        assert isinstance(welcome, Welcome)
        views = []
        while not isinstance(view := await client.hear(), StatusView):
            views.append(view)
        kinds = [type(view) for view in views]
        tunes = [TuneView, TuneView, TuneView]
        assert kinds == [BandView, SetView, DateView, RolesView, *tunes, MarkingsView, PositionView]
        assert view.seq == welcome.seq == hub.writer.state.seq


@pytest.mark.parametrize(
    ("more", "code", "words"),
    [
        ({"code": "wrong"}, CLOSE_WRONG_CODE, "'wrong' is not this band's join code"),
        ({"code": ""}, CLOSE_WRONG_CODE, "empty code"),
        ({"proto": 99}, CLOSE_WRONG_PROTOCOL, "newer than the hub"),
        ({"chairs": ("kazoo",)}, CLOSE_UNKNOWN_CHAIR, "no chair 'kazoo'"),
        ({"client": ""}, CLOSE_WRONG_MESSAGE, "client's own id"),
        ({"page": (1e9, 10.0)}, CLOSE_WRONG_MESSAGE, "page measures"),
        ({"stave": 0.0}, CLOSE_WRONG_MESSAGE, "stave is"),
    ],
)
async def test_who_is_not_let_in_is_told_why(tmp_path: Path, more: dict[str, object], code: int, words: str) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as client:
        await client.say(hello(hub, **more))
        sorry = await client.hear()
        assert isinstance(sorry, Sorry)
        assert words in sorry.why
        assert sorry.why.endswith(".") and "\n" not in sorry.why
        assert await client.closed() == code


@pytest.mark.parametrize(
    "said",
    ["", "{", "[]", '{"type": "hello"}', '{"type": "dance"}', '{"type": "ping", "n": "one"}', b"\x00\xff", "[" * 9000],
)
async def test_what_is_no_hello_is_told_so(tmp_path: Path, said: str | bytes) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as client:
        await client.say(said)
        assert isinstance(await client.hear(), Sorry)
        assert await client.closed() == CLOSE_WRONG_MESSAGE


async def test_a_message_must_begin_with_hello(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as client:
        await client.say(Ping(1))
        assert isinstance(await client.hear(), Sorry)
        assert await client.closed() == CLOSE_WRONG_MESSAGE


async def test_a_wrong_message_changes_nothing_and_costs_no_seat(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as client:
        before = hub.writer.state
        await client.say(hello(hub, "alto-1", roles=["leader"]))
        await client.until(StatusView)
        await client.say('{"type": "dance"}')
        assert "does not fit the protocol" in (await client.until(Sorry)).why
        await client.say('{"type": "do", "id": "7", "command": {"type": "call", "tune": 3}}')
        refused = await client.until(Refused)
        assert refused.id == "7"
        assert "does not fit the protocol" in refused.why
        await client.say(Ping(5))
        assert await client.until(Pong) == Pong(5)
        assert hub.writer.state is before


async def test_a_message_that_is_too_long_closes_with_1009(tmp_path: Path) -> None:
    # RFC 6455, section 7.4.1: 1009, a message too big to process.
    async with served(tmp_path / "band") as hub, raw(hub) as client:
        await client.say(hello(hub))
        await client.say("x" * (MAX_MESSAGE + 1))
        assert await client.closed() == 1009


async def test_a_wrong_role_code_is_told_and_the_player_stays_in(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as client:
        await client.say(hello(hub, "alto-1", codes=("nonsense", hub.codes.md)))
        assert (await client.until(Welcome)).roles == ("md",)
        # Before the status, by which a client takes it that it has been told all: a verb would go on without the role.
        while not isinstance(told := await client.hear(), StatusView | Sorry):
            pass
        assert isinstance(told, Sorry) and "'nonsense' gives no role" in told.why
        await client.say(Ping(1))
        await client.until(Pong)


async def test_guessing_is_slowed_and_even_the_right_code_waits(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        for guess in range(10):
            async with raw(hub) as client:
                await client.say(hello(hub, code=f"guess{guess}"))
                assert "join code" in (await client.until(Sorry)).why
        async with raw(hub) as client:
            await client.say(hello(hub))
            assert "Too many wrong codes" in (await client.until(Sorry)).why


@pytest.mark.parametrize("origin", ["http://good.evil", "null", "http://localhost:1"])
async def test_a_foreign_page_gets_no_socket(tmp_path: Path, origin: str) -> None:
    # OWASP WebSocket Security Cheat Sheet: check Origin on every handshake against an explicit list; refuse with 403.
    async with served(tmp_path / "band") as hub:
        with pytest.raises(InvalidStatus) as refused:
            async with raw(hub, origin=origin):
                pass
        assert refused.value.response.status_code == 403


async def test_the_hubs_own_pages_get_one(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, raw(hub, origin=f"http://localhost:{hub.addresses.port}") as client:
        await client.say(hello(hub))
        assert isinstance(await client.hear(), Welcome)


async def test_another_chair_on_the_same_socket(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as client:
        await client.say(hello(hub))
        await client.until(StatusView)
        await client.say(hello(hub, "alto-2"))
        await client.until(Welcome)
        await client.until(StatusView)
        assert hub.writer.state.chairs["alto-2"].name == "Alto 2"


async def test_one_cannot_speak_for_a_chair_of_others(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as client:
        await client.say(hello(hub, "alto-1", roles=["leader"]))
        await client.say(Do("1", Next("moth"), call=0, chair="tpt-1"))
        assert "do not sit at Trumpet 1" in (await client.until(Refused)).why


async def test_small_messages_leave_at_once(tmp_path: Path) -> None:
    # Nagle's algorithm (RFC 896) with delayed acknowledgements (RFC 1122, 4.2.3.2) holds a call back for some 40 ms.
    async with served(tmp_path / "band") as hub, raw(hub) as client:
        await client.say(hello(hub, "alto-1"))
        await client.until(StatusView)
        (stand,) = hub.room._stands
        accepted = stand._connection.transport.get_extra_info("socket")
        assert accepted.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
