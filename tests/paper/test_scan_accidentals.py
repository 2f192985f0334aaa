"""Keys' signs in their order, in each clef, as an engraver sets them."""

import numpy as np
import pytest

import engraving
from collaparte.paper.cutting.pieces import cut
from collaparte.paper.cutting.scan_accidentals import (
    CLEFS,
    FIRST,
    LOOK,
    InOrder,
    KeySigns,
    Sort,
    key_of,
    name_of,
    signs_in_order,
)
from collaparte.paper.cutting.scan_heads import is_percussion
from collaparte.paper.cutting.scan_keys import Key, Signs, in_force
from collaparte.paper.read import read_part
from paper.laid import engraved

SORTS: tuple[Sort, ...] = ("sharp", "flat")
CHART = (
    r"""
\version "2.24.0"
#(set-global-staff-size 18)
\paper { ragged-last = ##f }
{ \override Score.KeyCancellation.stencil = ##f
"""
    + r" \break".join(
        rf"""\clef "{clef}" \key {key} \major \repeat unfold 4 {{ c'1 }}"""
        for clef in ("treble", "bass", "alto", "tenor")
        for key in ("cis", "ces")
    )
    + "}\n"
)


@pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")
def test_signs_of_a_key_stand_where_the_engraver_sets_them() -> None:
    pdf = engraved(CHART).pdf
    table = cut(pdf, read_part(pdf))
    lines = {bar.system: table.heads[bar.head_here].key_name for bar in table.bars}
    told = [name_of(KeySigns(sort, 7), clef) for clef in CLEFS for sort in SORTS]
    assert list(lines.values()) == told


def test_several_signs_in_a_keys_order_are_a_key_though_one_line_alone_has_it() -> None:
    """One sign may be an accidental before a line's first note, but not before its meter; two in their order hardly
    are."""
    for many, before_meter, drawn in ((1, False, False), (1, True, True), (2, False, True)):
        signs = Signs(0.0, 0.0, np.ones((8, 8 * many), np.bool_), "6@-4 6@-1"[: 4 + 5 * (many - 1)])
        key, none = Key((signs,), 8.0, KeySigns("sharp", many), before_meter), Key((None,), 8.0)
        there, like = (lambda line, one: line == 0 or not one.wide), (lambda line, one: False)
        true = in_force([key, none], None, [False, False], there, like)
        assert [bool(one.wide) for one in true] == [drawn, False]


@pytest.mark.parametrize("likeliest", [True, False])
def test_a_sign_and_what_stands_behind_it_are_the_key_that_all_lines_have_where_that_alone_looks_like_one(
    likeliest: bool,
) -> None:
    """Met on a scan whose print had spread (8950040): a torn meter, and a note, were further signs of two lines' keys;
    accidentals in their course looked like changes."""
    sign, more = (Signs(0.0, 0.0, np.ones((8, 8 * n), np.bool_), " ".join(["6@-4"] * n)) for n in (1, 3))
    key, wrong = Key((sign,), 8.0, KeySigns("sharp", 1)), Key((more,), 8.0)
    seen = [wrong, key, key]
    true = in_force(seen, None, [True] * 3, lambda line, one: line == 0 or one is key, lambda line, one: likeliest)
    assert [one is key for one in true] == [likeliest, True, True]


def test_a_note_with_its_flag_is_no_two_flats() -> None:
    """On 636 scanned lines such notes came to 0.55, two flats to no less than 0.6, two sharps down to 0.49."""
    told = {sort: key_of([{KeySigns(sort, 2): InOrder(0.55, 2.0, "f")}]) for sort in SORTS}
    assert told == {"sharp": KeySigns("sharp", 2), "flat": None}


@pytest.mark.parametrize("pitch", [1.0, 1.6])
def test_sharps_of_a_wide_font_are_a_key_too(pitch: float) -> None:
    """Met on a scan (8950059), a handwritten font's sharps 1.6 spaces apart: its key was named as five signs."""
    space, ink = 16, np.zeros((16 * 11, 16 * 14), np.bool_)
    look = np.kron(LOOK["sharp"] > 0.5, np.ones((2, 2), np.bool_))
    for n, place in enumerate((-4, -1, -5)):  # F, C, G in a G clef, in half spaces
        y, x = round((5.5 + place / 2) * space) - look.shape[0] // 2, round((0.6 + n * pitch) * space)
        ink[y : y + look.shape[0], x : x + look.shape[1]] |= look
    close, wide = (signs_in_order(ink, 5.5 * space, CLEFS["g"], space, FIRST, wide=wide) for wide in (False, True))
    likelier, other = (wide, close) if pitch > 1.5 else (close, wide)
    three = KeySigns("sharp", 3)
    assert key_of([likelier]) == three and likelier[three].likeness > other[three].likeness + 0.1


@pytest.mark.parametrize("soft", [False, True])
def test_a_drums_clef_is_the_same_on_all_lines(soft: bool) -> None:
    """Two bars, two spaces high (common practice); met on a scan (8950018): that of one line was taken for another."""
    mask = np.zeros((32, 30), np.bool_)
    mask[:, 2:11] = mask[:, 18:27] = True
    mask[1::2, 11:13] = soft
    assert is_percussion(mask, -16, 16.0)
    assert not is_percussion(mask, 0, 16.0) and not is_percussion(mask[:, :14], -16, 16.0)
    assert not is_percussion(np.repeat(mask, 3, axis=0), -48, 16.0)
