"""Stave heights and angles against published values, and against staves engraved at a known size."""

import math

import pytest

from collaparte.demo import BAND
from collaparte.paper.legibility import RASTRALS, View, legibility, minutes, verdict, words
from collaparte.paper.read import read_part

# MOLA 2017, p. 5, as quoted among copyists: best 7.5 mm, 7.0 readable, less unacceptable, avoid more than 8.5.
MOLA = [(6.5, "too small"), (6.9, "too small"), (7.0, "readable"), (7.5, "good"), (8.5, "good"), (9.0, "large")]

# LilyPond's mf/README after Ross and Wanske, in points of 1/72.27 inch: rastral sizes 0 to 8, +-0.5 pt.
ROSS = (26.2, 22.6, 21.3, 19.9, 19.1, 17.1, 15.9, 13.7, 11.1)


@pytest.mark.parametrize(("height", "said"), MOLA)
def test_a_stave_is_judged_as_librarians_do(height: float, said: str) -> None:
    assert verdict(height) == said


def test_who_sits_nearer_reads_smaller_staves() -> None:
    assert verdict(5.7, 600) == "readable" and verdict(5.7, 750) == "too small"
    assert verdict(8.0, 900) == "too small"


@pytest.mark.parametrize(("height", "distance", "angle"), [(7, 600, 40.1), (7, 750, 32.1), (7, 900, 26.7)])
def test_angles_are_those_of_the_handbook(height: float, distance: float, angle: float) -> None:
    # NUREG-0700 rev. 2, 1.3.1-4, in its other form: h = 6.283 d MA / 21600.
    assert minutes(height, distance) == pytest.approx(angle, abs=0.05)
    assert height == pytest.approx(2 * math.pi * distance * minutes(height, distance) / 21600, rel=1e-4)


def test_rastral_sizes_agree_with_a_second_measurement() -> None:
    assert list(RASTRALS[1:]) == pytest.approx([pt * 25.4 / 72.27 for pt in ROSS[1:]], abs=0.25)


def test_a_part_is_measured_on_paper_on_the_glass_and_as_laid() -> None:
    part = read_part(next(BAND.rglob("*1st Alto.pdf")).read_bytes(), range(1))
    seen = legibility(part)
    assert seen is not None
    # The engraver was told 7.5 mm on A4; whole on the glass A4 is 0.66 of its size (ISO 216: 297 mm; 197 / 297).
    assert seen.paper.stave_mm == pytest.approx(7.5, abs=0.05) and seen.rastral == 2 and seen.paper.verdict == "good"
    assert seen.whole.stave_mm == pytest.approx(seen.paper.stave_mm * 197 / 297, abs=0.05)
    assert seen.whole.verdict == "too small" and seen.laid.verdict == "readable"
    assert "7.0 mm (32', readable) as laid" in words(seen)
    far = legibility(part, View((210, 297), 900, 9.0))
    assert far is not None and far.whole.stave_mm == pytest.approx(seen.paper.stave_mm, abs=0.05)
    assert (far.whole.verdict, far.laid.verdict) == ("too small", "good")


def test_a_part_without_staves_has_no_numbers() -> None:
    assert legibility(read_part(next(BAND.rglob("Vocal.pdf")).read_bytes())) is None
