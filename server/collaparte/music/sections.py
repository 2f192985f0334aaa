"""Repeated sections: which bars each repeat sign and bracketed ending makes one plays again, and how often.

Conventions followed, with their sources:
- An end-repeat without a start goes back to the bar after the previous end-repeat, or to the top (the human encoder's
  expansion list in the Humdrum score of Beethoven op. 18/1 iii; MusicXML 4.0, `sound@forward-repeat`).
- An end-repeat without a start in a coda goes back to where the coda begins, not to the top (common practice).
- The highest ending number is the number of times played (Wikipedia, "Repeat sign").
"""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from collaparte.music.ruler import bar_in_words, indices
from collaparte.wire.chart import Chart

MOST = 100
"""Times that bars are played by one repeat; more come only of misread or mistyped counts."""


class Nonsense(ValueError):
    """Signs that contradict each other, in one sentence."""


@dataclass(frozen=True)
class Ending:
    """A bracketed ending: first and last bar (0-based, inclusive) and the passes on which it is played."""

    first: int
    last: int
    passes: frozenset[int]


@dataclass(frozen=True)
class Section:
    """Bars `first`..`last` (0-based, inclusive, endings included), played `times` in all.

    `ends`: the bars after which an end-repeat sign sends one back. `after_jump`: whether it is taken again after a
    D.C. or D.S., None if the chart does not say.
    """

    first: int
    last: int
    times: int
    ends: frozenset[int]
    endings: tuple[Ending, ...] = ()
    after_jump: bool | None = None

    def ending_on(self, pass_: int) -> Ending | None:
        """The ending played on this pass; None: no bracket names it, go on after the last one."""
        return next((ending for ending in self.endings if pass_ in ending.passes), None)

    def ending_called(self, number: int) -> Ending | None:
        """The "2nd ending" as players call it: the one that begins with that time, or else the bracket so many from
        the first on."""
        own = next((ending for ending in self.endings if min(ending.passes) == number), None)
        return own or (self.endings[number - 1] if number <= len(self.endings) else None)


@dataclass(frozen=True)
class Sections:
    """All sections of a chart in document order, and sentences about repeat signs that could not be used."""

    sections: tuple[Section, ...]
    notes: tuple[str, ...]


def sections(chart: Chart) -> Sections:
    """The repeated sections of a chart without faults; raises `Nonsense`."""
    at = indices(chart)
    starts = sorted({at[repeat.bar] for repeat in chart.repeats if repeat.side == "start"})
    ends = {at[repeat.bar]: repeat.times for repeat in chart.repeats if repeat.side == "end"}
    said = {at[repeat.bar]: repeat.after_jump for repeat in chart.repeats if repeat.side == "end"}
    found: list[Section] = []
    unclosed: list[int] = []
    more: list[str] = []
    used = 0
    jumps = _jump_edges(chart)
    codas = _codas_behind(chart, jumps)
    closing = sorted(ends)
    for body_end, last, endings in _closures(chart, starts, ends):
        opened = starts[bisect_left(starts, used) : bisect_right(starts, body_end)]
        if not opened and unclosed:
            raise _nested(chart, unclosed[-1])
        coda = [place for place in codas if used <= place <= body_end]
        first = opened[-1] if opened else coda[-1] if coda else used
        unclosed += opened[:-1]
        inside = frozenset(closing[bisect_left(closing, first) : bisect_right(closing, last)])
        again = next((said[end] for end in sorted(inside) if said[end] is not None), None)
        times = _times(chart, ends, inside, endings, jumps)
        said_times = max((ends[end] for end in inside), default=0)
        if len(endings) > 2 and times < said_times:
            where = _bar(chart, endings[0].first)
            more.append(
                f"The {len(endings)} endings from {where} on are to be played {said_times} times; "
                "the one before the last comes as often as that leaves."
            )
        endings, times = _as_often(endings, times, said_times)
        found.append(Section(first, last, times, inside, endings, again))
        used = last + 1
    unclosed += [start for start in starts if start >= used]
    notes = tuple(
        f"The repeat that starts at {_bar(chart, start)} has no end, so it is not played." for start in unclosed
    )
    return Sections(tuple(found), (*more, *notes))


def _closures(chart: Chart, starts: list[int], ends: dict[int, int]) -> list[tuple[int, int, tuple[Ending, ...]]]:
    """What closes a section: (last bar before it closes, last bar of all, endings), in document order."""
    groups = _ending_groups(chart, starts, ends)
    bracketed = {bar for group in groups for bar in range(group[0].first, group[-1].last + 1)}
    closures = [(group[0].first - 1, group[-1].last, group) for group in groups]
    closures += [(end, end, ()) for end in ends if end not in bracketed]
    return sorted(closures, key=lambda closure: closure[1])


def _ending_groups(chart: Chart, starts: list[int], ends: dict[int, int]) -> list[tuple[Ending, ...]]:
    """Endings that belong together: each starts where the one before it stops, the first with pass 1."""
    at = indices(chart)
    groups: list[list[Ending]] = []
    follows = {at[bracket.bar] for bracket in chart.endings if 1 not in bracket.passes}
    for bracket in sorted(set(chart.endings), key=lambda bracket: at[bracket.bar]):
        first, last = at[bracket.bar], at[bracket.last]
        # A bracket over the start of the next repeat is over where that begins.
        next_start = bisect_right(starts, first)
        if next_start < len(starts) and starts[next_start] <= last:
            if last in ends and last + 1 in follows:
                raise _nested(chart, starts[next_start])
            last = starts[next_start] - 1
        ending = Ending(first, last, frozenset(bracket.passes))
        where = _bar(chart, ending.first)
        if not ending.passes:
            raise Nonsense(f"The ending at {where} has no number, so its turn is not known.")
        if min(ending.passes) < 1:
            raise Nonsense(f"The ending at {where} is numbered {min(ending.passes)}.")
        before = groups[-1][-1] if groups else None
        if before and first == before.last + 1 and first in starts and before.last in ends and 1 not in bracket.passes:
            if len(groups[-1]) > 1:
                raise _nested(chart, first)
            continue  # a bracket over the next repeat's first bars: one goes on there after the last time
        # A bracket is sometimes drawn shorter than its bars: the end-repeat right before the next bracket tells.
        if before and ending.first - 1 in ends and before.last < ending.first - 1 and 1 not in ending.passes:
            before = Ending(before.first, ending.first - 1, before.passes)
            groups[-1][-1] = before
        if before and ending.first <= before.last:
            raise Nonsense(f"The ending at {where} begins before the one in front of it is over.")
        if before and ending.first == before.last + 1 and 1 not in ending.passes:
            groups[-1].append(ending)
        elif 1 in ending.passes:
            groups.append([ending])
        else:
            raise Nonsense(f"The ending at {where} has no first ending in front of it.")
    return [tuple(group) for group in groups]


def _times(
    chart: Chart, ends: dict[int, int], inside: frozenset[int], endings: tuple[Ending, ...], jumps: set[int]
) -> int:
    if not endings:
        times = max(ends[end] for end in inside)
        if times > MOST:
            raise Nonsense(f"The repeat that ends at {_bar(chart, max(inside))} is to be played {times} times.")
        return times
    for ending in endings[:-1]:
        if ending.last not in inside and ending.last + 1 not in jumps:
            raise Nonsense(f"The ending at {_bar(chart, ending.first)} has no repeat sign after it.")
    named = [number for ending in endings for number in ending.passes]
    if len(named) > len(set(named)):
        raise Nonsense(f"Two of the endings from {_bar(chart, endings[0].first)} on are for the same time.")
    highest = max(named)
    if highest > MOST:
        raise Nonsense(f"There is an ending for time {highest} from {_bar(chart, endings[0].first)} on.")
    if set(named) != set(range(1, highest + 1)):
        raise Nonsense(f"The endings from {_bar(chart, endings[0].first)} on leave out a time between 1 and {highest}.")
    # A lone bracket with an end-repeat: the last time through goes on after it, as the second ending.
    return highest + 1 if len(endings) == 1 and endings[0].last in inside else highest


def _as_often(endings: tuple[Ending, ...], times: int, said: int) -> tuple[tuple[Ending, ...], int]:
    """Of two endings under "play 4 times" the first is played each time but the last (common practice); of more, the
    one before the last, as when the MD says so."""
    if len(endings) < 2 or not times < said <= MOST:
        return endings, times
    *before, again, last = endings
    again = Ending(again.first, again.last, again.passes | frozenset(range(times, said)))
    return (*before, again, Ending(last.first, last.last, frozenset((said,)))), said


def _nested(chart: Chart, start: int) -> Nonsense:
    return Nonsense(f"The repeats around {_bar(chart, start)} lie one inside the other, so their order is not sure.")


def _jump_edges(chart: Chart) -> set[int]:
    """The bars (0-based) that a D.S. or D.C. stands in front of."""
    at = indices(chart)
    return {at[sign.bar] + (sign.at == "end") for sign in chart.signs if sign.kind[:2] in ("ds", "dc")}


def _codas_behind(chart: Chart, jumps: set[int]) -> list[int]:
    """The bars (0-based) at which codas begin that stand behind a D.S. or D.C."""
    at = indices(chart)
    codas = {at[sign.bar] + (sign.at == "end") for sign in chart.signs if sign.kind == "coda"}
    return sorted(coda for coda in codas if jumps and coda >= min(jumps))


def _bar(chart: Chart, index: int) -> str:
    return bar_in_words(chart.bars[index])
