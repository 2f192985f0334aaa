"""Invented charts from a seed, engraved by LilyPond, with the truth about each in the engraver's own words.

What stands at which bar is known from the chart itself; where barlines are drawn, and what kind, is written by the
engraver while it draws them (x from the system's left edge, in staff spaces).
"""

import importlib.util
import json
import random
import re
import subprocess
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from jump_words import NAMES, WORDINGS, Plan, full_plan

KINDS = {
    "|": "single",
    "||": "double",
    "|.": "final",
    ".|:": "repeat-start",
    ":|.": "repeat-end",
    ":..:": "repeat-both",
    ":|.|:": "repeat-both",
    ":.|.:": "repeat-both",
    "!": "dashed",
}

LOGGING = r"""
#(define port (open-output-file "%(log)s"))
#(define (number-of grob)
   (let ((where (ly:grob-property (ly:item-get-column grob) 'rhythmic-location)))
     (if (pair? where) (car where) -1)))
#(define (rank-of system)
   (let ((where (ly:grob-property (ly:item-get-column (ly:spanner-bound system LEFT)) 'rhythmic-location)))
     (if (pair? where)
         (+ (* 1000 (car where))
            (exact->inexact (/ (ly:moment-main-numerator (cdr where)) (ly:moment-main-denominator (cdr where)))))
         -1)))
#(define (log-barline grob)
   (let ((system (ly:grob-system grob)))
     (if (and (ly:grob? system) (string? (ly:grob-property grob 'glyph-name)))
         (let ((ext (ly:grob-extent grob system X)))
           (if (and (pair? ext) (< (car ext) (cdr ext)))
               (format port "{\"rank\": ~a, \"x\": ~a, \"glyph\": ~s, \"bar\": ~a}\n"
                 (rank-of system) (interval-center ext) (ly:grob-property grob 'glyph-name) (number-of grob)))))))
#(define (log-stave grob)
   (let ((system (ly:grob-system grob)))
     (if (ly:grob? system)
         (let ((ext (ly:grob-extent grob system X)))
           (format port "{\"rank\": ~a, \"stave\": [~a, ~a], \"space\": ~a}\n"
             (rank-of system) (car ext) (cdr ext) (ly:staff-symbol-staff-space grob))))))
"""


@dataclass
class Truth:
    """What a chart holds. Bars are numbered as musicians number them; x in staff spaces from the stave's left end."""

    bars: int = 0
    pickup: bool = False
    marks: list[tuple[str, int]] = field(default_factory=list)
    multirests: list[tuple[int, int]] = field(default_factory=list)
    signs: list[tuple[str, int]] = field(default_factory=list)
    endings: list[tuple[tuple[int, ...], int, int]] = field(default_factory=list)
    systems: list[list[tuple[float, str]]] = field(default_factory=list)
    staves: int = 1


@dataclass
class Chart:
    """A chart's source for the engraver, and its truth so far."""

    seed: int
    source: str
    truth: Truth
    notes: str
    """How it was set, for the log of a failing test."""


def engraver() -> str | None:
    """The `lilypond` program of the Python package; None when it is not installed."""
    spec = importlib.util.find_spec("lilypond")
    if spec is None or spec.origin is None:
        return None
    return str(Path(spec.origin).parent / "lilypond-binaries" / "bin" / "lilypond")


@dataclass
class Look:
    """How a chart is set."""

    staves: int
    space_pt: float
    paper: str
    clef: str
    key: str
    meter: tuple[int, int]
    marks: str
    church: int
    font: str
    numbers: str
    volta_above: bool
    jumps: str
    words: bool
    chords: bool
    percussion: bool
    music_scale: str
    worded: bool = False
    """Jump words of all wordings and letterings, not of the usual one."""


CELLS = {
    1: ["{a}4", "{a}8 {b}8", "r4", "{a}8. {b}16", "\\tuplet 3/2 {{ {a}8 {b}8 {c}8 }}", "{a}16 {b}16 {c}8", "r8 {a}8"],
    2: ["{a}2", "{a}4. {b}8", "r2", "{a}4-> {b}4-.", "{a}8( {b}8) r8 {c}8", "{a}4 r4"],
    3: ["{a}2.", "{a}2 {b}4", "r4 {a}2"],
    4: ["{a}1", "{a}2 {b}2", "{a}4. {b}8~ {b}2", "{a}8( {b}8 {c}4 {a}2)"],
}
PITCHES = {
    "treble": ["c'", "d'", "e'", "f'", "g'", "a'", "b'", "c''", "d''", "e''", "f''", "g''", "a''", "b''"],
    "bass": ["e,", "f,", "g,", "a,", "b,", "c", "d", "e", "f", "g", "a", "b", "c'"],
    "alto": ["c", "d", "e", "f", "g", "a", "b", "c'", "d'", "e'", "f'", "g'"],
    "tenor": ["a,", "b,", "c", "d", "e", "f", "g", "a", "b", "c'", "d'"],
    "treble_8": ["c", "d", "e", "f", "g", "a", "b", "c'", "d'", "e'", "f'", "g'"],
}
DRUMS = ["bd4", "sn4", "hh8 hh8", "hh8 sn8", "cymc4", "r4", "bd8 hh8", "tomh8 tomml8"]
METERS = [(4, 4), (4, 4), (3, 4), (2, 2), (6, 8), (2, 4), (5, 4), (12, 8), (7, 8)]
CHORDS = ["7", "m7", "maj7", "m", "6", "7.9-"]
SECTIONS = ["Intro", "Verse", "Chorus", "Bridge", "Solos", "Interlude", "Vamp", "Outro", "Tag", "Shout"]
INSTEAD = 10**8
"""The engraver falls over one chart in some thousands: that of so much higher a seed stands in for it."""
WORDS = ["solo", "tutti", "cup mute", "open", "growl", "fill", "unis.", "straight", "play 2nd x", "to flute"]


def chart(seed: int, *, signs: bool = False) -> Chart:
    """The chart of this seed; with `signs` it is full of jumps, in all wordings and letterings."""
    dice = random.Random(seed)
    look = Look(
        staves=dice.choice([1, 1, 1, 1, 2]),
        space_pt=dice.choice([14, 16, 17, 18, 19, 20, 20, 22, 24]),
        paper=dice.choice(["a4", "a4", "letter", "a5"]),
        clef=dice.choice(["treble", "treble", "bass", "alto", "tenor", "treble_8"]),
        key=dice.choice(
            [
                "c \\major",
                "g \\major",
                "bes \\major",
                "ees \\major",
                "e \\major",
                "f \\minor",
                "fis \\minor",
                "des \\major",
            ]
        ),
        meter=dice.choice(METERS),
        marks=dice.choice(["letters", "letters", "numbers", "bars", "circles", "words", "plain", "letter-figures"]),
        church=dice.choice([0, 10]),
        font=dice.choice(
            ["C059", "TeX Gyre Heros", "TeX Gyre Schola", "Nimbus Sans", "DejaVu Serif", "Nimbus Mono PS"]
        ),
        numbers=dice.choice(["default", "default", "every", "none", "below", "boxed", "big"]),
        volta_above=True,
        jumps=dice.choice(["below", "above", "mark"]),
        words=dice.random() < 0.5,
        chords=dice.random() < 0.4,
        percussion=dice.random() < 0.15,
        music_scale="",
    )
    if look.percussion:
        look.staves, look.clef = 1, "percussion"
    look.worded = signs
    return _write(seed, dice, look)


def _bar(dice: random.Random, look: Look, beats: int, unit: int) -> str:
    """One bar of music for the meter `beats`/`unit`, or of part of it."""
    if look.percussion and unit == 4:
        return " ".join(dice.choice(DRUMS) for _ in range(beats))
    pitches = PITCHES.get(look.clef, PITCHES["treble"]) if not look.percussion else ["sn", "bd", "tomh", "hh", "tomml"]
    if unit == 2:
        beats, unit = beats * 2, 4
    at = dice.randrange(len(pitches) - 3)

    def note() -> str:
        return pitches[min(len(pitches) - 1, max(0, at + dice.randrange(-3, 4)))]

    if unit == 8:
        out, left = [], beats
        while left:
            take = dice.choice([n for n in (1, 2, 3) if n <= left])
            out.append(
                f"{note()}{ {1: '8', 2: '4', 3: '4.'}[take] }"
                if dice.random() < 0.8
                else f"r{ {1: '8', 2: '4', 3: '4.'}[take] }"
            )
            left -= take
        return " ".join(out)
    if dice.random() < 0.06 and not look.percussion and beats == 4:
        return "\\improvisationOn b'4 b'4 b'4 b'4 \\improvisationOff" if look.clef == "treble" else f"{note()}1"
    if dice.random() < 0.12 and not look.percussion:
        chord = f"<{note()} {pitches[-1]}>"
        return " ".join(f"{chord}4" for _ in range(beats))
    out, left = [], beats
    while left:
        take = dice.choice([n for n in (1, 1, 2, 2, 3, 4) if n <= left])
        out.append(dice.choice(CELLS[take]).format(a=note(), b=note(), c=note()))
        left -= take
    text = " ".join(out)
    if dice.random() < 0.2:
        text = re.sub(r"4(?=$| )", r"4\\mf", text, count=1)
    return text


def _write(seed: int, dice: random.Random, look: Look) -> Chart:
    truth = Truth(staves=look.staves)
    beats, unit = look.meter
    upper: list[str] = []
    lower: list[str] = []
    sections = dice.randrange(3, 8)
    plan = Plan()
    if look.worded:
        sections, plan = full_plan(dice)
    number = 1
    truth.pickup = dice.random() < 0.3 and look.numbers not in ("none",)
    if truth.pickup:
        upper.append(f"\\partial {unit} {_bar(dice, look, 1, unit)}")
        lower.append(f"\\partial {unit} {_rest(1, unit)}")
    form = [dice.choice(["plain", "plain", "repeat", "endings", "rests"]) for _ in range(sections)]
    look.chords = look.chords and "rests" not in form
    if not look.worded and dice.random() < 0.6 and sections >= 4:
        kind = dice.choice(["ds-al-coda", "dc-al-coda", "ds-al-fine", "dc-al-fine"])
        plan.add(kind, 1, 2, sections - (2 if kind.endswith("coda") else 1), sections - 1)
    for n, sort in enumerate(form):
        head, tail = "", ""
        if look.marks and (n or dice.random() < 0.7):
            text, code = _mark(look, n, number, dice)
            head += code
            truth.marks.append((text, number))
        if n in plan.opening:
            which = str(dice.choice((1, 1, 2))) if look.worded else "\\default"
            head += f" \\{plan.opening[n]}Mark {which} "
            truth.signs.append((plan.opening[n], number))
        count = dice.choice([2, 3, 4] if look.worded else [2, 3, 4, 4, 6, 8])
        words = [_bar(dice, look, beats, unit) for _ in range(count)]
        if look.words and dice.random() < 0.6 and not look.percussion:
            words[0] = _with_words(words[0], dice.choice(WORDS))
        under = [_under(dice, look, beats, unit) for _ in range(count)]
        here = number
        if sort == "rests":
            rest = dice.choice([2, 3, 4, 5, 7, 8, 12, 16, 27])
            words.insert(0, f"R{_whole(beats, unit)}*{rest}")
            under.insert(0, f"R{_whole(beats, unit)}*{rest}")
            truth.multirests.append((here, rest))
            number += rest
        if dice.random() < 0.15 and unit == 4 and beats == 4 and look.staves == 1 and not look.percussion:
            words.append(
                "\\repeat percent 2 { " + words[-1].split("\\")[0] + " }" if "\\" not in words[-1] else words[-1]
            )
            number += 2 if "percent" in words[-1] else 1
            under.append("")
        number += count
        end = number - 1
        if sort == "repeat":
            body = "\\repeat volta 2 { " + head + " | ".join(words) + " }"
            below = "\\repeat volta 2 { " + " | ".join(under) + " }"
        elif sort == "endings":
            first, second = dice.choice([1, 2]), dice.choice([1, 2])
            one = " | ".join(_bar(dice, look, beats, unit) for _ in range(first))
            two = " | ".join(_bar(dice, look, beats, unit) for _ in range(second))
            body = (
                "\\repeat volta 2 { "
                + head
                + " | ".join(words)
                + " } \\alternative { { "
                + one
                + " } { "
                + two
                + " } }"
            )
            rests = [" | ".join(_rest(beats, unit) for _ in range(k)) for k in (first, second)]
            below = (
                "\\repeat volta 2 { "
                + " | ".join(under)
                + " } \\alternative { { "
                + rests[0]
                + " } { "
                + rests[1]
                + " } }"
            )
            truth.endings.append(((1,), number, number + first - 1))
            truth.endings.append(((2,), number + first, number + first + second - 1))
            number += first + second
            end = number - 1
        else:
            body, below = head + " | ".join(words), " | ".join(under)
        for kind in plan.closing.get(n, ()):
            tail += _jump(look, kind, dice)
            truth.signs.append((kind, end))
        if n == sections - 1:
            tail += ' \\bar "|."'
        elif sort in ("plain", "rests") and (tail or dice.random() < 0.6) and form[n + 1] not in ("repeat", "endings"):
            tail += ' \\bar "||"'
        upper.append(body + tail)
        lower.append(below)
        if dice.random() < 0.15 and not look.percussion and n < sections - 1:
            upper.append("\\key " + dice.choice(["d \\major", "aes \\major", "c \\major"]))
            lower.append(upper[-1])
    truth.bars = number - 1
    source = _source(look, upper, lower, dice, truth)
    return Chart(seed, source, truth, f"seed {seed}: {look}")


def _whole(beats: int, unit: int) -> str:
    return "1" if beats == unit else f"1*{beats}/{unit}"


def _rest(beats: int, unit: int) -> str:
    return " ".join(f"r{unit}" for _ in range(beats)) if beats == 1 else f"R{_whole(beats, unit)}"


def _under(dice: random.Random, look: Look, beats: int, unit: int) -> str:
    low = Look(**{**look.__dict__, "clef": "bass", "percussion": False})
    return _bar(dice, low, beats, unit).replace("\\mf", "")


def _with_words(bar: str, words: str) -> str:
    first, _, rest = bar.partition(" ")
    if first.startswith(("\\", "<")):
        return bar
    return f'{first}^"{words}" {rest}'


def _mark(look: Look, n: int, number: int, dice: random.Random) -> tuple[str, str]:
    letter = "ABCDEFGHJKLMNPQRSTUVWXYZ"[n]
    text = {
        "letters": letter,
        "numbers": str(n + 1),
        "bars": str(number),
        "circles": letter,
        "words": SECTIONS[n % len(SECTIONS)],
        "plain": letter,
        "letter-figures": f"{letter}{1 + n % 2}",
    }[look.marks]
    box = {"circles": "\\circle", "plain": ""}.get(look.marks, dice.choice(["\\box", "\\rounded-box"]))
    return text, f'\\mark \\markup {box} \\bold "{text}" '


def _jump(look: Look, kind: str, dice: random.Random) -> str:
    coda = kind == "to-coda"
    markup = _worded(kind, dice) if look.worded else f'\\italic "{NAMES[kind]}"'
    if coda and not look.worded:
        markup += ' \\raise #0.6 \\tiny \\musicglyph "scripts.coda"'
    above = coda or (look.jumps == "above" if not look.worded else dice.random() < 0.5)
    if look.worded and not above and dice.random() < 0.3:
        return f" \\jump \\markup {{ {markup} }} "
    return ("" if above else " \\tweak direction #DOWN") + f" \\textEndMark \\markup {{ {markup} }} "


LETTERINGS = (
    "",
    "\\italic",
    "\\bold",
    "\\bold \\italic",
    "\\large",
    "\\smaller \\italic",
    "\\sans \\bold",
    "\\larger \\bold",
)


def _worded(kind: str, dice: random.Random) -> str:
    """Words for a jump with their signs, in some lettering."""
    lettering, words = dice.choice(LETTERINGS), dice.choice(WORDINGS[kind])
    cut = dice.choice(["", "", "var"])
    size = dice.choice(["\\tiny", "\\smaller", ""])
    out = []
    for part in re.split("([§⊕])", words):
        if part.strip() in ("§", "⊕"):
            out.append(f'\\raise #0.6 {size} \\musicglyph "scripts.{cut}{"coda" if part.strip() == "⊕" else "segno"}"')
        elif part.strip():
            out.append(f'{lettering} "{part.strip()}"')
    return " ".join(out)


def _source(look: Look, upper: list[str], lower: list[str], dice: random.Random, truth: Truth) -> str:
    numbers = {
        "default": "",
        "every": "\\override BarNumber.break-visibility = ##(#f #t #t) "
        "barNumberVisibility = #(every-nth-bar-number-visible 4)",
        "none": "\\omit BarNumber",
        "below": "\\override BarNumber.direction = #DOWN",
        "boxed": "\\override BarNumber.stencil = #(make-stencil-boxer 0.1 0.25 ly:text-interface::print)",
        "big": "\\override BarNumber.font-size = #2",
    }[look.numbers]
    meter = f"\\time {look.meter[0]}/{look.meter[1]}"
    key = "" if look.percussion else f"\\key {look.key}"
    music = "\n  ".join(upper)
    chords = ""
    if look.chords:
        chords = (
            "\\new ChordNames \\chordmode { "
            + " ".join(
                f"{dice.choice('cdefgab')}1*{look.meter[0]}/{look.meter[1]}:{dice.choice(CHORDS)}" for _ in range(12)
            )
            + " }"
        )
        if truth.pickup:
            chords = ""
    if look.worded:  # seen at the tune's first bar, too, and before a line's first bar, not behind its last
        numbers += "".join(
            f" \\override {sign}Mark.break-visibility = #end-of-line-invisible" for sign in ("Segno", "Coda")
        )
    voice = "\\new DrumStaff \\drummode" if look.percussion else "\\new Staff"
    # A clef's name with a figure needs its quotes: without them the figure is a finger of the first note.
    clef = f'\\clef "{look.clef}"'
    top = f"{voice} {{ \\numericTimeSignature {meter} {key} {clef} \\compressMMRests {{ {music} }} }}"
    if look.staves == 2:
        below = "\n  ".join(lower)
        opening = f"\\numericTimeSignature {meter} {key} \\clef bass \\compressMMRests"
        top = f"\\new PianoStaff << {top} \\new Staff {{ {opening} {{ {below} }} }} >>"
    return f"""\\version "2.24.0"
%(logging)s
#(set-global-staff-size {look.space_pt})
#(set-default-paper-size "{look.paper}")
\\paper {{ property-defaults.fonts.serif = "{look.font}" }}
\\header {{ title = "Chart" instrument = "Chair 1" composer = "Nobody" tagline = ##f }}
\\score {{
  << {chords} {top} >>
  \\layout {{
    \\context {{ \\Score {numbers} \\override MultiMeasureRest.expand-limit = #{max(look.church, 1)}
      \\override BarLine.after-line-breaking = #log-barline }}
    \\context {{ \\Staff \\override StaffSymbol.after-line-breaking = #log-stave
      \\override BarLine.after-line-breaking = #log-barline }}
    \\context {{ \\DrumStaff \\override StaffSymbol.after-line-breaking = #log-stave
      \\override BarLine.after-line-breaking = #log-barline }}
  }}
}}
"""


def engrave(made: Chart, folder: Path) -> tuple[bytes, Truth]:
    """The chart's PDF, and its truth with the barlines that the engraver drew."""
    program = engraver()
    assert program is not None
    log = folder / "barlines.jsonl"
    source = made.source.replace("%(logging)s", LOGGING % {"log": log.as_posix()})
    (folder / "chart.ly").write_text(source, encoding="utf-8")
    done = subprocess.run(
        [program, "-dno-point-and-click", "--loglevel=ERROR", "chart.ly"],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode < 0 and made.seed:
        return engrave(chart(made.seed + INSTEAD), folder)
    if done.returncode != 0:
        raise RuntimeError(f"{made.notes}: the engraver failed: {done.stderr}")
    made.truth.systems = _systems([json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()])
    return (folder / "chart.pdf").read_bytes(), made.truth


def _systems(rows: list[dict[str, Any]]) -> list[list[tuple[float, str]]]:
    """Barlines by system in order, each once whatever the number of staves; x from the stave's left end."""
    left: dict[int, float] = {}
    lines: dict[int, list[tuple[float, str]]] = defaultdict(list)
    for row in rows:
        if "stave" in row:
            left.setdefault(row["rank"], row["stave"][0])
            lines[row["rank"]] = lines[row["rank"]]
    for row in rows:
        if "stave" in row or row["rank"] not in left or row["glyph"] not in KINDS:
            continue
        x = row["x"] - left[row["rank"]]
        if not any(abs(x - other) < 0.3 for other, _ in lines[row["rank"]]):
            lines[row["rank"]].append((x, KINDS[row["glyph"]]))
    return [sorted(lines[rank]) for rank in sorted(lines)]
