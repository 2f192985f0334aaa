"""Laying a part anew, and again in another order: what a worker does when a tune is brought in, and after a cut."""

import gc
import json
import time
from collections.abc import Callable
from functools import partial

import msgspec

from bench.ratios import Figure, percentile
from bench.rooms import TUNE
from collaparte.demo import BAND
from collaparte.paper.cutting import pieces
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Step
from collaparte.paper.pages.workings import Workings
from collaparte.paper.read import read_part

BARS = 128


def lay_128(runs: int) -> Figure:
    """ms of processor time for 128 bars, over the parts of one tune, against the laying to JSON and back."""
    figure = Figure("lay_128", [], [], "<= 20 ms", "128 bars laid / their laying as JSON and back; processor time")
    again: list[float] = []
    gc.disable()  # as a worker does
    for path in sorted((BAND / TUNE).glob("*.pdf")):
        pdf = path.read_bytes()
        reading = read_part(pdf)
        table = pieces.cut_ink(pdf, reading).table
        order = printed_order(reading)
        workings = Workings(table)
        laid = msgspec.to_builtins(lay(reading, table, order, workings=workings))
        for n in range(runs):
            figure.ours.append(_ms(partial(lay, reading, table, order)) * BARS / len(order))
            figure.floor.append(_ms(partial(_json, laid)) * BARS / len(order))
            first = 8 + n % 40
            lands = order[first + 4]
            cut = (*order[:first], Step(lands.bar, lands.number, join=True), *order[first + 5 :])
            again.append(_ms(partial(lay, reading, table, cut, workings=workings)) * BARS / len(cut))
    figure.extra["again_after_a_cut_ms"] = round(percentile(again, 50), 1)
    return figure


def _json(laid: object) -> object:
    """By the standard library."""
    return json.loads(json.dumps(laid))


def _ms(work: Callable[[], object]) -> float:
    began = time.process_time()
    work()
    return (time.process_time() - began) * 1000
