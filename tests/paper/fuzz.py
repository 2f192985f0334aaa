"""Good files made bad in every way that a lot can think of: `python tests/paper/fuzz.py --minutes 10`.

Each is looked at, read, cut and laid in a worker within the usual limits. It must come to one sentence or to a reading
that holds together; no worker may die of it, hang or take more memory than it may. What was found is kept with --keep.
"""

import argparse
import asyncio
import math
import random
import re
import secrets
import sys
import time
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path

import psutil
import pymupdf

from collaparte.demo import BAND
from collaparte.hub.jobs import LayOut
from collaparte.hub.limits import MB, Limits
from collaparte.hub.workers import JobFailed, Pool
from collaparte.paper.pages.lay import printed_order
from collaparte.paper.reading import Reading

LIMITS = Limits(start_seconds=600, look_seconds=120, page_seconds=60)
"""Long enough for a busy machine: what takes longer never ends."""
STRANGE = (
    b"0",
    b"-1",
    b"1e9",
    b"-99999999",
    b"2147483648",
    b"0.0000001",
    b"1e38",
    b"NaN",
    b"65536",
    b"--3",
    b".",
    b"()",
)
WORDS = (
    b"q",
    b"Q",
    b"cm",
    b"BT",
    b"ET",
    b"Tf",
    b"Tj",
    b"re",
    b"f",
    b"S",
    b"W n",
    b"m",
    b"l",
    b"Do",
    b"BI",
    b"sh",
    b"gs",
)
SCRIPT = b"/OpenAction<</S/JavaScript/JS(while(true){app.alert(1)})>>/AA<</WC<</S/Launch/F(/bin/sh)>>>>"
Change = Callable[[bytearray, random.Random], None]


def bytes_changed(data: bytearray, lot: random.Random) -> None:
    for _ in range(lot.choice((1, 4, 40))):
        data[lot.randrange(len(data))] = lot.randrange(256)


def piece_lost(data: bytearray, lot: random.Random) -> None:
    at = lot.randrange(len(data))
    del data[at : at + lot.choice((1, 30, 2000))]


def piece_doubled(data: bytearray, lot: random.Random) -> None:
    at, size = lot.randrange(len(data)), lot.choice((5, 300, 20_000))
    data[at:at] = data[at : at + size]


def piece_moved(data: bytearray, lot: random.Random) -> None:
    at, size, to = lot.randrange(len(data)), lot.choice((8, 200, 4000)), lot.randrange(len(data))
    piece = data[at : at + size]
    del data[at : at + size]
    data[to:to] = piece


def numbers_changed(data: bytearray, lot: random.Random) -> None:
    found = list(re.finditer(rb"(?<=[ \n\[])-?\d+\.?\d*(?=[ \n\]])", bytes(data)))
    for match in sorted(lot.sample(found, min(len(found), lot.choice((1, 5, 60)))), key=lambda m: -m.start()):
        data[match.start() : match.end()] = lot.choice(STRANGE)


def words_changed(data: bytearray, lot: random.Random) -> None:
    found = list(re.finditer(rb"(?<=[ \n])[a-zA-Z]{1,2}\*?(?=[ \n])", bytes(data)))
    for match in sorted(lot.sample(found, min(len(found), lot.choice((1, 8, 80)))), key=lambda m: -m.start()):
        data[match.start() : match.end()] = lot.choice(WORDS)


def objects_crossed(data: bytearray, lot: random.Random) -> None:
    """References that lead elsewhere: pages in circles, fonts that are pictures."""
    found = list(re.finditer(rb"\d+ 0 R", bytes(data)))
    for match in sorted(lot.sample(found, min(len(found), lot.choice((1, 3, 20)))), key=lambda m: -m.start()):
        data[match.start() : match.end()] = lot.choice(found)[0]


def names_crossed(data: bytearray, lot: random.Random) -> None:
    found = list(re.finditer(rb"/[A-Za-z0-9]{1,12}", bytes(data)))
    for match in sorted(lot.sample(found, min(len(found), lot.choice((1, 4, 20)))), key=lambda m: -m.start()):
        data[match.start() : match.end()] = lot.choice(found)[0]


def script_put_in(data: bytearray, lot: random.Random) -> None:
    at = data.find(b"/Catalog")
    data[at + 8 : at + 8] = SCRIPT


def cut_off(data: bytearray, lot: random.Random) -> None:
    del data[lot.randrange(len(data)) :]


CHANGES: tuple[Change, ...] = (
    bytes_changed,
    piece_lost,
    piece_doubled,
    piece_moved,
    numbers_changed,
    numbers_changed,
    words_changed,
    objects_crossed,
    names_crossed,
    script_put_in,
    cut_off,
)


def sources() -> list[bytes]:
    """Good files, each a page or two: as they came, and with everything in them open to be changed."""
    found = []
    for file in sorted(BAND.rglob("*.pdf"))[::3]:
        with pymupdf.open(file) as whole:
            whole.select(list(range(min(2, whole.page_count))))
            found += [bytes(whole.tobytes(garbage=3, deflate=True)), bytes(whole.tobytes(garbage=3, expand=255))]
    return found


def changed(good: Sequence[bytes], lot: random.Random) -> bytes:
    """One of the files, changed in one to three ways."""
    data = bytearray(lot.choice(good))
    for _ in range(lot.choice((1, 1, 1, 2, 3))):
        if len(data) > 100:
            lot.choice(CHANGES)(data, lot)
    return bytes(data)


def fault(reading: Reading) -> str:
    """What does not hold together in a reading; "" if all does."""
    at = 0
    for page in reading.pages:
        for system in page.systems:
            for bar in system.bars:
                if not (math.isfinite(bar.x0) and math.isfinite(bar.x1) and bar.x0 <= bar.x1):
                    return f"bar {bar.index} reaches from {bar.x0} to {bar.x1}"
                if not bar.continued:
                    if bar.index != at + 1:
                        return f"bar {bar.index} follows bar {at}"
                    at += bar.count
    if at != reading.positions:
        return f"{reading.positions} bars, and {at} in the systems"
    things = (*reading.marks, *reading.multirests, *reading.signs, *reading.endings)
    if any(not 0 <= thing.bar <= max(reading.bars, 1) for thing in things):
        return "a mark or sign stands at no bar"
    return ""


async def outcome(pool: Pool, pdf: bytes, name: str) -> tuple[str, str]:
    """What comes of a file, by kind, and its words; kinds in capitals are finds."""
    try:
        looked = await pool.look(pdf, name)
        reading = await pool.read(pdf, name, (0, len(looked.heads) - 1))
        wrong = fault(reading)
        if wrong:
            return "READING", wrong
        await pool.lay_out(LayOut(name, pdf, reading, printed_order(reading), (148.0, 197.0), 7.0))
    except JobFailed as failed:
        return kind(str(failed), name), str(failed)
    return ("read" if reading.positions else "as printed"), ""


def kind(words: str, name: str) -> str:
    if "\n" in words or not words.endswith(".") or name not in words or len(words) > 300:
        return "NO SENTENCE"
    if "stopped the process" in words:
        return "DIED"
    if "report this" in words:
        return "UNEXPECTED"
    if "took more than" in words:
        return "TOO LONG"
    return "too much memory" if "MB of memory" in words else "refused"


def memory() -> float:
    """The most that any worker has taken, in MB; 0 where the system does not tell."""
    most = 0
    for child in psutil.Process().children():
        try:
            status = Path(f"/proc/{child.pid}/status").read_text("utf-8")
        except OSError:
            continue
        peak = re.search(r"VmHWM:\s+(\d+) kB", status)
        most = max(most, int(peak[1]) * 1024 if peak else 0)
    return most / MB


async def fuzz(seed: int, *, cases: int | None = None, minutes: float = 0.0, keep: Path | None = None) -> Counter[str]:
    """Try so many cases, or for so many minutes; how many came to what. Finds are printed."""
    good, came, peak = sources(), Counter[str](), 0.0
    end = time.monotonic() + 60 * minutes
    async with Pool(1, limits=LIMITS) as pool:
        n = 0
        while n < cases if cases is not None else time.monotonic() < end:
            pdf = changed(good, random.Random(f"{seed} {n}"))
            name = f"{seed}-{n}.pdf"
            what, words = await outcome(pool, pdf, name)
            peak = max(peak, memory())
            if peak > LIMITS.memory_mb:
                what, words = "MEMORY", f"{peak:.0f} MB"
            came[what] += 1
            if what.isupper():
                print(f"{name}: {what}: {words}", flush=True)
                if keep:
                    await asyncio.to_thread((keep / name).write_bytes, pdf)
            n += 1
    print(f"seed {seed}: {n} files: {', '.join(f'{k} {v}' for k, v in came.most_common())}; {peak:.0f} MB at most")
    return came


def main() -> int:
    """The command; 1 when something was found."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--minutes", type=float, default=10.0)
    ask.add_argument("--seed", type=int, default=secrets.randbits(32))
    ask.add_argument("--keep", type=Path, help="a folder for what is found")
    told = ask.parse_args()
    if told.keep:
        told.keep.mkdir(parents=True, exist_ok=True)
    came = asyncio.run(fuzz(told.seed, minutes=told.minutes, keep=told.keep))
    return int(any(what.isupper() for what in came))


if __name__ == "__main__":
    sys.exit(main())
