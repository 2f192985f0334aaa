"""Which bar a jump's sign or words belong to: by how near they stand, the barlines, and where sections end."""

import re
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from functools import lru_cache
from typing import NamedTuple

from msgspec.structs import replace

from collaparte.paper.reading import Barline, BarlineKind, Box, Sign, SignKind
from collaparte.paper.sight.lines import STRONG, MusicLine, line_below, line_near
from collaparte.paper.sight.strokes import Glyph, Rule
from collaparte.paper.sight.words import PHRASE_GAP

LANDING = frozenset((SignKind.DS_AL_CODA, SignKind.DC_AL_CODA))
LAST = frozenset((SignKind.DS_AL_FINE, SignKind.DC_AL_FINE, SignKind.DS, SignKind.DC))
BACK = LAST | LANDING
UNLED = re.compile(r"(d[sc]|dalsegno|dacapo)al?")
"""A jump back that does not say where it leads."""
LEVEL, ALIKE = 0.03, 1.05
"""Words set as one have one baseline and size, but for so much: shares of their size, and times."""
DOUBTFUL = 0.85
CLASH = 10.0
"""What it costs at most, in spaces, that a Fine stands where a jump back does."""
CLOSE = 2.0
"""Words so near to a stave, in spaces, are hardly another line's, wherever its barlines stand."""
NEXT_BAR, NEXT_LINE = 1.5, 3.0
"""Words are surely at a bar that suits so much better, in spaces, than others of its line and of other lines: words
between two lines that suit both are a space nearer to theirs."""
OTHERS = 3.0
"""Words so much nearer to another line, in spaces, than to the one they suit may be the other's."""
INK = frozenset(("head", "accidental", "rest", "flag", "dot", "other"))
"""What stands at a stave's notes, articulations among the others: words are set clear of it."""
SIGNS = frozenset(("segno", "coda", "jump"))
HANGS = 1.0
"""Letters and figures (of tuplets, chords, dynamics) no further from these, in spaces, are at the same stave."""
STEM = 3.5
BESIDE = 0.3
"""A stem's side is so near its head's, in spaces."""
STEMS = 1.8, 0.3
"""Stems are longer and thinner than this, in spaces."""
FAR_BEYOND = 3.0
"""Words that end before their barline lose no more than this, close ones half: some are set at a bar's start."""
ASTRIDE = 0.6
"""Words that begin so much before a barline, in spaces, may have been set to it."""
BEGUN = 4.0
"""What words are worth, in spaces, that begin right at the barline of the bar that they close: so those are set that
stand behind a bar's last note in an exchange file (common practice)."""
ALIGNED = 1.0
"""Words end at a section's end whose barline is no further off, in spaces, wherever they begin."""
OVER_END = 3.0
"""What it costs, in spaces, that a To Coda ends at a plain barline and stands over the one before, where a section
ends: that is where one leaves."""
FARTHEST = 14.0
"""Jump words and signs are at most so many spaces from their stave."""


class Found(NamedTuple):
    """A sign or words before their bar is known."""

    kind: SignKind
    text: str
    box: Box
    bare: bool
    """A sign without words."""
    outlined: bool = False
    """Words told by their letters' shapes: a part of them may not have been told."""
    behind: Box | None = None
    """A coda sign right behind words that have said it already."""
    foot: float = 0.0
    """The words' baseline,"""
    size: float = 0.0
    """and their size."""

    def is_row_with(self, other: "Found") -> bool:
        """Whether other words were set as one with these, a word's gap before them."""
        level = abs(self.foot - other.foot) < LEVEL * self.size
        alike = 1 / ALIKE < other.size / self.size < ALIKE if self.size and other.size else False
        return level and alike and 0 < other.box[0] - self.box[2] < PHRASE_GAP * self.size


class Bars(NamedTuple):
    """What is known of the bars by the signs and marks that stand at them."""

    landings: AbstractSet[int]
    """Where codas begin,"""
    opening: AbstractSet[int]
    """where a mark says that a section begins,"""
    turns: AbstractSet[int] = frozenset()
    """where a first ending leads back to its repeat's start,"""
    roofs: Sequence[tuple[int, Box]] = ()
    """the brackets of endings, by page: words over one are at its line;"""
    marks: Sequence[tuple[int, Box]] = ()
    """the boxes of marks, by page, which stand over their line;"""
    stems: Mapping[int, Sequence[Rule]] = {}
    """and what may be notes' stems, by page."""


def stems(rules: Sequence[Rule], space: float) -> list[Rule]:
    """What of a page's rules may be notes' stems."""
    long, thin = STEMS[0] * space, STEMS[1] * space
    return [r for r in rules if r.y1 - r.y0 > long and r.x1 - r.x0 < thin]


@lru_cache(4096)  # as many chord names as a page holds are asked again and again
def bare(text: str) -> str:
    """Words without spaces and points, in small letters."""
    return re.sub(r"[\s.…,:;()\[\]*\"'“”-]+", "", text.lower())


def at_start(found: Found, lines: Sequence[MusicLine]) -> Sign | None:
    """A sign that stands where a bar begins."""
    kind, text, box, bare = found[:4]
    line = line_below(lines, box) if bare or kind is SignKind.SEGNO else line_near(lines, box)
    if line is None or not line.bars or _gap(line, box) > FARTHEST:
        return None
    bar, distance = line.bar_starting([(box[0] + box[2]) / 2, box[0]])
    return Sign(kind, bar, "start", line.page, box, text, 1.0 if distance < 4 * line.space else DOUBTFUL)


def at_ends(
    found: Sequence[tuple[Found, Sequence[MusicLine]]], bars: Bars
) -> list[tuple[Found, Sequence[MusicLine], Sign]]:
    """Words at bars' ends, each with where it stands; the Fines last.

    No piece ends where it jumps back: of a Fine and a jump at one bar that goes elsewhere which loses less by it.
    """
    out: list[tuple[Found, Sequence[MusicLine], Sign]] = []
    taken: dict[int, float] = {}
    for one, lines in sorted(found, key=lambda pair: pair[0].kind is SignKind.FINE):
        others = [f for f, _ in found if f is not one]
        sign, loses = _in_row(one, others, lines, bars, taken if one.kind is SignKind.FINE else {})
        if sign is None:
            continue
        if one.kind is SignKind.FINE and 0 < taken.get(sign.bar, 0) < CLASH:
            n = next(n for n, (_, _, other) in enumerate(out) if other.bar == sign.bar)
            jump, its_lines, _ = out[n]
            moved, _ = at_end(jump, its_lines, bars, {sign.bar: CLASH})
            if moved is not None and moved.bar != sign.bar:
                out[n] = jump, its_lines, replace(moved, confidence=DOUBTFUL)
                taken[moved.bar] = CLASH
        out.append((one, lines, sign))
        taken[sign.bar] = loses if one.kind in BACK and sign.bar not in taken else CLASH
    return out


def _in_row(
    one: Found, others: Sequence[Found], lines: Sequence[MusicLine], bars: Bars, taken: Mapping[int, float]
) -> tuple[Sign | None, float]:
    """As `at_end`, of words that may be set as one with those behind them."""
    sign, loses = at_end(one, lines, bars, taken)
    row = _row_of(one, others, lines) if sign else None
    if sign is not None and row is not None:
        as_row, _ = at_end(one._replace(box=row), lines, bars, taken)
        if as_row is not None and as_row.bar != sign.bar:  # of the bar that the row ends, or of one before
            return replace(sign, bar=as_row.bar, confidence=DOUBTFUL), CLASH
    return sign, loses


def _row_of(one: Found, others: Sequence[Found], lines: Sequence[MusicLine]) -> Box | None:
    """The box of words and those that were set as one with them: they end together.

    None when there are none, or the words end at a barline of their own.
    """
    behind = next((other for other in others if one.is_row_with(other)), None)
    line = line_near(lines, one.box)
    if behind is None or line is None or any(line.ends_at(b, one.box[2]) for b in line.barlines):
        return None
    return (one.box[0], one.box[1], behind.box[2], one.box[3])


def at_end(
    found: Found, lines: Sequence[MusicLine], bars: Bars, taken: Mapping[int, float]
) -> tuple[Sign | None, float]:
    """Words at a bar's end: over or under the line that they are near to and whose barlines they suit; and what they
    would lose at any other bar. `taken`: what it costs to stand at a bar, where others do."""
    kind, text, box, _, outlined = found[:5]
    costs, clear = [], {}
    astride: set[int] = (
        set()
    )  # words over a barline that end at the next one, or begin at the last: either may be meant
    for row, line in enumerate(lines):
        x0, _, x1, _ = line.system.bbox
        if (
            line.bars
            and _gap(line, box) < FARTHEST
            and not _is_roofed(line, box, bars)
            and x0 - 4 * line.space < (box[0] + box[2]) / 2 < x1 + 4 * line.space
        ):
            ending, gap = line.bars_ending(box[0], box[2]), _clear(line, box, bars)
            aligned = any(
                under and abs(under.x0 - box[2]) < ALIGNED * line.space and _ends_section(bar, under, bars)
                for bar, under in ending
            )
            for bar, under in ending:
                end = under or (_strong_end(line, bar) if kind is SignKind.FINE else None)
                clash = taken.get(bar, 0.0)
                begun = BEGUN if under and not aligned and line.begins_at(under, box[0]) else 0
                over = _astride(box, bar, line) if under and under.kind not in STRONG else None
                if over and kind is SignKind.TO_CODA and _ends_section(_first(line, bar) - 1, over, bars):
                    clash += OVER_END
                costs.append((_cost(kind, box, line, bar, end, bars, gap) + clash - begun, row, bar))
                clear[bar] = gap
                over_next = begun and any(e and under and under.x1 < e.x0 < box[2] for _, e in ending)
                if over_next or over:
                    astride.add(bar)
    if not costs:
        return None, CLASH
    costs.sort(key=lambda c: c[0])
    cost, row, bar = costs[0]
    loses = min([CLASH, *(other - cost for other, _, where in costs[1:] if where != bar)])
    sure = all(other - cost > (NEXT_BAR if at == row else NEXT_LINE) or where == bar for other, at, where in costs[1:])
    sure = sure and clear[bar] - min(clear.values()) < OTHERS  # words at one line that suit another's barline
    sure = sure and not (outlined and kind in (SignKind.DS, SignKind.DC))  # "al Coda" may follow
    sure = sure and not UNLED.fullmatch(bare(text))
    sure = sure and not (kind is SignKind.TO_CODA and bar in astride)
    return Sign(kind, bar, "end", lines[row].page, box, text, 1.0 if sure else DOUBTFUL), loses


def _is_roofed(line: MusicLine, box: Box, bars: Bars) -> bool:
    """Whether an ending's bracket stands between a line and words under it: they are at the bracket's line."""
    foot = line.system.bbox[3]
    over = (r for page, r in bars.roofs if page == line.page and box[0] < r[2] and r[0] < box[2])
    return any(foot < r[1] < box[1] for r in over)


def _ends_section(bar: int, end: Barline, bars: Bars) -> bool:
    return end.kind in STRONG or bar + 1 in bars.opening


def _astride(box: Box, bar: int, line: MusicLine) -> Barline | None:
    """The barline before a bar, where words stand over it, too, and begin clearly before it."""
    before = next(p.before for b, p in zip(line.bars, line.parts, strict=True) if b.number + b.count - 1 == bar)
    stands = before is not None and box[0] + ASTRIDE * line.space < before.x0 and before.x1 < box[2] - line.space
    return before if stands else None


def _first(line: MusicLine, bar: int) -> int:
    """The first of the bars that a bar as drawn stands for, by the last of them."""
    return next(b.number for b in line.bars if b.number + b.count - 1 == bar)


def _strong_end(line: MusicLine, bar: int) -> Barline | None:
    """The barline that ends a bar, where a section ends with it: a Fine may be set under the bar's notes."""
    after = next((p.after for b, p in zip(line.bars, line.parts, strict=True) if b.number + b.count - 1 == bar), None)
    return after if after is not None and after.kind in STRONG else None


def _cost(kind: SignKind, box: Box, line: MusicLine, bar: int, end: Barline | None, bars: Bars, gap: float) -> float:
    """How ill words that stand `gap` spaces clear of a line suit it, in spaces of distance that it is worth.

    Common practice: jumps stand at double, final or repeat barlines or before a mark, and their words end there; the
    coda follows right after the jump to it, a Fine's jump is the piece's end; To Coda stands over the stave.
    """
    cost = gap - 2 * max(0.0, CLOSE - gap)
    if end is None:
        cost += 8
    else:
        cost += 0 if _ends_section(bar, end, bars) else {SignKind.TO_CODA: 3.5, SignKind.FINE: 6}.get(kind, 8)
        apart = min(abs(end.x0 - box[2]), abs(end.x1 - box[2]), abs(end.x - box[2])) / line.space
        cost += 2 * apart - 4 if line.ends_at(end, box[2]) else 0.05 * apart
        beyond = (end.x0 - box[2]) / line.space
        cost += min(0.8 * beyond, FAR_BEYOND / (1 if gap > CLOSE else 2)) if beyond > 0.8 else 0
        if end.kind is BarlineKind.FINAL and kind in LAST:
            cost -= 5
    if kind is not SignKind.TO_CODA and bar in bars.turns:  # who plays there is on the way back already
        cost += 6
    if kind in LANDING and bars.landings:
        cost += -6 if bar + 1 in bars.landings else 6
    if kind is SignKind.TO_CODA and box[1] > line.system.bbox[1]:
        cost += 12
    return cost


def _clear(line: MusicLine, box: Box, bars: Bars) -> float:
    """How far words stand from a line's stave, or from its notes, stems and endings over or under them, in spaces.

    Stems that are not told are 3.5 spaces long; they go down from heads on the middle line and above, else up (common
    practice).
    """
    _, top, _, bottom = line.system.bbox
    between = max(line.system.y_above, box[3] - line.space)
    over = [r for page, r in bars.roofs if page == line.page and box[0] < r[2] and r[0] < box[2]]
    top = min([top, *(r[1] for r in over if r[1] > between)])
    stems = [r for r in bars.stems.get(line.page, ()) if box[0] - line.space < r.x1 and r.x0 < box[2] + line.space]
    signs = [g for g in line.system.glyphs if box[0] < g.x1 and g.x0 < box[2] and not _holds(box, g)]
    # Marks and signs stand over their stave (common practice): they are the next line's.
    marks = [mark for page, mark in bars.marks if page == line.page and _meet(mark, box)]
    above = sorted((g for g in signs if g.y1 < box[1] + 0.5 * line.space and g.kind not in SIGNS), key=lambda g: g.y0)
    above = [g for g in above if not any(_holds(mark, g) for mark in marks)] if marks else above
    below = sorted((g for g in signs if g.y0 > box[3] - 0.5 * line.space), key=lambda g: -g.y1)
    for sign in above:
        if sign.kind in INK or sign.y0 - bottom < HANGS * line.space:
            bottom = max(bottom, sign.y1, min(_reach(sign, stems, line)[1], box[1]))
    for sign in below:
        if sign.kind in INK or top - sign.y1 < HANGS * line.space:
            top = min(top, sign.y0, max(_reach(sign, stems, line)[0], box[3]))
    return max(top - box[3], box[1] - bottom, 0.0) / line.space


def _meet(mark: Box, box: Box) -> bool:
    return box[0] < mark[2] and mark[0] < box[2]


def _holds(box: Box, sign: Glyph) -> bool:
    return box[0] <= sign.x0 and sign.x1 <= box[2] and box[1] <= sign.y0 and sign.y1 <= box[3]


def _reach(head: Glyph, stems: Sequence[Rule], line: MusicLine) -> tuple[float, float]:
    """How high and how low a sign reaches, a note with its stem."""
    space, middle = line.space, (head.y0 + head.y1) / 2
    if head.kind != "head" or head.value not in ("black", "half"):
        return head.y0, head.y1
    for r in stems:
        beside = min(abs(r.x0 - head.x0), abs(r.x1 - head.x1)) < BESIDE * space
        if beside and r.y0 - BESIDE * space < middle < r.y1 + BESIDE * space:
            return min(head.y0, r.y0), max(head.y1, r.y1)
    down = middle < line.system.staves[-1].middle + 0.3 * space
    up = middle > line.system.staves[0].middle - 0.3 * space
    return (middle - STEM * space if up else head.y0), (middle + STEM * space if down else head.y1)


def _gap(line: MusicLine, box: Box) -> float:
    return max(line.system.bbox[1] - box[3], box[1] - line.system.bbox[3]) / line.space
