"""Staves of several players that no line joins: their barlines stand at the same places, system for system."""

from collections.abc import Sequence
from itertools import pairwise

from collaparte.paper.reading import Barline
from collaparte.paper.sight.staves import StaveLines

ALIKE = 0.2
"""Barlines of one system stand over one another within so many spaces."""
PLAYERS = range(2, 7)
"""So many players may share a page."""
CHANCE = 0.5
"""Systems of bars set equally wide stand over one another too; more than this share of the neighbours must not."""

Group = tuple[list[StaveLines], list[Barline]]
"""The staves of one system as far as lines join them, and its barlines."""


def players(groups: Sequence[Group], before: int = 1) -> int:
    """Of how many of these groups, from the top of a page on, each system is made; 1 when each is one of its own.

    `before`: staves of each system on pages before. So many that stand alike are one system even alone on their page.
    """
    alike = [same_bars(one, other) for one, other in pairwise(groups)]
    gaps = [other[0][0].top - one[0][-1].bottom for one, other in pairwise(groups)]
    for count in PLAYERS:
        alone = sum(len(staves) for staves, _ in groups[:count]) == before
        if len(groups) % count or (len(groups) < 2 * count and not alone):
            continue
        between = range(count - 1, len(alike), count)
        within = [n for n in range(len(alike)) if n not in between]
        if (
            all(alike[n] for n in within)
            and (not between or sum(alike[n] for n in between) < CHANCE * len(between))
            and max(gaps[n] for n in within) < min((gaps[n] for n in between), default=float("inf"))
        ):
            return count
    return 1


def same_bars(one: Group, other: Group) -> bool:
    """Whether two groups of staves end at the same places, and so do all their bars."""
    (staves, bars), (below, theirs) = one, other
    near = ALIKE * staves[0].space
    return (
        abs(staves[0].x0 - below[0].x0) < near
        and abs(staves[0].x1 - below[0].x1) < near
        and len(bars) == len(theirs) > 1
        and all(a.kind == b.kind and abs(a.x - b.x) < near for a, b in zip(bars, theirs, strict=True))
    )
