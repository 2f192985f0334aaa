"""Words and figures told by shapes: the trade's words are set right, other words stay as they are."""

import pytest

from collaparte.paper.scans.words import set_right
from collaparte.paper.sight.figures import figures
from collaparte.paper.sight.strokes import OUTLINE
from collaparte.paper.sight.words import Phrase


def _phrase(text: str, font: str = OUTLINE) -> Phrase:
    return Phrase(text, 0.0, 0.0, 10.0, 10.0, 10.0, 10.0, (font, 10.0), False)


@pytest.mark.parametrize(
    ("seen", "meant"),
    [
        ("Flne", "Fine"),
        ("D.S. al F,ne", "D.S. al Fine"),
        ("D.C' aI Coda", "D.C. al Coda"),
        ("O.S. .l", "D.S. al"),
        ("Tc Coda", "To Coda"),
        ("Chcrus", "Chorus"),
        ("lntro", "Intro"),
    ],
)
def test_a_trades_word_that_lost_a_letter_is_set_right(seen: str, meant: str) -> None:
    assert set_right(_phrase(seen)).text == meant


@pytest.mark.parametrize("text", ["fill", "open", "cup mute", "time", "12", "A", "B2", "Chair 1", "Nobody", "unis."])
def test_other_words_stay(text: str) -> None:
    assert set_right(_phrase(text)).text == text


@pytest.mark.parametrize(("seen", "meant"), [("l6", "16"), ("I0", "10"), ("t.", "1"), ("(8)", "8"), ("solo", "solo")])
def test_shapes_are_figures_where_figures_stand(seen: str, meant: str) -> None:
    assert figures(_phrase(seen)) == meant


def test_letters_set_in_a_font_are_no_figures() -> None:
    assert figures(_phrase("l6", "Serif")) == "l6"
