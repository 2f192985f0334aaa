"""Markings: who sees them, who may erase them, and what they must be like."""

import msgspec
import pytest

from band.bands import ALTO2, LEADER, MD, TRUMPET, small_band, stroke
from collaparte.band.roles import EVERY_ROLE, Who
from collaparte.band.state import State
from collaparte.band.views import markings_view
from collaparte.wire import commands as c
from collaparte.wire.markings import Ink, Marking, Note, PageInk, PagePoint, Point


def seen(state: State, *chairs: str) -> list[str]:
    return [marking.id for marking in markings_view(state, chairs).made]


def test_each_layer_is_seen_by_those_who_share_it() -> None:
    band = small_band()
    for layer in ("mine", "section", "band"):
        band.do(c.MakeMarking(stroke(layer, "alto2", layer)), ALTO2)
    assert seen(band.state, "alto2") == ["mine", "section", "band"]
    assert seen(band.state, "alto1") == ["section", "band"]
    assert seen(band.state, "trumpet1") == seen(band.state) == ["band"]
    assert seen(band.state, "trumpet1", "alto1") == ["section", "band"]
    assert {m.section for m in markings_view(band.state, ("alto2",)).made} == {"Saxes"}


def test_the_section_is_the_chairs_own_whatever_the_stand_says() -> None:
    band = small_band()
    band.do(c.MakeMarking(msgspec.structs.replace(stroke("m", "alto2", "section"), section="Trumpets")), ALTO2)
    assert (seen(band.state, "alto1"), seen(band.state, "trumpet1")) == (["m"], [])


def test_a_chair_that_moves_is_shown_its_new_section_whole() -> None:
    band = small_band()
    band.do(c.MakeMarking(stroke("m", "alto2", "section")), ALTO2)
    before = band.state.seq
    assert markings_view(band.state, ("trumpet1",), before).made == ()
    band.do(c.MoveChair("trumpet1", "Saxes", 0))
    view = markings_view(band.state, ("trumpet1",), before)
    assert view.whole and [marking.id for marking in view.made] == ["m"]
    # What it drew for its section stays with that section, and with its own chair.
    band.do(c.MoveChair("alto2", "Rhythm", 0))
    assert seen(band.state, "alto1") == seen(band.state, "alto2") == ["m"]
    assert seen(band.state, "drums") == []


def test_since_a_sequence_only_what_is_new() -> None:
    band = small_band()
    band.do(c.MakeMarking(stroke("1", "alto2", "mine")), ALTO2)
    since = band.state.seq
    band.do(c.MakeMarking(stroke("2", "alto2", "mine")), ALTO2)
    band.do(c.EraseMarking("1"), ALTO2)
    view = markings_view(band.state, ("alto2",), since)
    assert ([m.id for m in view.made], view.erased, view.whole, view.seq) == (["2"], ("1",), False, band.state.seq)


def test_one_erases_ones_own_and_what_one_shares() -> None:
    band = small_band()
    for layer in ("mine", "section", "band"):
        band.do(c.MakeMarking(stroke(layer, "alto2", layer)), ALTO2)
    why = "You can only erase your own markings and those that you share."
    assert band.refused(c.EraseMarking("mine"), LEADER) == why
    assert band.refused(c.EraseMarking("section"), TRUMPET) == why
    assert band.refused(c.EraseMarking("band"), EVERY_ROLE) == why
    band.do(c.EraseMarking("section"), LEADER)
    band.do(c.EraseMarking("band"), TRUMPET)
    band.do(c.EraseMarking("mine"), ALTO2)
    assert band.do(c.EraseMarking("mine"), ALTO2) == ()
    assert seen(band.state, "alto2") == []
    # Sent again by a stand that had not heard: erased stays erased.
    assert band.do(c.MakeMarking(stroke("mine", "alto2", "mine")), ALTO2) == ()
    assert band.refused(c.EraseMarking("never"), ALTO2) == "There is no such marking to erase."


def test_a_marking_made_twice_is_made_once() -> None:
    band = small_band()
    assert len(band.do(c.MakeMarking(stroke("m", "alto2", "mine")), ALTO2)) == 1
    assert band.do(c.MakeMarking(stroke("m", "alto2", "mine")), ALTO2) == ()


def test_a_marking_survives_a_cut_its_taking_back_and_a_new_version_of_the_part() -> None:
    band = small_band()
    band.do(c.MakeMarking(stroke("m", "alto2", "section", "b22")), ALTO2)
    before = markings_view(band.state, ("alto1",)).made
    band.do(c.MakeCut("e", "bus", "C", "D"), MD)
    band.do(c.TakeBackEdit("e"), MD)
    band.do(c.BringPart("bus", "p-alto2", "2nd Alto", "o2", None, "v2", "r2", "t2", "p2", ("b1", "b2")))
    assert markings_view(band.state, ("alto1",)).made == before


POINT = Point("b3", 0.5, 0, 0.0)


@pytest.mark.parametrize(
    ("marking", "who", "why"),
    [
        (stroke("m", "alto2", "mine"), LEADER, "You can only mark the part of a chair that you sit at."),
        (stroke("m", "ghost", "mine"), Who(("ghost",)), "You can only mark the part of a chair that you sit at."),
        (stroke("", "alto2", "mine"), ALTO2, "A marking needs an id."),
        (stroke("m", "alto2", "mine", "x"), ALTO2, 'This marking names bars that "Night Bus" does not have.'),
        (stroke("m", "alto2", "mine", tune="waltz"), ALTO2, 'There is no tune "waltz" in the library.'),
        (Marking("m", "bus", "alto2", "mine", Note(POINT, "  ")), ALTO2, "A note needs words."),
        (
            Marking("m", "bus", "alto2", "mine", Note(POINT, "x" * 501)),
            ALTO2,
            "A note may have 500 characters; shorten it.",
        ),
        (
            Marking("m", "bus", "alto2", "mine", Ink(())),
            ALTO2,
            "A stroke needs points and a width of at most 10 staff spaces.",
        ),
        (
            Marking("m", "bus", "alto2", "mine", Ink((Point("b3", 1e9, 0, 0.0),))),
            ALTO2,
            "This marking lies far outside the page.",
        ),
        (
            Marking("m", "bus", "alto2", "mine", Note(Point("b3", 0.0, -1, 0.0), "up")),
            ALTO2,
            "This marking is on a stave above the first.",
        ),
        (
            Marking("m", "bus", "alto2", "mine", Note(POINT, "fall"), pass_=0),
            ALTO2,
            "A marking's time through the bar counts from 1.",
        ),
        (
            Marking("m", "ember", "alto2", "mine", PageInk((PagePoint(0, 2.0, 0.5),))),
            ALTO2,
            "A stroke on a page needs points that lie on the page.",
        ),
        (
            Marking("m", "ember", "alto2", "mine", PageInk((PagePoint(-1, 0.5, 0.5),))),
            ALTO2,
            "The pages of a part count from 0.",
        ),
    ],
)
def test_refused_in_words(marking: Marking, who: Who, why: str) -> None:
    assert small_band().refused(c.MakeMarking(marking), who) == why


def test_a_tune_without_bars_is_marked_by_page() -> None:
    band = small_band()
    band.do(c.MakeMarking(Marking("m", "ember", "alto2", "section", PageInk((PagePoint(0, 0.2, 0.5),)))), ALTO2)
    assert seen(band.state, "alto1") == ["m"]
