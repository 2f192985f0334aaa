"""`collaparte set`, `date` and `history`, run as a user runs them."""

import asyncio
import csv
import io
import json
from pathlib import Path

from cli.test_hub_verbs import as_leader, as_md, collaparte
from collaparte.wire.setlist import SetItem
from collaparte.wire.views import PositionView
from hub.bands import address, joined, served

SET = "\ufefftune;row;then;time;notes\r\nrain check;;attacca;3:30;\r\nMoth at the Window;or;;;\r\n;break;;20:00;Bar\r\n"


async def test_the_set_out_and_in_again_is_the_same(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        file = tmp_path / "tonight.csv"
        await asyncio.to_thread(file.write_bytes, SET.encode())
        code, out, err = await as_leader(hub, "set", str(file))
        assert (code, out, err) == (0, "The set: 1 tune, about 3:30 of music, the break after 3:30.\n", "")
        put = hub.writer.state.set
        assert put.items == (
            SetItem("rain", then="segue", seconds=210),
            SetItem("moth", instead=True),
            SetItem(notes="Bar", seconds=1200),
        )
        for form, reads in (("--csv", csv.DictReader), ("--json", None)):
            _, out, _ = await collaparte("set", address(hub), form, code=hub.codes.join)
            rows = list(reads(io.StringIO(out))) if reads else json.loads(out)["rows"]
            assert [row.get("tune", "") for row in rows] == ["Rain Check", "Moth at the Window", ""]
            await asyncio.to_thread(file.write_text, out, "utf-8")
            assert (await as_leader(hub, "set", str(file)))[0] == 0
            assert hub.writer.state.set == put, "what was written, put again, changes nothing"
        code, out, _ = await collaparte("set", address(hub), code=hub.codes.join)
        assert code == 0 and "Rain Check" in out and "or" in out and "Bar" in out


ENCORE = "tune,then,time,notes\nRain Check,on,,\nSlow Train Uphill,on,3:00,\nRain Check,,1:10,Last chorus\n"


async def test_a_tune_that_is_played_again_at_the_end(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, "alto-1", page=(148.0, 197.0)) as stand:
        file = tmp_path / "tonight.csv"
        await asyncio.to_thread(file.write_text, ENCORE, "utf-8")
        code, out, err = await as_leader(hub, "set", str(file))
        assert (code, err) == (0, "") and out.startswith("The set: 3 tunes, about 4:10 of music (1 without a time)")
        put = hub.writer.state.set
        for form in ("--csv", "--json"):
            _, out, _ = await collaparte("set", address(hub), form, code=hub.codes.join)
            await asyncio.to_thread(file.write_text, out, "utf-8")
            assert (await as_leader(hub, "set", str(file)))[0] == 0 and hub.writer.state.set == put
        _, out, _ = await collaparte("set", address(hub), code=hub.codes.join)
        assert "Rain Check, again" in out
        # Each call names the row behind it, and the stand is told which row is on.
        seen = []
        for title in ("rain", "slow", "rain"):
            assert (await as_leader(hub, "call", title))[0] == 0
            number = hub.writer.state.position.call
            async for view in stand:
                if isinstance(view, PositionView) and view.call == number:
                    seen.append((view.tune, view.item, view.next, view.next_item))
                    break
        assert seen == [("rain", "", "slow", ""), ("slow", "", "rain", "2"), ("rain", "2", None, "")]
        assert [row.tune for row in stand.set.tunes] == ["rain", "slow", "moth"]


async def test_a_set_that_is_wrong_changes_nothing(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        before = hub.writer.state
        file = tmp_path / "set.csv"
        for text, words in (
            ("tune\nRain Check\nSlow Trian Uphill\n", 'Row 3: there is no tune "Slow Trian Uphill" in the library; '),
            ("tune,time\nRain Check,5:00:00\n", '"Rain Check" cannot take 18000 seconds'),
        ):
            await asyncio.to_thread(file.write_text, text, "utf-8")
            code, out, err = await as_leader(hub, "set", str(file))
            assert (code, out, err.count("\n")) == (1, "", 1) and words in err
        assert "There is no file" in (await as_leader(hub, "set", str(tmp_path / "no.csv")))[2]
        await asyncio.to_thread(file.write_text, "tune\nRain Check\n", "utf-8")
        assert "Only the leader or the librarian" in (await as_md(hub, "set", str(file)))[2]
        assert hub.writer.state is before


async def test_a_date_and_its_history(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        assert (await as_leader(hub, "date"))[1] == "No date is open.\n"
        assert await as_leader(hub, "date", "open", "Tuesday", "--day", "2026-11-24") == (0, "Open: Tuesday.\n", "")
        assert (await as_leader(hub, "date"))[1] == "Open: Tuesday (rehearsal, 2026-11-24).\n"
        code, _, err = await as_leader(hub, "date", "open", "Harbour", "--gig")
        assert (code, err) == (1, '"Tuesday" is open: close it first.\n')
        await as_md(hub, "cut", "C", "D", "--tune", "moth")
        assert await as_leader(hub, "date", "close") == (0, "Closed: Tuesday.\n", "")
        assert hub.writer.state.tunes["moth"].played.cut == ()

        _, out, _ = await as_md(hub, "history")
        assert "Tuesday" in out and "Cut C to D" in out and "1 edit gone with it" in out
        said = json.loads((await as_md(hub, "history", "--date", "last", "--json"))[1])
        assert [row["words"] for row in said["stood"]] == ["Cut C to D"]
        assert "Cut C to D" in (await as_md(hub, "history", "--date", "tuesday", "--take-over"))[1]
        assert hub.writer.state.tunes["moth"].played.cut == ((16, 23),)
        code, _, err = await as_md(hub, "history", "--date", "Friday")
        assert (code, err) == (1, "There is no date 'Friday'; there are: Tuesday.\n")
