"""Words and figures told by shapes: the trade's words are set right, other words stay as they are."""

import pytest

from collaparte.paper.scans.words import rows_set_right, set_right
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


def _row(*words: tuple[str, float]) -> list[Phrase]:
    return [Phrase(text, x, 0.0, x + 6.0 * len(text), 10.0, 10.0, 10.0, (OUTLINE, 9.0), False) for text, x in words]


@pytest.mark.parametrize(
    ("row", "meant"),
    [
        (_row(("D.", 0), ("S. a/Fjne", 14)), ["D.S. al Fine"]),
        (_row(("D. C.", 0), ("aJ", 36), ("Coda", 54)), ["D.C. al Coda"]),
        (_row(("D.S.", 0), ("al Fine", 80)), ["D.S.", "al Fine"]),  # too far apart to be one
        (_row(("al", 0), ("Fine", 18)), ["al", "Fine"]),  # D.S. or D.C. cannot be told
        (_row(("cup", 0), ("mute", 24)), ["cup", "mute"]),
    ],
)
def test_words_of_a_jump_in_pieces_are_one(row: list[Phrase], meant: list[str]) -> None:
    assert [phrase.text for phrase in rows_set_right(row)] == meant
