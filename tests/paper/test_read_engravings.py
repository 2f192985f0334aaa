"""Charts of our own as further engravers set them, kept as they came, each with what was asked of the engraver.

`curves-*`: ABC set by abcm2ps 8.14 and made a PDF by Ghostscript 10: heads, flags and rests are curves and strokes, a
segno and a coda are put together of parts, meters are figures of a text font. `browser-*`: ABC set by abcjs 6.5 and
printed by a browser: an H-bar and its ends are one outline, marks stand in frames of a path each. `printed-*`: set by
VexFlow 5 and printed by a browser, which put one font into several parts of the same name. `bitmaps-*`: set by PMX
and MusiXTeX, made PostScript by dvips with fonts of 300 dots an inch and a PDF by Ghostscript: signs and letters are
small pictures in fonts set upside down, lines are masks of one pixel, bar numbers stand in frames, and a repeat's start
stands where the meter would end. `edited-*`: MusicXML set by a notation editor: marks stand in stroked boxes whose
corners are arcs and whose sides are lines; on a stave of three lines an H-bar's ends are as tall as its barlines, on
one of one line the H-bar's figure stands where a meter's would; a mark's frame stands before a chord's accidental, and
"Coda" is sung on a line of three words. `edited-*-outlined`: the same by Ghostscript with no font left: heads and rests
on a stave of one line, a line of it with one barline, a frame's round corners beside a letter, "Coda" close over a
barline, a segno of a handwriting face whose like is not among the known ones.
"""

import json
from collections import Counter
from pathlib import Path

import pymupdf
import pytest
from msgspec.structs import replace

from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE, BarlineKind
from collaparte.paper.sight.lettering import settled
from collaparte.paper.sight.strokes import OUTLINE, Glyph
from collaparte.paper.sight.words import phrases

KEPT = sorted((Path(__file__).parent / "engraved").glob("*.pdf"))


@pytest.mark.parametrize("pdf", KEPT, ids=[pdf.stem for pdf in KEPT])
def test_a_chart_is_read_as_it_was_asked_for(pdf: Path) -> None:
    asked = json.loads(pdf.with_suffix(".json").read_text())
    reading = read_part(pdf.read_bytes())
    assert (reading.bars, reading.pickup) == (asked["bars"], asked["pickup"])
    assert reading.confidence >= SURE
    assert Counter((m.text, m.bar) for m in reading.marks) == Counter(map(tuple, asked["marks"]))
    assert Counter((r.bar, r.count) for r in reading.multirests) == Counter(map(tuple, asked["multirests"]))
    assert Counter((s.kind.value, s.bar) for s in reading.signs) == Counter(map(tuple, asked["signs"]))
    assert [(e.number, e.bar, e.last_bar) for e in reading.endings] == list(map(tuple, asked["endings"]))


def test_repeat_dots_a_little_off_the_middle_are_a_repeat_s() -> None:
    """The chart's dots are of a font set larger than its stave; its source has two repeats, each with its start."""
    reading = read_part((Path(__file__).parent / "engraved" / "edited-6.pdf").read_bytes())
    kinds = Counter(line.kind for page in reading.pages for system in page.systems for line in system.barlines)
    assert (kinds[BarlineKind.REPEAT_START], kinds[BarlineKind.REPEAT_END], kinds[BarlineKind.FINAL]) == (2, 2, 1)


def test_fonts_that_only_hidden_layers_use_hide_no_other() -> None:
    """A page's resources may list more fonts than it shows (ISO 32000-1, 8.11: optional content)."""
    document = pymupdf.open(Path(__file__).parent / "engraved" / "bitmaps-902.pdf")
    for page in document:
        for name in pymupdf.Base14_fontdict:
            page.insert_font(fontname=name)
    plain, listed = read_part(KEPT[0].with_name("bitmaps-902.pdf").read_bytes()), read_part(document.tobytes())
    assert (listed.bars, listed.marks, listed.signs) == (plain.bars, plain.marks, plain.signs)


def test_an_accidental_before_a_first_note_is_no_key() -> None:
    """The chart is in C throughout (its source says K:C); its sixth line begins with a B sharp."""
    reading = read_part((Path(__file__).parent / "engraved" / "curves-124.pdf").read_bytes())
    assert {stave.head.key for page in reading.pages for system in page.systems for stave in system.staves} == {None}


def test_a_dynamic_over_the_first_line_is_no_title() -> None:
    """Over a sung line dynamics stand above (common practice); this one is set "m f" by its letters' gaps."""
    reading = read_part((Path(__file__).parent / "engraved" / "curves-36.pdf").read_bytes())
    assert [word.text for word in reading.head] == ["Paper Lanterns 36", "O. Quill"]


def test_an_ending_s_number_is_no_part_of_the_chord_behind_it() -> None:
    """As set over one chart's last line and made outlines: the chord stands half a letter lower."""

    def letter(value: str, x: float, top: float, foot: float) -> Glyph:
        return Glyph(x, top, x + 5, foot, x, foot, 13.0, "letter", value, OUTLINE)

    row = [letter("2", 59, 513, 521), letter(".", 64.5, 519, 521), letter("G", 70, 516, 526), letter("7", 76, 516, 526)]
    told = settled([(glyph, None) for glyph in row], [])
    assert [phrase.text for phrase in phrases(told)] == ["2.", "G7"]


def test_a_note_behind_an_ending_s_number_is_no_second_point() -> None:
    """A head of one stroke is as round as a point; this one is four times as large, a staff space behind "1."."""
    one = Glyph(145.1, 128.1, 148.7, 133.2, 145.1, 133.2, 10.2, "digit", "1", OUTLINE)
    point = Glyph(149.0, 132.2, 150.0, 133.2, 149.0, 133.1, 5.9, "letter", ".", OUTLINE)
    head = Glyph(151.8, 130.5, 157.0, 134.9, 151.8, 134.9, 16.0, "head", "half", OUTLINE)
    round_one = replace(head, kind="letter", value=".", size=33.6, y=134.4)
    told = settled([(one, None), (point, replace(point, kind="dot", value="")), (round_one, head)], [])
    assert [(glyph.kind, glyph.value) for glyph in told] == [("digit", "1"), ("letter", "."), ("head", "half")]
