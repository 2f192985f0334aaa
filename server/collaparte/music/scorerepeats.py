"""Repeats and endings of a MusicXML score, from what its bars say.

Common practice: behind a final bar line another movement begins, so a repeat that ends there without a start goes back
to that line and no further; no general library does so, hence it is told.
"""

import re
from collections.abc import Container, Iterable, Sequence
from typing import NamedTuple

from collaparte.music.barsigns import Bar, Bracket, Edge
from collaparte.wire.chart import BarId, ChartRepeat

_NUMBERS = re.compile(r" *[1-9][0-9]*(, ?[1-9][0-9]*)* *")
"""An ending's `number` (MusicXML 4.0, `ending-number`); blank is legal too and leaves it to the reader."""

_PRINTED = re.compile(r"[1-9]\d?\.?(?: ?[-–,.&+/] ?[1-9]\d?\.?| [1-9]\d?\.?)* ?:?")
"""Times as they are printed on a bracket: "1.", "1.-3.", "1. 2.", "2, 4"."""


class Ending(NamedTuple):
    """First and last bar (0-based) of a bracketed ending, and the times on which it is played."""

    first: int
    last: int
    passes: tuple[int, ...]


def repeats(part: Sequence[Bar], ids: Sequence[BarId], notes: list[str]) -> tuple[ChartRepeat, ...]:
    """Each sign once, though the bars on both sides of a bar line may write it; with its count, from the sign or from
    words over its bars ("3x"). `notes` gets what contradicts itself."""
    said: dict[tuple[Edge, int], tuple[int | None, bool | None]] = {}
    for place, bar in enumerate(part):
        for repeat in bar.repeats:
            edge = place + (repeat.at == "end")
            at = edge if repeat.side == "start" else edge - 1
            if 0 <= at < len(ids):
                times, again = said.get((repeat.side, at), (None, None))
                said[repeat.side, at] = (times or repeat.times, repeat.after_jump if again is None else again)
    found, begun, start = [], 0, None
    for (side, at), (times, again) in sorted(said.items(), key=lambda one: (one[0][1], one[0][0] == "end")):
        if side == "start":
            start = at
        else:
            first = begun if start is None or start < begun else start
            closed = behind_final(first, at, [n for n in range(first, at) if part[n].ends])
            if first != start and closed != first:
                first = closed
                found.append(ChartRepeat("start", ids[first]))
                notes.append(
                    f"The repeat that ends at bar {part[at].number} has no start; it is taken from the final bar line "
                    f"at bar {part[first - 1].number} on."
                )
            printed = next((count for bar in part[first : at + 1] for count in bar.counts), None)
            if said_open := next((words for bar in part[first : at + 1] for words in bar.open), ""):
                notes.append(open_note(said_open, f"bar {part[at].number}"))
            if any(not bracket.begins and bracket.at == "end" for bracket in part[at].brackets):
                times = None  # "only used ... where the repeat is not within an ending" (MusicXML 4.0, `repeat@times`)
            if printed and times and printed != times:
                notes.append(f"The repeat that ends at bar {part[at].number} is to be played {printed} times in print.")
            times, begun = printed or times, at + 1
        found.append(ChartRepeat(side, ids[at], times or 2, again))
    return tuple(found)


def behind_final(first: int, last: int, finals: Iterable[int]) -> int:
    """Where (0-based) bars that are repeated from `first` to `last` begin if no sign says so: behind the last of the
    bars `finals` among them, each of which a final bar line closes."""
    return max((final + 1 for final in finals if first <= final < last), default=first)


def open_note(words: str, where: str) -> str:
    """The sentence about a repeat that print leaves to a cue."""
    return f'"{words}" leaves the repeat that ends at {where} to a cue; it is as its signs say until the MD opens it.'


def endings(part: Sequence[Bar], notes: list[str]) -> tuple[Ending, ...]:
    """The bracketed endings; `notes` gets sentences about brackets that are not whole."""
    found: list[Ending] = []
    opened: tuple[int, Bracket] | None = None

    def close(last: int, stop: Bracket | None) -> None:
        nonlocal opened
        first, bracket = opened if opened else (last, stop)
        called = part[first].number
        if not opened:
            notes.append(f"An ending stops at bar {called} but begins nowhere; it is taken for that bar.")
        passes = _passes(bracket) if bracket else ()
        before = found[-1] if found else None
        if not passes:
            passes = (max(before.passes) + 1,) if before and before.last + 1 == first else (1,)
            notes.append(f"The ending at bar {called} has no number; it is taken for time {passes[0]}.")
        found.append(Ending(first, max(first, last), passes))
        opened = None

    for place, bar in enumerate(part):
        for bracket in sorted(bar.brackets, key=lambda bracket: (bracket.at == "end", bracket.begins)):
            edge = place + (bracket.at == "end")
            if bracket.begins:
                if opened:
                    close(edge - 1, None)
                opened = (edge, bracket) if edge < len(part) else None
            elif opened or _sent_back(bar):
                close(edge - 1, bracket)
    if opened:
        close(opened[0], None)
    return tuple(found)


def alone(endings: Sequence[Ending], sent_back: Container[int]) -> list[Ending]:
    """First endings with a repeat but no bracket after them. What comes on the second time is a guess, and general
    libraries do not take the repeat (Joplin, Maple Leaf Rag, in the corpus); so what is written is played, and told.
    `sent_back`: the bars (0-based) behind which a repeat ends."""
    begins = {ending.first for ending in endings}
    over = {ending.last + 1 for ending in endings}
    return [
        ending
        for ending in endings
        if 1 in ending.passes
        and ending.last in sent_back
        and ending.last + 1 not in begins
        and ending.first not in over
    ]


def _passes(bracket: Bracket) -> tuple[int, ...]:
    """The times on a bracket; () if it has none. What is printed holds, where it is a list of times."""
    if _PRINTED.fullmatch(bracket.printed):
        return _listed(bracket.printed)
    if _NUMBERS.fullmatch(bracket.number) or _PRINTED.fullmatch(bracket.number.strip()):
        return _listed(bracket.number)
    return ()


def _listed(text: str) -> tuple[int, ...]:
    """ "1.-3." as 1, 2, 3; "2, 4" as 2, 4."""
    spans = re.findall(r"(\d+)\.?(?: ?[-–] ?(\d+))?", text)
    times = {n for first, last in spans for n in range(int(first[:3]), int((last or first)[:3]) + 1)}
    return tuple(sorted(times))


def _sent_back(bar: Bar) -> bool:
    return any(repeat.side == "end" and repeat.at == "end" for repeat in bar.repeats)
