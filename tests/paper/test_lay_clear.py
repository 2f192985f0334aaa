"""On every page, whatever its shape and however high the staves: all ink is on it, and no line's ink meets another's.

Fresh charts of both engravers, and crowded ones: very high and very low notes, chord names, verses, marks, words.
"""

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace

import engraving
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import Step
from collaparte.paper.read import read_part
from paper.inked import Inks, faults, lines_noted
from paper.laid import Part, engraved, with_reading, written
from paper.test_lay_charts import first_engraver, second_engraver
from seeded import SEED

pytestmark = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")

PAGES = (148.0, 197.0), (148.0, 237.0), (148.0, 321.0), (210.0, 297.0), (215.9, 279.4)
"""Tablets of 3:4 and 10:16, a telephone, A4 and Letter."""
STAVES = 6.0, 7.0, 8.5, 10.0
HIGH, MIDDLE, LOW = "c'''' b''' a''' g''' f'''", "c'' d'' e'' f'' g'' a' b'", "c f, g, d e"
SIGNS = "->", "-.", r"\fermata", r"\sfz", r"\trill"
TOLD = "rit. molto", "solo", "cup mute", "like a distant bell", "open"
JUMPS = "D.S. al Coda (no repeats)", "To Coda", "D.C. al Fine, last time only", "Fine"
CHORDS = "c1:7", "bes1:maj7", "es1:m7", "g1:7.9-"
CROWD = r"""\version "2.24.0"
#(set-global-staff-size SIZE)
\header { title = "Crowd" tagline = ##f }
\layout { \context { \Score rehearsalMarkFormatter = #format-mark-box-alphabet } }
<< NAMES \new Staff { \key ees \major \time 4/4 MUSIC \bar "|." } VERSES UNDER >>
"""


def bar(chance: random.Random) -> str:
    pitches = chance.choice((HIGH, MIDDLE, MIDDLE, MIDDLE, LOW)).split()
    out = []
    for _ in range(4):
        beat = chance.choice(("{0}4", "{0}8 {1}8")).format(*chance.choices(pitches, k=2))
        out.append(beat + (chance.choice(SIGNS) if chance.random() < 0.2 else ""))
    return " ".join(out)


def crowd(seed: int) -> str:
    """A chart for the engraver."""
    chance = random.Random(seed)
    bars, music = chance.choice((16, 24)), []
    for n in range(bars):
        one = bar(chance)
        if chance.random() < 0.25:
            one += chance.choice("^_") + rf'\markup \italic "{chance.choice(TOLD)}"'
        if n % 8 == 7:
            one += rf' \textEndMark \markup {{ "{chance.choice(JUMPS)}" }} \bar "||" '
        music.append(rf"\mark \default {one}" if n % 8 == 0 else one)
    words = (" ".join(chance.choices(("la", "low", "har -- bour", "wa -- ter"), k=4 * bars)) for _ in range(seed % 4))
    chords = " ".join(chance.choices(CHORDS, k=bars))
    under = rf"\new Staff {{ \clef bass \key ees \major {' | '.join(bar(chance) for _ in range(bars))} }}"
    parts = {
        "SIZE": chance.choice(("16", "18", "20")),
        "NAMES": rf"\new ChordNames \chordmode {{ {chords} }}" if chance.random() < 0.6 else "",
        "MUSIC": " | ".join(music),
        "VERSES": " ".join(rf"\addlyrics {{ {verse} }}" for verse in words),
        "UNDER": under if chance.random() < 0.4 else "",
    }
    source = CROWD
    for name, text in parts.items():
        source = source.replace(name, text)
    return source


def clear_everywhere(the: Part, order: tuple[Step, ...], monkeypatch: pytest.MonkeyPatch) -> int:
    """How many pages were looked at."""
    inks, pages = Inks(the.cut), 0
    for page in PAGES:
        for stave in STAVES:
            with lines_noted(monkeypatch) as lines:
                laying = lay(the.reading, the.cut.table, order, page, stave)
            assert faults(inks, laying, lines) == [], (page, stave)
            pages += len(laying.pages)
    return pages


@pytest.mark.parametrize("maker", [first_engraver, second_engraver])
def test_fresh_charts(
    maker: Callable[[int, Path], tuple[bytes, str]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pdf, notes = maker(7 * SEED + 5, tmp_path)
    print(f"COLLAPARTE_SEED={SEED}: {maker.__name__}, {notes}")
    the = with_reading(pdf, read_part(pdf))
    assert clear_everywhere(the, printed_order(the.reading), monkeypatch)


@pytest.mark.parametrize("n", range(3))
def test_crowded_charts(n: int, monkeypatch: pytest.MonkeyPatch) -> None:
    print(f"COLLAPARTE_SEED={SEED}")
    the = engraved(crowd(3 * SEED + n))
    assert clear_everywhere(the, printed_order(the.reading), monkeypatch) > len(PAGES) * len(STAVES)


def test_a_line_over_another_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """The look is no blind one: a page whose lines stand too close, or too low, is told."""
    the = engraved(crowd(1))
    with lines_noted(monkeypatch) as lines:
        laying = lay(the.reading, the.cut.table, printed_order(the.reading))
    assert faults(Inks(the.cut), laying, lines) == []
    for down, said in ((-12.0, "meets another"), (80.0, "ink")):
        page, ends = laying.pages[1], lines.marks[1]
        last = range(ends[-2][0], ends[-1][0])
        placed = tuple(replace(p, y=p.y + down) if n in last else p for n, p in enumerate(page.placed))
        wrong = replace(laying, pages=(laying.pages[0], replace(page, placed=placed), *laying.pages[2:]))
        assert any(said in fault for fault in faults(Inks(the.cut), wrong, lines))


def test_written_out(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    pdf, notes = first_engraver(9 * SEED + 2, tmp_path)
    print(f"COLLAPARTE_SEED={SEED}: {notes}")
    the = with_reading(pdf, read_part(pdf))
    assert clear_everywhere(the, written(the.reading), monkeypatch)
