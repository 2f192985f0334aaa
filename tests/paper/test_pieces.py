"""Every piece of ink has one owner, and the pieces together are the part."""

from collections import Counter
from itertools import pairwise

import msgspec
import pytest

from collaparte.paper.cutting.ink import Glyph
from collaparte.paper.cutting.items import Role
from collaparte.paper.cutting.ownership import own
from collaparte.paper.cutting.pieces import cut, cut_ink
from collaparte.paper.cutting.table import PieceTable
from paper.laid import ALTO, DRUMS, GUITAR, KEYS, PARTS, PIANO, TRUMPET, VOCAL, Part, engraved, part


def letters(the: Part, marks: Counter[tuple[int, int]]) -> Counter[str]:
    """How often each letter is in these marks (page, index)."""
    out: Counter[str] = Counter()
    for (page, mark), times in marks.items():
        ink = the.cut.pages[page].ink[mark]
        if isinstance(ink, Glyph) and chr(ink.ucs).isalpha():
            out[chr(ink.ucs)] += times
    return out


def whole_marks(the: Part) -> Counter[tuple[int, int]]:
    """The marks of all pieces that the bars, the title and the foot name; parts of a slur over bars count once."""
    table = the.cut.table
    pieces = {
        p for b in table.bars for p in (*b.main, *(w.piece for w in b.words), *(x.piece for x in b.brackets), *b.meter)
    }
    pieces |= {w.piece for w in (*table.title, *table.foot)}
    out: Counter[tuple[int, int]] = Counter()
    for n in pieces - {-1}:
        ink = the.cut.inks[n]
        out.update((ink.page, p.mark) for p in ink.parts if p.clip is None)
    return out


@pytest.mark.parametrize("name", PARTS)
def test_no_ink_has_two_owners(name: str) -> None:
    the = part(name)
    assert {mark for mark, times in whole_marks(the).items() if times > 1} == set()


@pytest.mark.parametrize("name", PARTS)
def test_no_note_is_lost(name: str) -> None:
    """All ink that is not redrawn or dropped by name (staff lines, barlines, old bar numbers) is in some piece."""
    the = part(name)
    kept = {(ink.page, p.mark) for ink in the.cut.inks for p in ink.parts}
    for n, page in enumerate(the.cut.pages):
        owned = own(page, the.reading, n)
        # One line head serves all lines that begin alike: the other lines' clefs and keys are in no piece.
        items = [i for i in owned.items if i.role is not Role.DROPPED and not (i.role is Role.SOLID and i.bar < 0)]
        named = {m for i in items for m in i.marks}
        lost = {m for m in named if (n, m) not in kept}
        system_end = {m for m in lost if _courtesy(the, n, m)}
        assert lost <= system_end


def _courtesy(the: Part, page: int, mark: int) -> bool:
    """Ink after a line's last barline: a courtesy key or meter, which the next line's head shows."""
    x0, y0, x1, y1 = the.cut.pages[page].ink[mark].box
    for system in the.reading.pages[page].systems:
        if system.bbox[1] - 3 * system.space < (y0 + y1) / 2 < system.bbox[3] + 3 * system.space:
            return x0 > system.bars[-1].x1
    del x1
    return False


@pytest.mark.parametrize("name", [ALTO, DRUMS, KEYS])
def test_bars_are_the_readings(name: str) -> None:
    the = part(name)
    bars = [b for b in the.cut.table.bars if not b.continued]
    assert [(b.index, b.count) for b in bars] == [
        (b.index, b.count) for p in the.reading.pages for s in p.systems for b in s.bars if not b.continued
    ]
    for one, two in pairwise(bars):
        assert two.index == one.index + max(1, one.count)


def test_columns_lie_in_their_bar_in_order() -> None:
    for bar in part(KEYS).cut.table.bars:
        edges = [x for column in bar.columns for x in column]
        assert edges == sorted(edges)
        assert all(0 <= x <= bar.width + 0.01 for x in edges)
        assert 0 < bar.squeeze <= 1


def test_two_staves_have_their_own_pieces() -> None:
    table = part(PIANO).cut.table
    assert table.staves == 2
    assert all(len(bar.main) == 2 for bar in table.bars)
    # A piano's right hand is printed above its left: the second stave stands below the first.
    assert all(s.staves[1] > 6 for s in table.systems)


def test_chord_names_stand_in_one_row_a_system() -> None:
    table = part(GUITAR).cut.table
    rows = Counter((bar.system, w.row) for bar in table.bars for w in bar.words if w.row >= 0)
    assert sum(rows.values()) > 30
    for system, row in rows:
        bases = {w.base for bar in table.bars if bar.system == system for w in bar.words if w.row == row}
        assert max(bases) - min(bases) < 0.35


def test_marks_keep_to_the_start_of_their_bar() -> None:
    the = part(TRUMPET)
    bars = {b.number: b for b in the.cut.table.bars}
    for mark in the.reading.marks:
        starts = [w for w in bars[mark.bar].words if w.anchor == "start"]
        shown = [_text(the, w.piece) for w in starts]
        assert any(mark.text in text for text in shown), (mark.text, shown)


def _text(the: Part, piece: int) -> str:
    ink = the.cut.inks[piece]
    glyphs = [m for m in (the.cut.pages[ink.page].ink[p.mark] for p in ink.parts) if isinstance(m, Glyph)]
    return "".join(chr(g.ucs) for g in sorted(glyphs, key=lambda g: g.box[0]))


def test_old_bar_numbers_are_gone() -> None:
    """No word of any bar is the number printed at its line's head."""
    for name in (ALTO, KEYS, DRUMS):
        the = part(name)
        heads = {str(s.printed_number) for p in the.reading.pages for s in p.systems if s.printed_number}
        first = {}
        for bar in the.cut.table.bars:
            first.setdefault(bar.system, bar)
        words = {_text(the, w.piece) for bar in first.values() for w in bar.words}
        marks = {m.text for m in the.reading.marks}
        assert heads
        assert not (heads - marks) & words


def test_the_table_is_small_and_survives_storing() -> None:
    table = part(ALTO).cut.table
    stored = msgspec.msgpack.encode(table)
    assert msgspec.msgpack.decode(stored, type=PieceTable) == table
    assert len(stored) < 100_000


def test_cutting_twice_gives_the_same() -> None:
    the = part(DRUMS)
    assert cut(the.pdf, the.reading) == the.cut.table
    cut_ink(the.pdf, the.reading).check(the.cut.table)


def test_another_parts_table_is_refused() -> None:
    with pytest.raises(ValueError, match="lay it again"):
        part(ALTO).cut.check(part(DRUMS).cut.table)


def test_a_sheet_without_staves_is_pieces_of_whole_pages() -> None:
    the = part(VOCAL)
    assert not the.cut.table.bars
    assert len(the.cut.table.page_pieces) == len(the.reading.pages)
    page = the.cut.table.page_pieces[0]
    assert len(the.cut.inks[page].parts) == len(the.cut.pages[0].ink)


AGAIN = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Again" tagline = ##f }
\drums { \repeat percent 4 { hh4 hh hh hh } \repeat percent 4 { sn4 sn sn sn } \bar "|." }
"""
"""Eight bars, six of which say to play the one before again."""


def test_the_sign_that_repeats_a_bar_is_one_and_as_wide_as_printed() -> None:
    """Found by eye: the stroke between its dots went with the bar's white, wider or narrower than printed."""
    the = engraved(AGAIN)
    repeats = [bar for bar in the.cut.table.bars if bar.number not in (1, 5)]
    assert [len(bar.columns) for bar in repeats] == [1] * 6
    signs = {bar.main[0] for bar in repeats}
    placed = [p for page in the.laying.pages for p in page.placed if p.piece in signs]
    assert len(placed) == 6
    for sign in placed:
        printed, laid = sign.slices[-1].sx1 - sign.slices[0].sx0, sign.slices[-1].x1 - sign.slices[0].x0
        assert laid == pytest.approx(printed * the.laying.space, rel=0.02)
