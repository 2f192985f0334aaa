"""Ink as bits and runs, held against OpenCV's own morphology and connected components."""

from itertools import pairwise

import cv2
import numpy as np
import pytest

from collaparte.paper.scans import bits
from collaparte.paper.scans.cells import cells_of, cells_of_parts
from collaparte.paper.scans.levels import closed
from collaparte.paper.scans.parts import connected, connected_runs

WIDTHS = (63, 64, 65, 128, 200)


def _page(width: int) -> bits.Dark:
    dark: bits.Dark = np.random.default_rng(width).random((70, width)) < 0.45
    return dark


@pytest.mark.parametrize("width", WIDTHS)
def test_bits_are_unpacked_as_they_were_packed(width: int) -> None:
    dark = _page(width)
    assert (bits.unpacked(bits.packed(dark), width) == dark).all()
    words = [int(word) for word in bits.counted(bits.packed(dark), 16)[3]]
    assert words[: width // 16] == [int(dark[3, x : x + 16].sum()) for x in range(0, width - 15, 16)]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("box", ((0, 0, 5, 70), (60, 3, 63, 9), (20, 69, 400, 80), (10, 5, 10, 9)))
def test_what_is_wiped_is_paper_and_nothing_else(width: int, box: tuple[int, int, int, int]) -> None:
    dark = _page(width)
    page = bits.packed(dark)
    bits.wipe(page, *box)
    x0, y0, x1, y1 = box
    dark[y0:y1, x0:x1] = False
    assert (bits.unpacked(page, width) == dark).all()


def _shifts(length: int) -> list[tuple[int, int, int]]:
    """Stretches that are moved by more and less than a word, both ways, and by nothing."""
    cuts = [0, 7, 21, length // 2, length - 2, length]
    return [(a, b, shift) for (a, b), shift in zip(pairwise(cuts), (-67, -5, 0, 3, 64), strict=True)]


@pytest.mark.parametrize("width", WIDTHS)
def test_stretches_are_moved_as_pixels_are(width: int) -> None:
    dark = _page(width)
    page = bits.Bitmap(bits.packed(dark), width)
    high, wide = np.zeros((3 * 70, width), np.bool_), np.zeros((70, 3 * 200), np.bool_)
    high[70:140], wide[:, 200 : 200 + width] = dark, dark
    up, left = bits.moved_up(page, _shifts(width)), bits.moved_left(page, _shifts(70))
    assert (up.rows(0, 70) == np.hstack([high[70 + s : 140 + s, a:b] for a, b, s in _shifts(width)])).all()
    assert (left.rows(0, 70) == np.vstack([wide[a:b, 200 + s : 200 + s + width] for a, b, s in _shifts(70)])).all()
    assert (bits.packed(left.rows(0, 70)) == left.bits).all()


def _opened(dark: bits.Dark, high: int, wide: int) -> bits.Dark:
    ink, kernel = dark.astype(np.uint8), np.ones((high, wide), np.uint8)
    opened = cv2.morphologyEx(ink, cv2.MORPH_OPEN, kernel, borderType=cv2.BORDER_CONSTANT, borderValue=0)
    return opened.astype(np.bool_)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("length", (1, 3, 5, 13))
def test_runs_are_what_an_opening_leaves(width: int, length: int) -> None:
    dark = _page(width) | _page(width)[::-1]
    down = bits.runs_down(bits.packed(dark), length)
    assert (bits.unpacked(down, width) == _opened(dark, length, 1)).all()
    page = bits.packed(dark)
    starts, ends = bits.runs(page)
    long = ends - starts >= length
    across = connected_runs(starts[long], ends[long], dark.shape, bits.WORD * page.shape[1])
    assert ((across.labels >= 0) == _opened(dark, 1, length)).all()


@pytest.mark.parametrize("width", WIDTHS)
def test_closed_runs_are_pixels_with_ink_on_both_sides_one_or_two_away(width: int) -> None:
    dark = _page(width)
    page = bits.packed(dark)
    starts, ends = closed(*bits.runs(page), bits.WORD * page.shape[1])
    long = ends - starts >= 7
    ours = connected_runs(starts[long], ends[long], dark.shape, bits.WORD * page.shape[1])
    beside = np.pad(dark, ((0, 0), (2, 2)))
    theirs = dark | (beside[:, 1:-3] & beside[:, 3:-1]) | (beside[:, :-4] & beside[:, 4:])
    assert ((ours.labels >= 0) == _opened(theirs, 1, 7)).all()


@pytest.mark.parametrize("width", WIDTHS)
def test_connected_parts_are_those_that_opencv_finds(width: int) -> None:
    dark = _page(width) & _page(width)[:, ::-1]
    parts = connected(dark)
    count, labels, boxes, _ = cv2.connectedComponentsWithStats(dark.astype(np.uint8), connectivity=8)
    theirs = sorted((x, y, x + w, y + h, area) for x, y, w, h, area in boxes[1:].tolist())
    ours = zip(*(v.tolist() for v in (parts.x0, parts.y0, parts.x1, parts.y1, parts.area)), strict=True)
    assert sorted(ours) == theirs
    assert len(parts) == count - 1
    assert ((parts.labels >= 0) == dark).all()
    for n in range(len(parts)):
        mask = parts.labels == n
        assert len(np.unique(labels[mask])) == 1
        assert (parts.mask(n) == mask[parts.y0[n] : parts.y1[n], parts.x0[n] : parts.x1[n]]).all()


def test_each_rows_first_and_last_pixel_are_so_far_from_the_sides_of_its_part() -> None:
    parts = connected(_page(200) & _page(200)[:, ::-1])
    outer = parts.outer()
    for n in range(len(parts)):
        left, right = outer.of(n)
        mask = parts.mask(n)
        assert left.tolist() == mask.argmax(axis=1).tolist()
        assert right.tolist() == mask[:, ::-1].argmax(axis=1).tolist()


def test_cells_are_the_means_of_a_part_drawn_large() -> None:
    dark = _page(200) & _page(200)[:, ::-1]
    parts = connected(dark)
    groups = [[n] for n in np.flatnonzero(parts.area > 12).tolist()]
    boxes = [tuple(int(v[n]) for v in (parts.x0, parts.y0, parts.x1, parts.y1)) for (n,) in groups]
    assert len(groups) > 5
    for (n,), cells in zip(groups, cells_of_parts(parts, groups, boxes), strict=True):  # type: ignore[arg-type]
        large = parts.mask(n).astype(np.float32).repeat(16, axis=0).repeat(16, axis=1)
        mean = cv2.resize(large, (16, 16), interpolation=cv2.INTER_AREA).ravel()
        assert cells == pytest.approx(mean, abs=1e-4)
        assert cells_of(parts.mask(n)) == pytest.approx(mean, abs=1e-4)


def test_a_part_divided_at_a_row_or_a_column_is_its_two_sides() -> None:
    dark = _page(65)
    parts = connected(dark)
    number = int(np.argmax(parts.area))
    whole, column, row = parts.mask(number), int(parts.x0[number] + parts.x1[number]) // 2, 30
    x0, y0, many = int(parts.x0[number]), int(parts.y0[number]), len(parts)
    parts.divide_across(number, column)
    parts.divide(number + 1, row)
    assert len(parts) == many + 2 and parts.area.sum() == dark.sum()
    for n, side in ((0, whole[:, : column - x0]), (1, whole[: row - y0, column - x0 :])):
        rows, columns = np.flatnonzero(side.any(axis=1)), np.flatnonzero(side.any(axis=0))
        assert (parts.mask(number + n) == side[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]).all()
    assert ((parts.labels >= 0) == dark).all()
