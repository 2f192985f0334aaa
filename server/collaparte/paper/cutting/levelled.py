"""Hairpins and pedal's lines that printed lines break: where a laid line may hold parts of two, both are set round one
axis before."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

from collaparte.paper.cutting.ink import Page, Shape, Subpath
from collaparte.paper.cutting.items import Item, Role
from collaparte.paper.cutting.spans import hangs_at
from collaparte.paper.cutting.torn import TO_EDGE, slanted
from collaparte.paper.reading import Reading, System

BEGINS = 1.5
"""A hairpin that comes from the line before begins so near to its line's first bar, in spaces."""
LINES = 2
"""A hairpin's."""
LEVEL, LONG = 0.3, 2.0
"""A pedal's line is no higher and no shorter, in spaces."""


class Stroke(NamedTuple):
    """One line of a hairpin: its item, and its ends from left to right (points)."""

    item: Item
    x0: float
    y0: float
    x1: float
    y1: float


class Half(NamedTuple):
    """What of a hairpin stands in one system; `middle` is the height of its stave's middle line."""

    page: Page
    system: System
    middle: float
    strokes: list[Stroke]
    hooks: Sequence[Item] = ()
    """What hangs at its ends."""

    @property
    def axis(self) -> float:
        """How far it stands below its stave's middle, in spaces."""
        heights = [y for stroke in self.strokes for y in (stroke.y0, stroke.y1)]
        return (sum(heights) / len(heights) - self.middle) / self.system.space


def level(pages: Sequence[Page], items: Sequence[Sequence[Item]], reading: Reading) -> None:
    """Move the parts of hairpins, of which each page's items have some, to the axis of the one furthest from its stave.

    Only of those that go over more than one bar at both sides of a printed line's end: a part of one bar goes where the
    other is (`ties`).
    """
    for staves in _by_stave(pages, items, reading):
        chain: list[Half] = []
        for page, system, middle, here in staves:
            strokes = _strokes(page, here, system)
            comes = [one for one in strokes if one.x0 < system.bars[0].x0 + BEGINS * system.space]
            goes = [one for one in strokes if one.x1 > system.bars[-1].x1 - TO_EDGE * system.space]
            if chain and _alike(chain[-1].strokes, comes):
                chain.append(Half(page, system, middle, comes))
            if not (chain and chain[-1].strokes == comes == goes):
                if any(_both_go_on(a, b) for a, b in pairwise(chain)):
                    _level(chain)
                chain = [Half(page, system, middle, goes)] if len(goes) == LINES else []
        if any(_both_go_on(a, b) for a, b in pairwise(chain)):
            _level(chain)


def level_lines(pages: Sequence[Page], items: Sequence[Sequence[Item]], reading: Reading) -> None:
    """The same of solid level lines below a stave, such as a pedal's, that have no hook where they go on."""
    for staves in _by_stave(pages, items, reading):
        chain: list[Half] = []
        for page, system, middle, each in staves:
            here = [i for i in each if not i.letters and not i.above]
            lines = [Half(page, system, middle, [line], _hooks(line, here, system)) for line in _lines(here, system)]
            comes = [half for half in lines if _comes(half)]
            goes = [half for half in lines if _goes(half)]
            chain += comes if chain and len(comes) == 1 else []
            if not (len(comes) == len(goes) == 1 and comes[0] is goes[0] and chain):
                _level(chain)
                chain = goes if len(goes) == 1 else []
        _level(chain)


def _by_stave(
    pages: Sequence[Page], items: Sequence[Sequence[Item]], reading: Reading
) -> list[list[tuple[Page, System, float, list[Item]]]]:
    """The part's first stave through all systems that have bars, its second, ...: each with its page, its middle and
    its items."""
    out: list[list[tuple[Page, System, float, list[Item]]]] = []
    for page, mine, read in zip(pages, items, reading.pages, strict=True):
        for s, system in enumerate(read.systems):
            for k, stave in enumerate(system.staves if system.bars else ()):
                if k == len(out):
                    out.append([])
                here = [i for i in mine if i.system == s and i.stave == k]
                out[k].append((page, system, (stave.top + stave.bottom) / 2, here))
    return out


def _lines(items: Sequence[Item], system: System) -> list[Stroke]:
    lines = (i for i in items if i.role is Role.THROUGH and i.style[:1] == ("line",))
    boxes = [(i, *i.box) for i in lines]
    sp = system.space
    return [Stroke(i, x0, y0, x1, y1) for i, x0, y0, x1, y1 in boxes if y1 - y0 < LEVEL * sp and x1 - x0 > LONG * sp]


def _hooks(line: Stroke, items: Sequence[Item], system: System) -> list[Item]:
    y = (line.y0 + line.y1) / 2
    return [i for i in items if any(hangs_at(i.box, x, y, system.space) for x in (line.x0, line.x1))]


def _comes(half: Half) -> bool:
    (line,), bar, sp = half.strokes, half.system.bars[0], half.system.space
    return line.x0 < bar.x0 + BEGINS * sp and not any(abs(i.box[0] - line.x0) < sp for i in half.hooks)


def _goes(half: Half) -> bool:
    (line,), bar, sp = half.strokes, half.system.bars[-1], half.system.space
    return line.x1 > bar.x1 - TO_EDGE * sp and not any(abs(i.box[0] - line.x1) < sp for i in half.hooks)


def _strokes(page: Page, items: Sequence[Item], system: System) -> list[Stroke]:
    """The lines of hairpins among items, the upper ones first."""
    out = []
    for item in items:
        ends = slanted(item, page, system.space) if item.role is Role.THROUGH and item.style[:1] == ("line",) else None
        if ends is not None:
            out.append(Stroke(item, *ends[:4]))
    return sorted(out, key=lambda one: one.y0 + one.y1)


def _alike(before: Sequence[Stroke], after: Sequence[Stroke]) -> bool:
    """Two lines that open or close as the two before them."""
    slopes = [(a.y1 - a.y0) * (b.y1 - b.y0) for a, b in zip(before, after, strict=False)]
    return len(before) == len(after) == LINES and all(slope > 0 for slope in slopes)


def _both_go_on(before: Half, after: Half) -> bool:
    """Beyond the bars at the printed line's end between them."""
    left, right = before.system.bars[-1].x0, after.system.bars[0].x1
    return all(one.x0 < left for one in before.strokes) and all(one.x1 > right for one in after.strokes)


def _level(chain: Sequence[Half]) -> None:
    if len(chain) < 2:
        return
    axes = [half.axis for half in chain]
    axis = max(axes) if sum(axes) > 0 else min(axes)
    for half in chain:
        down = (axis - half.axis) * half.system.space
        for item in (*(one.item for one in half.strokes), *half.hooks):
            for n in item.marks:
                mark = half.page.ink[n]
                if isinstance(mark, Shape):
                    half.page.ink[n] = _lowered(mark, down)
            x0, y0, x1, y1 = item.box
            item.box = (x0, y0 + down, x1, y1 + down)


def _lowered(shape: Shape, down: float) -> Shape:
    path = []
    for sub in shape.path:
        segments = [tuple(v + down * (n % 2) for n, v in enumerate(segment)) for segment in sub.segments]
        path.append(Subpath(sub.x, sub.y + down, segments, sub.closed))
    x0, y0, x1, y1 = shape.box
    return replace(shape, box=(x0, y0 + down, x1, y1 + down), path=path)
