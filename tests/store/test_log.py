"""The log on a real disk: durable, whole or not at all, and the same after it is opened again."""

import asyncio
import sqlite3
import threading
from collections.abc import AsyncIterator, Awaitable, Callable
from pathlib import Path

import pytest

from band.bands import ALTO2, MD, small_band, stroke
from collaparte.band.state import State
from collaparte.store.log import Broken, Entry, Log, LogError
from collaparte.wire import commands as c
from collaparte.wire.events import BandNamed, Event, Unknown

Open = Callable[..., Awaitable[Log]]


@pytest.fixture
async def open_log(tmp_path: Path) -> AsyncIterator[Open]:
    """Opens the log of this test; whatever is still open afterwards is closed, for SQLite's thread outlives a test."""
    opened: list[Log] = []

    async def open(epoch: str = "e") -> Log:
        opened.append(await Log.open(tmp_path / "log.sqlite", epoch=epoch))
        return opened[-1]

    yield open
    for log in opened:
        await log.close()


def entry(command: str, *events: Event, client: str = "tablet") -> Entry:
    return Entry(client, command, "alto1", events, f'{{"for":"{command}"}}')


def named(*names: str) -> list[Event]:
    return [BandNamed(name=name) for name in names]


async def test_what_was_appended_is_there_when_it_is_opened_again(open_log: Open) -> None:
    band = small_band()
    band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    band.do(c.MakeMarking(stroke("m", "alto2", "section")), ALTO2)
    log = await open_log("first")
    assert (log.seq, await log.state()) == (0, State())
    assert await log.append([entry("1", *band.log[:5]), entry("2", *band.log[5:])], "now") == len(band.log)
    assert await log.state() == band.state
    await log.close()

    log = await open_log("second")
    assert (log.epoch, log.seq) == ("first", len(band.log))
    assert await log.state() == band.state
    tail = await log.read(since=5)
    assert [one.seq for one in tail] == list(range(6, len(band.log) + 1))
    assert [one.event for one in tail] == band.log[5:]
    assert {(one.author, one.at) for one in tail} == {("alto1", "now")}


async def test_a_command_sent_again_gets_the_answer_of_the_first_time(open_log: Open) -> None:
    log = await open_log()
    await log.append([entry("1", *named("A")), entry("2"), entry("1", client="other")], "now")
    asked = [("tablet", "1"), ("tablet", "2"), ("other", "1"), ("tablet", "3")]
    assert await log.answers(asked) == {key: f'{{"for":"{key[1]}"}}' for key in asked[:3]}
    with pytest.raises(LogError, match=r"^A command of this id is in the log already\. Nothing was changed\.$"):
        await log.append([entry("9", *named("B")), entry("1", *named("C"))], "now")
    assert (log.seq, (await log.state()).name) == (1, "A")
    assert await log.answers([("tablet", "9")]) == {}
    assert await log.append([entry("9", *named("B"))], "later") == 2


async def test_every_connection_is_durable(open_log: Open) -> None:
    """WAL and FULL are read back (sqlite.org/pragma.html: FULL is 2; unlike WAL it is not kept in the file)."""
    for _ in range(2):
        log = await open_log()
        assert [tuple(row) for row in await log._connection.execute_fetchall("PRAGMA synchronous")] == [(2,)]
        assert [tuple(row) for row in await log._connection.execute_fetchall("PRAGMA journal_mode")] == [("wal",)]
        await log.close()
    with pytest.raises(LogError, match="cannot be kept safely here"):
        await Log.open(Path(":memory:"), epoch="e")


async def test_a_full_disk_changes_nothing_and_says_so(open_log: Open) -> None:
    """SQLite's own limit of pages gives the same SQLITE_FULL as a disk without room."""
    log = await open_log()
    await log.append([entry("1", *named("A"))], "now")
    ((pages,),) = await log._connection.execute_fetchall("PRAGMA page_count")
    await log._connection.execute(f"PRAGMA max_page_count = {pages + 2}")
    with pytest.raises(LogError, match=r"disk is full.*Nothing was changed\.$") as caught:
        await log.append([entry("2", *named(*("x" * 2000 for _ in range(50))))], "now")
    assert not isinstance(caught.value, Broken)
    assert (log.seq, (await log.state()).name, await log.answers([("tablet", "2")])) == (1, "A", {})
    await log._connection.execute(f"PRAGMA max_page_count = {pages + 1000}")
    assert await log.append([entry("2", *named("B"))], "now") == 2
    await log.close()
    log = await open_log()
    assert (await log.state()).name == "B"


async def test_another_program_that_holds_the_log_is_named(tmp_path: Path, open_log: Open) -> None:
    log = await open_log()

    def hold() -> sqlite3.Connection:
        other = sqlite3.connect(tmp_path / "log.sqlite", check_same_thread=False)
        other.execute("BEGIN IMMEDIATE")
        return other

    other = await asyncio.to_thread(hold)
    with pytest.raises(LogError, match="Another program holds the band's log"):
        await log.append([entry("1", *named("A"))], "now")
    await asyncio.to_thread(other.close)
    assert await log.append([entry("1", *named("A"))], "now") == 1


async def test_another_program_that_wrote_to_the_log_stops_the_hub(tmp_path: Path, open_log: Open) -> None:
    log = await open_log()

    def write() -> None:
        other = sqlite3.connect(tmp_path / "log.sqlite")
        other.execute("INSERT INTO events VALUES (1, 'band-named', 1, '{}', '', '', '', '')")
        other.commit()
        other.close()

    await asyncio.to_thread(write)
    with pytest.raises(Broken):
        await log.append([entry("1", *named("A"))], "now")


async def test_a_cancelled_caller_leaves_all_or_nothing(open_log: Open) -> None:
    log = await open_log()
    for hops in range(8):
        before = log.seq
        task = asyncio.create_task(log.append([entry(str(hops), *named("A", "B"))], "now"))
        for _ in range(hops):
            await asyncio.sleep(0)
        task.cancel()
        with pytest.raises(asyncio.CancelledError):
            await task
        assert await log.append([entry(f"after {hops}", *named("C"))], "now") in (before + 1, before + 3)
        assert [one.seq for one in await log.read()] == list(range(1, log.seq + 1))


async def test_commands_at_once_are_appended_one_after_the_other(open_log: Open) -> None:
    log = await open_log()
    await asyncio.gather(*(log.append([entry(str(n), *named(str(n)))], "now") for n in range(20)))
    assert sorted(one.event.name for one in await log.read()) == sorted(map(str, range(20)))


async def test_events_of_a_later_release_are_kept_as_they_are(open_log: Open) -> None:
    raw = '{"type":"tempo-said","v":1,"bpm":{"exact":119.5}}'
    log = await open_log()
    await log.append([entry("1", Unknown(raw=raw), *named("A"))], "now")
    await log.close()
    log = await open_log()
    events = [one.event for one in await log.read()]
    assert events == [Unknown(raw=raw), *named("A")]
    state = await log.state()
    assert (state.seq, state.name) == (2, "A")
    await log.close()


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"not a database at all, but long enough to be taken for one" * 20, "cannot be"),
        (b"SQLite format 3\0", "cannot be"),
    ],
)
async def test_a_damaged_log_is_refused_and_left_as_it_is(tmp_path: Path, content: bytes, why: str) -> None:
    path = tmp_path / "log.sqlite"
    path.write_bytes(content)
    with pytest.raises(LogError, match=r"cannot be (opened|read)"):
        await Log.open(path, epoch="e")
    assert path.read_bytes() == content


async def test_a_log_of_a_newer_release_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "log.sqlite"
    await (await Log.open(path, epoch="e")).close()
    with sqlite3.connect(path) as other:
        other.execute("UPDATE about SET value = '2' WHERE name = 'format'")
    other.close()
    with pytest.raises(LogError, match="written by a newer release"):
        await Log.open(path, epoch="e")


async def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="cannot be opened"):
        await Log.open(tmp_path / "nowhere" / "log.sqlite", epoch="e")
    # The library lets its thread end by itself after a failed connect; it must not outlive this test's loop.
    for thread in threading.enumerate():
        if thread is not threading.main_thread() and "_connection_worker_thread" in thread.name:
            await asyncio.to_thread(thread.join)
