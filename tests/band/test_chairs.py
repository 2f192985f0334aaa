"""The band as it sits."""

import pytest

from band.bands import Band, small_band
from collaparte.band.views import band_view
from collaparte.wire import commands as c


def sitting(band: Band) -> list[tuple[str, list[str]]]:
    view = band_view(band.state, {})
    return [(section.name, [chair.name for chair in section.chairs]) for section in view.sections]


def test_chairs_sit_in_sections_in_order() -> None:
    band = small_band()
    band.do(c.AddChair("tenor", " Tenor\n1 ", "Saxes", 1))
    assert sitting(band) == [
        ("Saxes", ["Alto 1", "Tenor 1", "Alto 2"]),
        ("Trumpets", ["Trumpet 1"]),
        ("Rhythm", ["Keys", "Drums"]),
    ]
    assert [chair.stands for chair in band_view(band.state, {"tenor": 2}).sections[0].chairs] == [0, 2, 0]


def test_a_chair_is_renamed_moved_and_removed() -> None:
    band = small_band()
    band.do(c.RenameChair("alto2", "Horn"))
    band.do(c.MoveChair("alto2", "Trumpets", 0))
    band.do(c.MoveChair("drums", "Rhythm", 0))
    assert sitting(band) == [("Saxes", ["Alto 1"]), ("Trumpets", ["Horn", "Trumpet 1"]), ("Rhythm", ["Drums", "Keys"])]
    band.do(c.RemoveChair("alto1"))
    assert [name for name, _ in sitting(band)] == ["Trumpets", "Rhythm"]
    # Its parts and markings stay in the library, for when it comes back.
    band.do(c.RemoveChair("alto2"))
    assert band.state.tunes["bus"].seats == {"alto2": ("p-alto2",)}
    band.do(c.AddChair("alto2", "Alto 2", "Saxes"))
    assert [part.name for part in band.state.tunes["bus"].seated("alto2")] == ["2nd Alto"]


def test_what_is_so_already_is_no_event() -> None:
    band = small_band()
    assert band.do(c.NameBand("The Late Tram")) == ()
    assert band.do(c.RenameChair("keys", "Keys")) == ()
    assert band.do(c.MoveChair("keys", "Rhythm", 0)) == ()


@pytest.mark.parametrize(
    ("command", "why"),
    [
        (c.NameBand("  "), "The band needs a name."),
        (c.NameBand("x" * 121), "The name of the band is longer than 120 characters; shorten it."),
        (c.NameBand("a\x00b"), "The name of the band has characters that cannot be shown; type it again."),
        (
            c.AddChair("x", "alto 2", "Brass"),
            "There is a chair called Alto 2 already, in Saxes; give this one another name.",
        ),
        (c.AddChair("keys", "Keys 2", "Rhythm"), "Keys is in the band already."),
        (c.AddChair("", "Keys 2", "Rhythm"), "A chair needs an id."),
        (c.AddChair("x", "Horn", ""), "A section needs a name."),
        (c.AddChair("x", "Horn", "Brass", -1), "A chair's place in its section counts from 0."),
        (c.RenameChair("ghost", "X"), 'There is no chair "ghost" in this band.'),
        (c.MoveChair("ghost", "X", 0), 'There is no chair "ghost" in this band.'),
        (c.RemoveChair("ghost"), 'There is no chair "ghost" in this band.'),
    ],
)
def test_refused_in_words(command: c.Command, why: str) -> None:
    assert small_band().refused(command) == why
