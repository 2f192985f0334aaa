"""Charts full of words of many kinds, close over and under the staves: every word in a colour of its own, so that it
is known which bar each letter of the page was written for."""

import random
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

from collaparte.paper.cutting.ink import Mark
from engraving import engraver

STEP, DIGITS = 0.02, 16
"""A colour's parts are a word's number in digits, each so many hundredths: all of them all but black."""
COLOURS = r"""
#(define told 0)
#(define (in-colours context)
  (make-engraver
    (acknowledgers
      ((grob-interface engraver grob source)
        (if (memq (grob::name grob) '(TextScript MetronomeMark RehearsalMark))
          (begin
            (set! told (+ told 1))
            (format #t "WORD ~a ~a\n" told (ly:context-property context 'currentBarNumber 1))
            (ly:grob-set-property! grob 'color
              (list (* 0.02 (modulo told 16)) (* 0.02 (modulo (quotient told 16) 16))
                (* 0.02 (quotient told 256))))))))))
"""
STYLES = ("Swing", "Latin", "Straight 8ths", "Shuffle", "Broken time", "Rubato", "Freely", "In two", "Samba feel")
TEMPI = ("Medium Swing", "Bright Latin", "Slow Ballad", "Moderato", "Allegro con brio", "With motion", "Easy Bossa")
CUES = ("Tpt. solo", "cue: alto", "(Piano)", "(Drum fill)", "Bone soli", "(Vocal)", "tutti", "soli", "unis.")
LOUD = (
    "cresc.",
    "dim.",
    "più forte",
    "subito piano",
    "cresc. poco a poco",
    "poco dim.",
    "sempre f",
    "dolce",
    "marcato",
)
MUTES = ("mute in", "mute out", "to flugel", "cup mute", "harmon, no stem", "open", "plunger", "to clarinet", "pizz.")
TELLING = (
    "watch the leader here", "play only on the repeat", "lay back behind the beat", "wait for the drum fill",
    "breathe before the last note", "bring out the lower part", "let it ring over the barline", "do not rush",
    "vamp till cue from the stage", "very short", "laid back", "like an old record", "ghost the rest",
)  # fmt: skip
TIMES = ("2nd time only", "1st time only", "last time only", "2nd x only", "1. only", "2nd time", "tacet 1st time")
FRAMED = ("After Solo", "Play 4x", "Dance break", "Vamp", "On Cue", "Drum Solo")
KINDS = (
    (STYLES, 2, 0.95, (r"\bold ",)), (CUES, 3, 0.75, (r"\small ", r"\small \italic ")), (LOUD, 4, 0.1, (r"\italic ",)),
    (MUTES, 4, 0.7, ("", r"\italic ")), (TELLING, 5, 0.6, ("", r"\italic ")), (TIMES, 2, 0.65, ("", r"\italic ")),
    (FRAMED, 1, 1.0, (r"\box ",)),
)  # fmt: skip
"""Words, how often they are met, how often they stand above (common practice), and how they are set."""
RHYTHMS = ("4 4 4 4", "2 4 4", "8 8 8 8 4 4", "4. 8 2", "1", "2 2", "r4 4 4 r4", "r2 4 4", "4 r4 8 8 4", "r1")


class Crowded(NamedTuple):
    """A chart, and for which bar each word was written, by its number."""

    pdf: bytes
    bars: dict[int, int]


def word_of(mark: Mark) -> int:
    """The number of the word that some ink is of; 0 for what is black."""
    parts = mark.colour if not hasattr(mark, "png") and len(mark.colour) == 3 else (0.0, 0.0, 0.0)  # type: ignore[union-attr]
    return sum(round(part / STEP) * DIGITS**n for n, part in enumerate(parts))


def chart(seed: int) -> Crowded:
    """A chart of 32 bars with some 30 words, engraved now."""
    program = engraver()
    assert program is not None
    with TemporaryDirectory() as folder:
        done = subprocess.run(
            [program, "-dno-point-and-click", "--loglevel=ERROR", "-o", f"{folder}/chart", "-"],
            input=_source(random.Random(seed)).encode(), capture_output=True, check=True, timeout=120,
        )  # fmt: skip
        said = (line.split() for line in done.stdout.decode().splitlines() if line.startswith("WORD"))
        return Crowded(Path(folder, "chart.pdf").read_bytes(), {int(word): int(bar) for _, word, bar in said})


def _source(dice: random.Random) -> str:
    low, high, dense = 7 + dice.randrange(4), 24 - dice.randrange(6), dice.uniform(0.35, 0.8)
    place, bars = (low + high) // 2, []
    for number in range(1, 33):
        notes, before = [], rf'\mark \markup \box \bold "{"ABC"[number // 8 - 1]}" ' if number in (9, 17, 25) else ""
        for length in dice.choice(RHYTHMS).split():
            if length[0] == "r":
                notes.append(length)
                continue
            place = min(max(place + dice.choice((-5, -3, -2, -1, -1, 0, 1, 1, 2, 3, 5)), low), high)
            notes.append("cdefgab"[place % 7] + "'" * (place // 7) + length)
        if dice.random() < 0.05:
            before += rf'\tempo "{dice.choice(TEMPI)}" 4 = {dice.randint(60, 220)} '
        for side in dict.fromkeys(_word(dice) for _ in range(2) if dice.random() < dense):
            notes[dice.randrange(len(notes)) if dice.random() < 0.4 else 0] += side
        sounds = [n for n, note in enumerate(notes) if note[0] != "r"]
        if sounds and dice.random() < 0.25:
            notes[sounds[0]] += "\\" + dice.choice(("p", "mp", "mf", "f", "ff", "sfz"))
        bars.append(f"{before}{' '.join(notes)} |")
    for n in (24, 8):
        bars[n - 2 : n + 2] = [
            rf"\repeat volta 2 {{ {' '.join(bars[n - 2 : n])} }} \alternative {{ {{ {bars[n]} }} {{ {bars[n + 1]} }} }}"
        ]
    music = "\n".join(bars)
    return rf"""\version "2.24.0"
#(set-global-staff-size {dice.choice((14, 16, 18, 20))})
{COLOURS}
\header {{ title = "Crowded" instrument = "Trumpet 2" composer = "A. Nobody" tagline = ##f }}
\paper {{ system-system-spacing = #'((basic-distance . {dice.choice((6, 8, 10))}) (minimum-distance . 4)
  (padding . {dice.choice((0.5, 1, 2))}) (stretchability . 0)) ragged-last-bottom = ##t }}
\layout {{ \context {{ \Score \consists #in-colours }} }}
\new Staff {{ \clef treble {music} \bar "|." }}
"""


def _word(dice: random.Random) -> str:
    (words, _, above, sets) = dice.choices(KINDS, [kind[1] for kind in KINDS])[0]
    side = "^" if dice.random() < above else "_"
    return rf'{side}\markup {dice.choice(sets)}"{dice.choice(words)}"'
