"""Words to the player in a part as engraved: which, and in which bar."""

from collaparte.demo import BAND
from collaparte.paper.asides import asides
from collaparte.paper.read import read_part


def test_brushes_and_sticks_stand_where_the_engravers_source_has_them() -> None:
    """Three bars of rest and "Brushes" in the fourth; "to sticks" in the last bar before C, which is bar 21."""
    reading = read_part((BAND / "The Lamp You Left On" / "Drums.pdf").read_bytes())
    assert [(one.text, one.bar) for one in reading.instructions] == [("Brushes", 4), ("to sticks", 20)]
    assert {mark.text: mark.bar for mark in reading.marks}["C"] == 21
    found = asides(reading)
    assert found.instructions == ((4, "Brushes"), (20, "to sticks"))
    # A half and a quarter rest, then notes: bar 4 leads into A.
    assert 4 in found.leads_in and 5 not in found.leads_in
