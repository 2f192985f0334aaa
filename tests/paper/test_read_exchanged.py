"""Scores in MusicXML, engraved by verovio and read: who sets a jump's words behind a bar's last note, as exporters do,
gets them left-aligned at its closing barline, reaching into the next bar. The order is that of the file."""

import pytest

from collaparte.music.form import run_length, written_order
from collaparte.paper.read import read_part
from collaparte.paper.ruler import chart
from music.musicxml import END, START, direction, ending, score

pytest.importorskip("verovio")
from second_engraving import engraved

SEGNO, CODA = direction(glyph="segno"), direction(glyph="coda")
FORMS = {
    "D.S. al Coda": (
        score(8, {2: SEGNO, 7: CODA}, {3: direction("To Coda"), 6: direction("D.S. al Coda")}),
        "1-6 2-3 7-8",
    ),
    "the coda right behind the D.S., its sign over the words": (
        score(6, {2: SEGNO, 5: CODA}, {2: direction("To Coda"), 4: direction("D.S. al Coda")}),
        "1-4 2 5-6",
    ),
    "Fine inside a repeat": (
        score(6, {1: START}, {2: direction("Fine"), 4: END, 6: direction("D.C. al Fine")}),
        "1-4 1-6 1-2",
    ),
    "To Coda before the endings, the D.S. in the second": (
        score(
            10,
            {2: SEGNO + START, 5: ending("1", "start"), 6: ending("2", "start"), 8: CODA},
            {
                4: direction("To Coda"),
                5: ending("1", "stop", True),
                7: direction("D.S. al Coda") + ending("2", "stop"),
            },
        ),
        "1-5 2-4 6-7 2-4 8-10",
    ),
    "two To Codas, two D.S., two codas": (
        score(
            12,
            {2: SEGNO, 7: CODA, 11: CODA},
            {
                3: direction("To Coda"),
                6: direction("D.S. al Coda"),
                9: direction("To Coda"),
                10: direction("D.S. al Coda"),
            },
        ),
        "1-6 2-3 7-10 2-9 11-12",
    ),
    "the coda in a box, as a mark": (
        score(
            8,
            {2: SEGNO, 7: "<direction><direction-type><rehearsal>CODA</rehearsal></direction-type></direction>"},
            {3: direction("To Coda"), 6: direction("D.S. al Coda")},
        ),
        "1-6 2-3 7-8",
    ),
    "words that end at a barline are its, wherever they begin": (
        score(6, {}, {2: direction("Fine"), 6: direction("D.C. al Fine")}).replace(
            b"<words>Fine</words>", b'<words halign="right">Fine</words>'
        ),
        "1-6 1-2",
    ),
}
WHOLE = "<duration>4</duration><type>whole</type></note>"
QUARTER = "<duration>1</duration><type>quarter</type></note>"
D = "<note><pitch><step>D</step><octave>5</octave></pitch>"


@pytest.mark.parametrize(("data", "order"), FORMS.values(), ids=FORMS.keys())
def test_words_behind_a_bars_last_note_close_that_bar(data: bytes, order: str) -> None:
    text = data.decode().replace("<direction>", '<direction placement="above">')
    text = text.replace(WHOLE, QUARTER + (D + QUARTER) * 3).replace(
        "<step>C</step><octave>4<", "<step>B</step><octave>4<"
    )
    reading = read_part(engraved(text, "Leland", "auto", 40, (794, 1123)))
    written = written_order(chart([reading], [str(n) for n in range(1, reading.positions + 1)]))
    assert run_length(int(step.bar) for step in written.steps) == order
