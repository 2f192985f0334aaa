"""What is laid is made of a page's ink: none is lost, whatever operators, fonts, colours and forms it is drawn in.

`COLLAPARTE_SEED=n pytest tests/paper/test_ink_remade.py` makes the same chart again.
"""

from collections import Counter
from dataclasses import replace

import pytest

from collaparte.paper.cutting.flattened import Fonts, flatten, open_pdf
from collaparte.paper.cutting.ink import Mark, Shape
from remade import CHOICES, PLAIN, Maker, remade, told
from seeded import SEED

pytest.importorskip("verovio")
import second_engraving

LIKE_THE_PLAIN_ONE = ("units", "holding", "colour", "page")
"""Choices that change how ink is written, but not into how many pieces it falls."""


def _ink(pdf: bytes) -> Counter[tuple[int, ...]]:
    """The boxes of all marks of the first page, in points, as often as they occur."""

    def place(mark: Mark) -> tuple[int, ...]:
        return tuple(round(v) for v in mark.box)

    page = flatten(open_pdf(pdf), 0, Fonts())
    assert not any(isinstance(mark, Shape) and mark.colour == (1.0,) for mark in page.ink)
    return Counter(place(mark) for mark in page.ink)


Box = tuple[int, ...]


def _lost(one: Counter[Box], other: Counter[Box]) -> list[Box]:
    """Boxes of `one` that `other` has nothing like, a point's rounding aside; pieces that touch may be one there."""
    near = {(a + i, b + j, c + k, d + m) for a, b, c, d in other for i in (-1, 0, 1) for j in (-1, 0, 1)
            for k in (-1, 0, 1) for m in (-1, 0, 1)}  # fmt: skip
    return [
        box
        for box in one
        if box not in near
        and not _is_made_of(box, other)
        and not any(_within(box, whole) and _is_made_of(whole, one) for whole in other)
    ]


def _within(box: Box, whole: Box) -> bool:
    return all(a >= b - 1 for a, b in zip(box[:2], whole, strict=False)) and all(
        a <= b + 1 for a, b in zip(box[2:], whole[2:], strict=True)
    )


def _is_made_of(whole: Box, pieces: Counter[Box]) -> bool:
    """Whether several of the pieces together reach as far as the whole."""
    inside = [one for one in pieces if _within(one, whole)]
    if len(inside) < 2:
        return False
    x0, y0, x1, y1 = zip(*inside, strict=True)
    return _within(whole, (min(x0), min(y0), max(x1), max(y1)))


MAKERS = [
    *(replace(PLAIN, **{name: choice}) for name in LIKE_THE_PLAIN_ONE for choice in CHOICES[name][1:]),
    replace(PLAIN, text="type3"),
    replace(PLAIN, text="type3", colour="separation", holding="nested"),
    replace(PLAIN, level="polygon", upright="polygon", gather="page"),
    replace(PLAIN, more="masked"),
    replace(PLAIN, more="hidden"),
    replace(PLAIN, more="invisible"),
]


@pytest.mark.parametrize("by", MAKERS, ids=told)
def test_no_ink_is_lost_and_none_is_added(by: Maker) -> None:
    pdf, _, notes = second_engraving.chart(SEED)
    plain, again = _ink(remade(pdf, PLAIN)), _ink(remade(pdf, by))
    assert not _lost(plain, again), f"COLLAPARTE_SEED={SEED}: {notes}"
    assert not _lost(again, plain), f"COLLAPARTE_SEED={SEED}: {notes}"
