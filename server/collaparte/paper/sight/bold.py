"""Letters that are painted twice, a little apart, to look bold."""

from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

TWICE = 0.1
"""The same letter painted again nearer than this, in its size, is one bold letter; the narrowest are .2 apart."""

Code = tuple[int, int]
"""A glyph's index in its font, and its code."""
Place = tuple[float, float]


class Bold:
    """The glyphs of a page (spans of its text trace) of which some may be painted twice, and where those stand."""

    def __init__(self, trace: Sequence[dict[str, Any]]) -> None:
        places: defaultdict[Code, list[Place]] = defaultdict(list)
        for span in trace:
            for code, gid, at, _bbox in span["chars"]:
                places[gid, code].append(at)
        self._reach = TWICE * max((span["size"] for span in trace), default=0.0)
        self.glyphs = {code for code, many in places.items() if len(many) > 1 and _are_near(many, self._reach)}
        """On most pages none: then nothing else is to be asked."""
        self._rows: defaultdict[tuple[Code, float], list[Place]] = defaultdict(list)

    def again(self, glyph: Code, at: Place, size: float) -> bool:
        """Whether one of `glyphs` was painted already where it is painted now."""
        x, y = at
        row, near = y // self._reach, TWICE * size
        return any(
            abs(x - u) < near and abs(y - v) < near
            for beside in (row - 1, row, row + 1)
            for u, v in self._rows.get((glyph, beside), ())
        )

    def painted(self, glyph: Code, at: Place) -> None:
        """Take note of one of `glyphs`."""
        self._rows[glyph, at[1] // self._reach].append(at)


def _are_near(places: Sequence[Place], reach: float) -> bool:
    """Whether two of the places are nearer to each other than `reach`, across and down."""
    ordered = sorted(places)
    for n, ((left, _), (x, y)) in enumerate(pairwise(ordered)):
        if x - left < reach:
            before = n
            while before >= 0 and x - ordered[before][0] < reach:
                if abs(y - ordered[before][1]) < reach:
                    return True
                before -= 1
    return False
