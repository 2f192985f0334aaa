"""One tune's parts on one ruler: the ruler that is there, or one made from the parts that agree. Pure."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from collaparte.music.align import PLACEABLE, agreeing, align
from collaparte.paper.reading import SURE, Reading
from collaparte.paper.ruler import chart, chart_outline, outline
from collaparte.wire.chart import BarId, Chart


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
    """
    if ruler is None:
        makers = _makers([reading for _, reading in parts])
        if not makers:
            return Fitted(None, tuple(Fit((), (_unsure(name, reading),)) for name, reading in parts))
        readings = [parts[n][1] for n in makers]
        ruler = chart(readings, mint(readings[0].positions))
    return Fitted(ruler, tuple(_on(name, reading, ruler) for name, reading in parts))


def _makers(readings: Sequence[Reading]) -> list[int]:
    counted = [n for n, reading in enumerate(readings) if reading.positions]
    group = [counted[n] for n in agreeing([outline(readings[n]) for n in counted])]
    if len(group) > 1:
        return group
    return [n for n in counted if readings[n].confidence >= SURE][:1]


def _on(name: str, reading: Reading, ruler: Chart) -> Fit:
    if not reading.positions:
        return Fit((), (_unsure(name, reading),))
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
