"""Glyph names and code points against SMuFL's tables (W3C) and Unicode's Musical Symbols."""

import pytest

from collaparte.paper.sight.glyphs import by_code, by_name, by_text, is_music_name


@pytest.mark.parametrize(
    ("code", "kind", "value"),
    [
        (0xE047, "segno", ""),
        (0xE048, "coda", ""),
        (0xE049, "coda", ""),
        (0xE040, "barline", "repeat-start"),
        (0xE041, "barline", "repeat-end"),
        (0xE043, "repeat-dots", ""),
        (0xE045, "jump", "D.S."),
        (0xE046, "jump", "D.C."),
        (0xE050, "clef", "g"),
        (0xE062, "clef", "f"),
        (0xE069, "clef", "percussion"),
        (0xE084, "digit", "4"),
        (0xE08A, "meter", "common"),
        (0xE0A4, "head", "black"),
        (0xE260, "accidental", "flat"),
        (0xE4E1, "rest", "longa"),
        (0xE4EE, "h-bar", ""),
        (0xE500, "repeat-bar", "1"),
        (0x1D10B, "segno", ""),
        (0x1D10C, "coda", ""),
        (0x1D129, "h-bar", ""),
    ],
)
def test_code_points(code: int, kind: str, value: str) -> None:
    assert by_code(code) == (kind, value)
    assert by_name(f"uni{code:04X}" if code < 0x10000 else f"u{code:X}", False) == (kind, value)


@pytest.mark.parametrize(
    ("name", "kind", "value"),
    [
        ("gClef", "clef", "g"),
        ("noteheadHalf", "head", "half"),
        ("restLonga", "rest", "longa"),
        ("timeSig7", "digit", "7"),
        ("rests.M3", "rest", "maxima"),
        ("rests.2", "rest", "quarter"),
        ("noteheads.s1", "head", "half"),
        ("clefs.F_change", "clef", "f"),
        ("scripts.varcoda", "coda", ""),
        ("fattened.two", "digit", "2"),
    ],
)
def test_names(name: str, kind: str, value: str) -> None:
    assert by_name(name, True) == (kind, value)


@pytest.mark.parametrize("name", ["A", "one", "period", "braceleft", "space", "ampersand", "codadotaccent"])
def test_a_text_fonts_names_are_no_music(name: str) -> None:
    assert not is_music_name(name)


def test_ligatures_come_apart() -> None:
    assert by_text(0xFB02, "fl") == ("letter", "fl")
    assert by_text(0xFFFD, "four.alt") == ("letter", "4")
