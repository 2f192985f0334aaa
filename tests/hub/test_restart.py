"""A hub that is killed at any moment, and one that is stopped: started again, all is there and everyone comes back."""

import asyncio
import signal
from pathlib import Path

import pytest
from websockets.asyncio.client import connect

from collaparte.store.settings import Settings
from collaparte.wire.commands import Call, MakeCut, MakeMarking
from collaparte.wire.markings import Ink, Marking, Point
from collaparte.wire.messages import PROTOCOL, Do, Done, Hello
from collaparte.wire.views import StatusView
from collaparte_client import Band, join
from hub.bands import HANGS, Raw, make_band, small_band
from hub.processes import hub_process, start


def stroke(id: str) -> Marking:
    return Marking(id, "moth", "alto-1", "section", Ink((Point("b3", 0.5, 0, 1.0),)))


async def until_seq(band: Band, seq: int) -> None:
    async for view in band:
        if isinstance(view, StatusView) and view.seq >= seq:
            return


async def test_killed_at_any_moment_it_has_what_it_acknowledged(tmp_path: Path) -> None:
    folder = tmp_path / "band"
    settings = await make_band(folder, small_band())
    where, code = f"127.0.0.1:{settings.ports.http}", settings.codes.join
    async with asyncio.timeout(2 * HANGS):
        process = await start(folder, settings)
        codes = [settings.codes.leader, settings.codes.md]
        async with (
            join(where, code, chairs=["alto-1"], codes=codes) as leader,
            join(where, code, chairs=["tpt-1"]) as player,
        ):
            await leader.do(Call("moth", "B"))
            await leader.do(MakeCut("cut-1", "moth", "C", "D"))
            position, tune = leader.position, leader.tunes["moth"]
            acknowledged: set[str] = set()
            told: asyncio.Queue[str] = asyncio.Queue()

            async def mark() -> None:
                for n in range(100_000):
                    await leader.do(MakeMarking(stroke(f"m{n}")), chair="alto-1")
                    acknowledged.add(f"m{n}")
                    told.put_nowait(f"m{n}")

            marking = asyncio.create_task(mark())
            for _ in range(20):
                await told.get()
            process.send_signal(signal.SIGKILL)
            await process.wait()
            had = leader.seq
            async with hub_process(folder, settings):
                # The marking that was on its way is sent again by the client, which comes back by itself.
                for _ in range(told.qsize() + 5):
                    await told.get()
                marking.cancel()
                await asyncio.gather(until_seq(leader, had + 1), until_seq(player, had + 1))
                assert (leader.position, player.position) == (position, position)
                assert leader.tunes["moth"] == tune
                async with join(where, code, chairs=["alto-1"]) as late:
                    assert acknowledged <= set(late.markings)
                    assert len(late.markings) <= len(acknowledged) + 1
                    assert late.position == position


async def test_a_command_acknowledged_before_the_kill_is_not_done_twice(tmp_path: Path) -> None:
    folder = tmp_path / "band"
    settings = await make_band(folder, small_band())
    ask = Do("one", Call("moth"), call=0)
    answers = []
    for _ in range(2):
        process = await start(folder, settings)
        answers.append(await said(settings, ask))
        process.send_signal(signal.SIGKILL)
        await process.wait()
    assert answers[0] == answers[1]
    assert isinstance(answers[0], Done)


async def said(settings: Settings, ask: Do) -> object:
    async with connect(f"ws://127.0.0.1:{settings.ports.socket}", proxy=None) as connection:
        client = Raw(connection)
        await client.say(Hello(PROTOCOL, "raw", settings.codes.join, codes=(settings.codes.leader,)))
        await client.until(StatusView)
        await client.say(ask)
        return await client.until(Done)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
async def test_a_signal_stops_it_cleanly(tmp_path: Path, number: signal.Signals) -> None:
    folder = tmp_path / "band"
    settings = await make_band(folder, small_band())
    process = await start(folder, settings)
    async with join(f"127.0.0.1:{settings.ports.http}", settings.codes.join):
        process.send_signal(number)
        async with asyncio.timeout(HANGS):
            assert await process.wait() == 0
