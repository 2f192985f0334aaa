"""Corrections decided: kept beside the part, taken back, refused in words; and a ruler that is mended."""

import msgspec
import pytest

from band.bands import ALTO2, MD, RULER, Band, part, small_band, stroke
from collaparte.paper.reading import BarlineKind
from collaparte.wire import commands as c
from collaparte.wire.chart import Chart, ChartBar
from collaparte.wire.corrections import (
    BARLINES,
    BarlineHere,
    Correction,
    EndingHere,
    MarkHere,
    NumberHere,
    Place,
    RestHere,
    Said,
    SignHere,
    SystemHere,
)

AT = Place(0, 120, 98)


def correct(said: Said, id: str = "r1", version: str = "v1") -> c.Correct:
    return c.Correct("bus", "p-alto2", Correction(id, version, said))


def held(band: Band) -> list[str]:
    return [one.id for one in band.state.tunes["bus"].parts["p-alto2"].holding]


def test_corrections_hold_in_the_order_in_which_they_were_made_until_taken_back() -> None:
    band = small_band()
    band.do(correct(RestHere(AT, 8), "r1"))
    band.do(correct(RestHere(AT, 9), "r2"))
    assert held(band) == ["r1", "r2"]
    band.do(c.TakeBackCorrection("bus", "p-alto2", "r1"))
    assert held(band) == ["r2"]
    assert "does not hold" in band.refused(c.TakeBackCorrection("bus", "p-alto2", "r1"))


def test_the_same_pages_laid_anew_keep_them_and_other_pages_do_not_take_them() -> None:
    band = small_band()
    band.do(correct(RestHere(AT, 8)))
    bars = [bar.id for bar in RULER.bars]
    band.do(msgspec.structs.replace(part("bus", "p-alto2", "2nd Alto", bars), reading="another"))
    assert held(band) == ["r1"] and len(band.state.tunes["bus"].parts["p-alto2"].versions) == 1
    band.do(part("bus", "p-alto2", "2nd Alto", bars, version="v2"))
    assert held(band) == [] and len(band.state.tunes["bus"].parts["p-alto2"].versions) == 2
    assert set(band.state.tunes["bus"].parts["p-alto2"].corrections) == {"r1"}
    band.do(correct(RestHere(AT, 8), "r2", "v2"))
    assert held(band) == ["r2"]


def test_only_the_librarian_corrects() -> None:
    assert "Only the librarian" in small_band().refused(correct(RestHere(AT, 8)), MD)


@pytest.mark.parametrize(
    ("said", "why"),
    [
        (BarlineHere(AT, "wavy"), "no barline of the kind 'wavy'"),
        (BarlineHere(AT, "", float("inf")), "off the page"),
        (RestHere(AT, 0), "counts 1 to"),
        (RestHere(Place(0, float("nan"), 1), 2), "on a page"),
        (RestHere(Place(-1, 1, 1), 2), "on a page"),
        (NumberHere(AT, -4), "is 0"),
        (MarkHere(AT, " "), "needs a name"),
        (MarkHere(AT, "x" * 60), "letters at most"),
        (SignHere(AT, "da-capo"), "no sign of the kind"),
        (SignHere(AT, "segno", "middle"), "start or the end"),
        (EndingHere(AT, AT, ()), "needs the times"),
        (SystemHere(0, ()), "1 to 40 staves"),
        (SystemHere(0, ((10, 20, 12, 30),)), "at least 20 points"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_a_sentence(said: Said, why: str) -> None:
    assert why in small_band().refused(correct(said))


def test_other_refusals() -> None:
    band = small_band()
    assert "no tune" in band.refused(c.Correct("ghost", "p", Correction("r", "v1", RestHere(AT, 2))))
    assert "no part" in band.refused(c.Correct("bus", "ghost", Correction("r", "v1", RestHere(AT, 2))))
    assert "other pages" in band.refused(correct(RestHere(AT, 2), version="v9"))
    assert "needs an id" in band.refused(correct(RestHere(AT, 2), id=""))
    band.do(correct(RestHere(AT, 2)))
    assert "made already" in band.refused(correct(RestHere(AT, 3)))
    assert band.do(correct(RestHere(AT, 2))) == ()


def test_the_kinds_of_barline_are_those_that_are_read() -> None:
    assert {kind.value for kind in BarlineKind} == BARLINES


def test_a_mended_ruler_keeps_ids_and_what_stands_at_bars_that_stay() -> None:
    band = small_band()
    band.do(c.MakeMarking(stroke("m1", "alto2", "mine", "b3")), ALTO2)
    band.do(c.MakeCut("e1", "bus", "C", "D"))
    before = band.state.tunes["bus"]
    bars = [*RULER.bars[:12], ChartBar("new", 13), *(ChartBar(b.id, b.number + 1) for b in RULER.bars[12:])]
    band.do(c.MendRuler("bus", Chart(tuple(bars), RULER.marks, RULER.signs, RULER.repeats)))
    after = band.state.tunes["bus"]
    assert after.revision == before.revision + 1 and after.markings == before.markings
    played = [step.bar for step in after.played.steps()]
    assert played.count("new") == 1 and played[played.index("new") - 1] == "b12"
    assert "b20" not in played and "b28" not in played and "b29" in played
    band.do(c.MendRuler("bus", RULER))
    assert [step.bar for step in band.state.tunes["bus"].played.steps()] == [s.bar for s in before.played.steps()]


def test_an_edit_at_a_bar_that_went_waits_for_it() -> None:
    band = small_band()
    band.do(c.MakeCut("e1", "bus", "C", "D"))
    band.do(c.MendRuler("bus", Chart(tuple(bar for bar in RULER.bars if bar.id != "b29"))))
    assert band.state.tunes["bus"].played.cut == ()
    band.do(c.MendRuler("bus", RULER))
    assert band.state.tunes["bus"].played.cut != ()


def test_a_ruler_that_is_none_is_refused() -> None:
    assert "no bars" in small_band().refused(c.MendRuler("bus", Chart()))
