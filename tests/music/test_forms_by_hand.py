"""Forms whose order was written down by hand before anything read them, by the MusicXML 4.0 texts and common practice;
beside each, which of two independent libraries (verovio 6.4.1, music21 10.5.1) plays it so, and is asked here."""

import re
import zipfile
from io import BytesIO
from typing import NamedTuple
from xml.etree import ElementTree as ET

import pytest
import verovio

from collaparte.music.form import run_length, written_order
from collaparte.music.musicxml import read_score
from collaparte.music.scorefile import CONTAINER
from music.musicxml import END, START, direction, end, ending, part, score

SEGNO, CODA = direction(glyph="segno"), direction(glyph="coda")
V, M = "verovio", "music21"


def line(style: str, location: str = "right") -> str:
    return f'<barline location="{location}"><bar-style>{style}</bar-style></barline>'


def style(inside: str) -> str:
    return f"<attributes><measure-style>{inside}</measure-style></attributes>"


def numbered(data: bytes, *called: tuple[int, str]) -> bytes:
    """The score with other attributes for these bars' numbers, the last first, since numbers come twice."""
    for n, attributes in called:
        data = data.replace(f'number="{n}"'.encode(), attributes.encode())
    return data


class Form(NamedTuple):
    data: bytes
    order: str
    by: tuple[str, ...]
    told: str = ""


FORMS = {
    "endings 1.2. and 3.": Form(
        score(
            6,
            {2: START, 4: ending("1, 2", "start").replace("/>", ">1.2.</ending>"), 5: ending("3", "start")},
            {4: ending("1, 2", "stop", True), 5: ending("3", "discontinue")},
        ),
        "1-4 2-4 2-3 5-6",
        (V, M),
    ),
    "endings 1,2,3 and 4": Form(
        score(
            5,
            {2: START, 3: ending("1,2,3", "start"), 4: ending("4", "start")},
            {3: ending("1,2,3", "stop", True), 4: ending("4", "discontinue")},
        ),
        "1-3 2-3 2-3 2 4-5",
        (V, M),
    ),
    "a repeat within the bars of a D.S.": Form(
        score(9, {2: SEGNO, 3: START, 8: CODA}, {4: END, 5: direction("To Coda"), 7: direction("D.S. al Coda")}),
        "1-4 3-7 2-5 8-9",
        (M,),
    ),
    "a segno inside a repeat": Form(
        score(6, {1: START, 2: SEGNO}, {4: END, 5: direction("Fine"), 6: direction("D.S. al Fine")}),
        "1-4 1-6 2-5",
        (M,),
    ),
    "a segno inside a repeat, a coda played three times": Form(
        score(
            9,
            {2: START, 3: SEGNO, 8: CODA + START},
            {4: direction("To Coda"), 5: END, 7: direction("D.S. al Coda"), 9: end("3")},
        ),
        "1-5 2-7 3-4 8-9 8-9 8-9",
        (M,),
    ),
    "a Fine at the coda's end": Form(
        score(8, {7: CODA}, {2: direction("To Coda"), 6: direction("D.C. al Coda"), 8: direction("Fine")}),
        "1-6 1-2 7-8",
        (M,),
    ),
    "a coda behind a D.C. al Fine": Form(
        score(10, {9: CODA}, {4: direction("Fine"), 8: direction("D.C. al Fine")}), "1-8 1-4", (M,)
    ),
    "a pickup, and a repeat from the second bar": Form(
        numbered(score(6, {2: START}, {5: END}), (1, 'number="0" implicit="yes"')), "1-5 2-6", (V, M)
    ),
    "a pickup, D.C. al Coda": Form(
        numbered(
            score(9, {8: CODA}, {4: direction("To Coda"), 7: direction("D.C. al Coda")}),
            (1, 'number="0" implicit="yes"'),
        ),
        "1-7 1-4 8-9",
        (M,),
    ),
    "two segnos and two codas by name": Form(
        score(
            12,
            {
                2: direction(glyph="segno", sound='segno="a"'),
                6: direction(glyph="coda", sound='coda="a"'),
                7: direction(glyph="segno", sound='segno="b"'),
                11: direction(glyph="coda", sound='coda="b"'),
            },
            {
                3: direction("To Coda", 'tocoda="a"'),
                5: direction("D.S. al Coda", 'dalsegno="a"'),
                8: direction("To Coda", 'tocoda="b"'),
                10: direction("D.S. al Coda", 'dalsegno="b"'),
            },
        ),
        "1-5 2-3 6-10 7-8 11-12",
        (),
    ),
    "two D.S. al Coda to one segno": Form(
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
        (),
    ),
    "two To Coda before one coda": Form(
        score(9, {2: SEGNO, 8: CODA}, {3: direction("To Coda"), 5: direction("To Coda"), 7: direction("D.S. al Coda")}),
        "1-7 2-3 8-9",
        (),
    ),
    # A double bar line begins no repeat; behind a final one another movement begins (Wikipedia, "Repeat sign": "from
    # the beginning", of a movement), though both libraries go back over it.
    "an end without a start behind a double bar line": Form(
        score(5, {}, {2: line("light-light"), 4: END}), "1-4 1-5", (V, M)
    ),
    "an end without a start behind a final bar line": Form(
        score(5, {}, {2: line("light-heavy"), 4: END}),
        "1-4 3-5",
        (),
        "The repeat that ends at bar 4 has no start; it is taken from the final bar line at bar 2 on.",
    ),
    "a start that has no dots is none": Form(score(5, {2: line("heavy-light", "left")}, {4: END}), "1-4 1-5", (V, M)),
    # The human encoder's list for Beethoven op. 18/1 iii: back to the end before it.
    "three ends without a start": Form(score(7, {}, {2: END, 4: END, 6: END}), "1-2 1-4 3-6 5-7", ()),
    "a trio whose repeats have no starts": Form(
        score(8, {}, {2: END, 4: END + direction("Fine"), 6: END, 8: END + direction("D.C. al Fine")}),
        "1-2 1-4 3-6 5-8 7-8 1-4",
        (),
    ),
    "a repeat within the second ending": Form(
        score(
            9,
            {1: START, 4: ending("1", "start"), 5: ending("2", "start"), 6: START},
            {4: ending("1", "stop", True), 7: END, 8: ending("2", "stop")},
        ),
        "1-4 1-3 5-7 6-9",
        (V,),
    ),
    "a repeat within the first ending": Form(
        score(
            9,
            {1: START, 3: ending("1", "start"), 4: START, 7: ending("2", "start")},
            {5: END, 6: ending("1", "stop", True), 7: ending("2", "stop")},
        ),
        "1-9",
        (),
        "The repeats around bar 4 lie one inside the other, so their order is not sure. "
        "The bars stand in printed order.",
    ),
    "a second ending that begins the next repeat": Form(
        score(
            8,
            {1: START, 3: ending("1", "start"), 4: ending("2", "start") + START},
            {3: ending("1", "stop", True), 4: ending("2", "stop"), 6: END},
        ),
        "1-3 1-2 4-6 4-8",
        (),
    ),
    "endings in an exporter's own numbers": Form(
        score(
            7,
            {2: START, 4: ending("1.2.3", "start"), 5: ending("4.", "start")},
            {4: ending("1.2.3", "stop", True), 5: ending("4.", "stop")},
        ),
        "1-4 2-4 2-4 2-3 5-7",
        (),
    ),
    "D.C. al 𝄌 e poi la Coda": Form(
        score(8, {7: CODA}, {3: direction("al 𝄌"), 6: direction("D.C. al 𝄌 e poi la Coda")}),
        "1-6 1-3 7-8",
        (),
    ),
    "D.S. al 2nd ending, of three": Form(
        score(
            9,
            {2: SEGNO + START, 4: ending("1", "start"), 5: ending("2", "start"), 6: ending("3", "start")},
            {
                4: ending("1", "stop", True),
                5: ending("2", "stop", True),
                6: ending("3", "stop"),
                8: direction("D.S. al 2nd ending"),
            },
        ),
        "1-4 2-3 5 2-3 6-8 2-3 5 7-9",
        (),
        "The D.S. at bar 8 names the second ending; from there on the order goes on behind the last one.",
    ),
    "a D.C. printed outside the music": Form(
        score(4).replace(b"<part-list>", b'<credit page="1"><credit-words>D.C.</credit-words></credit><part-list>'),
        "1-4",
        (V, M),
        'The page says "D.C." outside the music; a jump is followed where it stands at a bar.',
    ),
    "four times": Form(score(4, {2: START}, {3: end("4")}), "1-3 2-3 2-3 2-4", (V, M)),
    "one bar three times": Form(score(4, {3: START}, {3: end("3")}), "1-3 3 3-4", (V, M)),
    # XSD `repeat@times`: only on backward repeats that are not inside an ending.
    "times within an ending": Form(
        score(
            5,
            {3: ending("1", "start"), 4: ending("2", "start")},
            {3: ending("1", "stop", True).replace('"backward"', '"backward" times="3"'), 4: ending("2", "stop")},
        ),
        "1-3 1-2 4-5",
        (V, M),
    ),
    "an ending that is never stopped": Form(
        score(6, {3: ending("1", "start"), 5: ending("2", "start")}, {4: END}), "1-4 1-2 5-6", ()
    ),
    "an end sign behind the last ending": Form(
        score(
            5,
            {3: ending("1", "start"), 4: ending("2", "start")},
            {3: ending("1", "stop", True), 4: ending("2", "stop", True)},
        ),
        "1-3 1-2 4-5",
        (V, M),
    ),
    "a Fine in the second bar of a second ending": Form(
        score(
            7,
            {1: START, 3: ending("1", "start"), 4: ending("2", "start")},
            {
                3: ending("1", "stop", True),
                4: direction("Fine"),
                5: ending("2", "stop"),
                7: direction("D.C. al Fine"),
            },
        ),
        "1-3 1-2 4-7 1-2 4",
        (),
    ),
    "a Fine in the third ending": Form(
        score(
            9,
            {2: START, 4: ending("1", "start"), 5: ending("2", "start"), 6: ending("3", "start")},
            {
                4: ending("1", "stop", True),
                5: ending("2", "stop", True),
                6: direction("Fine") + ending("3", "discontinue"),
                9: direction("D.C. al Fine"),
            },
        ),
        "1-4 2-3 5 2-3 6-9 1-3 6",
        (),
    ),
    "a D.S. al Coda in the second ending, To Coda before the endings": Form(
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
        (),
    ),
    "a coda with endings": Form(
        score(
            12,
            {2: SEGNO, 8: CODA + START, 10: ending("1", "start"), 11: ending("2", "start")},
            {
                4: direction("To Coda"),
                7: direction("D.S. al Coda"),
                10: ending("1", "stop", True),
                11: ending("2", "stop"),
            },
        ),
        "1-7 2-4 8-10 8-9 11-12",
        (),
    ),
    "a repeat and a D.C. at one bar line": Form(
        score(4, {3: START}, {2: direction("Fine"), 4: direction("D.C. al Fine") + END}), "1-4 3-4 1-2", (M,)
    ),
    "a D.C. that names its times": Form(
        score(
            4,
            {},
            {
                2: direction("Fine", 'fine="yes" time-only="3"'),
                4: direction("D.C.", 'dacapo="yes" time-only="1, 2"'),
            },
        ),
        "1-4 1-4 1-2",
        (),
    ),
    "a D.S. al Coda in print, a D.C. to a machine": Form(
        score(7, {2: SEGNO, 6: CODA}, {3: direction("To Coda"), 5: direction("D.S. al Coda", 'dacapo="yes"')}),
        "1-5 2-3 6-7",
        (M,),
        'Bar 5 says "D.S. al Coda" in print but something else to a machine; the print holds.',
    ),
    # Each covered bar is a measure of its own (XSD `multiple-rest`); verovio has them as one.
    "a rest of four bars in a repeat": Form(
        score(8, {2: style("<multiple-rest>4</multiple-rest>") + START}, {5: END}), "1-5 2-8", (M,)
    ),
    "bars that repeat the bar before": Form(
        score(
            5,
            {
                1: START,
                2: style('<measure-repeat type="start">1</measure-repeat>'),
                4: style('<measure-repeat type="stop"/>'),
            },
            {3: END},
        ),
        "1-3 1-5",
        (V, M),
    ),
    "a bar that a repeat splits": Form(
        numbered(score(8, {}, {4: END}), (5, 'number="X1" implicit="yes"'), (6, 'number="5"')), "1-4 1-8", (V, M)
    ),
    "a bar split over two lines": Form(
        numbered(
            score(8, {2: START, 5: '<print new-system="yes"/>'}, {4: line("none"), 6: END}),
            (5, 'number="4" implicit="yes"'),
        ),
        "1-6 2-8",
        (V, M),
    ),
    "a segno at the rest of a split bar": Form(
        numbered(
            score(7, {3: SEGNO}, {5: direction("Fine"), 7: direction("D.S. al Fine")}),
            (3, 'number="2" implicit="yes"'),
        ),
        "1-7 3-5",
        (M,),
    ),
    "a repeat that is left to a cue": Form(
        score(5, {2: START, 3: direction("Vamp till cue")}, {4: END}),
        "1-4 2-5",
        (V, M),
        '"Vamp till cue" leaves the repeat that ends at bar 4 to a cue; it is as its signs say until the MD opens it.',
    ),
}


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS.keys())
def test_order(form: Form) -> None:
    read = read_score(form.data)
    written = written_order(read.chart)
    order = run_length(int(step.bar) for step in written.steps)
    assert (order, f"{read.diagnosis} {written.diagnosis}".strip()) == (form.order, form.told)
    assert [name for name, plays in LIBRARIES.items() if plays(by_place(form.data)) == order] == list(form.by)


def by_place(data: bytes) -> str:
    """The score with every bar called by its place, since the libraries are asked by number."""
    root = ET.fromstring(data)
    for place, measure in enumerate(root.iter("measure"), start=1):
        measure.attrib = {"number": str(place)}
    return ET.tostring(root, "unicode")


def _by_verovio(text: str) -> str:
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"expandAlways": True})
    assert toolkit.loadData(text)
    return run_length(int(n) for n in re.findall(r'<measure [^>]*\bn="(\d+)"', toolkit.getMEI()))


def _by_music21(text: str) -> str:
    import music21

    part = music21.converter.parse(text, format="musicxml").parts[0]
    for place, measure in enumerate(part.getElementsByClass("Measure"), start=1):
        measure.editorial.place = place
    try:
        played = music21.repeat.Expander(part).process()
    except music21.repeat.ExpanderException as error:
        return str(error)
    return run_length(measure.editorial.place for measure in played.getElementsByClass("Measure"))


LIBRARIES = {V: _by_verovio, M: _by_music21}


def test_movements_in_one_file() -> None:
    """Common practice: bars are counted anew, and nobody repeats back into the movement before."""
    data = numbered(score(8, {}, {4: line("light-heavy"), 6: END}), *((n + 4, f'number="{n}"') for n in range(1, 5)))
    assert run_length(int(step.bar) for step in written_order(read_score(data).chart).steps) == "1-6 5-8"


def test_one_parts_count_is_everybodys() -> None:
    """Common practice: "3x" stands over the top stave, or in the part that somebody marked."""
    plain, counted = part(5, {2: START}, {3: END}), part(5, {2: START}, {3: direction("3x") + END})
    for parts in ((plain, counted), (counted, plain)):
        listed = "".join(f'<score-part id="P{n}"><part-name>{n}</part-name></score-part>' for n in (1, 2))
        bodies = "".join(one.replace('id="P1"', f'id="P{n}"') for n, one in enumerate(parts, start=1))
        read = read_score(f"<score-partwise><part-list>{listed}</part-list>{bodies}</score-partwise>".encode())
        assert run_length(int(step.bar) for step in written_order(read.chart).steps) == "1-3 2-3 2-5"
        assert read.diagnosis == ""


def test_a_zip_whose_container_names_more_than_the_score() -> None:
    """W3C, "Compressed .MXL files": the first rootfile is the score; others may be its pictures."""
    packed = BytesIO()
    with zipfile.ZipFile(packed, "w") as zipped:
        zipped.writestr(
            CONTAINER,
            '<container><rootfiles><rootfile full-path="s/tune.xml"/>'
            '<rootfile full-path="tune.pdf" media-type="application/pdf"/></rootfiles></container>',
        )
        zipped.writestr("other.xml", "<html/>")
        zipped.writestr("tune.pdf", "%PDF-1.4")
        zipped.writestr("s/tune.xml", FORMS["four times"].data)
    assert read_score(packed.getvalue()) == read_score(FORMS["four times"].data)
