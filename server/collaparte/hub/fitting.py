"""One tune's parts on one ruler: the ruler that is there, or one made from the parts that agree. Pure."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from collaparte.music.align import PLACEABLE, agreeing, align
from collaparte.paper.confirmed import PROVEN, confirmed, is_scan
from collaparte.paper.reading import SURE, Reading
from collaparte.paper.ruler import chart, chart_outline, outline
from collaparte.wire.chart import BarId, Chart
from collaparte.wire.outline import Outline

MARKS_IN_COMMON = 2
"""Scans that have no more of their marks in common say nothing of one another: as many bars may be chance."""
LINES_SAID = 3
"""A scan with more doubtful lines than this is told how many, not which."""

FORM_OF_SCANS = "This tune's repeats, jumps and marks were read on scans alone: look whether its form is right."


class Fit(NamedTuple):
    """A part on the ruler: its bars' ids (empty: shown as printed), why it is, and in how many places it differs."""

    bars: tuple[BarId, ...]
    said: tuple[str, ...] = ()
    differs: int = 0


class Fitted(NamedTuple):
    """The ruler (None: no part's bars are sure enough to make one), and each part's fit in the order given."""

    ruler: Chart | None
    fits: tuple[Fit, ...]


def fit(parts: Sequence[tuple[str, Reading]], ruler: Chart | None, mint: Callable[[int], Sequence[BarId]]) -> Fitted:
    """Place parts (name, reading) on the tune's ruler; without one, make it: `mint(n)` gives n new bar ids.

    The ruler is made of the largest group of parts that agree; a part that nobody confirms must be sure of itself.
    A scan is placed when all its lines are sure of themselves, or the ruler bears them out.
    """
    if ruler is None:
        makers = _makers([reading for _, reading in parts])
        if not makers:
            return Fitted(None, tuple(Fit((), (_unsure(name, reading),)) for name, reading in parts))
        readings = [parts[n][1] for n in makers]
        ruler = chart(readings, mint(readings[0].positions))
        fits = tuple(_on(name, reading, ruler) for name, reading in parts)
        if all(is_scan(reading) for reading in readings):
            fits = (fits[0]._replace(said=(*fits[0].said, FORM_OF_SCANS)), *fits[1:])
        return Fitted(ruler, fits)
    return Fitted(ruler, tuple(_on(name, reading, ruler) for name, reading in parts))


def _makers(readings: Sequence[Reading]) -> list[int]:
    counted = [n for n, reading in enumerate(readings) if reading.positions and not is_unsure_scan(reading)]
    if not counted:
        return _bear_each_other_out(readings)
    group = [counted[n] for n in agreeing([outline(readings[n]) for n in counted])]
    if len(group) > 1:
        return group
    return [n for n in counted if readings[n].confidence >= SURE][:1]


def _bear_each_other_out(scans: Sequence[Reading]) -> list[int]:
    """Scans that agree on every bar with a first one, whichever has most of them."""
    groups = []
    for n, one in enumerate(scans):
        others = [m for m, other in enumerate(scans) if m != n and _alike(one, other)]
        groups.append([n, *others])
    group = max(groups, key=len, default=[])
    return group if len(group) > 1 else []


def _alike(one: Reading, other: Reading) -> bool:
    """Whether two scans bear each other out from end to end, and tell whether the first bar is a pickup."""
    seen, others = outline(one), outline(other)
    if seen.pickup != others.pickup or len({*seen.marks} & {*others.marks}) < MARKS_IN_COMMON:
        return False
    return _tells_its_first_bar(one) and is_sure(one, others) and is_sure(other, seen)


def _tells_its_first_bar(reading: Reading) -> bool:
    """Printed numbers say what the first bar is called, or a mark stands there: none stands at a pickup."""
    numbered = any(line.printed_number for page in reading.pages for line in page.systems)
    return numbered or any(mark.bar == 1 for mark in reading.marks)


def is_unsure_scan(reading: Reading) -> bool:
    """Whether it is a scan with a line that its own printed numbers, the tune or a person do not bear out."""
    return is_scan(reading) and reading.confidence < PROVEN


def is_sure(reading: Reading, tune: Outline) -> bool:
    """Whether all lines of a part are sure, of themselves or since the tune bears them out; engraved ones are."""
    return not is_unsure_scan(confirmed(reading, tune))


def _on(name: str, reading: Reading, ruler: Chart) -> Fit:
    if not reading.positions:
        return Fit((), (_unsure(name, reading),))
    if not is_sure(reading, chart_outline(ruler)):
        return Fit((), (_which_lines(name, confirmed(reading, chart_outline(ruler))),))
    placed = align(outline(reading), chart_outline(ruler))
    if placed.agreement < PLACEABLE:
        bars, theirs = _bars(reading.positions), len(ruler.bars)
        why = f"{name} has {bars} where the tune has {theirs}, and they cannot be matched: it is shown as printed."
        return Fit((), (why,))
    differs = len(placed.differences)
    first = 0 if reading.pickup else 1
    extra = [str(reading.called(n + first)) for n, at in enumerate(placed.bars) if at is None]
    if extra:
        # Laid, it would be without these bars; nobody must miss a bar that is on their paper.
        which = f"bar {extra[0]} has" if len(extra) == 1 else f"bars {', '.join(extra)} have"
        why = f"{name} is shown as printed, since {which} no place in the tune; mend it and bring it again."
        return Fit((), (why,), differs)
    return Fit(tuple(ruler.bars[at].id for at in placed.bars if at is not None), differs=differs)


def _which_lines(name: str, reading: Reading) -> str:
    """That a scan is not laid, and which of its lines somebody has to look at."""
    lines = [
        (page + 1, n, line.confidence)
        for page, one in enumerate(reading.pages)
        for n, line in enumerate(one.systems, 1)
    ]
    unsure = [f"line {n} of page {page}" for page, n, sure in lines if sure < PROVEN]
    which = ", ".join(unsure) if len(unsure) <= LINES_SAID else f"{len(unsure)} of its {len(lines)} lines"
    are, them = ("is", "it") if len(unsure) == 1 else ("are", "them")
    return f"{name} is shown as printed, a scan of which {which} {are} not sure: look at {them} on the desk."


def _unsure(name: str, reading: Reading) -> str:
    why = next((page.as_printed for page in reading.pages if page.as_printed), "")
    if why and not reading.positions:
        reason = why.split(";")[0].rstrip(".")
        return f"{name} is shown as printed: {reason[0].lower()}{reason[1:]}."
    if not reading.positions:
        return f"{name} is shown as printed: no bars were found in it."
    return f"{name} is shown as printed: its {_bars(reading.positions)} are not sure, and no other part confirms them."


def _bars(count: int) -> str:
    return f"{count} bar" if count == 1 else f"{count} bars"
