"""Bars that go by other numbers: split by a barline, without a meter, endings numbered anew, parts that begin later.

What the engraver prints is its own count: LilyPond Notation Reference 1.2.5 "Bar numbers" (`alternativeNumberingStyle`;
a measure that a repeat splits is one measure, since its bar number rises with the measure's length only).
"""

import random
from pathlib import Path

import pytest
from msgspec.structs import replace

import engraving
import second_engraving
from collaparte.paper.corrected import corrected
from collaparte.paper.opening import opened
from collaparte.paper.read import read_part
from collaparte.paper.read_page import Seen, upright_page
from collaparte.paper.reading import SURE, Reading, System
from collaparte.paper.ruler import chart
from collaparte.paper.sight.durations import Strokes, quarters
from collaparte.paper.sight.uncounted import is_stem
from collaparte.wire.corrections import Correction, LineIsRight, NumberHere, Place
from seeded import SEED

needs_engraver = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")

NUMBERS = {
    "heads": "",
    "every": "\\override BarNumber.break-visibility = ##(#f #t #t) "
    "barNumberVisibility = #(every-nth-bar-number-visible 2)",
    "none": "\\omit BarNumber",
}

CROTCHETS = " | ".join(["c'4 d' e' f'"] * 6)
QUAVERS = " | ".join(["c'8 d' e' f' g' a' b' c''"] * 6)


def _engraved(folder: Path, music: str, context: str) -> bytes:
    source = f"""\\version "2.24.0"
    #(set-global-staff-size 20)
    \\header {{ title = "Chart" instrument = "Chair 1" tagline = ##f }}
    \\score {{ \\new Staff {{ \\numericTimeSignature {music} }} \\layout {{ \\context {{ \\Score {context} }} }} }}"""
    (folder / "barlines.jsonl").write_text("", encoding="utf-8")
    pdf, _ = engraving.engrave(engraving.Chart(0, source, engraving.Truth(), "numbering"), folder)
    return pdf


def _beats(dice: random.Random, beats: int) -> str:
    out, left = [], beats
    while left:
        take = dice.choice([n for n in (1, 1, 2, 3) if n <= left])
        left -= take
        note = dice.choice(["c'", "d'", "f'", "a'", "b'", "d''"])
        out.append({1: dice.choice([f"{note}4", f"{note}8 {note}8", "r4"]), 2: f"{note}2", 3: f"{note}2."}[take])
    return " ".join(out)


def _split(dice: random.Random) -> tuple[str, list[int]]:
    """Sections that each begin with a pickup of their own, and the number of each bar as drawn."""
    beats = dice.choice([3, 4])
    pickup = dice.choice([1, 2]) if beats == 4 else 1
    called, number = [0], 1
    out = [f"\\time {beats}/4 \\partial {4 // pickup} "]
    sections = dice.randrange(2, 5)
    for n in range(sections):
        bars = dice.randrange(4, 9)
        music = " | ".join(_beats(dice, beats) for _ in range(bars))
        last = n == sections - 1
        body = f"{_beats(dice, pickup)} | {music} | {_beats(dice, beats - pickup)}"
        sign = dice.random() < 0.7
        out.append(f"\\repeat volta 2 {{ {body} }}" if sign else body + ("" if last else ' \\bar "||"'))
        called += [*range(number, number + bars + 1)] + ([] if last else [number + bars])
        number += bars + 1
    return " ".join(out) + ' \\bar "|."', called


def _anew(dice: random.Random) -> tuple[str, list[int]]:
    """Sections with endings whose numbers begin again, and the number of each bar as drawn."""
    beats = dice.choice([3, 4])
    called: list[int] = []
    out, number = [f"\\time {beats}/4 "], 1
    for _ in range(dice.randrange(1, 4)):
        bars, one, two = dice.randrange(4, 9), dice.choice([1, 2, 3]), dice.choice([1, 2])
        first, then, more, after = (" | ".join(_beats(dice, beats) for _ in range(n)) for n in (bars, one, two, 6))
        out.append(f"\\repeat volta 2 {{ {first} }} \\alternative {{ {{ {then} }} {{ {more} }} }} {after}")
        called += [*range(number, number + bars + one)]
        number += bars
        called += [*range(number, number + two + 6)]
        number += two + 6
    return " | ".join(out) + ' \\bar "|."', called


def _names(reading: Reading) -> list[int]:
    first = 0 if reading.pickup else 1
    return [reading.called(first + n) for n in range(reading.positions)]


@needs_engraver
@pytest.mark.parametrize("numbers", NUMBERS)
@pytest.mark.parametrize("seed", [SEED, SEED + 1])
def test_a_bar_that_a_sign_splits_is_one_bar(seed: int, numbers: str, tmp_path: Path) -> None:
    music, called = _split(random.Random(seed))
    print(f"COLLAPARTE_SEED={SEED}: {numbers} {music}")
    reading = read_part(_engraved(tmp_path, music, NUMBERS[numbers]))
    assert reading.positions == len(called)
    if reading.confidence >= SURE:
        assert _names(reading) == called
    else:
        assert reading.doubts
    ruler = chart([reading], [str(n) for n in range(reading.positions)])
    assert [bar.number for bar in ruler.bars] == _names(reading)
    assert sum(not bar.counted for bar in ruler.bars) == sum(one.rest for one in reading.uncounted)


@needs_engraver
@pytest.mark.parametrize("numbers", NUMBERS)
@pytest.mark.parametrize("seed", [SEED, SEED + 1, 644668])  # the last: numbers behind an ending look like a pickup's
def test_endings_take_up_earlier_numbers_where_they_are_printed_so(seed: int, numbers: str, tmp_path: Path) -> None:
    music, called = _anew(random.Random(seed))
    print(f"COLLAPARTE_SEED={SEED}: {numbers} {music}")
    anew = " alternativeNumberingStyle = #'numbers"
    reading = read_part(_engraved(tmp_path, music, NUMBERS[numbers] + (anew if numbers != "none" else "")))
    assert reading.positions == len(called)
    behind = [
        system.printed_number
        for page in reading.pages
        for system in page.systems
        if system.printed_number and system.bars[0].number > reading.endings[1].bar
    ]
    if behind or numbers == "every":  # else nothing on the page says so, and all bars are counted (common practice)
        assert _names(reading) == called and reading.confidence >= SURE
    plain = read_part(_engraved(tmp_path, music, NUMBERS[numbers]))
    assert plain.uncounted == () and plain.confidence >= SURE


MUSIC = (
    "\\time 4/4 \\partial 4 g'4 | \\repeat volta 2 { " + "c'4 d' e' f' | " * 7 + " c'4 d' e' } g'4 | "
    + "c'4 d' e' f' | " * 12 + "c'4 d' e' f' \\bar \"|.\""
)  # fmt: skip


@needs_engraver
def test_halves_that_make_up_a_bar_exactly_are_sure_without_numbers(tmp_path: Path) -> None:
    reading = read_part(_engraved(tmp_path, MUSIC, NUMBERS["none"]))
    assert [(one.bar, one.fewer, one.rest) for one in reading.uncounted] == [(9, 1, True)]
    assert reading.confidence >= SURE and not reading.doubts


@needs_engraver
@pytest.mark.parametrize("numbers", ["heads", "none"])
def test_behind_a_rest_whose_count_is_in_doubt_lines_are_too_up_to_a_number(numbers: str, tmp_path: Path) -> None:
    """An old rest sign of four bars without its number (LilyPond NR 1.2.2: `MultiMeasureRestNumber`)."""
    music = r"\override Staff.MultiMeasureRestNumber.stencil = ##f \compressEmptyMeasures \time 4/4 "
    music += f'{CROTCHETS} | R1*4 | {QUAVERS} | {CROTCHETS} | {QUAVERS} \\bar "|."'
    (page,) = read_part(_engraved(tmp_path, music, NUMBERS[numbers])).pages
    doubted = [system.confidence < SURE for system in page.systems]
    at = next(n for n, system in enumerate(page.systems) if any(bar.count == 4 for bar in system.bars))
    behind = page.systems[at + 1 :]
    assert doubted[at] and not any(doubted[:at]) and behind
    assert all(doubted[at + 1 :]) if numbers == "none" else not any(doubted[at + 1 :])


@needs_engraver
def test_what_is_said_of_a_bar_is_in_the_numbers_that_are_printed(tmp_path: Path) -> None:
    reading = read_part(_engraved(tmp_path, MUSIC, NUMBERS["heads"]))
    assert [(one.bar, one.fewer, one.rest) for one in reading.uncounted] == [(9, 1, True)]
    assert reading.confidence >= SURE
    line = reading.pages[0].systems[-1]
    bar = line.bars[-1]
    at = Place(0, (bar.x0 + bar.x1) / 2, line.bbox[1])
    same = corrected(reading, [Correction("1", "", NumberHere(at, reading.called(bar.number)))])
    assert (_names(same), same.confidence) == (_names(reading), reading.confidence)
    assert not same.doubts
    other = corrected(reading, [Correction("1", "", NumberHere(at, reading.called(bar.number) + 1))])
    assert any(f"is said to be {reading.called(bar.number) + 1} would be" in words for words in other.doubts)


WRONG = (
    '\\override BarNumber.stencil = #(lambda (grob) (if (equal? "{}" (ly:grob-property grob (quote text))) '
    '(grob-interpret-markup grob "{}") (ly:text-interface::print grob)))'
)
"""One bar number is printed as another (LilyPond NR 5.5.1: a stencil of one's own)."""


@needs_engraver
def test_one_number_that_is_misprinted_is_told_and_the_count_is_sure(tmp_path: Path) -> None:
    dice = random.Random(SEED)
    music = "\\time 4/4 " + " | ".join(_beats(dice, 4) for _ in range(48)) + ' \\bar "|."'
    right = read_part(_engraved(tmp_path, music, ""))
    heads = [system.printed_number for page in right.pages for system in page.systems if system.printed_number]
    assert len(heads) > 3 and not right.doubts
    number = dice.choice(heads[1:-1])
    other = number + dice.choice([1, 2, 10])
    reading = read_part(_engraved(tmp_path, music, WRONG.format(number, other)))
    assert reading.doubts == (
        f"The number {other} is printed at bar {number} on page 1; the count and the numbers around it say {number}: "
        "tell who plays from it.",
    )
    assert (reading.bars, reading.pickup) == (48, False) and reading.confidence >= SURE


@needs_engraver
@pytest.mark.parametrize(
    ("jump", "by", "numbers", "seed"),
    [
        (3, "3 bars more", "heads", SEED),
        (3, "3 bars more", "every", SEED),
        (-1, "1 bar fewer", "heads", SEED),
        (-1, "1 bar fewer", "every", SEED),
        (-1, "1 bar fewer", "every", 10),  # only lines behind the leap have a number at their head
    ],
)
def test_numbers_that_leap_or_fall_back_are_told_where_they_do(
    jump: int, by: str, numbers: str, seed: int, tmp_path: Path
) -> None:
    """`currentBarNumber` sets what is printed from a bar on (LilyPond NR 1.2.5)."""
    dice = random.Random(seed + jump)
    at = dice.randrange(18, 24)
    bars = ["c'4 d' e' f'", *(_beats(dice, 4) for _ in range(39))]  # the first is whole, and plainly so
    bars[at - 1] = f"\\set Score.currentBarNumber = #{at + jump} {bars[at - 1]}"
    music = "\\time 4/4 " + " | ".join(bars) + ' \\bar "|."'
    reading = read_part(_engraved(tmp_path, music, NUMBERS[numbers]))
    assert (reading.bars, reading.pickup) == (40, False)
    (said,) = reading.doubts
    assert said.endswith(f"the printed numbers have {by}, and from there on bars are called by them.")
    systems = [system for page in reading.pages for system in page.systems]
    doubted = [system for system in systems if system.doubt == said]
    first, last = doubted[0].bars[0].number, doubted[-1].bars[-1].number
    assert doubted and first <= at <= last + 1 and all(system.confidence < SURE for system in doubted)
    for one in (reading, corrected(reading, [Correction("1", "", LineIsRight(_first_bar(reading)))])):
        systems = [system for page in one.pages for system in page.systems]
        assert [line for line in systems if line.confidence < SURE] == [line for line in systems if line.doubt] != []
        for line in systems:  # whoever says a number means the bar that has it on paper, or it is not sure
            printed = line.printed_number
            assert printed is None or one.called(line.bars[0].number) == printed or line.confidence < SURE
        assert one.called(40) == 40 + jump
        (leap,) = one.uncounted
        assert first <= leap.bar <= last + 1 and leap.fewer == -jump
        numbers = [bar.number for bar in chart([one], tuple(str(n) for n in range(40))).bars]
        assert numbers == [*range(1, leap.bar), *range(leap.bar + jump, 41 + jump)]
    # A person calls what is drawn between the two numbers right, so the numbers behind are wrong on paper.
    told = [Correction(str(n), "", LineIsRight(_middle(line))) for n, line in enumerate(systems) if line.doubt]
    settled = corrected(reading, told)
    assert not settled.doubts and settled.confidence >= SURE and settled.called(40) == 40


def _middle(line: System) -> Place:
    return Place(0, (line.bars[0].x0 + line.bars[-1].x1) / 2, (line.bbox[1] + line.bbox[3]) / 2)


def _first_bar(reading: Reading) -> Place:
    line = reading.pages[0].systems[0]
    return Place(0, (line.bars[0].x0 + line.bars[0].x1) / 2, line.bbox[1])


@needs_engraver
def test_a_last_number_that_parts_from_the_count_alone_leaves_what_is_behind_in_doubt(tmp_path: Path) -> None:
    """Bars go by it, as it is printed; no other number bears it out."""
    dice = random.Random(SEED)
    music = "\\time 4/4 c'4 d' e' f' | " + " | ".join(_beats(dice, 4) for _ in range(39)) + ' \\bar "|."'
    last = [system.printed_number for system in read_part(_engraved(tmp_path, music, "")).pages[0].systems][-1] or 0
    reading = read_part(_engraved(tmp_path, music, WRONG.format(last, last + 10)))
    lines = reading.pages[0].systems
    (said,) = reading.doubts
    assert [line.doubt == said for line in lines[-2:]] == [True, True]
    assert all(line.confidence < SURE for line in lines[-2:]) and reading.called(40) == 50
    again = corrected(reading, [Correction("1", "", LineIsRight(_first_bar(reading)))])
    assert [line.confidence for line in again.pages[0].systems] == [line.confidence for line in lines]
    settled = corrected(reading, [Correction("1", "", LineIsRight(_middle(lines[-2])))])
    assert not settled.doubts and settled.confidence >= SURE and settled.called(40) == 40


@needs_engraver
def test_numbers_that_begin_again_at_a_section_are_told_so(tmp_path: Path) -> None:
    """`currentBarNumber` as above. No bar is too many then, also not once something else was corrected."""
    dice = random.Random(SEED)
    at = dice.randrange(14, 20)
    bars = ["c'4 d' e' f'", *(_beats(dice, 4) for _ in range(39))]
    bars[at - 1] = f'\\bar "||" \\set Score.currentBarNumber = #1 {bars[at - 1]}'
    reading = read_part(_engraved(tmp_path, "\\time 4/4 " + " | ".join(bars) + ' \\bar "|."', ""))
    assert (reading.bars, reading.pickup) == (40, False)
    for one in (reading, corrected(reading, [Correction("1", "", NumberHere(_first_bar(reading), 1))])):
        (said,) = one.doubts
        assert said.startswith(f"The printed bar numbers begin again at bar {at} of the count, on page 1: ")
        assert [one.called(bar) for bar in (at - 1, at, 40)] == [at - 1, 1, 41 - at]


@needs_engraver
def test_numbers_that_count_the_halves_singly_are_right_too(tmp_path: Path) -> None:
    """Some engravers number each half: here told to by `Score.currentBarNumber` (Notation Reference 1.2.5)."""
    music = MUSIC.replace("} g'4 |", "} \\set Score.currentBarNumber = #9 g'4 |")
    reading = read_part(_engraved(tmp_path, music, NUMBERS["every"]))
    assert reading.uncounted == () and reading.confidence >= SURE
    assert _names(reading) == list(range(23))


def test_the_second_engraver_splits_a_bar_too() -> None:
    """Measures of one number, the second without `metcon` (MEI guidelines, measure: n, metcon)."""
    dice = random.Random(SEED)
    setting = second_engraving.Setting(dice, 1, 4, 4, ("G", 2, (4, 5)))
    for number in range(1, 9):
        setting.measures.append(second_engraving._measure(setting, number))
    half = second_engraving._note(dice, "2", (4, 5))
    bars = [(9, half, "rptend", ' metcon="false"'), (9, half, "", ' metcon="false"')]
    setting.measures += [second_engraving._measure(setting, n, content=c, right=r, extra=x) for n, c, r, x in bars]
    for number in range(10, 26):
        setting.measures.append(second_engraving._measure(setting, number, right="end" if number == 25 else ""))
    pdf = second_engraving.engraved(second_engraving._mei(setting), "Leland", "auto", 36, (794, 1123))
    reading = read_part(pdf)
    assert _names(reading) == [*range(1, 10), *range(9, 26)]
    assert reading.confidence >= SURE


@pytest.mark.parametrize("font", second_engraving.FONTS)
def test_a_last_note_of_two_whole_ones_fills_its_bar(font: str) -> None:
    """A breve, square in that engraver's fonts: a bar without a note could be a rest of several, and is doubted."""
    dice = random.Random(SEED)
    setting = second_engraving.Setting(dice, 1, 4, 2, ("G", 2, (4, 5)))
    for number in range(1, 21):
        breve = second_engraving._note(dice, "breve", (4, 5)) if number == 20 else ""
        right = "end" if breve else ""
        setting.measures.append(second_engraving._measure(setting, number, content=breve, right=right))
    reading = read_part(second_engraving.engraved(second_engraving._mei(setting), font, "auto", 36, (794, 1123)))
    assert reading.bars == 20 and not reading.doubts


@needs_engraver
@pytest.mark.parametrize("seed", [5000026])
def test_a_first_bar_that_looks_short_is_no_pickup_when_printed_numbers_say_so(seed: int, tmp_path: Path) -> None:
    """A second ending stands where the first number is printed; only without a pickup is that number explained."""
    pdf, truth = engraving.engrave(engraving.chart(seed), tmp_path)
    reading = read_part(pdf)
    assert (reading.bars, reading.pickup) == (truth.bars, truth.pickup) and reading.uncounted == ()
    assert [(mark.text, mark.bar) for mark in reading.marks] == truth.marks and reading.confidence >= SURE


@needs_engraver
@pytest.mark.parametrize("numbers", ["not counted", "counted", "counted, by a barline that is not seen"])
def test_a_short_first_bar_that_printed_numbers_count_is_counted(numbers: str, tmp_path: Path) -> None:
    """A pickup is not counted (common practice); `currentBarNumber` sets what is printed (LilyPond NR 1.2.5)."""
    dice = random.Random(SEED)
    bars = " | ".join(_beats(dice, 4) for _ in range(30))
    number = r"\set Score.currentBarNumber = 2" if numbers == "counted" else ""
    unseen = rf"{_beats(dice, 4)} | \once \omit Staff.BarLine {_beats(dice, 4)} | " if "seen" in numbers else ""
    music = rf"""\time 4/4 \partial 4 c''4 | {number} {unseen} {bars} \bar "|." """
    reading = read_part(_engraved(tmp_path, music, ""))
    assert reading.positions == 31 + bool(unseen)
    assert (reading.confidence >= SURE) is not unseen
    assert any("short as a pickup" in said for said in reading.doubts) is bool(unseen)
    if not unseen:
        assert _names(reading)[0] == (numbers == "counted")


@needs_engraver
@pytest.mark.parametrize("last", ["c'2.", "c'2. d'4"])
def test_a_pickup_that_the_last_bar_makes_up_needs_no_numbers(last: str, tmp_path: Path) -> None:
    """A tune that begins with a pickup ends with a bar that lacks it (common practice)."""
    bars = " | ".join(_beats(random.Random(SEED), 4) for _ in range(12))
    music = rf"""\time 4/4 \partial 4 c''4 | {bars} | {last} \bar "|." """
    reading = read_part(_engraved(tmp_path, music, NUMBERS["none"]))
    assert (reading.bars, reading.pickup) == (13, True)
    assert (reading.confidence >= SURE) is (last == "c'2.")


VOICES = [
    r"<< { c'2 e'4 d'8 f' } \\ { g'4 b'8 c'' e''2 } >>",  # voices that cross
    r"<< { c''1 } \\ { r4 c'8 d' e'4 f' } >>",
]


@needs_engraver
@pytest.mark.parametrize("lower", ["R1", "c4 c' g8 g' e4"])
def test_bars_of_several_voices_are_as_long_as_they_are(lower: str, tmp_path: Path) -> None:
    """All are of four quarters, as the engraver checks; high notes of the lower stave are not the upper one's too."""
    upper = " | ".join(VOICES)
    staves = (
        rf"\new PianoStaff << \new Staff = up {{ \time 4/4 {upper} }} "
        rf"\new Staff {{ \clef bass {' | '.join([lower] * len(VOICES))} }} >>"
    )
    (tmp_path / "barlines.jsonl").write_text("", encoding="utf-8")
    source = rf"""\version "2.24.0" \header {{ tagline = ##f }} \score {{ {staves} }}"""
    pdf, _ = engraving.engrave(engraving.Chart(0, source, engraving.Truth(), "voices"), tmp_path)
    page = upright_page(opened(pdf), 0, 0, Seen(), (), False)
    (line,) = page.lines
    ink = Strokes(page.ink.rules, page.ink.blobs)
    assert [quarters(part, line, ink) for part in line.parts] == [4.0] * len(VOICES)


@needs_engraver
def test_numbers_that_count_a_short_first_bar_count_the_halves_of_a_split_one(tmp_path: Path) -> None:
    """Some programs number all bars that they draw, here told to; behind the last number nothing else says so."""
    music = MUSIC.replace("g'4 |", r"g'4 | \set Score.currentBarNumber = 2 ", 1)
    music = music.replace(" c'4 d' e' }", r"\break c'4 d' e' }")
    music = music.replace("} g'4 |", r"} \set Score.currentBarNumber = 10 g'4 |").replace("c'4 d' e' f' | " * 12, "")
    reading = read_part(_engraved(tmp_path, music, ""))
    assert _names(reading) == list(range(1, 12)) and reading.confidence >= SURE


@needs_engraver
@pytest.mark.parametrize(
    ("first", "opening", "sure"),
    [
        (94, "", True),
        (94, r"\partial 4 c'4 |", True),
        (94, "c'1 |", True),
        (94, "R1*2 |", False),
        (3, "c'1 |", False),
        (5, "c'1 |", False),
    ],
)
def test_a_part_may_begin_at_a_later_number(first: int, opening: str, sure: bool, tmp_path: Path) -> None:
    """A later movement whose bars are counted on. One or two bars on, or a long rest on, something was missed."""
    dice = random.Random(SEED)
    bars = " | ".join(_beats(dice, 4) for _ in range(30))
    music = rf"""\time 4/4 {opening} \set Score.currentBarNumber = {first} {bars} \bar "|." """
    reading = read_part(_engraved(tmp_path, rf"\compressMMRests {{ {music} }}", ""))
    assert (reading.confidence >= SURE) is sure
    if sure:
        assert _names(reading)[-30:] == list(range(first, first + 30))
        assert [bar.number for bar in chart([reading], list(map(str, range(reading.positions)))).bars] == _names(
            reading
        )


@needs_engraver
@pytest.mark.parametrize(
    "inner",
    [r"""c'2. \bar "|" g'4""", r"""\cadenzaOn c'4 d' e' f' g' a' b' c'' d'' \cadenzaOff \bar "|" g'1"""],
)
def test_a_bar_split_at_a_plain_barline_and_a_cadenza_go_by_the_numbers(inner: str, tmp_path: Path) -> None:
    """A measure's number rises with its length only, and a cadenza has none (LilyPond NR 1.2.3, 1.2.5)."""
    bars = " | ".join(_beats(random.Random(SEED), 4) for _ in range(12))
    reading = read_part(_engraved(tmp_path, rf"""\time 4/4 {bars} | {inner} | {bars} | {bars} \bar "|." """, ""))
    assert _names(reading) == [*range(1, 14), *range(13, 38)] and reading.confidence >= SURE
    assert [(one.bar, one.fewer, one.rest) for one in reading.uncounted] == [(14, 1, True)]


@needs_engraver
def test_a_stem_taken_for_a_barline_is_no_split_bar(tmp_path: Path) -> None:
    """Its two parts make a bar, and the numbers ask for one fewer; but a note stands at it."""
    pdf = _engraved(tmp_path, r"""\time 4/4 \repeat unfold 40 { c''4 d'' e'' f'' } \bar "|." """, "")
    line = upright_page(opened(pdf), 0, 0, Seen(), (), False).lines[1]
    head = line.parts[0].music[0]
    assert not is_stem(line.barlines[0], line)
    assert is_stem(replace(line.barlines[0], x=head.x0), line)


@needs_engraver
@pytest.mark.parametrize(("empty", "last"), [(3, CROTCHETS), (1, CROTCHETS), (1, QUAVERS)])
def test_empty_bars_are_bars_where_numbers_say_so_of_others(empty: int, last: str, tmp_path: Path) -> None:
    """Bars whose rests are left out; one among the last line's is a bar as those that numbers stand behind, though it
    is narrower than any note's (among quavers 4.0 spaces)."""
    lines = [CROTCHETS + (" | s1 " if n < empty - 1 else " | c'1 ") + r"\break" for n in range(5)]
    music = rf"""\time 4/4 {" ".join(lines)} {last} | s32 \bar "|." """
    reading = read_part(_engraved(tmp_path, music, ""))
    assert reading.positions == 42 and (reading.confidence >= SURE) is (empty == 3)


@needs_engraver
@pytest.mark.parametrize(("beats", "sure"), [(4, True), (3, False)])
def test_a_line_whose_staves_have_barlines_of_their_own_is_in_doubt(beats: int, sure: bool, tmp_path: Path) -> None:
    """Each stave in a meter of its own (LilyPond Notation Reference 1.2.3 "Polymetric notation")."""
    staves = [rf"\new Staff {{ \time {n}/4 \repeat unfold 24 {{ c'4 }} }}" for n in (4, 4, beats)]
    context = (
        r"\context { \Score \omit BarNumber \remove Timing_translator } \context { \Staff \consists Timing_translator }"
    )
    source = rf"""\version "2.24.0" \score {{ << {" ".join(staves)} >> \layout {{ {context} }} }}"""
    (tmp_path / "barlines.jsonl").write_text("", encoding="utf-8")
    reading = read_part(engraving.engrave(engraving.Chart(0, source, engraving.Truth(), "apart"), tmp_path)[0])
    assert reading.positions == 6
    assert [line.confidence >= SURE for page in reading.pages for line in page.systems] == [sure]


@needs_engraver
@pytest.mark.parametrize("at", [-1, -0.6, -0.2, 0.2, 0.6, 1])
def test_words_over_two_barlines_are_not_surely_at_the_second(at: float, tmp_path: Path) -> None:
    """To Coda ends at its barline (common practice); some set it from there on, or over it."""
    words = rf'\tweak self-alignment-X #{at} \textEndMark \markup \larger \bold "To Coda"'
    music = rf"""\time 1/4 \repeat unfold 7 {{ c''4 }} {words} \repeat unfold 20 {{ c''4 }} \bar "|." """
    (sign,) = read_part(_engraved(tmp_path, music, "")).signs
    assert sign.bar == 7 or sign.confidence < SURE


@needs_engraver
@pytest.mark.parametrize(("thin", "thick", "kind"), [(1.2, 3.0, "final"), (3.6, 3.6, "double"), (1.9, 6.0, "final")])
def test_a_thick_stroke_is_thick_beside_its_thin_one(thin: float, thick: float, kind: str, tmp_path: Path) -> None:
    """Widths in lines of the stave, as `hair-thickness` and `thick-thickness` set them (LilyPond IR, BarLine)."""
    widths = rf"\override BarLine.hair-thickness = {thin} \override BarLine.thick-thickness = {thick}"
    end = "||" if kind == "double" else "|."
    music = rf"""\time 4/4 \repeat unfold 8 {{ c''4 d'' e'' f'' }} \bar "{end}" """
    reading = read_part(_engraved(tmp_path, music, widths))
    assert [line.kind.value for page in reading.pages for system in page.systems for line in system.barlines][
        -1
    ] == kind


@needs_engraver
def test_lines_without_barlines_are_doubted(tmp_path: Path) -> None:
    """Barlines painted as patterns (ISO 32000-1, 8.7) are not among a page's strokes; here none are drawn at all."""
    bars = " | ".join(_beats(random.Random(SEED), 4) for _ in range(40))
    reading = read_part(_engraved(tmp_path, rf"\time 4/4 {bars}", r"\omit BarLine \omit BarNumber"))
    assert reading.confidence < SURE and "Most lines have no barline" in reading.doubts[0]


@needs_engraver
@pytest.mark.parametrize(("bars", "seed"), [(3, SEED), (30, SEED), (3, 7)])  # 7: stems are centred on the line
def test_a_stave_of_one_line_under_another_is_of_its_system(bars: int, seed: int, tmp_path: Path) -> None:
    """Staves are joined at the left edge (LilyPond NR 1.6.1): at a stave of one line, up to that line."""
    upper, lower = (" | ".join(_beats(random.Random(seed + n), 4) for _ in range(bars)) for n in (0, 1))
    staves = (
        rf"<< \new Staff {{ {upper} }} \new Staff \with {{ \override StaffSymbol.line-count = #1 }} {{ {lower} }} >>"
    )
    source = (
        f'\\version "2.24.0" \\header {{ title = "Chart" instrument = "Sticks" tagline = ##f }} \\score {{ {staves} }}'
    )
    (tmp_path / "barlines.jsonl").write_text("", encoding="utf-8")
    pdf, _ = engraving.engrave(engraving.Chart(0, source, engraving.Truth(), "one line"), tmp_path)
    reading = read_part(pdf)
    assert {len(system.staves) for page in reading.pages for system in page.systems} == {2}
    assert reading.bars == bars and reading.confidence >= SURE


def test_few_framed_figures_off_the_line_heads_are_marks() -> None:
    """Marks that are bar numbers in frames, on one line and without other numbers; the truth is the chart's own."""
    pdf, truth, _ = second_engraving.chart(61900065)
    assert [(mark.text, mark.bar) for mark in read_part(pdf).marks] == truth.marks


@needs_engraver
@pytest.mark.parametrize("fingers", [(1, 3, 2), (4, 1, 1, 2, 5)])
def test_fingerings_in_the_numbers_face_leave_lines_sure(fingers: tuple[int, ...], tmp_path: Path) -> None:
    """Some stand over the first note of a bar, where a number could; the lines' heads bear the count out."""
    bars = [f"f''4^\\markup \\fontsize #-2 \"{n}\" d'' b' g'" for n in fingers] * 6
    music = "\\time 4/4 " + " | ".join(bars) + ' \\bar "|."'
    reading = read_part(_engraved(tmp_path, music, ""))
    assert reading.bars == len(bars) and not reading.doubts
    assert all(system.confidence >= SURE for system in reading.pages[0].systems)


@needs_engraver
@pytest.mark.parametrize(("mark", "pickup"), [(r"\mark \markup \box A", True), ("", False)])
def test_a_first_bar_of_triplets_without_numbers_is_a_pickup_where_the_first_mark_stands_behind_it(
    tmp_path: Path, mark: str, pickup: bool
) -> None:
    """Three triplets of quavers last three quarters, though nine quavers seem longer than the meter; a mark that
    comes first stands at the first whole bar (common practice)."""
    triplets = r"\tuplet 3/2 { c'8 d' e' } " * 3
    bars = " | ".join(["c'4 d' e' f'"] * 6)
    music = rf"""\time 4/4 \partial 2. {triplets} {mark} {bars} \bar "|." """
    reading = read_part(_engraved(tmp_path, music, r"{ \omit BarNumber }"))
    assert reading.pickup is pickup
    assert all(system.confidence < SURE for page in reading.pages for system in page.systems) or not pickup


@needs_engraver
@pytest.mark.parametrize("clef", ["treble", "bass"])
def test_lines_that_may_be_staves_of_one_line_are_in_doubt(clef: str, tmp_path: Path) -> None:
    """A score without a line at its left end that leaves out staves (LilyPond Notation Reference 1.6.2), so that no two
    systems of its page have as many. One stave's lines may have the same bars: those are told by their one clef."""
    music = r"\repeat unfold 8 { c'4 d' e' f' } \break " * 4
    staves = [music, r"\repeat unfold 8 { c'4 } R1*22", rf"\clef {clef} \repeat unfold 32 {{ c'4 d' e' f' }}"]
    context = r"\context { \Score \omit BarNumber \omit SystemStartBar } \context { \Staff \RemoveEmptyStaves }"
    parts = " ".join(rf"\new Staff {{ {stave} }}" for stave in (staves if clef == "bass" else staves[:1]))
    source = rf"""\version "2.24.0" \score {{ << {parts} >> \layout {{ {context} }} }}"""
    (tmp_path / "barlines.jsonl").write_text("", encoding="utf-8")
    reading = read_part(engraving.engrave(engraving.Chart(0, source, engraving.Truth(), "unjoined"), tmp_path)[0])
    assert (reading.confidence >= SURE) is (clef == "treble")
    assert reading.bars == 32 or clef == "bass"
