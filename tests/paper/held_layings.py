"""A scan's cut held against the engraved part's own: which lines stand whole, keys and clefs of every bar, joins.

The engraved part's laying has tests of its own (test_lay_charts.py): here it is the truth.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from collaparte.paper.cutting.clefs import key_signs
from collaparte.paper.cutting.table import BarCut, Head, PieceTable

CLEF = 0.75
"""Clefs whose upper and lower ends differ by less, in spaces, are one: a G clef an octave lower is a space lower."""
PLACE = 2
"""Signs of two keys stand no farther apart, in half spaces: a key's first sharp and first flat stand three apart."""


class Wrong(NamedTuple):
    """What is wrong of a laying: its kind (`KINDS`), the line (from 0) and the bar's number in the engraved part."""

    kind: str
    line: int
    bar: int
    what: str = ""


class Held(NamedTuple):
    """How many of each kind there are (`KINDS`, and `lines`, `bars`), and which are wrong."""

    met: Counter[str]
    wrong: list[Wrong]


KINDS = ("bars read", "whole", "keys", "clefs", "heads", "joins", "joins within")
"""Bars whose line was read with more or fewer, which are not looked at; bars of lines that stand whole; bars with
another key or another clef; the same at lines' heads; between two lines and within lines: a new key or clef that
begins where none does, or does not begin."""


def held(true: PieceTable, seen: PieceTable) -> Held:
    """Hold the cut of a scan against that of the engraved part; both have as many lines."""
    met, wrong = Counter[str](), list[Wrong]()
    before: tuple[BarCut, BarCut] | None = None
    for n, (mine, theirs) in enumerate(zip(lines(true), lines(seen), strict=True)):
        if any(bar.whole >= 0 for bar in mine):  # print itself is not told for sure there
            before = None
            continue
        met.update({"lines": 1, "bars": len(mine)})
        whole = any(bar.whole >= 0 for bar in theirs)
        if whole or len(mine) != len(theirs):
            kind = "whole" if whole else "bars read"
            wrong += [Wrong(kind, n, bar.number) for bar in mine]
            before = None
            continue
        met.update({"keys": len(mine), "clefs": len(mine), "heads": 1, "joins within": len(mine) - 1})
        pairs = list(zip(mine, theirs, strict=True))
        for bar, other in pairs:
            heads = true.heads[bar.head_here], seen.heads[other.head_here]
            signs = [] if _signs_alike(*heads) else ["keys"]
            signs += [] if _one_clef(true, seen, *heads) else ["clefs"]
            wrong += [Wrong(kind, n, bar.number, f"{heads[0].key_name} / {heads[1].key_name}") for kind in signs]
            if bar is mine[0] and signs:
                wrong.append(Wrong("heads", n, bar.number, " ".join(signs)))
        if before:
            met["joins"] += 1
            wrong += _joins("joins", n, (true, seen), before, pairs[0])
        for one, next_one in pairwise(pairs):
            wrong += _joins("joins within", n, (true, seen), one, next_one)
        before = pairs[-1]
    return Held(met, wrong)


def lines(table: PieceTable) -> list[list[BarCut]]:
    """The bars of each printed line."""
    out: list[list[BarCut]] = [[] for _ in table.systems]
    for bar in table.bars:
        if not bar.continued:
            out[bar.system].append(bar)
    return out


def _joins(
    kind: str,
    line: int,
    tables: tuple[PieceTable, PieceTable],
    before: tuple[BarCut, BarCut],
    bars: tuple[BarCut, BarCut],
) -> Iterator[Wrong]:
    """A key or a clef that begins in one part only, where two bars follow each other."""
    mine, theirs = (
        _begins(table, one, other, within=kind == "joins within")
        for table, one, other in zip(tables, before, bars, strict=True)
    )
    if mine != theirs:
        yield Wrong(kind, line, bars[0].number, f"{' '.join(mine) or 'none'} / {' '.join(theirs) or 'none'}")


def _begins(table: PieceTable, before: BarCut, bar: BarCut, *, within: bool) -> list[str]:
    old = table.heads[before.head_here if before.head_after < 0 else before.head_after]
    new = table.heads[bar.head_here]
    drawn = within and any(piece >= 0 for piece in bar.change)
    out = ["key"] if drawn or not _one_key(old, new) else []
    return [*out, "clef"] if old.clef_name != new.clef_name else out


def _one_key(one: Head, other: Head) -> bool:
    staves = range(max(one.key_name.count("|"), other.key_name.count("|")) + 1)
    return all(_signs(one, k) == _signs(other, k) for k in staves)


def _signs(head: Head, stave: int) -> Sequence[bool]:
    return key_signs(head.key_name, stave) if stave <= head.key_name.count("|") else []


def _signs_alike(one: Head, other: Head) -> bool:
    """Two cuts' keys have as many signs, at the same places: fonts differ in how high signs are."""
    staves = [
        [[int(sign.split("@")[1]) for sign in stave.split()] for stave in head.key_name.split("|")]
        for head in (one, other)
    ]
    return len(staves[0]) == len(staves[1]) and all(
        len(a) == len(b) and all(abs(y - z) <= PLACE for y, z in zip(a, b, strict=True))
        for a, b in zip(*staves, strict=True)
    )


def _one_clef(true: PieceTable, seen: PieceTable, one: Head, other: Head) -> bool:
    """The clefs of all staves reach as far up and down."""
    for a, b in zip(one.clef, other.clef, strict=True):
        if (a < 0) != (b < 0):
            return False
        if a >= 0:
            mine, theirs = true.extents[a], seen.extents[b]
            if max(abs(mine.top - theirs.top), abs(mine.bottom - theirs.bottom)) > CLEF:
                return False
    return True
