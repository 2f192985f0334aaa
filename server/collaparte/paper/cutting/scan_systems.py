"""A scanned page taken apart into its systems, each with the ink that is its own: no straight cuts, no seams."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pymupdf

from collaparte.paper.cutting.flattened import Fonts
from collaparte.paper.cutting.groups import Joined
from collaparte.paper.cutting.ink import Page
from collaparte.paper.cutting.items import Item, Role
from collaparte.paper.cutting.ownership import Owned
from collaparte.paper.cutting.scan_brackets import TALL
from collaparte.paper.cutting.scan_clean import Clean, cleaned
from collaparte.paper.cutting.scan_dust import dust, noise
from collaparte.paper.cutting.scan_freed import freed
from collaparte.paper.cutting.scan_given import SPECK, Given
from collaparte.paper.cutting.scan_groups import grouped, is_frame
from collaparte.paper.cutting.scan_heads import KnownHeads
from collaparte.paper.cutting.scan_level import levelled
from collaparte.paper.cutting.scan_lines import in_bars, lines_of
from collaparte.paper.cutting.scan_parts import Pixels
from collaparte.paper.cutting.scan_pencil import cut_off, is_pencil
from collaparte.paper.cutting.scan_pictures import Kept
from collaparte.paper.cutting.scan_rules import WIDE, bracket_of
from collaparte.paper.cutting.scan_straight import brackets, named, straight, words_of
from collaparte.paper.reading import Box, PageReading, Reading, System
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts, connected

INK = 222
"""Greyer than this is ink: all that the page's cleaning left."""
TOUCH = 0.3
"""Ink so near to a stave, in spaces, stands in it."""
OFF = (1.5, 0.5)
"""A bracket stands so far under the stave above it and over its own, in spaces."""


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
    words = [_pixels(box, clean.unit) for box in words_of(reading, number)]
    owner, loose = _owners(clean, read, list(named(reading, number)), over, words, first=number == 0)
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


def _pixels(box: Box, unit: float) -> Box:
    return (box[0] / unit, box[1] / unit, box[2] / unit, box[3] / unit)


def _where(mine: Dark) -> tuple[int, int, int, int] | None:
    """The box round pixels; None when there are none."""
    rows, columns = np.flatnonzero(mine.any(axis=1)), np.flatnonzero(mine.any(axis=0))
    if not len(rows):
        return None
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


def _owners(
    clean: Clean,
    read: PageReading,
    named: Sequence[tuple[Box, int]],
    brackets: Sequence[Box],
    words: Sequence[Box],
    *,
    first: bool,
) -> tuple[npt.NDArray[np.int16], list[tuple[tuple[int, int, int, int], int, Dark]]]:
    """For each pixel its system's place (-1: paper); the head's ink has the next number, the foot's the one after.

    And the groups of head and foot: the box (pixels), the number, and which pixels of the box are its own.
    """
    unit, systems = clean.unit, read.systems
    space = systems[0].space / unit
    ink = clean.grey < INK
    dark, again = cut_off(clean.grey, freed(ink, words, space), _staves(ink.shape, systems, unit), space)
    parts = connected(dark)
    owner, both = _touching(parts, systems, unit)
    pencil = is_pencil(clean.grey, parts, owner == -1, space)
    endings = list(_brackets(parts, owner, both, systems, unit))
    for n, s, _ in endings:
        owner[n] = s if owner[n] == -1 else owner[n]
    pixels = np.where(dark, owner[parts.labels], -1).astype(np.int16)
    for n in both:
        _shared(pixels, parts, n, systems, unit)
    for n, s, (x0, y0, x1, y1) in endings:
        pixels[y0:y1, x0:x1][parts.labels[y0:y1, x0:x1] == n] = s
    left = min(stave.x0 for system in systems for stave in system.staves) / unit
    right = max(stave.x1 for system in systems for stave in system.staves) / unit
    specks = dust(parts, owner == -1, space) | noise(parts, left, right, space)
    owner[specks & (owner == -1)] = len(systems) + 1
    groups = grouped(parts, owner == -1, pencil, space, [tuple(v / unit for v in box) for box in brackets])
    framed = [any(is_frame(parts, int(n), space) for n in numbers) for numbers, _ in groups]
    given = Given(pixels, parts, read, named, unit, first=first).of(groups, framed)
    loose = []
    for (numbers, box), whose in zip(groups, given, strict=True):
        owner[numbers] = whose
        if whose >= len(systems) and max(box[2] - box[0], box[3] - box[1]) > SPECK * space:
            loose.append((box, whose, parts.drawn(numbers.tolist(), box)))
    free = dark & (pixels == -1)
    pixels[free] = owner[parts.labels[free]]
    return _joined(pixels, again), loose


def _joined(pixels: npt.NDArray[np.int16], cut: Dark) -> npt.NDArray[np.int16]:
    """What was cut only for telling whose ink is goes with what is beside it."""
    rows, columns = np.nonzero(cut)
    height, width = pixels.shape
    out = pixels.copy()
    for y, x in ((-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (1, 1), (-1, 1), (1, -1)):
        beside = pixels[(rows + y).clip(0, height - 1), (columns + x).clip(0, width - 1)]
        out[rows, columns] = np.where(out[rows, columns] == -1, beside, out[rows, columns])
    return out


def _staves(shape: tuple[int, ...], systems: Sequence[System], unit: float) -> Dark:
    """Where a page's staves are."""
    out = np.zeros(shape, np.bool_)
    for system in systems:
        for rows, columns in _places(system, unit):
            out[rows, columns] = True
    return out


def _places(system: System, unit: float) -> Iterator[tuple[slice, slice]]:
    """The rows and columns of a system's staves, and a little round them."""
    reach = TOUCH * system.space
    for stave in system.staves:
        rows = slice(max(int((stave.top - reach) / unit), 0), int((stave.bottom + reach) / unit) + 1)
        yield rows, slice(max(int((stave.x0 - reach) / unit), 0), int((stave.x1 + reach) / unit) + 1)


def _touching(parts: Parts, systems: Sequence[System], unit: float) -> tuple[npt.NDArray[np.int16], list[int]]:
    """For each part the place of the system whose staves it touches (-1: none), and which touch several."""
    owner = np.full(len(parts), -1, np.int16)
    both: list[int] = []
    for s, system in enumerate(systems):
        for rows, columns in _places(system, unit):
            touched = np.unique(parts.labels[rows, columns])
            touched = touched[touched >= 0]
            both += [int(n) for n in touched if owner[n] not in (-1, s)]
            owner[touched] = s
    return owner, both


def _brackets(
    parts: Parts, owner: npt.NDArray[np.int16], both: Sequence[int], systems: Sequence[System], unit: float
) -> Iterator[tuple[int, int, Pixels]]:
    """Endings' brackets that pencil joins to what is over them: a part, the place of the system that a bracket of it
    stands over, and a box of the bracket."""
    for s, (upper, lower) in enumerate(pairwise(systems)):
        space = lower.space / unit
        rows = round(upper.bbox[3] / unit + OFF[0] * space), round(lower.bbox[1] / unit - OFF[1] * space)
        wide, tall = parts.x1 - parts.x0, parts.y1 - parts.y0
        near = (wide > WIDE * space) & (tall > TALL * space) & (parts.y1 > rows[0]) & (parts.y0 < rows[1])
        for n in np.flatnonzero(near & ((owner <= s) | np.isin(np.arange(len(parts)), both))).tolist():
            for box in bracket_of(parts, n, rows, space):
                yield n, s + 1, box


def _shared(pixels: npt.NDArray[np.int16], parts: Parts, n: int, systems: Sequence[System], unit: float) -> None:
    """Ink that runs through several systems (a pencil stroke, a fold): each has what is nearer to it."""
    edges = [(a.bbox[3] + b.bbox[1]) / 2 / unit for a, b in pairwise(systems)]
    rows, columns = np.nonzero(parts.labels == n)
    pixels[rows, columns] = np.searchsorted(np.array(edges), rows)
