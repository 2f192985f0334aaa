"""Players' markings on laid pages of a PDF, as vector strokes where the stands show them.

As client/tablet/anchor.js and ink.js have it; tests/vectors/anchors.json holds for both.
"""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import pymupdf

from collaparte.paper.pages.draw_pdf import POINTS
from collaparte.paper.pages.laying import LaidLine, Laying
from collaparte.wire.chart import BarId
from collaparte.wire.markings import Ink, Layer, Marking, PageInk, Point

COLOURS: dict[Layer, tuple[float, float, float]] = {
    "mine": (0.0, 0.447, 0.698),
    "section": (0.0, 0.620, 0.451),
    "band": (0.835, 0.369, 0.0),
}
"""As on the stands' light pages: 0072b2, 009e73, d55e00."""
NOTE = 1.7
"""The em of a note's words, in staff spaces."""
LIGHT = 0.4
"""A stroke that is hardly pressed is so wide, of its width when fully pressed."""
NEAR = 7.0
"""Staff spaces within which markings of one layer share a sign of whose they are."""


class Spot(NamedTuple):
    """A point on the page, and the pressure there."""

    x: float
    y: float
    pressure: float


class _Box(NamedTuple):
    bar: BarId
    pass_: int
    x0: float
    x1: float
    staves: tuple[float, ...]


def runs_on(
    points: Sequence[Point], line: LaidLine, bars: Sequence[tuple[BarId, int]], space: float, pass_: int | None = None
) -> list[list[Spot]]:
    """The runs of a stroke that a line shows, one for each time through that it shows, in mm as `space`.

    `bars[n]` is step n's bar and which time through it is. A stroke breaks where its next bar does not follow.
    """
    boxes = list(_boxes(line, bars))
    wanted = {point.bar for point in points}
    times = dict.fromkeys(b.pass_ for b in boxes if b.bar in wanted and pass_ in (None, b.pass_))
    runs: list[list[Spot]] = []
    for time in times:
        at = {box.bar: n for n, box in enumerate(boxes) if box.pass_ == time and box.bar in wanted}
        run: list[Spot] = []
        before = -1
        for point in points:
            n = at.get(point.bar)
            if n is None or (run and abs(n - before) > 1):
                runs += [run] if run else []
                run = []
            if n is None:
                continue
            box = boxes[n]
            middle = box.staves[min(point.stave, len(box.staves) - 1)]
            x = box.x0 + point.fraction * (box.x1 - box.x0)
            run.append(Spot(x, middle - point.spaces * space, point.pressure))
            before = n
        runs += [run] if run else []
    return runs


def _boxes(line: LaidLine, bars: Sequence[tuple[BarId, int]]) -> Iterator[_Box]:
    """The places of a line's bars; a rest of many counts as so many equal boxes."""
    for laid in line.bars:
        first, last = laid.steps
        width = (laid.x1 - laid.x0) / (last - first + 1)
        for n in range(last - first + 1):
            x0 = laid.x0 + n * width
            yield _Box(*bars[first + n], x0, x0 + width, laid.staves)


def mark(document: Any, laying: Laying, bars: Sequence[tuple[BarId, int]], markings: Sequence[Marking]) -> None:
    """Draw markings at their bars on the pages of a laying as drawn; others are left out."""
    space = laying.space
    for page, laid in zip(document, laying.pages, strict=True):
        signed: list[tuple[Layer, float, float]] = []
        for marking in markings:
            what = marking.what
            if isinstance(what, PageInk):
                continue
            points = what.points if isinstance(what, Ink) else (what.at,)
            for run in (r for line in laid.lines for r in runs_on(points, line, bars, space, marking.pass_)):
                spots = [Spot(s.x * POINTS, s.y * POINTS, s.pressure) for s in run]
                if isinstance(what, Ink):
                    stroke(page, spots, what.width * space * POINTS, marking.layer)
                else:
                    _words(page, what.text, spots[0], NOTE * space * POINTS, marking.layer)
                x, y, near = spots[0].x, spots[0].y, (NEAR * space * POINTS) ** 2
                if not any(by == marking.layer and (x - a) ** 2 + (y - b) ** 2 < near for by, a, b in signed):
                    signed.append((marking.layer, x, y))
                    _sign(page, marking.layer, x - 0.9 * space * POINTS, y, 0.62 * space * POINTS)


def _words(page: Any, text: str, at: Spot, size: float, layer: Layer) -> None:
    writer = pymupdf.TextWriter(page.rect, color=COLOURS[layer])  # embeds the face: a note may hold any letters
    writer.append((at.x, at.y), text, font=pymupdf.Font("helv"), fontsize=size)
    writer.write_text(page)


def stroke(page: Any, run: Sequence[Spot], width: float, layer: Layer) -> None:
    """One stroke of the pen; spots and width in points."""
    colour = COLOURS[layer]
    shape = page.new_shape()
    if len(run) == 1:
        shape.draw_circle(run[0][:2], 0.6 * _wide(run[0], width))
        shape.finish(color=None, fill=colour)
    start: tuple[float, float] = run[0][:2]
    for n, spot in enumerate(run[1:], 1):
        after = run[n + 1] if n + 1 < len(run) else spot
        end = ((spot.x + after.x) / 2, (spot.y + after.y) / 2)
        # A quadratic curve by way of the spot, as PDF's cubic.
        first, second = ((a + 2 / 3 * (spot.x - a), b + 2 / 3 * (spot.y - b)) for a, b in (start, end))
        shape.draw_bezier(start, first, second, end)
        shape.finish(color=colour, width=_wide(spot, width), lineCap=1, lineJoin=1, closePath=False)
        start = end
    shape.commit()


def _wide(spot: Spot, width: float) -> float:
    return width * (LIGHT + (1 - LIGHT) * spot.pressure)


def _sign(page: Any, layer: Layer, x: float, y: float, size: float) -> None:
    """Whose a marking is, on paper without colours too: a ring for the section's, a diamond for the band's. Points."""
    if layer == "mine":
        return
    shape = page.new_shape()
    if layer == "section":
        shape.draw_circle((x, y), 0.5 * size)
    else:
        reach = 0.62 * size
        shape.draw_polyline([(x, y - reach), (x + reach, y), (x, y + reach), (x - reach, y), (x, y - reach)])
    shape.finish(color=COLOURS[layer], fill=None if layer == "section" else COLOURS[layer], width=0.22 * size)
    shape.commit()
