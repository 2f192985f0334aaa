"""Bars between barlines, and their count."""

from collections.abc import Sequence
from math import inf
from typing import NamedTuple

from msgspec.structs import replace

from collaparte.paper.reading import Barline, BarlineKind
from collaparte.paper.sight.heads import RHYTHM, between, on_stave, signature_after
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import Glyph
from collaparte.paper.sight.systems import Skeleton

SIGNS = frozenset(("accidental", "clef", "meter", "digit"))
STARTS = (BarlineKind.REPEAT_START, BarlineKind.REPEAT_BOTH)
LOST = (BarlineKind.FINAL,)
"""On a picture what begins a line as a last barline is a repeat's start whose dots were not seen."""
NO_BAR = 4.5
"""Between two barlines nearer than this (in spaces) without a note or rest there is no bar, only a sign."""
BARE = 2.0
"""But a line's last barline, so far behind a plain one with no sign between, ends a bar in which nothing plays."""
WHOLE_BARS, WIDEST_REST = ("whole", "breve"), 3.0
"""Rests of a whole bar, which are no wider than so many spaces with their ledger lines (1.1 to 2.2 in music fonts: from
memory)."""
BEHIND_SIGNS = 2.0
"""Nor is there one where a clef, key or meter stands between them and ends nearer than this, in spaces, to the second:
some makers set what is valid behind a repeat's end before the next repeat's start."""
TWO_BARS = 3.0
"""The sign that repeats two bars reaches no further from the barline that it stands across, in spaces."""
TO_REPEAT = 8.0
"""The same between a line's head and a repeat's start, which some makers set where the meter would end."""
HEAD, WIDE_HEAD = 10.0, 12.5
"""On a picture no bar in which nothing plays ends nearer than this, in spaces, to its line's left end: what looks like
it is a meter, or a repeat's start behind one. None of 424 engraved lines had a bar end so near, and one a repeat's
start within the second figure (measured); of 838 scans seven short pickups did, and nothing else that plays."""
FIGURE = 1.6
"""A meter's figures are wider than so many spaces."""
OPEN_SEEN = 9.0
"""On a picture a bar that no barline ends is at least so wide; what is narrower is a key or meter for the next line."""
LEAST = 2.0
"""On a picture there is no bar between barlines nearer than this, in spaces: one of them is a stem."""
INK, NEAR = 0.8, 1.5
"""What may be a note on a picture is so large, and so near to its stave, in spaces."""
CLEF, AFTER_CLEF, KEY = 3.5, 2.0, 4.5
"""A clef ends about so many spaces behind its stave's left end, and a key stands so near behind it; signs of one that
run together are not so wide."""
WIDE_CLEF = 4.6
"""Behind what ends so near to the left end, in spaces, a key may begin: a key's first sign ends further right."""
ONE_KEY = 0.75
"""Signs of a key stand nearer to each other, in spaces; what follows is further off."""
FIGURES, CLOSE, CLOSER = 3.0, 1.7, 1.2
"""A meter is narrower than the first and stands no further behind a key, and before a repeat's start, than the second
(measured: 1.0 on 30 lines of scans; a pickup's last note stands 2.9 and more before it, or has a stem or beam off the
stave, and its first 1.2 and more behind the head): one that pencil crosses no further than the third."""
WIDEST_KEY = 11.0
"""A key of seven signs ends no further behind its stave's left end, in spaces."""
BEHIND, OFF_METER = 3.0, 1.0
"""A repeat's start stands no further behind a key than the first, and a pickup no nearer behind a meter than the
second, in spaces."""
STEM = 3.4
"""Taller than this, in spaces, on a picture, are notes that were not told, not a key's signs (2.5 to 3.2: measured)."""
EDGE = 0.7
"""A meter's figures end so near to their stave's outer lines, in spaces."""
NOTE = 1.6
"""One note with its stem is narrower, in spaces; signs of a key that run together and are as tall are wider (measured:
1.8 and more)."""
BEHIND_METER = 2.5
"""A repeat's start stands nearer behind a meter, in spaces, where no note is between (measured: at most 1.04 on 179
lines of scans, and with a note between at least 3.96 on 115)."""
FURTHEST = 8.0
"""Notes on ledger lines are no further from their stave, in spaces: seven lines."""
OPEN, OWN = 1.0, 3.0
"""A stave that runs on past its last barline by more than the first ends in mid-bar, if some of what sounds there is
nearer to it than the second: over a key for the next line may stand the line above's low note."""


class Segment(NamedTuple):
    """The room of one bar in its system, and the barlines at its ends (None at the ends of the line)."""

    x0: float
    x1: float
    before: Barline | None
    after: Barline | None
    music: tuple[Glyph, ...]
    """Notes, rests and the like on its staves, from the left."""


def rhythm(system: Skeleton) -> list[Glyph]:
    """Notes, rests and repeat signs on the system's staves, in order of their left edge."""
    signs = [g for g in system.glyphs if g.kind in RHYTHM]
    rooms = [(s.top - FURTHEST * s.space, s.bottom + FURTHEST * s.space) for s in system.staves]
    if len(rooms) == 1:
        high, low = rooms[0]
        return [g for g in signs if high < (g.y0 + g.y1) / 2 < low]
    return [g for g in signs if any(high < (g.y0 + g.y1) / 2 < low for high, low in rooms)]


def segments(system: Skeleton, head_x1: float, *, seen: bool = False) -> tuple[list[Segment], list[Barline]]:
    """The bars of one line, and its barlines with those at the line's start told apart; `seen`: on a picture."""
    music = rhythm(system)
    space = system.space
    barlines: list[Barline] = []
    out: list[Segment] = []
    x, before = head_x1, None
    for barline in system.barlines:
        if barline.kind is BarlineKind.DASHED:
            barlines.append(barline)
            continue
        end = barline.x0 + 0.5 * space
        within = [g for g in between(music, x - 0.5 * space, end) if g.x1 < end]
        ends = [one for one in (before, barline) if one is not None]
        inside = tuple([g for g in within if not (g.kind == "rest" and any(_is_of(g, one, space) for one in ends))])
        inside = inside or (() if seen else _squeezed(music, x, barline, before, system))
        sounds = plays(system, head_x1, barline) if seen and not out else None
        told = seen and not out and (bool(sounds) or _follows_meter(barline, system))
        if seen and not out and not told and _in_head(barline, system, all(_fills(g, system) for g in inside)):
            if barline.kind in STARTS:
                barlines.append(replace(barline, line_start=True))
                x, before = max(barline.x1, head_x1), barline
            continue
        at_start = not out
        to_repeat = at_start and barline.kind in (*STARTS, *LOST[:seen])
        room = TO_REPEAT if to_repeat else NO_BAR
        silent = not inside or (seen and bool(out) and barline.x0 - x < LEAST * space)
        silent = silent and not any(is_crossed(b, system) for b in (before, barline))
        near = barline.x0 - x < room * space or (silent and bool(out) and _signs_only(x, barline, system))
        near = near and not (silent and bool(out) and not seen and _is_bare(before, barline, system))
        if (sounds is False and to_repeat) or (silent and not sounds and near):
            barlines.append(Barline(barline.x, barline.x0, barline.x1, barline.kind, at_start, barline.confidence))
            x = barline.x1 if at_start else x  # signs between two barlines are the next bar's
        else:
            out.append(Segment(x, barline.x0, before, barline, inside))
            barlines.append(barline)
            x = barline.x1
        before = barline
    behind = between(music, x - 0.3 * space, inf)
    rest = tuple([g for g in behind if not (g.kind == "rest" and before and _is_of(g, before, space))])
    sounding = list(rest)
    if seen:
        sounding += [g for g in between(system.glyphs, x + INK * space, inf) if g.y1 - g.y0 > STEM * space]
    key = 0.0 if seen else _key_behind(system, x)
    sounds = any(g.x1 > key and on_stave(g, stave, OWN) for g in sounding for stave in system.staves)
    if sounds and system.x1 - x > (OPEN_SEEN if seen else OPEN) * space:
        out.append(Segment(x, system.x1, before, None, rest))
    return out, barlines


def _key_behind(system: Skeleton, x: float) -> float:
    """How far the sharps, flats and naturals reach that stand on the staves behind x: a note is right of its own, and
    what stands over a key for the next line is a note of the line above."""
    signs = (g for g in between(system.glyphs, x, inf) if g.kind == "accidental")
    return max((g.x1 for g in signs if any(on_stave(g, stave, 0.5) for stave in system.staves)), default=0.0)


def _signs_only(x: float, barline: Barline, system: Skeleton) -> bool:
    """Whether a clef, key or meter fills what is between a barline that ends at x and the next."""
    signs = [signature_after(stave, system.glyphs, x) for stave in system.staves]
    room = BEHIND_SIGNS * system.space
    return any(x < sign.x0 < sign.x1 < barline.x0 and barline.x0 - sign.x1 < room for sign in signs)


def _is_bare(before: Barline | None, barline: Barline, system: Skeleton) -> bool:
    """Whether a line's last bar is empty and narrower than any that a note or sign stands in."""
    if before is None or before.kind is not BarlineKind.SINGLE or barline is not system.barlines[-1]:
        return False
    signs = (g for g in between(system.glyphs, before.x1, barline.x0) if g.kind in SIGNS)
    room = barline.x0 - before.x1 > BARE * system.space
    return room and not any(on_stave(g, stave, INK) for g in signs for stave in system.staves)


def _squeezed(
    music: Sequence[Glyph], x: float, barline: Barline, before: Barline | None, system: Skeleton
) -> tuple[Glyph, ...]:
    """The rests, wider than their bar, that stand across both its barlines: a bar from x on that was set too narrow."""
    if before is None:
        return ()
    near = between(music, x - WIDEST_REST * system.space, barline.x0)
    rests = [g for g in near if g.kind == "rest" and g.value in WHOLE_BARS and x < (g.x0 + g.x1) / 2 < barline.x0]
    return tuple(g for g in rests if g.x0 < before.x0 and barline.x1 < g.x1)


def _is_of(rest: Glyph, barline: Barline, space: float) -> bool:
    """Whether what looks like an old rest is a piece of the barline, left between staves where words stand in it."""
    slack = 0.1 * space
    return barline.x0 - slack < rest.x0 and rest.x1 < barline.x1 + slack


def is_crossed(barline: Barline | None, system: Skeleton) -> bool:
    """Whether a barline stands within the sign that repeats the two bars before, its dots on either side."""
    if barline is None or barline.kind is not BarlineKind.SINGLE:
        return False
    x, reach = barline.x, TWO_BARS * system.space
    near = [g for g in system.glyphs if g.kind in ("dot", "repeat-bar") and x - reach < g.x0 and g.x1 < x + reach]
    near = [g for g in near if any(s.top < g.y0 and g.y1 < s.bottom for s in system.staves)]
    within = any(g.kind == "repeat-bar" and g.x0 < x < g.x1 for g in near)
    return within or (any(g.x1 < x for g in near) and any(g.x0 > x for g in near))


def plays(system: Skeleton, head_x1: float, start: Barline) -> bool | None:
    """Whether what stands on a picture between a line's head and a repeat's start are notes; None: nothing does.

    A repeat's start stands close behind a key or a meter whose signs were not told, and further behind a pickup. A
    meter reaches from the stave's top to its bottom, whatever pencil adds to it.
    """
    space = system.space
    top, bottom = (system.bbox[n] / space for n in (1, 3))
    ink = [
        (g.x0 / space, g.y0 / space, g.x1 / space, g.y1 / space)
        for g in sorted(system.glyphs, key=lambda g: g.x0)
        if g.x1 > head_x1 - INK * space
        and g.x0 < start.x0 - INK * space
        and g.x1 < start.x0 + 0.3 * space
        and max(g.x1 - g.x0, g.y1 - g.y0) > INK * space
        and any(on_stave(g, stave, NEAR) or _reaches(g, stave) for stave in system.staves)
    ]
    if not ink:
        return None
    meter = [g.x1 / space for g in system.glyphs if g.kind == "meter" and g.x1 < start.x0]
    if meter:
        sounds = any(x1 > max(meter) + INK for _, _, x1, _ in ink)
        return sounds if sounds or start.x0 / space - max(meter) < BEHIND_METER else None
    end, clef = max(head_x1, system.x0 + CLEF * space) / space, system.x0 / space + WIDE_CLEF
    # Behind a note stands no sign of the key: what stands before one is a sign as well, whatever it was told for.
    signs = (g.x1 for g in system.glyphs if g.kind == "accidental" and head_x1 < g.x1 < start.x0)
    end = max(end, max(signs, default=0.0) / space)
    ink = [part for part in ink if part[2] > end]
    while ink and ink[0][0] - end < (AFTER_CLEF if end < clef else ONE_KEY) and _may_be_signs(ink[0], system.staves):
        end = max(end, ink.pop(0)[2])
    if not ink:
        return False if start.x0 / space - end < BEHIND and end - system.x0 / space < WIDEST_KEY else None
    left, right = ink[0][0], max(x1 for _, _, x1, _ in ink)
    high = min(y0 for _, y0, _, _ in ink), max(y1 for _, _, _, y1 in ink)
    whole = high[0] < top + EDGE and bottom - EDGE < high[1]
    fills = whole and top - 0.5 < high[0] and high[1] < bottom + 0.5
    is_meter = whole and right - left < FIGURES and left - end < (CLOSE if fills else CLOSER)
    return not (is_meter and start.x0 / space - right < CLOSE)


def _reaches(glyph: Glyph, stave: StaveLines) -> bool:
    """Whether something tall reaches into a stave though its middle is off it: notes on ledger lines, their stems."""
    reach = INK * stave.space
    tall = glyph.y1 - glyph.y0 > STEM * stave.space and glyph.x0 > stave.x0 + CLEF * stave.space
    return tall and glyph.y0 < stave.bottom - reach and glyph.y1 > stave.top + reach


def _may_be_signs(part: tuple[float, float, float, float], staves: Sequence[StaveLines]) -> bool:
    """Whether ink, in spaces, may be one or several signs of a key, or the meter behind them: no note with its stem."""
    x0, top, x1, bottom = part
    if bottom - top < STEM or x1 - x0 > NOTE:
        return x1 - x0 < KEY
    return any(abs(top - s.top / s.space) < EDGE and abs(bottom - s.bottom / s.space) < EDGE for s in staves)


def _in_head(barline: Barline, system: Skeleton, silent: bool) -> bool:
    """Whether what looks like the first barline of a line on a picture stands in the line's head."""
    away = (barline.x0 - system.x0) / system.space
    return away < HEAD or (silent and barline.kind in STARTS and away < WIDE_HEAD)


def _follows_meter(barline: Barline, system: Skeleton) -> bool:
    """Whether a note or rest stands between a meter that was told on a picture and a barline: a narrow pickup."""
    space = system.space
    meter = [g.x1 for g in system.glyphs if g.kind == "meter" and g.x1 < barline.x0]
    return bool(meter) and any(
        max(meter) + OFF_METER * space < g.x0 and g.x1 < barline.x0
        for g in rhythm(system)
        if max(g.x1 - g.x0, g.y1 - g.y0) > INK * space
    )


def _fills(glyph: Glyph, system: Skeleton) -> bool:
    """Whether a sign reaches from a stave's top to its bottom and is no stem: a meter whose figures touch."""
    reach = EDGE * system.space
    return glyph.x1 - glyph.x0 > FIGURE * system.space and any(
        glyph.y0 < stave.top + reach and glyph.y1 > stave.bottom - reach for stave in system.staves
    )


def starts(parts: Sequence[Segment], system: Skeleton) -> list[tuple[float, float]]:
    """For each bar where its start is to be looked for: the barline before it, or the whole line head."""
    out = []
    for part in parts:
        if part.before is None or part is parts[0]:
            out.append((system.x0, part.x0))
        else:
            out.append((min(part.x0, part.before.x0), part.before.x1))
    return out
