"""How often a repeat is played, said in words over it: engraved by both engravers, read, and shown where it holds.

"3x", "Play 4 times", "4 x's" are common practice, at the repeat's end sign or over its first bar.
"""

import subprocess
from pathlib import Path

import pypdfium2
import pytest
from msgspec.structs import replace

import engraving
import second_engraving
from collaparte.music.form import run_length, written_order
from collaparte.paper.cutting.pieces import cut_ink
from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Step
from collaparte.paper.read import read_part
from collaparte.paper.reading import Reading
from collaparte.paper.ruler import chart
from music.musicxml import END, START, direction, score

needs_engraver = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")

SOURCE = r"""\version "2.24.0"
#(set-default-paper-size "a4")
#(set-global-staff-size %s)
\paper { property-defaults.fonts.serif = "%s" }
\header { title = "Rounds" instrument = "Alto 1" tagline = ##f }
coda = \markup \musicglyph "scripts.coda"
over = #(define-music-function (words) (markup?) #{ \textEndMark #words #})
here = #(define-music-function (words) (markup?) #{ \tweak self-alignment-X #LEFT \textMark #words #})
bars = #(define-music-function (n) (integer?) #{ \repeat unfold #n { c''4 d'' e'' f'' } #})
\new Staff { \time 4/4 %s \bar "|." }
"""
LOOKS = (("18", "C059"), ("16", "Nimbus Sans"))

CASES = {
    "3x at the end sign": (r'\bars 2 \repeat volta 2 { \bars 3 \over "3x" } \bars 2', "1-5 3-5 3-7"),
    "Play 4 times over the first bar": (
        r'\bars 1 \repeat volta 2 { \here "Play 4 times" \bars 3 } \bars 2',
        "1-4 2-4 2-4 2-6",
    ),
    "(4 x's) before the end sign": (
        r"""\bars 2 \repeat volta 2 { \bars 2 \over "(4 x's)" \bars 1 } \break \bars 2""",
        "1-5 3-5 3-5 3-7",
    ),
    "x3 over two lines": (r'\bars 2 \repeat volta 2 { \bars 3 \break \bars 3 \over "x3" } \bars 1', "1-8 3-8 3-9"),
    "each repeat its own": (
        r'\repeat volta 2 { \bars 2 \over "3X" } \repeat volta 2 { \bars 2 } \break '
        r'\repeat volta 2 { \bars 2 \over "Play 4x" } \bars 1',
        "1-2 1-2 1-4 3-6 5-6 5-6 5-7",
    ),
    "not of a repeat": (r'\bars 2 \over "3x" \bars 2 \repeat volta 2 { \bars 2 } \bars 1', "1-6 5-7"),
    "2nd x only": (r'\bars 1 \repeat volta 2 { \bars 2 \over "2nd x only" \bars 1 } \bars 1', "1-4 2-5"),
}


def engraved(music: str, look: tuple[str, str], folder: Path) -> bytes:
    program = engraving.engraver()
    assert program is not None
    (folder / "chart.ly").write_text(SOURCE % (*look, music), encoding="utf-8")
    subprocess.run([program, "-s", "chart.ly"], cwd=folder, check=True, capture_output=True)
    return (folder / "chart.pdf").read_bytes()


def order_of(*readings: Reading) -> str:
    made = chart(readings, [str(n) for n in range(1, readings[0].positions + 1)])
    return run_length(int(step.bar) for step in written_order(made).steps)


@needs_engraver
@pytest.mark.parametrize("look", LOOKS, ids=[font for _, font in LOOKS])
@pytest.mark.parametrize(("music", "expected"), CASES.values(), ids=CASES.keys())
def test_words_over_a_repeat_say_its_count(music: str, expected: str, look: tuple[str, str], tmp_path: Path) -> None:
    assert order_of(read_part(engraved(music, look, tmp_path))) == expected


@pytest.mark.parametrize("font", second_engraving.FONTS)
@pytest.mark.parametrize("words", ["3x", "Play 3 times", "3 x's"])
def test_set_by_another_engraver(words: str, font: str) -> None:
    over = direction(words).replace("<direction>", '<direction placement="above">')
    data = score(6, {2: START}, {4: over + END}).decode()
    pdf = second_engraving.engraved(data, font, "auto", 40, (794, 1123))
    assert order_of(read_part(pdf)) == "1-4 2-4 2-6"


@needs_engraver
def test_half_of_the_parts_must_say_it(tmp_path: Path) -> None:
    music, _ = CASES["3x at the end sign"]
    said = read_part(engraved(music, LOOKS[0], tmp_path))
    silent = replace(said, instructions=())
    assert order_of(said, silent) == "1-5 3-5 3-7"
    assert order_of(silent, said, silent) == "1-5 3-7"


@needs_engraver
def test_it_is_shown_between_the_signs_and_not_where_the_repeat_is_written_out(tmp_path: Path) -> None:
    music, _ = CASES["3x at the end sign"]
    pdf = engraved(music, LOOKS[0], tmp_path)
    reading = read_part(pdf)
    cut = cut_ink(pdf, reading)
    printed = printed_order(reading)

    def shown(steps: list[Step]) -> tuple[int, str]:
        laying = lay(reading, cut.table, steps, (148.0, 197.0))
        (page,) = pypdfium2.PdfDocument(draw_cut(cut, laying))
        dots = sum(len(sheet.dots) for sheet in laying.pages)
        return dots, page.get_textpage().get_text_range()

    # Two dots at the start sign and two at the end sign of the one stave.
    dots, text = shown(list(printed))
    assert (dots, text.count("3x")) == (4, 1)
    again = [
        replace(step, pass_=2, join=n == 0, label="2nd time" if n == 0 else "") for n, step in enumerate(printed[2:5])
    ]
    dots, text = shown([*printed[:5], *again, *printed[5:]])
    assert (dots, text.count("3x")) == (0, 0)
    # A short repeat that stands between its signs, in an order with a jump: both stay, where they hold.
    kept = [replace(step, kept=True) for step in printed]
    back = [replace(step, pass_=2, join=n == 0) for n, step in enumerate(printed[:4])]
    dots, text = shown([*kept, *back])
    assert (dots, text.count("3x")) == (4, 1)
    # The bars before and behind it come again without it: its signs are its own, and both stay.
    some = [replace(step, kept=2 <= n < 5) for n, step in enumerate(printed)]
    around = [replace(printed[n], pass_=2, join=n in (0, 5)) for n in (0, 1, 5, 6)]
    dots, text = shown([*some, *around])
    assert (dots, text.count("3x")) == (4, 1)
    # Written out within a longer stretch that is open tonight, between signs of its own; and tonight another count.
    opened = [replace(printed[0], starts=True, label="open"), *printed[1:5], *again, *printed[5:]]
    dots, text = shown([*opened[:-1], replace(opened[-1], ends=True)])
    assert (dots, text.count("3x")) == (4, 0)
    tonight = list(printed)
    tonight[2] = replace(printed[2], starts=True, label="5 times", kept=True)
    tonight[4] = replace(printed[4], ends=True, kept=True)
    dots, text = shown(tonight)
    assert (dots, text.count("3x"), text.count("5 times")) == (4, 0, 1)


CODAS = r"""\mark \markup \musicglyph "scripts.segno" \bars 2 \over \markup { "To" \coda "1" } \bars 2
\over \markup { "To" \coda "2" } \bars 2 \over "D.S. al Coda 1" \bar "||" \break
\here \markup { \coda "1" } \bars 2 \over "D.S. al Coda 2" \bar "||" \break \here \markup { \coda "2" } \bars 2"""


@needs_engraver
@pytest.mark.parametrize("look", LOOKS, ids=[font for _, font in LOOKS])
def test_a_lone_figure_behind_a_coda_sign_names_it(look: tuple[str, str], tmp_path: Path) -> None:
    assert order_of(read_part(engraved(CODAS, look, tmp_path))) == "1-6 1-2 7-8 1-4 9-10"
