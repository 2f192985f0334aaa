"""Chord diagrams: a grid of strings and frets with its dots, the signs over it, the fingers under it and the number of
a fret beside it, one thing."""

from collections import defaultdict
from collections.abc import Sequence

from collaparte.paper.cutting.items import Item, Role, Rows, grown, inside, nearest_system, union
from collaparte.paper.reading import System

DIAGRAM = ("diagram",)
"""The style of one."""
STRINGS = (4, 8)
"""So many strings at least and at most, and frets' lines at least (common practice)."""
THIN, HIGH = 0.2, 1.5
"""A string's line is thinner and higher than so many spaces."""
EVEN = 0.15
"""Strings stand evenly apart, but for this share."""
SIGNS, FRET = 1.2, 1.5
"""Its signs stand so near over it, its fingers under it, the beginning of its fret's number so near beside it, and none
is higher, in spaces."""
FINGERS = frozenset("1234T")
"""What stands for fingers and the thumb (common practice)."""
TOUCH = 0.3
"""Letters of one number stand no further apart, in spaces."""


def diagrams(items: list[Item], systems: Sequence[System]) -> list[Item]:
    """The items, with each diagram's made one."""
    grids = [grid for strings in _strings(items, systems) for grid in _grids(strings, items, systems)]
    gone: set[int] = set()
    made: list[Item] = []
    if grids:
        rows = Rows([i for i in items if i.role is not Role.DROPPED])
        for grid in grids:
            sp, box = systems[nearest_system(grid[0].box, systems)].space, union(i.box for i in grid)
            x0, y0, x1, y1 = box
            over = (x0 - 0.5 * sp, y0 - SIGNS * sp, x1 + 0.5 * sp, y0)
            under = (x0 - 0.5 * sp, y1, x1 + 0.5 * sp, y1 + SIGNS * sp)
            beside = (x1, y0 - 0.5 * sp, x1 + FRET * sp, y1)
            near = [
                i for i in rows.near(grown(box, FRET * sp, SIGNS * sp))
                if i.box[3] - i.box[1] < SIGNS * sp
                and (inside(i.box, grown(box, 0.4 * sp, 0.4 * sp)) or inside(i.box, over) or inside(i.box, beside))
            ]  # fmt: skip
            near += [i for i in rows.near(under) if i.letters in FINGERS and inside(i.box, under)]
            number = [i for i in near if inside(i.box, beside)]
            near += [i for i in _behind(number, rows, sp) if all(i is not n for n in near)]
            parts = [*grid, *(i for i in near if all(i is not g for g in grid))]
            marks = [m for i in parts for m in i.marks]
            made.append(Item(marks, union(i.box for i in parts), Role.WORDS, DIAGRAM, base=y0))
            gone |= {id(i) for i in parts}
    return [i for i in items if id(i) not in gone] + made if made else items


def _behind(number: Sequence[Item], rows: Rows, sp: float) -> list[Item]:
    """The figures and letters that go on behind the first of a fret's number ("xviii", "10fr")."""
    out: list[Item] = []
    end = max(number, key=lambda i: i.box[2], default=None)
    while end is not None and end.letters:
        x, y0, y1 = end.box[2], end.box[1], end.box[3]
        on = rows.near((x - TOUCH * sp, y0, x + TOUCH * sp, y1))
        end = next((i for i in on if i.letters and i.box[2] > x and i.box[3] - i.box[1] < SIGNS * sp), None)
        out += [end] if end is not None else []
    return out


def _strings(items: Sequence[Item], systems: Sequence[System]) -> list[list[Item]]:
    """Thin uprights of one height, side by side."""
    alike: dict[tuple[int, int], list[Item]] = defaultdict(list)
    for item in items:
        if item.role is Role.SOLID and item.style[:1] == ("shape",):
            sp = systems[nearest_system(item.box, systems)].space
            if item.box[2] - item.box[0] < THIN * sp and item.box[3] - item.box[1] > HIGH * sp:
                alike[round(item.box[1]), round(item.box[3])].append(item)
    return [sorted(row, key=lambda i: i.box[0]) for row in alike.values() if len(row) >= STRINGS[0]]


def _grids(strings: Sequence[Item], items: Sequence[Item], systems: Sequence[System]) -> list[list[Item]]:
    """Runs of strings evenly apart, each with the lines of its frets."""
    runs: list[list[Item]] = []
    for string in strings:
        run = runs[-1] if runs else []
        apart = string.box[0] - run[-1].box[0] if run else 0.0
        usual = run[1].box[0] - run[0].box[0] if len(run) > 1 else apart
        high = string.box[3] - string.box[1]
        if run and apart < high and abs(apart - usual) <= EVEN * usual:
            run.append(string)
        else:
            runs.append([string])
    out: list[list[Item]] = []
    for run in runs:
        if STRINGS[0] <= len(run) <= STRINGS[1]:
            reach = 0.3 * systems[nearest_system(run[0].box, systems)].space
            x0, y0, x1, y1 = union(i.box for i in run)
            frets = [
                i for i in items
                if i.role is not Role.DROPPED and i.box[3] - i.box[1] < 2 * reach
                and abs(i.box[0] - x0) < reach and abs(i.box[2] - x1) < reach
                and y0 - reach < i.box[1] and i.box[3] < y1 + reach
            ]  # fmt: skip
            if len(frets) >= STRINGS[0]:
                out.append([*run, *frets])
    return out
