"""Signs and repeats of scanned charts full of jumps, that were once not seen: the truth is the engraver's own.

Two signs side by side name a second segno or coda, and a sign in brackets behind To Coda is of those words (common
practice).
"""

import tempfile
from pathlib import Path

import pytest

import engraving
import scanning
from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE, BarlineKind, System

WHY = {
    8840050: "two segnos that touch, a coda in brackets behind its words",
    8840022: "dots of repeats, square and small at 200 dpi in two levels",
}


@pytest.mark.parametrize("seed", WHY, ids=WHY.values())
def test_a_scanned_chart_has_its_signs_and_repeats(seed: int) -> None:
    if engraving.engraver() is None:
        pytest.skip("the engraver's package is not installed")
    with tempfile.TemporaryDirectory() as folder:
        pdf, truth = engraving.engrave(engraving.chart(seed, signs=True), Path(folder))
    reading = read_part(scanning.scanned(pdf, scanning.damage(seed), seed)[0], scans=True)
    read = sorted((sign.kind.value, sign.bar) for sign in reading.signs if sign.kind.value in ("segno", "coda"))
    assert read == sorted(one for one in truth.signs if one[0] in ("segno", "coda"))
    systems = [system for page in reading.pages for system in page.systems if system.confidence >= SURE]
    printed = [system for page in read_part(pdf).pages for system in page.systems]
    kinds = {system.bars[0].number: _kinds(system) for system in printed}
    assert [_kinds(system) for system in systems] == [kinds[system.bars[0].number] for system in systems]


def _kinds(system: System) -> list[BarlineKind]:
    """The kinds of a line's barlines but of one that begins it."""
    return [barline.kind for barline in system.barlines if not barline.line_start]
