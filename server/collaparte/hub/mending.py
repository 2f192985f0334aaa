"""Parts whose reading was corrected: put on the tune's ruler anew, cut, laid, and given to the stands.

The ruler itself is mended when most parts of a tune turn out to have been misread; bars that stay keep their ids, and
with them every marking and edit.
"""

import asyncio
import logging
import secrets
from collections.abc import Callable, Mapping, Sequence
from functools import partial

import msgspec

from collaparte.band.names import chair_of
from collaparte.band.proposals import Proposal
from collaparte.band.roles import EVERY_ROLE
from collaparte.band.state import Part, Tune
from collaparte.hub.fitting import Fit, fit, is_unsure_scan
from collaparte.hub.incoming import Became, Incoming
from collaparte.hub.keeping import stored
from collaparte.hub.workers import Pool
from collaparte.hub.writer import Writer
from collaparte.music.align import agreeing, align
from collaparte.paper.carried import Source, carried
from collaparte.paper.corrected import corrected
from collaparte.paper.reading import Reading
from collaparte.paper.ruler import chart, chart_outline, outline
from collaparte.store.files import Files, FilesError
from collaparte.wire.chart import BarId, Chart
from collaparte.wire.commands import BringPart, Command, MendRuler, MintRuler
from collaparte.wire.messages import Refused

log = logging.getLogger(__name__)

Named = tuple[str, str]
"""Tune and part."""


class Mending:
    """All parts to be mended, one tune after the other. `started` ends when the workers have started.

    `changed` is called when `busy` or `said` is another.
    """

    def __init__(
        self, writer: Writer, files: Files, pool: Pool, started: asyncio.Task[None], changed: Callable[[], None]
    ) -> None:
        self.said = ""
        """What went wrong with the last correction, one sentence."""
        self._writer = writer
        self._files = files
        self._pool = pool
        self._started = started
        self._changed = changed
        self._something = asyncio.Event()
        self._something.set()
        self._given_up: dict[Named, tuple[str, ...]] = {}

    @property
    def busy(self) -> tuple[Named, ...]:
        """The parts that are not on the stands as they were corrected."""
        return tuple(
            (tune.id, part.id)
            for tune in self._writer.state.tunes.values()
            for part in tune.parts.values()
            if part.to_mend and self._given_up.get((tune.id, part.id)) != _ids(part)
        )

    def look(self) -> None:
        """Something was decided: it may be a correction."""
        self._something.set()

    async def run(self) -> None:
        """Mend what is to be mended, for as long as the task lives."""
        await asyncio.wait([self._started])
        while True:
            await self._something.wait()
            self._something.clear()
            while busy := self.busy:
                tune = self._writer.state.tunes[busy[0][0]]
                parts = [tune.parts[part] for id, part in busy if id == tune.id]
                self._changed()
                try:
                    await self._mend(tune, parts)
                    self.said = ""
                except (_CannotMend, FilesError) as error:
                    self.said = str(error)
                    self._given_up |= {(tune.id, part.id): _ids(part) for part in parts}
                except Exception:
                    log.exception("%s could not be mended", tune.title)
                    self.said = f"{tune.title} could not be laid anew: see the hub's log."
                    self._given_up |= {(tune.id, part.id): _ids(part) for part in parts}
                self._changed()

    async def _mend(self, tune: Tune, parts: Sequence[Part]) -> None:
        now = {part.id: await self._reading(part) for part in tune.parts.values()}
        before = {part.id: await asyncio.to_thread(self._sources, part) for part in parts}
        # What its score says holds, however its parts are read.
        ruler = tune.chart if tune.chart and tune.chart.source else mended_ruler(tune, before, now)
        changed = ruler is not None and ruler != tune.chart
        wanted = [part for part in tune.parts.values() if part in parts or changed or tune.chart is None]
        fitted = fit([(part.name, now[part.id]) for part in wanted], ruler, lambda count: [_id() for _ in range(count)])
        commands: list[Command] = []
        if fitted.ruler is not None and fitted.ruler != tune.chart:
            make = MintRuler if tune.chart is None else MendRuler
            commands.append(make(tune.id, fitted.ruler))
        made = await asyncio.gather(
            *(self._brought(tune, part, now[part.id], fits) for part, fits in zip(wanted, fitted.fits, strict=True))
        )
        commands += made
        answers = await asyncio.gather(
            *(self._writer.do("desk", secrets.token_hex(8), command, EVERY_ROLE) for command in commands)
        )
        wrong = next((answer.why for answer in answers if isinstance(answer, Refused)), "")
        if wrong:
            raise _CannotMend(wrong)

    async def _brought(self, tune: Tune, part: Part, reading: Reading, fits: Fit) -> BringPart:
        current = part.current
        if not part.to_mend and bool(fits.bars) == (not current.as_printed):
            # Only its bars have other places: it is cut as it was.
            return _again(tune, part, fits)
        incoming = Incoming(current.file_name, current.original, current.pages, _proposal(tune, part), reading)
        incoming.became, incoming.tune, incoming.part, incoming.fit = Became.VERSION, tune.id, part.id, fits
        incoming.fetch = partial(self._files.get, current.original)
        brought = await stored(incoming, self._files, self._pool)
        if brought is None:
            raise _CannotMend(incoming.why)
        return msgspec.structs.replace(
            brought, version=current.version, reading=current.reading, corrected=_ids(part), file_name=current.file_name
        )

    async def _reading(self, part: Part) -> Reading:
        return await asyncio.to_thread(reading_of, part, self._files)

    def _sources(self, part: Part) -> list[Source]:
        """The readings that its pages were laid with and their bars, the newest first."""
        own = [version for version in part.versions if version.version == part.current.version and version.bars]
        return [
            (msgspec.msgpack.decode(self._files.get(version.table), type=_OnlyReading).reading, version.bars)
            for version in reversed(own)
        ]


class _OnlyReading(msgspec.Struct):
    reading: Reading


class _CannotMend(Exception):
    """One sentence why a corrected part is not laid anew."""


def reading_of(part: Part, files: Files) -> Reading:
    """A part's reading with its corrections. Blocks; raises `FilesError`."""
    return corrected(msgspec.json.decode(files.get(part.current.reading), type=Reading), part.holding)


def mended_ruler(tune: Tune, before: Mapping[str, Sequence[Source]], now: Mapping[str, Reading]) -> Chart | None:
    """The tune's ruler with these parts (`before`: as they were laid, newest first) corrected; None: it has none.

    It is another only when a corrected part agrees with most of the tune's parts on something else.
    """
    if tune.chart is None:
        return None
    counted = [id for id, reading in now.items() if reading.positions and not is_unsure_scan(reading)]
    group = [counted[n] for n in agreeing([outline(now[id]) for id in counted])]
    mended = [id for id in group if id in before]
    if not mended or 2 * len(group) <= len(counted):
        return tune.chart
    readings = [now[id] for id in group]
    ids = _ruler_ids(tune, before[mended[0]], now[mended[0]])
    return chart(readings, ids)


def _ruler_ids(tune: Tune, before: Sequence[Source], now: Reading) -> Sequence[BarId]:
    assert tune.chart is not None
    own = [bar.id for bar in tune.chart.bars]
    placed = align(outline(now), chart_outline(tune.chart)).bars
    if placed == tuple(range(len(own))):
        return own
    if before:
        return carried(before, now, _id)
    seen: set[int] = set()
    out = []
    for at in placed:
        fresh = at is None or at in seen
        out.append(_id() if at is None or fresh else own[at])
        seen |= set() if at is None else {at}
    return out


def _again(tune: Tune, part: Part, fits: Fit) -> BringPart:
    own = {name: getattr(part.current, name) for name in part.current.__struct_fields__}
    own |= {"bars": fits.bars, "as_printed": not fits.bars}
    return BringPart(tune=tune.id, part=part.id, name=part.name, **own)


def _proposal(tune: Tune, part: Part) -> Proposal:
    return Proposal(tune.title, chair_of(part.name), part.name)


def _ids(part: Part) -> tuple[str, ...]:
    return tuple(one.id for one in part.holding)


def _id() -> str:
    return secrets.token_hex(4)
