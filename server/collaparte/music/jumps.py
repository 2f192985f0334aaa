"""Jumps: D.S., D.C., To Coda and Fine as places between bars, with where each leads."""

from dataclasses import dataclass

from collaparte.music.ruler import bar_in_words, indices
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


@dataclass(frozen=True)
class Jump:
    """A D.S. or D.C., taken once, after the bar before `edge`. `until`: "coda", "fine", or "" (plain)."""

    edge: int
    target: int
    until: str
    name: str


@dataclass(frozen=True)
class Jumps:
    """All jumps of a chart. An edge is the 0-based index of the bar that follows it.

    `to_codas`, `fines`: edges. `codas`: bars (0-based) to land on. `notes`: sentences about signs left alone.
    """

    jumps: tuple[Jump, ...]
    to_codas: frozenset[int]
    codas: tuple[int, ...]
    fines: frozenset[int]
    notes: tuple[str, ...]

    def coda_after(self, jump: Jump, edge: int) -> int | None:
        """Where leaving at `edge` after this jump lands: the first coda behind the jump, else any behind the edge."""
        behind = [coda for coda in self.codas if coda > edge]
        return next((coda for coda in behind if coda >= jump.edge), behind[0] if behind else None)


def jumps(chart: Chart) -> Jumps:
    """The jumps of a chart without faults; raises `Nonsense`."""
    segnos, codas, leaving = _landings(chart, "segno"), _landings(chart, "coda"), _edges(chart, "to-coda")
    found = []
    for kind, name in NAMES.items():
        for edge in _edges(chart, kind):
            target = 0 if kind.startswith("dc") else max((segno for segno in segnos if segno < edge), default=-1)
            if target < 0:
                raise Nonsense(f"The {name} at {_before(chart, edge)} has no segno before it.")
            found.append(Jump(edge, target, kind[6:], name))
    found.sort(key=lambda jump: jump.edge)
    codas = [coda for coda in codas if coda not in leaving]
    if not leaving and len(codas) > 1 and any(jump.until == "coda" for jump in found):
        # Common practice: the first of two bare coda signs is where one leaves, the other where one lands.
        leaving, codas = codas[:1], codas[1:]
    fines = _edges(chart, "fine")
    all_jumps = Jumps(
        tuple(found),
        frozenset(leaving),
        tuple(codas),
        frozenset(fines),
        tuple(_notes(chart, found, leaving, segnos, fines)),
    )
    for jump in found:
        where = f"There is a {jump.name} at {_before(chart, jump.edge)}"
        if jump.until == "coda" and not leaving:
            raise Nonsense(f"{where} but no To Coda for it.")
        if jump.until == "coda" and all(all_jumps.coda_after(jump, edge) is None for edge in leaving):
            raise Nonsense(f"{where} but no Coda for it.")
        if jump.until == "fine" and not fines:
            raise Nonsense(f"{where} but no Fine.")
    return all_jumps


def _edges(chart: Chart, kind: str) -> list[int]:
    """The edges where signs of this kind stand, in order, each once though every part prints it."""
    at = indices(chart)
    return sorted({at[sign.bar] + (sign.at == "end") for sign in chart.signs if sign.kind == kind})


def _landings(chart: Chart, kind: str) -> list[int]:
    """Edges that one can land on: a bar follows."""
    return [edge for edge in _edges(chart, kind) if edge < len(chart.bars)]


def _notes(chart: Chart, found: list[Jump], leaving: list[int], segnos: list[int], fines: list[int]) -> list[str]:
    notes = []
    if leaving and not found:
        notes.append(f"There is a To Coda at {_before(chart, leaving[0])} but no D.S. or D.C. that leads to it.")
    if segnos and not any(jump.name.startswith("D.S.") for jump in found):
        notes.append(f"There is a segno at {bar_in_words(chart.bars[segnos[0]])} but no D.S. that goes back to it.")
    if any(fine < len(chart.bars) for fine in fines) and not found:
        notes.append(f"There is a Fine at {_before(chart, min(fines))} but no D.S. or D.C. that leads to it.")
    return notes


def _before(chart: Chart, edge: int) -> str:
    return bar_in_words(chart.bars[max(edge - 1, 0)])
