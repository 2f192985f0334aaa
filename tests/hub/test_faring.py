"""How stands fare, told to those who lead: what is stored, the battery, the round trip, when one was last here."""

import asyncio
from pathlib import Path

from msgspec.structs import replace

from collaparte.wire.messages import Faring, Ping, Pong
from collaparte.wire.views import StandView, StatusView
from hub.bands import HANGS, WAITS, hello, joined, raw, served


async def test_those_who_lead_are_told_how_each_stand_fares(tmp_path: Path) -> None:
    patience = replace(WAITS, ping_every=0.0)
    async with (
        served(tmp_path / "band", patience=patience) as hub,
        joined(hub, "alto-1", roles=["leader"], client="lead") as leader,
    ):

        async def told(**wanted: object) -> StandView:
            async with asyncio.timeout(HANGS):
                async for _ in leader:
                    for stand in leader.presence.stands:
                        if stand.client == "raw" and all(
                            getattr(stand, name) == value for name, value in wanted.items()
                        ):
                            return stand
            raise AssertionError

        async with raw(hub) as player:
            await player.say(hello(hub, "tpt-1"))
            await player.until(StatusView)
            assert (await told(here=True)).missing is None
            ping = await player.until(Ping)
            await player.say(Pong(ping.n))
            await player.say(Faring(missing=2, tunes=3, battery=41, charging=False, upright=True))
            stand = await told(missing=2)
            assert (stand.tunes, stand.battery, stand.charging, stand.awake, stand.upright) == (
                3,
                41,
                False,
                None,
                True,
            )
            assert stand.round_trip is not None and stand.round_trip >= 0
            await player.say(Faring(missing=0, tunes=3))
            assert (await told(missing=0)).battery is None
        gone = await told(here=False)
        assert gone.missing == 0 and gone.round_trip is None and gone.away >= 0
