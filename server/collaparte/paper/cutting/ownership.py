"""Whose ink is it: every object of a page to one system, one stave and one bar.

The order of the rules: ink in a stave is its own; ink that grows out of it (ledger lines, high notes) goes with it;
what was read as a mark, sign, ending or tempo goes where it was read; the rest goes to the nearer solid ink, where
things of one style vote together and a row keeps together.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from collaparte.paper.cutting.between import give
from collaparte.paper.cutting.brackets import endings, hooks, rest_counts
from collaparte.paper.cutting.furniture import feet, heads, named_boxes, without_numbers
from collaparte.paper.cutting.ink import Page
from collaparte.paper.cutting.items import SET_TO, Item, Role, Rows, absorb, bar_at, grown, nearest_system, set_to
from collaparte.paper.cutting.named import frames, things_read
from collaparte.paper.cutting.objects import build, ledger_steps
from collaparte.paper.cutting.ossias import ossias
from collaparte.paper.cutting.spans import gathered
from collaparte.paper.cutting.sung_drawn import sung_outlines
from collaparte.paper.cutting.told import is_line, tells
from collaparte.paper.cutting.upon import HYPHEN, LYRIC
from collaparte.paper.reading import Box, PageReading, Reading, Stave, System

A_MARK = 3
"""A word of so few letters that is centred on a barline is a mark, read or not."""
FRAME = 0.8
"""A frame's rule stands so far from its words at most, in spaces."""
FRAMED_LONG = 8.0
"""Framed words wider than this, in spaces, are no mark over a barline unless they stand in its middle."""
ONE_WORD = 0.3
"""Spaces between letters and signs of one chord name, at most."""
A_CLEF, OFF, TALL = 2.5, 0.1, 1.2
"""A clef's middle is no further from its stave's left end, in spaces; a key's signs reach into their stave, but for
strokes of a sharp that are drawn by themselves."""


@dataclass(slots=True)
class Owned:
    """A page's objects with their owners; and apart from them, those of the page's head and foot."""

    items: list[Item] = field(default_factory=list)
    head: list[Item] = field(default_factory=list)
    foot: list[Item] = field(default_factory=list)


def own(page: Page, reading: Reading, number: int) -> Owned:
    """The objects of page `number`; old bar numbers, page numbers and running titles are left out."""
    read = reading.pages[number]
    counts = [rest.box for rest in reading.multirests if rest.page == number]
    head, items = heads(build(page, read, named_boxes(reading, number), counts), reading, number)
    foot, items = feet(items, page, read)
    ossias(items, read)
    items = frames(things_read(items, reading, number), page, read)
    items = without_numbers(items, page, reading, number)
    endings(items, reading, number)
    rest_counts(items, read)
    solid = _grow(items, read)
    items = sung_outlines(_gather(items, read), solid, page, read)
    give(items, solid, page, read)
    # Notes first: what stands between two staves goes with the nearer ones.
    for item in sorted(items, key=lambda i: i.role in (Role.WORDS, Role.THROUGH)):
        _stave(item, solid[item.system], read.systems[item.system])
        _bar(item, solid[item.system], read.systems[item.system])
    hooks(items, read)
    return Owned(items, head, foot)


def _grow(items: list[Item], read: PageReading) -> list[list[Item]]:
    """The solid ink of each system: what lies in its staves, and what hangs together with that."""
    solid: list[list[Item]] = [[] for _ in read.systems]
    candidates = [i for i in items if i.role in (Role.SOLID, Role.BEAM) and i.system < 0]
    rows = Rows(candidates)
    queue = [i for i in items if i.role in (Role.SOLID, Role.BEAM) and i.system >= 0]
    for item in queue:
        solid[item.system].append(item)
    for item in candidates:
        for s, system in enumerate(read.systems):
            inside = any(item.box[3] > v.top + 0.02 and item.box[1] < v.bottom - 0.02 for v in system.staves)
            # A note without a stem hangs together with its stave by its ledger lines alone.
            if inside or (item.style == ("ledger",) and ledger_steps(item.box, system) == 1):
                item.system = s
                solid[s].append(item)
                queue.append(item)
                break
    while queue:
        item = queue.pop()
        sp = read.systems[item.system].space
        for other in rows.near(grown(item.box, 0.55 * sp, 1.1 * sp)):
            if other.system >= 0:
                continue
            dx = max(other.box[0] - item.box[2], item.box[0] - other.box[2], 0.0)
            dy = max(other.box[1] - item.box[3], item.box[1] - other.box[3], 0.0)
            ledger = other.style == ("ledger",)
            if (dx <= 0.55 * sp and dy <= 0.25 * sp) or (
                dx <= 0 and (ledger or item.style == ("ledger",)) and dy <= 1.05 * sp
            ):
                other.system, other.pointed = item.system, item.pointed
                solid[item.system].append(other)
                queue.append(other)
    return solid


def _gather(items: list[Item], read: PageReading) -> list[Item]:
    """Small ink that floats clear of the staves joins the words beside it (accidentals and raised figures of chord
    names, the note of a metronome mark); letters drawn as outlines become words; single signs stay alone."""
    items = gathered(items, read)
    loose = {id(i) for i in items if i.role is Role.SOLID and i.system < 0}
    kept = [i for i in items if id(i) not in loose and (i.role is not Role.WORDS or i.system >= 0)]
    floating = [i for i in items if id(i) in loose or (i.role is Role.WORDS and i.system < 0)]
    groups: list[Item] = []
    for item in sorted(floating, key=lambda i: i.box[0]):
        system = read.systems[nearest_system(item.box, read.systems)]
        sp = system.space
        small = id(item) in loose
        item.role = Role.WORDS
        best: tuple[float, Item] | None = None
        for group in groups:
            gap = item.box[0] - group.box[2]
            if not small and id(group) not in loose and gap > 0.2 * sp:
                continue  # words were chained before
            if _is_hyphen(item, group, sp) or _is_hyphen(group, item, sp):
                continue  # it stands by itself between its syllables, which may be of two bars
            overlap = min(item.box[3], group.box[3]) - max(item.box[1], group.box[1])
            low = min(item.box[3] - item.box[1], group.box[3] - group.box[1])
            raised = (
                item.box[3] < group.box[3] - 0.25 * (group.box[3] - group.box[1]) and item.box[1] < group.box[1] + sp
            )
            within = small and item.box[2] < group.box[2]  # a flat between the letters of one name
            beside = -1.5 * sp < gap < (1.0 if raised else 0.6) * sp
            gap = 0.0 if within else abs(gap)
            if (within or beside) and overlap > 0.3 * low and (best is None or gap < best[0]):
                best = (gap, group)
        # What all but touches is of one word, whatever barline of the line above or below is near.
        parted = best is not None and best[0] > ONE_WORD * sp
        if best and not (parted and _barline_between(best[1].box[2], item.box[0], system)):
            absorb(best[1], item)
            if small and best[1].letters:
                loose.add(id(best[1]))
        else:
            groups.append(item)
    return kept + groups


def _is_hyphen(stroke: Item, word: Item, sp: float) -> bool:
    """A short level stroke beside a syllable."""
    level = not stroke.letters and stroke.box[3] - stroke.box[1] < min(0.3 * sp, stroke.box[2] - stroke.box[0])
    return level and word.style == LYRIC


def _barline_between(left: float, right: float, system: System) -> bool:
    reach = 0.2 * system.space
    return any(left - reach < line.x < right + reach for line in system.barlines)


def _stave(item: Item, solid: list[Item], system: System) -> None:
    y = (item.box[1] + item.box[3]) / 2
    staves = system.staves

    def away(k: int) -> float:
        edge0, edge1 = staves[k].top, staves[k].bottom
        if len(staves) > 1 and item.role in (Role.WORDS, Role.THROUGH):
            for s in solid:
                if s.stave == k and s.box[2] > item.box[0] and s.box[0] < item.box[2]:
                    edge0, edge1 = min(edge0, s.box[1]), max(edge1, s.box[3])
        return max(edge0 - y, y - edge1, 0.0)

    over = [k for k, stave in enumerate(staves) if stave.bottom < y]
    # Words sung stand under their stave (common practice), however near the next one is; two lines of words between
    # staves keep their distance.
    under = item.style == LYRIC or item.letters == HYPHEN or is_line(item.letters)
    item.stave = item.pointed
    if item.stave < 0:
        item.stave = over[-1] if over and under else min(range(len(staves)), key=away)
    item.above = y < (staves[item.stave].top + staves[item.stave].bottom) / 2


def _over_barline(box: Box, system: System) -> bool:
    """The box is centred on a barline within the line, on its middle or on one of its strokes."""
    middle, reach = (box[0] + box[2]) / 2, 0.25 * system.space
    wide = box[2] - box[0] > 1.2 * system.space
    return wide and any(line.x0 - reach < middle < line.x1 + reach for line in system.barlines[:-1])


def _behind_clef(box: Box, stave: Stave, sp: float) -> bool:
    """A tall sign over a stave, behind its clef: the bracket of an octave line's figure, not of a key or a meter."""
    return box[3] < stave.top - OFF * sp and box[0] > stave.x0 + A_CLEF * sp and box[3] - box[1] > TALL * sp


def _begins_framed(box: Box, notes: Sequence[Item], system: System) -> bool:
    """Framed words that begin at a note, or their frame a little before it, or that are long, and are not centred on a
    barline."""
    sp, middle = system.space, (box[0] + box[2]) / 2
    first = (box[0] + 0.5 * FRAME * sp, *box[1:])
    centred = any(abs(bar.x0 - middle) < FRAME * sp for bar in system.bars)
    return not centred and (box[2] - box[0] > FRAMED_LONG * sp or set_to(first, notes, sp, 0.5 * FRAME + SET_TO))


def _bar(item: Item, solid: Sequence[Item], system: System) -> None:
    """The bar an object stands in: by its left edge for words that begin at a note, by its middle for the rest."""
    if item.bar >= 0:
        return
    sp = system.space
    if item.anchor == "start":
        item.bar = max(0, bar_at(system.bars, item.box[0] + 0.3 * sp))
        return
    x = (item.box[0] + item.box[2]) / 2
    if item.role is Role.WORDS:
        if item.style == ("frame",) and len(item.letters) > A_MARK and _begins_framed(item.box, solid, system):
            item.bar, item.anchor = bar_at(system.bars, item.box[0] + 0.3 * sp), "left"
            return
        if item.style == ("frame",):
            item.bar = min(range(len(system.bars)), key=lambda b: abs(system.bars[b].x0 - x), default=-1)
            item.anchor = "start"
            return
        if item.above and len(item.letters) <= A_MARK and _over_barline(item.box, system):
            item.bar = bar_at(system.bars, item.box[2] + 2 * sp)
            item.anchor = "start"
            return
        begins = is_line(item.letters) or (item.above and item.box[2] - item.box[0] > 1.6 * sp and item.letters != "")
        begins |= not item.above and item.style != LYRIC and tells(item, sp)
        if begins and item.anchor == "centre":
            item.anchor = "left"
            x = item.box[0] + 0.7 * sp
    item.bar = bar_at(system.bars, x)
    if item.bar < 0 and item.role is Role.SOLID and _behind_clef(item.box, system.staves[item.stave], sp):
        item.role, item.bar = Role.WORDS, 0
    if item.bar < 0 and item.role in (Role.WORDS, Role.THROUGH):
        item.bar, item.anchor = 0, "start"
