"""Ink as bits and runs, held against OpenCV's own morphology and connected components."""

import cv2
import numpy as np
import pytest

from collaparte.paper.scans import bits
from collaparte.paper.scans.cells import cells_of, cells_of_parts
from collaparte.paper.scans.parts import connected

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
@pytest.mark.parametrize("length", (1, 3, 5, 13))
def test_runs_are_what_an_opening_leaves(width: int, length: int) -> None:
    dark = _page(width) | _page(width)[::-1]
    ink = dark.astype(np.uint8)
    for runs, kernel in ((bits.runs_across, (1, length)), (bits.runs_down, (length, 1))):
        opened = cv2.morphologyEx(
            ink, cv2.MORPH_OPEN, np.ones(kernel, np.uint8), borderType=cv2.BORDER_CONSTANT, borderValue=0
        )
        assert (bits.unpacked(runs(bits.packed(dark), length), width) == opened).all()


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
