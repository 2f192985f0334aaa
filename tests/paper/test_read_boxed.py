"""Words in boxes that are no marks, sung words that are no signs, signs at another's place: engraved and read."""

from pathlib import Path

import pytest

import engraving
from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE, Reading

pytestmark = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")

HEAD = r"""\version "2.24.0"
#(set-global-staff-size 19)
\header { title = "Boxes" instrument = "Alto 1" tagline = ##f }
m = #(define-music-function (t) (string?) #{ \mark \markup \box \bold #t #})
bx = #(define-event-function (t) (string?) #{ ^\markup \box #t #})
"""


def read(music: str, folder: Path) -> Reading:
    (folder / "barlines.jsonl").write_text("", encoding="utf-8")
    pdf, _ = engraving.engrave(engraving.Chart(0, HEAD + music, engraving.Truth(), music), folder)
    return read_part(pdf)


def marks(reading: Reading) -> list[tuple[str, int]]:
    return [(mark.text, mark.bar) for mark in reading.marks]


def test_boxed_words_beside_a_row_of_letters_are_no_marks(tmp_path: Path) -> None:
    reading = read(
        r"""\score { \new Staff { \time 4/4 \key f \major
        \m "A" c''4\bx "To Flute" d'' e'' f'' | g''1 | c''4-1 d''-2 e''-3 f''-4 | g''1 |
        \m "B" c''4 d''\bx "Solo" e'' f'' | g''1\bx "Cm7" | c''1\bx "Play 2nd x" | g''1 | \break
        \m "C" c''4 d'' e'' f'' | g''1\bx "F7" | c''1 | g''1\bx "Open" |
        \m "D" c''4\bx "Straight 8ths" d'' e'' f'' | g''1 | c''1 | g''1 \bar "||" \break
        \repeat volta 2 { \m "E" c''1\bx "Tutti" | d''1\bx "4" | e''1 | f''1 } \alternative { { g''1 } { a''1 } }
        c''1\bx "Harmon mute" | d''1 | e''1\bx "Dm7" | f''1 \m "F" c''1\bx "Solo" d''1 \bar "|." } }""",
        tmp_path,
    )
    assert marks(reading) == [("A", 1), ("B", 5), ("C", 9), ("D", 13), ("E", 17), ("F", 27)]
    assert reading.bars == 28 and not reading.signs


def test_sections_named_in_words_go_with_letters_of_the_same_kind(tmp_path: Path) -> None:
    reading = read(
        r"""\score { \new Staff { \m "Intro" c''1 d'' \m "A" e'' f'' \m "B" g'' f'' \m "Solos" e'' d''
        \m "C" c'' d'' \m "Outro" e'' \bar "|." } }""",
        tmp_path,
    )
    assert marks(reading) == [("Intro", 1), ("A", 3), ("B", 5), ("Solos", 7), ("C", 9), ("Outro", 11)]


def test_a_word_that_is_sung_is_no_sign(tmp_path: Path) -> None:
    reading = read(
        r"""\score { \new Staff { \time 4/4 \key f \major
        \m "A" c''4 d'' e'' f'' | g''1 | c''4 d'' e'' f'' | g''1 | \break \m "B" c''4 d'' e'' f'' | g''1 |
        c''4 d'' e'' f'' | g''1 \bar "|." }
        \addlyrics { A fine day for one fine Coda, oh B I am so Fine to A C me, segno. } }""",
        tmp_path,
    )
    assert not reading.signs
    assert marks(reading) == [("A", 1), ("B", 5)]


def test_marks_that_are_bar_numbers_say_whether_there_is_a_pickup(tmp_path: Path) -> None:
    """The first bar is filled with a long note that an engraver's spacing may make look short."""
    music = r"""\score { \new Staff { \time 4/4 %s \m "5" c''1 d'' e'' f'' \m "9" c'' d'' e'' f'' \bar "|." }
        \layout { \context { \Score \omit BarNumber } } }"""
    whole = read(music % r"c''4 r2 r4 d''1 e'' f''", tmp_path)
    assert (whole.bars, whole.pickup, marks(whole)) == (12, False, [("5", 5), ("9", 9)])
    short = read(music % r"\partial 4 c''4 d''1 e'' f'' g''", tmp_path)
    assert (short.bars, short.pickup, marks(short)) == (12, True, [("5", 5), ("9", 9)])


def test_an_ossia_and_cues_count_no_bars(tmp_path: Path) -> None:
    reading = read(
        r"""\score { << \new Staff = "a" { \time 4/4 \key f \major
        \m "A" c''4 d'' e'' f'' | g''1 |
        << { c''4 d'' e'' f'' | g''1 } \new Staff \with { \remove "Time_signature_engraver" alignAboveContext = "a"
        \magnifyStaff #2/3 firstClef = ##f } { c''4 e'' e'' f'' | g''4 g'' g'' g'' } >>
        | c''4 d'' e'' f'' | g''1 | \break
        \m "B" c''4 d'' e'' f'' | g''1 | \improvisationOn b'4 b' b' b' | b' b' b' b' \improvisationOff | \break
        \m "C" \repeat percent 4 { c''4 d'' e'' f'' } | g''1 | \break
        \m "D" << { \magnifyMusic 0.63 { c''4 d'' e'' f'' | g''1 } } \\ { R1 R1 } >> | c''1 | d''1 \bar "|." } >> }""",
        tmp_path,
    )
    assert reading.bars == 19
    assert marks(reading) == [("A", 1), ("B", 7), ("C", 11), ("D", 16)]
    assert all(len(system.staves) == 1 for page in reading.pages for system in page.systems)


def test_a_short_score_is_read_system_by_system(tmp_path: Path) -> None:
    reading = read(
        r"""mus = { \time 4/4 \m "A" c''4 d'' e'' f'' | g''1 | c''1 | g''1 | \break
        \m "B" c''4 d'' e'' f'' | g''1 \bar "||" \repeat volta 2 { \m "C" c''1 | g''1 } c''1 | g''1 \bar "|." }
        \score { << \new StaffGroup << \new Staff \mus \new Staff \mus >>
        \new PianoStaff << \new Staff \mus \new Staff { \clef bass \transpose c c,, \mus } >>
        \new DrumStaff \drummode { \repeat unfold 10 sn1 } >> }""",
        tmp_path,
    )
    assert reading.bars == 10 and marks(reading) == [("A", 1), ("B", 5), ("C", 7)]
    assert [len(system.staves) for page in reading.pages for system in page.systems] == [5, 5]


LEGEND = r"""\score { \new DrumStaff { \drummode { bd4^"Bass drum" sn^"Snare" hh^"Hi-hat" cymc^"Crash" \bar "||" } }
    \layout { indent = 0 ragged-right = ##t \context { \Score \omit BarNumber } } }
    \score { \new DrumStaff { \drummode { \m A \repeat unfold 16 { bd4 sn8 sn bd4 sn } \m B R1*8 \bar "|." } } %s }"""


def test_a_list_of_a_drummer_s_signs_is_said_and_its_names_are_no_title(tmp_path: Path) -> None:
    """Names over notes are pushed up out of each other's way; the list has a line of its own (common practice)."""
    plain = read(LEGEND % r"\layout { \context { \Score \omit BarNumber } }", tmp_path)
    assert plain.confidence < SURE and "list of signs" in plain.doubts[0]
    assert [word.text for word in plain.head] == ["Boxes", "Alto 1"]
    numbered = read(LEGEND % "", tmp_path)
    assert (numbered.bars, numbered.pickup, marks(numbered)) == (24, True, [("A", 1), ("B", 17)])
    assert "list of signs" in numbered.pages[0].systems[0].doubt and not numbered.pages[0].systems[1].doubt


def test_a_part_of_one_long_rest_is_no_part_without_rests(tmp_path: Path) -> None:
    reading = read(r"""\score { \new Staff { \time 4/4 \compressMMRests { R1*48 } \bar "|." } }""", tmp_path)
    assert [(rest.bar, rest.count) for rest in reading.multirests] == [(1, 48)]
    assert not reading.doubts


NO_NUMBERS = r"\layout { \context { \Score \omit BarNumber } }"


def test_a_slanted_beam_that_is_filled_and_stroked_is_one(tmp_path: Path) -> None:
    """The chart begins with a full bar of 6/8, three eighths of it under one beam, and has no bar numbers."""
    pdf, truth = engraving.engrave(engraving.chart(7000673), tmp_path)
    reading = read_part(pdf)
    assert (reading.bars, reading.pickup) == (truth.bars, truth.pickup)


@pytest.mark.parametrize(("layout", "sure"), [(NO_NUMBERS, False), ("", True)])
def test_an_empty_bar_among_bars_of_music_is_doubtful_with_no_number_behind(
    layout: str, sure: bool, tmp_path: Path
) -> None:
    """A rest of many bars whose sign was not told would leave one; else an empty bar has a rest (common practice)."""
    bars = r"c''4 d'' e'' f'' | g''1 | "
    hidden = r"\hideNotes c''4 d'' e'' f'' \unHideNotes"
    reading = read(
        rf"""\score {{ \new Staff {{ \time 4/4 {3 * bars} {hidden} | {2 * bars} \break
        {3 * bars} \bar "|." }} {layout} }}""",
        tmp_path,
    )
    assert (reading.confidence >= SURE) is sure
    assert any("Bar 7 on page 1 seems empty" in said for said in reading.doubts) is not sure


@pytest.mark.parametrize("size", [14, 18, 24])
def test_a_sign_that_repeats_two_bars_stands_for_two(size: int, tmp_path: Path) -> None:
    """It stands across a barline, and each half may be narrower than any bar of notes."""
    two = "\\repeat percent 2 { c''4 d'' e'' f'' | g''8 f'' e'' d'' c''2 } "
    one = "\\repeat percent 4 { c''4 d'' e'' f'' } "
    music = f"#(set-global-staff-size {size}) \\new Staff {{ c''1 {one} {two} {two} c''1 \\bar \"|.\" }}"
    reading = read(music, tmp_path)
    assert reading.bars == 14 and reading.confidence >= SURE


def test_marks_that_are_all_set_under_their_lines_are_at_those(tmp_path: Path) -> None:
    bars = {"A": 4, "B": 3, "C": 5, "D": 4, "E": 6}
    music = " ".join(f"\\m {name} " + count * "c''4 d'' e'' f'' " for name, count in bars.items())
    under = "\\layout { \\context { \\Score \\override RehearsalMark.direction = #DOWN } }"
    reading = read(f'\\score {{ \\new Staff {{ {music} \\bar "|." }} {under} }}', tmp_path)
    assert marks(reading) == [("A", 1), ("B", 5), ("C", 8), ("D", 13), ("E", 17)]


def test_the_players_short_name_beside_every_line_is_no_tempo(tmp_path: Path) -> None:
    """ "A." (alto) reads like the first word of a tempo; the words over the staves stay what they are."""
    reading = read(
        r"""\score { \new Staff \with { instrumentName = "Alto" shortInstrumentName = "A." } {
        \tempo "Slow" c''4 d'' e'' f'' | g''1 \break c''4 d'' e'' f'' | g''1 \break
        \tempo "A tempo" c''4 d'' e'' f'' | g''1 \bar "|." } }""",
        tmp_path,
    )
    assert [(tempo.text, tempo.bar) for tempo in reading.tempos] == [("Slow", 1), ("A tempo", 5)]
