"""MusicXML to the ruler: the bars of a score, with the signs that make its form (MusicXML 4.0, W3C, 2021).

All parts have the same bars; of what is printed in several parts (repeats, endings, jumps, marks) the first part that
has it leads. Where the print and what a machine would play contradict each other the print holds: players see it.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple, TypeVar
from xml.etree.ElementTree import Element

import msgspec

from collaparte.music.barsigns import Bar, Edge, bar_of
from collaparte.music.scorefile import NotMusicXml, score_tree
from collaparte.wire.chart import BarId, Chart, ChartBar, ChartEnding, ChartMark, ChartRepeat, ChartSign

__all__ = ["NotMusicXml", "Score", "numbered", "read_score"]

_NUMBERS = re.compile(r" *[1-9][0-9]*(, ?[1-9][0-9]*)* *")
"""An ending's `number`; blank is legal too and leaves it to the reader (`ending-number`)."""


class Score(msgspec.Struct, frozen=True):
    """What a MusicXML file says of a tune. `diagnosis`: in sentences, what of it could not be used, "" if nothing."""

    title: str
    chart: Chart
    diagnosis: str = ""


class _Ending(NamedTuple):
    first: int
    last: int
    passes: tuple[int, ...]


def numbered(count: int) -> list[BarId]:
    """Bar ids that are the bars' places, from "1"."""
    return [str(place) for place in range(1, count + 1)]


def read_score(data: bytes, ids: Callable[[int], Sequence[BarId]] = numbered) -> Score:
    """The score in a `.musicxml` or `.mxl` file; `ids` mints so many bar ids. Raises `NotMusicXml`."""
    root = score_tree(data)
    parts = _parts(root)
    if not parts or not parts[0]:
        raise NotMusicXml("The score has no bars.")
    lead = parts[0]
    same = [part for part in parts if len(part) == len(lead)]
    notes = [
        f"Part {n} has {len(part)} bars where part 1 has {len(lead)}; part 1 leads."
        for n, part in enumerate(parts, start=1)
        if len(part) != len(lead)
    ]
    notes += [f"Bar {bar.number} {odd}." for part in same for bar in part for odd in bar.odd]
    notes += [
        f'The words "{words}" at bar {bar.number} speak of a jump but not which, so they are left to the players.'
        for bar in lead
        for words in bar.about
    ]
    bars = ids(len(lead))
    endings = _first(_endings(part, notes) for part in same)
    alone = _alone(endings, lead)
    notes += [
        f"The first ending at bar {lead[ending.first].number} has no second after it, so its repeat is not taken."
        for ending in alone
    ]
    chart = Chart(
        bars=tuple(_called(lead, bars)),
        marks=_first(_marks(part, bars) for part in same),
        signs=_first(_signs(part, bars) for part in same),
        repeats=tuple(
            msgspec.structs.replace(repeat, times=1) if any(repeat.bar == bars[one.last] for one in alone) else repeat
            for repeat in _first(_repeats(part, bars) for part in same)
        ),
        endings=tuple(
            ChartEnding(ending.passes, bars[ending.first], bars[ending.last])
            for ending in endings
            if ending not in alone
        ),
        tempo=next((part[0].tempo for part in same if part[0].tempo), ""),
    )
    return Score(_title(root), chart, " ".join(dict.fromkeys(notes)))


_Thing = TypeVar("_Thing")


def _first(found: Iterable[tuple[_Thing, ...]]) -> tuple[_Thing, ...]:
    return next((things for things in found if things), ())


def _parts(root: Element) -> list[list[Bar]]:
    """The bars of each part, from either way of writing a score: by part, or by bar."""
    if root.tag == "score-partwise":
        return [[bar_of(measure) for measure in part.iterfind("measure")] for part in root.iterfind("part")]
    by_part: dict[str, list[Bar]] = {}
    for measure in root.iterfind("measure"):
        for part in measure.iterfind("part"):
            own = Element("measure", measure.attrib)
            own.extend(part)
            by_part.setdefault(part.get("id", ""), []).append(bar_of(own))
    return list(by_part.values())


def _title(root: Element) -> str:
    return " ".join((root.findtext("movement-title") or root.findtext("work/work-title") or "").split())


def _called(part: list[Bar], ids: Sequence[BarId]) -> list[ChartBar]:
    """The bars under the numbers that are printed. A bar whose number is never shown goes by the one before it."""
    called: list[ChartBar] = []
    for bar, id in zip(part, ids, strict=True):
        before = called[-1] if called else None
        digits = re.match(r"\d{1,6}", bar.number)
        number = int(digits[0]) if digits else before.number + 1 if before else 1
        if bar.implicit or (before and digits and digits[0] != bar.number and number == before.number):
            number = before.number if before else 0
        again = before is not None and number == before.number and (bar.implicit or digits is not None)
        rest = again and (bar.implicit or bar.number != str(number))
        label = "" if bar.implicit or bar.number in ("", str(number)) else bar.number
        called.append(ChartBar(id, number, label, not rest))
    return called


def _edge_id(place: int, at: Edge, ids: Sequence[BarId]) -> tuple[BarId, Edge]:
    """The edge between two bars as the start of the second, where there is one."""
    edge = place + (at == "end")
    return (ids[edge], "start") if edge < len(ids) else (ids[-1], "end")


def _marks(part: list[Bar], ids: Sequence[BarId]) -> tuple[ChartMark, ...]:
    found = ((text, place + (at == "end")) for place, bar in enumerate(part) for text, at in bar.marks)
    return tuple(dict.fromkeys(ChartMark(text, ids[place]) for text, place in found if place < len(ids)))


def _signs(part: list[Bar], ids: Sequence[BarId]) -> tuple[ChartSign, ...]:
    found = []
    for place, bar in enumerate(part):
        for sign in bar.signs:
            landing = sign.kind in ("segno", "coda")
            where, at = _edge_id(place, sign.at, ids) if landing else (ids[place], "end")
            found.append(ChartSign(sign.kind, where, at, sign.name, sign.passes))
    return tuple(dict.fromkeys(found))


def _repeats(part: list[Bar], ids: Sequence[BarId]) -> tuple[ChartRepeat, ...]:
    """Each sign once, though the bars on both sides of a bar line may write it."""
    found: dict[tuple[Edge, int], ChartRepeat] = {}
    for place, bar in enumerate(part):
        for repeat in bar.repeats:
            edge = place + (repeat.at == "end")
            at = edge if repeat.side == "start" else edge - 1
            if 0 <= at < len(ids):
                found.setdefault((repeat.side, at), ChartRepeat(repeat.side, ids[at], repeat.times, repeat.after_jump))
    return tuple(found.values())


def _endings(part: list[Bar], notes: list[str]) -> tuple[_Ending, ...]:
    """The bracketed endings, and sentences about brackets that are not whole."""
    found: list[_Ending] = []
    opened: tuple[int, str] | None = None

    def close(last: int, number: str) -> None:
        nonlocal opened
        first, written = opened if opened else (last, number)
        called = part[first].number
        if not opened:
            notes.append(f"An ending stops at bar {called} but begins nowhere; it is taken for that bar.")
        passes = tuple(int(word) for word in written.split(",")) if _NUMBERS.fullmatch(written) else ()
        before = found[-1] if found else None
        if not passes:
            passes = (max(before.passes) + 1,) if before and before.last + 1 == first else (1,)
            notes.append(f"The ending at bar {called} has no number; it is taken for time {passes[0]}.")
        found.append(_Ending(first, max(first, last), passes))
        opened = None

    for place, bar in enumerate(part):
        for bracket in sorted(bar.brackets, key=lambda bracket: (bracket.at == "end", bracket.begins)):
            edge = place + (bracket.at == "end")
            if bracket.begins:
                if opened:
                    close(edge - 1, "")
                opened = (edge, bracket.number) if edge < len(part) else None
            elif opened or _sent_back(bar):
                close(edge - 1, bracket.number)
    if opened:
        close(opened[0], "")
    return tuple(found)


def _alone(endings: Sequence[_Ending], part: list[Bar]) -> list[_Ending]:
    """First endings with a repeat but no bracket after them. What comes on the second time is a guess, and general
    libraries do not take the repeat; so what is written is played, and the reader is told."""
    begins = {ending.first for ending in endings}
    over = {ending.last + 1 for ending in endings}
    return [
        ending
        for ending in endings
        if 1 in ending.passes
        and _sent_back(part[ending.last])
        and ending.last + 1 not in begins
        and ending.first not in over
    ]


def _sent_back(bar: Bar) -> bool:
    return any(repeat.side == "end" and repeat.at == "end" for repeat in bar.repeats)
