"""Keys that change in a scanned line's course, at each bar as the engraver was told."""

import pytest

import engraving
import scanning
from collaparte.paper.confirmed import all_sure
from collaparte.paper.cutting.pieces import cut
from collaparte.paper.cutting.scan_accidentals import KeySigns, Sort, name_of
from collaparte.paper.cutting.table import PieceTable
from collaparte.paper.read import read_part
from paper.laid import engraved

CHART = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\paper { ragged-last = ##f }
\relative c'' { \set Score.rehearsalMarkFormatter = #format-mark-box-alphabet
  c1 d \mark \default \key aes \major aes bes \break
  \key c \major c d \once \omit Staff.KeySignature \key d \major e fis \break
  d e \mark \default \key c \major c d \mark \default \key bes \major bes c \bar "|."
}
"""
"""Four flats come at a mark and are taken back at the line's end; two sharps come unseen; they are taken back at a
mark, and in the last line flats come that no line has in its head."""


def _keys(table: PieceTable) -> list[str]:
    return [table.heads[bar.head_here].key_name for bar in table.bars]


@pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")
def test_keys_of_a_scans_bars_are_those_printed_and_a_line_of_which_they_are_not_told_stands_whole() -> None:
    pdf = engraved(CHART).pdf
    scan, _ = scanning.scanned(pdf, scanning.Damage(200, 0.5, 0.3, 0.0, 0.03, 1.0, 0, "plain", 0, "png"), 7)
    table, true = cut(scan, all_sure(read_part(scan, scans=True))), cut(pdf, read_part(pdf))
    whole = [bar for bar in table.bars if bar.whole >= 0]
    assert [(bar.number, bar.count) for bar in whole] == [(5, 4)]
    keys = _keys(true)
    assert _keys(table) == [*keys[:4], "", *keys[8:]]
    signs: tuple[tuple[Sort, int], ...] = (("flat", 4), ("sharp", 2), ("flat", 2))
    told = [name_of(KeySigns(*key), "g") for key in signs]
    assert [keys[at] for at in (0, 2, 8, 10, 12)] == ["", told[0], told[1], "", told[2]]


HALVES = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\paper { ragged-last = ##f }
\relative c'' { \key g \major g4 a b c | d2 b | c4 b a g | g1 | \break
  d'2 b | a4 b c d | \bar "||" fis2 d | c4 b a g | \bar "||" fis'2. d4 | g,1 \bar "|." }
"""
"""Half notes with stems down on the key's own line, behind double barlines of the last line."""


@pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")
def test_a_half_note_behind_a_double_barline_takes_no_key_of_one_sign_back() -> None:
    """Found by counting on fresh scans (8950031, 8950051: six bars with a wrong key, two lines whole): its head and its
    stem look a little like a natural."""
    how = scanning.Damage(150, 0.5, 0.3, 0.0, 0.05, 4.0, 0, "plain", 0, "png")
    scan, _ = scanning.scanned(engraved(HALVES).pdf, how, 0)
    table = cut(scan, all_sure(read_part(scan, scans=True)))
    assert _keys(table) == [name_of(KeySigns("sharp", 1), "g")] * 10 and all(bar.whole < 0 for bar in table.bars)
