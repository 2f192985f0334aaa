"""MusicXML to the ruler: cases written from the texts of the MusicXML 4.0 schema (W3C Music Notation Community Group,
2021) and, where it leaves the reading open, from the sources named beside them."""

import pytest

from collaparte.music.form import run_length, written_order
from collaparte.music.musicxml import NotMusicXml, Score, read_score
from collaparte.music.ruler import fault
from collaparte.wire.chart import ChartBar, ChartMark
from music.musicxml import END, FIRST, HEAD, NOTE, START, direction, end, ending, part, score


def order(of: Score) -> str:
    assert fault(of.chart) == ""
    return run_length(int(step.bar) for step in written_order(of.chart).steps)


DS_AL_CODA = {
    "before": {2: direction(glyph="segno", sound='segno="s1"'), 6: direction(glyph="coda", sound='coda="c1"')},
    "behind": {
        3: direction("To Coda", 'tocoda="c1"', "coda"),
        5: direction("D.S. al Coda", 'dalsegno="s1"'),
    },
}

MARK_A = "<direction><direction-type><rehearsal>A</rehearsal></direction-type></direction>"

CASES: dict[str, tuple[bytes, str]] = {
    "repeat": (score(4, {2: START}, {3: END}), "1-3 2-4"),
    "a backward repeat alone": (score(4, {}, {3: END}), "1-3 1-4"),
    # The human encoder's list for Beethoven op. 18/1 iii: [A,A,B,B,C,C,D,A,B].
    "two backward repeats": (score(5, {}, {2: END, 4: END}), "1-2 1-4 3-5"),
    "sound@forward-repeat": (
        score(5, {3: direction(sound='forward-repeat="yes"')}, {2: END, 4: END}),
        "1-2 1-4 3-5",
    ),
    "sound@forward-repeat behind the last note is of the next bar": (
        score(5, {}, {1: direction(sound='forward-repeat="yes"'), 4: END}),
        "1-4 2-5",
    ),
    # Common practice: a jump taken so often; To Coda and Fine hold the last of these times.
    "D.S. twice": (score(6, {2: direction(glyph="segno")}, {4: direction("D.S. twice")}), "1-4 2-4 2-6"),
    "D.S. 2x, at a bar that comes once": (
        score(6, {2: direction(glyph="segno")}, {4: direction("D.S. 2x")}),
        "1-4 2-4 2-6",
    ),
    "D.S. 2x, in a repeat: the second time": (
        score(6, {2: direction(glyph="segno"), 3: START}, {4: direction("D.S. 2x") + END}),
        "1-4 3-4 2-6",
    ),
    "D.C. x2": (score(3, {}, {2: direction("D.C. x2")}), "1-2 1-2 1-3"),
    "D.S. al Coda twice": (
        score(
            7,
            {2: direction(glyph="segno"), 6: direction("Coda")},
            {3: direction("To Coda"), 5: direction("D.S. al Coda (2 times)")},
        ),
        "1-5 2-5 2-3 6-7",
    ),
    "D.C. al Fine three times": (
        score(4, {}, {2: direction("Fine"), 4: direction("D.C. al Fine 3 times")}),
        "1-4 1-4 1-4 1-2",
    ),
    "back to a mark": (score(5, {2: MARK_A}, {4: direction("Back to A")}), "1-4 2-5"),
    "back to a bar": (score(5, {}, {4: direction("Repeat from bar 3")}), "1-4 3-5"),
    "back to a mark, al Coda": (
        score(7, {2: MARK_A, 6: direction("Coda")}, {3: direction("To Coda"), 5: direction("Back to A al Coda")}),
        "1-5 2-3 6-7",
    ),
    "repeat@times": (score(4, {2: START}, {3: end("3")}), "1-3 2-3 2-4"),
    "a forward repeat at a right bar line": (
        score(4, {}, {1: START.replace("left", "right"), 3: END}),
        "1-3 2-4",
    ),
    "endings": (
        score(
            5,
            {3: ending("1", "start"), 4: ending("2", "start")},
            {3: ending("1", "stop", True), 4: ending("2", "stop")},
        ),
        "1-3 1-2 4-5",
    ),
    "ending@number is a list": (
        score(
            5,
            {3: ending("1, 2", "start"), 4: ending("3", "start")},
            {3: ending("1, 2", "stop", True), 4: ending("3", "discontinue")},
        ),
        "1-3 1-3 1-2 4-5",
    ),
    "sound@dacapo and fine": (
        score(4, {}, {2: direction("Fine", 'fine="yes"'), 4: direction("D.C. al Fine", 'dacapo="yes"')}),
        "1-4 1-2",
    ),
    "fine may be a duration": (
        score(4, {}, {2: direction(sound='fine="4"'), 4: direction(sound='dacapo="yes"')}),
        "1-4 1-2",
    ),
    "only sounds": (score(4, {}, {2: direction(sound='fine="yes"'), 4: direction(sound='dacapo="yes"')}), "1-4 1-2"),
    "only words": (score(4, {}, {2: direction("Fine"), 4: direction("Da Capo al Fine")}), "1-4 1-2"),
    "words over two lines": (score(4, {}, {2: direction("Fine"), 4: direction("D.C.\nal Fine")}), "1-4 1-2"),
    "words in two directions": (
        score(4, {}, {2: direction("Fine"), 4: direction("D.C.") + direction("al Fine")}),
        "1-4 1-2",
    ),
    "a sound without a direction": (score(3, {}, {3: '<sound dacapo="yes"/>'}), "1-3 1-3"),
    "D.S. al Coda, To Coda as sign and words": (score(7, **DS_AL_CODA), "1-5 2-3 6-7"),
    "only words and signs": (
        score(
            7,
            {2: direction(glyph="segno"), 6: direction("Coda", glyph="coda")},
            {3: direction("To Coda") + direction(glyph="coda"), 5: direction("D.S. al Coda")},
        ),
        "1-5 2-3 6-7",
    ),
    # Common practice: words stand over the bar that one plays to its end, wherever over it they begin.
    "jump words before the note": (
        score(
            7,
            {
                2: direction(glyph="segno"),
                3: direction("To Coda"),
                5: direction("D.S. al Coda"),
                6: direction(glyph="coda"),
            },
        ),
        "1-5 2-3 6-7",
    ),
    "signs in bar lines": (
        score(
            7,
            {
                2: '<barline location="left" segno="s1"><segno/></barline>',
                6: '<barline location="left" coda="c1"><coda/></barline>',
            },
            DS_AL_CODA["behind"],
        ),
        "1-5 2-3 6-7",
    ),
    "a segno behind the last note stands before the next": (
        score(5, {}, {1: direction(glyph="segno"), 3: direction("Fine"), 5: direction("D.S. al Fine")}),
        "1-5 2-3",
    ),
    "named pairs": (
        score(
            8,
            {
                1: direction(glyph="segno", sound='segno="a"'),
                2: direction(glyph="segno", sound='segno="b"'),
            },
            {4: direction("D.S.", 'dalsegno="a"'), 8: direction("D.S.", 'dalsegno="b"')},
        ),
        "1-4 1-8 2-8",
    ),
    "a named coda": (
        score(
            6,
            {5: direction(sound='coda="x"'), 6: direction(sound='coda="y"')},
            {2: direction("To Coda", 'tocoda="y"'), 4: direction("D.C. al Coda", 'dacapo="yes"')},
        ),
        "1-4 1-2 6",
    ),
    "repeats are not taken after a jump": (
        score(5, {1: START}, {2: END, 3: direction("Fine"), 5: direction("D.C. al Fine")}),
        "1-2 1-5 1-3",
    ),
    "repeat@after-jump": (
        score(5, {1: START}, {2: end(after_jump="yes"), 3: direction("Fine"), 5: direction("D.C. al Fine")}),
        "1-2 1-5 1-2 1-3",
    ),
    "sound@time-only": (
        score(
            6,
            {5: direction(sound='coda="c"')},
            {
                2: direction("To Coda", 'tocoda="c" time-only="3"'),
                3: END,
                4: direction("D.C. al Coda", 'dacapo="yes"'),
            },
        ),
        "1-3 1-4 1-2 5-6",
    ),
    "to the coda on the second time of a repeat": (
        score(6, {5: direction(sound='coda="c"')}, {2: direction(sound='tocoda="c" time-only="2"'), 4: END}),
        "1-4 1-2 5-6",
    ),
}


@pytest.mark.parametrize(("data", "expected"), CASES.values(), ids=CASES.keys())
def test_order(data: bytes, expected: str) -> None:
    read = read_score(data)
    assert (order(read), read.diagnosis) == (expected, "")


TOLD: dict[str, tuple[bytes, str, str]] = {
    "print and sound contradict each other": (
        score(4, {2: direction(glyph="segno")}, {4: direction("D.C.", 'dalsegno="s"')}),
        "1-4 1-4",
        'Bar 4 says "D.C." in print but something else to a machine; the print holds.',
    ),
    "print and sound in two directions": (
        score(4, {2: direction(glyph="segno")}, {4: direction("D.C.") + direction(sound='dalsegno="s"')}),
        "1-4 1-4",
        "Bar 4 says",
    ),
    # A blank number is legal: "software knows an ending is present but cannot determine its type" (ending-number).
    "blank ending numbers": (
        score(
            5, {3: ending(" ", "start"), 4: ending("", "start")}, {3: ending(" ", "stop", True), 4: ending("", "stop")}
        ),
        "1-3 1-2 4-5",
        "The ending at bar 3 has no number; it is taken for time 1.",
    ),
    "an ending number that the schema forbids": (
        score(
            5,
            {3: ending("01", "start"), 4: ending("2", "start")},
            {3: ending("01", "stop", True), 4: ending("2", "stop")},
        ),
        "1-3 1-2 4-5",
        "has no number",
    ),
    "an ending that begins nowhere": (
        score(5, {4: ending("2", "start")}, {3: ending("", "stop", True), 4: ending("2", "stop")}),
        "1-3 1-2 4-5",
        "An ending stops at bar 3 but begins nowhere",
    ),
    # verovio and music21 play on too: what comes the second time is not written.
    "a first ending alone": (
        score(5, {3: ending("1", "start")}, {3: ending("1", "stop", True)}),
        "1-5",
        "The first ending at bar 3 has no second after it, so its repeat is not taken.",
    ),
    "words that are not understood": (
        score(3, {}, {3: direction("Menuetto da capo senza Ritornello.")}),
        "1-3",
        'The words "Menuetto da capo senza Ritornello." at bar 3 speak of a jump but not which',
    ),
    "a repeat in the middle of a bar": (
        score(3, {}, {2: END.replace("right", "middle")}),
        "1-3",
        "Bar 2 has a repeat sign in its middle",
    ),
    # Bars are the file's measures, which other parts count too; who splits a bar writes two (measure@implicit).
    "a segno inside a bar": (
        score(4, {}, {4: direction("D.S.")}).replace(
            b'<measure number="2">',
            b'<measure number="2"><note><rest/><duration>1</duration></note>' + direction(glyph="segno").encode(),
        ),
        "1-4 2-4",
        "Bar 2 has a segno inside it, which is taken to stand at the bar line before it.",
    ),
    "a part of another length": (
        score(3).replace(b"</part>", b"</part>" + part(2).encode()),
        "1-3",
        "Part 2 has 2 bars where part 1 has 3; part 1 leads.",
    ),
    "bar lines that are not the other parts'": (
        score(2).replace(b'number="2"', b'number="2" non-controlling="yes"'),
        "1-2",
        "Bar 2 has bar lines of its own",
    ),
}


@pytest.mark.parametrize(("data", "expected", "told"), TOLD.values(), ids=TOLD.keys())
def test_what_cannot_be_used_is_told(data: bytes, expected: str, told: str) -> None:
    read = read_score(data)
    assert order(read) == expected
    assert told in read.diagnosis


def test_words_that_only_look_like_jumps_are_none() -> None:
    """Common practice: none of these sends anybody anywhere."""
    words = ("con sord.", "fine brush", "coda alla marcia", "D major", "to flute", "al niente", "dolce")
    read = read_score(score(len(words), {n: direction(said) for n, said in enumerate(words, 1)}))
    assert (read.chart.signs, read.diagnosis) == ((), "")


def measures(*numbers: str) -> bytes:
    """A score of bars whose `measure` has these attributes."""
    bars = "".join(f"<measure {n}>{FIRST if not at else ''}{NOTE}</measure>" for at, n in enumerate(numbers))
    return f'<score-partwise>{HEAD}<part id="P1">{bars}</part></score-partwise>'.encode()


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        # measure@implicit: "pickup measures and the last half of mid-measure repeats".
        (
            measures('number="0" implicit="yes"', 'number="1"', 'number="X1" implicit="yes"', 'number="2"'),
            [(0, "", True), (1, "", True), (1, "", False), (2, "", True)],
        ),
        (measures('number="4"', 'number="4a"', 'number="5"'), [(4, "", True), (4, "4a", False), (5, "", True)]),
        # measure@number is a token: it need not be a number, nor alone.
        (measures('number="A"', 'number="1"', 'number="1"'), [(1, "A", True), (1, "", True), (1, "", True)]),
        (measures("", ""), [(1, "", True), (2, "", True)]),
    ],
)
def test_bars_keep_the_numbers_that_are_printed(data: bytes, expected: list[tuple[int, str, bool]]) -> None:
    bars = read_score(data).chart.bars
    assert bars == tuple(ChartBar(str(n), *called) for n, called in enumerate(expected, 1))


def test_marks_and_tempo() -> None:
    mark = "<direction><direction-type><rehearsal>{}</rehearsal></direction-type></direction>"
    slow = (
        "<direction><direction-type><words>Slow swing</words></direction-type><direction-type><metronome>"
        "<beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>72</per-minute></metronome></direction-type></direction>"
    )
    read = read_score(score(5, {1: slow, 2: mark.format("A")}, {3: mark.format("Verse 2")}))
    assert read.chart.marks == (ChartMark("A", "2"), ChartMark("Verse 2", "4"))
    assert read.chart.tempo == "Slow swing ♩. = 72"


def test_by_bar_is_the_same_as_by_part() -> None:
    """score-timewise: measures that hold parts."""
    timewise = score(4, {2: START}, {3: END}).decode()
    timewise = timewise.replace("score-partwise", "score-timewise").replace('<part id="P1">', "").replace("</part>", "")
    head, bars = timewise.split("</part-list>")
    bars = "".join(
        bar.replace(">", '><part id="P1">', 1) + "</part></measure>" for bar in bars.split("</measure>")[:-1]
    )
    assert read_score(f"{head}</part-list>{bars}</score-timewise>".encode()) == read_score(
        score(4, {2: START}, {3: END})
    )


def test_the_first_part_that_prints_signs_leads() -> None:
    data = score(4).replace(b"</part>", b"</part>" + part(4, {2: START}, {3: END, 4: direction("D.C.")}).encode())
    assert order(read_score(data)) == "1-3 2-4 1-4"


def test_parts_that_contradict_each_other_are_told() -> None:
    brackets = part(
        6,
        {2: START, 3: ending("1", "start"), 4: ending("2", "start")},
        {3: ending("1", "stop", True), 4: ending("2", "stop")},
    )
    plain = part(6, {2: START}, {3: END})
    for others, expected, told in (
        ((plain, part(6, {2: START}, {4: END})), "1-3 2-6", "Part 2 has other repeats than part 1; part 1 leads."),
        ((plain, plain, part(6)), "1-3 2-6", ""),
        (
            (part(6), part(6, {2: START}, {4: END}), plain),
            "1-4 2-6",
            "Repeats stand in a part other than the first, which has none; they are taken. "
            "Part 3 has other repeats than part 2; part 2 leads.",
        ),
        (
            (brackets, brackets.replace('number="2"', 'number="3"')),
            "1-3 2 4-6",
            "Part 2 has other endings than part 1; part 1 leads.",
        ),
    ):
        read = read_score(score(6).replace(part(6).encode(), "".join(others).encode()))
        assert (order(read), read.diagnosis) == (expected, told)


def test_a_score_of_more_bars_than_any_has() -> None:
    with pytest.raises(NotMusicXml, match="20001 bars"):
        read_score(f"<score-partwise><part id='P1'>{'<measure/>' * 20001}</part></score-partwise>".encode())


def test_words_without_end_are_cut_short() -> None:
    """A page of text over a bar is no jump word, and is not printed back whole."""
    read = read_score(score(2, {1: direction("D.S. al Coda " * 1000)}))
    assert read.chart.signs == () and 0 < len(read.diagnosis) < 300


def test_a_score_without_bars_is_refused() -> None:
    with pytest.raises(NotMusicXml, match="no bars"):
        read_score(f"<score-partwise>{HEAD}</score-partwise>".encode())


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("Back to B", '"Back to B" at bar 2 finds no B to go back to.'),
        ("Back to A", '"Back to A" at bar 2 finds no A to go back to.'),
        ("Go to A", "speak of a jump"),
    ],
)
def test_a_place_that_is_not_behind_is_told_and_the_bars_stand_as_printed(words: str, told: str) -> None:
    read = read_score(score(5, {4: MARK_A}, {2: direction(words)}))
    written = written_order(read.chart)
    assert order(read) == "1-5"
    assert told in " ".join((written.diagnosis, read.diagnosis))
