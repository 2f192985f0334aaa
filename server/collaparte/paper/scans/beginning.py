"""Whether a scanned part begins with a pickup: by how wide its first bar is, what stands before it, its marks. Pure."""

from collections.abc import Sequence

from collaparte.paper.reading import BarlineKind, Mark
from collaparte.paper.scans.chances import (
    METER,
    MOST_ROOM,
    beside_others,
    has_meter,
    is_aside,
    no_barline,
    room_of_first,
)
from collaparte.paper.sight.bars import STARTS, plays
from collaparte.paper.sight.lines import MusicLine

WHOLE = 0.65
"""A first bar that is no pickup is wider than this beside its line's others."""
BY_WIDTH = ((0.6, 0.97), (0.8, 0.6), (0.95, 0.2), (float("inf"), 0.01))
"""How likely a first bar is a pickup, up to each width beside others (of those of 1,142 scanned charts 166 of 170 were,
15 of 38, 4 of 101, and one of 262, but these pickups are of one beat: of 28 of all beats but one 9 were);"""
UNTOLD = ((0.6, 0.9), (0.8, 0.6), (1.0, 0.2), (float("inf"), 0.01))
"""and one behind a meter that was not told (120 of 134, 7 of 51, 2 of 83, 2 of 130)."""
MARKED = 0.1
"""How likely the first mark stands at the second bar where the first is none."""
ASTRAY, BEFORE, AT = 0.03, 3.0, 2.5
"""How likely the first mark stands otherwise than at the first whole bar's beginning (0 of 1,034 scanned charts), so
far before the first bar's end or so near to it, in spaces."""
HIDDEN = 0.5
"""How likely a pickup's barline was missed before a rest of many bars that stands off its bar's middle."""
NOT_TOLD = 0.2
"""How likely a first bar is no first bar where a wide gap in the line's head may hold a pickup."""
CLEF = 4.0
"""A clef begins within so many spaces of its line's beginning."""
ROOM = 2.0
"""Between a line's head and a repeat's start wider than this, in spaces, there may be a pickup."""


def pickup_chance(lines: Sequence[MusicLine]) -> float:
    """How likely the first bar is a pickup, by its width; a rest of many bars is none (common practice)."""
    first = lines[0] if lines else None
    if first is None or not first.counts or not begins_plainly(lines):
        return 1.0
    if first.counts[0].bars > 1:
        rest = first.counts[0].box
        return HIDDEN if rest is not None and is_aside(lines, first, first.parts[0], rest) else 0.0
    told = has_meter(first)
    width = beside_others(lines, meter=0.0 if told else METER)
    if width is None:
        return 0.5
    return next(chance for most, chance in (BY_WIDTH if told else UNTOLD) if width < most)


def wrong(lines: Sequence[MusicLine], whole: bool, few: float, many: float, marks: Sequence[Mark] = ()) -> float:
    """How likely the first lines are counted wrong though they lead to a number, the first bar taken for a `whole` one.

    A pickup makes up for a bar too few, a whole bar taken for a pickup for one too many.
    """
    pickup, second = pickup_chance(lines), _marked_second(lines, marks)
    if second is not None:
        yes, no = (pickup, (1 - pickup) * ASTRAY) if second else (pickup * ASTRAY, 1 - pickup)
        pickup = yes / (yes + no)
    if whole:
        so, other = 1 - pickup, pickup * few
    else:  # the bar is as narrow where what ends it is no barline
        so, other = pickup, max((1 - pickup) * many, no_barline(lines[0], lines[0].parts[0]))
    plain = begins_plainly(lines) if whole else _is_bar(lines) and _has_clef(lines[0])
    return other / (so + other) + NOT_TOLD * (not plain)


def unlike(lines: Sequence[MusicLine], told: bool | None, pickup: bool) -> float:
    """How likely the first bar of a part without numbers is no pickup though taken for one, or one; `told` by marks."""
    chance = pickup_chance(lines)
    if told is None:
        return 1 - chance if pickup else chance
    return 1 - chance / (chance + MARKED * (1 - chance)) if told else 0.0


def begins_with_pickup(lines: Sequence[MusicLine], marks: Sequence[Mark]) -> bool | None:
    """Whether a part without printed numbers begins with a pickup, counted as bar 1 so far; None when nothing says.

    No mark stands at a pickup (common practice): where the first stands at the first bar it is a whole one, unless
    narrow, and where it stands at the second the one before is a pickup (of 279 such bars of 1,142 charts all were, and
    23 of them as wide as others).
    """
    first = lines[0]
    if not first.counts or not begins_plainly(lines):
        return None
    if first.counts[0].bars > 1:
        return False
    at = min((mark.bar for mark in marks), default=0)
    if at == 2:
        return True
    beside = beside_others(lines, own=True)
    return False if at == 1 and beside is not None and beside > WHOLE else None


def _marked_second(lines: Sequence[MusicLine], marks: Sequence[Mark]) -> bool | None:
    """Whether the first mark stands at the end of the first bar or before it; None where it tells nothing."""
    first, mark = lines[0], min(marks, key=lambda mark: (mark.page, mark.bar), default=None)
    if mark is None or not first.parts or mark.page != first.page or mark.box[3] > first.system.staves[0].bottom:
        return None
    x0, middle, end, space = mark.box[0], (mark.box[0] + mark.box[2]) / 2, first.parts[0].x1, first.space
    if middle < end - BEFORE * space:
        return False
    return True if min(abs(x0 - end), abs(middle - end)) < AT * space else None


def _is_bar(lines: Sequence[MusicLine]) -> bool:
    """Whether the first bar is no meter, as one that was not told looks before a repeat's start.

    Notes that are told apart from it are none (of 44 such first bars of 838 scans 43 were pickups, the other without a
    clef that was told).
    """
    first = lines[0]
    after = first.parts[0].after if first.parts else None
    if after is None:
        return False
    wide = after.kind is BarlineKind.SINGLE or has_meter(first) or room_of_first(lines, 0.0) > MOST_ROOM
    return wide or bool(plays(first.system, first.head.x1, after))


def _has_clef(first: MusicLine) -> bool:
    """Whether a part's first line begins with its clef (common practice); without it the line's beginning was lost."""
    most = first.system.bbox[0] + CLEF * first.space
    return any(sign.kind == "clef" and sign.x0 < most for sign in first.system.glyphs)


def begins_plainly(lines: Sequence[MusicLine]) -> bool:
    """Whether nothing that was left out as the first line's head may be a pickup whose notes were not seen."""
    first = lines[0] if lines else None
    if first is None or not first.parts or not _has_clef(first):
        return False
    before = first.parts[0].before
    counted = {barline.x for barline in first.barlines}
    if any(b.x < first.parts[0].x1 and b.x not in counted for b in first.system.barlines):
        return False  # taken for a part of the head: it may end a pickup behind a meter that was not told
    if before is None:
        return True
    if before.kind not in STARTS:
        return False
    return before.x0 - first.head.x1 <= ROOM * first.space or plays(first.system, first.head.x1, before) is False
