"""Clips: what of a page's ink lies outside the area that it is painted through, and so is not seen.

An area counts by its box; a shape that is cut through is seen when a good part of it is.
"""

from collections.abc import Sequence
from typing import Any

import pymupdf

from collaparte.paper.reading import Box
from collaparte.paper.sight.filled import LINE
from collaparte.paper.sight.paths import Outlined
from collaparte.paper.sight.strokes import Blob, Rule

ENOUGH = 0.3
"""A shape is seen when so much of its area is: the rest may be seen through the next clip."""
TOUCH = 0.05
"""Edges and places nearer than this, in points, are the same."""
NEAR = 4
"""Letters are looked up by their place in quarters of a point."""


class Scissors:
    """The clips that are open while a page's drawings go by; `turn` as in `page_ink`."""

    def __init__(self, turn: Any) -> None:
        self._turn = turn
        self._open: list[Box | None] = []
        self._pieces: list[Rule] = []
        self.hid = False
        """Whether anything that was drawn lay outside, at least in part."""

    def at(self, drawing: dict[str, Any]) -> bool:
        """Take note of the drawing's level; False when it is no ink but a clip or a group itself."""
        level, sort = drawing["level"], drawing["type"]
        del self._open[level:]
        if sort == "clip":
            self._open.append(_turned(drawing["scissor"], self._turn))
        elif sort == "group":
            self._open.append(self._open[-1] if self._open else None)
        return sort not in ("clip", "group")

    def cut(self, rules: list[Rule], blobs: list[Blob], outlined: list[Outlined], since: tuple[int, int, int]) -> None:
        """Leave of what was added `since` (lengths of the lists) what is seen; lines that are cut are kept apart."""
        clip = self._open[-1] if self._open else None
        if clip is None:
            return
        drawn, shapes, boxes = rules[since[0] :], blobs[since[1] :], outlined[since[2] :]
        if (
            all(_holds(clip, one.box) for one in drawn)
            and all(_holds(clip, one.box) for one in shapes)
            and all(_holds(clip, one[0]) for one in boxes)
        ):
            return
        rules[since[0] :] = [r for r in drawn if _holds(clip, r.box) or (_is_thick(r) and _share(r.box, clip) > ENOUGH)]
        self._pieces += [
            Rule(max(r.x0, clip[0]), max(r.y0, clip[1]), min(r.x1, clip[2]), min(r.y1, clip[3]), r.dashed)
            for r in drawn
            if not _is_thick(r) and not _holds(clip, r.box) and _share(r.box, clip) > 0
        ]
        blobs[since[1] :] = [blob for blob in shapes if _share(blob.box, clip) > ENOUGH]
        outlined[since[2] :] = [one for one in boxes if _share(one[0], clip) > ENOUGH]
        self.hid = True

    def pieces(self) -> list[Rule]:
        """What is seen of the rules that were cut through; where they touch they are one again."""
        level = _joined(self._pieces, 0)
        return _joined(level, 1)


def _joined(pieces: Sequence[Rule], along: int) -> list[Rule]:
    """Rules with the same sides, one behind the other from the left (`along` 0) or the top (1), as one."""
    across = 1 - along
    out: list[Rule] = []
    boxed = [(rule.box, rule) for rule in pieces]
    boxed.sort(key=lambda pair: (round(pair[0][across], 2), round(pair[0][across + 2], 2), pair[0][along]))
    for box, rule in boxed:
        last = out[-1] if out else None
        if (
            last is not None
            and abs(last.box[across] - box[across]) < TOUCH
            and abs(last.box[across + 2] - box[across + 2]) < TOUCH
            and box[along] - last.box[along + 2] < TOUCH
        ):
            out[-1] = Rule(last.x0, last.y0, max(last.x1, rule.x1), max(last.y1, rule.y1), last.dashed)
        else:
            out.append(rule)
    return out


def _is_thick(rule: Rule) -> bool:
    """Whether a rule is no line: white may make a frame of it, so it is kept whole or not at all."""
    return min(rule.x1 - rule.x0, rule.y1 - rule.y0) > LINE


def _holds(clip: Box, box: Sequence[float]) -> bool:
    return clip[0] <= box[0] and clip[1] <= box[1] and box[2] <= clip[2] and box[3] <= clip[3]


def _share(box: Sequence[float], clip: Box) -> float:
    """How much of a box is seen; a box without an area counts by its length."""
    along = [(box[n], box[n + 2], clip[n], clip[n + 2]) for n in (0, 1)]
    seen = 1.0
    for low, high, first, last in along:
        inside = min(high, last) - max(low, first)
        if inside < 0:
            return 0.0
        seen *= inside / (high - low) if high > low else 1.0
    return seen


def _turned(box: Box, turn: Any) -> Box:
    if turn is None:
        return box
    points = [
        (turn[0] * x + turn[2] * y + turn[4], turn[1] * x + turn[3] * y + turn[5]) for x in box[::2] for y in box[1::2]
    ]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs), min(ys), max(xs), max(ys))


def seen_letters(page: pymupdf.Page) -> frozenset[tuple[int, int]]:
    """Where letters stand (see `place`) that no clip hides."""
    blocks = page.get_text("rawdict", flags=pymupdf.TEXT_CLIP | pymupdf.TEXT_PRESERVE_LIGATURES)["blocks"]
    return frozenset(
        place(char["origin"][0] + across, char["origin"][1] + down)
        for block in blocks
        for line in block.get("lines", ())
        for span in line["spans"]
        for char in span["chars"]
        for across in (-TOUCH, TOUCH)
        for down in (-TOUCH, TOUCH)
    )


def place(x: float, y: float) -> tuple[int, int]:
    """A letter's origin as a key."""
    return round(x * NEAR), round(y * NEAR)
