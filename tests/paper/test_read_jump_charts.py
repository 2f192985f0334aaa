"""Charts full of jumps in all wordings and letterings (tests/jump_words.py), by two engravers, read and held against
what was engraved. `COLLAPARTE_SEED=n` repeats a run."""

from pathlib import Path

import pytest

import engraving
from against import differences
from collaparte.paper.read import read_part
from seeded import SEED

pytest.importorskip("verovio")
import second_engraving

ONCE_WRONG = (
    329000003,  # a typewriter face tears "D.C. al Fine" apart
    329000017,  # words over an ending's bracket are at its line, however near the line above is
    329000019,  # "To Coda (⊕)" and "D.S. (§) al Coda" torn apart, so that the brackets stand alone
    329000031,  # "fine" whose first two letters are one glyph
    334000056,  # a wide mark at a line's head, its middle over the second bar's start
    333000212,  # a ledger line over an 8 is no ending's bracket
    333000116,  # a low note of the line above in an old rest's bar
    333000064,  # a mark without a frame close before a note's natural
    333000032,  # and one further off
    333000072,  # a beam in its stave's middle whose notes are nearer to the next line is no H-bar under a triplet's 3
    331000264,  # a wide mark whose left edge is over another bar's start than its middle
    340200016,  # a low note of the line above over the key at a line's end makes no bar of it
    361400005,  # a "(Fine)" close under a triplet's 3, not much further over the next line's ending
    390000936,  # a "Fine" over its line, right under the next line's mark that stands close under a dynamic
    390000104,  # a "To Coda" of the next line under "D.C. al Coda" in another face
    390000680,  # a wide mark within a line's head, right over the first barline
    1545318,  # notes under four ledger lines, nearer to the next line than to their own
    329000061,  # letters without frames and a third segno that is called by a figure of their face
)
ONCE_WRONG_OF_PATHS = (
    329000004,  # a segno at the next bar close behind "DS al Fine"
    329000018,  # "(D.S. al Coda)" in a row with endings' figures and marks is not sung
    334000226,  # "DS al Fine" in such a row
    334000015,  # "D.S. AL CODA" over a barline, its last letters set far apart
    329000048,  # a large coda close behind words that reach over the barline themselves
    340000007,  # a To Coda set from a double barline to the next plain one
    340200219,  # the same begun before it
    340300139,  # one that begins at a plain barline and ends before a repeat's start
    390000318,  # "Dal Segno al C" runs off the page
    390000277,  # and "Dal Segno al"
    340300098,  # a piece of a thick barline beside words between the staves is no old rest
    361002066,  # "TO CODA" close before a smaller "D. S. al Coda" of the next bar but one
    340500006,  # a "D.C. al Fine" begun at a note, close under its beam, that ends over the next line's ending
    329000006,  # a coda at the next bar close behind "D.C. al Coda", in a part with other codas
)

needs_engraver = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")


@needs_engraver
@pytest.mark.parametrize("seed", [2 * SEED, 2 * SEED + 1, *ONCE_WRONG])
def test_jumps_are_read_as_they_were_engraved(seed: int, tmp_path: Path) -> None:
    chart = engraving.chart(seed, signs=True)
    pdf, truth = engraving.engrave(chart, tmp_path)
    assert not differences(read_part(pdf), truth), f"COLLAPARTE_SEED={SEED}: {chart.notes}"


@pytest.mark.parametrize("seed", [2 * SEED, 2 * SEED + 1, *ONCE_WRONG_OF_PATHS])
def test_jumps_of_paths_are_read_as_they_were_engraved(seed: int) -> None:
    pdf, truth, notes = second_engraving.chart(seed, signs=True)
    assert not differences(read_part(pdf), truth), f"COLLAPARTE_SEED={SEED}: {notes}"
