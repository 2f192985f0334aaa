"""`collaparte read`: what is understood of one part."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import msgspec
import typer
from rich.console import Console
from rich.table import Table

from collaparte.band.corrections import fault
from collaparte.cli.alone import alone
from collaparte.cli.files import FileError, Half, read_file
from collaparte.hub.jobs import Pages
from collaparte.hub.workers import JobFailed, Pool
from collaparte.paper import shared
from collaparte.paper.corrected import corrected
from collaparte.paper.legibility import Legibility, View, legibility, words
from collaparte.paper.opening import ReadingError
from collaparte.paper.reading import SURE, BarBox, Reading, SignKind, System
from collaparte.store.files import FilesError, write_whole
from collaparte.wire.corrections import Correction, Said

SIGN_WORDS = {
    SignKind.SEGNO: "Segno",
    SignKind.CODA: "Coda",
    SignKind.TO_CODA: "To Coda",
    SignKind.FINE: "Fine",
    SignKind.DS: "D.S.",
    SignKind.DS_AL_CODA: "D.S. al Coda",
    SignKind.DS_AL_FINE: "D.S. al Fine",
    SignKind.DC: "D.C.",
    SignKind.DC_AL_CODA: "D.C. al Coda",
    SignKind.DC_AL_FINE: "D.C. al Fine",
}


def read(
    file: Annotated[Path, typer.Argument(help="The part, a PDF.")],
    json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
    picture: Annotated[
        Path | None, typer.Option(help="Draw what was read over the pages: a PNG for each page.")
    ] = None,
    corrections: Annotated[
        Path | None, typer.Option(help="Put these corrections in first: a JSON list (docs/how-to/mend-a-reading.md).")
    ] = None,
    pages: Annotated[str, typer.Option(help='Only these pages: "2" or "3-5".')] = "",
    half: Half = None,
    tablet: Annotated[str, typer.Option(help="The tablet's glass, width x height in mm.")] = "148x197",
    distance: Annotated[float, typer.Option(help="From eye to page, in cm.")] = 75.0,
    stave: Annotated[float, typer.Option(help="The height of a stave as laid, in mm.")] = 7.0,
) -> None:
    """Read a part and say what is understood of it: bars, marks, rests, signs, stave heights, and what is not sure."""
    try:
        view = _view(tablet, distance, stave)
        wanted = _range(pages)
        said = _said(corrections) if corrections is not None else []
        pdf = read_file(file)

        async def job(pool: Pool) -> tuple[Reading, tuple[bytes, ...]]:
            last = len((await pool.look(pdf, file.name)).heads) - 1
            whole = await pool.read(pdf, file.name, wanted or (0, last), scans=True)
            reading = corrected(whole, [*_halved(whole, half, file.name), *said])
            drawn = await pool.overlay(pdf, file.name, wanted, reading) if picture is not None else ()
            return reading, drawn

        reading, drawn = alone(job)
        if picture is not None:
            _write(drawn, wanted[0] if wanted else 0, picture)
    except (ReadingError, JobFailed, FileError, FilesError) as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(1) from error
    if json:
        seen = {"legibility": msgspec.to_builtins(legibility(reading, view))}
        typer.echo(msgspec.json.encode(msgspec.to_builtins(reading) | seen).decode())
    else:
        _print(reading, legibility(reading, view))


def _halved(reading: Reading, number: int | None, name: str) -> list[Correction]:
    """The correction that takes one half of the pages. Raises ReadingError."""
    found = shared.half(reading, number) if number else None
    if number and found is None:
        raise ReadingError(shared.no_half(name, number, reading))
    return [Correction("half", "", found)] if found else []


def _uncounted(reading: Reading) -> list[str]:
    """What goes by other numbers than the count's, in words; where printed numbers leap a doubt says so."""
    return [
        f"Bar {reading.called(one.bar)} is split by a sign and is one bar."
        if one.rest
        else f"A later ending begins with number {reading.called(one.bar)} again, as printed."
        if one.fewer > 0
        else f"The first bar is {reading.called(one.bar)}, as the printed numbers say."
        for one in reading.uncounted
        if one.leap is None
    ]


def _range(pages: str) -> Pages:
    """First and last page, 0-based. Raises ReadingError."""
    if not pages:
        return None
    found = re.fullmatch(r"(\d+)(?:-(\d+))?", pages.strip())
    if found is None or int(found[1]) < 1 or int(found[2] or found[1]) < int(found[1]):
        raise ReadingError(f'"{pages}" names no pages; write "2" or "3-5".')
    return int(found[1]) - 1, int(found[2] or found[1]) - 1


def _view(tablet: str, distance: float, stave: float) -> View:
    """What the part is looked at on. Raises ReadingError."""
    found = re.fullmatch(r"(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)", tablet.strip().lower())
    if found is None or not all(50 <= float(side) <= 1500 for side in found.groups()):
        raise ReadingError(f'"{tablet}" is no tablet; write width x height in mm, as in 148x197.')
    if not (20 <= distance <= 300 and 2 <= stave <= 20):
        raise ReadingError("A stave of 2 to 20 mm can be looked at, from 20 to 300 cm.")
    return View((float(found[1]), float(found[2])), 10 * distance, stave)


def _said(path: Path) -> list[Correction]:
    """The corrections in a file. Raises ReadingError, FileError."""
    try:
        said = msgspec.json.decode(read_file(path), type=list[Said])
    except (msgspec.DecodeError, UnicodeError) as error:
        raise ReadingError(f"{path.name} holds no corrections: {error}.") from error
    wrong = next(filter(None, map(fault, said)), "")
    if wrong:
        raise ReadingError(f"{path.name}: {wrong}")
    return [Correction(str(n), "", one) for n, one in enumerate(said)]


def _write(pictures: Sequence[bytes], first: int, path: Path) -> None:
    for number, picture in enumerate(pictures, first + 1):
        name = path if len(pictures) == 1 else path.with_stem(f"{path.stem}-{number}")
        write_whole(name, picture)


def _print(reading: Reading, seen: Legibility | None) -> None:
    console = Console()
    for word in reading.head:
        console.print(word.text, style="bold" if word is reading.head[0] else "", highlight=False)
    pickup = " and a pickup" if reading.pickup else ""
    bars = reading.bars - sum(one.rest for one in reading.uncounted)
    console.print(f"{_plural(bars, 'bar')}{pickup}, {_plural(len(reading.pages), 'page')}", highlight=False)
    if seen is not None:
        console.print(words(seen), highlight=False)
    console.print(_things(reading))
    for said in _uncounted(reading):
        console.print(said, highlight=False)
    for doubt in dict.fromkeys(reading.doubts):
        console.print(f"Not sure: {doubt}", highlight=False)
    for number, page in enumerate(reading.pages, 1):
        if page.as_printed:
            console.print(f"Page {number}: {page.as_printed}", highlight=False)


def _things(reading: Reading) -> Table:
    """All that stands at a bar, in bar order, as musicians say it."""
    rows: list[tuple[int, int, str, float]] = []
    rows += [(m.bar, 0, f"Mark {m.text}", m.confidence) for m in reading.marks]
    rows += [(t.bar, 1, f"Tempo: {t.text}", 1.0) for t in reading.tempos]
    rows += [
        (s.bar, 2 if s.at == "start" else 5, f"{SIGN_WORDS[s.kind]}{_edge(s.at)}", s.confidence) for s in reading.signs
    ]
    rows += [
        (
            e.bar,
            3,
            f"{_ordinals(e.passes)} ending, {_span(reading.called(e.bar), reading.called(e.last_bar))}",
            e.confidence,
        )
        for e in reading.endings
    ]
    rows += [
        (
            r.bar,
            4,
            f"{r.count} bars rest, {_span(reading.called(r.bar), reading.called(r.bar + r.count - 1))}",
            r.confidence,
        )
        for r in reading.multirests
    ]
    rows += [
        (bar.number if side == "start" else bar.number + bar.count - 1, 6, _repeat(side), 1.0)
        for bar, side in _repeats(reading)
    ]
    table = Table("Bar", "What", box=None, pad_edge=False)
    for bar, _, text, confidence in sorted(rows):
        table.add_row(str(reading.called(bar)), text if confidence >= SURE else f"{text} (not sure)")
    return table


def _repeats(reading: Reading) -> list[tuple[BarBox, str]]:
    out = []
    for system in (s for page in reading.pages for s in page.systems):
        for line in system.barlines:
            if line.kind.startswith("repeat"):
                if line.kind != "repeat-start":
                    out += [(bar, "end") for bar in _beside(system, line.x, before=True)]
                if line.kind != "repeat-end":
                    out += [(bar, "start") for bar in _beside(system, line.x, before=False)]
    return out


def _beside(system: System, x: float, *, before: bool) -> list[BarBox]:
    if before:
        return [bar for bar in system.bars if bar.x1 < x][-1:]
    return [bar for bar in system.bars if bar.x1 > x][:1]


def _repeat(side: str) -> str:
    return "Repeat begins" if side == "start" else "Repeat ends"


def _edge(at: str) -> str:
    return "" if at == "start" else ", at its end"


def _span(first: int, last: int) -> str:
    return f"bar {first}" if first == last else f"bars {first} to {last}"


def _ordinals(passes: tuple[int, ...]) -> str:
    names = {1: "1st", 2: "2nd", 3: "3rd"}
    return ", ".join(names.get(n, f"{n}th") for n in passes)


def _plural(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
