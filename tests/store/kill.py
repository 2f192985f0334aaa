"""A process that appends to a log until it is killed, and what must hold afterwards.

`python tests/store/kill.py 200` kills it two hundred times, each at another moment.
"""

import asyncio
import random
import subprocess
import sys
import tempfile
from pathlib import Path

from collaparte.store.log import Entry, Log
from collaparte.wire.events import BandNamed

WRITER = "writer"


async def write(path: Path) -> None:
    """Append batches of one to four events and say which sequence is durable, for ever."""
    log = await Log.open(path, epoch="first")
    print("open", flush=True)
    chance = random.Random()
    while True:
        batch = [
            Entry("c", f"{log.seq}.{n}.{chance.random()}", "", (BandNamed(name=f"{log.seq + n + 1}"),), "ok")
            for n in range(chance.randint(1, 4))
        ]
        print(await log.append(batch, "now"), flush=True)


async def check(path: Path, told: int) -> int:
    """What was told is there, whole and without a gap; returns the last sequence."""
    log = await Log.open(path, epoch="another")
    events = await log.read()
    state = await log.state()
    await log.close()
    assert log.epoch == "first", log.epoch
    assert len(events) == log.seq >= told, (len(events), log.seq, told)
    assert [one.seq for one in events] == list(range(1, log.seq + 1))
    assert [one.event for one in events] == [BandNamed(name=f"{seq}") for seq in range(1, log.seq + 1)]
    assert state.seq == log.seq
    return log.seq


def kill_once(path: Path, after: int) -> int:
    """Start a writer on this log, kill it when it has told `after` appends, check; returns how many were told."""
    writer = subprocess.Popen([sys.executable, __file__, WRITER, str(path)], stdout=subprocess.PIPE, text=True)
    assert writer.stdout is not None
    told = 0
    for count, line in enumerate(writer.stdout):
        told = int(line) if line.strip().isdigit() else told
        if count >= after:
            break
    writer.kill()
    rest = [line for line in writer.stdout.read().splitlines() if line.isdigit()]
    writer.wait()
    writer.stdout.close()
    told = int(rest[-1]) if rest else told
    asyncio.run(check(path, told))
    return told


if __name__ == "__main__":
    if sys.argv[1] == WRITER:
        asyncio.run(write(Path(sys.argv[2])))
    chance = random.Random(1)
    with tempfile.TemporaryDirectory() as folder:
        for turn in range(int(sys.argv[1])):
            told = kill_once(Path(folder) / "log.sqlite", chance.randint(0, 40))
            print(f"killed {turn + 1} times, {told} events told and kept", flush=True)
