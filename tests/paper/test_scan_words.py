"""Words and figures told by shapes: the trade's words are set right, other words stay as they are."""

import pytest
from msgspec.structs import replace

from collaparte.paper.reading import SURE, BarBox, Barline, BarlineKind
from collaparte.paper.scans.words import framed_set_right, rows_set_right, set_right
from collaparte.paper.sight.bars import Segment
from collaparte.paper.sight.figures import figures
from collaparte.paper.sight.heads import NOTHING
from collaparte.paper.sight.lettering import settled
from collaparte.paper.sight.lines import ONE, MusicLine
from collaparte.paper.sight.signs import find_signs
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import OUTLINE, Glyph
from collaparte.paper.sight.systems import Skeleton
from collaparte.paper.sight.words import Phrase


def _phrase(text: str, font: str = OUTLINE) -> Phrase:
    return Phrase(text, 0.0, 0.0, 10.0, 10.0, 10.0, 10.0, (font, 10.0), False)


@pytest.mark.parametrize(
    ("seen", "meant"),
    [
        ("Flne", "Fine"),
        ("D.S. al F,ne", "D.S. al Fine"),
        ("D.C' aI Coda", "D.C. al Coda"),
        ("O.S. .l", "D.S. al"),
        ("Tc Coda", "To Coda"),
        ("Chcrus", "Chorus"),
        ("lntro", "Intro"),
        ("(Fme)", "Fine"),
        ("D.S. al Flne play 2nd x", "D.S. al Fine play 2nd x"),
    ],
)
def test_a_trades_word_that_lost_a_letter_is_set_right(seen: str, meant: str) -> None:
    assert set_right(_phrase(seen)).text == meant


@pytest.mark.parametrize(
    "text", ["fill", "open", "cup mute", "time", "12", "A", "B2", "Chair 1", "Nobody", "unis.", "Cha"]
)
def test_other_words_stay(text: str) -> None:
    assert set_right(_phrase(text)).text == text


@pytest.mark.parametrize(("seen", "meant"), [("l6", "16"), ("I0", "10"), ("t.", "1"), ("(8)", "8"), ("solo", "solo")])
def test_shapes_are_figures_where_figures_stand(seen: str, meant: str) -> None:
    assert figures(_phrase(seen)) == meant


def test_letters_set_in_a_font_are_no_figures() -> None:
    assert figures(_phrase("l6", "Serif")) == "l6"


def _row(*words: tuple[str, float]) -> list[Phrase]:
    return [Phrase(text, x, 0.0, x + 6.0 * len(text), 10.0, 10.0, 10.0, (OUTLINE, 9.0), False) for text, x in words]


@pytest.mark.parametrize(
    ("row", "meant"),
    [
        (_row(("D.", 0), ("S. a/Fjne", 14)), ["D.S. al Fine"]),
        (_row(("D. C.", 0), ("aJ", 36), ("Coda", 54)), ["D.C. al Coda"]),
        (_row(("D.S.", 0), ("al Fine", 80)), ["D.S.", "al Fine"]),  # too far apart to be one
        (_row(("D.C.", 0), ("Fine", 44)), ["D.C. al Fine"]),  # "al" was not read
        (_row(("D.C.", 0), ("Fine", 50)), ["D.C.", "Fine"]),
        (_row(("D.S. al", 0), ("Coda", 54), ("14", 90)), ["D.S. al Coda", "14"]),  # the next mark is none of them
        (_row(("al", 0), ("Fine", 18)), ["al", "Fine"]),  # D.S. or D.C. cannot be told
        (_row(("cup", 0), ("mute", 24)), ["cup", "mute"]),
        (_row(("Dal Segno", 0), ("Fine", 66)), ["Dal Segno al Fine"]),
        (_row(("D.S.al", 0), (".", 44), ("ne", 46)), ["D.S. al Fine", "."]),  # what is left of "Fi"
        (_row(("D. C.", 0), ("al C", 34)), ["D.C. al Coda"]),  # only Coda and Fine follow "al"
        (_row(("D.C. AL FlNli7", 0)), ["D.C. al Fine"]),
        (_row(("D.C. al", 0)), ["D.C. al"]),
    ],
)
def test_words_of_a_jump_in_pieces_are_one(row: list[Phrase], meant: list[str]) -> None:
    assert [phrase.text for phrase in rows_set_right(row)] == meant


@pytest.mark.parametrize(
    ("seen", "meant"),
    [
        ((".", "ndge"), ["Bridge"]),
        (("rid", "e"), ["Bridge"]),
        (("Intro", ")"), ["Intro"]),
        (("IA1",), ["A"]),  # the sides of its frame
        (("12",), ["12"]),
        (("B2",), ["B2"]),
        (("Cm7",), ["Cm7"]),
    ],
)
def test_what_stands_in_one_frame_is_one_name(seen: tuple[str, ...], meant: list[str]) -> None:
    inside = _row(*((text, 10.0 + 30 * n) for n, text in enumerate(seen)))
    beside = _row(("solo", 200.0))
    found = framed_set_right([*inside, *beside], [(5.0, -5.0, 80.0, 15.0)])
    assert sorted(phrase.text for phrase in found) == sorted([*meant, "solo"])


@pytest.mark.parametrize(("other", "meant"), [("To Coda", "dc-al-coda"), ("Fine", "dc-al-fine"), ("", "dc")])
def test_a_jump_whose_last_word_was_not_read_leads_where_the_part_says(other: str, meant: str) -> None:
    stave = StaveLines(tuple(100.0 + 5 * n for n in range(5)), 0.0, 500.0, 5.0, 0.6, 100.0, 120.0)
    lines = []
    for page in (0, 1):
        end = Barline(500.0, 499.0, 501.0, BarlineKind.FINAL)
        part = Segment(40.0, 499.0, None, end, ())
        line = MusicLine(page, Skeleton([stave], 5.0, [end], 0.0, 200.0), NOTHING, [part], [end], [ONE])
        line.bars = [BarBox(page + 1, page + 1, 1, 40.0, 499.0, 1.0)]
        line.next_number = page + 2
        lines.append(line)
    first = [replace(_row((other, 450.0))[0], y0=85.0, y1=95.0, y=95.0)] if other else []
    last = [replace(_row(("D.C. al", 450.0))[0], y0=85.0, y1=95.0, y=95.0)]
    signs, _ = find_signs([(lines[:1], first, [], []), (lines[1:], last, [], [])], set())
    assert (meant, 2) in [(sign.kind.value, sign.bar) for sign in signs]
    assert all(sign.confidence < SURE for sign in signs if sign.bar == 2)


@pytest.mark.parametrize(("down", "one"), [(0.0, True), (3.0, True), (17.0, False)])
def test_a_figure_that_hangs_below_a_words_row_is_none_of_its_letters(down: float, one: bool) -> None:
    letter = Glyph(568.0, 417.0, 575.0, 428.0, 568.0, 428.0, 16.0, "letter", "A", OUTLINE)
    top = 407.0 + down
    figure = Glyph(579.0, top, 596.0, top + 21, 579.0, top + 21, 30.0, "letter", "7", OUTLINE)
    sizes = {glyph.size for glyph in settled([(letter, None), (figure, None)], ())}
    assert (len(sizes) == 1) == one
