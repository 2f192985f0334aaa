"""A scanned page taken apart into its systems, each with the ink that is its own: no straight cuts, no seams."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pymupdf

from collaparte.paper.cutting.flattened import Fonts
from collaparte.paper.cutting.groups import Joined
from collaparte.paper.cutting.ink import Page
from collaparte.paper.cutting.items import Item, Role, inside
from collaparte.paper.cutting.ownership import Owned
from collaparte.paper.cutting.scan_clean import Clean, cleaned
from collaparte.paper.cutting.scan_dust import dust, noise
from collaparte.paper.cutting.scan_heads import KnownHeads
from collaparte.paper.cutting.scan_level import levelled
from collaparte.paper.cutting.scan_lines import in_bars, lines_of
from collaparte.paper.cutting.scan_parts import Numbers, round_it
from collaparte.paper.cutting.scan_pictures import Kept
from collaparte.paper.cutting.scan_straight import brackets, named, straight
from collaparte.paper.cutting.scan_words import taken_apart
from collaparte.paper.reading import Box, PageReading, Reading, System
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts, connected

INK = 222
"""Greyer than this is ink: all that the page's cleaning left."""
CELL = 4
"""Loose ink is grouped in squares of so many pixels,"""
BESIDE, OVER = 2.5, 0.3
"""when no farther apart than this, in spaces, side by side and one over the other."""
HEAD, FAR = 6.0, 10.0
"""Spaces over a part's first system from which ink is its title, and from any system from which it is the page's."""
RUNNING = ((6.0, 0.08), (3.0, 0.055))
"""Words so many spaces over a later page's first system, within so much of the page's height, are its running head:
where music begins so high up, chord names stand nearer to it, and marks are read."""
SPECK = 0.7
"""What is smaller than so many spaces and far from all staves is dust."""
TOUCH = 0.3
"""Ink so near to a stave, in spaces, stands in it."""
FRAME = (2.0, 7.0)
"""A framed mark is so wide and high at least and at most, in spaces; it stands over its system (common practice)."""
FRAMED = 0.8
"""Of a frame's sides so much is dark."""
A_WORD = (0.8, 3.5)
"""A chord's name or a word is so high at least and at most, in spaces,"""
ONE_ROW = 1.0
"""those of one row end within so many,"""
A_ROW = 3
"""and so many are a row;"""
WORDS = 4.0
"""one so wide may stand alone."""
FARTHER = (2.5, 1.6)
"""A row goes with the system below it, words alone too, unless that is so many times as far as the one above."""


class Apart(NamedTuple):
    """The page as pictures, one a system and one a group of words of its head and foot, and whose each is."""

    page: Page
    owned: Owned
    reading: Reading
    """The reading, what is of this page where it lies on the page set straight."""
    joined: dict[int, Joined]
    """What joins the staves of each system that is cut into bars, by its place."""


def apart(page: pymupdf.Page, reading: Reading, number: int, fonts: Fonts, known: KnownHeads) -> Apart:
    """Take page `number` of a reading apart; the page is turned as it was read."""
    clean = cleaned(page, lambda once: levelled(once, straight(reading, number, once.bent).pages[number].systems))
    reading = straight(reading, number, clean.bent)
    read = reading.pages[number]
    over = [box for box, _ in brackets(reading, number)]
    owner, loose = _owners(clean, read, list(named(reading, number)), over, first=number == 0)
    kept = Kept(clean, owner != -1)
    lines = lines_of(owner, clean.unit, reading, number)
    items, reading = in_bars(lines, reading, number, known, kept)
    owned = Owned(items)
    whole = {item.system for item in items}
    for s in range(len(read.systems)):
        if s not in whole and (found := _where(owner == s)):
            x0, y0, x1, y1 = found
            item = Item([], clean.points(found), Role.SOLID, system=s, bar=0)
            owned.items.append(kept.picture(item, y0, x0, owner[y0:y1, x0:x1] == s))
    lists = {len(read.systems): owned.head, len(read.systems) + 1: owned.foot}
    for box, whose, mine in loose:
        lists[whose].append(kept.picture(Item([], clean.points(box), Role.SOLID), box[1], box[0], mine))
    joined = {s: line.joined for s, line in lines.items()}
    return Apart(Page(page.rect.width, page.rect.height, kept.marks, fonts.fonts), owned, reading, joined)


def _where(mine: Dark) -> tuple[int, int, int, int] | None:
    """The box round pixels; None when there are none."""
    rows, columns = np.flatnonzero(mine.any(axis=1)), np.flatnonzero(mine.any(axis=0))
    if not len(rows):
        return None
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


def _owners(
    clean: Clean, read: PageReading, named: Sequence[tuple[Box, int]], brackets: Sequence[Box], *, first: bool
) -> tuple[npt.NDArray[np.int16], list[tuple[tuple[int, int, int, int], int, Dark]]]:
    """For each pixel its system's place (-1: paper); the head's ink has the next number, the foot's the one after.

    And the groups of head and foot: the box (pixels), the number, and which pixels of the box are its own.
    """
    unit, systems = clean.unit, read.systems
    dark = clean.grey < INK
    parts = connected(dark)
    owner = np.full(len(parts), -1, np.int16)
    both: list[int] = []
    for s, system in enumerate(systems):
        for stave in system.staves:
            reach = TOUCH * system.space
            rows = slice(max(int((stave.top - reach) / unit), 0), int((stave.bottom + reach) / unit) + 1)
            columns = slice(max(int((stave.x0 - reach) / unit), 0), int((stave.x1 + reach) / unit) + 1)
            touched = np.unique(parts.labels[rows, columns])
            touched = touched[touched >= 0]
            both += [int(n) for n in touched if owner[n] not in (-1, s)]
            owner[touched] = s
    pixels = np.where(dark, owner[parts.labels], -1).astype(np.int16)
    for n in both:
        _shared(pixels, parts, n, systems, unit)
    space = systems[0].space / unit
    left = min(stave.x0 for system in systems for stave in system.staves) / unit
    right = max(stave.x1 for system in systems for stave in system.staves) / unit
    specks = dust(parts, owner == -1, space) | noise(parts, left, right, space)
    owner[specks & (owner == -1)] = len(systems) + 1
    groups = _groups(pixels, dark, parts, owner, space, [tuple(v / unit for v in box) for box in brackets])
    over, under = _skylines(pixels, systems, unit)
    loose = []
    framed = [any(_is_frame(parts, int(n), space) for n in numbers) for numbers, _ in groups]
    marks = [box[1] * unit for (_, box), frame in zip(groups, framed, strict=True) if frame]
    named = [(place, s) for place, s in named if s < len(systems) or place[3] < min(marks, default=read.height)]
    nearest = [
        _nearest(box, systems, over, under, named, unit, first, frame, read.height)
        for (_, box), frame in zip(groups, framed, strict=True)
    ]
    in_rows = _rows([box for _, box in groups], systems, over, under, unit)
    for place, (numbers, box) in enumerate(groups):
        whose = nearest[place]
        if whose < len(systems) and not framed[place] and not _is_named(box, named, unit):
            whose = in_rows.get(place, whose)
            if _is_dust(box, systems[whose], unit):
                whose = len(systems) + 1
        owner[numbers] = whose
        if whose >= len(systems) and max(box[2] - box[0], box[3] - box[1]) > SPECK * systems[0].space / unit:
            loose.append((box, whose, parts.drawn(numbers.tolist(), box)))
    free = dark & (pixels == -1)
    pixels[free] = owner[parts.labels[free]]
    return pixels, loose


def _shared(pixels: npt.NDArray[np.int16], parts: Parts, n: int, systems: Sequence[System], unit: float) -> None:
    """Ink that runs through several systems (a pencil stroke, a fold): each has what is nearer to it."""
    edges = [(a.bbox[3] + b.bbox[1]) / 2 / unit for a, b in pairwise(systems)]
    rows, columns = np.nonzero(parts.labels == n)
    pixels[rows, columns] = np.searchsorted(np.array(edges), rows)


def _groups(
    pixels: npt.NDArray[np.int16],
    dark: Dark,
    parts: Parts,
    owner: npt.NDArray[np.int16],
    space: float,
    brackets: Sequence[Sequence[float]],
) -> list[tuple[Numbers, tuple[int, int, int, int]]]:
    """Loose ink that stands together: numbers of parts, and the box round them in pixels.

    What is in an ending's bracket (boxes in pixels) stands with it alone: words over it may be the line's above."""
    free = dark & (pixels == -1)
    height, width = free.shape
    numbers = np.flatnonzero(owner == -1)
    apart = _frames(numbers, parts, space)
    for box in brackets:
        mine = (
            np.setdiff1d(_within(numbers, parts, box), np.concatenate(apart)) if apart else _within(numbers, parts, box)
        )
        apart += [mine] if len(mine) else []
    out = [(mine, round_it(mine, parts)) for mine in apart]
    for mine, (x0, y0, x1, y1) in out:
        free[y0:y1, x0:x1] &= ~np.isin(parts.labels[y0:y1, x0:x1], mine)
    numbers = np.setdiff1d(numbers, np.concatenate(apart)) if apart else numbers
    padded = np.pad(free, ((0, -height % CELL), (0, -width % CELL)))
    cells: Dark = np.asarray(padded.reshape(padded.shape[0] // CELL, CELL, -1, CELL).any(axis=(1, 3)), dtype=np.bool_)
    for axis, reach in ((1, BESIDE), (0, OVER)):
        for _ in range(max(1, round(reach * space / 2 / CELL))):
            cells = cells | np.roll(cells, 1, axis) | np.roll(cells, -1, axis)
    together = connected(cells)
    if not len(numbers):
        return out
    # Any pixel of a part tells its group.
    flat = parts.labels.ravel()
    there = np.flatnonzero(flat >= 0)
    pixel = np.zeros(len(parts), np.intp)
    pixel[flat[there]] = there
    rows, columns = pixel[numbers] // width, pixel[numbers] % width
    group = together.labels[rows // CELL, columns // CELL]
    for g in np.unique(group):
        mine = numbers[group == g]
        box = round_it(mine, parts)
        tall = box[3] - box[1] > A_WORD[1] * space
        out += [(some, round_it(some, parts)) for some in taken_apart(mine, parts, space)] if tall else [(mine, box)]
    return out


def _within(numbers: Numbers, parts: Parts, box: Sequence[float]) -> Numbers:
    across = (parts.x0[numbers] >= box[0]) & (parts.x1[numbers] <= box[2])
    return numbers[across & (parts.y0[numbers] >= box[1]) & (parts.y1[numbers] <= box[3])]


def _frames(numbers: Numbers, parts: Parts, space: float) -> list[Numbers]:
    """Framed marks, each with what is in it: what stands beside one may be another system's."""
    low, high = (size * space for size in FRAME)
    wide, tall = parts.x1[numbers] - parts.x0[numbers], parts.y1[numbers] - parts.y0[numbers]
    likely = numbers[(wide > low) & (wide < high) & (tall > low) & (tall < high)]
    out = []
    for frame in (int(n) for n in likely if _is_frame(parts, int(n), space)):
        box = (parts.x0[frame], parts.y0[frame], parts.x1[frame], parts.y1[frame])
        out.append(_within(numbers, parts, box))
    return out


def _rows(
    boxes: Sequence[tuple[int, int, int, int]], systems: Sequence[System], over: Numbers, under: Numbers, unit: float
) -> dict[int, int]:
    """Groups of one height in a row between two systems go together: chord names with the one below, lyrics, which
    are much nearer to it, with the one above."""
    space = systems[0].space / unit
    between: dict[int, list[int]] = {}
    for n, (x0, y0, x1, y1) in enumerate(boxes):
        if x1 - x0 > A_WORD[0] * space and A_WORD[0] * space < y1 - y0 < A_WORD[1] * space:
            below = next((s for s, v in enumerate(systems) if v.bbox[1] / unit > (y0 + y1) / 2), 0)
            if below:
                between.setdefault(below, []).append(n)
    out: dict[int, int] = {}
    for below, members in between.items():
        left = sorted(members, key=lambda n: boxes[n][3])
        while left:
            row = [n for n in left if boxes[n][3] - boxes[left[0]][3] < ONE_ROW * space]
            left = [n for n in left if n not in row]
            wide = [n for n in row if boxes[n][2] - boxes[n][0] > WORDS * space]
            row = row if len(row) >= A_ROW else wide
            if not row:
                continue
            up = float(np.mean([boxes[n][1] - under[below - 1, boxes[n][0] : boxes[n][2]].max() for n in row]))
            down = float(np.mean([over[below, boxes[n][0] : boxes[n][2]].min() - boxes[n][3] for n in row]))
            farther = FARTHER[len(row) < A_ROW]
            whose = below if down < farther * max(up, space) else below - 1
            out |= dict.fromkeys(row, whose)
    return out


def _is_dust(box: tuple[int, int, int, int], system: System, unit: float) -> bool:
    """A speck beside the staves."""
    x0, x1 = box[0] * unit, box[2] * unit
    small = max(box[2] - box[0], box[3] - box[1]) * unit <= SPECK * system.space
    return small and (x1 < system.bbox[0] - system.space or x0 > system.bbox[2] + system.space)


def _is_named(box: tuple[int, int, int, int], named: Sequence[tuple[Box, int]], unit: float) -> bool:
    here = (box[0] * unit, box[1] * unit, box[2] * unit, box[3] * unit)
    return any(inside(here, place) for place, _ in named)


def _skylines(pixels: npt.NDArray[np.int16], systems: Sequence[System], unit: float) -> tuple[Numbers, Numbers]:
    """For each system and column the rows where its own ink begins and ends."""
    width = pixels.shape[1]
    over, under = np.empty((len(systems), width), np.intp), np.empty((len(systems), width), np.intp)
    for s, system in enumerate(systems):
        over[s], under[s] = round(system.bbox[1] / unit), round(system.bbox[3] / unit)
        mine = pixels == s
        rows = np.flatnonzero(mine.any(axis=1))
        if not len(rows):
            continue
        first, last = int(rows[0]), int(rows[-1]) + 1
        mine = mine[first:last]
        some = mine.any(axis=0)
        over[s, some] = first + mine.argmax(axis=0)[some]
        under[s, some] = last - mine[::-1].argmax(axis=0)[some]
    return over, under


def _nearest(
    box: tuple[int, int, int, int],
    systems: Sequence[System],
    over: Numbers,
    under: Numbers,
    named: Sequence[tuple[Box, int]],
    unit: float,
    first: bool,
    framed: bool,
    height: float,
) -> int:
    """Whose a group of loose ink is: where it was read, else the system with the nearer ink; head or foot when far."""
    x0, y0, x1, y1 = box
    here = (x0 * unit, y0 * unit, x1 * unit, y1 * unit)
    for place, s in named:
        if inside(here, place):
            return s
    middle, space = (here[1] + here[3]) / 2, systems[0].space
    columns = slice(x0, max(x1, x0 + 1))
    if framed and (below := [s for s, system in enumerate(systems) if system.bbox[1] > middle]):
        return below[0]
    if not first and any(here[3] < min(systems[0].bbox[1] - far * space, part * height) for far, part in RUNNING):
        return len(systems) + 1
    gaps = []
    for s, system in enumerate(systems):
        if system.bbox[1] <= middle <= system.bbox[3]:
            return s
        if middle < system.bbox[1]:
            gaps.append((float(over[s, columns].min() - y1) * unit / space, s))
        else:
            gaps.append((float(y0 - under[s, columns].max()) * unit / space, s))
    gap, s = min(gaps)
    if s == 0 and middle < systems[0].bbox[1] and first and gap > HEAD:
        return len(systems)
    return len(systems) + 1 if gap > FAR else s


def _is_frame(parts: Parts, n: int, space: float) -> bool:
    """Whether a part is an upright frame, in pixels as `space`."""
    low, high = (size * space for size in FRAME)
    mask = parts.mask(n)
    if not all(low < size < high for size in mask.shape):
        return False
    edge = max(1, round(0.25 * space))
    sides = (mask[:edge].any(axis=0), mask[-edge:].any(axis=0), mask[:, :edge].any(axis=1), mask[:, -edge:].any(axis=1))
    return all(float(side.mean()) > FRAMED for side in sides)
