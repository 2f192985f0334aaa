"""The played order as one part has it: which of its own bars, one after the other, and what it can only be told."""

from collections.abc import Container, Sequence

import msgspec

from collaparte.band.asides import still_bind
from collaparte.band.state import Part, Tune, Version
from collaparte.music.form import Step, Written
from collaparte.music.played import OPEN, Laid, Played
from collaparte.music.ruler import indices
from collaparte.music.words import ordinal
from collaparte.wire.chart import BarId, Chart
from collaparte.wire.edits import Pickup


class PartStep(msgspec.Struct, frozen=True):
    """One bar to lay. `bar`: 1-based index in the part's reading (bars within a multi-bar rest each have one).

    `position`: 0-based among the bars laid of the tune. `number`: the chart's printed number. `pass_`: which time
    through the bar. `join`: it does not follow the one before in print. `label`: words to set at its start ("2nd
    time"), or "". `starts`, `ends`, `kept`: repeat signs, as in `music.played.Laid`.
    """

    bar: int
    position: int
    number: int
    pass_: int = 1
    join: bool = False
    label: str = ""
    starts: bool = False
    ends: bool = False
    kept: bool = False


class PartOrder(msgspec.Struct, frozen=True):
    """A part's bars in an order; `told` are sentences about what it cannot show.

    `followed`: whether the jumps that are printed are followed or left out, as in `paper.pages.laying.Step`.
    """

    steps: tuple[PartStep, ...]
    told: tuple[str, ...] = ()
    followed: bool | None = None


def in_words_only(tune: Tune, version: Version) -> bool:
    """Whether a part has no bars that an order could be laid in, so that its player is told edits in words."""
    return tune.chart is None or version.as_printed or not any(version.bars)


def kept_pickups(tune: Tune, part: Part) -> frozenset[BarId]:
    """The cut bars whose notes are kept as a pickup by those who play a part."""
    chairs = {chair for chair, parts in tune.seats.items() if part.id in parts}
    return frozenset(
        held.edit.what.bar
        for held in tune.edits.values()
        if isinstance(held.edit.what, Pickup) and not chairs.isdisjoint(held.edit.chairs)
    )


def part_order(tune: Tune, version: Version, keeping: frozenset[BarId] = frozenset()) -> PartOrder:
    """The bars to lay of one version of a part; without bars, no steps and the edits in words.

    Where a copyist wrote a repeat out, a bar of the chart stands twice in the part: each time through has its own.
    `keeping`: cut bars that it keeps as a pickup.
    """
    if tune.chart is None or in_words_only(tune, version):
        return PartOrder((), tuple(held.words for held in tune.edits.values()))
    order = _in_part(tune.chart, tune.played, version, keeping)
    return msgspec.structs.replace(order, followed=_followed(tune.chart, tune.written))


def _followed(chart: Chart, written: Written) -> bool | None:
    """Signs that could not be followed leave the bars as printed, and stay whatever is cut."""
    if written.jumped:
        return True
    return False if [step.bar for step in written.steps] == [bar.id for bar in chart.bars] else None


def _in_part(chart: Chart, played: Played, version: Version, keeping: frozenset[BarId]) -> PartOrder:
    own: dict[BarId, list[int]] = {}
    for index, bar in enumerate(version.bars, start=1):
        if bar is not None:
            own.setdefault(bar, []).append(index)
    numbers = {bar.id: bar.number for bar in chart.bars}
    order, out, last = _signed(played.laid(), played.written, own), played.left_out(), -1
    unsigned, comings = _unsigned(chart, played), played.comings()
    final = {played.written[place[0]].bar: place for place in comings}
    closing = {again.last + 1 for again in played.again if again.times == OPEN}
    steps: list[PartStep] = []
    for position, laid in enumerate(order):
        bar, pass_ = played.written[laid.position]
        if bar not in own or (laid.pickup and bar not in keeping):
            continue
        index = own[bar][min(pass_, len(own[bar])) - 1]
        before = steps[-1] if steps else None
        join = before is not None and index != before.bar + 1
        time = max(pass_, laid.time)
        # A copyist says the time where one goes back, not at the ending that follows in it.
        back = before is not None and (index <= before.bar or laid.nth == 1)
        place = (laid.position, laid.after, laid.nth)
        last_time = final.get(bar) == place or laid.position in closing
        label = _around(laid) or (_time(comings.get(place, 1), last=last_time) if join and back else "")
        if join or before is None:
            # What the part leaves out here may say what still holds: a mute, another instrument.
            gone = (played.written[p].bar for p in range(last + 1, laid.position) if p in out)
            label = ", ".join((label, *still_bind(version, gone, bar))).strip(", ")
        last = laid.after
        label = "pickup" if laid.pickup else label
        steps.append(
            PartStep(
                bar=index,
                position=position,
                number=numbers[bar],
                pass_=time,
                join=join,
                label=label,
                starts=laid.starts is not None or (before is not None and not laid.nth and laid.position in unsigned),
                ends=laid.ends,
                kept=laid.kept,
            )
        )
    there = (played.written[laid.position].bar for laid in order if not laid.pickup)
    missing = [bar for bar in dict.fromkeys(there) if bar not in own]
    return PartOrder(tuple(steps), tuple(_missing(chart, missing)))


def _unsigned(chart: Chart, played: Played) -> set[int]:
    """Where short repeats begin that have no sign at their start in print: it goes without saying there, as at the top
    or at the coda, but not in the middle of an order that is written out."""
    printed = {repeat.bar for repeat in chart.repeats if repeat.side == "start"}
    return {fold.by for fold in played.folds if played.written[fold.by].bar not in printed}


def _signed(order: Sequence[Laid], written: Sequence[Step], own: Container[BarId]) -> list[Laid]:
    """The order with tonight's repeat signs at bars that a part has: what begins or ends with one that it lacks begins
    or ends with the next that it does have, if any of that stretch is in it."""
    signed = list(order)
    inside: list[int] | None = None
    times: int | None = None
    for at, laid in enumerate(order):
        if laid.starts is not None:
            inside, times = [], laid.starts
        if inside is None:
            continue
        if written[laid.position].bar in own and not laid.pickup:
            inside.append(at)
        if laid.ends:
            if inside:
                first, end = inside[0], inside[-1]
                signed[first] = signed[first]._replace(starts=times)
                signed[end] = signed[end]._replace(ends=True)
            inside = None
    return signed


def _around(laid: Laid) -> str:
    """What is set where a repeat starts that is not printed so: "4 times", "open"."""
    if laid.starts is None or (laid.kept and laid.starts == 2):
        return ""
    return "open" if laid.starts == OPEN else f"{laid.starts} times"


def _time(come: int, *, last: bool) -> str:
    """Which time a bar comes, in a player's words; nothing the first time. Behind an open stretch nobody counts."""
    if come == OPEN:
        return "last time" if last else "again"
    return f"{_short(come)} time" if come > 1 else ""


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
