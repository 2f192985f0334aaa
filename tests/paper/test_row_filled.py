"""A row of framed marks told by shapes: one that only fits between its neighbours is told by them."""

from typing import Any, cast

import pytest

from collaparte.paper.sight.row_filled import filled
from collaparte.paper.sight.series import Candidate
from collaparte.paper.sight.strokes import OUTLINE
from collaparte.paper.sight.words import Phrase


class _System:
    bbox = (0.0, 0.0, 100.0, 20.0)


class _Line:
    page = 0
    system = _System()


def _row(texts: str, font: str = OUTLINE) -> list[Candidate]:
    out = []
    for n, text in enumerate(texts.split()):
        text = "" if text == "_" else text
        box = (10.0 * n, 0.0, 10.0 * n + 5, 5.0)
        phrase = Phrase(text, *box, 5.0, 5.0, (font, 5.0), False)
        out.append(Candidate(text, phrase, box, True, cast(Any, _Line()), 1 + 4 * n, 0.0))
    return out


@pytest.mark.parametrize(
    ("seen", "meant"),
    [
        ("A B C O E", "A B C D E"),
        ("A _ C D", "A B C D"),
        ("A B C 0", "A B C D"),
        ("A B C _", "A B C"),
        ("1 t 3 4", "1 2 3 4"),
        ("t 2 3", "1 2 3"),
        ("A B D E", "A B D E"),
        ("A B D _ F", "A B D E F"),
        ("9 17 25", "9 17 25"),
        ("9 17 _ 41", "9 17 41"),
    ],
)
def test_neighbours_tell_what_was_misread(seen: str, meant: str) -> None:
    row = _row(seen)
    told = filled([(c, 1.0) for c in row if c.text], [c for c in row if not c.text])
    assert [c.text for c, _ in told] == meant.split()


def test_what_neighbours_told_is_not_sure() -> None:
    told = filled([(c, 1.0) for c in _row("A B C O E")], [])
    assert [confidence < 0.9 for _, confidence in told] == [False, False, False, True, False]


def test_marks_set_in_a_font_are_what_they_say() -> None:
    told = filled([(c, 1.0) for c in _row("A B C O E", "Serif")], [])
    assert [c.text for c, _ in told] == ["A", "B", "C", "O", "E"]


def test_bar_numbers_as_marks_go_on_by_more_than_one() -> None:
    """One between 3 and 12 that is the number of its own bar is no misread 4."""
    row = [c._replace(bar=int(c.text)) for c in _row("1 3 7 12")]
    assert [(c.text, sure) for c, sure in filled([(c, 1.0) for c in row], [])] == [
        (text, 1.0) for text in ("1", "3", "7", "12")
    ]
