"""A reading held against the truth of the chart that it is of."""

from collections import Counter
from collections.abc import Hashable, Iterable

import engraving
from collaparte.paper.reading import SURE, Reading


def differences(reading: Reading, truth: engraving.Truth, *, words: bool = True) -> list[str]:
    """What was read otherwise than it was engraved, a sentence each; barlines where the engraver told them.

    Without `words` marks and jump words may be missed, but none may surely be wrong.
    """
    out = []
    if (reading.bars, reading.pickup) != (truth.bars, truth.pickup):
        out.append(f"bars {reading.bars, reading.pickup} for {truth.bars, truth.pickup}")
    out += _other("rests", ((r.bar, r.count) for r in reading.multirests), truth.multirests)
    if words:
        out += _other("marks", ((m.text, m.bar) for m in reading.marks), truth.marks)
        # words between two lines may suit both: such a sign must be called doubtful, no other may be wrong
        out += _other("signs", (s.kind.value for s in reading.signs), (kind for kind, _ in truth.signs))
    surely = {(s.kind.value, s.bar) for s in reading.signs if s.confidence >= SURE}
    out += [f"sure of {wrong}" for wrong in surely - set(truth.signs)]
    out += _other("endings", ((e.passes, e.bar, e.last_bar) for e in reading.endings), truth.endings)
    systems = [system for page in reading.pages for system in page.systems]
    if any(len(system.staves) != truth.staves for system in systems):
        out.append("staves")
    if truth.systems and len(systems) != len(truth.systems):
        out.append(f"systems {len(systems)} for {len(truth.systems)}")
    elif truth.systems:
        for n, (system, drawn) in enumerate(zip(systems, truth.systems, strict=True)):
            found = [((line.x - system.staves[0].x0) / system.space, line.kind.value) for line in system.barlines]
            out += _barlines(n, found, drawn)
    return out


def _other(what: str, read: Iterable[Hashable], drawn: Iterable[Hashable]) -> list[str]:
    one, other = Counter(read), Counter(drawn)
    return [] if one == other else [f"{what} {list((one - other).elements())} for {list((other - one).elements())}"]


def _barlines(number: int, found: list[tuple[float, str]], drawn: list[tuple[float, str]]) -> list[str]:
    """Every barline within a staff space of where the engraver drew it, and of its kind; none besides."""
    # the line that joins the staves at the left edge is no barline
    wanted = [line for line in drawn if line[0] > 0.6 or line[1].startswith("repeat")]
    if [kind for _, kind in found] == [kind for _, kind in wanted] and all(
        abs(x - true_x) < 1.2 for (x, _), (true_x, _) in zip(found, wanted, strict=True)
    ):
        return []
    return [f"barlines of system {number}: {found} for {wanted}"]
