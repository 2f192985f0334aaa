"""The two servers that are compared, each in a process of its own: a hub on the demo band, and the floor."""

import asyncio
import contextlib
import signal
import sys
from collections.abc import AsyncIterator, Sequence
from pathlib import Path

import msgspec

from collaparte.cli import bring
from collaparte.demo import BAND
from collaparte.hub.gathering import gather
from collaparte.hub.incoming import Told
from collaparte.store.folder import BandFolder
from collaparte.store.settings import Ports, Settings, load
from collaparte.wire.messages import PROTOCOL, Hello
from collaparte_client import join
from hub.bands import free_port
from hub.processes import hub_process

PAGE = (148.0, 197.0)
"""mm: a small tablet's page."""
LARGE = (200.0, 262.0)
"""mm: a large one's."""
TUNE = "Half Past the Ferry"
"""The tune that is cut: repeats, a D.S. al Coda, eleven parts."""


class Room(msgspec.Struct, frozen=True):
    """A hub that runs, and who and what is in its band."""

    folder: Path
    settings: Settings
    tunes: dict[str, str]
    """Ids by title."""
    chairs: tuple[str, ...]
    """Ids of the chairs that have a part of `TUNE` (all, when it is not there)."""

    @property
    def url(self) -> str:
        return f"ws://127.0.0.1:{self.settings.ports.socket}"

    def leader(self) -> Hello:
        """One who leads and cuts, and shows no pages."""
        codes = self.settings.codes
        return Hello(PROTOCOL, "bench-leader", codes.join, (codes.leader, codes.md))

    def stand(self, n: int, *, shapes: bool = False) -> Hello:
        """The nth stand; when there are more than chairs, two share one, with `shapes` on glass of two shapes."""
        chair = self.chairs[n % len(self.chairs)]
        page = LARGE if shapes and n >= len(self.chairs) else PAGE
        return Hello(PROTOCOL, f"bench-{n}", self.settings.codes.join, chairs=(chair,), page=page)


@contextlib.asynccontextmanager
async def room(folder: Path, *, quick: bool) -> AsyncIterator[Room]:
    """A hub on the demo band, brought in as a librarian does; `quick`: two parts of one tune."""
    files = sorted((BAND / TUNE).glob("*.pdf"))[:2] if quick else sorted(p for p in BAND.iterdir() if p.is_dir())
    with contextlib.redirect_stdout(sys.stderr):
        await bring.run(folder, gather(files), Told(take=True), "Bench", ask=False)
    band_folder = await asyncio.to_thread(BandFolder.open, folder, "bench", "")
    band_folder.set_ports(Ports(free_port(), free_port()))
    await asyncio.to_thread(band_folder.close)
    own = load(folder / "settings.json")
    async with hub_process(folder, own):
        tunes, chairs = await _who(own)
        yield Room(folder, own, tunes, chairs)


async def _who(own: Settings) -> tuple[dict[str, str], tuple[str, ...]]:
    where, code = f"127.0.0.1:{own.ports.http}", own.codes.join
    async with join(where, code) as band:
        tunes = {row.title: row.tune for row in band.set.tunes}
        everyone = [chair.id for section in band.band.sections for chair in section.chairs]
    async with join(where, code, chairs=everyone, page=PAGE) as band, asyncio.timeout(300):
        # Every part laid once, as before a gig.
        async for _ in band:
            if len({(tune, chair) for tune, chair, _ in band.parts}) == len(tunes) * len(everyone):
                break
        playing = {chair for (tune, chair, _), view in band.parts.items() if tune == tunes.get(TUNE) and view.laying}
    return tunes, tuple(chair for chair in everyone if chair in playing)


@contextlib.asynccontextmanager
async def floor(folder: Path) -> AsyncIterator[str]:
    """The floor's server; its address."""
    await asyncio.to_thread(folder.mkdir)
    process = await asyncio.create_subprocess_exec(
        sys.executable, str(Path(__file__).with_name("floors.py")), str(folder), stdout=asyncio.subprocess.PIPE
    )
    try:
        assert process.stdout
        yield f"ws://127.0.0.1:{int(await process.stdout.readline())}"
    finally:
        if process.returncode is None:
            process.send_signal(signal.SIGTERM)
        await process.wait()


def parts_of_the_demo() -> Sequence[Path]:
    """Every PDF of the demo band."""
    return sorted(BAND.rglob("*.pdf"))
