"""The rigid columns of a bar, and how far its gaps may be squeezed."""

from collections.abc import Sequence

from collaparte.paper.reading import Box

MIN_GAP = 0.12
"""Columns nearer than this (staff spaces) are one."""
CLEAR = 0.55
"""Words of one row keep this far apart (staff spaces), or as near as they were printed."""


def merge(spans: Sequence[tuple[float, float]], width: float) -> tuple[tuple[float, float], ...]:
    """Overlapping strips made one, clipped to the bar."""
    out: list[tuple[float, float]] = []
    for a, b in sorted((max(0.0, a), min(width, b)) for a, b in spans):
        if b <= a:
            continue
        if out and a - out[-1][1] < MIN_GAP:
            out[-1] = (out[-1][0], max(out[-1][1], b))
        else:
            out.append((a, b))
    return tuple((round(a, 3), round(b, 3)) for a, b in out)


def squeeze(words: Sequence[tuple[Box, float]], columns: Sequence[tuple[float, float]]) -> float:
    """The least factor of the gaps at which words (box, kept point) in one row keep `CLEAR` apart; 0: no words do."""
    factor = 0.0
    ordered = sorted(words, key=lambda w: w[0][0])
    for n, (a, at_a) in enumerate(ordered):
        for b, at_b in ordered[n + 1 :]:
            if min(a[3], b[3]) - max(a[1], b[1]) <= 0:
                continue
            clear = b[0] - a[2] - CLEAR
            between = at_b - at_a
            if between <= 0:
                continue
            rigid = sum(max(0.0, min(at_b, y) - max(at_a, x)) for x, y in columns)
            flexible = between - rigid
            if flexible > 0.01:
                factor = max(factor, min(1.0, 1 - clear / flexible))
            break
    return round(factor, 3)
