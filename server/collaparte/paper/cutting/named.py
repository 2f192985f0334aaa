"""Ink that has a name: marks, signs and tempos as they were read, and whatever stands in a frame."""

from collections.abc import Sequence

from collaparte.music.jumpwords import times_of
from collaparte.paper.cutting.ink import Page, Shape
from collaparte.paper.cutting.items import Item, Role, Rows, grown, inside, nearest_system, union
from collaparte.paper.reading import Box, PageReading, Reading

STEM = 0.3, 2.0
"""A stem is narrower and higher than so many spaces,"""
FRAMED = 60
"""More letters than these in a frame are a text (common practice: what is played on cue is framed)."""
HEAD = 1.5
"""a head no higher."""


def things_read(items: list[Item], reading: Reading, number: int) -> list[Item]:
    """Gather the ink of each mark, sign and tempo that was read into one object with its bar."""
    read = reading.pages[number]
    taken = _numbers(items, reading, number)
    numbers = set(taken)
    made: list[Item] = []
    spaces = [read.systems[nearest_system(i.box, read.systems)].space for i in items]
    stems = Rows([i for i, sp in zip(items, spaces, strict=True) if _is_stem(i, sp)])
    signs = {s.box for s in reading.signs if s.page == number}  # a tempo has notes of its own
    for box, bar, at in _places(reading, number):
        place = find_bar(read, bar, box)
        if place is None:
            continue
        wide = grown(box, 0.25 * read.systems[place[0]].space, 0.25 * read.systems[place[0]].space)
        members = [
            i for i in items
            if id(i) not in taken and i.role is not Role.DROPPED
            and (within(i.box, wide) or (i.role is Role.WORDS and inside(i.box, wide)))
            and not (box in signs and _on_a_stem(i, wide, stems, read.systems[place[0]].space))
        ]  # fmt: skip
        if not members:
            continue
        taken |= {id(i) for i in members}
        item = _merge(members, Role.WORDS)
        item.system, item.bar, item.anchor = place[0], place[1], "end" if at == "end" else "start"
        item.above = item.box[3] < (read.systems[place[0]].bbox[1] + read.systems[place[0]].bbox[3]) / 2
        item.origin = _printed_before(item.box, place, at, read)
        if item.origin:
            item.above = True
        made.append(item)
    taken -= numbers
    return [i for i in items if id(i) not in taken] + made


def _is_stem(item: Item, sp: float) -> bool:
    wide, high = item.box[2] - item.box[0], item.box[3] - item.box[1]
    return item.role is Role.SOLID and item.style[:1] == ("shape",) and wide < STEM[0] * sp and high > STEM[1] * sp


def _on_a_stem(item: Item, sign: Box, stems: Rows, sp: float) -> bool:
    """A note's head or its ledger line in an empty corner of a sign's box ("To Coda" with its sign): its stem goes out
    of it."""
    if item.role is not Role.SOLID or item.box[3] - item.box[1] > HEAD * sp:
        return False
    if item.style == ("ledger",):
        return True
    near = stems.near(grown(item.box, 0.1 * sp, -0.1 * sp))
    return any(i is not item and not within(i.box, sign) for i in near)


def _numbers(items: Sequence[Item], reading: Reading, number: int) -> set[int]:
    """Bar numbers at line heads, which a mark's frame may reach over; a mark may be such a number itself."""
    marks = [m.box for m in reading.marks if m.page == number and m.text.isdigit()]
    boxes = [box for s in reading.pages[number].systems if (box := s.printed_number_box)]
    return {
        id(i)
        for i in items
        if i.role is Role.WORDS and any(within(i.box, grown(b, 0.5, 0.5)) for b in boxes)
        and not any(inside(i.box, m) for m in marks)
    }  # fmt: skip


def _places(reading: Reading, number: int) -> list[tuple[Box, int, str]]:
    """What was read on this page: its box, its bar's number, and what of the bar it keeps to."""
    out: list[tuple[Box, int, str]] = []
    out += [(m.box, m.bar, "start") for m in reading.marks if m.page == number]
    out += [(s.box, s.bar, s.at) for s in reading.signs if s.page == number]
    out += [(t.box, t.bar, "start") for t in reading.tempos if t.page == number]
    counts = [i for i in reading.instructions if i.page == number and times_of(i.text)]
    out += [(i.box, i.bar, _side(i.box, i.bar, reading.pages[number])) for i in counts]
    return out


def _side(box: Box, bar: int, read: PageReading) -> str:
    """The end of its bar that something is set to."""
    place = find_bar(read, bar, box)
    if place is None:
        return "start"
    over = read.systems[place[0]].bars[place[1]]
    return "end" if abs(over.x1 - box[2]) < abs(box[0] - over.x0) else "start"


def _printed_before(box: Box, place: tuple[int, int], at: str, read: PageReading) -> tuple[float, float] | None:
    """For a sign at the start of a line's first bar, printed at the end of the line before: its barline and stave."""
    s, b = place
    if at != "start" or b != 0 or s == 0:
        return None
    before, sp = read.systems[s - 1], read.systems[s].space
    right = max((line.x1 for line in before.barlines), default=before.bbox[2])
    if abs((box[0] + box[2]) / 2 - right) > 4 * sp or read.systems[s].bars[0].x0 + 6 * sp > box[0]:
        return None
    return (right, (before.staves[0].top + before.staves[0].bottom) / 2)


def _merge(members: list[Item], role: Role) -> Item:
    first = min(members, key=lambda i: i.box[0])
    marks = [m for i in members for m in i.marks]
    letters = "".join(i.letters for i in sorted(members, key=lambda i: i.box[0]))
    return Item(marks, union(i.box for i in members), role, first.style, letters=letters)


def frames(items: list[Item], page: Page, read: PageReading) -> list[Item]:
    """A frame round words, drawn as one outline or as four rules, becomes one object with them."""
    thin = [
        i for i in items
        if i.role in (Role.SOLID, Role.THROUGH, Role.BEAM) and i.system < 0 and isinstance(page.ink[i.marks[0]], Shape)
    ]  # fmt: skip
    rows = Rows(thin)
    taken: set[int] = set()
    made: list[Item] = []
    for word in items:
        if word.role is not Role.WORDS or len(word.letters) > FRAMED or id(word) in taken:
            continue
        sp = read.systems[nearest_system(word.box, read.systems)].space
        x0, y0, x1, y1 = word.box
        around = [
            s for s in rows.near(grown(word.box, 1.2 * sp, 1.2 * sp))
            if id(s) not in taken and within(s.box, grown(word.box, 1.5 * sp, 1.5 * sp))
            and (s.box[2] < x0 + 0.1 or s.box[0] > x1 - 0.1 or s.box[3] < y0 + 0.1 or s.box[1] > y1 - 0.1
                 or (s.box[0] < x0 and s.box[2] > x1 and s.box[1] < y0 and s.box[3] > y1))
        ]  # fmt: skip
        if not around:
            continue
        whole = [s for s in around if s.box[0] < x0 and s.box[2] > x1 and s.box[1] < y0 and s.box[3] > y1]
        members = whole or rules_round(word.box, around, sp)
        if not members:
            continue
        item = _merge([word, *members], Role.WORDS)
        item.style, item.anchor = ("frame",), "left"
        if word.system >= 0:  # which was read
            item.system, item.bar, item.anchor, item.above = word.system, word.bar, word.anchor, word.above
        taken |= {id(word)} | {id(s) for s in members}
        made.append(item)
    return [i for i in items if id(i) not in taken] + made


def rules_round(box: Box, near: Sequence[Item], sp: float) -> list[Item]:
    """Those of the items that are the four rules of a frame round the box; none when they are no frame."""
    x0, y0, x1, y1 = box
    long = [
        i
        for i in near
        if min(i.box[2] - i.box[0], i.box[3] - i.box[1]) < 0.3 * sp
        and max(i.box[2] - i.box[0], i.box[3] - i.box[1]) > 0.9 * min(x1 - x0, y1 - y0)
    ]
    if len(long) < 4:
        return []
    round_it = union(i.box for i in long)
    return long if round_it[0] < x0 and round_it[2] > x1 and round_it[1] < y0 and round_it[3] > y1 else []


def within(inner: Box, outer: Box) -> bool:
    """At least most of `inner` lies in `outer`."""
    w = min(inner[2], outer[2]) - max(inner[0], outer[0])
    h = min(inner[3], outer[3]) - max(inner[1], outer[1])
    return w >= 0.7 * (inner[2] - inner[0]) and h >= 0.7 * (inner[3] - inner[1]) and w >= 0 and h >= 0


def find_bar(read: PageReading, number: int, box: Box) -> tuple[int, int] | None:
    found = [
        (s, b)
        for s, system in enumerate(read.systems)
        for b, bar in enumerate(system.bars)
        if bar.number <= number < bar.number + max(1, bar.count) and not bar.continued
    ]
    y = (box[1] + box[3]) / 2
    return min(found, key=lambda f: abs(read.systems[f[0]].bbox[1] - y)) if found else None
