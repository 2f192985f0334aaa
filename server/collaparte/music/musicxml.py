"""MusicXML to the ruler: the bars of a score, with the signs that make its form (MusicXML 4.0, W3C, 2021).

All parts have the same bars; of what is printed in several parts (repeats, endings, jumps, marks) the first part that
has it leads. Where the print and what a machine would play contradict each other the print holds: players see it.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar
from xml.etree.ElementTree import Element

import msgspec

from collaparte.music.barsigns import Bar, bar_of
from collaparte.music.jumpwords import asked
from collaparte.music.ruler import fault
from collaparte.music.scorefile import NotMusicXml, score_tree
from collaparte.music.scorerepeats import alone, endings, repeats
from collaparte.music.scoresigns import chart_signs, signs, with_turns
from collaparte.wire.chart import BarId, Chart, ChartBar, ChartEnding, ChartMark, ChartMeter, ChartRepeat

__all__ = ["NotMusicXml", "Score", "numbered", "read_score"]


MOST_BARS = 20_000
"""A show's book has some 5,000."""


class Score(msgspec.Struct, frozen=True):
    """What a MusicXML file says of a tune. `diagnosis`: in sentences, what of it could not be used, "" if nothing."""

    title: str
    chart: Chart
    diagnosis: str = ""


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
    title = _title(root)
    if len(lead) > MOST_BARS:
        raise NotMusicXml(f"The score has {len(lead)} bars, which no band's score has.")
    same = [part for part in parts if len(part) == len(lead)]
    notes = [
        f"Part {n} has {len(part)} bars where part 1 has {len(lead)}; part 1 leads."
        for n, part in enumerate(parts, start=1)
        if len(part) != len(lead)
    ]
    places = [[part[place] for part in same] for place in range(len(lead))]
    notes += [f"Bar {bars[0].number} {odd}." for bars in places for odd in dict.fromkeys(_all(b.odd for b in bars))]
    notes += [
        f'The words "{words}" at bar {bars[0].number} speak of a jump but not which, so they are left to the players.'
        for bars in places
        for words in dict.fromkeys(_all(bar.about for bar in bars))
    ]
    notes += [
        f'The page says "{words}" outside the music; a jump is followed where it stands at a bar.'
        for words in _beside(root)
        if words != title and (said := asked(words)) and said.kind[:2] in ("ds", "dc")
    ]
    minted = ids(len(lead))
    found = signs(same)
    for bars in places:
        # One part's "4x" is everybody's.
        counts = next((bar.counts for bar in bars if bar.counts), [])
        left_open = next((bar.open for bar in bars if bar.open), [])
        for bar in bars:
            bar.counts, bar.open = counts, left_open
    by_bracket = [endings(part, notes) for part in same]
    brackets = _first(by_bracket)
    by_part = [repeats(part, minted, notes) for part in same]
    repeated = _first(by_part)
    if repeated and not by_part[0]:
        notes.append("Repeats stand in a part other than the first, which has none; they are taken.")
    notes += [
        f"Part {n} has other {what} than part {first}; part {first} leads."
        for what, ours in (("repeats", by_part), ("endings", by_bracket))
        for first, n in _others(ours, [n for n, part in enumerate(parts, start=1) if len(part) == len(lead)])
    ]
    ends = {repeat.bar for repeat in repeated if repeat.side == "end"}
    lone = alone(brackets, {place for place, bar in enumerate(minted) if bar in ends})
    notes += [
        f"The first ending at bar {lead[ending.first].number} has no second after it, so its repeat is not taken."
        for ending in lone
    ]
    untaken = {minted[ending.last] for ending in lone}
    again = next((sign.again for _, sign in found if sign.again is not None), None)
    if again is not None and any(repeat.after_jump not in (None, again) for repeat in repeated):
        notes.append(
            "A jump says in print how its repeats are taken, and a repeat otherwise to a machine; print holds."
        )
    chart = Chart(
        bars=tuple(_called(lead, minted)),
        marks=_first(_marks(part, minted) for part in same),
        signs=chart_signs(found, minted),
        repeats=tuple(
            ChartRepeat(
                repeat.side,
                repeat.bar,
                1 if repeat.bar in untaken else repeat.times,
                again if repeat.side == "end" and again is not None else repeat.after_jump,
            )
            for repeat in repeated
        ),
        endings=tuple(
            ChartEnding(ending.passes, minted[ending.first], minted[ending.last])
            for ending in brackets
            if ending not in lone
        ),
        meters=tuple(ChartMeter(bar.meter, id) for bar, id in zip(lead, minted, strict=True) if bar.meter),
        tempo=next((part[0].tempo for part in same if part[0].tempo), ""),
    )
    if not fault(chart):
        chart = msgspec.structs.replace(chart, signs=with_turns(chart, found))
    return Score(title, chart, " ".join(dict.fromkeys(notes)))


_Thing = TypeVar("_Thing")


def _first(found: Iterable[tuple[_Thing, ...]]) -> tuple[_Thing, ...]:
    return next((things for things in found if things), ())


def _others(found: Sequence[tuple[object, ...]], numbers: Sequence[int]) -> list[tuple[int, int]]:
    """The number of the part that leads with each that has such signs too, but other ones."""
    having = [(n, things) for n, things in zip(numbers, found, strict=True) if things]
    return [(having[0][0], n) for n, things in having[1:] if things != having[0][1]]


def _all(lists: Iterable[list[str]]) -> list[str]:
    return [one for each in lists for one in each]


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


def _beside(root: Element) -> list[str]:
    """What is printed on the pages outside the music (`credit-words`)."""
    return [" ".join("".join(words.itertext()).split()) for words in root.iterfind("credit/credit-words")]


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


def _marks(part: list[Bar], ids: Sequence[BarId]) -> tuple[ChartMark, ...]:
    found = ((text, place + (at == "end")) for place, bar in enumerate(part) for text, at in bar.marks)
    return tuple(dict.fromkeys(ChartMark(text, ids[place]) for text, place in found if place < len(ids)))
