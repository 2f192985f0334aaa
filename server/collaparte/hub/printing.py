"""A chair's book: the set as it stands, with what was decided, each tune's pages printed and bound by the workers."""

import asyncio
import re
from collections.abc import Awaitable, Callable

import msgspec

from collaparte.band.called import chairs_meant, nearest
from collaparte.band.markings import sees
from collaparte.band.parts import in_words_only, kept_pickups, part_order
from collaparte.band.state import Part, State, Tune
from collaparte.hub import jobs
from collaparte.hub.tails import laying_steps
from collaparte.hub.workers import JobFailed, Pool
from collaparte.paper.pages.papers import PAPERS
from collaparte.store.files import FilesError
from collaparte.wire.edits import Tacet

Fetch = Callable[[str], Awaitable[bytes]]
"""A stored file by its content hash. Raises `FilesError`."""


class Book(msgspec.Struct, frozen=True):
    """A book as PDF, how many tunes are in it, and a sentence for each part that could not be printed."""

    pdf: bytes
    tunes: int
    missing: tuple[str, ...]


class NoBook(Exception):
    """There is nothing to be printed: one sentence."""


STAVE_LEAST, STAVE_MOST = 3.0, 12.0
"""mm."""


def paper_called(said: str) -> str:
    """The paper of this name, however it is written. Raises `NoBook`."""
    found = next((name for name in PAPERS if name.casefold() == said.strip().casefold()), None)
    if found is None:
        raise NoBook(f'"{said}" is no paper that is printed on; choose A4, Letter or tablet.')
    return found


def stave_said(said: str) -> float:
    """A stave height in mm as it is written. Raises `NoBook`."""
    try:
        stave = float(said)
    except ValueError:
        stave = 0.0
    if not STAVE_LEAST <= stave <= STAVE_MOST:
        raise NoBook(f"A stave of {said} mm cannot be laid; choose one from {STAVE_LEAST:g} to {STAVE_MOST:g} mm.")
    return stave


def book_name(state: State, chair: str, band: str = "Band") -> str:
    """What a chair's book is called, as a file may be ("Night Owls - Alto 1"); `band`: where it has no name."""
    named = f"{state.name or band} - {state.chairs[chair].name}"
    return re.sub(r'[\\/:*?"<>|\x00-\x1f]', "_", named)


def chair_called(state: State, name: str) -> str:
    """The id of the chair that people call so ("2nd Alto" for "Alto 2", "Keys" for a lone "Piano"). Raises `NoBook`."""
    found = chairs_meant(name, state.chairs)
    if len(found) == 1:
        return found[0]
    if found:
        names = ", ".join(state.chairs[id].name for id in found)
        raise NoBook(f'"{name}" may be more than one chair in this band: say which of {names}.')
    near = ", ".join(state.chairs[id].name for id in nearest(name, state.chairs)) or "none yet"
    raise NoBook(f'There is no chair "{name}" in this band; the nearest are: {near}.')


def tunes_of(state: State) -> list[Tune]:
    """The set in order, a tune as often as it stands there; all by title where no set was made. Raises `NoBook`."""
    inside = [state.tunes[id] for id in state.set_order if id in state.tunes]
    tunes = inside or sorted(state.tunes.values(), key=lambda tune: tune.title.casefold())
    if not tunes:
        raise NoBook("This band has no tunes yet: bring parts in first.")
    return tunes


async def print_book(
    state: State, chair: str, fetch: Fetch, pool: Pool, paper: str, stave: float, *, marked: bool = True
) -> Book:
    """The book of the chair of this id on a `paper` of `paper.pages.papers.PAPERS`, staves in mm.

    `marked`: with what that chair sees of the players' markings. A part that cannot be printed leaves a page that says
    so. Raises `NoBook`, `JobFailed`.
    """
    missing: list[str] = []
    name = state.chairs[chair].name

    async def card(tune: Tune, words: str) -> bytes:
        return await pool.bind(jobs.Card(tune.title, (words, name), paper, _running(tune, name)))

    async def printed(tune: Tune, part: Part) -> bytes:
        version = part.current
        order = part_order(tune, version, kept_pickups(tune, part))
        try:
            pdf = await fetch(version.original)
            table = await fetch(version.table) if version.table else b""
            laid = tune.played.laid()
            steps = laying_steps(order, len(laid))
            bars = [tune.played.written[bar.position] for bar in laid]
            markings = [drawn.marking for drawn in tune.markings.values() if sees(state, (chair,), drawn.marking)]
            told = order.told if in_words_only(tune, version) else (*order.told, *_silences(state, tune, chair))
            job = jobs.Print(
                name=f"{tune.title}, {part.name}",
                pdf=pdf,
                pages=version.pages,
                table=table,
                steps=steps,
                paper=paper,
                stave=stave,
                running=_running(tune, part.name or name),
                bars=tuple((step.bar, step.pass_) for step in bars),
                told=told,
                markings=tuple(markings) if marked else (),
            )
            return await pool.print_part(job)
        except (FilesError, JobFailed) as error:
            missing.append(f"{tune.title}: {error}")
            return await card(tune, str(error))

    async def chapters(tune: Tune) -> list[tuple[str, bytes]]:
        parts = tune.seated(chair)
        if not parts:
            return [(tune.title, await card(tune, "tacet"))]
        pages = await asyncio.gather(*(printed(tune, part) for part in parts))
        if len(parts) == 1:
            return [(tune.title, pages[0])]
        return [(f"{tune.title}, {part.name}", pdf) for part, pdf in zip(parts, pages, strict=True)]

    tunes = tunes_of(state)
    once = {tune.id: tune for tune in tunes}
    made = dict(zip(once, await asyncio.gather(*(chapters(tune) for tune in once.values())), strict=True))
    bound = []
    for n, tune in enumerate(tunes):
        again = ", again" if any(one.id == tune.id for one in tunes[:n]) else ""
        bound += [(f"{title}{again}", pdf) for title, pdf in made[tune.id]]
    job = jobs.Bind("The book", tuple(bound), state.name, name)
    return Book(await pool.bind(job), len(tunes), tuple(missing))


def _silences(state: State, tune: Tune, chair: str) -> list[str]:
    """The decisions that this chair does not play a stretch; they leave the order of the bars as it is."""
    sections = {section.name for section in state.sections if chair in section.chairs}
    return [
        held.words
        for held in tune.edits.values()
        if isinstance(held.edit.what, Tacet) and (chair in held.edit.chairs or sections & set(held.edit.sections))
    ]


def _running(tune: Tune, chair: str) -> str:
    return f"{tune.title}, {chair}"
