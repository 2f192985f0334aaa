"""Lines that were stretched to fill the page, most often a part's last ones, made to count for what they hold.

Where an engraver has set one bar across a whole line, its printed gaps say nothing of the room it needs.
"""

from collections import defaultdict
from collections.abc import Sequence
from statistics import median

from msgspec.structs import replace

from collaparte.paper.cutting.table import BarCut

LOOSE = 1.5
"""A line whose gaps are so many times those of the part's middle line is taken for stretched."""
LEAST = 0.35
"""No gap counts for less than this share of itself: long notes need more room than short ones."""
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
    out = []
    for bar in bars:
        ease = max(LEAST, min(1.0, usual / gaps[bar.system])) if bar in lines.get(bar.system, ()) else 1.0
        held = bar.squeeze if bar.squeeze > least + 1e-9 else least * ease
        ease = round(max(ease, held), 3)
        out.append(bar if ease >= 1 else replace(bar, ease=ease, squeeze=round(min(1.0, held / ease), 3)))
    return out


def _gap(bars: Sequence[BarCut]) -> float:
    """How far apart a line's columns stand, in spaces, one with another."""
    room = sum(bar.width - sum(b - a for a, b in bar.columns) for bar in bars)
    return max(room / sum(len(bar.columns) for bar in bars), 0.1)
