"""Words sung whose letters are outlines: rows of them as long as a line, at its notes, taken apart into syllables."""

from collections.abc import Sequence
from statistics import median

from collaparte.paper.cutting.ink import Page, Shape
from collaparte.paper.cutting.items import Item, Role, union
from collaparte.paper.cutting.told import heads, share
from collaparte.paper.cutting.upon import HYPHEN, LYRIC
from collaparte.paper.reading import Box, PageReading, System

ONE_ROW, LETTER = 0.5, 3.0
"""Most letters of a row end at one height but for so much; none is higher, in spaces."""
SOME, A_ROW, WIDE = 3, 10, 0.4
"""So many groups of letters, of so many syllables, over so much of a line's width, are a row."""
APART, STOP, SMALL = 0.26, 0.4, 0.5
"""Syllables stand farther apart than letters, and than a stop that is no wider, in spaces."""
AT_NOTES, NOTES = (0.5, 0.25), 0.4
"""So large a share of them stands at notes of the stave over or under them (of a row in another's type, set closely
perhaps), and there are so many for its notes."""
FLAT, A_LETTER, BESIDE = 0.4, 1.3, 8.0
"""A hyphen is no higher, in its row's small letters' height, and so near to its syllables, in spaces."""
SMALL_LETTERS, LETTERS = 0.38, 2.7
"""Of a row's letters so many are small, and a syllable has so many. Of invented songs 0.42 and 3.1 at least; of chords'
names 0.18 at most, and 0.53 where they have no more than 2.4."""
REACH = 12.0
"""A row is no farther from its stave, in spaces."""


def sung_outlines(items: list[Item], solid: Sequence[Sequence[Item]], page: Page, read: PageReading) -> list[Item]:
    """The items; rows of outlines that are sung as syllables, with their line of type."""
    loose = [i for i in items if i.system < 0 and i.role is Role.WORDS and not i.letters and _is_type(i, page, read)]
    out, gone, sizes = list[Item](), set[int](), list[float]()
    for row in sorted(_rows(loose, page, read), key=len, reverse=True):
        row = [i for i in row if id(i) not in gone]
        if len(row) < SOME:
            continue
        row += _level([i for i in loose if id(i) not in gone], row)
        base = median(page.ink[n].box[3] for i in row for n in i.marks)
        size = round(_tall([page.ink[n].box for i in row for n in i.marks]), 1)
        made = _syllables(row, page, read.systems[0].space, base)
        if (
            len(made) >= A_ROW
            and _in_small_letters(made, page, base)
            and _is_sung(made, solid, read.systems, AT_NOTES[size in sizes])
        ):
            gone |= {id(i) for i in row}
            sizes.append(size)
            out += made
            for item in _hyphens(items, union(i.box for i in made), base, read.systems[0].space):
                item.role, item.style, item.letters, item.base, item.above = Role.WORDS, LYRIC, HYPHEN, base, False
    return [i for i in items if id(i) not in gone] + out


def _level(loose: Sequence[Item], row: Sequence[Item]) -> list[Item]:
    """What else stands on the row's line: words most of whose letters have descenders."""
    box, here = union(i.box for i in row), {id(i) for i in row}
    return [i for i in loose if id(i) not in here and box[1] - 0.1 < i.box[1] and i.box[3] < box[3] + 0.1]


def _hyphens(items: Sequence[Item], row: Box, base: float, sp: float) -> list[Item]:
    """Short level strokes in a row's middle height, or longer ones on its line."""
    return [
        i for i in items
        if i.system < 0 and not i.letters and i.style[:1] in (("shape",), ("line",), ("ledger",))
        and i.box[3] - i.box[1] < FLAT * sp and base - A_LETTER * sp < i.box[1] < base + FLAT * sp
        and row[0] - BESIDE * sp < i.box[0] < row[2] + BESIDE * sp
    ]  # fmt: skip


def _is_type(item: Item, page: Page, read: PageReading) -> bool:
    """Letters drawn as outlines, no hyphen."""
    sp = read.systems[0].space
    drawn = all(
        isinstance(page.ink[n], Shape) and page.ink[n].box[3] - page.ink[n].box[1] < LETTER * sp for n in item.marks
    )
    return drawn and item.box[3] - item.box[1] > FLAT * sp


def _rows(items: Sequence[Item], page: Page, read: PageReading) -> list[list[Item]]:
    near = ONE_ROW * read.systems[0].space
    rows: list[list[Item]] = []
    lowest = -1e9
    for foot, item in sorted(((median(page.ink[n].box[3] for n in i.marks), i) for i in items), key=lambda one: one[0]):
        if foot - lowest > near:
            rows.append([])
            lowest = foot
        rows[-1].append(item)
    return rows


def _syllables(row: Sequence[Item], page: Page, sp: float, base: float) -> list[Item]:
    out: list[Item] = []
    for n in sorted((n for i in row for n in i.marks), key=lambda n: page.ink[n].box[0]):
        box = page.ink[n].box
        if out and box[0] - out[-1].box[2] < (STOP if box[2] - box[0] < SMALL * sp else APART) * sp:
            out[-1].marks.append(n)
            out[-1].box = union((out[-1].box, box))
        else:
            out.append(Item([n], box, Role.WORDS, LYRIC, above=False, base=base))
    return out


def _in_small_letters(row: Sequence[Item], page: Page, base: float) -> bool:
    """Many of its letters are small ones that stand on its line: chords' names are capitals and raised figures."""
    boxes = [page.ink[n].box for i in row for n in i.marks]
    tall = _tall(boxes)
    small = [b for b in boxes if 0.4 * tall < b[3] - b[1] < 0.8 * tall and abs(b[3] - base) < 0.15 * tall]
    return len(small) >= SMALL_LETTERS * len(boxes) >= SMALL_LETTERS * LETTERS * len(row)


def _tall(boxes: Sequence[Box]) -> float:
    """How high tall letters are."""
    heights = sorted(b[3] - b[1] for b in boxes)
    return heights[int(0.9 * (len(heights) - 1))]


def _is_sung(row: Sequence[Item], solid: Sequence[Sequence[Item]], systems: Sequence[System], least: float) -> bool:
    """Of the staves right over and right under the row one has its notes."""
    box = union(i.box for i in row)
    for s, system in enumerate(systems):
        if box[2] - box[0] < WIDE * (system.bbox[2] - system.bbox[0]):
            continue
        every = heads(solid[s], systems)
        for stave in system.staves:
            if min(abs(box[1] - stave.bottom), abs(stave.top - box[3])) > REACH * system.space:
                continue
            notes = [h for h in every if _between(h, stave.top, stave.bottom, REACH * system.space / 2)]
            there = [h for h in notes if box[0] - system.space < h[0] < box[2] + system.space]
            if there and len(row) >= NOTES * len(there) and share([i.box for i in row], there, system.space) >= least:
                return True
    return False


def _between(head: Box, top: float, bottom: float, reach: float) -> bool:
    return head[3] > top - reach and head[1] < bottom + reach
