"""How long a bar's last note is held, told by the room that print leaves behind it.

Engravers give a note of twice the length some one and a half times the room (common practice).
"""

from collections.abc import Sequence

from collaparte.music.beats import bar_quarters
from collaparte.paper.cutting.table import BarCut, Extent

LENGTH = 1.6
"""A note's length grows by so much a power of its room: twice the length has 1.54 times the room."""
END = 0.4
"""Before a barline stands so much more white than before a note, in spaces (of two engravers' charts)."""
NEAR = 0.35
"""What stands nearer to what is before it, in spaces, sounds with it: a note behind its accidental."""
DOT = 0.65
"""What is no wider, in spaces, lengthens the note before it; what follows is another."""
HEAD = 1.3
"""A note head's width, in spaces (SMuFL's faces: 1.2 to 1.4): a wider column ends in one."""
FLAT = 1.2
"""Slashes and the sign that repeats a bar reach a space from the middle line; stems go further."""


def held(bar: BarCut, extents: Sequence[Extent], meter: str) -> float:
    """How many quarters the last note of a bar lasts, on all its staves together, also where rests follow it there; of
    nothing but slashes all the bar, as a chord may be left out for a turn. 0: nothing is played, or it is not told: of
    a bar that goes on and of a line that is not cut."""
    quarters, _ = bar_quarters(meter)
    if bar.count > 1 or bar.whole >= 0 or bar.right == "none" or bar.silence[1] >= quarters:
        return 0.0
    if all(max(-extents[n].top, extents[n].bottom) < FLAT for n in bar.main if n >= 0):
        return quarters - bar.silence[1]
    rooms = _rooms(bar)
    a_quarter, rests = sum(rooms) / quarters, 0.0
    for room in reversed(rooms):
        if rests + room / 2 > bar.silence[1] * a_quarter:
            return room / a_quarter
        rests += room
    return 0.0


def _rooms(bar: BarCut) -> list[float]:
    """What stands in the bar one after the other: how long each lasts, in one unit."""
    begin = max(bar.change_width, bar.meter_width) + 1e-3
    end = bar.courtesy_at if bar.courtesy else bar.width
    music = [(x0, x1) for x0, x1 in bar.columns if x1 > begin and x0 < end]
    out: list[float] = []
    last, right, dotted = -1.0, -1.0, False
    for x0, x1 in music:
        wide = x1 - x0 > DOT
        if last < 0 or (wide and (dotted or x0 - right > NEAR)):
            if last >= 0:
                out.append((x0 - last) ** LENGTH)
            last = max(x0, x1 - HEAD)
            if last - x0 > HEAD:  # notes that touch
                out.append((last - x0) * HEAD ** (LENGTH - 1))
        elif wide:
            last = max(last, x1 - HEAD)
        right, dotted = x1, not wide
    return [*out, max(end - END - last, HEAD) ** LENGTH] if last >= 0 else out
