"""How long a bar's content lasts, for telling a pickup where no bar number does."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise
from operator import attrgetter
from statistics import median
from typing import NamedTuple

from msgspec.structs import replace

from collaparte.paper.reading import SILENT
from collaparte.paper.sight.bars import Segment
from collaparte.paper.sight.heads import between, on_stave
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import OUTLINE, Blob, Glyph, Rule

QUARTERS = {
    "maxima": 32.0,
    "longa": 16.0,
    "breve": 8.0,
    "whole": 4.0,
    "half": 2.0,
    "quarter": 1.0,
    "8th": 0.5,
    "16th": 0.25,
    "32nd": 0.125,
}
QUIET = ("rest", "h-bar")
WHOLE_BAR = 99.0
"""A whole rest alone fills its bar, whatever the meter."""
NEAR, FAR = 6.0, 8.0
"""Notes of a stave are no further from its outer lines, in spaces; the second where it has no neighbour."""
REACH = 25.0
"""Stems and beams of a stave's notes are no further off than this, in spaces: a cross-stave beam is some 15 off."""
BEAMS = 0.4
"""Beams are further apart than this, in spaces: half a space of ink and a gap (SMuFL's defaults: 0.5 and 0.25)."""
POINT = (0.25, 0.55)
"""A dot is so many spaces wide; SMuFL's faces have 0.4."""
FULL = 0.9
"""A first bar shorter than this share of the others is a pickup; triplets make bars seem longer, not shorter."""
TRIPLET = 2 / 3
"""So much of what is counted a triplet's notes last."""

ASIDE = 0.05
"""Heads that sound together overlap by more than this, in spaces, where they do not stand over each other."""
SHORTEST = 1 / 64
"""No note is so short, in quarter notes."""


class Strokes:
    """A page's rules and shapes by their left edge: the few of them that stand in one bar are found at once."""

    def __init__(self, rules: Sequence[Rule], blobs: Sequence[Blob]) -> None:
        self._rules, self._blobs = rules, blobs

    @cached_property
    def _rule_order(self) -> tuple[list[int], list[float]]:
        return _from_left(self._rules)

    @cached_property
    def _blob_order(self) -> tuple[list[int], list[float]]:
        return _from_left(self._blobs)

    def in_bar(self, part: Segment, stave: StaveLines) -> tuple[list[Rule], list[Blob]]:
        """Those that lie between a bar's ends, a space further at most, and near the stave, in the page's order."""
        left, right = part.x0 - stave.space, part.x1 + stave.space
        top, foot = stave.top - REACH * stave.space, stave.bottom + REACH * stave.space
        order, lefts = self._rule_order
        rules = [self._rules[n] for n in sorted(order[bisect_right(lefts, left) : bisect_left(lefts, right)])]
        order, lefts = self._blob_order
        blobs = [self._blobs[n] for n in sorted(order[bisect_right(lefts, left) : bisect_left(lefts, right)])]
        return (
            [rule for rule in rules if rule.x1 < right and rule.y1 > top and rule.y0 < foot],
            [blob for blob in blobs if blob.x1 < right and blob.y1 > top and blob.y0 < foot],
        )


def _from_left(things: Sequence[Rule] | Sequence[Blob]) -> tuple[list[int], list[float]]:
    """The places of things in order of their left edges, and those edges."""
    lefts = [thing.x0 for thing in things]
    order = sorted(range(len(lefts)), key=lefts.__getitem__)
    return order, [lefts[n] for n in order]


def begins_with_pickup(lines: Sequence[MusicLine], ink: Strokes) -> bool | None:
    """Whether the first bar of a part is short; None when its lengths are not understood, or triplets may make it."""
    first = lines[0]
    if not first.parts or first.counts[0].bars > 1:
        return False
    expected = meter_quarters(first.head.meter) or _usual(first, ink)
    lasts = quarters(first.parts[0], first, ink)
    if expected is None or lasts is None:
        return None
    if lasts > (2 - FULL) * expected and TRIPLET * lasts < FULL * expected:
        return None
    return lasts < FULL * expected


def silence(part: Segment, line: MusicLine, bars: int) -> tuple[float, float]:
    """How long the rests are that the bar begins and ends in, in quarter notes, in every stave and voice."""
    if bars > 1:
        return SILENT, SILENT
    rests = sum([g.kind in QUIET for g in part.music])
    if not rests:
        return 0.0, 0.0
    sounding = [g for g in part.music if g.kind != "flag"]
    if rests == len(sounding):
        return SILENT, SILENT
    width = max(g.x1 - g.x0 for g in sounding)
    columns = _columns(sounding, width)
    if _sounds(columns[0]) and _sounds(columns[-1]):
        return 0.0, 0.0
    dots = [g for g in between(line.system.glyphs, part.x0, part.x1) if g.kind == "dot"]
    ends = len(line.system.staves) == 1 or _all_end(part, line)
    return _quiet(columns, dots, line.space), _quiet(columns[::-1], dots, line.space) if ends else 0.0


def _all_end(part: Segment, line: MusicLine) -> bool:
    """Whether what stands last on every stave is a rest: a note of another stave may sound on beside the last rests."""
    last: dict[StaveLines, Glyph] = {}
    for sign in part.music:
        if sign.kind != "flag":
            last[_nearest(sign, line.system.staves)] = sign
    return all(sign.kind in QUIET for sign in last.values())


def _nearest(sign: Glyph, staves: Sequence[StaveLines]) -> StaveLines:
    y = (sign.y0 + sign.y1) / 2
    return min(staves, key=lambda stave: max(stave.top - y, y - stave.bottom))


def _columns(signs: Sequence[Glyph], width: float) -> list[list[Glyph]]:
    """Signs that stand over each other, from the left; a column is no wider than the widest sign."""
    columns: list[list[Glyph]] = []
    for sign in signs:
        if columns and sign.x0 - columns[-1][0].x0 < width:
            columns[-1].append(sign)
        else:
            columns.append([sign])
    return columns


def _sounds(column: Sequence[Glyph]) -> bool:
    return any(sign.kind not in QUIET for sign in column)


def _quiet(columns: Sequence[Sequence[Glyph]], dots: Sequence[Glyph], space: float) -> float:
    """The length of the rests of the first columns, up to a note."""
    total = 0.0
    for column in columns:
        if _sounds(column):
            break
        total += min(QUARTERS.get(rest.value, 1.0) * _dotted(rest, dots, space) for rest in column)
    return total


def quarters(part: Segment, line: MusicLine, ink: Strokes) -> float | None:
    """The bar's length in quarter notes, by what stands on all its staves; None when nothing stands there."""
    signs = [(stave, own) for stave in line.system.staves if (own := _signs(stave, part, line))]
    moving = [(stave, own) for stave, own in signs if not _fills_bar(own)]
    if not moving:
        return WHOLE_BAR if signs else None
    stood = [one for stave, own in moving for one in _lasting(stave, own, part, line, ink)]
    return sum(length for _, length in _one_after_the_other(sorted(stood, key=_left), line.space))


def _fills_bar(signs: Sequence[Glyph]) -> bool:
    """Whether a rest stands alone, as long as its bar whatever it looks like."""
    return len(signs) == 1 and signs[0].kind == "rest" and signs[0].value in ("whole", "breve")


def meter_quarters(meter: str) -> float | None:
    """The length in quarter notes of a bar of this meter, as "6/8"; None when it says none."""
    over, _, under = meter.partition("/")
    if over.isdecimal() and under.isdecimal() and int(under):
        return 4 * int(over) / int(under)
    return None


def _usual(line: MusicLine, ink: Strokes) -> float | None:
    lengths = [quarters(part, line, ink) for part in line.parts[1:]]
    known = [length for length in lengths if length is not None]
    return median(known) if known else None


def _signs(stave: StaveLines, part: Segment, line: MusicLine) -> list[Glyph]:
    staves = line.system.staves
    signs = [g for g in part.music if g.kind in ("head", "rest")]
    if len(staves) == 1:
        return [g for g in signs if on_stave(g, stave, FAR)]
    return [g for g in signs if on_stave(g, stave, NEAR) and _nearest(g, staves) is stave]


def steps(stave: StaveLines, part: Segment, line: MusicLine, ink: Strokes) -> list[tuple[float, float]]:
    """What stands on the stave one after the other: its left edge, and how many quarter notes it lasts."""
    signs = _signs(stave, part, line)
    return (
        _one_after_the_other(sorted(_lasting(stave, signs, part, line, ink), key=_left), stave.space) if signs else []
    )


class _Lasting(NamedTuple):
    """A note or rest: its left and right edges, whether it is a note, and how many quarter notes it lasts."""

    x0: float
    x1: float
    is_note: bool
    quarters: float


_left = attrgetter("x0")


def _lasting(stave: StaveLines, signs: Sequence[Glyph], part: Segment, line: MusicLine, ink: Strokes) -> list[_Lasting]:
    """How long each of a stave's signs in a bar lasts, but for those of cue size."""
    space = stave.space
    usual = max(g.size for g in signs)
    near = [
        replace(g, kind="dot") if _is_point(g) else g
        for g in between(line.system.glyphs, part.x0 - space, part.x1)
        if (g.kind in ("dot", "flag") or _is_point(g)) and on_stave(g, stave, 8.0)
    ]
    rules, blobs = ink.in_bar(part, stave)
    near += [dot for b in blobs if part.x0 < b.x0 < part.x1 and (dot := _small_point(b, stave))]
    strokes = _strokes(stave, rules, blobs)
    return [
        _Lasting(g.x0, g.x1, g.kind == "head", _length(g, near, strokes, space)) for g in signs if g.size > 0.75 * usual
    ]


def _one_after_the_other(signs: Sequence[_Lasting], space: float) -> list[tuple[float, float]]:
    """From signs by their left edges, each column's left edge, and how long it is from there to the next.

    In several voices that is until the first of what sounds then ends.
    """
    columns: list[tuple[float, list[float]]] = []
    right = 0.0
    for sign in signs:
        # Heads that would touch, a second apart or of voices that cross, are set off beside each other.
        aside = sign.is_note and sign.x0 < right - ASIDE * space
        if columns and (aside or sign.x0 - columns[-1][0] <= 0.7 * space):
            columns[-1][1].append(sign.quarters)
        else:
            columns.append((sign.x0, [sign.quarters]))
            right = 0.0
        right = max(right, sign.x1) if sign.is_note else right
    now, ends = 0.0, list[float]()
    out: list[tuple[float, float]] = []
    for x, lengths in columns:
        ends = [end for end in ends if end > now + SHORTEST] + [now + length for length in lengths]
        until = min(ends)
        out.append((x, until - now))
        now = until
    return out


def _is_point(glyph: Glyph) -> bool:
    """A dot off the stave that is known by its shape alone looks like a full stop."""
    return glyph.font == OUTLINE and glyph.value == "."


def _small_point(blob: Blob, stave: StaveLines) -> Glyph | None:
    """A dot off the stave that is a shape without a name, as among ledger lines."""
    wide, high = (blob.x1 - blob.x0) / stave.space, (blob.y1 - blob.y0) / stave.space
    if not blob.filled or not all(POINT[0] < side < POINT[1] for side in (wide, high)) or abs(wide - high) > 0.1:
        return None
    dot = Glyph(*blob.box, blob.x0, blob.y1, stave.space, "dot", "", OUTLINE, True)
    return dot if on_stave(dot, stave, 8.0) else None


class _InBar(NamedTuple):
    """What of a bar's ink may be stems of heads on or near the stave, level beams, and slanted ones."""

    stems: list[Rule]
    level: list[Rule]
    slanted: list[Blob]


def _strokes(stave: StaveLines, inside: Sequence[Rule], blobs: Sequence[Blob]) -> _InBar:
    space = stave.space
    top, bottom = stave.top - 5 * space, stave.bottom + 5 * space
    return _InBar(
        [r for r in inside if r.x1 - r.x0 < 0.3 * space and r.y1 - r.y0 > 1.8 * space and top < r.y1 and r.y0 < bottom],
        [r for r in inside if 0.3 * space < r.y1 - r.y0 < 0.8 * space and r.x1 - r.x0 > 0.8 * space],
        [
            b
            for b in blobs
            if b.filled and b.x1 - b.x0 > 0.8 * space and len(b.items) < 7 and all(i[0] == "l" for i in b.items)
        ],
    )


def _length(sign: Glyph, near: Sequence[Glyph], strokes: _InBar, space: float) -> float:
    if sign.kind == "rest":
        length = QUARTERS.get(sign.value, 1.0)
    elif sign.value in QUARTERS:
        length = QUARTERS[sign.value]
    else:
        length = 0.5 ** _beams(sign, near, strokes, space)
    return length * _dotted(sign, near, space)


def _dotted(sign: Glyph, near: Sequence[Glyph], space: float) -> float:
    """What the sign's dots lengthen it by."""
    y = (sign.y0 + sign.y1) / 2
    dots = [
        g
        for g in near
        if g.kind == "dot" and 0 < g.x0 - sign.x1 < 1.3 * space and abs((g.y0 + g.y1) / 2 - y) < 0.8 * space
    ]
    return 1.5 if len(dots) == 1 else 1.75 if dots else 1.0


def _beams(head: Glyph, near: Sequence[Glyph], strokes: _InBar, space: float) -> int:
    """How many flags or beams the head's stem has."""
    y = (head.y0 + head.y1) / 2
    stems = [
        r
        for r in strokes.stems
        if min(abs(r.x0 - head.x0), abs(r.x1 - head.x1)) < 0.3 * space and r.y0 - 0.6 * space < y < r.y1 + 0.6 * space
    ]
    if not stems:
        return 0
    stem = max(stems, key=lambda r: r.y1 - r.y0)
    x = (stem.x0 + stem.x1) / 2
    flags = [
        g
        for g in near
        if g.kind == "flag" and abs(g.x0 - x) < 0.4 * space and g.y0 < stem.y1 + space and g.y1 > stem.y0 - space
    ]
    if flags:
        return {"8th": 1, "16th": 2, "32nd": 3, "64th": 4}.get(flags[0].value, 1)
    level = [
        (r.y0 + r.y1) / 2
        for r in strokes.level
        if r.x0 - 0.2 * space < x < r.x1 + 0.2 * space and stem.y0 - space < r.y0 < stem.y1
    ]
    slanted = [
        _height_at(b, x)
        for b in strokes.slanted
        if b.x0 - 0.2 * space < x < b.x1 + 0.2 * space and b.y0 < stem.y1 and b.y1 > stem.y0
    ]
    # A beam may be filled and stroked, or drawn to its half from both sides.
    heights = sorted(level + slanted)
    return len(heights[:1]) + sum(other - one > BEAMS * space for one, other in pairwise(heights))


def _height_at(beam: Blob, x: float) -> float:
    """Where a slanted beam's middle is at x."""
    points: list[tuple[float, float]] = [point for item in beam.items for point in item[1:]]
    left, right = min(u for u, _ in points), max(u for u, _ in points)
    starts, ends = ([v for u, v in points if abs(u - side) <= 0.1 * (right - left)] for side in (left, right))
    low, high = (min(starts) + max(starts)) / 2, (min(ends) + max(ends)) / 2
    return low + (high - low) * (x - left) / (right - left)
