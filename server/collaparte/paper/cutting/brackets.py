"""The brackets of endings with their figures and hooks; the figures over multi-bar rests."""

from collaparte.paper.cutting.items import Item, Role, Rows, absorb, bar_at, grown, inside
from collaparte.paper.cutting.named import find_bar, within
from collaparte.paper.reading import Box, PageReading, Reading


def endings(items: list[Item], reading: Reading, number: int) -> None:
    """The bracket and the figure of each ending go with the system that its bars stand in."""
    read = reading.pages[number]
    for ending in reading.endings:
        place = find_bar(read, ending.bar, ending.box) if ending.page == number else None
        if place:
            sp = read.systems[place[0]].space
            wide = grown(ending.box, 0.5 * sp, 0.3 * sp)
            mine = [i for i in items if i.role is not Role.DROPPED and i.system < 0 and within(i.box, wide)]
            figures = [i for i in mine if _is_figure(i, ending.box, sp)]
            for item in mine:
                if _is_rule(item, sp) and item.box[1] < ending.box[1] + 0.4 * sp:
                    _bracket(item, place[0], True)
            for item in figures:
                _bracket(item, place[0], False)
            if figures:
                kept = min(figures, key=lambda i: i.box[0])
                for item in figures:
                    if item is not kept and item.box[0] - kept.box[2] < 3 * sp:
                        absorb(kept, item)
                        items.remove(item)
        for page, box in ending.further:
            if page == number:
                _continued(items, box, read)
    # A bracket that goes on over a later line is known by its line alone: the hook at its end is found here.
    lines = [
        i
        for i in items
        if i.role is Role.THROUGH and (i.style == ("bracket",) or (i.system < 0 and i.style[0] == "line"))
    ]
    uprights = Rows([i for i in items if i.role is Role.SOLID and i.system < 0])
    for line in lines:
        nearest = min(range(len(read.systems)), key=lambda s: abs(read.systems[s].bbox[1] - line.box[3]))
        system = nearest if line.system < 0 else line.system
        sp = read.systems[system].space
        x0, y0, x1, y1 = line.box
        if y1 - y0 > 0.3 * sp or x1 - x0 < 4 * sp or read.systems[system].bbox[1] < y1:
            continue
        hooks = [
            u for u in uprights.near(grown(line.box, 0.3 * sp, 0.3 * sp))
            if u.box[2] - u.box[0] < 0.3 * sp and 0.8 * sp < u.box[3] - u.box[1] < 3.2 * sp and u.box[1] > y0 - 0.3 * sp
        ]  # fmt: skip
        if hooks:
            known = line.style == ("bracket",)
            for item in [line, *hooks]:
                _bracket(item, system, True)
            for item in items if not known else ():  # under one that goes on there are no figures
                if item.role is Role.WORDS and item.system < 0 and inside(item.box, (x0, y0, x0 + 4 * sp, y1 + 3 * sp)):
                    _bracket(item, system, False)


def _continued(items: list[Item], box: Box, read: PageReading) -> None:
    """The bracket's line over a later line of music goes with that one, however near the line above is."""
    under = [s for s, system in enumerate(read.systems) if system.bbox[1] > box[3]]
    if not under:
        return
    system = min(under, key=lambda s: read.systems[s].bbox[1])
    sp = read.systems[system].space
    wide = grown(box, 0.5 * sp, 0.3 * sp)
    for item in items:
        if item.role is not Role.DROPPED and item.system < 0 and within(item.box, wide) and _is_rule(item, sp):
            _bracket(item, system, True)


def rest_counts(items: list[Item], read: PageReading) -> None:
    """The figure over a multi-bar rest goes with its rest."""
    for item in items:
        if item.role is not Role.WORDS or item.system >= 0 or not item.letters.isdigit():
            continue
        x = (item.box[0] + item.box[2]) / 2
        for s, system in enumerate(read.systems):
            sp = system.space
            if not system.bbox[1] - 6 * sp < item.box[3] < system.bbox[3] + 6 * sp:
                continue
            for place, bar in enumerate(system.bars):
                if bar.count == int(item.letters) and bar.count > 1 and bar.x0 < x < bar.x1:
                    item.system, item.bar, item.style = s, place, ("count",)


def _is_rule(item: Item, sp: float) -> bool:
    """A thin stroke, or the speck that an engraver leaves at a bracket's end."""
    w, h = item.box[2] - item.box[0], item.box[3] - item.box[1]
    return min(w, h) < 0.35 * sp and (max(w, h) > 0.65 * sp or max(w, h) < 0.25 * sp)


def _is_figure(item: Item, bracket: Box, sp: float) -> bool:
    """A figure or its full stop under the left end of an ending's bracket."""
    w, h = item.box[2] - item.box[0], item.box[3] - item.box[1]
    if item.role is Role.BEAM or _is_rule(item, sp) or h > 2.4 * sp:
        return False
    return item.box[0] < bracket[0] + 4 * sp and (item.role is Role.WORDS or w < 1.4 * sp)


def _bracket(item: Item, system: int, rule: bool) -> None:
    item.system, item.above = system, True
    item.role = Role.THROUGH if rule else Role.WORDS
    item.style = ("bracket",)
    if not rule:
        item.anchor = "start"


def hooks(items: list[Item], read: PageReading) -> None:
    """The hook that opens an ending's bracket goes with the bar after it, one that closes it with the bar before."""
    brackets = [i for i in items if i.style == ("bracket",) and i.role is Role.THROUGH]
    for hook in brackets:
        system = read.systems[hook.system]
        sp = system.space
        if hook.box[2] - hook.box[0] > 0.5 * sp:
            continue
        x = (hook.box[0] + hook.box[2]) / 2
        rules = [r for r in brackets if r.system == hook.system and r.box[2] - r.box[0] >= sp]
        # Where one ending meets the next, each has a hook there: the nearer end is the hook's own.
        ends = [(abs(r.box[0] - x), sp) for r in rules] + [(abs(r.box[2] - x), -sp) for r in rules]
        near, side = min(ends, default=(sp, 0.0))
        if near < 0.6 * sp:
            hook.bar = max(0, bar_at(system.bars, x + side))
