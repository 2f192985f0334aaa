"""How long a tune takes, about: from the tempo at its head and the bars that are played."""

import re

from collaparte.band.state import Tune
from collaparte.music.beats import counted
from collaparte.music.ruler import indices
from collaparte.wire.chart import BarId, Chart

_FIGURE = re.compile(r"=\s*(?:c(?:a|irca)?\.?\s*)?(\d{2,3}(?:[.,]\d)?)(?!\d)")
_METER = re.compile(r"(\d{1,2}(?:\+\d{1,2})*)/(\d{1,2})")


def seconds(tune: Tune) -> int | None:
    """Seconds of the played order; None when tempo or time signature is not known.

    The figure counts the note before it, or where none was read the beat of the first time signature (common practice):
    a half in x/2, a quarter in x/4, a dotted quarter in 6/8, 9/8 and 12/8. Other signatures have no beat that is sure,
    and changes of tempo are not counted.
    """
    if tune.chart is None:
        return None
    figure = _FIGURE.findall(tune.chart.tempo)
    quarters = _quarters(tune.chart)
    first = _signature(tune.chart.meters[0].text) if tune.chart.meters else None
    beat = counted(tune.chart.tempo) or (_beat(*first) if first else None)
    if not figure or beat is None or quarters is None:
        return None
    a_minute = float(figure[-1].replace(",", "."))
    length = sum(quarters[step.bar] for step in tune.played.steps())
    return round(60 * length / beat / a_minute) if a_minute else None


def _signature(text: str) -> tuple[int, int] | None:
    """A time signature's count and unit: "3+2/8" as 5, 8; None when it has none."""
    said = _METER.fullmatch(text)
    return (sum(map(int, said[1].split("+"))), int(said[2])) if said and int(said[2]) else None


def _beat(count: int, unit: int) -> float | None:
    """Quarters in the beat of a time signature."""
    if unit in (2, 4):
        return 4 / unit
    return 1.5 if unit == 8 and count in (6, 9, 12) else None


def _quarters(chart: Chart) -> dict[BarId, float] | None:
    """How many quarters each bar has, about; None when a signature cannot be read, or none stands at the first bar.

    A pickup has none, since the last bar lacks what it has (common practice); a bar that a repeat splits has halves.
    """
    at = indices(chart)
    changes = {at[meter.bar]: meter.text for meter in chart.meters if meter.bar in at}
    lengths: dict[BarId, float] = {}
    now: float | None = None
    for index, bar in enumerate(chart.bars):
        if index in changes:
            said = _signature(changes[index])
            now = 4 * said[0] / said[1] if said else None
        if now is None:
            return None
        lengths[bar.id] = now if bar.number or bar.label else 0.0
        if not bar.counted and index and bar.number:
            lengths[bar.id] = lengths[chart.bars[index - 1].id] = now / 2
    return lengths
