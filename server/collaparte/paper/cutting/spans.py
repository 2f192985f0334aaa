"""Lines of dashes behind words ("8va", "rit.") and trills' wavy lines: what they say, and each bar's part."""

import re
from collections import defaultdict
from collections.abc import Sequence

from collaparte.paper.cutting.edges import Edges, Where
from collaparte.paper.cutting.ink import Page
from collaparte.paper.cutting.items import Item, Role, Rows, nearest_system, union
from collaparte.paper.cutting.stock import Part, PieceInk, Stock
from collaparte.paper.cutting.table import Line
from collaparte.paper.reading import Box, PageReading, System

WAVY, ROW = ("wiggle",), ("dashes", "row")
"""The styles of lines of many marks."""
A_WIGGLE = 4
"""So many signs of one kind side by side are a line."""
APART = 8.0
"""A dash begins at most so many spaces behind the one before."""
EVEN = 0.1
"""All by as much, but for this share of it."""
HYPHENS = frozenset("-\u2010\u2011\u2012\u2013\u2014")
BEHIND = 1.6
"""A line begins so near behind its words, in spaces; a row of dashes as far as they stand apart."""
OTTAVA = re.compile(r"(8|15|22) ?(v|va|vb|a|ba|m|ma|mb)?\.? ?(bassa|alta)?", re.IGNORECASE)
SAID = re.compile(r"tr|(?![A-H][#b]?(?:maj|min|dim|aug|sus|add))(?=.{3,24}$).*[a-z]{3}.*")
"""Words that go on: of a few letters, no chord's name."""


def is_line(item: Item) -> bool:
    return item.style == WAVY or item.style[:1] == ("dashes",)


def gathered(items: list[Item], read: PageReading) -> list[Item]:
    """The items, signs of a trill's line made one, and dashes that are drawn one by one."""
    floating = [i for i in items if i.system < 0]
    gone: set[int] = set()
    for run in (*_wiggles(floating, read), *_rows_of_dashes(floating, read)):
        first = run[0]
        first.marks, first.box = [m for i in run for m in i.marks], union(i.box for i in run)
        first.letters, first.role = "", Role.THROUGH
        gone |= {id(i) for i in run[1:]}
    return [i for i in items if id(i) not in gone]


def _wiggles(items: Sequence[Item], read: PageReading) -> list[list[Item]]:
    """Signs of one kind, many, each at the next one's side."""
    rows: dict[tuple[object, ...], list[Item]] = defaultdict(list)
    for item in items:
        if item.role is Role.SOLID:
            rows[item.style, round(item.box[1])].append(item)
    out: list[list[Item]] = []
    for row in rows.values():
        row.sort(key=lambda i: i.box[0])
        reach = 0.3 * read.systems[nearest_system(row[0].box, read.systems)].space
        runs: list[list[Item]] = []
        for item in row:
            gap = item.box[0] - runs[-1][-1].box[2] if runs else reach
            if -0.5 * (item.box[2] - item.box[0]) < gap < reach:
                runs[-1].append(item)
            else:
                runs.append([item])
        out += [run for run in runs if len(run) >= A_WIGGLE]
    for run in out:
        run[0].style = WAVY
    return out


def _rows_of_dashes(items: Sequence[Item], read: PageReading) -> list[list[Item]]:
    """Short level strokes or hyphens evenly apart on one row, behind words not sung or where a line begins."""
    rows: dict[tuple[object, ...], list[Item]] = defaultdict(list)
    for item in items:
        sp = read.systems[nearest_system(item.box, read.systems)].space
        if _is_dash(item, sp):
            rows[item.role, round((item.box[1] + item.box[3]) / sp)].append(item)
    words = Rows([i for i in items if i.role is Role.WORDS and not _is_hyphen(i)] if rows else [])
    out: list[list[Item]] = []
    for row in rows.values():
        row.sort(key=lambda i: i.box[0])
        system = read.systems[nearest_system(row[0].box, read.systems)]
        for run in _even(row, system.space):
            if _begins(run, words, system):
                run[0].style = ROW
                out.append(run)
    return out


def _is_hyphen(item: Item) -> bool:
    return item.role is Role.WORDS and item.letters.strip() in HYPHENS and item.style != ("lyric",)


def _is_dash(item: Item, sp: float) -> bool:
    w, h = item.box[2] - item.box[0], item.box[3] - item.box[1]
    level = item.role is Role.SOLID and item.style[:1] == ("shape",) and h < 0.25 * sp and 3 * h < w
    return (level or _is_hyphen(item)) and 0.25 * sp < w < 2.5 * sp


def _even(row: Sequence[Item], sp: float) -> list[list[Item]]:
    """Runs of dashes that stand as far apart as their first two."""
    runs: list[list[Item]] = []
    for item in row:
        run = runs[-1] if runs else []
        apart = item.box[0] - run[-1].box[0] if run else 0.0
        usual = run[1].box[0] - run[0].box[0] if len(run) > 1 else apart
        clear = run and item.box[0] > run[-1].box[2] + 0.2 * sp
        if clear and apart < APART * sp and abs(apart - usual) < EVEN * usual:
            run.append(item)
        else:
            runs.append([item])
    return runs


def _begins(run: Sequence[Item], words: Rows, system: System) -> bool:
    """It is a line of dashes; one alone is where its line of music ends behind it or began before it."""
    sp, (x0, y0, x1, y1) = system.space, run[0].box
    apart = run[1].box[0] - x0 if len(run) > 1 else APART * sp
    near = words.near((x0 - 1.3 * apart, y0 - 0.3 * sp, run[-1].box[2] + sp, y1 + 0.3 * sp))
    if not system.bars or any(word.style == ("lyric",) for word in near):
        return False
    behind = any(w.box[2] < x0 and any(c.isalnum() for c in w.letters) for w in near)
    opens = x0 < system.bars[0].x0 + apart
    return opens or (behind and (len(run) > 1 or x1 > system.bbox[2] - apart))


def said(items: list[Item], read: PageReading) -> None:
    """A line goes where the words or the sign before it go, and says what they say; so does the hook at its end.

    The hook points to the stave (common practice), whichever is nearer.
    """
    lines = [i for i in items if is_line(i)]
    words = Rows([i for i in items if i.role is Role.WORDS] if lines else [])
    for line in lines:
        sp = read.systems[line.system].space
        x0, y0, x1, y1 = line.box
        wavy = line.style == WAVY
        if y1 - y0 > (2.0 if wavy else 0.4) * sp:
            continue
        reach = APART if line.style == ROW else BEHIND
        near = words.near((x0 - reach * sp, y0 - 0.3 * sp, x0 + 0.5 * sp, y1 + 0.3 * sp))
        before = [w for w in near if w.box[2] < x0 + 0.6 * sp and (wavy or w.letters)]
        word = max(before, key=lambda w: w.box[2], default=None)
        if word:
            line.system, line.above = word.system, word.above
            line.letters = _text(word.letters, wavy)
        together = [line, word] if word else [line]
        found = [] if wavy else [i for i in items if hangs_at(i.box, x1, (y0 + y1) / 2, sp) and not i.letters]
        if found:
            together += found
            up = found[0].box[1] + found[0].box[3] < y0 + y1
            edges = [
                (v.bottom if up else v.top, n, k) for n, s in enumerate(read.systems) for k, v in enumerate(s.staves)
            ]
            staves = [edge for edge in edges if (edge[0] < y0 + sp if up else edge[0] > y1 - sp)]
            if staves:
                _, line.system, line.pointed = min(staves, key=lambda edge: abs(edge[0] - y0))
                line.above = not up
        for item in together:
            item.system, item.above, item.pointed = line.system, line.above, line.pointed


def _text(letters: str, wavy: bool) -> str:
    """What is said again; nothing where it is not known, or no words for it."""
    if wavy and not any(c.isalnum() for c in letters):
        return "tr"  # a sign before a wavy line is a trill's (common practice)
    text = letters.strip(" ()")
    return text if OTTAVA.fullmatch(text) or SAID.fullmatch(text) else ""


def hangs_at(box: Box, x: float, y: float, sp: float) -> bool:
    """A short upright that begins or ends at a point."""
    upright = box[2] - box[0] < 0.3 * sp and 0.4 * sp < box[3] - box[1] < 2.5 * sp
    return upright and abs((box[0] + box[2]) / 2 - x) < 0.3 * sp and min(abs(box[1] - y), abs(box[3] - y)) < 0.2 * sp


def over_bar(item: Item, where: Where, edges: Edges, page: Page, stock: Stock) -> Line | None:
    """What of a line lies over a bar; None when nothing does."""
    sp, middle = where.space, where.middles[item.stave]
    left, right = edges.margins(sp)
    lo, hi = edges.x0 - left - 0.04 * sp, edges.x1 + right + 0.04 * sp
    x0, y0, x1, y1 = item.box
    a, b = max(-1e9 if edges.first else lo, x0), min(1e9 if edges.last else hi, x1)
    if b - a < min(0.3 * sp, 0.9 * (x1 - x0)):
        return None
    ink = PieceInk(where.page, edges.x0, middle, sp)
    if item.style not in (WAVY, ROW):
        clip = None if a <= x0 and b >= x1 else (a, b)
        ink.add(item, (a, y0, b, y1), Part(0, clip, False))
        ends = a, b
    else:  # each sign or dash whole, in the bar where its middle is
        wavy, boxes = item.style == WAVY, [page.ink[mark].box for mark in item.marks]
        for mark, box in zip(item.marks, boxes, strict=True):
            if a <= (box[0] + box[2]) / 2 < b:
                ink.parts.append(Part(mark, None, not wavy))
                ink.boxes.append(box)
        ends = edges.x0 - left, edges.x1 + right
        if wavy and ink.boxes:  # its signs overlap
            lap = max(boxes[0][2] - boxes[1][0], 0.0) / 2
            ends = min(box[0] for box in ink.boxes) + lap, max(box[2] for box in ink.boxes) - lap
    piece = stock.keep(ink)
    if piece < 0:
        return None
    came = x0 < edges.x0 - sp and x1 > edges.x0 + sp
    goes = x1 > hi + 0.3 * sp and not edges.last
    at = (round((ends[0] - edges.x0) / sp, 3), round((ends[1] - edges.x0) / sp, 3))
    return Line(piece, item.stave, round(((y0 + y1) / 2 - middle) / sp, 3), item.letters, came, goes, at)
