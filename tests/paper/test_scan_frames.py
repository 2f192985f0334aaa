"""Frames on scans: closed all round, whatever touches them outside, and with something in them."""

import numpy as np
import pytest

from collaparte.paper.scans.bits import packed
from collaparte.paper.scans.frames import rings, rooms
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import connected

SPACE = 16.0


def _page(*, touched: bool, letter: bool, gap: bool) -> Dark:
    ink = np.zeros((200, 300), dtype=bool)
    ink[60:104, 100:150] = True
    ink[63:101, 103:147] = False
    if letter:
        ink[70:94, 118:124] = True
        ink[70:73, 118:132] = True
    if touched:
        ink[60:63, 20:100] = True  # an ending's bracket runs into the frame
    if gap:
        ink[60:63, 115:135] = False
    return ink


@pytest.mark.parametrize(("touched", "letter", "gap", "found"), [
    (False, True, False, 1), (True, True, False, 1), (True, False, False, 0), (False, True, True, 0),
])  # fmt: skip
def test_a_frame_is_white_closed_in_with_a_letter(touched: bool, letter: bool, gap: bool, found: int) -> None:
    ink = _page(touched=touched, letter=letter, gap=gap)
    parts = connected(ink)
    kept = np.arange(len(parts))
    boxes = [box for _, box in rings(parts, kept, SPACE)]
    boxes += rooms(packed(ink), ink.shape[1], parts, kept, boxes, SPACE)
    assert len(boxes) == found
    for x0, y0, x1, y1 in boxes:
        assert abs(x0 - 101) <= 3 and abs(y0 - 61) <= 3 and abs(x1 - 149) <= 3 and abs(y1 - 103) <= 3


@pytest.mark.parametrize(("letter", "found"), [(False, 0), (True, 1)])
def test_a_small_frame_that_has_spread_is_one_where_white_is_left_about_its_letter(letter: bool, found: int) -> None:
    ink = np.zeros((200, 300), dtype=bool)
    ink[60:90, 100:130] = True
    if letter:
        ink[64:86, 104:126] = False
        ink[67:71, 107:123] = ink[67:86, 112:118] = True  # a T that touches the frame's foot
    else:
        ink[68:73, 110:118] = ink[78:83, 110:118] = False  # a bold letter with its two holes
    parts = connected(ink)
    assert parts.area[0] > 0.6 * 30 * 30
    assert len(rings(parts, np.arange(len(parts)), SPACE)) == found
