"""The Python client against a real hub: joining, following, asking, coming back."""

import asyncio
import re
from pathlib import Path

import pytest

from collaparte.hub.serving import serve
from collaparte.wire.commands import Call, MakeCut, MakeMarking, Next, TakeBackEdit
from collaparte.wire.markings import Ink, Marking, Point
from collaparte.wire.messages import Shown
from collaparte.wire.views import BandView, PositionView, SetView, Slip, StatusView, TuneView
from collaparte_client import Found, NotAnswered, NotIn, Refused, join
from hub.bands import HANGS, WAITS, address, joined, make_band, served, small_band

ROOT = Path(__file__).parents[2]


async def test_on_entry_everything_has_come(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, "alto-1", roles=["leader"]) as band:
        assert band.band.name == "Night Owls"
        assert [row.title for row in band.set.tunes] == ["Moth at the Window", "Slow Train Uphill", "Rain Check"]
        assert set(band.tunes) == {"moth", "slow", "rain"}
        assert band.roles == ("leader",)
        assert band.seq == hub.writer.state.seq


async def test_following_begins_with_what_there_is(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub) as band:
        first = []
        async for view in band:
            first.append(type(view))
            if isinstance(view, StatusView):
                break
        assert {BandView, SetView, TuneView, PositionView, StatusView} <= set(first)


async def test_one_that_lags_gets_the_newest_of_each_kind(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, roles=["leader"]) as band:
        following = band.__aiter__()
        await anext(following)
        for tune in ("moth", "slow", "rain") * 5:
            await band.do(Next(tune))
        positions = []
        async for view in following:
            if isinstance(view, PositionView):
                positions.append(view)
            if isinstance(view, StatusView):
                break
        assert [view.next for view in positions] == ["rain"]


@pytest.mark.parametrize(
    ("hub", "words"),
    [("127.0.0.1:1", "No hub answers at"), ("nonsense", "no hub's address"), ("host:port", "no hub's address")],
)
async def test_no_hub_is_a_sentence(hub: str, words: str) -> None:
    with pytest.raises(NotIn, match=words):
        async with join(hub, "code"):
            pass


async def test_not_let_in_is_the_hubs_sentence(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        with pytest.raises(NotIn, match="not this band's join code"):
            async with join(address(hub), "wrong"):
                pass
        with pytest.raises(NotIn, match="no chair 'kazoo'"):
            async with joined(hub, "kazoo"):
                pass


async def test_joining_what_was_found(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        at = hub.addresses
        found = Found("x", "Night Owls", at.host, ("127.0.0.1",), at.port, at.socket_port, "1", "epoch-1")
        async with join(found, hub.codes.join) as band:
            assert band.band.name == "Night Owls"


async def test_it_comes_back_and_catches_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "band"
    settings = await make_band(folder, small_band())
    marking = Marking("m1", "moth", "alto-1", "mine", Ink((Point("b3", 0.5, 0, 1.0),)))
    async with serve(folder, announced=False, patience=WAITS) as hub:
        joining = join(address(hub), hub.codes.join, chairs=["alto-1"], codes=[settings.codes.leader])
        band = await joining.__aenter__()
        await band.do(Call("moth"))
        await band.show(Shown("glass", "alto-1", 1, "moth", 0))
    # The hub is away: what waits for its moment fails, what can wait waits.
    waiting = asyncio.create_task(band.do(MakeMarking(marking), chair="alto-1"))
    with monkeypatch.context() as soon, pytest.raises(NotAnswered, match="two seconds"):
        soon.setattr("collaparte_client.band.ANSWER_WITHIN", 0.2)
        await band.do(Call("slow"))
    async with serve(folder, announced=False, patience=WAITS) as hub:
        done = await waiting
        async with asyncio.timeout(HANGS):
            async for view in band:
                if isinstance(view, StatusView) and view.seq >= done.seq:
                    break
        assert band.position.tune == "moth"
        assert set(band.markings) == {"m1"}
        assert hub.writer.state.position.call == 1
        with pytest.raises(Refused):
            await band.do(Call("nothing"))
        await joining.__aexit__(None, None, None)


async def test_another_log_replaces_what_was_known(tmp_path: Path) -> None:
    folder = tmp_path / "band"
    settings = await make_band(folder, small_band())
    async with serve(folder, announced=False, patience=WAITS) as hub:
        joining = join(address(hub), hub.codes.join, chairs=["alto-1"])
        band = await joining.__aenter__()
        assert set(band.tunes) == {"moth", "slow", "rain"}
    for log in folder.glob("log.sqlite*"):
        log.unlink()
    async with serve(folder, announced=False, patience=WAITS):
        # The chair is gone with the log, so the client is told to choose again.
        async with asyncio.timeout(HANGS):
            with pytest.raises(NotIn, match="no chair 'alto-1'"):
                async for _ in band:
                    pass
        await joining.__aexit__(None, None, None)
    assert settings.codes.join


async def test_slips_are_never_left_out(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub, joined(hub, roles=["leader", "md"]) as band:
        following = band.__aiter__()
        await anext(following)
        for n in range(3):
            await band.do(MakeCut(f"c{n}", "moth", "B", "C"))
            await band.do(TakeBackEdit(f"c{n}"))
        words = []
        async for view in following:
            if isinstance(view, Slip):
                words.append(view.words)
            if len(words) == 6:
                break
        assert words == ["Cut B to C", "B to C is back in"] * 3


def test_the_client_imports_nothing_of_ours_but_the_wire() -> None:
    imported = re.compile(r"^\s*(?:from|import) (collaparte[\w.]*)", re.MULTILINE)
    for path in (ROOT / "client" / "collaparte_client").glob("*.py"):
        for name in imported.findall(path.read_text()):
            assert name.startswith(("collaparte.wire.", "collaparte_client")), f"{path.name} imports {name}"


async def test_the_example_of_the_docs_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = (ROOT / "docs" / "how-to" / "python-client.md").read_text()
    example = text.partition("```python\n")[2].partition("```")[0]
    code, _, _ = example.partition("asyncio.run(")
    async with served(tmp_path / "band") as hub:
        at = hub.addresses
        found = Found("x", "Night Owls", at.host, ("127.0.0.1",), at.port, at.socket_port, "1", "epoch-1")

        async def find() -> list[Found]:
            return [found]

        names: dict[str, object] = {}
        exec(compile(code, "python-client.md", "exec"), names)
        names["find"] = find
        running = asyncio.create_task(names["main"](hub.codes.join, hub.codes.leader))  # type: ignore[operator]
        async with asyncio.timeout(HANGS), joined(hub) as band:
            async for view in band:
                if isinstance(view, PositionView) and view.call == 1:
                    assert view.words == "C"
                    break
        running.cancel()
