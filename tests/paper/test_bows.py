"""What is a slur and what a rest, where a font's rests have curved sides."""

import pytest

from collaparte.paper.cutting.bows import is_block, is_bow
from collaparte.paper.cutting.ink import Shape, Subpath
from collaparte.paper.read import read_part
from paper.laid import with_reading

SHAKY = Subpath(0, 0, [(0.1, 0.3, -0.1, 0.4, 0.05, 0.65), (0.7, 0.6, 1.2, 0.7, 2.0, 0.66), (2.1, 0.3, 1.9, 0.1, 2.0, 0),
                       (1.3, 0.04, 0.6, -0.03, 0, 0)])  # fmt: skip
TIE = Subpath(0, 0, [(0.6, 0.6, 1.4, 0.6, 2.0, 0), (1.4, 0.85, 0.6, 0.85, 0, 0)])
TORN = Subpath(0, 0, [(0.3, 0.3, 0.6, 0.45, 1.0, 0.45), (1.4, 0.45, 1.7, 0.3, 2.0, 0), (1.7, 0.5, 1.4, 0.65, 1.0, 0.65),
                      (0.6, 0.65, 0.3, 0.5, 0, 0)])  # fmt: skip
"""A tie drawn in two halves."""


def shape(path: Subpath) -> Shape:
    return Shape((0, 0, 2.0, 0.65), [path], (0,))


def test_a_rest_with_a_shaky_outline_is_a_block_and_no_bow() -> None:
    assert is_block(shape(SHAKY), 1.0) and not is_bow(shape(SHAKY), 1.0)


@pytest.mark.parametrize("bow", [TIE, TORN])
def test_a_tie_is_no_block_however_it_is_drawn(bow: Subpath) -> None:
    assert not is_block(shape(bow), 1.0)


def test_a_first_bar_keeps_the_rest_that_it_begins_with() -> None:
    """Found by eye: a rest of two beats was taken for the end of a tie, and a line's first bar began in white."""
    pytest.importorskip("verovio")
    import second_engraving

    pdf, truth, notes = second_engraving.chart(77001102, signs=True)
    assert "Petaluma" in notes and not truth.pickup
    first = with_reading(pdf, read_part(pdf))
    bar = first.cut.table.bars[0]
    assert [len(first.cut.inks[piece].boxes) for piece in bar.main] == [2]
    assert not bar.open
