"""Parts that are understood, into the band folder: cut and drawn, stored by content, and logged in one go."""

import asyncio
import datetime
import secrets
from collections.abc import Sequence

import msgspec

from collaparte.band.apply import fold
from collaparte.band.decide import decide
from collaparte.band.roles import EVERY_ROLE, LIBRARIAN, Refusal
from collaparte.band.state import State
from collaparte.hub.fitting import Fit
from collaparte.hub.incoming import Incoming, Progress, Understood
from collaparte.hub.jobs import DidCut
from collaparte.hub.seating import orphans
from collaparte.hub.workers import JobFailed, Pool
from collaparte.paper.asides import asides
from collaparte.paper.confirmed import all_sure, is_scan
from collaparte.paper.pages.laying import Pieces
from collaparte.paper.reading import Reading
from collaparte.paper.ruler import outline
from collaparte.store.files import Files
from collaparte.store.log import Entry, Log
from collaparte.wire.codec import encode
from collaparte.wire.commands import AddTune, BringPart, Command, Correct, MendRuler, MintRuler, SeatParts
from collaparte.wire.corrections import Correction
from collaparte.wire.events import Event
from collaparte.wire.messages import Done


class CommitError(Exception):
    """The band refused one of the commands: its sentence. Nothing was changed."""


async def keep(
    understood: Understood, state: State, files: Files, pool: Pool, progress: Progress = lambda *_: None
) -> list[Command]:
    """Cut, draw and store the parts that come in; the commands that bring them into the band, in order.

    What cannot be cut becomes a part that is not understood. Raises `FilesError` when the disk does not take it.
    """
    coming = [part for part in understood.incoming if part.comes_in]
    at_once = asyncio.Semaphore(2 * pool.size)
    done = 0

    async def one(part: Incoming) -> BringPart | None:
        nonlocal done
        async with at_once:
            brought = await stored(part, files, pool)
        done += 1
        progress(done, len(coming), f"{part.name}, {understood.titles[part.tune]}")
        return brought

    tasks = [asyncio.create_task(one(part)) for part in coming]
    try:
        brought = [command for command in await asyncio.gather(*tasks) if command]
    except BaseException:
        # Where the disk takes one no more, none of the others goes on behind it: they would start workers anew.
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        raise
    coming = [part for part in coming if part.comes_in]
    tunes = {part.tune for part in coming}
    chairs = [chair for part in coming for chair in part.chairs]
    added = understood.seating.commands(chairs)
    commands: list[Command] = [*added, *(seat for new in added for seat in orphans(state, new.id, new.name))]
    commands += [AddTune(tune, understood.titles[tune]) for tune in understood.new_tunes if tune in tunes]
    for tune, ruler in understood.rulers.items():
        there = state.tunes.get(tune)
        if there and there.chart:
            commands.append(MendRuler(tune, ruler))
        elif there or tune in tunes:
            commands.append(MintRuler(tune, ruler))
    taken_over = [
        Correct(part.tune, part.part, Correction(secrets.token_hex(8), part.version, said))
        for part in coming
        for said in part.corrections
    ]
    halves = [Correct(part.tune, part.part, part.half) for part in coming if part.half]
    return [*commands, *brought, *halves, *taken_over, *_seats(coming, state)]


async def stored(part: Incoming, files: Files, pool: Pool) -> BringPart | None:
    """The command that brings a part in, once it is cut and stored; None when it could not be, `part.why` says why."""
    assert part.reading is not None
    try:
        pdf = await asyncio.to_thread(part.fetch)
        cut = await _cut(part, pdf, pool)
    except JobFailed as error:
        part.leave(str(error))
        return None
    except OSError as error:
        part.leave(f"{part.file} cannot be read any more ({error.strerror}): bring it again.")
        return None
    original, read, table, pieces = await asyncio.to_thread(_put, files, pdf, part.whole or part.reading, cut)
    if original != part.original:
        part.leave(f"{part.file} was changed while it was brought in: bring it again.")
        return None
    return BringPart(
        tune=part.tune,
        part=part.part,
        name=part.name,
        original=original,
        pages=part.pages,
        version=part.version,
        reading=read,
        table=table,
        pieces=pieces,
        bars=part.fit.bars,
        as_printed=not part.fit.bars,
        file_name=part.file,
        # What differs on a scan was misread more likely than copied wrong.
        outline=None if is_scan(part.reading) else outline(part.reading),
        asides=asides(part.reading),
        corrected=(part.half.id,) if part.half else (),
    )


async def _cut(part: Incoming, pdf: bytes, pool: Pool) -> DidCut:
    """The part cut up; as printed when it has no bars, or when they cannot be cut out."""
    assert part.reading is not None
    pages = part.pages or (0, len(part.reading.pages) - 1)
    if part.fit.bars:
        try:
            return await pool.cut(pdf, part.file, pages, all_sure(part.reading))
        except JobFailed as error:
            said = f"{part.name} is shown as printed, since its bars could not be cut out. {error}"
            part.fit = Fit((), (said,))
            part.doubts.append(said)
    return await pool.cut(pdf, part.file, pages, _without_bars(part))


def _put(files: Files, pdf: bytes, reading: Reading, cut: DidCut) -> tuple[str, str, str, str]:
    """Store all that belongs to a part; the hashes of the original, the reading, the table and the list of pieces."""
    sheets = [[""] * len(rung) for rung in cut.pieces.sheets]
    for rung, sheet, picture in cut.pictures:
        sheets[rung][sheet] = files.put(picture)
    pieces = msgspec.structs.replace(cut.pieces, sheets=tuple(tuple(rung) for rung in sheets))
    return files.put(pdf), files.put(_json(reading)), files.put(cut.table), files.put(_json(pieces))


def _json(value: Reading | Pieces) -> bytes:
    return msgspec.json.encode(value)


def _without_bars(part: Incoming) -> Reading:
    """The reading of a part that is shown as printed: pages without systems, and why."""
    assert part.reading is not None
    why = part.fit.said[-1] if part.fit.said else f"{part.name} is shown as printed."
    replace = msgspec.structs.replace
    pages = tuple(replace(page, systems=(), as_printed=page.as_printed or why) for page in part.reading.pages)
    return replace(part.reading, pages=pages, marks=(), multirests=(), signs=(), endings=())


def _seats(coming: Sequence[Incoming], state: State) -> list[Command]:
    """Who plays what: a chair keeps what it plays already, and plays the new parts too."""
    seats: dict[tuple[str, str], list[str]] = {}
    for part in coming:
        for chair in part.chairs:
            tune = state.tunes.get(part.tune)
            before = list(tune.seats.get(chair, ())) if tune else []
            playing = seats.setdefault((part.tune, chair), before)
            if part.part not in playing:
                playing.append(part.part)
    return [SeatParts(tune, chair, tuple(parts)) for (tune, chair), parts in seats.items()]


async def commit(commands: Sequence[Command], state: State, log: Log) -> State:
    """Decide the commands on the state and log what comes of them, all or nothing. Raises `CommitError`, `LogError`."""
    events: list[Event] = []
    for command in commands:
        decided = decide(state, command, EVERY_ROLE)
        if isinstance(decided, Refusal):
            raise CommitError(decided.why)
        state = fold(decided, state)
        events += decided
    if events:
        id = secrets.token_hex(8)
        now = datetime.datetime.now().astimezone().isoformat(timespec="seconds")
        await log.append(
            [Entry("band folder", id, LIBRARIAN, tuple(events), encode(Done(id, state.seq)).decode())], now
        )
    return state
