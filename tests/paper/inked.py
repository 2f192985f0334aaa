"""What a laying inks, line by line, from pictures of its pieces: that no ink meets other ink or leaves its page."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from collaparte.paper.cutting.pieces import Cut
from collaparte.paper.pages.across import Across, Sheet
from collaparte.paper.pages.compose import LineComposer
from collaparte.paper.pages.laying import Dot, LaidPage, Laying, Placed, Rule, Words
from collaparte.paper.pages.sheets import draw_cut
from paper.laid import words_box

RUNG = 12.5
"""Pixels a space."""
INK = 96
"""Of 255: lighter is the soft edge of ink."""
BEYOND = 6.0
"""mm around the page that are looked at too."""

Mask = npt.NDArray[np.bool_]
Owned = list[tuple[Placed | Rule | Dot | Words, int]]


@dataclass
class Lines:
    """Of each page in the order in which they were made: how much of everything stood on it after each line."""

    marks: list[list[tuple[int, int, int, int]]] = field(default_factory=list)
    _sheet: Sheet | None = None

    def note(self, sheet: Sheet) -> None:
        if sheet is not self._sheet:
            self.marks.append([])
            self._sheet = sheet
        self.marks[-1].append((len(sheet.placed), len(sheet.rules), len(sheet.dots), len(sheet.words)))


@contextmanager
def lines_noted(monkeypatch: pytest.MonkeyPatch) -> Iterator[Lines]:
    """While a part is laid: which line each thing was set down for."""
    lines = Lines()
    set_down, whole = Across.set_down, LineComposer.whole

    def noted(self: Across, sheet: Sheet, *rest: Any) -> None:
        lines.note(sheet) if not lines.marks or sheet is not lines._sheet else None
        set_down(self, sheet, *rest)
        lines.note(sheet)

    def noted_whole(self: LineComposer, sheet: Sheet, *rest: Any) -> None:
        lines.note(sheet) if not lines.marks or sheet is not lines._sheet else None
        whole(self, sheet, *rest)
        lines.note(sheet)

    with monkeypatch.context() as patch:
        patch.setattr(Across, "set_down", noted)
        patch.setattr(LineComposer, "whole", noted_whole)
        yield lines


def _alpha(png: bytes) -> npt.NDArray[Any]:
    picture = cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_UNCHANGED)
    assert picture is not None
    return picture[..., 3]


class Inks:
    """The ink of all pieces of a part."""

    def __init__(self, cut: Cut) -> None:
        pieces, pictures = draw_cut(cut, (RUNG,))
        sheets = {n: _alpha(png) > INK for _, n, png in pictures}
        self.masks: dict[int, Mask] = {}
        self.corner: dict[int, tuple[float, float]] = {}
        for p in pieces.pieces:
            x, y = round(p.x * RUNG), round(p.y * RUNG)
            w, h = max(1, round((p.right - p.left) * RUNG)), max(1, round((p.bottom - p.top) * RUNG))
            self.masks[p.id] = sheets[p.sheet][y : y + h, x : x + w]
            self.corner[p.id] = p.left, p.top

    def page(self, laying: Laying, page: LaidPage, things: Owned, owners: int) -> npt.NDArray[np.bool_]:
        """For each owner what is inked, `BEYOND` mm around the page too."""
        scale = RUNG / laying.space
        shape = tuple(round((side + 2 * BEYOND) * scale) for side in reversed(laying.page))
        out = np.zeros((owners, *shape), np.bool_)
        for thing, owner in things:
            if isinstance(thing, Placed):
                self._piece(out[owner], thing, scale)
                continue
            if isinstance(thing, Words):
                x0, y0, x1, y1 = words_box(thing)
            elif isinstance(thing, Dot):
                x0, y0, x1, y1 = thing.x - thing.r, thing.y - thing.r, thing.x + thing.r, thing.y + thing.r
            else:
                x0, y0, x1, y1 = thing.x0, thing.y0, thing.x1, thing.y1
            a, b, c, d = (max(round((at + BEYOND) * scale), 0) for at in (x0, x1, y0, y1))
            out[owner, c : max(d, c + 1), a : max(b, a + 1)] = True
        return out

    def _piece(self, out: Mask, thing: Placed, scale: float) -> None:
        mask = self.masks[thing.piece]
        left, top = self.corner[thing.piece]
        tall = thing.space * scale / RUNG  # of a title or a line that stands as printed
        high = max(1, round(mask.shape[0] * tall))
        rows = (np.arange(high) / tall).astype(int).clip(0, mask.shape[0] - 1)
        y = round((thing.y + top * thing.space + BEYOND) * scale)
        for cut in thing.slices:
            a, b = (cut.sx0 - left) * RUNG, (cut.sx1 - left) * RUNG
            x0, x1 = round((cut.x0 + BEYOND) * scale), round((cut.x1 + BEYOND) * scale)
            if x1 <= x0 or mask.shape[1] == 0 or mask.shape[0] == 0:
                continue
            columns = (a + (np.arange(x1 - x0) + 0.5) * (b - a) / (x1 - x0)).astype(int).clip(0, mask.shape[1] - 1)
            part = mask[np.ix_(rows, columns)]
            ys, xs = np.nonzero(part)  # what is further off than is looked at is at the edge of that
            out[(y + ys).clip(0, out.shape[0] - 1), (x0 + xs).clip(0, out.shape[1] - 1)] = True


def faults(inks: Inks, laying: Laying, lines: Lines, clear: float = 0.25) -> list[str]:
    """Ink off the page, and ink of two lines (or of a line and the title or the foot) nearer than `clear` spaces."""
    out: list[str] = []
    if laying.as_printed:
        return out
    marks = lines.marks[-len(laying.pages) :]
    for n, (page, mark) in enumerate(zip(laying.pages, marks, strict=True)):
        kinds: tuple[Any, ...] = (page.placed, page.rules, page.dots, page.words)
        things: Owned = []
        for kind, every in enumerate(kinds):
            for at, thing in enumerate(every):
                # 0: before the first line or behind the last one, the title and the foot
                line = next((k for k, ends in enumerate(mark) if at < ends[kind]), 0)
                things.append((thing, line))
        inked = inks.page(laying, page, things, len(mark))
        scale = RUNG / laying.space
        any_ink = inked.any(axis=0)
        ys, xs = np.flatnonzero(any_ink.any(axis=1)), np.flatnonzero(any_ink.any(axis=0))
        x0, x1 = xs[0] / scale - BEYOND, (xs[-1] + 1) / scale - BEYOND
        y0, y1 = ys[0] / scale - BEYOND, (ys[-1] + 1) / scale - BEYOND
        if x0 < -0.1 or y0 < -0.1 or x1 > laying.page[0] + 0.1 or y1 > laying.page[1] + 0.1:
            out.append(f"page {n + 1}: ink {x0:.1f}..{x1:.1f} x {y0:.1f}..{y1:.1f} mm")
        reach = round(clear * RUNG)
        taken = np.zeros_like(any_ink)
        for k in range(len(mark)):
            near = inked[k].copy()
            for by in range(1, reach + 1):
                near[by:] |= inked[k][:-by]
                near[:-by] |= inked[k][by:]
            both = near & taken
            if both.any():
                y, x = np.argwhere(both)[0]
                out.append(
                    f"page {n + 1}: line {k} meets another at {x / scale - BEYOND:.1f}, {y / scale - BEYOND:.1f} mm"
                )
            taken |= inked[k]
    return out
