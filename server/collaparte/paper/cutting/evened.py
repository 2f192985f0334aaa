"""Lines that were stretched to fill the page, most often a part's last ones, made to count for what they hold.

Where an engraver has set one bar across a whole line, its printed gaps say nothing of the room it needs.
"""

from collections import defaultdict
from collections.abc import Sequence
from math import log2
from statistics import median

from msgspec.structs import replace

from collaparte.paper.cutting.table import BarCut

LOOSE = 1.75
"""A line whose gaps are so many times those of the part's middle line is taken for stretched."""
LEAST = 0.35
"""No gap counts for less than this share of itself: long notes need more room than short ones."""
SHORTEST, DOUBLING = 2.0, 1.2
"""Room for the shortest notes of a bar and for each doubling, in one unit: defaults of an engraver in common use, from
memory."""
EIGHTHS = 8
"""Notes to a bar that count as the shortest."""
FEW = 3
"""Of fewer lines none is the usual one."""


def evened(bars: Sequence[BarCut], least: float) -> list[BarCut]:
    """The bars with their `ease`; `least` is the factor that gaps without words may be squeezed to."""
    lines: dict[int, list[BarCut]] = defaultdict(list)
    for bar in bars:
        if bar.count == 1 and bar.whole < 0 and bar.columns:
            lines[bar.system].append(bar)
    gaps = {n: _gap(line) for n, line in lines.items()}
    if len(gaps) < FEW:
        return list(bars)
    usual = LOOSE * median(gaps.values())
    return [
        _eased(bar, max(LEAST, min(1.0, usual / gaps[bar.system])), least) if bar in lines.get(bar.system, ()) else bar
        for bar in bars
    ]


def _eased(bar: BarCut, ease: float, least: float) -> BarCut:
    """A bar and its parts that count for `ease` of their gaps, or for as much as their words need."""
    held = bar.squeeze if bar.squeeze > least + 1e-9 else least * ease
    ease = round(max(ease, held), 3)
    if ease >= 1:
        return bar
    parts = tuple(_eased(part, ease, least) for part in bar.parts)
    return replace(bar, ease=ease, squeeze=round(min(1.0, held / ease), 3), parts=parts)


def _gap(bars: Sequence[BarCut]) -> float:
    """A line's room, as a share of what columns so many to a bar are given."""
    room = sum(bar.width - sum(b - a for a, b in bar.columns) for bar in bars)
    return max(room / sum(map(_asked, bars)), 0.1)


def _asked(bar: BarCut) -> float:
    """What a bar's columns are given: a little more for each doubling of their length (common practice)."""
    many = len(bar.columns)
    return many * (SHORTEST + DOUBLING * max(0.0, log2(EIGHTHS / many)))
