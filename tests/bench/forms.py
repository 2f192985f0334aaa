"""What a written order costs."""

import time

from bench.ratios import Figure
from collaparte.music.form import Step, written_order
from music.charts import chart

BARS = 500


def written_order_500(runs: int) -> Figure:
    """The order of 500 bars: 48 repeats, every other one with three endings, two codas; the floor makes the list."""
    figure = Figure("written_order_500", [], [], "<= 5 ms", f"the written order of {BARS} bars, every form in it")
    first = range(1, 481, 20)
    endings = [((1, 2), at + 8, at + 9) for at in first] + [((3,), at + 10, at + 11) for at in first]
    written = chart(
        BARS,
        starts=[*first, *(at + 12 for at in first)],
        ends={at + 9: 2 for at in first} | {at + 13: 3 for at in first},
        endings=endings,
        signs=[
            *(("segno", 3), ("to-coda", 300), ("ds-al-coda", 480), ("coda", 481)),
            *(("to-coda", 305), ("ds-al-coda", 490), ("coda", 492)),
        ],
    )
    for _ in range(runs):
        began = time.perf_counter()
        steps = written_order(written).steps
        between = time.perf_counter()
        again = [Step(bar, time_through) for bar, time_through in steps]
        figure.ours.append((between - began) * 1000)
        figure.floor.append((time.perf_counter() - between) * 1000)
        figure.extra = {"bars": len(again)}
    return figure
