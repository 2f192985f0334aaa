"""Laid pages: measured on what is drawn, against common-practice numbers and against the source's own text."""

from collections import Counter
from functools import cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pymupdf
import pypdfium2
import pytest
from msgspec.structs import replace

from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.pages.laying import LaidPage, Laying, Step
from collaparte.paper.read import read_part
from paper.laid import (
    ALTO,
    CLEF_CHANGE,
    DRUMS,
    FERRY_PIANO,
    GLOVES_ALTO,
    GUITAR,
    KEY_CHANGE,
    KEYS,
    PARTS,
    PIANO,
    TRUMPET,
    VOCAL,
    Part,
    engraved,
    part,
    with_reading,
)

MM = 72 / 25.4
"""PDF points in a millimetre: a point is 1/72 inch (ISO 32000), an inch 25.4 mm."""
PAGE = (148.0, 197.0)
"""mm; with the stave's 7 mm, the margins 0.5 and 10 mm and the first stave's 50 and 5 mm: common practice."""

Ink = npt.NDArray[np.float64]
DPI = 200


@cache
def pictures(name: str) -> tuple[Ink, ...]:
    return tuple(_picture(page) for page in pymupdf.open(stream=part(name).laid))


def _picture(page: pymupdf.Page) -> Ink:
    """Ink from 0 to 1 at `DPI`."""
    pixmap = page.get_pixmap(dpi=DPI, colorspace=pymupdf.csGRAY)
    return 1 - np.frombuffer(pixmap.samples, np.uint8).reshape(pixmap.h, pixmap.w) / 255


def stave_lines(ink: Ink, left: float) -> list[float]:
    """The y in mm of rows inked through a narrow strip from `left` mm on, where nothing but staff lines stands."""
    strip = ink[:, round(left / 25.4 * DPI) : round((left + 0.45) / 25.4 * DPI)]
    rows = np.flatnonzero((strip > 0.3).all(axis=1))
    groups = np.split(rows, np.flatnonzero(np.diff(rows) > 2) + 1) if len(rows) else []
    weight = strip.sum(axis=1)
    found = [float(np.average(g + 0.5, weights=weight[g])) * 25.4 / DPI for g in groups]
    lines: list[float] = []
    for n in range(len(found) - 4):  # five at equal steps are a stave; type at the page's head is not
        steps = np.diff(found[n : n + 5])
        if steps.max() - steps.min() < 0.15 and found[n] not in lines:
            lines += found[n : n + 5]
    return lines


def left_of(laying: Laying) -> float:
    """Where a strip of bare staff lines begins: after the margin, or after the bracket of several staves."""
    return 2.75 if len(laying.pages[0].lines[0].bars[0].staves) > 1 else 0.6


def steps_of(laying: Laying) -> list[int]:
    shown: list[int] = []
    for page in laying.pages:
        for line in page.lines:
            for bar in line.bars:
                shown += range(bar.steps[0], bar.steps[1] + 1)
    return shown


def words_of(page: LaidPage, style: str) -> list[str]:
    return [w.text for w in page.words if w.style == style]


@pytest.mark.parametrize("name", PARTS)
def test_pages_and_staves_measure_as_asked(name: str) -> None:
    the = part(name)
    for page in pymupdf.open(stream=the.laid):
        assert (page.rect.width / MM, page.rect.height / MM) == pytest.approx(PAGE, abs=0.01)
    for ink, page in zip(pictures(name), the.laying.pages, strict=True):
        lines = stave_lines(ink, left_of(the.laying))
        staves = sum(len(line.bars[0].staves) for line in page.lines)
        assert len(lines) == 5 * staves
        for n in range(0, len(lines), 5):
            assert lines[n + 4] - lines[n] == pytest.approx(7.0, abs=0.05)


@pytest.mark.parametrize("name", PARTS)
def test_margins_are_clear(name: str) -> None:
    for ink in pictures(name):
        rows, columns = np.flatnonzero((ink > 0.5).any(axis=1)), np.flatnonzero((ink > 0.5).any(axis=0))
        mm = 25.4 / DPI
        assert rows[0] * mm >= 10 - 0.15
        assert rows[-1] * mm <= PAGE[1] - 10 + 0.15
        assert columns[0] * mm >= 0.5 - 0.15
        assert columns[-1] * mm <= PAGE[0] - 0.5 + 0.15


@pytest.mark.parametrize("name", PARTS)
def test_first_stave_leaves_room_for_the_title(name: str) -> None:
    first, *later = (stave_lines(ink, left_of(part(name).laying))[0] for ink in pictures(name))
    assert first == pytest.approx(10 + 50, abs=2)
    # Ink above a stave (marks, chord names) may push it down on later pages.
    assert all(10 + 5 - 0.1 <= y < 10 + 25 for y in later)


@pytest.mark.parametrize("name", PARTS)
def test_every_bar_once_in_order(name: str) -> None:
    the = part(name)
    assert steps_of(the.laying) == list(range(the.reading.positions))


@pytest.mark.parametrize("name", PARTS)
def test_bars_do_not_overlap_and_lines_are_filled(name: str) -> None:
    lines = [line for page in part(name).laying.pages for line in page.lines]
    for line in lines:
        for one, two in pairwise(line.bars):
            assert one.x0 < one.x1 <= two.x0
    for line in lines[:-1]:
        assert line.bars[-1].x1 > PAGE[0] - 5


@pytest.mark.parametrize("name", PARTS)
def test_line_heads_have_their_bar_number(name: str) -> None:
    the = part(name)
    order = printed_order(the.reading)
    for page in the.laying.pages:
        starts = [order[line.bars[0].steps[0]].number for line in page.lines]
        assert words_of(page, "number") == [str(n) for n in starts if n > 1]


@pytest.mark.parametrize("name", [ALTO, TRUMPET, DRUMS, GUITAR])
def test_a_second_library_reads_the_same_letters(name: str) -> None:
    """pdfium's text of the laid part has the source's letters, each once, less page numbers and running heads."""
    the = part(name)
    source, laid = _letters(the.pdf), _letters(the.laid)
    extra = laid - source
    assert not extra
    gone = source - laid
    running = Counter("".join(h.text for h in the.reading.head) * len(the.reading.pages) + "Page" * 9)
    assert not gone - running, gone


def _letters(pdf: bytes) -> Counter[str]:
    document = pypdfium2.PdfDocument(pdf)
    text = "".join(page.get_textpage().get_text_range() for page in document)
    return Counter(c for c in text if c.isascii() and c.isalpha())


@pytest.mark.parametrize("name", PARTS)
def test_the_pdf_is_not_much_larger_than_the_source(name: str) -> None:
    the = part(name)
    assert len(the.laid) <= 1.5 * len(the.pdf)


def test_a_line_that_ends_short_leaves_no_dot_behind() -> None:
    """The source draws a hook of no height as a stroke of no length on its line's end; the line ends elsewhere now."""

    def dots(pdf: bytes) -> int:
        with pymupdf.open(stream=pdf) as document:
            return sum(
                stroke["type"] == "s" and max(stroke["rect"].width, stroke["rect"].height) < 1e-3
                for page in document
                for stroke in page.get_drawings()
            )

    alto = part(ALTO)
    assert dots(alto.pdf) > 0
    assert dots(alto.laid) == 0


def test_an_ending_that_goes_on_over_a_later_line_keeps_its_hooks() -> None:
    """The first ends on the line where the second begins; its closing hook stood alone under the line above."""
    table = part(GLOVES_ALTO).cut.table
    heights = {
        bar.number: max(table.extents[b.piece].bottom - table.extents[b.piece].top for b in bar.brackets)
        for bar in table.bars
        if 15 <= bar.number <= 17
    }
    assert all(height > 1.5 for height in heights.values()), heights


def test_turns_fall_at_rests_where_there_are_some() -> None:
    """The alto and the trumpet have rests enough: every turn gives time."""
    for name in (ALTO, TRUMPET):
        assert all(page.turn_at_rest for page in part(name).laying.pages[:-1])


def test_a_cut_into_a_rest_leaves_the_rest_of_it() -> None:
    the = part(ALTO)
    rest = max(the.reading.multirests, key=lambda r: r.count)
    order = [s for s in printed_order(the.reading) if not rest.bar + 3 <= s.number < rest.bar + rest.count + 4]
    place = next(n for n, s in enumerate(order) if s.number == rest.bar + rest.count + 4)
    order[place] = replace(order[place], join=True)
    laying = lay(the.reading, the.cut.table, order)
    assert "3" in [w for page in laying.pages for w in words_of(page, "count")]
    assert steps_of(laying) == list(range(len(order)))
    draw_cut(the.cut, laying)


def test_a_join_shows_where_it_lands() -> None:
    the = part(ALTO)
    order = [s for s in printed_order(the.reading) if not 22 <= s.number < 30]
    place = next(n for n, s in enumerate(order) if s.number == 30)
    order[place] = replace(order[place], join=True)
    laying = lay(the.reading, the.cut.table, order)
    said = [w for page in laying.pages for style in ("join", "number") for w in words_of(page, style)]
    assert "30" in said


def test_a_tail_has_no_title() -> None:
    the = part(ALTO)
    whole = printed_order(the.reading)
    tail = lay(the.reading, the.cut.table, whole[40:], first_page=False)
    titles = {w.piece for w in the.cut.table.title}
    assert titles
    assert not any(p.piece in titles for page in tail.pages for p in page.placed)
    assert tail.pages[0].lines[0].y0 < 10 + 25
    assert steps_of(tail) == list(range(len(whole) - 40))


def test_a_repeat_that_is_written_out_loses_its_signs() -> None:
    the = part(ALTO)
    whole = printed_order(the.reading)
    printed = sum(len(page.dots) for page in lay(the.reading, the.cut.table, whole).pages)
    again = [replace(s, pass_=2) for s in whole]
    again[0] = replace(again[0], join=True, label="2nd time")
    twice = lay(the.reading, the.cut.table, [*whole, *again])
    assert printed > 0
    assert sum(len(page.dots) for page in twice.pages) == 0
    assert "2nd time" in [w for page in twice.pages for w in words_of(page, "pass")]


@pytest.mark.parametrize(("page", "stave"), [((148.0, 197.0), 10.0), ((148.0, 237.0), 6.0), ((200.0, 267.0), 8.0)])
def test_other_tablets_and_sizes(page: tuple[float, float], stave: float) -> None:
    the = part(DRUMS)
    laying = lay(the.reading, the.cut.table, printed_order(the.reading), page, stave)
    assert steps_of(laying) == list(range(the.reading.positions))
    drawn = pymupdf.open(stream=draw_cut(the.cut, laying))
    lines = stave_lines(_picture(drawn[0]), 0.6)
    assert lines[4] - lines[0] == pytest.approx(stave, abs=0.05)
    assert drawn[0].rect.width / MM == pytest.approx(page[0], abs=0.01)


def test_two_staves_of_one_line_stand_at_one_distance() -> None:
    """Bars from two printed systems in one line: each stave's lines run through the whole line."""
    the = part(KEYS)
    systems = {b.index: b.system for b in the.cut.table.bars}
    order = printed_order(the.reading)
    mixed = 0
    for page in the.laying.pages:
        for line in page.lines:
            assert len({bar.staves for bar in line.bars}) == 1
            mixed += len({systems.get(order[bar.steps[0]].bar) for bar in line.bars}) > 1
    assert mixed


def test_a_key_change_goes_into_the_head_of_a_line_that_it_begins() -> None:
    the = engraved(KEY_CHANGE)
    changed = next(b for b in the.cut.table.bars if b.change)
    tail = lay(the.reading, the.cut.table, printed_order(the.reading)[changed.index - 1 :], first_page=False)
    pieces = [p.piece for p in tail.pages[0].placed]
    head = the.cut.table.heads[changed.head_here]
    assert set(head.key) <= set(pieces)
    assert not set(changed.change) & set(pieces)
    width = the.cut.table.extents[head.key[0]]
    assert width.right - width.left > 3  # four flats, about a space each


def test_a_key_change_stays_where_it_is_in_mid_line() -> None:
    the = engraved(KEY_CHANGE)
    changed = next(b for b in the.cut.table.bars if b.change)
    pieces = [p.piece for p in the.laying.pages[0].placed]
    assert set(changed.change) <= set(pieces)


def test_a_cut_into_another_key_shows_the_key() -> None:
    """From the bars in D to the fifth bar after the change, in A flat: its key is drawn at the join."""
    the = engraved(KEY_CHANGE)
    order = [s for s in printed_order(the.reading) if s.number in (1, 2, 8, 9)]
    order[2] = replace(order[2], join=True)
    laying = lay(the.reading, the.cut.table, order)
    assert len(laying.pages[0].lines) == 1
    head = the.cut.table.heads[next(b for b in the.cut.table.bars if b.number == 8).head_here]
    assert set(head.key) <= {p.piece for p in laying.pages[0].placed}


def test_a_line_that_begins_after_a_change_of_clef_has_the_new_clef() -> None:
    the = engraved(CLEF_CHANGE)
    heads = {b.number: the.cut.table.heads[b.head_here] for b in the.cut.table.bars}
    assert heads[1].clef == heads[2].clef != heads[3].clef
    assert heads[3].clef == heads[4].clef == heads[6].clef
    order = printed_order(the.reading)
    tail = lay(the.reading, the.cut.table, order[3:], first_page=False)
    assert set(heads[6].clef) <= {p.piece for p in tail.pages[0].placed}


def test_the_meter_stands_before_the_first_bar_only() -> None:
    the = engraved(KEY_CHANGE)
    first = the.cut.table.bars[0]
    assert first.meter and first.meter[0] >= 0
    assert sum(p.piece == first.meter[0] for page in the.laying.pages for p in page.placed) == 1


def test_a_part_without_bars_is_shown_as_printed() -> None:
    the = part(VOCAL)
    assert the.laying.as_printed
    assert len(the.laying.pages) == len(the.reading.pages)
    assert _letters(the.laid) == _letters(the.pdf)


def test_a_title_page_is_left_out_and_said() -> None:
    document = pymupdf.open()
    document.new_page().insert_text((200, 300), "Half Past the Ferry", fontsize=24)
    document.insert_pdf(pymupdf.open(stream=part(ALTO).pdf))
    pdf = bytes(document.tobytes())
    the = with_reading(pdf, read_part(pdf))
    assert not the.laying.as_printed
    assert steps_of(the.laying) == list(range(the.reading.positions))
    assert "Page 1 has no staves and is left out." in the.laying.notes


def test_a_system_that_is_not_sure_is_laid_whole() -> None:
    the = part(PIANO)
    page = the.reading.pages[0]
    systems = (page.systems[0], replace(page.systems[1], confidence=0.5, doubt="Not sure."), *page.systems[2:])
    reading = replace(the.reading, pages=(replace(page, systems=systems), *the.reading.pages[1:]))
    again = with_reading(the.pdf, reading)
    first, last = page.systems[1].bars[0], page.systems[1].bars[-1]
    whole = [
        line for p in again.laying.pages for line in p.lines if line.bars[0].steps == (first.index - 1, last.index - 1)
    ]
    assert len(whole) == 1 and len(whole[0].bars) == 1
    assert steps_of(again.laying) == list(range(reading.positions))
    assert any(f"Bars {first.number} to {last.number}" in note for note in again.laying.notes)


def test_steps_of_bars_that_the_part_lacks_keep_their_place() -> None:
    the = part(ALTO)
    order = [Step(0, 0), *printed_order(the.reading)[:20], Step(0, 0)]
    assert steps_of(lay(the.reading, the.cut.table, order)) == list(range(1, 21))


def over_chords(pdf: bytes) -> dict[str, float]:
    """By rehearsal letter: the height of its baseline over that of the chord name after it, in its own type size."""
    found: dict[str, float] = {}
    for page in pymupdf.open(stream=pdf):
        blocks = page.get_text("dict")["blocks"]
        spans = [s for b in blocks for line in b.get("lines", ()) for s in line["spans"] if s["text"].strip()]
        chords = [s for s in spans if "Sans" in s["font"] and s["text"].strip()[0] in "ABCDEFG"]
        for letter in spans:
            if letter["text"].strip() in "ABCDEFGH" and "Bold" in letter["font"] and letter["size"] > 12:
                x, y = letter["origin"]
                below = [
                    c["origin"] for c in chords if -2 < c["origin"][0] - x < 40 and y - 2 < c["origin"][1] < y + 60
                ]
                if below:
                    found[letter["text"].strip()] = (min(below)[1] - y) / letter["size"]
    return found


def test_marks_stand_over_their_row_of_chord_names_as_printed() -> None:
    """Wherever else in the part that row stands higher."""
    printed, laid = over_chords(part(FERRY_PIANO).pdf), over_chords(part(FERRY_PIANO).laid)
    assert printed.keys() == laid.keys() == set("ABCDEFGH")
    for letter in "ABCDEFGH":
        assert laid[letter] == pytest.approx(printed[letter], abs=0.08), letter


NARROW_MUSIC = r"""
\version "2.24.0"
\paper { line-width = 100\mm left-margin = 10\mm }
\header { title = "Narrow" composer = "A. Writer" arranger = "arr. B. Writer" instrument = ##f tagline = ##f }
\relative c'' { g4 a b c | g1 | \break g4 a b c | g1 | \break g4 a b c | g1 \bar "|." }
"""
"""The music, and the title with it, on the left half of the sheet."""


def title_boxes(the: Part, laying: Laying) -> list[tuple[float, float, float, float]]:
    out = []
    for word in sorted(the.cut.table.title, key=lambda w: w.y):
        e = the.cut.table.extents[word.piece]
        (p,) = (p for p in laying.pages[0].placed if p.piece == word.piece)
        out.append((p.slices[0].x0, p.y + e.top * p.space, p.slices[-1].x1, p.y + e.bottom * p.space))
    return out


@pytest.mark.parametrize("stave", [6.0, 10.0])
def test_lines_of_type_stand_apart_and_in_order_on_the_narrowest_page(stave: float) -> None:
    the = part(FERRY_PIANO)
    boxes = title_boxes(the, lay(the.reading, the.cut.table, printed_order(the.reading), (70.0, 150.0), stave))
    assert len(boxes) == 4
    assert all(x0 > 0.5 and x1 < 69.5 for x0, _, x1, _ in boxes)
    for one, other in pairwise(boxes):
        assert one[1] < other[1] and (one[2] < other[0] or other[2] < one[0] or other[1] - one[3] > 0.2)


def test_what_stands_far_apart_at_the_foot_is_all_on_the_page() -> None:
    """Found by eye: of two strokes of pencil low on an empty page of a scan the lower one ran over the page's edge."""
    the = part(ALTO)
    (word, *_) = the.cut.table.foot
    table = replace(the.cut.table, foot=(word, replace(word, y=40.0)))
    laying = lay(the.reading, table, printed_order(the.reading))
    e = table.extents[word.piece]
    placed = [p for page in laying.pages for p in page.placed if p.piece == word.piece]
    low = [p.y + e.bottom * p.space for p in placed]
    assert len(low) == 2
    assert max(low) <= PAGE[1] - 10 + 0.01
    assert max(low) - min(low) > (e.bottom - e.top) * laying.space


def test_a_title_is_centred_as_over_its_music() -> None:
    """Where that does not fill its sheet, the sheet's middle is not the music's."""
    the = engraved(NARROW_MUSIC)
    title, composer, arranger = title_boxes(the, the.laying)
    assert (title[0] + title[2]) / 2 == pytest.approx(74.0, abs=0.1)
    assert composer[2] == arranger[2] == pytest.approx(146.5, abs=0.1)
