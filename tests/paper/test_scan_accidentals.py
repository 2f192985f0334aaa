"""Keys' signs in their order, in each clef, as an engraver sets them."""

import pytest

import engraving
from collaparte.paper.cutting.pieces import cut
from collaparte.paper.cutting.scan_accidentals import CLEFS, KeySigns, Sort, name_of
from collaparte.paper.read import read_part
from paper.laid import engraved

SORTS: tuple[Sort, ...] = ("sharp", "flat")
CHART = (
    r"""
\version "2.24.0"
#(set-global-staff-size 18)
\paper { ragged-last = ##f }
{ \override Score.KeyCancellation.stencil = ##f
"""
    + r" \break".join(
        rf"""\clef "{clef}" \key {key} \major \repeat unfold 4 {{ c'1 }}"""
        for clef in ("treble", "bass", "alto", "tenor")
        for key in ("cis", "ces")
    )
    + "}\n"
)


@pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")
def test_signs_of_a_key_stand_where_the_engraver_sets_them() -> None:
    pdf = engraved(CHART).pdf
    table = cut(pdf, read_part(pdf))
    lines = {bar.system: table.heads[bar.head_here].key_name for bar in table.bars}
    told = [name_of(KeySigns(sort, 7), clef) for clef in CLEFS for sort in SORTS]
    assert list(lines.values()) == told
