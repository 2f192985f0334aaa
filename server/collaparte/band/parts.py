"""The played order as one part has it: which of its own bars, one after the other, and what it can only be told."""

import msgspec

from collaparte.band.state import Tune, Version
from collaparte.music.form import Step
from collaparte.music.ruler import indices
from collaparte.music.words import ordinal
from collaparte.wire.chart import BarId, Chart


class PartStep(msgspec.Struct, frozen=True):
    """One bar to lay. `bar`: 1-based index in the part's reading (bars within a multi-bar rest each have one).

    `position`: 0-based in the played order. `number`: the chart's printed number. `pass_`: which time through the bar.
    `join`: it does not follow the one before in print. `label`: words to set at its start ("2nd time"), or "".
    """

    bar: int
    position: int
    number: int
    pass_: int = 1
    join: bool = False
    label: str = ""


class PartOrder(msgspec.Struct, frozen=True):
    """A part's bars in an order; `told` are sentences about what it cannot show."""

    steps: tuple[PartStep, ...]
    told: tuple[str, ...] = ()


def part_order(tune: Tune, version: Version) -> PartOrder:
    """The played order in one version's own bars; without bars, no steps and the edits in words.

    Where a copyist wrote a repeat out, a bar of the chart stands twice in the part: each time through has its own.
    """
    if tune.chart is None or version.as_printed or not any(version.bars):
        return PartOrder((), tuple(held.words for held in tune.edits.values()))
    return _in_part(tune.chart, tune.played.steps(), version)


def _in_part(chart: Chart, order: tuple[Step, ...], version: Version) -> PartOrder:
    own: dict[BarId, list[int]] = {}
    for index, bar in enumerate(version.bars, start=1):
        if bar is not None:
            own.setdefault(bar, []).append(index)
    numbers = {bar.id: bar.number for bar in chart.bars}
    steps: list[PartStep] = []
    for position, (bar, pass_) in enumerate(order):
        if bar not in own:
            continue
        index = own[bar][min(pass_, len(own[bar])) - 1]
        before = steps[-1] if steps else None
        join = before is not None and index != before.bar + 1
        new_time = join and pass_ > 1 and before is not None and before.pass_ != pass_
        label = f"{_short(pass_)} time" if new_time else ""
        steps.append(PartStep(index, position, numbers[bar], pass_, join, label))
    missing = [bar for bar in dict.fromkeys(step.bar for step in order) if bar not in own]
    return PartOrder(tuple(steps), tuple(_missing(chart, missing)))


def _short(number: int) -> str:
    """ "2nd", as engravers set it."""
    word = ordinal(100 + number)
    return f"{number}{word[-2:]}"


def _missing(chart: Chart, bars: list[BarId]) -> list[str]:
    """ "Bars 20 to 23 are not in this part." for each stretch that follows in print."""
    at = indices(chart)
    stretches: list[list[int]] = []
    for place in sorted(at[bar] for bar in bars):
        if stretches and stretches[-1][-1] == place - 1:
            stretches[-1].append(place)
        else:
            stretches.append([place])
    told = []
    for stretch in stretches:
        first, last = chart.bars[stretch[0]].number, chart.bars[stretch[-1]].number
        told.append(
            f"Bar {first} is not in this part." if first == last else f"Bars {first} to {last} are not in this part."
        )
    return told
