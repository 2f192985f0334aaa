"""Print the odds in server/collaparte/paper/scans/chances.py: how much a bar's width tells whether it is two.

Usage: python tests/paper/scan_chances.py [--charts 88] [--seed 8100000] [--samples FILE.npz]

Charts by both engravers are damaged by `scanning.py` and read. The bars of lines that were read as engraved are single,
and two of them side by side are what a bar is whose barline was missed. How often barlines are missed at all, or are
none, is counted on the same lines. With --samples the widths are kept in a file, or taken from it when it is there.
"""

import math
import sys
from itertools import pairwise
from pathlib import Path
from statistics import median

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

import scanning
from collaparte.paper.read import read_part
from collaparte.paper.reading import Reading, System
from collaparte.paper.scans.chances import MANY
from paper.learning import Store, asked, stored
from paper.scan_strokes import charts

BARLINE = 0.3
"""About so many spaces lie between two bars."""
STEPS = 50


def widths(read: Reading, printed: Reading) -> tuple[list[tuple[float, float]], list[bool]]:
    """Logarithms of widths beside the line's other bars and beside the part's, of bars and of pairs; which are two."""
    lines = [_bars(system) for page in read.pages for system in page.systems]
    true = [_bars(system) for page in printed.pages for system in page.systems]
    flat = [width for line in lines for count, width in line if count == 1]
    seen: list[tuple[float, float]] = []
    double: list[bool] = []
    if len(flat) < MANY or len(lines) != len(true):
        return seen, double
    usual = median(flat)
    for line, other in zip(lines, true, strict=True):
        if [count for count, _ in line] != [count for count, _ in other]:
            continue
        own = [width for count, width in line if count == 1]
        for n, width in enumerate(own):
            seen.append(_beside(width, own[:n] + own[n + 1 :], usual))
        for n, (one, two) in enumerate(pairwise(own)):
            seen.append(_beside(one + two + BARLINE, own[:n] + own[n + 2 :], usual))
        double += [False] * len(own) + [True] * max(0, len(own) - 1)
    return seen, double


def _bars(system: System) -> list[tuple[int, float]]:
    return [(bar.count, (bar.x1 - bar.x0) / system.space) for bar in system.bars if bar.x1 - bar.x0 > system.space]


def _beside(width: float, others: list[float], usual: float) -> tuple[float, float]:
    return math.log(width / (median(others) if len(others) > 1 else usual)), math.log(width / usual)


def gathered(seed: int, count: int) -> Store:
    """The widths of so many charts' bars as scanned."""
    seen: list[tuple[float, float]] = []
    double: list[bool] = []
    for n, pdf in charts(seed, count):
        scan, _ = scanning.scanned(pdf, scanning.damage(n), n)
        more, which = widths(read_part(scan, scans=True), read_part(pdf))
        seen, double = seen + more, double + which
    return {"seen": np.array(seen), "double": np.array(double)}


def odds(store: Store) -> list[float]:
    """A constant and two factors whose sum is the logarithm of the odds that a bar is two (Newton's rule)."""
    x = np.hstack([np.ones((len(store["seen"]), 1)), store["seen"].astype(float)])
    y = store["double"].astype(float)
    weights = np.zeros(3)
    for _ in range(STEPS):
        chance = 1 / (1 + np.exp(-x @ weights))
        slope, bend = x.T @ (y - chance), (x * (chance * (1 - chance))[:, None]).T @ x
        weights += np.linalg.solve(bend + 1e-3 * np.eye(3), slope - 1e-3 * weights)
    weights[0] -= math.log(y.mean() / (1 - y.mean()))  # as if single bars and pairs were as many
    return [round(float(weight), 2) for weight in weights]


if __name__ == "__main__":
    said = asked(__doc__, charts=88, seed=8_100_000)
    store = stored(said.samples, lambda: gathered(said.seed, said.charts))
    print(f"{len(store['double'])} widths: ODDS = {tuple(odds(store))}")
