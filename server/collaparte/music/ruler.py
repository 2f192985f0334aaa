"""The ruler: a chart's bars in document order, and whether its signs refer to bars that it has."""

from collections.abc import Iterator, Mapping

from collaparte.wire.chart import BarId, Chart, ChartBar

SIGNS = frozenset(
    ("segno", "coda", "to-coda", "fine", "ds", "ds-al-coda", "ds-al-fine", "dc", "dc-al-coda", "dc-al-fine")
)
"""The kinds of sign that a chart may hold."""


def indices(chart: Chart) -> Mapping[BarId, int]:
    """Bar id -> 0-based place in document order."""
    return {bar.id: index for index, bar in enumerate(chart.bars)}


def bar_in_words(bar: ChartBar) -> str:
    """A bar as it is called by number: "bar 33", "bar 4a", "the rest of bar 4", "the pickup"."""
    if bar.number == 0 and not bar.label:
        return "the pickup"
    name = f"bar {bar.label or bar.number}"
    return name if bar.counted or bar.label else f"the rest of {name}"


def fault(chart: Chart) -> str:
    """What makes this chart unusable as a ruler, in one sentence; "" if nothing does."""
    return next(_faults(chart), "")


def _faults(chart: Chart) -> Iterator[str]:
    known = indices(chart)
    if not chart.bars:
        yield "The chart has no bars."
    if len(known) < len(chart.bars):
        yield "The chart has the same bar id twice."
    if any(not bar.id for bar in chart.bars):
        yield "The chart has a bar without an id."
    for what, bar in _references(chart):
        if bar not in known:
            yield f"{what} of the chart stands at a bar that the chart does not have ({bar!r})."
    for mark in chart.marks:
        if not mark.text.strip():
            yield "The chart has a rehearsal mark without a text."
    for sign in chart.signs:
        if sign.kind not in SIGNS:
            yield f"The chart has a sign of an unknown kind ({sign.kind!r})."
        if any(number < 1 for number in sign.passes):
            yield f"The chart has a sign for time {min(sign.passes)} through."
    for repeat in chart.repeats:
        if repeat.times < 1:
            yield f"The chart has a repeat that is played {repeat.times} times."
    for ending in chart.endings:
        if known.get(ending.last, 0) < known.get(ending.bar, 0):
            yield "The chart has an ending whose last bar comes before its first."


def _references(chart: Chart) -> Iterator[tuple[str, BarId]]:
    for mark in chart.marks:
        yield f"The mark {mark.text!r}", mark.bar
    for sign in chart.signs:
        yield f"The sign {sign.kind!r}", sign.bar
    for repeat in chart.repeats:
        yield f"A repeat {repeat.side}", repeat.bar
    for ending in chart.endings:
        yield "An ending", ending.bar
        yield "An ending", ending.last
