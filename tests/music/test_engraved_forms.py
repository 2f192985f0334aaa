"""Forms as players meet them, with the words, signs and habits of many engravers; expected orders are common practice
where no text is named. Whole notes in 4/4; what stands before and behind each bar's note."""

import pytest

from collaparte.music.form import run_length, written_order
from collaparte.music.musicxml import read_score
from music.musicxml import END, START, direction, end, ending, part, score

SEGNO, CODA = direction(glyph="segno"), direction(glyph="coda")
BOX = "<direction><direction-type><rehearsal>{}</rehearsal></direction-type></direction>"
SYMBOL = "<direction><direction-type><symbol>{}</symbol></direction-type></direction>"
TYPES = (
    "<direction><direction-type><words>{}</words></direction-type><direction-type><coda/></direction-type></direction>"
)


def parts(bars: int, *each: tuple[dict[int, str], dict[int, str]]) -> bytes:
    heads = "".join(f'<score-part id="P{n}"><part-name>{n}</part-name></score-part>' for n in range(1, len(each) + 1))
    bodies = "".join(part(bars, *one).replace('"P1"', f'"P{n}"') for n, one in enumerate(each, start=1))
    return f"<score-partwise><part-list>{heads}</part-list>{bodies}</score-partwise>".encode()


def ds_al_coda(segno: str = SEGNO, leave: str = "To Coda", jump: str = "D.S. al Coda", coda: str = CODA) -> bytes:
    """Seven bars: segno at 2, leave after 3, D.S. after 5, coda at 6."""
    leave = leave if leave.startswith("<") else direction(leave)
    return score(7, {2: segno, 6: coda}, {3: leave, 5: direction(jump) if not jump.startswith("<") else jump})


AL_CODA = "1-5 2-3 6-7"
TWO_CODAS = {
    "before": {1: SEGNO, 6: direction("Coda 1"), 8: direction("Coda 2")},
    "behind": {5: direction("D.S. al Coda 1"), 7: direction("D.S. al Coda 2")},
}
IN_A_REPEAT = "1-4 1-2 6-7"

CASES: dict[str, tuple[bytes, str]] = {
    "To and the sign, in one direction": (ds_al_coda(leave=TYPES.format("To ")), AL_CODA),
    "To and the sign, in two": (ds_al_coda(leave=direction("To") + CODA), AL_CODA),
    "D.S. al and the sign": (ds_al_coda(jump=TYPES.format("D.S. al ")), AL_CODA),
    "bare coda signs, the first behind its bar": (ds_al_coda(leave=CODA), AL_CODA),
    "bare coda signs, the first before the next bar": (
        score(7, {2: SEGNO, 4: CODA, 6: CODA}, {5: direction("D.S. al Coda")}),
        AL_CODA,
    ),
    "signs as characters": (ds_al_coda(direction("𝄋"), "To 𝄌", "D.S. 𝄋 al 𝄌", direction("𝄌 Coda")), AL_CODA),
    "signs as characters of a music font (SMuFL)": (
        ds_al_coda(direction("\ue047"), "To \ue048", coda=direction("\ue048")),
        AL_CODA,
    ),
    "signs as symbols (MusicXML 4.0, symbol)": (
        ds_al_coda(SYMBOL.format("segno"), coda=SYMBOL.format("coda")),
        AL_CODA,
    ),
    "the coda is a boxed mark": (ds_al_coda(coda=BOX.format("CODA")), AL_CODA),
    "signs over different parts": (
        parts(7, ({2: SEGNO}, {3: direction("To Coda")}), ({}, {5: direction("D.S. al Coda")}), ({6: CODA}, {})),
        AL_CODA,
    ),
    "repeats in the first part, words in the second": (
        parts(
            7, ({2: START}, {4: END}), ({2: SEGNO, 6: CODA}, {3: direction("To Coda"), 5: direction("D.S. al Coda")})
        ),
        "1-4 2-5 2-3 6-7",
    ),
    "two codas by number": (
        score(10, TWO_CODAS["before"], TWO_CODAS["behind"] | {2: direction("To Coda 1"), 3: direction("To Coda 2")}),
        "1-5 1-2 6-7 1-3 8-10",
    ),
    "two codas by number, left in the other order": (
        score(10, TWO_CODAS["before"], TWO_CODAS["behind"] | {2: direction("To Coda II"), 3: direction("To Coda I")}),
        "1-5 1-3 6-7 1-2 8-10",
    ),
    "two codas, numbered in print on one side and in sounds on the other": (
        score(
            10,
            {1: SEGNO, 6: direction(glyph="coda", sound='coda="x"'), 8: direction(glyph="coda", sound='coda="y"')},
            TWO_CODAS["behind"] | {2: direction("To Coda 2", 'tocoda="y"'), 3: direction("To Coda 1", 'tocoda="x"')},
        ),
        "1-5 1-3 6-7 1-2 8-10",
    ),
    "two codas under one name": (
        score(
            10,
            {1: SEGNO, 6: direction(glyph="coda", sound='coda="c"'), 8: direction(glyph="coda", sound='coda="c"')},
            {
                2: direction("To Coda", 'tocoda="c"'),
                3: direction("To Coda", 'tocoda="c"'),
                5: direction("D.S. al Coda"),
                7: direction("D.S. al Coda"),
            },
        ),
        "1-5 1-2 6-7 1-3 8-10",
    ),
    "a doubled segno": (
        score(9, {1: SEGNO, 3: direction("𝄋𝄋")}, {5: direction("D.S.S."), 9: direction("D.S.")}),
        "1-5 3-9 1-9",  # D.S.S. to the doubled sign, D.S. to the single one
    ),
    "a doubled segno before a single one": (
        score(9, {1: direction("𝄋𝄋"), 3: SEGNO}, {5: direction("D.S."), 9: direction("D.S.S.")}),
        "1-5 3-9 1-9",
    ),
    "2nd time to Coda, in a repeat": (
        score(7, {1: START, 6: direction("Coda")}, {2: direction("2nd time to Coda"), 4: END}),
        IN_A_REPEAT,
    ),
    "last time to Coda, in a repeat of three": (
        score(7, {1: START, 6: direction("Coda")}, {2: direction("To Coda last time"), 4: end("3")}),
        f"1-4 {IN_A_REPEAT}",
    ),
    "2nd time to Coda, over the second ending": (
        score(
            7,
            {1: START, 3: ending("1", "start"), 4: ending("2", "start"), 6: CODA},
            {3: ending("1", "stop", True), 4: direction("2nd time to Coda") + ending("2", "stop")},
        ),
        "1-3 1-2 4 6-7",
    ),
    "2nd time to Coda, in a repeat, and a D.S. behind it": (
        score(
            9,
            {1: SEGNO + START, 7: CODA},
            {3: direction("To Coda (2nd time)"), 4: END, 6: direction("D.S. al Coda")},
        ),
        "1-4 1-6 1-3 7-9",
    ),
    "words count the times": (score(4, {2: START, 3: direction("Play 3 times")}, {3: END}), "1-3 2-3 2-4"),
    "3x over the end": (score(4, {2: START}, {3: direction("(3x)") + END}), "1-3 2-3 2-4"),
    "play 4 times, over two endings": (
        score(
            5,
            {2: START + direction("Play 4 times"), 3: ending("1", "start"), 4: ending("2", "start")},
            {3: ending("1", "stop", True), 4: ending("2", "stop")},
        ),
        "1-3 2-3 2-3 2 4-5",
    ),
    "times on a bracket as text": (
        score(
            5,
            {3: ending("", "start").replace("/>", ">1.-3.</ending>"), 4: ending("4", "start")},
            {3: ending("", "stop", True), 4: ending("4", "discontinue")},
        ),
        "1-3 1-3 1-3 1-2 4-5",
    ),
    "1 and 3, 2 and 4": (
        score(
            5,
            {3: ending("1, 3", "start"), 4: ending("2, 4", "start")},
            {3: ending("1, 3", "stop", True), 4: ending("2, 4", "stop", True)},
        ),
        "1-3 1-2 4 1-3 1-2 4-5",
    ),
    "with repeats": (
        score(6, {1: START}, {2: END, 3: direction("Fine"), 5: direction("D.C. al Fine con repetizione")}),
        "1-2 1-5 1-2 1-3",
    ),
    "Fine the last time, in a repeat": (
        score(6, {2: START}, {4: direction("Fine (last time)"), 5: end("3")}),
        "1-5 2-5 2-4",
    ),
    "a D.C. that names two times": (score(5, {}, {3: direction("D.C. 1st &amp; 2nd time")}), "1-3 1-3 1-5"),
    "a D.S., then one to the doubled segno, and a Fine behind": (
        score(12, {2: SEGNO, 5: direction("𝄋𝄋")}, {4: direction("D.S."), 6: direction("Fine"), 8: direction("D.S.S.")}),
        "1-4 2-8 5-6",
    ),
    "Fine over the first beat of its bar": (
        score(5, {3: direction("Fine")}, {5: direction("D.C. al Fine")}),
        "1-5 1-3",
    ),
    "the Fine is the end": (score(5, {2: SEGNO}, {4: direction("D.S. al Fine"), 5: direction("Fine")}), "1-4 2-5"),
    "D.C. takes the pickup along": (
        score(5, {}, {2: direction("Fine"), 5: direction("D.C. al Fine")}).replace(
            b'number="1"', b'number="0" implicit="yes"'
        ),
        "1-5 1-2",
    ),
    "D.S. in the first ending": (
        score(
            7,
            {1: SEGNO, 3: ending("1", "start"), 5: ending("2", "start")},
            {4: ending("1", "stop") + direction("D.S."), 6: ending("2", "stop")},
        ),
        "1-4 1-2 5-7",
    ),
    "D.S. al Coda in the second ending": (
        score(
            9,
            {1: START + SEGNO, 3: ending("1", "start"), 4: ending("2", "start"), 6: CODA},
            {2: direction("To Coda"), 3: ending("1", "stop", True), 4: direction("D.S. al Coda") + ending("2", "stop")},
        ),
        "1-3 1-2 4 1-2 6-9",
    ),
    "a D.C. before one that is al Fine": (
        score(6, {}, {2: direction("Fine"), 4: direction("D.C."), 6: direction("D.C. al Fine")}),
        "1-4 1-6 1-2",
    ),
    "a segno in the second ending": (
        score(
            8,
            {1: START, 3: ending("1", "start"), 4: ending("2", "start") + SEGNO},
            {3: ending("1", "stop", True), 5: ending("2", "stop"), 8: direction("D.S.", 'dalsegno="s"')},
        ),
        "1-3 1-2 4-8 4-8",
    ),
    "two rounds of endings, no sign at their starts": (
        score(
            8,
            {2: ending("1", "start"), 3: ending("2", "start"), 6: ending("1", "start"), 7: ending("2", "start")},
            {
                2: ending("1", "stop", True),
                3: ending("2", "stop"),
                6: ending("1", "stop", True),
                7: ending("2", "discontinue"),
            },
        ),
        "1-2 1 3-6 4-5 7-8",
    ),
    "endings taken again after the D.S., To Coda in the last": (
        score(
            8,
            {2: START + SEGNO, 4: ending("1", "start"), 5: ending("2", "start"), 7: CODA},
            {
                4: ending("1", "stop", True).replace('"backward"', '"backward" after-jump="yes"'),
                5: ending("2", "stop") + direction("To Coda"),
                6: direction("D.S. al Coda"),
            },
        ),
        "1-4 2-3 5-6 2-4 2-3 5 7-8",
    ),
    "Fine in the second ending": (
        score(
            7,
            {2: ending("1", "start"), 3: ending("2", "start")},
            {2: ending("1", "stop", True), 3: direction("Fine") + ending("2", "stop"), 6: direction("D.C. al Fine")},
        ),
        "1-2 1 3-6 1 3",
    ),
}


@pytest.mark.parametrize(("data", "expected"), CASES.values(), ids=CASES.keys())
def test_order(data: bytes, expected: str) -> None:
    read = read_score(data)
    written = written_order(read.chart)
    order = run_length(int(step.bar) for step in written.steps)
    assert (order, read.diagnosis, written.diagnosis) == (expected, "", "")


TOLD = {
    "print and sign count differently": (
        score(4, {2: START}, {3: direction("4x") + end("3")}),
        "1-3 2-3 2-3 2-4",
        "The repeat that ends at bar 3 is to be played 4 times in print.",
    ),
    "play 4 times, over three endings": (
        score(
            6,
            {2: START + direction("4x"), 3: ending("1", "start"), 4: ending("2", "start"), 5: ending("3", "start")},
            {3: ending("1", "stop", True), 4: ending("2", "stop", True), 5: ending("3", "stop")},
        ),
        "1-3 2 4 2 4 2 5-6",
        "The 3 endings from bar 3 on are to be played 4 times; the one before the last comes as often as that leaves.",
    ),
    "a repeat of too many times": (score(4, {2: START}, {3: end("1000000000")}), "1-4", "is to be played 9999 times"),
    "a Fine in the first ending": (
        score(
            5,
            {1: START, 3: ending("1", "start"), 4: ending("2", "start")},
            {3: direction("Fine") + ending("1", "stop", True), 4: ending("2", "stop"), 5: direction("D.C. al Fine")},
        ),
        "1-3 1-2 4-5 1-3",
        "The D.C. al Fine at bar 5 never comes to a Fine by last endings, so repeats are taken again.",
    ),
    "a To Coda in the first ending": (
        score(
            8,
            {1: START, 3: ending("1", "start"), 4: ending("2", "start"), 7: CODA},
            {3: direction("To Coda") + ending("1", "stop", True), 4: ending("2", "stop"), 6: direction("D.C. al Coda")},
        ),
        "1-3 1-2 4-6 1-3 7-8",
        "never comes to a To Coda by last endings, so repeats are taken again.",
    ),
    "print without repeats after the jump, a machine with": (
        score(6, {}, {2: end("", "yes"), 4: direction("Fine"), 6: direction("D.C. al Fine senza replica")}),
        "1-2 1-6 1-4",
        "print holds.",
    ),
    "repeats in the second part only": (
        parts(5, ({}, {}), ({2: START}, {3: END})),
        "1-3 2-5",
        "Repeats stand in a part other than the first",
    ),
    "a D.S. al Coda without a To Coda": (
        score(7, {2: SEGNO, 6: CODA}, {5: direction("D.S. al Coda")}),
        "1-7",
        "There is a D.S. al Coda at bar 5 but no To Coda for it.",
    ),
    "a D.C. and a D.S. in different parts": (
        parts(4, ({2: SEGNO}, {4: direction("D.S.")}), ({}, {4: direction("D.C.")})),
        "1-4",
        "There are both D.",
    ),
}


@pytest.mark.parametrize(("data", "expected", "told"), TOLD.values(), ids=TOLD.keys())
def test_what_contradicts_itself_is_told(data: bytes, expected: str, told: str) -> None:
    read = read_score(data)
    written = written_order(read.chart)
    assert run_length(int(step.bar) for step in written.steps) == expected
    assert told in f"{read.diagnosis} {written.diagnosis}"
