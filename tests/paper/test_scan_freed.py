"""Words and marks on scans keep together whatever touches them: the stave, a pencil's ring, a note, a bracket's rule.

Charts are set here, pencilled and scanned; the engraved part's own cut says whose each bit of ink is.
"""

import cv2
import numpy as np
import numpy.typing as npt
import pymupdf
import pytest

import engraving
import scanning
from collaparte.paper.confirmed import all_sure
from collaparte.paper.cutting.pieces import cut_ink
from collaparte.paper.cutting.scan_brackets import bracket, hanging
from collaparte.paper.cutting.scan_freed import freed
from collaparte.paper.cutting.scan_parts import round_it
from collaparte.paper.cutting.scan_pencil import cut_off, is_pencil
from collaparte.paper.cutting.scan_words import Loose
from collaparte.paper.read import read_part
from collaparte.paper.scans.parts import connected
from paper.followed_ink import astray, followed
from paper.laid import engraved

SPACE = 20.0
SPREAD = scanning.Damage(200, 0.3, 0.3, 0.0, 0.03, 2.0, 0, "spread", 0, "jpeg")

WORDED = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Slack Water" instrument = "Viola" tagline = ##f }
\paper { ragged-last = ##f system-system-spacing = #'((basic-distance . 15) (padding . 1)) }
\relative c'' { \set Score.rehearsalMarkFormatter = #format-mark-box-alphabet
  \override Score.TextScript.outside-staff-priority = ##f \override Score.TextScript.staff-padding = #0
  \override Score.TextScript.padding = #0
  g4 a b c | b2 c | \mark \default a4 b c b | a2^\markup "straight" b | \break
  b4 c b a | \mark \default a1_\markup "D.S. al Coda" | g4 a b c | b1 | \break
  c4 b a g | \mark \default b2 g | a4 b c b | c1 \bar "|." }
"""
"""Words hang at the stave's lowest line, and stand close over one."""


LOWER = WORDED.replace("padding = #0", "padding = #1").replace("D.S. al Coda", "with a mute")


def _astray(source: str, *rings: tuple[str, int, int]) -> list[tuple[str, int]]:
    """What is astray of a chart's scan, each by its kind and its bar, where a pencil has drawn rings at some words: so
    far before their left end, so far below them (points)."""
    the = engraved(source)
    document = pymupdf.open(stream=the.pdf)
    for words, left, low in rings:
        x0, y0, x1, y1 = document[0].search_for(words)[0]
        document[0].draw_oval(pymupdf.Rect(x0 - left, y0 + 4, x1 + 6, y1 + low), color=(0.42,) * 3, width=1.2)
    scan, places = scanning.scanned(document.tobytes(), SPREAD, 3)
    reading = all_sure(read_part(scan, scans=True))
    bits = list(followed(the.cut, places))
    return [(bit.kind, bit.bar) for bit in astray(the.cut.table, bits, cut_ink(scan, reading), scan, reading)]


@pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")
def test_words_that_touch_a_stave_are_whole() -> None:
    """Found by counting on 60 scans: of 19 words with letters among a bar's notes, or at several bars, eight hung at
    the stave's lowest line."""
    assert _astray(WORDED) == []


@pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")
def test_words_in_a_pencils_ring_stay_with_their_line_and_a_mark_that_it_touches_with_its_letter() -> None:
    """Found by eye and by counting (8950020, 8950038): a ring took words and half a mark along to another line."""
    found = _astray(LOWER, ("with", 24, 24), ("straight", -8, 12))
    assert "other" not in {kind for kind, _ in found} and not {bar for _, bar in found} & {4, 10}


def _drawn(*figures: tuple[str, tuple[int, int]]) -> npt.NDArray[np.uint8]:
    picture = np.zeros((240, 400), np.uint8)
    for text, at in figures:
        cv2.putText(picture, text, at, cv2.FONT_HERSHEY_SIMPLEX, 1.2, 1, 6)
    return picture


def test_what_was_read_is_cut_free_of_large_ink_but_not_of_brackets_nor_of_its_own_letters() -> None:
    ink = _drawn(("Fine", (60, 110)))
    words = round_it(np.flatnonzero(connected(ink.astype(np.bool_)).x0 >= 0), connected(ink.astype(np.bool_)))
    x0, y0, x1, y1 = words
    ringed = cv2.ellipse(ink.copy(), (x1, y1), (80, 50), 0, 0, 360, 1, 5).astype(np.bool_)
    out = freed(ringed, [tuple(map(float, words))], SPACE)  # type: ignore[list-item]
    inside = connected(out[y0:y1, x0:x1])
    beyond = connected(out)
    letters = {int(n) for n in beyond.labels[y0:y1, x0:x1].ravel() if n >= 0}
    assert len(connected(ringed)) < len(beyond) and len(inside) > 2
    assert all(beyond.x1[n] <= x1 + 4 and beyond.y1[n] <= y1 + 4 for n in letters), "nothing of it goes on beyond"
    small = freed(ink.astype(np.bool_), [(float(x0), float(y0), float(x0 + 12), float(y1))], SPACE)
    assert (small == ink.astype(np.bool_)).all(), "a box that is too small cuts no letter"
    rule = ink.astype(np.bool_).copy()
    rule[y0 - 3 : y0, 20:380] = rule[y0 - 3 : y0 + 20, 20:23] = True
    alone = np.zeros_like(rule)
    alone[y0 - 3 : y0, 20:380] = alone[y0 - 3 : y0 + 20, 20:23] = True
    assert (freed(alone, [(60.0, y0 - 2.0, 160.0, y0 + 60.0)], SPACE) == alone).all()


@pytest.mark.parametrize("number", [False, True])
def test_a_bracket_stays_at_its_height_and_keeps_its_number_whatever_touches_it(number: bool) -> None:
    """Found by counting (8950003, 8950010): a rule was drawn a space lower, and its number went."""
    ink = _drawn()
    ink[60:63, 40:340] = ink[60:96, 40:43] = 1
    if number:
        cv2.putText(ink, "2", (52, 100), cv2.FONT_HERSHEY_SIMPLEX, 1.0, 1, 4)
        ink[60:80, 60:63] = 1  # it touches
    mask = ink[60:101, 40:340].astype(np.bool_)
    found = bracket(mask, SPACE)
    assert found is not None and found.y == pytest.approx(1.5, abs=0.6) and found.opens
    left = hanging(mask, found, SPACE)
    assert left.any() == number and not left[:, :8].any() and not left[:3].any()


@pytest.mark.parametrize(("tone", "print_", "told"), [(110, 0, True), (0, 0, False), (110, 60, False)])
def test_pencil_is_told_from_print_by_its_brightness_where_print_is_black(tone: int, print_: int, told: bool) -> None:
    """On a scan of two levels, and where print is faded, nothing is cut."""
    letters = _drawn(("Fine", (60, 110)), ("B", (250, 110)))
    grey = np.where(letters > 0, print_, 255).astype(np.uint8)
    ring = cv2.ellipse(np.zeros_like(letters), (150, 110), (80, 50), 0, 0, 360, 1, 6) & (1 - letters)
    grey[ring > 0] = tone
    dark, none = grey < 200, np.zeros(grey.shape, np.bool_)
    out, again = cut_off(grey, dark, none, SPACE)
    assert (dark & ~out).any() == told and not again.any()
    parts = connected(out)
    pencil = is_pencil(grey, parts, np.ones(len(parts), np.bool_), SPACE)
    whole = round_it(np.flatnonzero(pencil), parts) if pencil.any() else None
    assert (whole is not None and whole[2] - whole[0] > 150) == told
    on_stave = none.copy()
    on_stave[150:170] = True
    assert cut_off(grey, dark, on_stave, SPACE)[1].any() == told, "what stands on a stave is put together again"


def test_letters_that_touch_the_stave_are_letters_only_beside_others() -> None:
    ink = _drawn(("D", (60, 110)), ("al", (100, 118))).astype(np.bool_)
    parts = connected(ink)
    touching = parts.y0 < 90
    loose = Loose(parts, (0.0, float(parts.y0.min())), SPACE)
    none = np.zeros(len(parts), np.bool_)
    assert not loose.words(none, touching | ~touching)
    (word,) = loose.words(~touching, touching) or [none]
    assert len(word) >= 2
