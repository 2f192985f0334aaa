"""A tune of sixteen parts from the librarian's hand to the stands, and the memory that the workers took."""

import asyncio
import time
from collections.abc import Sequence
from pathlib import Path

import httpx
import msgspec
import pymupdf

from bench.clients import crowd
from bench.ratios import Figure
from bench.rooms import PAGE, TUNE
from collaparte.demo import BAND
from collaparte.wire.codec import encode
from collaparte.wire.commands import AddChair, NameBand
from collaparte.wire.messages import PROTOCOL, Hello, Ping
from collaparte.wire.views import PartView
from hub.bands import make_band
from hub.processes import hub_process

CHAIRS = (
    *("Alto 1", "Alto 2", "Tenor 1", "Baritone", "Trumpet 1", "Trumpet 2", "Trombone", "Guitar", "Piano 1"),
    *("Bass", "Drums", "Tenor 2", "Tenor 3", "Tenor 4", "Piano 2", "Piano 3"),
)
"""The chairs of the tune's eleven parts, in the order of their files, and five more who play copies of two of them."""
PATIENCE = 300.0

_part: msgspec.json.Decoder[PartView] = msgspec.json.Decoder(PartView)


async def tune_16(folder: Path, *, quick: bool) -> Figure:
    """Sending in 16 parts (`quick`: 3) until the last stand is told its laying, against opening and drawing them.

    The band has chairs and nothing else; the floor draws each page once at 200 dpi in grey, on one core.
    """
    figure = Figure("tune_16", [], [], "<= 10 s; workers <= 400 MB", "")
    sent = _parts()[: 3 if quick else None]
    own = await make_band(
        folder, [NameBand("Bench"), *(AddChair(str(n), chair, "All") for n, chair in enumerate(CHAIRS))]
    )
    hellos = [
        Hello(PROTOCOL, f"bench-{n}", own.codes.join, chairs=(str(CHAIRS.index(chair)),), page=PAGE)
        for n, (chair, _, _) in enumerate(sent)
    ]
    async with (
        hub_process(folder, own) as process,
        crowd(f"ws://127.0.0.1:{own.ports.socket}", hellos) as stands,
        httpx.AsyncClient(
            base_url=f"http://127.0.0.1:{own.ports.http}",
            headers={"Authorization": f"Bearer {own.codes.librarian}"},
            trust_env=False,
            timeout=PATIENCE,
        ) as desk,
    ):
        await stands.quiet(1.0)
        told = asyncio.create_task(stands.ms(encode(Ping(0)), _laid, patience=PATIENCE))
        began = time.perf_counter()
        ids = [await _sent(desk, name, pdf) for _, name, pdf in sent]
        answer = await desk.post("/desk/bring", json={"files": ids, "tune": TUNE, "take": True})
        answer.raise_for_status()
        await told
        figure.ours.append((time.perf_counter() - began) * 1000)
        peaks = await asyncio.to_thread(_peaks, process.pid)
    began = time.perf_counter()
    pages = sum([await asyncio.to_thread(_drawn, pdf) for _, _, pdf in sent])
    figure.floor.append((time.perf_counter() - began) * 1000)
    figure.note = f"{len(sent)} parts of {pages} pages sent in, until the last stand is told its laying"
    if peaks:
        figure.extra |= {"largest_worker_mb": max(peaks), "workers": len(peaks)}
    return figure


def _parts() -> list[tuple[str, str, bytes]]:
    """Chair, file name, PDF."""
    paths = sorted((BAND / TUNE).glob("*.pdf"))
    tenor, piano = (next(path for path in paths if name in path.name) for name in ("Tenor", "Piano"))
    sources = [*paths, tenor, tenor, tenor, piano, piano]
    # A copy is another file, so nothing of it is known from the first.
    return [
        (chair, f"{TUNE} - {chair}.pdf", path.read_bytes() + b"\n%% %d\n" % n)
        for n, (chair, path) in enumerate(zip(CHAIRS, sources, strict=True))
    ]


async def _sent(desk: httpx.AsyncClient, name: str, pdf: bytes) -> str:
    answer = await desk.post("/desk/file", params={"name": name}, content=pdf)
    answer.raise_for_status()
    return str(answer.json()["id"])


def _laid(data: bytes) -> bool:
    return data.startswith(b'{"type":"part"') and bool(_part.decode(data).laying)


def _drawn(pdf: bytes) -> int:
    with pymupdf.open(stream=pdf, filetype="pdf") as document:
        for page in document:
            page.get_pixmap(dpi=200, colorspace=pymupdf.csGRAY)
        return len(document)


def _peaks(hub: int) -> Sequence[float]:
    """The most memory that each worker of a hub has had, MB; nothing where the system does not tell."""
    peaks: list[float] = []
    for status in Path("/proc").glob("[0-9]*/status"):
        try:
            said = dict(line.split(":", 1) for line in status.read_text().splitlines() if ":" in line)
            worker = b"collaparte.hub.worker" in status.with_name("cmdline").read_bytes()
        except OSError:
            continue  # it has ended
        if worker and int(said["PPid"]) == hub:
            peaks.append(round(int(said["VmHWM"].split()[0]) / 1024, 1))
    return peaks
