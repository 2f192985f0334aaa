"""What the desk shows of the library: each part as it was understood, and one part with all that was read of it."""

import asyncio
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from statistics import median

import msgspec

from collaparte.band.agreement import disagreeing
from collaparte.band.corrections import in_words
from collaparte.band.parts import kept_pickups, part_order
from collaparte.band.state import Part, State, Tune
from collaparte.hub.fitting import fit
from collaparte.hub.layings import order_digest
from collaparte.hub.limits import MM
from collaparte.hub.mending import reading_of
from collaparte.hub.scores import reference
from collaparte.hub.tails import laying_steps
from collaparte.hub.workers import Pool
from collaparte.music.agree import Disagreement
from collaparte.paper.confirmed import confirmed
from collaparte.paper.corrected import corrected
from collaparte.paper.legibility import View, legibility, words
from collaparte.paper.reading import Reading
from collaparte.paper.ruler import chart_outline, outline
from collaparte.paper.suggested import shown, suggested
from collaparte.store.files import Files, FilesError
from collaparte.wire.corrections import Correction, Place, Said
from collaparte.wire.outline import Outline

PAGE = (148.0, 197.0)
STAVE = 7.0
"""mm: a tablet's page and the stave height on it (common practice)."""
READY = 256
"""Parts whose summary is kept."""
WIDE_LEAST, WIDE_MOST = 200, 3000
"""Pixels of a page's picture."""


class PartRow(msgspec.Struct, frozen=True):
    """One part as it was understood. Heights of a stave in mm: on paper, with the page shown whole, as laid."""

    part: str
    name: str
    chairs: tuple[str, ...]
    file_name: str
    pages: int
    bars: int
    pickup: bool
    marks: tuple[str, ...]
    as_printed: bool
    doubts: tuple[str, ...]
    differs: tuple[str, ...]
    """Where it differs from the tune's other parts, a sentence each."""
    corrections: int
    paper_mm: float
    whole_mm: float
    laid_mm: float


class TuneRows(msgspec.Struct, frozen=True):
    """A tune and its parts; `bars`: of its ruler, 0 when it has none."""

    tune: str
    title: str
    bars: int
    parts: tuple[PartRow, ...]


class CorrectionRow(msgspec.Struct, frozen=True):
    """One correction that holds, and in words."""

    id: str
    words: str
    said: Said


class Differing(msgspec.Struct, frozen=True):
    """Where a part differs from the others in words, `at` which place; and what would mend it, `does` in words."""

    words: str
    at: Place | None = None
    does: str = ""
    said: Said | None = None


class OpenPart(msgspec.Struct, frozen=True):
    """One part, open on the desk: its reading as corrected. Pages count from the part's first."""

    tune: str
    title: str
    row: PartRow
    version: str
    reading: Reading
    corrections: tuple[CorrectionRow, ...]
    mending: bool
    differing: tuple[Differing, ...] = ()
    legible: str = ""
    """Its staves in mm and minutes of arc on paper, whole on a tablet, as laid, with a verdict; "" without staves."""


class LaidPart(msgspec.Struct, frozen=True):
    """Hashes of a part's laying for a tablet and of its pieces, fetched as a stand does; or `why` there is none."""

    laying: str = ""
    pieces: str = ""
    why: str = ""


class DeskParts:
    """Parts as the desk shows them. `started` ends when the workers have started; `keep` stores a laying."""

    def __init__(
        self,
        state: Callable[[], State],
        files: Files,
        pool: Pool,
        started: asyncio.Task[None],
        keep: Callable[[bytes], Awaitable[str]],
    ) -> None:
        self._state = state
        self._files = files
        self._pool = pool
        self._started = started
        self._keep = keep
        self._readings: OrderedDict[tuple[str, tuple[str, ...]], Reading] = OrderedDict()
        self._laid: OrderedDict[tuple[str, str], LaidPart] = OrderedDict()

    async def library(self) -> tuple[TuneRows, ...]:
        """All tunes by title, with their parts by name."""
        state = self._state()
        out = []
        for tune in sorted(state.tunes.values(), key=lambda tune: tune.title.casefold()):
            rows = [await self._row(state, tune, part) for part in tune.parts.values()]
            rows.sort(key=lambda row: _place(state, row))
            out.append(TuneRows(tune.id, tune.title, len(tune.chart.bars) if tune.chart else 0, tuple(rows)))
        return tuple(out)

    async def part(self, tune_id: str, part_id: str, cm: int = 75) -> OpenPart | None:
        """One part, seen from `cm`; None when there is none. Raises `FilesError`."""
        tune, part = self.find(tune_id, part_id)
        if tune is None or part is None:
            return None
        reading = _confirmed(await self._reading(part), tune)
        rows = tuple(CorrectionRow(one.id, in_words(one.said), one.said) for one in part.holding)
        row = await self._row(self._state(), tune, part)
        seen = legibility(reading, View(PAGE, 10.0 * cm, STAVE))
        legible = words(seen) if seen else ""
        differing = await asyncio.to_thread(_differing, tune, part, reading)
        return OpenPart(tune.id, tune.title, row, part.current.version, reading, rows, part.to_mend, differing, legible)

    def find(self, tune: str, part: str) -> tuple[Tune | None, Part | None]:
        """The tune and the part of these ids, as far as they are there."""
        there = self._state().tunes.get(tune)
        return there, there.parts.get(part) if there else None

    async def picture(self, part: Part, page: int, wide: int) -> bytes:
        """A page of a part (from 0) as PNG. Raises `FilesError`, `JobFailed`."""
        pdf = await asyncio.to_thread(self._files.get, part.current.original)
        first = part.current.pages[0] if part.current.pages else 0
        await asyncio.wait([self._started])
        wide = min(max(wide, WIDE_LEAST), WIDE_MOST)
        pages = (await self._reading(part)).pages
        turned = pages[page].turned if page < len(pages) else 0
        return await self._pool.picture(pdf, part.current.file_name or part.name, first + page, wide, turned)

    async def laid(self, tune: Tune, part: Part) -> LaidPart:
        """The part laid for a tablet. Raises `FilesError`, `JobFailed`."""
        own = part.current
        if not own.table:
            return LaidPart(why=f"{part.name} has nothing to lay.")
        order = part_order(tune, own, kept_pickups(tune, part))
        steps = laying_steps(order, len(tune.played.laid()))
        key = (own.table, order_digest(steps))
        if key not in self._laid:
            await asyncio.wait([self._started])

            async def table() -> bytes:
                return await asyncio.to_thread(self._files.get, own.table)

            name = f"{tune.title}, {part.name}"
            laying = await self._pool.lay(own.table, table, steps, name=name, page=PAGE, stave=STAVE)
            self._laid[key] = LaidPart(await self._keep(laying), own.pieces)
            while len(self._laid) > READY:
                self._laid.popitem(last=False)
        return self._laid[key]

    async def _reading(self, part: Part) -> Reading:
        key = (part.current.reading, tuple(one.id for one in part.holding))
        if key not in self._readings:
            self._readings[key] = await asyncio.to_thread(reading_of, part, self._files)
            while len(self._readings) > READY:
                self._readings.popitem(last=False)
        return self._readings[key]

    async def _row(self, state: State, tune: Tune, part: Part) -> PartRow:
        reading: Reading | None = None
        said: tuple[str, ...] = ()
        try:
            reading = await self._reading(part)
        except FilesError as error:
            said = (str(error),)
        if reading is not None:
            fitted = fit([(part.name, reading)], tune.chart, lambda count: [str(n) for n in range(count)])
            said = (*fitted.fits[0].said, *_confirmed(reading, tune).doubts)
        paper = _stave(reading)
        return PartRow(
            part=part.id,
            name=part.name,
            chairs=tuple(id for id in state.chairs if part.id in tune.seats.get(id, ())),
            file_name=part.current.file_name,
            pages=len(reading.pages) if reading else 0,
            bars=reading.bars if reading else 0,
            pickup=bool(reading and reading.pickup),
            marks=tuple(mark.text for mark in reading.marks) if reading else (),
            as_printed=part.current.as_printed,
            doubts=tuple(dict.fromkeys(said)),
            differs=tuple(
                one.said for one in _differs(tune, part, outline(reading) if reading and part.to_mend else None)
            ),
            corrections=len(part.holding),
            paper_mm=round(paper, 1),
            whole_mm=round(paper * _whole(reading), 1),
            laid_mm=round(paper * _whole(reading), 1) if part.current.as_printed else STAVE,
        )


def _differs(tune: Tune, part: Part, now: Outline | None = None) -> list[Disagreement]:
    """Where a part differs from the tune's others, or would if it were as `now`; a scan that is not sure does not."""
    coming = {part.id: (part.name, now)} if now and part.current.outline else {}
    return [one for one in disagreeing(tune, coming, reference(tune.chart)) if one.part == part.name]


def _differing(tune: Tune, part: Part, reading: Reading) -> tuple[Differing, ...]:
    """The same with what would mend it: what most parts or the score have, where that leaves less to differ."""
    differs = _differs(tune, part, outline(reading) if part.to_mend else None)
    out = []
    for one in differs:
        able = suggested(reading, one) if one.suggestion or reference(tune.chart) else None
        if able:
            mended = corrected(reading, [Correction("", part.current.version, able.said)])
            able = able if len(_differs(tune, part, outline(mended))) < len(differs) else None
        out.append(Differing(one.said, shown(reading, one), able.words if able else "", able.said if able else None))
    return tuple(out)


def _confirmed(reading: Reading, tune: Tune) -> Reading:
    """The reading with those lines of a scan called sure that its tune bears out."""
    return confirmed(reading, chart_outline(tune.chart)) if tune.chart else reading


def _place(state: State, row: PartRow) -> tuple[int, str]:
    order = [chair for section in state.sections for chair in section.chairs]
    return min((order.index(chair) for chair in row.chairs if chair in order), default=len(order)), row.name


def _stave(reading: Reading | None) -> float:
    spaces = [system.space for page in reading.pages for system in page.systems] if reading else []
    return 4 * median(spaces) * MM if spaces else 0.0


def _whole(reading: Reading | None) -> float:
    """How much smaller a page is when all of it is shown on a tablet."""
    if reading is None or not reading.pages:
        return 0.0
    page = reading.pages[0]
    return min(PAGE[0] / (page.width * MM), PAGE[1] / (page.height * MM))
