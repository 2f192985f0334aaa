"""Bars of lines that were printed wider or closer than the part's others, made to count for what they hold.

Each printed line is stretched as a whole to fill the page: bars of two of them stand unevenly side by side, and where
an engraver has set one bar across a line its printed gaps say nothing of the room it needs.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from math import log2
from statistics import median

from msgspec.structs import replace

from collaparte.paper.cutting.table import BarCut

LEAST, MOST = 0.35, 1.2
"""No gap counts for less or for more than this share of itself: how a line's gaps are held against those of the part's
middle line is rough, and what was set close was found close enough."""
NEAR = 1.2
"""Lines whose gaps are no more than so many times the usual ones, or no less, look even enough as printed."""
LOOSE = 1.4
"""No part's middle line counts for looser than this, in the room that its columns are given: notes that one engraver
does not stretch at all have about half of it (measured)."""
SHORTEST, DOUBLING = 2.0, 1.2
"""Room for the shortest notes of a bar and for each doubling, in one unit: defaults of an engraver in common use, from
memory."""
EIGHTHS = 8
"""Notes to a bar that count as the shortest."""
FEW = 3
"""Of fewer lines none is the usual one."""


def evened(bars: Sequence[BarCut], least: float) -> list[BarCut]:
    """The bars, whose `squeeze` is what their words need, with their `ease` and with the `squeeze` that counts with it,
    at least `least`."""
    lines: dict[int, list[BarCut]] = defaultdict(list)
    for bar in bars:
        if bar.count == 1 and bar.whole < 0 and bar.columns:
            lines[bar.system].append(bar)
    gaps = {n: _gap(line) for n, line in lines.items()}
    usual = min(median(gaps.values()), LOOSE) if len(gaps) >= FEW else 0.0
    shares = {n: _toward(usual, gap) if usual else 1.0 for n, gap in gaps.items()}
    return [_eased(bar, _share(bar, shares), least) for bar in bars]


def _toward(usual: float, gap: float) -> float:
    """The share by which a line's gap comes within `NEAR` of the usual one."""
    return max(LEAST, min(MOST, max(usual / NEAR / gap, min(usual * NEAR / gap, 1.0))))


def _share(bar: BarCut, shares: Mapping[int, float]) -> float:
    """What a bar's gaps count for on its line; a long rest's, which were wide enough, for no more than printed."""
    share = shares.get(bar.system, 1.0) if bar.whole < 0 and bar.columns else 1.0
    return share if bar.count == 1 else min(share, 1.0)


def _eased(bar: BarCut, ease: float, least: float) -> BarCut:
    """A bar and its parts that count for `ease` of their gaps, or for as much as their words need."""
    ease = round(max(ease, bar.squeeze), 3)
    parts = tuple(_eased(part, ease, least) for part in bar.parts)
    return replace(bar, ease=ease, squeeze=round(max(least, min(1.0, bar.squeeze / ease)), 3), parts=parts)


def _gap(bars: Sequence[BarCut]) -> float:
    """A line's room, as a share of what columns so many to a bar are given."""
    room = sum(bar.width - sum(b - a for a, b in bar.columns) for bar in bars)
    return max(room / sum(map(_asked, bars)), 0.1)


def _asked(bar: BarCut) -> float:
    """What a bar's columns are given: a little more for each doubling of their length (common practice)."""
    many = len(bar.columns)
    return many * (SHORTEST + DOUBLING * max(0.0, log2(EIGHTHS / many)))
