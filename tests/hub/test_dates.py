"""Dates, the set, the lead and history over real sockets: told to all, at once, and durable."""

import asyncio
import re
from pathlib import Path

import pytest

from collaparte.hub.serving import serve
from collaparte.wire.commands import (
    Call,
    CloseDate,
    GiveRole,
    KeepEdit,
    MakeCut,
    Next,
    OpenDate,
    SetTheSet,
    TakeBackCall,
    TakeOver,
    TakeRole,
)
from collaparte.wire.messages import Do, LookBack
from collaparte.wire.messages import Refused as RefusedMessage
from collaparte.wire.setlist import SetItem
from collaparte.wire.views import DateView, HistoryView, PositionView, RolesView, StatusView
from collaparte_client import Refused
from hub.bands import HANGS, WAITS, hello, joined, make_band, raw, served, small_band
from hub.test_commands import seen

TUESDAY = OpenDate("d1", "Tuesday", "rehearsal", "2026-11-24")


async def test_a_date_opened_and_closed_is_told_to_all(tmp_path: Path) -> None:
    async with (
        served(tmp_path / "band") as hub,
        joined(hub, "alto-1", roles=["leader", "md"]) as leader,
        joined(hub, "tpt-1") as player,
    ):
        done = await leader.do(TUESDAY)
        await seen(player, done.seq)
        assert player.date == DateView("d1", "Tuesday", "rehearsal", "2026-11-24")
        await leader.do(Call("moth"))
        await leader.do(MakeCut("tonight", "moth", "C", "D"))
        done = await leader.do(MakeCut("always", "moth", "A", "bar 3"))
        await seen(leader, done.seq)
        await leader.do(KeepEdit("always", True))
        done = await leader.do(CloseDate("d1"))
        await seen(player, done.seq)
        assert (player.date.date, player.position.tune) == ("", None)
        assert [(edit.words, edit.kept) for edit in player.tunes["moth"].edits] == [("Cut A to bar 3", True)]
        assert player.tunes["moth"].cut == ((0, 1),)


async def test_a_stand_that_comes_later_is_told_the_date_the_set_and_its_roles(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, "alto-1", roles=["leader"]) as leader:
        await leader.do(TUESDAY)
        await leader.do(SetTheSet((SetItem("rain", then="segue", key="Eb"), SetItem(notes="Break", seconds=900))))
        await leader.do(GiveRole("tpt-1", "leader"))
        async with joined(hub, "tpt-1") as late, joined(hub, "alto-2") as other:
            assert late.date.name == "Tuesday"
            assert late.set.items == (SetItem("rain", then="segue", key="Eb"), SetItem(notes="Break", seconds=900))
            assert late.set.by == "Alto 1"
            assert (late.roles, late.given) == (("leader",), {"tpt-1": ("leader",)})
            assert other.roles == ()


async def test_the_lead_is_handed_to_another_chair_and_taken_back(tmp_path: Path) -> None:
    async with (
        served(tmp_path / "band") as hub,
        joined(hub, "alto-1", roles=["leader"]) as leader,
        joined(hub, "tpt-1") as player,
    ):
        with pytest.raises(Refused, match="Only the leader may call"):
            await player.do(Call("moth"))
        done = await leader.do(GiveRole("tpt-1", "leader"))
        await seen(player, done.seq)
        assert player.roles == ("leader",)
        done = await player.do(Call("moth"), chair="tpt-1")
        await seen(leader, done.seq)
        assert leader.position.by == "Trumpet 1", "everyone sees who called"
        # Those who lead are told who is where; so is a chair that leads now.
        async with asyncio.timeout(HANGS):
            async for _ in player:
                if {"tpt-1"} in [set(stand.chairs) for stand in player.presence.stands]:
                    break
        done = await leader.do(TakeRole("tpt-1", "leader"))
        await seen(player, done.seq)
        assert player.roles == ()
        with pytest.raises(Refused, match="Only the leader may call"):
            await player.do(Call("slow"))


async def test_two_leaders_at_once_the_last_word_by_the_hubs_order_stands(tmp_path: Path) -> None:
    async with (
        served(tmp_path / "band") as hub,
        joined(hub, "alto-1", roles=["leader"]) as one,
        joined(hub, "alto-2", roles=["leader"]) as two,
    ):
        last = max(await asyncio.gather(one.do(Call("moth")), two.do(Call("slow"))), key=lambda done: done.seq)
        await asyncio.gather(seen(one, last.seq), seen(two, last.seq))
        here = one.position
        assert here == two.position and here.call == 2
        by, after = ("Alto 1", "Alto 2") if here.tune == "moth" else ("Alto 2", "Alto 1")
        titles = {"moth": "Moth at the Window", "slow": "Slow Train Uphill"}
        other = {"moth": "slow", "slow": "moth"}[here.tune or ""]
        assert (here.by, here.after, here.after_by) == (by, titles[other], after)
        # Both wanted the same, or one wanted whatever comes next: nothing is called twice, and nothing is skipped.
        await asyncio.gather(one.do(Call("rain")), two.do(Call("rain")))
        assert hub.writer.state.position.call == 3
        await asyncio.gather(seen(one, hub.writer.state.seq), seen(two, hub.writer.state.seq))
        done = await one.do(Call("moth"))
        async with raw(hub) as late:
            await late.say(hello(hub, "alto-2", roles=["leader"], client="late"))
            await late.until(StatusView)
            await late.say(Do("next", Call("slow", in_turn=True), call=3, chair="alto-2"))
            why = (await late.until(RefusedMessage)).why
            assert '"Moth at the Window" has been called by Alto 1' in why
        assert hub.writer.state.position.call == 4
        await asyncio.gather(seen(one, done.seq), seen(two, done.seq))
        # Naming the next is no call: of two, the last word stands.
        await asyncio.gather(one.do(Next("rain")), two.do(Next("slow")))
        last = hub.writer.state.position.next
        await asyncio.gather(seen(one, hub.writer.state.seq), seen(two, hub.writer.state.seq))
        assert one.position.next == two.position.next == last in ("rain", "slow")


@pytest.mark.parametrize("chairs", [(), ("alto-1",)])
async def test_two_who_sign_alike_are_two_leaders(tmp_path: Path, chairs: tuple[str, ...]) -> None:
    async with (
        served(tmp_path / "band") as hub,
        joined(hub, *chairs, roles=["leader"], client="x") as one,
        joined(hub, *chairs, roles=["leader"], client="y") as two,
        joined(hub, "alto-2") as player,
    ):
        last = max(await asyncio.gather(one.do(Call("moth")), two.do(Call("slow"))), key=lambda done: done.seq)
        await asyncio.gather(*(seen(band, last.seq) for band in (one, two, player)))
        here = player.position
        assert one.position == two.position == here and here.call == 2
        assert {here.by, here.after_by} == {"Alto 1" if chairs else "the leader"}
        assert (here.device, here.after_device) == (("x", "y") if here.tune == "moth" else ("y", "x"))


async def test_nothing_asked_under_the_date_before_acts(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, "alto-1", roles=["leader"]) as leader, raw(hub) as other:
        await other.say(hello(hub, "alto-2", roles=["leader"]))
        await other.until(StatusView)
        await leader.do(TUESDAY)
        await leader.do(Call("moth"))
        await leader.do(CloseDate("d1"))
        before = hub.writer.state
        for call in (0, 1, 2):
            await other.say(Do(f"late-{call}", Call("slow"), call=call))
            assert "came too late" in (await other.until(RefusedMessage)).why
        assert hub.writer.state is before


async def test_straight_through_the_next_is_named_in_the_same_breath(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, "alto-1", roles=["leader"]) as leader, raw(hub) as player:
        await leader.do(SetTheSet((SetItem("slow", then="on"), SetItem("rain", then="segue"), SetItem("moth"))))
        await player.say(hello(hub, "tpt-1"))
        await player.until(StatusView)
        await leader.do(Call("slow"))
        position = await player.until(PositionView)
        assert (position.tune, position.next) == ("slow", "rain")
        await leader.do(Call("rain"))
        assert (await player.until(PositionView)).next == "moth"
        done = await leader.do(TakeBackCall(2))
        await seen(leader, done.seq)
        assert (leader.position.tune, leader.position.next) == ("slow", "rain")


async def test_history_is_asked_for_and_answered(tmp_path: Path) -> None:
    async with (
        served(tmp_path / "band") as hub,
        joined(hub, "alto-1", roles=["leader", "md"]) as leader,
        joined(hub, "tpt-1") as player,
    ):
        await leader.do(TUESDAY)
        await leader.do(MakeCut("a", "moth", "C", "D"))
        await leader.do(CloseDate("d1"))
        await leader.do(OpenDate("d2", "Harbour", "gig"))
        await leader.do(MakeCut("b", "moth", "A", "B"))
        view = await player.look_back()
        assert [(row.date, row.by, row.words) for row in view.rows] == [
            ("d2", "Alto 1", "Cut A to B"),
            ("d2", "Alto 1", "Opened: Harbour (gig)"),
            ("d1", "Alto 1", "Closed, 1 edit gone with it"),
            ("d1", "Alto 1", "Cut C to D"),
            ("d1", "Alto 1", "Opened: Tuesday (rehearsal)"),
        ]
        assert all(re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d", row.at) for row in view.rows)
        assert [(date.name, date.open) for date in view.dates] == [("Harbour", True), ("Tuesday", False)]
        then = await player.look_back("d1")
        assert [row.words for row in then.rows] == [row.words for row in view.rows[2:]]
        assert [(row.words, row.holds) for row in then.stood] == [("Cut C to D", False)]
        await leader.do(TakeOver("t", "d1"))
        assert hub.writer.state.tunes["moth"].played.cut == ((16, 23),)
        assert (await player.look_back("nothing")).rows == ()


async def test_a_long_history_comes_in_pieces(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, "alto-1", roles=["leader"]) as leader, raw(hub) as player:
        for n in range(130):
            await leader.do(Call(("moth", "slow")[n % 2]))
            await seen(leader, hub.writer.state.seq)
        await player.say(hello(hub))
        await player.until(StatusView)
        await player.say(LookBack("1"))
        first = await player.until(HistoryView)
        await player.say(LookBack("2", before=first.rows[-1].seq))
        second = await player.until(HistoryView)
        assert [len(first.rows), first.more, len(second.rows), second.more] == [100, True, 30, False]
        seqs = [row.seq for row in (*first.rows, *second.rows)]
        assert seqs == sorted(seqs, reverse=True) and len(set(seqs)) == 130


async def test_a_hub_that_starts_again_is_on_the_same_date(tmp_path: Path) -> None:
    folder = tmp_path / "band"
    settings = await make_band(folder, small_band())
    async with (
        serve(folder, announced=False, patience=WAITS, workers=1) as hub,
        joined(hub, "alto-1", roles=["leader"]) as leader,
    ):
        await leader.do(TUESDAY)
        await leader.do(SetTheSet((SetItem("rain", key="Eb"),)))
        await leader.do(GiveRole("alto-2", "leader"))
        before = hub.writer.state
    async with serve(folder, announced=False, patience=WAITS, workers=1) as hub:
        assert hub.writer.state == before
        async with raw(hub) as player:
            await player.say(hello(hub, "alto-2"))
            assert (await player.until(RolesView)).roles == ("leader",)
    assert settings.codes.leader
