"""What holds at a bar, as two engravers set it: clef, key, meter, tempo, words to the player, and how it ends."""

from pathlib import Path

import pytest

import engraving
from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE, Reading
from paper.test_read_boxed import read

lilypond = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")


def _changes(reading: Reading, stave: int = 0) -> list[tuple[int, str, int | None, str]]:
    return [(c.bar, c.clef, c.fifths, c.meter) for c in reading.changes if c.stave == stave]


@lilypond
@pytest.mark.parametrize("rest", [8, 11])  # old signs, and a bar across
def test_a_clef_behind_a_long_rest_holds_behind_all_its_bars(rest: int, tmp_path: Path) -> None:
    reading = read(
        rf"\score {{ \new Staff {{ \compressMMRests {{ \clef treble c''1 | R1*{rest} \clef bass c1 | d1 | e1 }} }} }}",
        tmp_path,
    )
    assert _changes(reading) == [(1, "g", None, "4/4"), (rest + 2, "f", None, "")]


@lilypond
def test_a_key_that_takes_back_and_sets_and_a_note_behind_a_meter(tmp_path: Path) -> None:
    """Two flats to one: a natural, then a flat. A sharp behind a new meter is its note's own."""
    reading = read(
        r"""\score { \new Staff { \key bes \major c''4 d'' es'' f'' | \key f \major c''4 d'' e'' f'' |
        \time 3/4 fis''4 g'' a'' | c''2. } }""",
        tmp_path,
    )
    assert _changes(reading) == [(1, "g", -2, "4/4"), (2, "", -1, ""), (3, "", None, "3/4")]


@lilypond
def test_a_bar_ends_in_a_rest_when_every_stave_does(tmp_path: Path) -> None:
    reading = read(
        r"""\score { \new PianoStaff << \new Staff { c''2. r4 | c''2. r4 | r4 c''2. | r4 c''2. }
        \new Staff { \clef bass c1 | c2 d4 r | r2 c2 | c2 d | } >> }""",
        tmp_path,
    )
    bars = [bar for page in reading.pages for system in page.systems for bar in system.bars]
    assert [(bar.starts_in_rest, bar.ends_in_rest) for bar in bars] == [
        (False, False),
        (False, True),
        (True, False),
        (False, False),
    ]


@lilypond
def test_tempos_close_to_one_another_and_to_other_words(tmp_path: Path) -> None:
    """Over short bars; the count of a long rest and words to the player in the same row are of no tempo."""
    reading = read(
        r"""\score { \new Staff { \time 2/4 \compressMMRests { \tempo "Adagio" 4=42 c''2 |
        \tempo "Con moto" 4=126 d''2 |
        e''2^"brushes" | \tempo 2=148 f''2 | \tempo "Bossa Nova" 4=154 R2*7 | \tempo "Largo" 4=44 c''2 | } } }""",
        tmp_path,
    )
    words = [
        (t.text.replace("(", "").replace(")", "").partition("=")[0].strip(" ♩𝅗𝅥"), t.bpm, t.bar) for t in reading.tempos
    ]
    assert words == [
        ("Adagio", 42, 1),
        ("Con moto", 126, 2),
        ("", 148, 4),
        ("Bossa Nova", 154, 5),
        ("Largo", 44, 12),
    ]
    assert [(one.text, one.bar) for one in reading.instructions] == [("brushes", 3)]


@lilypond
def test_a_row_of_words_to_the_player_is_not_sung_and_goes_with_the_line_whose_notes_it_begins_at(
    tmp_path: Path,
) -> None:
    reading = read(
        r"""\paper { system-system-spacing = #'((basic-distance . 12) (minimum-distance . 8) (padding . 0))
        ragged-bottom = ##t }
        \score { \new Staff { c''1 | c''1 | c''1 | c''1 \break
        c''1^"con sord." | d''1^"senza sord." | e''1^"con sord." | f''2 f''2^"end solo" \break
        g''1^"cup mute" | f''4. g''8 a''2 | g'''2^"to flute" a'' | d''1 } }""",
        tmp_path,
    )
    assert [(one.text, one.bar) for one in reading.instructions] == [
        ("con sord.", 5),
        ("senza sord.", 6),
        ("con sord.", 7),
        ("end solo", 8),
        ("cup mute", 9),
        ("to flute", 11),
    ]


@lilypond
def test_the_figure_of_a_clef_is_no_bar_number(tmp_path: Path) -> None:
    """A part without bar numbers whose clef sounds an octave lower: its 8 stands at every line."""
    reading = read(
        r"""\layout { \context { \Score \omit BarNumber } }
        \score { \new Staff { \clef "treble_8" c'4 d' e' f' | c'1 | \break c'1 | d'1 | \break e'1 | f'1 | \break
        e'1 } }""",
        tmp_path,
    )
    systems = [system for page in reading.pages for system in page.systems]
    assert len(systems) == 4 and all(system.confidence >= SURE for system in systems)
    assert all(system.printed_number is None for system in systems)


def _engraved(bars: list[str], clef: str, face: str, key: int = 0) -> Reading:
    second_engraving = pytest.importorskip("second_engraving")
    first = (
        f"<attributes><divisions>1</divisions><key><fifths>{key}</fifths></key>"
        f"<time><beats>4</beats><beat-type>4</beat-type></time><clef>{clef}</clef></attributes>"
    )
    measures = "".join(
        f'<measure number="{n}">{first if n == 1 else ""}{bar}</measure>' for n, bar in enumerate(bars, 1)
    )
    score = (
        '<?xml version="1.0"?><score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part>'
        f'</part-list><part id="P1">{measures}</part></score-partwise>'
    )
    return read_part(second_engraving.engraved(score, face, "auto", 36, (794, 1123)))


def _note(step: str, octave: int, length: int, sort: str) -> str:
    return (
        f"<note><pitch><step>{step}</step><octave>{octave}</octave></pitch>"
        f"<duration>{length}</duration><type>{sort}</type></note>"
    )


@pytest.mark.parametrize("face", ["Bravura", "Leland", "Leipzig", "Gootville"])
def test_a_percussion_clef_of_two_blocks_is_no_rest(face: str) -> None:
    hit = "<note><unpitched><display-step>C</display-step><display-octave>5</display-octave></unpitched>"
    hit += "<duration>1</duration><type>quarter</type></note>"
    reading = _engraved([hit * 4] * 3, "<sign>percussion</sign>", face)
    assert _changes(reading) == [(1, "percussion", None, "4/4")]
    bars = [bar for page in reading.pages for system in page.systems for bar in system.bars]
    assert len(bars) == 3 and not any(bar.starts_in_rest for bar in bars)


@pytest.mark.parametrize("face", ["Bravura", "Leland", "Petaluma", "Leipzig", "Gootville"])
def test_whole_notes_and_black_ones_are_told_apart(face: str) -> None:
    """Without bar numbers the lengths say whether there is a pickup: three black notes are shorter than one whole."""
    whole, quarter = _note("B", 4, 4, "whole"), _note("B", 4, 1, "quarter")
    assert not _engraved([whole] * 3, "<sign>G</sign><line>2</line>", face).pickup
    assert _engraved([quarter * 3, *[whole] * 3], "<sign>G</sign><line>2</line>", face).pickup


def test_words_of_a_font_that_goes_by_two_names_keep_their_letters_together() -> None:
    """A composite font's name may have its encoding behind its descendant's (ISO 32000-1, 9.7.6.1)."""
    words = '<direction placement="above"><direction-type><words>Moderato</words></direction-type></direction>'
    bar = _note("B", 4, 4, "whole")
    reading = _engraved([bar, words + bar, bar], "<sign>G</sign><line>2</line>", "Leipzig")
    assert [(t.text, t.bar) for t in reading.tempos] == [("Moderato", 2)]
