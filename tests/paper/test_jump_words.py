"""The trade's words for jumps, as they are written (common practice), and words that are none."""

import pytest

from collaparte.paper.sight.marks import SECTION, SHORT
from collaparte.paper.sight.signs import _kind


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("D.S. al Coda", "ds-al-coda"),
        ("D. S. al Coda", "ds-al-coda"),
        ("DS al Coda", "ds-al-coda"),
        ("d.s. al coda", "ds-al-coda"),
        ("Dal Segno al Coda", "ds-al-coda"),
        ("D.S. al ⊕", "ds-al-coda"),
        ("D.S.§al Coda", "ds-al-coda"),
        ("D.S. al Fine", "ds-al-fine"),
        ("D.C. al Fine", "dc-al-fine"),
        ("Da Capo al Fine", "dc-al-fine"),
        ("D.C. al Coda", "dc-al-coda"),
        ("Da Capo al Cod", "dc-al-coda"),
        ("D.C.", "dc"),
        ("Dal Segno", "ds"),
        ("To Coda", "to-coda"),
        ("to ⊕", "to-coda"),
        ("Fine", "fine"),
        ("FINE", "fine"),
        ("Coda", "coda"),
        ("To the top", "dc"),
        ("Back to top", "dc"),
        ("Go back to the top", "dc"),
        ("To the top, then to Coda", "dc-al-coda"),
        ("Back to the sign", "ds"),
        ("To §", "ds"),
        ("D.S. (no repeats) al Coda", "ds-al-coda"),
        ("Menuetto D.C.", None),
    ],
)
def test_jump_words(words: str, kind: str) -> None:
    assert _kind(words) == kind


@pytest.mark.parametrize(
    "words", ["fill", "finely", "solo", "D7", "Dm7", "al niente", "cod", "codetta", "to flute", "C"]
)
def test_other_words(words: str) -> None:
    assert _kind(words) is None


@pytest.mark.parametrize("text", ["A", "AA", "B1", "12", "A'", "117"])
def test_marks_are_short(text: str) -> None:
    assert SHORT.fullmatch(text)


@pytest.mark.parametrize("text", ["Intro", "Solos", "Last Chorus", "Sax Soli", "Bridge 2", "Shout Chorus", "OUTRO"])
def test_marks_may_be_sections(text: str) -> None:
    assert SECTION.fullmatch(text)


@pytest.mark.parametrize("text", ["play 2nd x only", "Cup Mute", "To Flute", "with Tenor", "ABC1"])
def test_boxed_instructions_are_no_marks(text: str) -> None:
    assert not SECTION.fullmatch(text) and not SHORT.fullmatch(text)
