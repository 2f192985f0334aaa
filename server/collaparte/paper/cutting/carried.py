"""Lines of dashes and trills that printed lines of music broke: one again, of one word and at one height."""

from collections.abc import Sequence

from msgspec.structs import replace

from collaparte.paper.cutting.spans import APART
from collaparte.paper.cutting.table import BarCut, Extent, Line, Word

HEIGHT = 0.3
"""Parts of one line in one printed line of music stand at one height, but for so much."""

Place = tuple[int, int]
"""A line: its bar's place in the part, and its own among the bar's."""


def carried(bars: Sequence[BarCut], extents: Sequence[Extent]) -> list[BarCut]:
    """The bars with such lines going on."""
    before: dict[Place, Place] = {}
    for n in range(1, len(bars)):
        for k, line in enumerate(bars[n].lines):
            found = _before(line, bars[n - 1], bars[n], extents)
            if found is not None:
                before[n, k] = n - 1, found
    rows = 1 + max((w.row for b in bars for w in b.words), default=-1)
    rows = max(rows, 1 + max((b.row for bar in bars for b in bar.brackets), default=-1))
    out = list(bars)
    for chain in _chains(before):
        text = next((line.text for n, k in chain if (line := bars[n].lines[k]).text), "")
        broken = len({bars[n].system for n, _ in chain}) > 1
        for place, (n, k) in enumerate(chain):
            lines = list(out[n].lines)
            row = rows if broken else -1
            lines[k] = replace(lines[k], text=text, came=place > 0, goes=place < len(chain) - 1, row=row)
            out[n] = replace(out[n], lines=tuple(lines))
        for place, (n, k) in enumerate(chain if broken else ()):
            if not place or bars[n].system != bars[chain[place - 1][0]].system:
                words = tuple(_with(w, out[n].lines[k], extents, place > 0) for w in out[n].words)
                out[n] = replace(out[n], words=words)
        rows += broken
    return out


def _before(line: Line, before: BarCut, bar: BarCut, extents: Sequence[Extent]) -> int | None:
    """Which line of the bar before goes on as this one: where print broke it, no dash stands further from the edge."""
    if bar.index != before.index + max(1, before.count) and not (bar.continued and bar.index == before.index):
        return None
    alike = [(k, b) for k, b in enumerate(before.lines) if b.stave == line.stave and (b.y < 0) == (line.y < 0)]
    if bar.system == before.system:
        near = [(k, b) for k, b in alike if line.came and b.goes and abs(b.y - line.y) < HEIGHT]
    else:
        if line.came or extents[line.piece].left > APART:
            return None
        near = [(k, b) for k, b in alike if extents[b.piece].right > before.width - APART and line.text in ("", b.text)]
    return min(near, key=lambda one: abs(one[1].y - line.y))[0] if near else None


def _chains(before: dict[Place, Place]) -> list[list[Place]]:
    """Lines that go on over two bars or more, first part first."""
    after = {b: a for a, b in before.items()}
    out: list[list[Place]] = []
    for first in after:
        if first not in before:
            chain = [first]
            while chain[-1] in after:
                chain.append(after[chain[-1]])
            out.append(chain)
    return out


def _with(word: Word, line: Line, extents: Sequence[Extent], again: bool) -> Word:
    """The words that a line begins with move with it, those that it goes on with as well."""
    e, at = extents[word.piece], extents[line.piece].left
    level = word.stave == line.stave and e.top - 0.5 < line.y < e.bottom + 0.5
    mine = level and word.row < 0 and word.after < 0 and at - APART < e.right < at + 0.6
    return replace(word, after=line.row, again=again) if mine else word
