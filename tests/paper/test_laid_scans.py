"""The counting of `laid_scans.py`: a scan cut as it should be has nothing wrong, and what is made wrong is counted.

The charts are set here; what is made wrong of their cuts says what must be found.
"""

from collections import Counter
from functools import cache

import pytest
from msgspec.structs import replace

import engraving
import scanning
from collaparte.paper.confirmed import all_sure
from collaparte.paper.cutting.pieces import Cut, cut_ink
from collaparte.paper.cutting.table import BarCut, PieceTable
from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE, Reading
from paper.followed_ink import Astray, Bit, astray, followed, torn, whose
from paper.held_layings import held
from paper.laid import KEYS_CHANGE, SUNG, engraved
from seeded import SEED

pytestmark = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")

KEYS = KEYS_CHANGE.replace(r"\key e \major e4 fis gis a | b2 gis | e1", "e4 f g a | b2 g | e1")
"""Eleven bars on two lines; the key changes at a double barline, and where the next line says so."""


@cache
def scanned(source: str) -> tuple[bytes, Reading, Cut, tuple[Bit, ...]]:
    """A chart's scan, tilted and bent a little; how it was read and cut; and the engraved part's ink followed to it."""
    the = engraved(source)
    how = scanning.Damage(200, 0.4, 0.3, 0.0, 0.03, 1.0, 0, "plain", 0, "png")
    scan, places = scanning.scanned(the.pdf, how, SEED)
    print(f"COLLAPARTE_SEED={SEED}")
    reading = all_sure(read_part(scan, scans=True))
    return scan, reading, cut_ink(scan, reading), tuple(followed(the.cut, places))


def _with(table: PieceTable, *bars: BarCut) -> PieceTable:
    """The table with some of its bars replaced."""
    new = {bar.index: bar for bar in bars}
    return replace(table, bars=tuple(new.get(bar.index, bar) for bar in table.bars))


def _astray(source: str, table: PieceTable) -> list[Astray]:
    """What is astray of a scan whose cut has another table."""
    scan, reading, cut, bits = scanned(source)
    return list(astray(engraved(source).cut.table, bits, Cut(table, cut.inks, cut.pages), scan, reading))


def test_a_scan_that_is_cut_as_its_source_has_nothing_wrong() -> None:
    true, (_, _, cut, bits) = engraved(KEYS).cut.table, scanned(KEYS)
    found = held(true, cut.table)
    assert found.wrong == [] and found.met["bars"] == found.met["keys"] == 11
    assert (found.met["lines"], found.met["joins"], found.met["joins within"]) == (2, 1, 9)
    assert len(bits) > 25 and _astray(KEYS, cut.table) == []


def test_a_key_taken_back_too_early_is_counted_at_its_bars_and_at_its_joins() -> None:
    true, table = engraved(KEYS).cut.table, scanned(KEYS)[2].table
    none = next(n for n, head in enumerate(table.heads) if not head.key_name)
    wrong = held(true, _with(table, replace(table.bars[1], head_here=none, head_after=none))).wrong
    assert [(w.kind, w.bar) for w in wrong] == [("keys", 2), ("joins within", 2)], "bar 3 prints its own key"
    first = table.bars[6]
    wrong = held(true, _with(table, replace(first, head_here=none))).wrong
    kinds = [("keys", 7), ("heads", 7), ("joins", 7), ("joins within", 8)]
    assert [(w.kind, w.bar) for w in wrong] == kinds


def test_another_clef_is_counted() -> None:
    true, table = engraved(KEYS).cut.table, scanned(KEYS)[2].table
    clefs = {piece for head in table.heads for piece in head.clef}
    extents = tuple(replace(e, bottom=e.bottom + 1.0) if n in clefs else e for n, e in enumerate(table.extents))
    wrong = held(true, replace(table, extents=extents)).wrong
    assert {w.kind for w in wrong} == {"clefs", "heads"} and sum(w.kind == "clefs" for w in wrong) == 11


def test_bars_of_a_line_that_stands_whole_are_counted_so_and_not_looked_at() -> None:
    scan, reading, _, bits = scanned(KEYS)
    (page,) = reading.pages
    systems = (page.systems[0], replace(page.systems[1], confidence=SURE - 0.1))
    cut = cut_ink(scan, replace(reading, pages=(replace(page, systems=systems),)))
    true = engraved(KEYS).cut.table
    found = held(true, cut.table)
    assert [(w.kind, w.bar) for w in found.wrong] == [("whole", n) for n in range(7, 12)]
    assert found.met["keys"] == 6 and not found.met["joins"]
    assert not list(astray(true, bits, cut, scan, reading)), "its ink is the line's all the same"


def test_ink_that_another_line_has_and_ink_that_none_has_are_counted() -> None:
    true, (_, _, cut, bits) = engraved(SUNG).cut.table, scanned(SUNG)
    table = cut.table
    assert not [bit for bit in _astray(SUNG, table) if bit.kind != "torn"]
    bar = next(bar for bar in table.bars if bar.system == 1)
    before = next(b for b in true.bars if b.index == bar.index)
    mine = {bit.box for bit in bits if bit.piece in {*before.main, *(word.piece for word in before.words)}}
    other = [bit for bit in _astray(SUNG, _with(table, replace(bar, system=0))) if bit.kind == "other"]
    assert {bit.box for bit in other} == mine and {(bit.line, bit.bar) for bit in other} == {(1, bar.number)}
    without = _with(table, replace(bar, main=(-1,), words=()))
    missing = [bit for bit in _astray(SUNG, without) if bit.kind == "missing"]
    assert {bit.box for bit in missing} <= mine and len(missing) > 0.8 * len(mine), "a soft edge may be a neighbour's"


def test_words_of_which_a_part_goes_with_another_bar_or_with_its_notes_are_torn() -> None:
    table = engraved(SUNG).cut.table
    of = whose(table)
    first, second = table.bars[:2]
    one, same, other = first.words[0].piece, first.words[1].piece, second.words[0].piece
    for pieces, is_torn in (((one, same), False), ((one, other), True), ((one, first.main[0]), True)):
        assert torn([Counter({piece: 20}) for piece in pieces], table, of) == is_torn
