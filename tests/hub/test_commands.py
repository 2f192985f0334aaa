"""Commands over real sockets: decided once, told to all, refused in words, the same when sent again."""

import asyncio
import sqlite3
from pathlib import Path

import msgspec
import pytest

from collaparte.hub.serving import serve
from collaparte.wire.chart import ChartRepeat, ChartSign
from collaparte.wire.commands import (
    Call,
    From,
    MakeCut,
    MakeMarking,
    MintRuler,
    Next,
    TakeBackCall,
    TakeBackEdit,
    TakeRepeats,
)
from collaparte.wire.markings import Ink, Marking, Point
from collaparte.wire.messages import Do, Done
from collaparte.wire.messages import Refused as RefusedMessage
from collaparte.wire.views import MarkingsView, PositionView, Slip, StatusView, TuneView
from collaparte_client import Band, Refused
from hub.bands import BARS, HANGS, WAITS, hello, joined, raw, served, small_band


async def seen(band: Band, seq: int) -> None:
    """Wait until a band is complete up to this sequence."""
    async with asyncio.timeout(HANGS):
        async for view in band:
            if isinstance(view, StatusView) and view.seq >= seq:
                return


def stroke(id: str, chair: str, layer: str) -> Marking:
    return Marking(id, "moth", chair, layer, Ink((Point("b3", 0.5, 0, 1.0), Point("b3", 0.6, 0, 1.0))))  # type: ignore[arg-type]


async def test_next_names_and_call_moves(tmp_path: Path) -> None:
    async with (
        served(tmp_path / "band") as hub,
        joined(hub, "alto-1", roles=["leader"]) as leader,
        joined(hub, "tpt-1") as player,
    ):
        done = await leader.do(Next("slow"))
        await seen(player, done.seq)
        assert (player.position.next, player.position.tune, player.position.call) == ("slow", None, 0)
        done = await leader.do(Call("slow"))
        await seen(player, done.seq)
        assert (player.position.next, player.position.tune, player.position.call) == (None, "slow", 1)
        done = await leader.do(From("4 before C"))
        await seen(player, done.seq)
        assert (player.position.start, player.position.call) == ("b13", 2)


async def test_a_late_one_gets_the_same(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, "alto-1", roles=["leader"]) as leader:
        await leader.do(Call("slow", "C"))
        async with joined(hub, "tpt-1") as late:
            assert late.position == leader.position


async def test_a_call_taken_back(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, "alto-1", roles=["leader"]) as leader:
        await leader.do(Call("moth"))
        done = await leader.do(Call("slow"))
        await seen(leader, done.seq)
        done = await leader.do(TakeBackCall(leader.position.call))
        await seen(leader, done.seq)
        assert (leader.position.tune, leader.position.returns_to) == ("moth", 1)


async def test_a_cut_and_back(tmp_path: Path) -> None:
    async with (
        served(tmp_path / "band") as hub,
        joined(hub, "alto-1", roles=["leader", "md"]) as md,
        raw(hub) as player,
    ):
        await player.say(hello(hub, "tpt-1"))
        await player.until(StatusView)
        await md.do(Call("moth"))
        done = await md.do(MakeCut("cut-1", "moth", "C", "D"))
        assert (await player.until(TuneView)).cut == ((16, 23),)
        assert (await player.until(Slip)).words == "Cut C to D"
        await player.until(StatusView)
        await md.do(TakeBackEdit("cut-1"))
        tune = await player.until(TuneView)
        assert (tune.cut, tune.revision) == ((), 2)
        assert done.seq < hub.writer.state.seq


async def test_repeats_after_the_jump_are_every_stands_and_stay(tmp_path: Path) -> None:
    # Two halves, each repeated, D.C. al Fine; after the D.C. repeats are taken only where that is said (docs/form).
    signs = (ChartSign("fine", "b16", "end"), ChartSign("dc-al-fine", "b32", "end"))
    chart = msgspec.structs.replace(BARS, repeats=(ChartRepeat("end", "b16"),), signs=signs)
    commands = [MintRuler(one.tune, chart) if isinstance(one, MintRuler) else one for one in small_band()]
    path = tmp_path / "band"
    async with (
        served(path, commands) as hub,
        joined(hub, "alto-1", roles=["md"]) as md,
        joined(hub, "tpt-1") as player,
    ):
        assert (player.tunes["moth"].repeats_after_jump, len(player.tunes["moth"].written)) == (False, 64)
        with pytest.raises(Refused, match="Only the MD or the librarian"):
            await player.do(TakeRepeats("moth", True))
        done = await md.do(TakeRepeats("moth", True))
        await seen(player, done.seq)
        tune = player.tunes["moth"]
        assert (tune.repeats_after_jump, len(tune.written), tune.revision) == (True, 80, 1)
        assert len(player.tunes["slow"].written) == 64
        looked = await md.look_back()
        assert looked.rows[0].words == "Repeats after the D.C.: taken again"
    async with (
        serve(path, announced=False, patience=WAITS, workers=1) as hub,
        joined(hub, "alto-1", roles=["md"]) as md,
    ):
        assert len(md.tunes["moth"].written) == 80
        done = await md.do(TakeRepeats("moth", False))
        await seen(md, done.seq)
        assert (md.tunes["moth"].repeats_after_jump, len(md.tunes["moth"].written)) == (False, 64)


async def test_those_without_the_role_are_refused_in_words(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, "tpt-1") as player:
        before = hub.writer.state
        for command, words in ((Call("moth"), "Only the leader"), (MakeCut("x", "moth", "C", "D"), "Only the MD")):
            with pytest.raises(Refused, match=words):
                await player.do(command)
        assert hub.writer.state is before


async def test_a_stale_call_does_nothing(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, "alto-1", roles=["leader"]) as leader, raw(hub) as other:
        await other.say(hello(hub, "tpt-1", roles=["leader"]))
        await other.until(StatusView)
        await leader.do(Call("moth"))
        await other.say(Do("0", Call("slow"), call=1))
        await other.until(Done)
        before = hub.writer.state
        for id, command in (("1", Call("slow")), ("2", Next("rain"))):
            await other.say(Do(id, command, call=1))
            assert "too late" in (await other.until(RefusedMessage)).why
        assert hub.writer.state is before


async def test_a_command_sent_again_gets_its_first_answer(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as leader:
        await leader.say(hello(hub, "alto-1", roles=["leader"]))
        await leader.until(StatusView)
        for _ in range(3):
            await leader.say(Do("one", Call("moth"), call=0))
        answers = [await leader.until(Done) for _ in range(3)]
        assert len(set(map(str, answers))) == 1
        assert hub.writer.state.position.call == 1


async def test_commands_of_one_tick_see_each_other(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as one, raw(hub) as two:
        for client in (one, two):
            await client.say(hello(hub, "alto-1", roles=["leader"], client=str(id(client))))
            await client.until(StatusView)
        calls = ((one, "moth"), (two, "slow"))
        await asyncio.gather(*(client.say(Do("a", Call(tune), call=0)) for client, tune in calls))
        for client in (one, two):
            await client.until(Done)
        # Two devices, so the later has the last word: it knows of the call that was made in the same tick.
        assert (hub.writer.state.position.call, hub.writer.state.position.came_after) == (2, True)


async def test_a_sections_marking_goes_to_the_section_only(tmp_path: Path) -> None:
    async with (
        served(tmp_path / "band") as hub,
        joined(hub, "alto-1") as alto,
        joined(hub, "alto-2") as second,
        joined(hub, "tpt-1") as trumpet,
    ):
        await alto.do(MakeMarking(stroke("m-mine", "alto-1", "mine")), chair="alto-1")
        done = await alto.do(MakeMarking(stroke("m-section", "alto-1", "section")), chair="alto-1")
        await asyncio.gather(*(seen(band, done.seq) for band in (alto, second, trumpet)))
        assert set(alto.markings) == {"m-mine", "m-section"}
        assert set(second.markings) == {"m-section"}
        assert set(trumpet.markings) == set()


async def test_markings_since_the_last_sequence_only(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, "alto-1") as alto, raw(hub) as back:
        first = await alto.do(MakeMarking(stroke("m1", "alto-1", "mine")), chair="alto-1")
        await alto.do(MakeMarking(stroke("m2", "alto-1", "mine")), chair="alto-1")
        await back.say(hello(hub, "alto-1", epoch="epoch-1", seq=first.seq))
        view = await back.until(MarkingsView)
        assert ([marking.id for marking in view.made], view.whole) == (["m2"], False)
        await back.say(hello(hub, "alto-1", epoch="another", seq=first.seq))
        view = await back.until(MarkingsView)
        assert ([marking.id for marking in view.made], view.whole) == (["m1", "m2"], True)


async def test_many_markings_come_in_messages_of_a_bounded_size(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as player:
        await player.say(hello(hub, "alto-1"))
        await player.until(StatusView)
        points = tuple(Point("b3", n / 900, 0, 1.0) for n in range(900))
        for n in range(12):
            marking = Marking(f"m{n}", "moth", "alto-1", "mine", Ink(points))
            await player.say(Do(str(n), MakeMarking(marking), chair="alto-1"))
            await player.until(Done)
        await player.say(hello(hub, "alto-1"))
        views = [await player.until(MarkingsView)]
        while len([marking for view in views for marking in view.made]) < 12:
            views.append(await player.until(MarkingsView))
        assert len(views) > 1
        assert [view.whole for view in views] == [True] + [False] * (len(views) - 1)


async def test_presence_is_told_to_those_who_lead(tmp_path: Path) -> None:
    async with (
        served(tmp_path / "band") as hub,
        joined(hub, "alto-1", roles=["leader"], client="lead") as leader,
    ):
        async with joined(hub, "tpt-1", client="tpt") as player:
            async with asyncio.timeout(HANGS):
                async for _ in leader:
                    if {stand.client: stand.here for stand in leader.presence.stands} == {"lead": True, "tpt": True}:
                        break
            assert player.presence.stands == ()
        async with asyncio.timeout(HANGS):
            async for _ in leader:
                if {stand.client: stand.here for stand in leader.presence.stands} == {"lead": True, "tpt": False}:
                    break


async def test_position_is_last_before_status(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, raw(hub) as player:
        await player.say(hello(hub))
        assert isinstance(await player.until(PositionView), PositionView)
        assert isinstance(await player.hear(), StatusView)


async def test_a_log_that_cannot_be_written_refuses_in_words_and_changes_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "band"
    async with served(folder) as hub, raw(hub) as leader:
        await leader.say(hello(hub, "alto-1", roles=["leader"]))
        await leader.until(StatusView)
        before = hub.writer.state
        # Another program holds the log's write lock; SQLite waits five seconds for it.
        other = await asyncio.to_thread(sqlite3.connect, folder / "log.sqlite", check_same_thread=False)
        await asyncio.to_thread(other.execute, "BEGIN IMMEDIATE")
        await leader.say(Do("1", Call("moth"), call=0))
        refused = await leader.until(RefusedMessage)
        assert "Another program holds the band's log" in refused.why
        assert hub.writer.state is before
        await asyncio.to_thread(other.close)
        await leader.say(Do("2", Call("moth"), call=0))
        await leader.until(Done)
        assert hub.writer.state.position.call == 1


async def test_one_client_with_two_stands_is_there_until_both_are_gone(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, roles=["leader"], client="lead") as leader:

        async def until_stands(count: int) -> None:
            async with asyncio.timeout(HANGS):
                async for _ in leader:
                    chairs = {chair.id: chair.stands for section in leader.band.sections for chair in section.chairs}
                    if chairs["tpt-1"] == count:
                        return

        async with joined(hub, "tpt-1", client="tpt"):
            await until_stands(1)
            async with joined(hub, "tpt-1", client="tpt"), joined(hub, "tpt-1", client="other"):
                await until_stands(2)
            await until_stands(1)
        await until_stands(0)
