"""What floats between two lines of music: the one that it goes to.

What stands in no stave and does not grow out of one is given nearest first: words that a dynamic holds off their stave
are near to the dynamic.
"""

import heapq
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from collaparte.paper.cutting.diagrams import DIAGRAM
from collaparte.paper.cutting.ink import Glyph, Page
from collaparte.paper.cutting.items import Item, Role, Rows, grown, set_to
from collaparte.paper.cutting.spans import said
from collaparte.paper.cutting.told import heads, share, tells
from collaparte.paper.cutting.upon import CHORD, FIGURES, HYPHEN, LYRIC, VERSE, beside_names, in_block, upon_words
from collaparte.paper.reading import Box, PageReading, System
from collaparte.paper.sight.title import DYNAMIC

AT_NOTES = 1.5
"""So near, in spaces, to one line's ink, and more than twice as far from the other's."""
UNDER = 1.0
"""Words so near under notes, in spaces, are theirs, whatever they stand on."""
TOLD, STYLED = 0.5, 1.2
"""What others of their style do weighs so much at most for words that tell how to play, which stand above and below,
and for all else."""
OVER = 0.5
"""So it is given to the line above only where that is three times as near."""


A_ROW = 4
"""So many of a style at one height are a row, as words sung over a stave are: it stays together."""
BELOW = 0.2
"""Dynamics stand under their stave, rather (common practice); those over words sung are known by where others stand."""
LEG = 0.1, 2.0
"""How high a hairpin's stroke is at least and at most, in spaces,"""
BESIDE = 2.0
"""and how near to it the dynamic stands."""
UNDER_FIRST, AT_HEADS, NOTES = (1.5, 0.2), 2.0, 4.0
"""Words sung rather stand under their stave (common practice), less so where some stand over the page's first; how much
it weighs which line's notes they stand at, and how far from a stave those are, in spaces."""
SET = 1.0
"""How much it weighs that words begin at a note of one line only."""


@dataclass(slots=True)
class Floating:
    """What may be either line's: the systems over and under it, how it leans (-1 up, 1 down), how its row
    does, and whether there are many in it."""

    item: Item
    up: int
    down: int
    lean: float
    row: float = 0.0
    many: bool = False


def _gaps(box: Box, solid: Sequence[Item], system: System, below: bool) -> float:
    """The clear height in spaces between `box` and the system's solid ink, above the box (`below`) or under it."""
    sp = system.space
    edge = system.bbox[3] if below else system.bbox[1]
    for item in solid:
        if item.box[2] > box[0] - 0.3 * sp and item.box[0] < box[2] + 0.3 * sp:
            edge = max(edge, item.box[3]) if below else min(edge, item.box[1])
    return (box[1] - edge) / sp if below else (edge - box[3]) / sp


def _clear_of(item: Item, ink: Sequence[Item], system: System) -> bool:
    """It is not at notes of the system over it, nor at what stands at them."""
    return _gaps(item.box, [i for i in ink if i is not item], system, below=True) > AT_NOTES


def _is_close(item: Item, ink: Sequence[Item], system: System) -> bool:
    """It stands right under notes of the system over it, or under what stands there."""
    return _gaps(item.box, [i for i in ink if i is not item], system, below=True) < UNDER


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


def give(items: list[Item], solid: list[list[Item]], page: Page, read: PageReading) -> None:
    """Give what floats between two systems to the one it belongs to."""
    systems = read.systems
    order = sorted(range(len(systems)), key=lambda s: systems[s].bbox[1])
    floating: list[Floating] = []
    votes: dict[tuple[object, ...], float] = defaultdict(float)
    _give_sung(items, solid, page, systems)
    sung = [
        max((i.box[1] for i in items if i.style == LYRIC and i.system == s and not i.above), default=0.0)
        for s in range(len(systems))
    ]
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
        if item.style == DIAGRAM:  # above its stave (common practice)
            item.system, item.above = down, True
            continue
        if item.role is Role.WORDS and item.box[1] < sung[up]:
            item.system, item.above = up, False  # its stave's sung words stand under it
            continue
        if item.style[:1] == ("curve",):
            ends = [_end_gap(item.box, solid[k], systems[k]) for k in (up, down)]
            item.system, item.above = (up, False) if ends[0] <= ends[1] else (down, True)
            continue
        if not any(c.isalnum() for c in item.letters) and _is_small(item.box, systems[up].space):
            gaps = [_gaps(item.box, solid[k], systems[k], below=k == up) for k in (up, down)]
            item.system, item.above = (up, False) if gaps[0] <= gaps[1] else (down, True)
            continue
        to_up, to_down = _both(item.box, up, down, solid, systems)
        if item.letters.strip() in FIGURES and min(to_up, to_down) < AT_NOTES < max(to_up, to_down) / 2:
            item.system, item.above = (up, False) if to_up < to_down else (down, True)
            continue
        lean = _lean(item, to_up, to_down)
        votes[item.style] += max(-1.0, min(1.0, 2 * lean))
        floating.append(Floating(item, up, down, lean))
    rows: dict[tuple[object, ...], list[Floating]] = defaultdict(list)
    for one in floating:
        rows[(one.item.style, one.up, round(one.item.box[3] / 3))].append(one)
    for row in rows.values():
        mean = sum(one.lean for one in row) / len(row)
        for one in row:
            one.row, one.many = mean, len(row) >= A_ROW
    ink = _nearest_first(floating, items, solid, votes, systems)
    in_block(items, [(f.item, f.down) for f in floating if not f.item.above], read)
    below = [f for f in floating if not f.item.above]
    off = [(f.item, f.down) for f in below if not _is_close(f.item, ink[f.up], systems[f.up])]
    upon_words(items, off, read)
    below = [f for f in below if not f.item.above]
    beside_names(items, [(f.item, f.down) for f in below if _clear_of(f.item, ink[f.up], systems[f.up])], read)
    _with_lyrics(items, page, read)
    _hairpins([f.item for f in floating], items, read)
    said(items, read)


def _both(
    box: Box, up: int, down: int, ink: Sequence[Sequence[Item]], systems: Sequence[System]
) -> tuple[float, float]:
    """How far it is from the ink of the line over it and of that under it, in spaces."""
    gaps = (_gaps(box, ink[k], systems[k], below=k == up) for k in (up, down))
    to_up, to_down = (max(gap, 0.0) for gap in gaps)
    return to_up, to_down


def _lean(item: Item, to_up: float, to_down: float) -> float:
    lean = (to_up - to_down) / (to_up + to_down + 0.5)
    if DYNAMIC.fullmatch(item.letters.strip()):
        return lean - BELOW
    return lean + (OVER if CHORD.fullmatch(item.letters) else 0.0)


def _nearest_first(
    floating: Sequence[Floating],
    items: Sequence[Item],
    solid: Sequence[Sequence[Item]],
    votes: dict[tuple[object, ...], float],
    systems: Sequence[System],
) -> list[list[Item]]:
    """Give each to a line, nearest first; what was given holds off what stands beyond it. The ink of each line then."""
    ink = [list(own) for own in solid]
    for item in items:
        if item.system >= 0 and item.role is not Role.DROPPED and item not in ink[item.system]:
            ink[item.system].append(item)
    gaps = [_both(f.item.box, f.up, f.down, ink, systems) for f in floating]
    queue = [(min(gap), n) for n, gap in enumerate(gaps)]
    heapq.heapify(queue)
    while queue:
        near, n = heapq.heappop(queue)
        one, gap = floating[n], gaps[n]
        if one.item.system >= 0 or near > min(gap):
            continue
        item = one.item
        vote = votes[item.style]
        space = systems[one.up].space
        most = TOLD if tells(item, space) else STYLED
        lean = one.row if one.many else _lean(item, *gap)
        score = 0.6 * lean + 0.6 * one.row + max(-most, min(most, vote / 4))
        if item.style == ("frame",):
            score += 1.0
        elif most == TOLD and not one.many:
            score += SET * (set_to(item.box, solid[one.down], space) - set_to(item.box, solid[one.up], space))
        item.system, item.above = (one.down, True) if score > 0 else (one.up, False)
        ink[item.system].append(item)
        for k, other in enumerate(floating):
            if other.item.system < 0 and item.system in (other.up, other.down):
                new = _both(other.item.box, other.up, other.down, ink, systems)
                if new != gaps[k]:
                    gaps[k] = new
                    heapq.heappush(queue, (min(new), k))
    return ink


def _give_sung(items: Sequence[Item], solid: Sequence[Sequence[Item]], page: Page, systems: Sequence[System]) -> None:
    """Rows of words sung, each to one line, the nearest to it first: one verse stands under another."""
    rows: dict[int, list[list[Item]]] = defaultdict(list)
    lowest: dict[int, float] = {}
    for item in sorted((i for i in items if i.style == LYRIC and i.system < 0), key=lambda i: _line_of_type(i, page)):
        y = (item.box[1] + item.box[3]) / 2
        home = [s for s, system in enumerate(systems) if system.bbox[1] <= y <= system.bbox[3]]
        over = [s for s, system in enumerate(systems) if system.bbox[3] < y]
        under = [s for s, system in enumerate(systems) if system.bbox[1] > y]
        if home or not over or not under:
            item.system, item.above = (home or under or over[-1:])[0], not home and not over
            continue
        base = _line_of_type(item, page)
        if base - lowest.get(over[-1], -9.0) > 1.0:
            rows[over[-1]].append([])
            lowest[over[-1]] = base
        rows[over[-1]][-1].append(item)
    lean = UNDER_FIRST[any(i.style == LYRIC and i.system >= 0 and i.above for i in items)]
    for up, between in rows.items():
        down = min(
            (s for s, v in enumerate(systems) if v.bbox[1] > systems[up].bbox[3]), key=lambda s: systems[s].bbox[1]
        )
        ink = {k: list(solid[k]) for k in (up, down)}
        last, first = systems[up].staves[-1], systems[down].staves[0]
        notes = {
            up: [h for h in heads(solid[up], systems) if h[1] > last.top - NOTES * systems[up].space],
            down: [h for h in heads(solid[down], systems) if h[3] < first.bottom + NOTES * systems[down].space],
        }
        while between:
            gaps = [[_mean_gap(row, ink[k], systems[k], below=k == up) for k in (up, down)] for row in between]
            nearest = min(range(len(between)), key=lambda n: min(gaps[n]))
            to_up, to_down = gaps[nearest]
            row = between.pop(nearest)
            at_up, at_down = (share([i.box for i in row], notes[k], systems[k].space) for k in (up, down))
            below = (to_down - to_up) / max(to_up + to_down, 0.5) + AT_HEADS * (at_up - at_down) + lean > 0
            for item in row:
                item.system, item.above = (up, False) if below else (down, True)
            ink[row[0].system] += row


def _line_of_type(item: Item, page: Page) -> float:
    """The height of its baseline."""
    first = page.ink[item.marks[0]]
    return item.base or (first.m[5] if isinstance(first, Glyph) else item.box[3])


def _mean_gap(row: Sequence[Item], ink: Sequence[Item], system: System, below: bool) -> float:
    return sum(max(_gaps(item.box, ink, system, below), 0.0) for item in row) / len(row)


def _hairpins(floating: Sequence[Item], items: Sequence[Item], read: PageReading) -> None:
    """A hairpin goes where the dynamic goes that it leads to or comes from, in one row with it."""
    loud = Rows([i for i in items if i.role is Role.WORDS and DYNAMIC.fullmatch(i.letters.strip())])
    for item in floating:
        sp, (x0, y0, x1, y1) = read.systems[item.system].space, item.box
        if item.role is not Role.THROUGH or item.style[:1] != ("line",) or not LEG[0] * sp < y1 - y0 < LEG[1] * sp:
            continue
        near = [d for d in loud.near(grown(item.box, BESIDE * sp, 0.0)) if d.box[2] < x0 + sp or x1 - sp < d.box[0]]
        if near and len({dynamic.system for dynamic in near}) == 1:
            item.system, item.above = near[0].system, near[0].above


def _with_lyrics(items: list[Item], page: Page, read: PageReading) -> None:
    """A hyphen or a line between two syllables goes where they go, and so does the number of a verse before them."""
    sung = Rows([i for i in items if i.style == LYRIC])
    for item in items:
        sp = read.systems[item.system].space
        if item.role is Role.WORDS and VERSE.fullmatch(item.letters.strip()):
            row = sung.near(grown(item.box, 8 * sp, -0.3 * (item.box[3] - item.box[1])))
            if row and all(word.box[0] > item.box[2] for word in row):
                item.system, item.above = row[0].system, False
            continue
        stroke = item.style[:1] in (("shape",), ("line",)) or (item.style == ("ledger",) and item.role is Role.WORDS)
        if item.letters or not stroke or item.box[3] - item.box[1] > 0.4 * sp:
            continue
        beside = sung.near(grown(item.box, 8 * sp, 0.3 * sp))
        if beside:
            item.system, item.above, item.letters = beside[0].system, beside[0].above, HYPHEN
            first = page.ink[beside[0].marks[0]]
            item.base = first.m[5] if isinstance(first, Glyph) else None
