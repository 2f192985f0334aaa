"""What is measured between processes: reading, calls, acknowledgements, cuts. Ours and the floor take turns."""

import asyncio
import itertools
import time
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager

import msgspec
import pymupdf

import scanning
from bench.clients import Crowd, Wanted, crowd
from bench.ratios import Figure
from bench.rooms import TUNE, Room, parts_of_the_demo
from collaparte.hub.worker import spare_sweeps
from collaparte.paper.pages.book import Chapter, bind, part_pages
from collaparte.paper.pages.lay import printed_order
from collaparte.paper.pages.papers import PAPERS
from collaparte.paper.read import read_part
from collaparte.wire.codec import encode
from collaparte.wire.commands import Call, Command, MakeCut, Next, TakeBackEdit
from collaparte.wire.messages import Do, Hello
from collaparte.wire.views import PartView
from collaparte_client import join

FLAT = scanning.Damage(200, 0.3, 0.0, 0.05, 0.03, 1.0, 0, "plain", 0, "png")
"""How the scan was made: a little askew, a little shadow, nothing else."""
SETTLE = 0.1
"""Seconds of silence between two measurements."""

_ids, _cuts = itertools.count(), itertools.count()
_part: msgspec.json.Decoder[PartView] = msgspec.json.Decoder(PartView)


def read_engraved(runs: int) -> Figure:
    """Reading each part of the demo band, opening it included, against opening and rasterising its pages; ms a page."""
    spare_sweeps()  # as in a worker
    figure = Figure("read_engraved", [], [], "<= 2", "ms of processor time a page, over all parts of the demo band")
    for path in parts_of_the_demo():
        pdf = path.read_bytes()
        with pymupdf.open(stream=pdf, filetype="pdf") as document:
            pages = len(document)
        read, drawn = [], []
        # The first time warms both up.
        for _ in range(runs + 1):
            began = time.process_time()
            read_part(pdf)
            between = time.process_time()
            with pymupdf.open(stream=pdf, filetype="pdf") as document:
                for page in document:
                    page.get_pixmap(dpi=200, colorspace=pymupdf.csGRAY)
            read.append((between - began) * 1000 / pages)
            drawn.append((time.process_time() - between) * 1000 / pages)
        figure.ours += read[1:]
        figure.floor += drawn[1:]
    return figure


def read_scan(runs: int) -> Figure:
    """Reading a part of the demo band as a flatbed gives it, opening it included, against rasterising its pages."""
    spare_sweeps()  # as in a worker
    figure = Figure("read_scan", [], [], "<= 5", "ms of processor time a page, a clean scan at 200 dpi in grey")
    path = next(path for path in parts_of_the_demo() if TUNE in path.name and "Tenor" in path.name)
    scan, _ = scanning.scanned(path.read_bytes(), FLAT, 1)
    with pymupdf.open(stream=scan, filetype="pdf") as document:
        pages = len(document)
    for n in range(runs + 1):
        began = time.process_time()
        read_part(scan, scans=True)
        between = time.process_time()
        with pymupdf.open(stream=scan, filetype="pdf") as document:
            for page in document:
                page.get_pixmap(dpi=200, colorspace=pymupdf.csGRAY)
        if n:  # the first time warms both up
            figure.ours.append((between - began) * 1000 / pages)
            figure.floor.append((time.process_time() - between) * 1000 / pages)
    return figure


def draw_book(runs: int) -> Figure:
    """Drawing an alto's and a keyboard's pages of a book against drawing the sources; ms in all, and the sizes."""
    figure = Figure("draw_book", [], [], "<= 2", "drawing a book's pages on A4, each bar once")
    sources = [path.read_bytes() for path in parts_of_the_demo() if "Alto" in path.name or "Keys" in path.name]
    chapters = []
    for pdf in sources:
        reading = read_part(pdf)
        pages = part_pages(pdf, reading, None, printed_order(reading), PAPERS["A4"], 7.0, "")
        chapters.append(Chapter("Tune", pages))
    book = bind(chapters, "Band", "Chair")
    for n in range(runs + 1):
        ours, floor = _drawn([book]), _drawn(sources)
        if n:  # the first time warms both up
            figure.ours.append(ours)
            figure.floor.append(floor)
    figure.extra["size_ratio"] = round(len(book) / sum(map(len, sources)), 3)
    return figure


def _drawn(pdfs: Sequence[bytes]) -> float:
    """ms to open these and draw every page."""
    began = time.perf_counter()
    for pdf in pdfs:
        with pymupdf.open(stream=pdf, filetype="pdf") as document:
            for page in document:
                page.get_pixmap(dpi=150, colorspace=pymupdf.csGRAY)
    return (time.perf_counter() - began) * 1000


async def call(room: Room, floor: str, stands: int, runs: int) -> Figure:
    """A call until the last stand has it, against one commit and a broadcast of the same bytes to as many."""
    figure = Figure(f"call_{stands}", [], [], "", "a call until the last stand has its position")
    tunes = itertools.cycle(room.tunes.values())
    async with _both(room, floor, stands) as (ours, bare):
        for n in range(runs + 1):
            before = _call(ours)
            asked = _do(Call(next(tunes)), before)
            took = await ours.ms(asked, _positioned(before + 1))
            await ours.quiet(SETTLE)
            told = b"b" + ours.position
            least = await bare.ms(told, told.__eq__)
            await bare.quiet(SETTLE)
            if n:
                figure.ours.append(took)
                figure.floor.append(least)
    return figure


async def ack(room: Room, floor: str, runs: int) -> Figure:
    """A command until it is acknowledged, against one commit and an echo of the same bytes."""
    figure = Figure("ack", [], [], "", "a command until it is acknowledged, one client")
    tune = next(iter(room.tunes.values()))
    async with _both(room, floor, 0) as (ours, bare):
        for n in range(runs + 1):
            asked = _do(Next(None if n % 2 else tune), _call(ours))
            took = await ours.ms(asked, lambda data: data.startswith(b'{"type":"done"'))
            least = await bare.ms(asked, asked.__eq__)
            await asyncio.sleep(0.01)
            if n:
                figure.ours.append(took)
                figure.floor.append(least)
    return figure


async def cut(room: Room, floor: str, stands: int, runs: int, *, shapes: bool = False) -> Figure:
    """A cut until the last stand has its part laid anew, against a commit and a broadcast; each time another cut.

    `shapes`: stands that share a chair have glass of two shapes, so that each has a laying of its own.
    """
    layings = min(stands, len(room.chairs) * (2 if shapes else 1))
    name = f"cut_{stands}_shapes" if shapes else f"cut_{stands}"
    figure = Figure(name, [], [], "<= 150 ms", f"{layings} layings made anew, then back")
    tune = room.tunes[TUNE]
    async with _both(room, floor, stands, shapes=shapes) as (ours, bare):
        was = _call(ours)
        await ours.ms(_do(Call(tune), was), _positioned(was + 1))
        await ours.quiet(1.0)
        async with join(f"127.0.0.1:{room.settings.ports.http}", room.settings.codes.join) as band:
            revision = band.tunes[tune].revision
        for n in range(runs + 1):
            edit, other = f"bench-{next(_ids)}", next(_cuts)
            first, length = 9 + other % 20, 3 + other // 20
            make = _do(MakeCut(edit, tune, f"bar {first}", f"bar {first + length}"), _call(ours))
            took = await ours.ms(make, _laid(tune, revision + 1), who=range(1, stands + 1))
            told = b"b" + ours.matched
            least = await bare.ms(told, told.__eq__)
            await ours.ms(_do(TakeBackEdit(edit), _call(ours)), _laid(tune, revision + 2), who=range(1, stands + 1))
            await ours.quiet(SETTLE)
            revision += 2
            if n:
                figure.ours.append(took)
                figure.floor.append(least)
    return figure


@asynccontextmanager
async def _both(room: Room, floor: str, stands: int, *, shapes: bool = False) -> AsyncIterator[tuple[Crowd, Crowd]]:
    """A leader and so many stands at the hub, and as many sockets at the floor."""
    hellos: list[Hello | None] = [room.leader(), *(room.stand(n, shapes=shapes) for n in range(stands))]
    async with crowd(room.url, hellos) as ours, crowd(floor, [None] * len(hellos)) as bare:
        await ours.quiet(1.0)
        yield ours, bare


def _do(command: Command, call: int) -> bytes:
    return encode(Do(id=f"bench-{next(_ids)}", command=command, call=call))


class _Position(msgspec.Struct, tag="position"):
    call: int


def _call(ours: Crowd) -> int:
    return msgspec.json.decode(ours.position, type=_Position).call


def _positioned(call: int) -> Wanted:
    return lambda data: data.startswith(b'{"type":"position","call":%d,' % call)


def _laid(tune: str, revision: int) -> Wanted:
    def wanted(data: bytes) -> bool:
        if not data.startswith(b'{"type":"part"'):
            return False
        view = _part.decode(data)
        return view.tune == tune and view.revision == revision and bool(view.laying) and view.first_step == 0

    return wanted
