"""Clefs that change in mid-line: which holds where a line begins or a cut lands, and which is shown before a cut.

Where a clef is printed for the next bar, before the barline, is common practice; so is which lines a key's signs
stand on (F sharp: bass the fourth line, tenor here as high above it as the clefs are apart).
"""

import pytest

from collaparte.paper.cutting.clefs import key_signs
from collaparte.paper.pages.lay import lay
from collaparte.paper.pages.laying import LaidPage, Step
from paper.laid import Part, engraved

CLEFS = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Clefs" tagline = ##f }
\layout { indent = 0 }
\relative c' {
  \clef bass \key g \major \time 4/4
  g4 a b c | d e fis g | \clef treble a b c d | e d c b | \break
  a g fis e | d c b a | \clef bass g fis e d | c b a g | \break
  g a b c | \clef tenor d e fis g | a b c d | e d c b | \clef bass g, a \clef treble b' c | g'1 \bar "|."
}
"""
"""Fourteen bars on three lines; new clefs before bars 3, 7, 10, 13 and within bar 13. No line begins in tenor clef."""

KEYS = ("g", "f", "d", "bes")
FEW_SIGNS = "\n".join(
    rf"\clef {clef} "
    + "".join(rf"\key {key} \major {pitch}1 {pitch} \key c \major {pitch} " for key in KEYS)
    + r"\break"
    for clef, pitch in (("treble", "a'"), ("bass", "c"), ("alto", "b"), ("tenor", "g"))
)
"""A line in each clef, whose bars go into each key of one or two signs and back."""


@pytest.fixture(scope="module")
def the() -> Part:
    return engraved(CLEFS)


def _page(the: Part, *bars: int) -> LaidPage:
    steps = [Step(bar, bar, join=n > 0 and bar != bars[n - 1] + 1) for n, bar in enumerate(bars)]
    return lay(the.reading, the.cut.table, steps).pages[0]


def test_each_clef_of_a_line_is_read(the: Part) -> None:
    read = [(change.bar, change.clef) for change in the.reading.changes if change.clef]
    assert read == [(1, "f"), (3, "g"), (7, "f"), (10, "c"), (13, "f"), (13, "g")]


def test_a_line_begins_in_the_clef_that_holds_there(the: Part) -> None:
    table = the.cut.table
    held = [table.heads[bar.head_here].clef_name for bar in table.bars]
    bass, treble = held[0], held[4]
    tenor = held[9]
    assert held == [*[bass] * 2, *[treble] * 4, *[bass] * 3, *[tenor] * 3, bass, treble]
    assert len({bass, treble, tenor}) == 3


def test_a_key_stands_in_its_clef_though_no_line_begins_so(the: Part) -> None:
    table = the.cut.table
    bass, tenor = (table.extents[table.heads[table.bars[n].head_here].key[0]] for n in (0, 9))
    assert tenor.top == pytest.approx(bass.top - 1.5, abs=0.05)


@pytest.mark.parametrize(("last", "lands", "clef"), [(2, 7, False), (2, 5, True), (6, 11, True), (13, 1, True)])
def test_before_a_cut_no_clef_stands_for_the_bar_left_out(the: Part, last: int, lands: int, clef: bool) -> None:
    """It goes where print shows it for the next bar; where the cut lands the clef is drawn if it is another."""
    table = the.cut.table
    courtesy = table.bars[last - 1].courtesy
    assert courtesy or last == 13
    together = [placed.piece for placed in _page(the, last, lands).placed]
    assert not set(courtesy) & set(together)
    clefs = [piece for piece in together if piece in {head.clef[0] for head in table.heads}]
    there = [table.heads[table.bars[n - 1].head_here].clef[0] for n in (last, lands)]
    assert clefs == (there if clef else there[:1])
    assert set(courtesy) <= {placed.piece for placed in _page(the, last, last + 1).placed}


def test_keys_of_one_or_two_signs_are_read_in_mid_line_in_every_clef() -> None:
    """Found by counting: in the tenor clef they were read at the next line's head, and shown there again."""
    source = rf'\version "2.24.0" \header {{ tagline = ##f }} {{ \numericTimeSignature \time 4/4 {FEW_SIGNS} }}'
    read = [(c.bar, c.fifths) for c in engraved(source).reading.changes if c.fifths is not None]
    signs = {"g": 1, "f": -1, "d": 2, "bes": -2}
    asked = [(3 * n + at, fifths) for n, key in enumerate(KEYS * 4) for at, fifths in ((1, signs[key]), (3, 0))]
    assert read == asked


FLATS = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Weir" tagline = ##f }
\relative c'' { \key aes \major aes4 bes c des | ees1 \clef bass | \break
  aes,,4 c ees \clef treble aes | c4 ees aes c | des,4 f aes des | \break
  \key e \major e4 gis b e | e,1 \bar "|." }
"""


def test_a_clef_in_mid_line_brings_no_other_key_with_it() -> None:
    """The next line begins in the same clef with four sharps, which hold only there; four flats hold before it."""
    the = engraved(FLATS)
    keys = {bar.number: key_signs(the.cut.table.heads[bar.head_here].key_name, 0) for bar in the.cut.table.bars}
    assert keys == {n: [n > 5] * 4 for n in range(1, 8)}
