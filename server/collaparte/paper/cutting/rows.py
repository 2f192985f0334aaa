"""Rows of words: chord names with their diagrams, lines of lyrics, endings, which stand at one height over a line."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import msgspec
from msgspec.structs import replace

from collaparte.paper.cutting.columns import CLEAR
from collaparte.paper.cutting.diagrams import DIAGRAM
from collaparte.paper.cutting.table import BarCut, Bracket, Extent, Word

SAME = 0.3
"""Baselines nearer than this (staff spaces) are one row."""

LONG, AS_SLURS = 16.0, 10
"""Words so wide, in spaces, are a line of type, and to end a line of music under them is as bad as in so many slurs."""


@dataclass(slots=True)
class Found:
    """A piece of words as it was met: its style, side, system, stave and baseline (spaces from the stave's middle)."""

    piece: int
    style: tuple[object, ...]
    above: bool
    system: int
    stave: int
    base: float


def in_rows(bars: Sequence[BarCut], words: Sequence[Found], extents: Sequence[Extent]) -> list[BarCut]:
    """The bars with every word and bracket given its row, and what stands beyond a row made to move with it."""
    row_of, bases = _rows(words)
    brackets = max(row_of.values(), default=-1) + 1
    out: list[BarCut] = []
    for bar in bars:
        with_rows = [
            replace(w, row=row_of.get(w.piece, -1), base=bases.get(w.piece, extents[w.piece].top)) for w in bar.words
        ]
        moved_brackets = [
            Bracket(
                b.piece,
                brackets + b.row,
                b.base,
                _beyond(b.row, True, b.base + 0.5, with_rows, extents, -1),
            )
            for b in bar.brackets
        ]
        moved = []
        for w in with_rows:
            e = extents[w.piece]
            after = _beyond(w.stave, w.above, e.bottom if w.above else e.top, with_rows, extents, w.row)
            for b in moved_brackets:
                if b.row - brackets == w.stave and w.above and w.row < 0 and e.top < b.base + 2.5:
                    inside = e.bottom > b.base and w.anchor == "start" and e.right - e.left < 4
                    if inside or e.bottom <= b.base + 0.2:
                        after = b.row
            if out and out[-1].system == bar.system and w.above and w.row < 0 and w.anchor == "start":
                after = _over_the_last(out[-1], w, extents, after)
            moved.append(replace(w, after=after))
        out.append(replace(bar, words=tuple(moved), brackets=tuple(moved_brackets)))
    return out


def _over_the_last(before: BarCut, word: Word, extents: Sequence[Extent], after: int) -> int:
    """The row of the bracket that ends in the bar before, when the word stands on that end; else `after`."""
    e = extents[word.piece]
    for b in before.brackets:
        end = extents[b.piece].right - before.width - before.margins[1]
        if e.left < end + CLEAR and e.bottom <= b.base + 0.2:
            return b.row
    return after


def _rows(words: Sequence[Found]) -> tuple[dict[int, int], dict[int, float]]:
    """The row of each piece, for styles most of whose words stand in rows; numbered outwards from the stave."""
    groups: dict[tuple[object, ...], list[list[Found]]] = defaultdict(list)
    for w in sorted(words, key=lambda w: abs(w.base)):
        if not w.style or w.style[0] not in ("glyph", "lyric"):
            continue
        rows = groups[(w.style, w.above, w.system, w.stave)]
        for row in rows:
            if abs(row[0].base - w.base) < SAME:
                row.append(w)
                break
        else:
            rows.append([w])
    in_row: Counter[tuple[object, ...]] = Counter()
    total: Counter[tuple[object, ...]] = Counter()
    for (style, above, _, _), rows in groups.items():
        for row in rows:
            total[(style, above)] += len(row)
            in_row[(style, above)] += len(row) if len(row) > 2 else 0
    numbers: dict[tuple[object, ...], int] = {}
    row_of: dict[int, int] = {}
    bases: dict[int, float] = {}
    for (style, above, _, stave), rows in groups.items():
        if in_row[(style, above)] < 5 or in_row[(style, above)] < 0.7 * total[(style, above)]:
            continue
        for rank, row in enumerate(rows):
            number = numbers.setdefault((style, above, stave, rank), len(numbers))
            for w in row:
                row_of[w.piece] = number
                bases[w.piece] = w.base
    _with_names(words, row_of, bases)
    return row_of, bases


def _with_names(words: Sequence[Found], row_of: dict[int, int], bases: dict[int, float]) -> None:
    """Diagrams move with the row of their chords' names, right over them."""
    for one in [w for w in words if w.style == DIAGRAM and w.above]:
        over = [
            w for w in words
            if w.piece in row_of and w.style != DIAGRAM and w.base < one.base
            and (w.above, w.system, w.stave) == (True, one.system, one.stave)
        ]  # fmt: skip
        if over:
            name = max(over, key=lambda w: w.base)
            row_of[one.piece], bases[one.piece] = row_of[name.piece], name.base


def _beyond(stave: int, above: bool, edge: float, words: Sequence[Word], extents: Sequence[Extent], own: int) -> int:
    """The row that something with its near edge at `edge` stands beyond, in this bar."""
    best, found = -1, 0.0
    for w in words:
        if w.row < 0 or w.row == own or w.stave != stave or w.above != above:
            continue
        o = extents[w.piece]
        middle = (o.top + o.bottom) / 2
        side = -1 if above else 1
        if edge * side > middle * side and (best < 0 or middle * side > found * side):
            best, found = w.row, middle
    return best if own < 0 or best < own else -1


class Rowed(msgspec.Struct, frozen=True):
    """What of a bar moves with rows."""

    system: int
    members: tuple[tuple[int, float, int, bool], ...]
    """What is in rows: the row, the height, the row beyond which it stands, and is it above the stave."""
    led: tuple[int, ...]
    """The rows that words at its left edge stand beyond."""


NOTHING = Rowed(-1, (), ())


def rowed(bar: BarCut) -> Rowed:
    """The same of one bar."""
    members = [(w.row, w.base, w.after, w.above) for w in bar.words if w.row >= 0]
    members += [(b.row, b.base, b.after, True) for b in bar.brackets]
    if bar.lines:
        members += [(line.row, line.y, -1, line.y < 0) for line in bar.lines if line.row >= 0]
    led = tuple([w.after for w in bar.words if w.after >= 0 and w.anchor == "start"])
    return Rowed(bar.system, tuple(members), led)


def shifts(bars: Sequence[Rowed]) -> list[dict[int, float]]:
    """For the bars of one line: how far each row moves in each bar so that it stands at one height (spaces, y down)."""
    out: list[dict[int, float]] = [{} for _ in bars]
    if len({b.system for b in bars}) < 2:
        return out
    members: dict[int, list[tuple[int, float, int, bool]]] = defaultdict(list)
    for n, bar in enumerate(bars):
        for row, base, after, above in bar.members:
            members[row].append((n, base, after, above))
    for row in sorted(members):
        of = members[row]
        if len(of) == 1:
            n, base, after, _ = of[0]
            if abs(by := base + out[n].get(after, 0.0) - base) > 0.02:
                out[n][row] = by
            continue
        found = [(n, base + out[n].get(after, 0.0), base) for n, base, after, _ in of]
        places = [place for _, place, _ in found]
        target = min(places) if of[0][3] else max(places)
        for n, _, base in found:
            if abs(target - base) > 0.02:
                out[n][row] = target - base
    for n, bar in enumerate(bars[1:], 1):
        for after in bar.led:
            if after in out[n - 1] and bars[n - 1].system == bar.system:
                out[n].setdefault(after, out[n - 1][after])
    return out


def spread(bars: Sequence[BarCut], extents: Sequence[Extent]) -> list[BarCut]:
    """The bars with the room that their words need across barlines: `squeeze`, `overhang`, `inset`, `crossing`."""
    out: list[BarCut] = []
    for n, bar in enumerate(_under_lines(bars, extents)):
        rows = [w for w in bar.words if w.row >= 0]
        begun = [extents[w.piece] for w in bar.words if w.anchor == "left" and w.row < 0]
        over = [e.right for w in bar.words if w.anchor == "left" and not is_long(e := extents[w.piece])]
        over += [min(e.right, bar.width + LONG) for e in begun if is_long(e)]
        overhang = max((right - bar.width for right in [*over, *(extents[w.piece].right for w in rows)]), default=0.0)
        inset = min((extents[w.piece].left for w in rows), default=1.0)
        out.append(replace(bar, overhang=round(max(overhang, 0.0), 3), inset=round(inset, 3)))
        before = out[n - 1] if n else None
        if before is not None and before.system == bar.system:
            least = _across(before, bar, extents)
            out[n - 1] = replace(before, squeeze=max(before.squeeze, least))
            out[n] = replace(out[n], squeeze=max(out[n].squeeze, least))
    return out


def is_long(extent: Extent) -> bool:
    """A line of words reaches over the bars behind its own, whatever they are, and little room is left for it."""
    return extent.right - extent.left > LONG


def _under_lines(bars: Sequence[BarCut], extents: Sequence[Extent]) -> list[BarCut]:
    """The bars; a line of music had better not end within a line of words."""
    out = list(bars)
    for n, bar in enumerate(bars):
        reach = max((extents[w.piece].right for w in bar.words if w.row < 0 and is_long(extents[w.piece])), default=0.0)
        while n < len(bars) and bars[n].system == bar.system and reach > bars[n].width:
            out[n] = replace(out[n], crossing=out[n].crossing + AS_SLURS)
            reach -= bars[n].width + bars[n].margins[1]
            n += 1
    return out


def _across(before: BarCut, bar: BarCut, extents: Sequence[Extent]) -> float:
    """The least factor of both bars' gaps at which words of one row keep clear across the barline."""
    least = 0.0
    for last in before.words:
        for first in bar.words:
            a, b = extents[last.piece], extents[first.piece]
            if last.stave != first.stave or min(a.bottom, b.bottom) <= max(a.top, b.top):
                continue
            if b.left > 4 or before.width - a.right > 4:
                continue
            line = before.margins[1] + bar.margins[0]
            clear = before.width - a.right + line + b.left - CLEAR
            flexible = _gaps(before, last.at, before.width) + _gaps(bar, 0.0, first.at)
            if flexible > 0.01:
                least = max(least, min(1.0, 1 - clear / flexible))
    return round(least, 3)


def _gaps(bar: BarCut, a: float, b: float) -> float:
    return max(0.0, b - a - sum(max(0.0, min(b, y) - max(a, x)) for x, y in bar.columns))
