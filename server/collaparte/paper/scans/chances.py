"""How likely a scanned line has a bar too few or too many: by its bars' widths, its strokes and its rests. Pure.

A bar in which a barline was missed is wide, and one that a stem was taken to end is narrow: how much that tells was
learned from the bars of scanned charts, single and two together (`tests/paper/scan_chances.py`).
"""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from collaparte.paper.reading import BarlineKind, Box
from collaparte.paper.sight.bars import STARTS, Segment, plays
from collaparte.paper.sight.lines import Count, MusicLine

ODDS = (-6.69, 4.27, 12.72)
"""The logarithm of the odds that a bar is two: a constant, and what the logarithms of its width beside its line's other
bars and beside the part's add to it (learned from 88 charts)."""
CLEAR, NEVER_IN_DOUBT = 0.95, 0.999
"""A barline at least so likely is not in doubt; of one above the second nothing leaves a doubt."""
LAST_WIDER = 1.6
"""The same of a part's last bar less this: it is wide more often (of 1,282 scanned ones 5 % had odds over 1.5, of other
bars 0.4 %)."""
UNSEEN, UNSEEN_FINE = 0.0015, 0.0003
"""How often a barline is not seen at all, before widths are looked at (9 of 5,969 bars), and where a stave's space has
`FINE` pixels (6 of 31,697 bars of 1,292 charts);"""
FINE = 12.0
HIDDEN, EXACT = 0.005, 0.25
"""and in a bar where something is as high as its stave, off by the second at most at each end, in spaces: pencil that
touches a barline looks like a note on its stem (one bar of 600 charts)."""
REJECTED = ((0.2, 0.005), (0.5, 0.02), (1.0, 0.3))
"""how often a stroke that was not taken is one, up to each likelihood that it had (3 of 1,120, 6 of 240, 39 of 540, 15
of 34);"""
NO_BARLINE, NO_CLEAR_ONE = 0.0005, 0.0001
"""and how often a stroke that was surely taken for one is none (0 of 8,975), and one of which nothing leaves a doubt (1
of 31,659),"""
DOTTED = 0.00001
"""or a repeat's (0 of 2,147): both its strokes and its dots would have to be something else,"""
WEAK = ((0.65, 0.12), (CLEAR, 0.03))
"""and one that was taken in doubt, up to each likelihood (4 of 53, 0 of 61)."""
MISREAD = 0.0025
"""How often the count of a rest is wrong that was read without a doubt (3 of 1,426),"""
DOUBTED = 0.2
"""and of one in doubt."""
OTHERWISE, BY_REPEAT = 0.0005, 0.0015
"""How often a line is wrong for what is not looked at here: any line (6 of 6,064, each a rest that was not told), and
one that a repeat begins, where a head's signs pass for a bar or a pickup for these (one of 1,142);"""
FIGURE = 0.3
"""and one with a rest's number over a bar that seems to be none: a figure"""
LARGE, NEAR, INTO, ASIDE = 1.8, 1.2, 0.8, 0.25
"""so tall, so near over the stave or so far into it, in spaces, and so much of the bar's width from its ends."""
MIDDLE, KEY = (0.08, 0.15), 3.0
"""A rest stands no further left and right of its bar's middle than so much of the bar's width, unless a key's first
sign stands so near behind the barline, in spaces."""
SHORT = 3.0
"""A line that ends so many spaces before the others, and is not the last, may have lost a bar, and a last one that ends
like any other; one that begins so far to the right of the others, or runs on so far, is a piece of a torn stave."""
OPEN = 0.5
"""A line that no barline ends may go on, or not."""
TOLD = 3.0
"""A line's head that is wider than this, in spaces, was told: more than a clef."""
KEYED, WIDEST_HEAD = 4.6, 8.5
"""One that is wider than the first was told with its key; else it is at most about as wide as the second."""
MOST_ROOM = 6.0
"""A repeat's start further behind the head than this, in spaces, has a bar before it (at most 5.5 on 210 lines, one
with its meter not told)."""
LEAST = 2.5
"""No bar is narrower than this, in spaces: a whole note or a rest and the room round it (common practice)."""
NARROW, NO_BAR = 0.4, 0.3
"""A line's first bar that is narrower than this beside the others may be a part of the line's head."""
UNREAD, KEY_ALONE = 12.0, 0.05
"""Behind a clef whose key was not told a bar that ends nearer to its line's left end than the first, in spaces, may be
the key, and the repeat's start behind it was read as a barline (two of nine such lines of 837 charts)."""
LEFT_OUT = 0.05
"""How likely a bar is left out where two barlines stand near and no note was told between (one of three such lines)."""
SIGNS = (9.0, 1.5)
"""Between a barline and a repeat's start behind it no signs are wider than the first, in spaces, or end further before
that than the second; few notes stand so near to it."""
MANY = 8
"""So many bars tell how wide a part's are."""
METER = 3.5
"""So many spaces are the meter's where none was told."""


class Left(NamedTuple):
    """An upright stroke that was not taken for a barline though it could be one, and how likely it is one."""

    x: float
    likely: float


class Chance(NamedTuple):
    """How likely a line has a bar too few, and one too many."""

    few: float
    many: float
    few_at: Sequence[float] = ()
    """What each bar adds to the first,"""
    many_at: Sequence[float] = ()
    """and each stroke between two bars to the second."""
    alone: float = 0.0
    """The chance of both by one cause, were it two: a rest misread, an end not seen. It cannot make up for itself."""


def chances(
    lines: Sequence[MusicLine], blurred: Mapping[int, Sequence[Left]], pixels: Sequence[float] = ()
) -> list[Chance]:
    """The chances of each line; `blurred`: the strokes on lines that were not taken and could be barlines.

    `pixels`: how many each line's staves' spaces have, where that is known.
    """
    widths = _all_widths(lines)
    flat = [width for line in widths for width in line if width is not None]
    usual = median(flat) if len(flat) >= MANY else None
    usual_x0 = median(line.system.bbox[0] for line in lines) if lines else 0.0
    usual_end = _usual_end(lines)
    unseen = [UNSEEN_FINE if n < len(pixels) and pixels[n] > FINE else UNSEEN for n in range(len(lines))]
    out = [_of(lines, n, own, usual, blurred.get(n, ()), unseen[n]) for n, own in enumerate(widths)]
    if lines and (not lines[-1].parts or _goes_on(lines[-1].parts[-1])):
        out[-1] = out[-1]._replace(few=max(out[-1].few, OPEN))
    for n, line in enumerate(lines[:-1]):
        if usual_end - line.system.bbox[2] > SHORT * line.space:
            out[n] = out[n]._replace(few=max(out[n].few, OPEN))
    for n, line in enumerate(lines):
        unread = _ends_unread(line) and not (line is lines[-1] and _ends_part(line))
        if unread or (n and line.system.bbox[0] - usual_x0 > SHORT * line.space):
            out[n] = _open(out[n])
    for n, line in enumerate(lines):
        if line.parts and _head_room(lines, line) > MOST_ROOM:
            out[n] = out[n]._replace(few=max(out[n].few, OPEN))
    for n, own in enumerate(widths):
        narrow = n and usual is not None and len(own) > 1 and own[0] is not None and own[0] < NARROW * usual
        if narrow and not _plays_first(lines[n]):
            out[n] = out[n]._replace(many=max(out[n].many, NO_BAR))
        if n and _may_be_key(lines[n]):
            out[n] = out[n]._replace(many=max(out[n].many, KEY_ALONE))
    return out


def _open(chance: Chance) -> Chance:
    """The chance of a line whose end or beginning may not have been seen, beside its own."""
    few, many = min(chance.few + OPEN, 1.0), min(chance.many + OPEN, 1.0)
    return chance._replace(few=few, many=many, alone=chance.alone + OPEN**2)


def _usual_end(lines: Sequence[MusicLine]) -> float:
    """Where lines end: furthest to the right of where two do, or of all when no two do, as where paper bends."""
    ends = sorted((line.system.bbox[2] for line in lines), reverse=True)
    space = lines[0].space if lines else 0.0
    return next((one for one, other in pairwise(ends) if one - other < space), max(ends, default=0.0))


def beside_others(lines: Sequence[MusicLine], *, meter: float = 0.0, own: bool = False) -> float | None:
    """A part's first bar's width beside its line's other bars and all bars, the less of both; None where these are few.

    `meter`: so wide is what was not told behind its line's head, in spaces; `own`: beside its line's others alone.
    """
    widths = _all_widths(lines)
    flat = [width for line in widths for width in line if width is not None]
    first = widths[0][0] if widths and widths[0] else None
    others = _others(widths[0], 0, 1) if widths else []
    if first is None or len(others if own else flat) < (2 if own else MANY):
        return None
    if meter:
        first = max(room_of_first(lines, meter), 0.0)
    if own:
        return first / median(others)
    return first / max(median(others) if len(others) > 1 else 0.0, median(flat))


def room_of_first(lines: Sequence[MusicLine], meter: float) -> float:
    """How wide a part's first bar is behind a `meter` that was not told, in spaces; less than 0 where there is none."""
    line, part = lines[0], lines[0].parts[0]
    return (part.x1 - line.system.bbox[0]) / line.space - _head(lines, line) - meter


def _head_room(lines: Sequence[MusicLine], line: MusicLine) -> float:
    """How far behind a line's head a repeat's start stands that begins it, in spaces."""
    first = min(line.barlines, key=lambda barline: barline.x, default=None)
    if first is None or not first.line_start:
        return 0.0
    return (first.x0 - line.system.bbox[0]) / line.space - _head(lines, line)


def _head(lines: Sequence[MusicLine], line: MusicLine) -> float:
    """How wide a line's head is at most, in spaces."""
    head = max(_usual_head(lines), (line.head.x1 - line.system.bbox[0]) / line.space)
    return head if head > KEYED else WIDEST_HEAD


def _all_widths(lines: Sequence[MusicLine]) -> list[list[float | None]]:
    head = _usual_head(lines)
    return [_widths(line, head) for line in lines]


def _usual_head(lines: Sequence[MusicLine]) -> float:
    """How wide the lines' heads are, in spaces, where they were told."""
    heads = [wide for line in lines if (wide := (line.head.x1 - line.system.bbox[0]) / line.space) > TOLD]
    return median(heads) if heads else 0.0


def _widths(line: MusicLine, head: float) -> list[float | None]:
    """The widths of a line's bars in spaces, None for a rest of many; `head`: how wide other lines' heads are."""
    least = line.system.bbox[0] + head * line.space  # where a head's signs were not told its first bar seems wide
    return [
        None if count.box else max(part.x1 - max(part.x0, least), line.space) / line.space
        for part, count in zip(line.parts, line.counts, strict=True)
    ]


def _ends_unread(line: MusicLine) -> bool:
    """Whether there is room behind a line's last barline with no signs of a key for the next."""
    if line.open_end or not line.barlines:
        return False
    after = max(barline.x1 for barline in line.barlines)
    room = line.system.bbox[2] - after > SHORT * line.space
    return room and not any(g.kind in ("accidental", "meter") and g.x0 > after for g in line.system.glyphs)


def _ends_part(line: MusicLine) -> bool:
    """Whether a line ends as parts do: words may stand behind it (of 4 such last lines all ended there)."""
    last = line.parts[-1].after if line.parts else None
    return last is not None and last.kind in (BarlineKind.FINAL, BarlineKind.REPEAT_END)


def _may_be_key(line: MusicLine) -> bool:
    """Whether a line's first bar ends where its key would, which was not told."""
    first = line.parts[0].after if line.parts else None
    left = line.system.bbox[0]
    near = first is not None and (first.x0 - left) / line.space < UNREAD
    return near and (line.head.x1 - left) / line.space < KEYED


def _plays_first(line: MusicLine) -> bool:
    """Whether notes are told in a line's first bar (5 of 5 narrow ones in which some were are bars)."""
    after = line.parts[0].after
    return after is not None and bool(plays(line.system, line.head.x1, after))


def _goes_on(part: Segment) -> bool:
    """Whether no final barline, double barline or repeat ends a bar, as they end a part (common practice)."""
    return part.after is None or part.after.kind is BarlineKind.SINGLE


def _of(
    lines: Sequence[MusicLine],
    at: int,
    widths: Sequence[float | None],
    usual: float | None,
    strokes: Sequence[Left],
    unseen: float,
) -> Chance:
    line = lines[at]
    few: list[float] = []
    many: list[float] = []
    misread = alone = 0.0
    for n, (part, count, width) in enumerate(zip(line.parts, line.counts, widths, strict=True)):
        if width is None or count.confidence < 1.0:
            misread += _misread(count)
            alone += _misread(count) ** 2
        rejected = max((likely for x, likely in strokes if part.x0 < x < part.x1), default=0.0)
        few.append(0.0)
        if count.box is not None:
            few[n] += DOUBTED * is_aside(lines, line, part, count.box) + (
                _step(REJECTED, rejected) if rejected else 0.0
            )
        ends = part.x1 if part.after is None else min(part.x1, part.after.x0)
        few[n] += LEFT_OUT * any(part.x0 + LEAST * line.space < b.x0 < ends for b in line.barlines)
        if width is not None:
            few[n] += FIGURE * _is_under_figure(line, part)
            before = _step(REJECTED, rejected) if rejected else unseen
            before = max(before, HIDDEN * _may_hide(line, part))
            wider = LAST_WIDER * (line is lines[-1] and part is line.parts[-1])
            few[n] += _chance(before, _odds(width, _others(widths, n, n + 1), usual) - wider)
    for n in range(len(line.parts) - 1):
        one, two = widths[n], widths[n + 1]
        odds = _odds(one + two, _others(widths, n, n + 2), usual) if one is not None and two is not None else 0.0
        narrow = two is not None and (two < LEAST or _may_be_signs(line, line.parts[n + 1]))
        many.append(max(_chance(no_barline(line, line.parts[n]), -odds), NO_BAR * narrow))
    least = misread + (BY_REPEAT if _by_repeat(line) else OTHERWISE)
    out = Chance(min(least + sum(few), 1.0), min(least + sum(many), 1.0), few, many, alone)
    return _open(out) if line.open_end or not line.parts else out


def _by_repeat(line: MusicLine) -> bool:
    """Whether the first barline, at the line's head or of its first bar, is a repeat's start, or may be one."""
    first = min(line.barlines, key=lambda barline: barline.x, default=None)
    return first is not None and first.kind in (*STARTS, BarlineKind.FINAL)


def _may_be_signs(line: MusicLine, part: Segment) -> bool:
    """Whether what stands in a bar before a repeat's start may be a key or meter that was not told."""
    start, space = part.after, line.space
    if start is None or start.kind not in STARTS or start.x0 - part.x0 > SIGNS[0] * space:
        return False
    end = max((sign.x1 for sign in part.music if sign.x1 < start.x0 and sign.x1 - sign.x0 > space / 2), default=0.0)
    return start.x0 - end < SIGNS[1] * space


def is_aside(lines: Sequence[MusicLine], line: MusicLine, part: Segment, rest: Box) -> bool:
    """Whether a long rest stands off the middle of its bar: another, whose barline was missed, is beside it.

    Behind a key or a head whose signs were not told it stands further right.
    """
    off = _off_middle(part.x0, part.x1, rest)
    if part is line.parts[0]:
        signs = not line.head.clef
        if line is lines[0] and not has_meter(line):
            least = line.system.bbox[0] + (_head(lines, line) + METER) * line.space
            signs |= least < part.x1 and _off_middle(max(part.x0, least), part.x1, rest) <= MIDDLE[1]
    else:
        signs = any(g.kind == "accidental" and 0 < g.x0 - part.x0 < KEY * line.space for g in line.system.glyphs)
    return off < -MIDDLE[0] or (off > MIDDLE[1] and not signs)


def _off_middle(x0: float, x1: float, rest: Box) -> float:
    return ((rest[0] + rest[2]) / 2 - (x0 + x1) / 2) / (x1 - x0)


def has_meter(first: MusicLine) -> bool:
    """Whether a part's first line was told with its meter."""
    return any(sign.kind == "meter" and sign.x1 <= first.head.x1 for sign in first.system.glyphs)


def _may_hide(line: MusicLine, part: Segment) -> bool:
    """Whether something in a bar that is no note alone may hold a barline."""
    stave, slack = line.system.staves[0], EXACT * line.space
    return any(
        abs(sign.y0 - stave.top) < slack and abs(sign.y1 - stave.bottom) < slack
        for sign in line.system.glyphs
        if part.x0 + LEAST * line.space < sign.x0 and sign.x1 < part.x1 - LEAST * line.space
    )


def _is_under_figure(line: MusicLine, part: Segment) -> bool:
    """Whether a figure as large as a long rest's number stands over a bar, off its ends where marks stand."""
    space, top = line.space, line.system.staves[0].top
    aside = ASIDE * (part.x1 - part.x0)
    return any(
        sign.kind in ("letter", "digit")
        and sign.value.isdecimal()
        and sign.y1 - sign.y0 > LARGE * space
        and -INTO * space < top - sign.y1 < NEAR * space
        and part.x0 + aside < (sign.x0 + sign.x1) / 2 < part.x1 - aside
        for sign in line.system.glyphs
    )


def _misread(count: Count) -> float:
    """How likely a rest is read as too few bars, or as too many."""
    return (MISREAD if count.confidence >= CLEAR else DOUBTED) / 2


def no_barline(line: MusicLine, part: Segment) -> float:
    """How likely the stroke that ends a bar is none, before widths are looked at."""
    after = part.after
    if after is not None and after.kind in (*STARTS, BarlineKind.REPEAT_END):
        return DOTTED
    if after is not None and after.kind is not BarlineKind.SINGLE:
        return NO_BARLINE / 2  # two strokes
    sure = next((b.confidence for b in line.barlines if after is not None and b.x == after.x), 0.5)
    return NO_CLEAR_ONE if sure > NEVER_IN_DOUBT else NO_BARLINE if sure >= CLEAR else _step(WEAK, sure)


def _step(steps: Sequence[tuple[float, float]], likely: float) -> float:
    return next(share for most, share in steps if likely <= most)


def _others(widths: Sequence[float | None], first: int, last: int) -> list[float]:
    return [width for n, width in enumerate(widths) if width is not None and not first <= n < last]


def _odds(width: float, others: Sequence[float], usual: float | None) -> float:
    """The logarithm of the odds that a bar so wide is two."""
    if usual is None and not others:
        return 0.0
    beside = median(others) if len(others) > 1 or usual is None else usual
    return ODDS[0] + ODDS[1] * math.log(width / beside) + ODDS[2] * math.log(width / (usual or beside))


def _chance(before: float, odds: float) -> float:
    """The chance after widths were looked at, from the one before."""
    return 1 / (1 + (1 - before) / before * math.exp(-min(max(odds, -30.0), 30.0)))
