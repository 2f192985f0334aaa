"""`collaparte form`: the order of a tune's bars as written, from its MusicXML (exact) or a part's PDF (as read)."""

from pathlib import Path
from typing import Annotated

import msgspec
import typer
from rich.console import Console
from rich.table import Table

from collaparte.cli.alone import alone
from collaparte.cli.files import FileError, read_file
from collaparte.hub.workers import JobFailed, Pool
from collaparte.music.aloud import aloud
from collaparte.music.form import run_length, written_order
from collaparte.music.jumps import NAMES, place_of
from collaparte.music.musicxml import NotMusicXml, numbered, read_score
from collaparte.music.ruler import bar_in_words, fault, indices
from collaparte.music.words import count, ordinal
from collaparte.paper.opening import ReadingError
from collaparte.paper.reading import Reading
from collaparte.paper.ruler import chart as chart_read
from collaparte.paper.unsure import unsure
from collaparte.wire.chart import BarId, Chart, ChartRepeat, ChartSign

LARGEST = 200 * 2**20
"""Bytes of a file, as for a part that is brought."""

SIGN_WORDS = {"segno": "Segno", "coda": "Coda", "to-coda": "To Coda", "fine": "Fine", **NAMES}


def form(
    file: Annotated[Path, typer.Argument(help="The tune as MusicXML (.musicxml, .mxl), or a part as PDF.")],
    repeats: Annotated[
        bool, typer.Option("--repeats-after-jump", help="Take repeats again after a D.S. or D.C.")
    ] = False,
    json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Say in which order the bars are played as written: bars, marks, signs, and what contradicts itself."""
    try:
        chart, diagnosis = _charted(read_file(file, LARGEST + 1), file.name)
    except (NotMusicXml, ReadingError, JobFailed, FileError) as error:
        named = isinstance(error, JobFailed | FileError)
        typer.echo(str(error) if named else f"{file.name}: {error}", err=True)
        raise typer.Exit(1) from error
    written = written_order(chart, repeats_after_jump=repeats or None)
    diagnosis = " ".join(words for words in (diagnosis, written.diagnosis) if words)
    if json:
        at = indices(chart)
        order = run_length(at[step.bar] + 1 for step in written.steps)
        typer.echo(msgspec.json.encode(_as_json(chart, order, diagnosis)).decode())
    else:
        _print(chart, aloud(chart, written.steps), diagnosis)


def _charted(data: bytes, name: str) -> tuple[Chart, str]:
    """The ruler of a file and what of it could not be used; bars are called by their places, from "1"."""
    if len(data) > LARGEST:
        raise NotMusicXml(f"The file is larger than {LARGEST // 2**20} MB.")
    if b"%PDF" in data[:1024]:

        async def job(pool: Pool) -> Reading:
            last = len((await pool.look(data, name)).heads) - 1
            return await pool.read(data, name, (0, last))

        reading = alone(job)
        if not reading.positions:
            pages = dict.fromkeys(page.as_printed for page in reading.pages if page.as_printed)
            raise ReadingError(f"No bars were found in it. {' '.join(pages)}".strip())
        chart, diagnosis = chart_read([reading], numbered(reading.positions)), " ".join(unsure(reading))
    else:
        score = read_score(data)
        chart, diagnosis = score.chart, score.diagnosis
    wrong = fault(chart)
    if wrong:
        return Chart(bars=chart.bars), f"{wrong} The bars stand in printed order. {diagnosis}".strip()
    return chart, diagnosis


def _as_json(chart: Chart, order: str, diagnosis: str) -> dict[str, object]:
    """Bars are 1-based places in document order."""
    place = {bar.id: index + 1 for index, bar in enumerate(chart.bars)}
    signs: list[tuple[int, str, dict[str, object]]] = []

    def add(kind: str, bar: BarId, at: str, **more: object) -> None:
        signs.append(
            (place[bar], at, {"kind": kind, "bar": place[bar], "at": at} | {k: v for k, v in more.items() if v})
        )

    for sign in chart.signs:
        add(sign.kind, sign.bar, sign.at, name=sign.name, passes=sign.passes, coda=sign.coda, ending=sign.ending)
    for repeat in chart.repeats:
        add(f"repeat-{repeat.side}", repeat.bar, repeat.side, times=repeat.times if repeat.side == "end" else None)
    for ending in chart.endings:
        add("ending", ending.bar, "start", last=place[ending.last], passes=ending.passes)
    return {
        "version": 1,
        "bars": len(chart.bars),
        "written_order": order,
        "numbers": [bar.label or str(bar.number) for bar in chart.bars],
        "marks": [{"text": mark.text, "bar": place[mark.bar]} for mark in chart.marks],
        "signs": [sign for _, _, sign in sorted(signs, key=lambda one: (one[0], one[1] == "end"))],
        "tempo": chart.tempo,
        "diagnosis": diagnosis,
    }


def _print(chart: Chart, order: str, diagnosis: str) -> None:
    console = Console()
    pickup = chart.bars[0].number == 0
    bars = sum(bar.counted for bar in chart.bars) - pickup
    console.print(f"{count(bars, 'bar')}{' and a pickup' if pickup else ''}", highlight=False)
    at = indices(chart)
    rows = [(at[mark.bar], 0, f"Mark {mark.text}") for mark in chart.marks]
    for sign in chart.signs:
        times = f", {' and '.join(map(ordinal, sign.passes))} time only" if sign.passes else ""
        rows.append((at[sign.bar], 1 if sign.at == "start" else 4, f"{_named(sign)}{times}"))
    for repeat in chart.repeats:
        times = _times(repeat)
        begins = repeat.side == "start"
        rows.append((at[repeat.bar], 2 if begins else 5, f"Repeat {'begins' if begins else 'ends'}{times}"))
    for ending in chart.endings:
        passes = " and ".join(map(ordinal, ending.passes))
        last = f" to {bar_in_words(chart.bars[at[ending.last]])}" if ending.last != ending.bar else ""
        rows.append((at[ending.bar], 3, f"{passes.capitalize()} ending{last}"))
    table = Table("Bar", "What", box=None, pad_edge=False)
    for place, _, text in sorted(rows):
        table.add_row(bar_in_words(chart.bars[place]).removeprefix("the ").removeprefix("bar "), text)
    if rows:
        console.print(table)
    console.print(f"Written order: {order}", highlight=False, soft_wrap=True)
    if diagnosis:
        console.print(f"Not sure: {diagnosis}", highlight=False, soft_wrap=True)


def _named(sign: ChartSign) -> str:
    """A sign with the names that it has: "Coda 2", "D.S. 2 al Coda 1"."""
    words = SIGN_WORDS[sign.kind]
    if place := place_of(sign.name):
        words = f"Back to {place}{words.removeprefix('D.S.')}"
    elif sign.kind.startswith("ds"):
        words = f"D.S.{sign.name and ' '}{sign.name}{words.removeprefix('D.S.')}"
    elif sign.name:
        words = f"{words} {sign.name}"
    words = f"{words} {sign.coda}" if sign.coda else words
    return f"{words}, {ordinal(sign.ending)} ending" if sign.ending else words


def _times(repeat: ChartRepeat) -> str:
    if repeat.side == "start" or repeat.times == 2:
        return ""
    return ", not taken" if repeat.times == 1 else f", played {count(repeat.times, 'time')}"
