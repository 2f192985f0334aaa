"""Music fonts that do not say what they are: glyphs without names, and signs called letters, told by their shapes."""

import io
import zlib

import pymupdf
import pytest

from collaparte.demo import BAND
from collaparte.paper.read import read_part
from collaparte.paper.sight.fonts import Font

PART = next(BAND.rglob("*1st Alto.pdf"))


class Nameless(Font):
    """A font whose glyphs have no names, as exports often leave them."""

    def name(self, gid: int) -> str:
        return ""


def _music_fonts() -> list[tuple[bytes, list[tuple[int, int]]]]:
    """The part's music fonts, and the glyphs (index, code point) that it uses of each."""
    document = pymupdf.open(PART)
    fonts = {
        entry[3].partition("+")[2]: document.extract_font(entry[0])[3] for entry in document[0].get_fonts(full=True)
    }
    used: dict[str, set[tuple[int, int]]] = {}
    for span in document[0].get_texttrace():
        used.setdefault(span["font"], set()).update((gid, code) for code, gid, *_ in span["chars"])
    return [(data, sorted(used[name])) for name, data in fonts.items() if name in used and Font(data).is_music]


def test_glyphs_without_names_are_told_by_their_shapes() -> None:
    told = right = 0
    for data, used in _music_fonts():
        named, nameless = Font(data), Nameless(data)
        assert not nameless.is_music
        for gid, code in used:
            sort = named.glyph(gid, code).sort
            if sort.kind in ("clef", "head", "rest", "accidental", "flag", "segno", "coda"):
                told += 1
                # whole and half rests have one shape, the stave tells them apart
                right += nameless.glyph(gid, 0xFFFD).sort.kind == sort.kind
    assert told >= 8 and right == told


def test_signs_called_letters_are_unmasked_and_letters_are_not() -> None:
    (data, used), *_ = sorted(_music_fonts(), key=lambda font: -len(font[1]))
    masked = Nameless(data)
    for n, (gid, _) in enumerate(used):
        assert masked.glyph(gid, ord("A") + n % 26).sort.kind == "letter"
    assert masked.unmask() and masked.drawn

    text = pymupdf.Font("tiro")
    plain = Font(text.buffer)
    for character in "Am7 Dal Segno fill":
        plain.glyph(text.has_glyph(ord(character)), ord(character))
    assert not plain.unmask() and not plain.drawn
    used_letters = {(text.has_glyph(ord(character)), ord(character)) for character in "Am7 Dal Segno fill 1 - 2."}
    plain.judge(used_letters)
    assert not plain.drawn
    plain.judge({(gid, code + 3) for gid, code in used_letters})
    assert plain.drawn


@pytest.mark.parametrize("data", [b"", b"no font", zlib.compress(b"no font"), io.BytesIO(b"\0" * 99).read()])
def test_a_font_that_cannot_be_opened_still_has_letters(data: bytes) -> None:
    glyph = Font(data).glyph(3, ord("C"))
    assert glyph.sort == ("letter", "C") and glyph.box[2] > glyph.box[0]


def test_a_part_with_nameless_fonts_reads_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    pdf = PART.read_bytes()
    named = read_part(pdf)
    monkeypatch.setattr("collaparte.paper.sight.fonts.Font", Nameless)
    monkeypatch.setattr("collaparte.paper.sight.fonts._kept", {})
    nameless = read_part(pdf)
    for what in ("bars", "marks", "multirests", "signs", "endings"):
        one, other = getattr(named, what), getattr(nameless, what)
        assert one == other if what == "bars" else [(x.bar, x.page) for x in one] == [(x.bar, x.page) for x in other]
