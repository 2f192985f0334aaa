"""Bars numbered anew after corrections, and checked against the numbers that are printed or were said."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from collaparte.paper.doubts import MISMATCH, PICKUP_UNCONFIRMED, UNCONFIRMED
from collaparte.paper.drawn_lines import Bar, Line
from collaparte.paper.numbered import ALONE, BEGIN_AGAIN
from collaparte.paper.reading import SURE, Leap


class Fact(NamedTuple):
    """A bar's number of the count, as printed at its line's head, or as a person `said` it.

    What is printed or said may be `behind` that by bars that go by earlier numbers.
    """

    line: int
    bar: int
    number: int
    said: bool
    behind: int = 0


def count(lines: Sequence[Line], pickup: bool) -> int:
    """Number all bars; the count of written bars, the pickup not counted."""
    number, index = (0, 1) if pickup else (1, 1)
    goes_on = False
    for line in lines:
        for n, bar in enumerate(line.bars):
            bar.continued = n == 0 and goes_on and bar.count == 1
            if bar.continued:
                number, index = number - 1, index - 1
            bar.number, bar.index = number, index
            number, index = number + bar.count, index + bar.count
        if line.bars:
            goes_on = line.open_end
    return number - 1


def facts(
    lines: Sequence[Line],
    said: Sequence[tuple[Line, Bar, int]],
    behind: Sequence[tuple[int, int, int]] = (),
) -> list[Fact]:
    """All numbers that are known, in order; one that the count does not lead to counts on no line that is `settled`.

    `behind`: lines and bars from which on numbers are so many more behind the count.
    """
    out = [_fact(lines.index(line), line.bars.index(bar), number, True, behind) for line, bar, number in said]
    spoken = {fact.line for fact in out}
    for n, line in enumerate(lines):
        printed = line.system.printed_number
        if printed is not None and line.bars and n not in spoken:
            out.append(_fact(n, 0, printed, False, behind))
    return _without_settled(sorted(out), lines)


def _without_settled(facts: Sequence[Fact], lines: Sequence[Line]) -> list[Fact]:
    """Without the printed numbers of settled lines that the count does not lead to."""
    out: list[Fact] = []
    off = 0
    for fact in facts:
        by = fact.number - lines[fact.line].bars[fact.bar].number
        if fact.said or by == off or not lines[fact.line].settled:
            out.append(fact)
            off = by
    return out


def _fact(line: int, bar: int, number: int, said: bool, behind: Sequence[tuple[int, int, int]]) -> Fact:
    fewer = sum(fewer for *at, fewer in behind if at <= [line, bar])
    return Fact(line, bar, number + fewer, said, fewer)


def settle(lines: Sequence[Line], pickup: bool, known: Sequence[Fact]) -> bool:
    """Make the count agree with what was said where it can only be meant in one way; whether there is a pickup.

    A part's first bars may be one off for a pickup; between two known numbers one doubtful rest may have been
    misread. Bars are counted when this returns.
    """
    count(lines, pickup)
    before: Fact | None = None
    for fact in known:
        bar = lines[fact.line].bars[fact.bar]
        off = fact.number - bar.number
        if fact.said and off:
            if before is None and off == (1 if pickup else -1):
                pickup = not pickup
            elif rest := _lone_rest(lines, before, fact):
                rest.count = max(1, rest.count + off)
                rest.confidence = 1.0
            count(lines, pickup)
        if fact.number == bar.number:
            before = fact
    return pickup


def _lone_rest(lines: Sequence[Line], before: Fact | None, fact: Fact) -> Bar | None:
    """The only bar between two places whose count is in doubt."""
    since = (before.line, before.bar) if before else (0, 0)
    doubtful = [
        bar
        for n, line in enumerate(lines)
        for b, bar in enumerate(line.bars)
        if since <= (n, b) < (fact.line, fact.bar) and MISMATCH < bar.confidence < SURE
    ]
    return doubtful[0] if len(doubtful) == 1 else None


class Parting(NamedTuple):
    """Two known numbers that the count does not lead from one to the other: the lines between, and what is said."""

    between: range
    words: str
    at: tuple[int, int]
    """The line, and the bar in it, from which on bars are called by the second."""
    fewer: int
    """How many more they are behind the count from there on."""
    leap: Leap | None
    """None where bars go on to be called by the count."""
    to: Fact


def partings(
    lines: Sequence[Line], known: Sequence[Fact], leapt: Sequence[tuple[int, int, Leap]], *, scanned: bool
) -> list[Parting]:
    """Where the count parts from what is known, in order. On scans only numbers that were `said` are gone by.

    `leapt`: lines, and bars in them, at which printed numbers were read to leap, in mid-line too.
    Where a person called each of the lines between right it is the printed numbers that are wrong from there on.
    """
    out: list[Parting] = []
    off, since, before = 0, (0, 0), 0
    for fact in known:
        counted = lines[fact.line].bars[fact.bar].number
        more = fact.number - counted - off
        last = fact.line if fact.bar else fact.line - 1
        between = range(since[0], max(last, since[0]) + 1)
        if more and (fact.said or not all(lines[n].settled for n in between)):
            usual = None if scanned and not fact.said else Leap.ON
            there = (one for one in leapt if since < one[:2] <= fact[:2] and not fact.said)
            line, bar, leap = next(there, (*fact[:2], usual))
            at = line, bar
            first = lines[since[0]].bars[since[1]].number + before if lines[since[0]].bars else 1
            again = leap is Leap.AGAIN
            words = _again(lines, at, fact) if again else _sentence(lines, fact, counted + off, first)
            out.append(Parting(between, words, at, -more, leap, fact))
            before += more if leap else 0
        off += more
        since = fact[:2]
    return out


def _again(lines: Sequence[Line], at: tuple[int, int], fact: Fact) -> str:
    first, page, counted = lines[at[0]].bars[at[1]].number, lines[at[0]].page, lines[fact.line].bars[fact.bar].number
    return BEGIN_AGAIN.format(first, page + 1, fact.number - fact.behind, counted - fact.behind)


def _sentence(lines: Sequence[Line], fact: Fact, counted: int, first: int) -> str:
    difference = abs(fact.number - counted)
    bars = "bar is" if difference == 1 else "bars are"
    what = "missing" if fact.number > counted else "too many"
    how = "said to be" if fact.said else "numbered"
    return (
        f"The bar on page {lines[fact.line].page + 1} that is {how} {fact.number - fact.behind} would be "
        f"{counted - fact.behind} by the count: {difference} {bars} {what} between bar {first} and there."
    )


def confidence(
    lines: Sequence[Line], known: Sequence[Fact], parted: Sequence[Parting]
) -> tuple[list[float], list[str]]:
    """For each line how sure it is now, and its doubt."""
    wrong = {n: one.words for one in parted for n in one.between}
    alone = _alone(lines, known, parted)
    borne_out = _between_agreeing(lines, known)
    said = any(fact.said for fact in known)
    were_wrong = {line.system.doubt for line in lines if line.system.confidence <= MISMATCH}
    sure, doubts = [], []
    for n, line in enumerate(lines):
        was, doubt = line.system.confidence, line.system.doubt
        if n in wrong:
            was, doubt = MISMATCH, wrong[n]
        elif line.touched or (n in borne_out and was <= MISMATCH):
            was, doubt = 1.0, ""
        elif n in alone:
            was, doubt = min(was, ALONE), parted[-1].words
        elif was == ALONE and doubt in were_wrong:
            was, doubt = 1.0, ""
        elif said and doubt == PICKUP_UNCONFIRMED:
            was, doubt = UNCONFIRMED, ""
        if n not in wrong:
            for bar in line.bars:
                bar.confidence = (
                    1.0 if line.touched or (bar.confidence <= MISMATCH and was > MISMATCH) else bar.confidence
                )
        sure.append(was)
        doubts.append(doubt)
    return sure, doubts


def _alone(lines: Sequence[Line], known: Sequence[Fact], parted: Sequence[Parting]) -> range:
    """The lines that are called by a last printed number that parts from the count, which no other bears out."""
    lone = bool(parted) and parted[-1].to == known[-1] and parted[-1].leap is not None and not known[-1].said
    return range(known[-1].line, len(lines)) if lone else range(0)


def _between_agreeing(lines: Sequence[Line], known: Sequence[Fact]) -> set[int]:
    """Lines between two known numbers that the count leads from one to the other."""
    off = [fact.number - lines[fact.line].bars[fact.bar].number for fact in known]
    out: set[int] = set()
    if known and off[0] == 0:
        out |= set(range(known[0].line))
    for (one, a), (two, b) in pairwise(zip(known, off, strict=True)):
        if a == b:
            out |= set(range(one.line, two.line))
    return out
