"""Chairs found as people call them. The names are those of common practice."""

import pytest

from collaparte.band.called import chairs_meant, nearest
from collaparte.band.state import Chair

BAND = {
    name: Chair(name, name, section, 0)
    for name, section in (
        ("Alto 1", "Reeds"),
        ("Alto 2", "Reeds"),
        ("Baritone", "Reeds"),
        ("Trumpet", "Brass"),
        ("Piano", "Keys"),
        ("Bass", "Rhythm"),
        ("Drums", "Rhythm"),
    )
}


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("Alto 2", ["Alto 2"]),
        ("2nd alto sax", ["Alto 2"]),
        ("piano", ["Piano"]),
        ("Keys", ["Piano"]),
        ("keyboard", ["Piano"]),
        ("Klavier", ["Piano"]),
        ("Trumpet 1", ["Trumpet"]),
        ("alto", ["Alto 1", "Alto 2"]),
        ("Rhythm", ["Bass", "Drums"]),
        ("Alto 3", []),
        ("Kazoo", []),
        ("", []),
    ],
)
def test_a_chair_is_found_as_people_say_it(said: str, meant: list[str]) -> None:
    assert list(chairs_meant(said, BAND)) == meant


def test_the_reverse_a_chair_called_keys_is_the_piano() -> None:
    chairs = {"k": Chair("k", "Keys", "Rhythm", 0), "b": Chair("b", "Bass", "Rhythm", 0)}
    assert chairs_meant("Piano", chairs) == ("k",)
    assert chairs_meant("Keys", chairs) == ("k",)
    both = {**chairs, "p": Chair("p", "Piano", "Rhythm", 0)}
    assert chairs_meant("Piano", both) == ("p",)
    assert set(chairs_meant("Organ", both)) == {"k", "p"}


def test_the_nearest_are_offered() -> None:
    assert nearest("Trunpet", BAND)[0] == "Trumpet"
    assert set(nearest("qqq", BAND)) == set(BAND)
