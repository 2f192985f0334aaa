"""Whose ink is it: every object of a page to one system, one stave and one bar.

The order of the rules: ink in a stave is its own; ink that grows out of it (ledger lines, high notes) goes with it;
what was read as a mark, sign, ending or tempo goes where it was read; the rest goes to the nearer solid ink, where
things of one style vote together and a row keeps together.
"""

import unicodedata
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from collaparte.paper.ink import Page, Shape
from collaparte.paper.objects import Item, Role, Rows, build, grown, inside, nearest_system, touch, union
from collaparte.paper.reading import BarBox, Box, PageReading, Reading, System


@dataclass(slots=True)
class Owned:
    """A page's objects with their owners; and apart from them, those of the page's head and foot."""

    items: list[Item] = field(default_factory=list)
    head: list[Item] = field(default_factory=list)
    foot: list[Item] = field(default_factory=list)


def own(page: Page, reading: Reading, number: int) -> Owned:
    """The objects of page `number`; old bar numbers, page numbers and running titles are left out."""
    read = reading.pages[number]
    marks = [m.box for m in (*reading.marks, *reading.signs) if m.page == number]
    head, items = _heads(build(page, read, marks), reading, number)
    foot, items = _foot(items, page, read)
    items = _without_numbers(items, reading, number)
    items = _frames(_read_things(items, reading, number), page, read)
    _endings(items, reading, number)
    _rest_counts(items, read)
    solid = _grow(items, read)
    items = _gather(items, read)
    _give(items, solid, read)
    for item in items:
        _stave(item, solid[item.system], read.systems[item.system])
        _bar(item, read.systems[item.system])
    _hooks(items, read)
    return Owned(items, head, foot)


def _heads(items: list[Item], reading: Reading, number: int) -> tuple[list[Item], list[Item]]:
    """The words at the head of the page (with the page's own number and running title), and the rest."""
    read = reading.pages[number]
    boxes = [grown(h.box, 1, 1) for h in reading.head if h.page == number]
    known = {_plain(w) for h in reading.head for w in (h.text, *h.text.split())} | {"", "page", str(number + 1)}
    head: list[Item] = []
    rest: list[Item] = []
    first = min(read.systems, key=lambda s: s.bbox[1])
    for item in items:
        found = item.role is not Role.DROPPED and any(inside(item.box, b) for b in boxes)
        if not found and number and item.role is Role.WORDS and item.box[3] < first.bbox[1] - 3 * first.space:
            found = all(_plain(w) in known for w in (item.letters.split() or ["?"]))
        (head if found else rest).append(item)
    return _beside(head, rest, first.space)


def _foot(items: list[Item], page: Page, read: PageReading) -> tuple[list[Item], list[Item]]:
    """Words at the very foot of a page, clear of all music, and the rest; a page number alone is dropped."""
    last = max(read.systems, key=lambda s: s.bbox[3])
    music = [i.box[3] for i in items if i.role is not Role.WORDS or i.style == ("lyric",)]
    low = max(max(music, default=0.0) + 2 * last.space, last.bbox[3] + 4 * last.space, 0.88 * page.height)
    foot = [i for i in items if i.role is Role.WORDS and i.box[1] > low]
    gone = {id(i) for i in foot}
    return [i for i in foot if not _plain(i.letters).isdigit()], [i for i in items if id(i) not in gone]


def _beside(head: list[Item], rest: list[Item], sp: float) -> tuple[list[Item], list[Item]]:
    """A raised figure of a chord name may look like a line of its own: what stands beside music is no head word."""
    kept: list[Item] = []
    near = Rows([r for r in rest if r.role is not Role.DROPPED])
    for item in head:
        if any(
            min(item.box[3], o.box[3]) - max(item.box[1], o.box[1]) > 0 for o in near.near(grown(item.box, 0.7 * sp, 0))
        ):
            rest.append(item)
        else:
            kept.append(item)
    return kept, rest


def _plain(text: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFKC", text).casefold() if c.isalnum())


def _without_numbers(items: list[Item], reading: Reading, number: int) -> list[Item]:
    """Old bar numbers go: the one read at the line's head, and any run of digits that is its bar's number."""
    read = reading.pages[number]
    marks = [grown(m.box, 1, 1) for m in (*reading.marks, *reading.tempos, *reading.signs) if m.page == number]
    heads = [grown(s.printed_number_box, 0.5, 0.5) for s in read.systems if s.printed_number_box]
    kept: list[Item] = []
    for item in items:
        if item.role is not Role.DROPPED and any(inside(item.box, b) for b in heads):
            continue
        digits = item.letters.replace(" ", "")
        if any(inside(item.box, b) for b in marks):
            kept.append(item)
            continue
        if item.role is Role.WORDS and digits.isdigit() and _is_bar_number(item, int(digits), read.systems):
            continue
        kept.append(item)
    return kept


def _is_bar_number(item: Item, value: int, systems: Sequence[System]) -> bool:
    x, y = (item.box[0] + item.box[2]) / 2, (item.box[1] + item.box[3]) / 2
    for system in systems:
        sp = system.space
        if not system.bbox[1] - 5 * sp < y < system.bbox[1] and not system.bbox[3] < y < system.bbox[3] + 4 * sp:
            continue
        if x < system.staves[0].x0 + 2 * sp and system.bars and value == system.bars[0].number:
            return True
        for bar in system.bars[1:]:
            if abs(x - bar.x0) < 1.8 * sp and value == bar.number and bar.count == 1:
                return True
    return False


def _places(reading: Reading, number: int) -> list[tuple[Box, int, str]]:
    """What was read on this page: its box, its bar's number, and what of the bar it keeps to."""
    out: list[tuple[Box, int, str]] = []
    out += [(m.box, m.bar, "start") for m in reading.marks if m.page == number]
    out += [(s.box, s.bar, s.at) for s in reading.signs if s.page == number]
    out += [(t.box, t.bar, "start") for t in reading.tempos if t.page == number]
    return out


def _read_things(items: list[Item], reading: Reading, number: int) -> list[Item]:
    """Gather the ink of each mark, sign and tempo that was read into one object with its bar."""
    read = reading.pages[number]
    taken: set[int] = set()
    made: list[Item] = []
    for box, bar, at in _places(reading, number):
        place = _find_bar(read, bar, box)
        if place is None:
            continue
        wide = grown(box, 0.25 * read.systems[place[0]].space, 0.25 * read.systems[place[0]].space)
        members = [
            i for i in items
            if id(i) not in taken and i.role is not Role.DROPPED
            and (_within(i.box, wide) or (i.role is Role.WORDS and inside(i.box, wide)))
        ]  # fmt: skip
        if not members:
            continue
        taken |= {id(i) for i in members}
        item = _merge(members, Role.WORDS)
        item.system, item.bar, item.anchor = place[0], place[1], at
        item.above = item.box[3] < (read.systems[place[0]].bbox[1] + read.systems[place[0]].bbox[3]) / 2
        item.origin = _printed_before(item.box, place, at, read)
        if item.origin:
            item.above = True
        made.append(item)
    return [i for i in items if id(i) not in taken] + made


def _endings(items: list[Item], reading: Reading, number: int) -> None:
    """The bracket and the figure of each ending go with the system that its bars stand in."""
    read = reading.pages[number]
    for ending in reading.endings:
        place = _find_bar(read, ending.bar, ending.box) if ending.page == number else None
        if place:
            sp = read.systems[place[0]].space
            wide = grown(ending.box, 0.5 * sp, 0.3 * sp)
            mine = [i for i in items if i.role is not Role.DROPPED and i.system < 0 and _within(i.box, wide)]
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
                        _absorb(kept, item)
                        items.remove(item)
    lines = [i for i in items if i.role is Role.THROUGH and i.system < 0 and i.style[0] == "line"]
    uprights = Rows([i for i in items if i.role is Role.SOLID and i.system < 0])
    for line in lines:
        system = min(range(len(read.systems)), key=lambda s: abs(read.systems[s].bbox[1] - line.box[3]))
        sp = read.systems[system].space
        x0, y0, x1, y1 = line.box
        if y1 - y0 > 0.3 * sp or x1 - x0 < 4 * sp or read.systems[system].bbox[1] < y1:
            continue
        hooks = [
            u for u in uprights.near(grown(line.box, 0.3 * sp, 0.3 * sp))
            if u.box[2] - u.box[0] < 0.3 * sp and 0.8 * sp < u.box[3] - u.box[1] < 3.2 * sp and u.box[1] > y0 - 0.3 * sp
        ]  # fmt: skip
        if hooks:
            for item in [line, *hooks]:
                _bracket(item, system, True)
            for item in items:
                if item.role is Role.WORDS and item.system < 0 and inside(item.box, (x0, y0, x0 + 4 * sp, y1 + 3 * sp)):
                    _bracket(item, system, False)


def _rest_counts(items: list[Item], read: PageReading) -> None:
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


def _within(inner: Box, outer: Box) -> bool:
    """At least most of `inner` lies in `outer`."""
    w = min(inner[2], outer[2]) - max(inner[0], outer[0])
    h = min(inner[3], outer[3]) - max(inner[1], outer[1])
    return w >= 0.7 * (inner[2] - inner[0]) and h >= 0.7 * (inner[3] - inner[1]) and w >= 0 and h >= 0


def _find_bar(read: PageReading, number: int, box: Box) -> tuple[int, int] | None:
    found = [
        (s, b)
        for s, system in enumerate(read.systems)
        for b, bar in enumerate(system.bars)
        if bar.number <= number < bar.number + max(1, bar.count) and not bar.continued
    ]
    y = (box[1] + box[3]) / 2
    return min(found, key=lambda f: abs(read.systems[f[0]].bbox[1] - y)) if found else None


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


def _frames(items: list[Item], page: Page, read: PageReading) -> list[Item]:
    """A frame round words, drawn as one outline or as four rules, becomes one object with them."""
    thin = [
        i for i in items
        if i.role in (Role.SOLID, Role.THROUGH, Role.BEAM) and i.system < 0 and isinstance(page.ink[i.marks[0]], Shape)
    ]  # fmt: skip
    rows = Rows(thin)
    taken: set[int] = set()
    made: list[Item] = []
    for word in items:
        if word.role is not Role.WORDS or word.system >= 0 or len(word.letters) > 12 or id(word) in taken:
            continue
        sp = read.systems[nearest_system(word.box, read.systems)].space
        x0, y0, x1, y1 = word.box
        around = [
            s for s in rows.near(grown(word.box, 1.2 * sp, 1.2 * sp))
            if id(s) not in taken and _within(s.box, grown(word.box, 1.5 * sp, 1.5 * sp))
            and (s.box[2] < x0 + 0.1 or s.box[0] > x1 - 0.1 or s.box[3] < y0 + 0.1 or s.box[1] > y1 - 0.1
                 or (s.box[0] < x0 and s.box[2] > x1 and s.box[1] < y0 and s.box[3] > y1))
        ]  # fmt: skip
        if not around:
            continue
        whole = [s for s in around if s.box[0] < x0 and s.box[2] > x1 and s.box[1] < y0 and s.box[3] > y1]
        rules = [s for s in around if min(s.box[2] - s.box[0], s.box[3] - s.box[1]) < 0.3 * sp]
        members = whole or rules
        if not whole:
            long = [s for s in rules if max(s.box[2] - s.box[0], s.box[3] - s.box[1]) > 0.9 * min(x1 - x0, y1 - y0)]
            if len(long) < 4:
                continue
            box = union(s.box for s in long)
            if not (box[0] < x0 and box[2] > x1 and box[1] < y0 and box[3] > y1):
                continue
            members = long
        item = _merge([word, *members], Role.WORDS)
        item.style, item.anchor = ("frame",), "left"
        taken |= {id(word)} | {id(s) for s in members}
        made.append(item)
    return [i for i in items if id(i) not in taken] + made


def _grow(items: list[Item], read: PageReading) -> list[list[Item]]:
    """The solid ink of each system: what lies in its staves, and what hangs together with that."""
    solid: list[list[Item]] = [[] for _ in read.systems]
    candidates = [i for i in items if i.role in (Role.SOLID, Role.BEAM) and i.system < 0]
    rows = Rows(candidates)
    queue: list[Item] = []
    for item in candidates:
        for s, system in enumerate(read.systems):
            if any(item.box[3] > v.top + 0.02 and item.box[1] < v.bottom - 0.02 for v in system.staves):
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
                other.system = item.system
                solid[item.system].append(other)
                queue.append(other)
    return solid


def _gather(items: list[Item], read: PageReading) -> list[Item]:
    """Small ink that floats clear of the staves joins the words beside it (accidentals and raised figures of chord
    names, the note of a metronome mark); letters drawn as outlines become words; single signs stay alone."""
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
            overlap = min(item.box[3], group.box[3]) - max(item.box[1], group.box[1])
            low = min(item.box[3] - item.box[1], group.box[3] - group.box[1])
            raised = (
                item.box[3] < group.box[3] - 0.25 * (group.box[3] - group.box[1]) and item.box[1] < group.box[1] + sp
            )
            if (
                -1.5 * sp < gap < (1.0 if raised else 0.6) * sp
                and overlap > 0.3 * low
                and (best is None or abs(gap) < best[0])
            ):
                best = (abs(gap), group)
        if best and not any(best[1].box[2] - 0.2 * sp < line.x < item.box[0] + 0.2 * sp for line in system.barlines):
            _absorb(best[1], item)
            if small and best[1].letters:
                loose.add(id(best[1]))
        else:
            groups.append(item)
    return kept + groups


def _absorb(group: Item, item: Item) -> None:
    if not group.letters:
        group.style = item.style
    group.marks += item.marks
    group.letters += item.letters
    group.box = union((group.box, item.box))


def _gaps(box: Box, solid: list[Item], system: System, below: bool) -> float:
    """The clear height in spaces between `box` and the system's solid ink, above the box (`below`) or under it."""
    sp = system.space
    edge = system.bbox[3] if below else system.bbox[1]
    for item in solid:
        if item.box[2] > box[0] - 0.3 * sp and item.box[0] < box[2] + 0.3 * sp:
            edge = max(edge, item.box[3]) if below else min(edge, item.box[1])
    return (box[1] - edge) / sp if below else (edge - box[3]) / sp


def _end_gap(box: Box, solid: list[Item], system: System) -> float:
    """How far the two ends of a slur are from solid ink of the system, in spaces, together."""
    sp = system.space
    y0, y1 = box[1], box[3]
    total = 0.0
    for x in (box[0], box[2]):
        best = 9.0
        for item in solid:
            b = item.box
            dx = max(b[0] - x, x - b[2], 0.0)
            if dx < 3 * sp:
                dy = max(b[1] - y1, y0 - b[3], 0.0)
                best = min(best, (dx * dx + dy * dy) ** 0.5 / sp)
        total += best
    return total


def _is_small(box: Box, sp: float) -> bool:
    """As small as a staccato dot or an accent, which stands by its note whatever others of its kind do."""
    return box[2] - box[0] < 2 * sp and box[3] - box[1] < 1.4 * sp


def _give(items: list[Item], solid: list[list[Item]], read: PageReading) -> None:
    """Give what floats between two systems to the one it belongs to."""
    systems = read.systems
    order = sorted(range(len(systems)), key=lambda s: systems[s].bbox[1])
    floating: list[tuple[Item, int, int, float]] = []
    votes: dict[tuple[object, ...], float] = defaultdict(float)
    for item in items:
        if item.system >= 0:
            continue
        y = (item.box[1] + item.box[3]) / 2
        home = [s for s in order if systems[s].bbox[1] <= y <= systems[s].bbox[3]]
        if home:
            item.system = home[0]
            continue
        over = [s for s in order if systems[s].bbox[3] < y]
        under = [s for s in order if systems[s].bbox[1] > y]
        if not over or not under:
            item.system = under[0] if under else over[-1]
            item.above = bool(under)
            sure = _gaps(item.box, solid[item.system], systems[item.system], below=not under) < 9
            votes[item.style] += (2.0 if under else -2.0) if sure else 0.0
            continue
        up, down = over[-1], under[0]
        if item.style[:1] == ("curve",):
            ends = [_end_gap(item.box, solid[k], systems[k]) for k in (up, down)]
            item.system, item.above = (up, False) if ends[0] <= ends[1] else (down, True)
            continue
        if not any(c.isalnum() for c in item.letters) and _is_small(item.box, systems[up].space):
            gaps = [_gaps(item.box, solid[k], systems[k], below=k == up) for k in (up, down)]
            item.system, item.above = (up, False) if gaps[0] <= gaps[1] else (down, True)
            continue
        to_up = max(_gaps(item.box, solid[up], systems[up], below=True), 0.0)
        to_down = max(_gaps(item.box, solid[down], systems[down], below=False), 0.0)
        lean = (to_up - to_down) / (to_up + to_down + 0.5)
        votes[item.style] += max(-1.0, min(1.0, 2 * lean))
        floating.append((item, up, down, lean))
    rows: dict[tuple[object, ...], list[tuple[Item, int, int, float]]] = defaultdict(list)
    for entry in floating:
        item = entry[0]
        rows[(item.style, entry[1], round(item.box[3] / 3))].append(entry)
    for row in rows.values():
        mean = sum(e[3] for e in row) / len(row)
        for item, up, down, lean in row:
            vote = votes[item.style]
            score = 0.6 * lean + 0.6 * mean + max(-1.2, min(1.2, vote / 4))
            if item.style == ("frame",):
                score += 1.0
            item.system, item.above = (down, True) if score > 0 else (up, False)


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

    item.stave = min(range(len(staves)), key=away)
    item.above = y < (staves[item.stave].top + staves[item.stave].bottom) / 2


def _bar(item: Item, system: System) -> None:
    """The bar an object stands in: by its left edge for words that begin at a note, by its middle for the rest."""
    if item.bar >= 0:
        return
    sp = system.space
    if item.anchor == "start":
        item.bar = max(0, bar_at(system.bars, item.box[0] + 0.3 * sp))
        return
    x = (item.box[0] + item.box[2]) / 2
    if item.role is Role.WORDS:
        if item.style == ("frame",):
            item.bar = min(range(len(system.bars)), key=lambda b: abs(system.bars[b].x0 - x), default=-1)
            item.anchor = "start"
            return
        if item.above and item.box[2] - item.box[0] > 1.6 * sp and item.anchor == "centre" and item.letters:
            item.anchor = "left"
            x = item.box[0] + 0.7 * sp
    item.bar = bar_at(system.bars, x)
    if item.bar < 0 and item.role in (Role.WORDS, Role.THROUGH):
        item.bar, item.anchor = 0, "start"


def _hooks(items: list[Item], read: PageReading) -> None:
    """The hook that opens an ending's bracket goes with the bar after it, the one that closes it with the bar before."""
    brackets = [i for i in items if i.style == ("bracket",) and i.role is Role.THROUGH]
    for hook in brackets:
        system = read.systems[hook.system]
        sp = system.space
        if hook.box[2] - hook.box[0] > 0.5 * sp:
            continue
        x = (hook.box[0] + hook.box[2]) / 2
        for rule in brackets:
            if rule.system != hook.system or rule.box[2] - rule.box[0] < sp:
                continue
            if abs(rule.box[0] - x) < 0.6 * sp:
                hook.bar = max(0, bar_at(system.bars, x + sp))
            elif abs(rule.box[2] - x) < 0.6 * sp:
                hook.bar = max(0, bar_at(system.bars, x - sp))


def bar_at(bars: Sequence[BarBox], x: float) -> int:
    """The place of the bar that x lies in; -1 in the line's head."""
    if not bars or x < bars[0].x0 - 1e-6:
        return -1
    for place, bar in enumerate(bars):
        following = bars[place + 1].x0 if place + 1 < len(bars) else 1e9
        if x < (bar.x1 + following) / 2:
            return place
    return len(bars) - 1


__all__ = ["bar_at", "own", "touch"]
