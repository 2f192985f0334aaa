"""Jump words that name their time, their segno or their coda: engraved, read, and the form that they mean.

Expected orders are common practice: what the words ask a player to do.
"""

import re
import subprocess
from pathlib import Path

import pytest

import engraving
from collaparte.music.form import run_length, written_order
from collaparte.paper.read import read_part
from collaparte.paper.reading import Reading
from collaparte.paper.ruler import chart
from collaparte.paper.unsure import unsure

pytestmark = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")

HEAD = r"""\version "2.24.0"
#(set-default-paper-size "a4")
#(set-global-staff-size %s)
\paper { property-defaults.fonts.serif = "%s" }
\header { title = "Jumps" instrument = "Alto 1" tagline = ##f }
coda = \markup \musicglyph "scripts.coda"
segno = \markup \musicglyph "scripts.segno"
over = #(define-music-function (words) (markup?) #{ \textEndMark #words #})
under = #(define-music-function (words) (markup?)
  #{ \once \override Score.TextMark.direction = #DOWN \textEndMark #words #})
here = #(define-music-function (words) (markup?) #{ \tweak self-alignment-X #LEFT \textMark #words #})
\layout { \context { \Score \override CodaMark.break-visibility = #end-of-line-invisible } }
bars = #(define-music-function (n) (integer?) #{ \repeat unfold #n { c''4 d'' e'' f'' } #})
"""
LOOKS = (("18", "C059"), ("16", "Nimbus Sans"))

CASES = {
    "a doubled segno and a doubled coda": (
        r"""\segnoMark 1 \bars 4 \break \segnoMark 2 \bars 2 \over \markup { "To Coda" \coda } \bars 1
        \over \markup { "To" \coda \hspace #-0.5 \coda } \bars 1 \under "D.S. al Coda" \bar "||" \break
        \codaMark 1 \bars 4 \under "D.S.S. al Coda 2" \bar "||" \break \codaMark 2 \bars 2""",
        "1-8 1-6 9-12 5-7 13-14",
    ),
    "codas by number, in words": (
        r"""\segnoMark 1 \bars 2 \over "To Coda 1" \bars 2 \over "To Coda 2" \bars 2
        \over "D.S. al Coda 1" \bar "||" \break
        \here "Coda 1" \bars 2 \over "D.S. al Coda 2" \bar "||" \break \here "Coda 2" \bars 2""",
        "1-6 1-2 7-8 1-4 9-10",
    ),
    "codas by number, left in the other order": (
        r"""\segnoMark 1 \bars 2 \over "To Coda II" \bars 2 \over "To Coda I" \bars 2
        \over "D.S. al Coda I" \bar "||" \break
        \here "Coda I" \bars 2 \over "D.S. al Coda II" \bar "||" \break \here "Coda II" \bars 2""",
        "1-6 1-4 7-8 1-2 9-10",
    ),
    "D.S. 2": (
        r"""\segnoMark 1 \bars 2 \break \segnoMark 2 \bars 3 \over "D.S. 2" \bar "||" \break
        \bars 4 \over "D.S." \bar "||" \bars 1""",
        "1-5 3-9 1-10",
    ),
    "two side by side": (
        r"""\segnoMark 1 \bars 4 \over "To Coda Fine" \bars 2 \over "D.S. al Coda" \bar "||" \break
        \codaMark 1 \bars 2 \over "D.S. al Fine" \bar "||" """,
        "1-6 1-4 7-8 1-4",
    ),
    "2nd time to Coda, in a repeat": (
        r"""\bars 1 \repeat volta 2 { \bars 2 \over "2nd time to Coda" \bars 2 } \break \bars 3 \bar "||" \break
        \codaMark 1 \bars 3""",
        "1-5 2-3 9-11",
    ),
    "2nd x, over To Coda": (
        r"""\bars 1 \repeat volta 2 { \bars 2 \over \markup \right-column { "2nd x only" \line { "To Coda" \coda } }
        \bars 2 } \break \bars 3 \bar "||" \break \codaMark 1 \bars 3""",
        "1-5 2-3 9-11",
    ),
    "last x": (
        r"""\bars 1 \repeat volta 2 { \bars 2 \over \markup { "Last x to" \coda } \bars 2 } \break
        \bars 3 \bar "||" \break \codaMark 1 \bars 3""",
        "1-5 2-3 9-11",
    ),
    "2nd time, and a D.S. behind the repeat": (
        r"""\bars 2 \segnoMark 1 \bars 1 \repeat volta 2 { \bars 2 \over "To Coda (2nd time)" \bars 2 } \break
        \bars 1 \under "D.S. al Coda" \bar "||" \break \codaMark 1 \bars 2""",
        "1-7 4-8 3-5 9-10",
    ),
    "with repeats": (
        r"""\repeat volta 2 { \bars 4 } \break \bars 3 \over "Fine" \bar "||" \break
        \bars 3 \under "D.C. al Fine with repeats" \bar "||" """,
        "1-4 1-10 1-4 1-7",
    ),
    "a figure in another cut of the font": (
        r"""\repeat volta 4 { \bars 2 \alternative { \volta 1,3 { \bars 1 } \volta 2,4 { \bars 1 } } } \bars 2""",
        "1-3 1-2 4 1-3 1-2 4-6",
    ),
    "a slim 1 over a first ending without a start": (
        r"""\bars 3 \set Score.repeatCommands = #'((volta "1.")) \bars 1
        \set Score.repeatCommands = #'((volta #f) (volta "2.") end-repeat) \bars 1
        \set Score.repeatCommands = #'((volta #f)) \bars 2""",
        "1-4 1-3 5-7",
    ),
    "to the top": (
        r"""\bars 4 \over "Fine" \bar "||" \break \bars 4 \under "Back to top" \bar "||" """,
        "1-8 1-4",
    ),
    "to the top, then to Coda": (
        r"""\bars 3 \over \markup { "To Coda" \coda } \bars 3 \under "To the top, then to Coda" \bar "||" \break
        \codaMark 1 \bars 2""",
        "1-6 1-3 7-8",
    ),
    "D.S. twice": (
        r"""\bars 2 \segnoMark 1 \bars 4 \under "D.S. twice" \bar "||" \break \bars 4""",
        "1-6 3-6 3-10",
    ),
    "D.S. al Coda, two times": (
        r"""\bars 2 \segnoMark 1 \bars 2 \over \markup { "To Coda" \coda } \bars 2
        \under "D.S. al Coda (2 times)" \bar "||" \break \codaMark 1 \bars 2""",
        "1-6 3-6 3-4 7-8",
    ),
    "back to a mark": (
        r"""\bars 2 \break \mark \markup \box \bold "A" \bars 2 \over "Fine" \bars 2
        \under "Back to A al Fine" \bar "||" """,
        "1-6 3-4",
    ),
    # Another movement begins there; the end goes back no further.
    "an end without a start, behind a final bar line": (
        r"""\bars 4 \bar "|." \break \bars 4 \bar ":|." \bars 2""",
        "1-8 5-10",
    ),
    "back to the sign": (
        r"""\bars 2 \segnoMark 1 \bars 2 \over "Fine" \bars 4 \over "Back to the sign" \bar "||" """,
        "1-8 3-4",
    ),
}


@pytest.mark.parametrize("look", LOOKS, ids=[font for _, font in LOOKS])
@pytest.mark.parametrize(("music", "expected"), CASES.values(), ids=CASES.keys())
def test_words_mean_their_form(music: str, expected: str, look: tuple[str, str], tmp_path: Path) -> None:
    program = engraving.engraver()
    assert program is not None
    source = HEAD % look + r"\new Staff { \time 4/4 " + music + r' \bar "|." }'
    (tmp_path / "chart.ly").write_text(source, encoding="utf-8")
    subprocess.run([program, "-s", "chart.ly"], cwd=tmp_path, check=True, capture_output=True)
    reading = read_part((tmp_path / "chart.pdf").read_bytes())
    made = chart([reading], [str(n) for n in range(1, reading.positions + 1)])
    order = written_order(made)
    assert run_length(int(step.bar) for step in order.steps) == expected
    assert not re.search("never|no D.S.", order.diagnosis)


def _read(music: str, folder: Path, head: str = HEAD % LOOKS[0]) -> Reading:
    program = engraving.engraver()
    assert program is not None
    (folder / "chart.ly").write_text(f"{head}{music}", encoding="utf-8")
    subprocess.run([program, "-s", "chart.ly"], cwd=folder, check=True, capture_output=True)
    return read_part((folder / "chart.pdf").read_bytes())


def test_words_that_do_not_say_which_jump_are_told(tmp_path: Path) -> None:
    music = r"""\new Staff { \time 4/4 \bars 4 \bar "||" \bars 4 \over "Menuetto D.C." }"""
    told = " ".join(unsure(_read(music, tmp_path)))
    assert 'The words "Menuetto D.C." at bar 8 speak of a jump but not which' in told


def test_a_repeat_that_is_left_to_a_cue_is_told(tmp_path: Path) -> None:
    music = r"""\new Staff { \time 4/4 \bars 2 \repeat volta 2 { \here "Vamp till cue" \bars 4 } \bars 2 }"""
    told = unsure(_read(music, tmp_path))
    assert told == [
        '"Vamp till cue" leaves the repeat that ends at bar 6 to a cue; it is as its signs say until the MD opens it.'
    ]


@pytest.mark.parametrize("name", ["Da Capo", "To Coda", "Fine", "Dal Segno Fine", "D.S. al Coda", "Back to A"])
def test_a_tune_may_be_named_as_a_jump_is(name: str, tmp_path: Path) -> None:
    music = r"""\new Staff { \time 4/4 \bars 8 \over "Fine" \bar "||" \break \bars 8 \over "D.C. al Fine" \bar "|." }"""
    for head in (HEAD % LOOKS[0], (HEAD % LOOKS[0]).replace("title =", f'subtitle = "{name}" title =')):
        reading = _read(music, tmp_path, head if "subtitle" in head else head.replace('"Jumps"', f'"{name}"'))
        assert [(sign.kind.value, sign.bar) for sign in reading.signs] == [("fine", 8), ("dc-al-fine", 16)]
        assert unsure(reading) == []


def test_what_is_sung_is_no_jump(tmp_path: Path) -> None:
    """Nobody sets a jump among the words that are sung, in their face and on their line."""
    music = r"""<< \new Staff \new Voice = "v" { \time 4/4 \bars 6 \over "Fine" \bar "||" \bars 2 \over "D.C. al Fine" }
      \new Lyrics \lyricsto "v" { la la la la go to Coda now and sing a Fine old song, dear
        la la la la la la la la la la la la la la la la } >>"""
    reading = _read(music, tmp_path)
    assert [(sign.kind.value, sign.bar) for sign in reading.signs] == [("fine", 6), ("dc-al-fine", 8)]
    assert unsure(reading) == []
