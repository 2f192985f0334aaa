"""Jumps: D.S., D.C., To Coda and Fine as places between bars, with where each leads."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from collaparte.music.ruler import SIGNS, bar_in_words, indices
from collaparte.music.sections import Nonsense
from collaparte.wire.chart import Chart

NAMES = {
    "ds": "D.S.",
    "dc": "D.C.",
    "ds-al-coda": "D.S. al Coda",
    "dc-al-coda": "D.C. al Coda",
    "ds-al-fine": "D.S. al Fine",
    "dc-al-fine": "D.C. al Fine",
}


MOST = 200
"""Jump signs of a chart."""


@dataclass(frozen=True)
class Jump:
    """A D.S. or D.C. after the bar before `edge`: taken once, or on these passes of that bar if it names any.

    `until`: "coda", "fine", or "" (plain). `coda`: which coda, if the chart says so. `ending`: which ending is taken
    after it, if the chart says so, else 0.
    """

    edge: int
    target: int
    until: str
    name: str
    passes: tuple[int, ...] = ()
    coda: str = ""
    ending: int = 0


@dataclass(frozen=True)
class Spot:
    """What is said at an edge beside the sign itself: the name of its pair, the passes that it holds on, and for a
    jump which coda it is on its way to and which ending it takes."""

    name: str = ""
    passes: tuple[int, ...] = ()
    coda: str = ""
    ending: int = 0


@dataclass(frozen=True)
class Jumps:
    """All jumps of a chart. An edge is the 0-based index of the bar that follows it.

    `to_codas`, `fines`: by edge. `codas`: by the bar (0-based) to land on. `notes`: sentences about signs left alone.
    """

    jumps: tuple[Jump, ...]
    to_codas: Mapping[int, Spot]
    codas: Mapping[int, Spot]
    fines: Mapping[int, Spot]
    notes: tuple[str, ...]
    only_as_said: bool = False
    """A Fine or To Coda holds only after a jump that says so, or after the last one."""

    def coda_after(self, jump: Jump | None, edge: int) -> int | None:
        """Where leaving at `edge` after this jump lands: at the coda of its name (of no name, where it has none), or
        else at any. If there are several of these, at the first one behind the jump, or else behind the edge."""
        behind = [coda for coda in self.codas if coda > edge]
        name = self.to_codas[edge].name or (jump.coda if jump else "")
        named = [coda for coda in behind if self.codas[coda].name == name] or behind
        return next((coda for coda in named if jump is None or coda >= jump.edge), next(iter(named), None))

    def without_turns(self) -> "Jumps":
        """The same, each To Coda holding as is the custom, whatever times it names."""
        return replace(self, to_codas={edge: Spot(spot.name) for edge, spot in self.to_codas.items()})

    def as_said(self) -> "Jumps":
        """The same, no Fine or To Coda holding after a jump that does not say so, but for the last one."""
        return replace(self, only_as_said=True)

    def leads_to(self, jump: Jump | None, edge: int) -> bool:
        """Whether the To Coda at `edge` is the one that the jump is on its way to: none of another name."""
        name = self.to_codas[edge].name
        names = {spot.name for spot in self.to_codas.values()}
        return not jump or jump.coda not in names or name == jump.coda


def jumps(chart: Chart) -> Jumps:
    """The jumps of a chart without faults; raises `Nonsense`."""
    spots = _spots(chart)
    if sum(map(len, spots.values())) > MOST:
        raise Nonsense(f"There are more than {MOST} jump signs.")
    segnos, leaving, fines = spots["segno"], spots["to-coda"], spots["fine"]
    found: list[Jump] = []
    astray: list[str] = []
    for kind, name in NAMES.items():
        for edge, spot in spots[kind].items():
            place = place_of(spot.name)
            target = _bar_of(chart, place) if place else 0 if kind[:2] == "dc" else _segno_of(spot, edge, segnos)
            if place and (target is None or target >= edge):
                astray.append(f'"Back to {place}" at {_before(chart, edge)} finds no {place} to go back to.')
                continue
            if target is None:
                raise Nonsense(f"The {name} at {_before(chart, edge)} has no segno before it.")
            called = f"Back to {place}" if place else name
            found.append(Jump(edge, target, kind[6:], called, spot.passes, spot.coda, spot.ending))
    found.sort(key=lambda jump: jump.edge)
    codas = {coda: spot for coda, spot in spots["coda"].items() if coda not in leaving}
    if not leaving and len(codas) > 1 and any(jump.until == "coda" for jump in found):
        # Common practice: the first of two bare coda signs is where one leaves, the other where one lands.
        first = min(codas)
        leaving = {first: codas.pop(first)}
    notes = _notes(chart, found, list(segnos), [edge for edge, spot in fines.items() if not spot.passes])
    all_jumps = Jumps(tuple(found), leaving, codas, fines, (*astray, *notes))
    for one, other in pairwise(found):
        if one.edge == other.edge and not (one.passes or other.passes):
            raise Nonsense(f"There are both {one.name} and {other.name} at {_before(chart, one.edge)}.")
    for jump in found:
        where = f"There is a {jump.name} at {_before(chart, jump.edge)}"
        if jump.until == "coda" and not leaving:
            raise Nonsense(f"{where} but no To Coda for it.")
        if jump.until == "coda" and all(all_jumps.coda_after(jump, edge) is None for edge in leaving):
            raise Nonsense(f"{where} but no Coda for it.")
        if jump.until == "fine" and not fines:
            raise Nonsense(f"{where} but no Fine.")
    return all_jumps


def place_of(name: str) -> str:
    """The place that a D.S. goes back to where that is no segno ("A" of "mark A", "bar 5"); "" where it is one."""
    return name.removeprefix("mark ") if name.startswith("mark ") else name if name.startswith("bar ") else ""


def _bar_of(chart: Chart, place: str) -> int | None:
    """The one bar (0-based) that a place names: a mark's, or the bar of that number."""
    number = place.removeprefix("bar ")
    if number != place:
        numbered = [n for n, bar in enumerate(chart.bars) if str(bar.number) == number and bar.counted]
        return numbered[0] if len(numbered) == 1 else None
    marks = {mark.bar for mark in chart.marks if mark.text.strip().casefold() == place.casefold()}
    return next((n for n, bar in enumerate(chart.bars) if marks == {bar.id}), None)


def _spots(chart: Chart) -> dict[str, dict[int, Spot]]:
    """By kind, the edges where signs stand, in order, each once though every part prints it. Landings are followed
    by a bar."""
    at = indices(chart)
    found: dict[str, dict[int, Spot]] = {kind: {} for kind in SIGNS}
    for sign in sorted(chart.signs, key=lambda sign: at[sign.bar] + (sign.at == "end")):
        edge = at[sign.bar] + (sign.at == "end")
        if edge < len(chart.bars) or sign.kind not in ("segno", "coda"):
            before = found[sign.kind].get(edge, Spot())
            found[sign.kind][edge] = Spot(
                before.name or sign.name,
                before.passes or sign.passes,
                before.coda or sign.coda,
                before.ending or sign.ending,
            )
    return found


def _segno_of(jump: Spot, edge: int, segnos: Mapping[int, Spot]) -> int | None:
    """The last segno before the jump of its name (of no name, where it has none), or else of any."""
    before = [segno for segno in segnos if segno < edge]
    named = [segno for segno in before if segnos[segno].name == jump.name]
    return max(named or before, default=None)


def _notes(chart: Chart, found: list[Jump], segnos: list[int], fines: list[int]) -> list[str]:
    notes = []
    if segnos and not any(jump.name.startswith("D.S.") for jump in found):
        notes.append(f"There is a segno at {bar_in_words(chart.bars[segnos[0]])} but no D.S. that goes back to it.")
    if any(fine < len(chart.bars) for fine in fines) and not found:
        notes.append(f"There is a Fine at {_before(chart, min(fines))} but no D.S. or D.C. that leads to it.")
    return notes


def _before(chart: Chart, edge: int) -> str:
    return bar_in_words(chart.bars[max(edge - 1, 0)])
