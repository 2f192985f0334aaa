"""From ink to objects: words, chord names, framed marks, notes with their stems, lines; and what is redrawn or dropped.

Thresholds are in staff spaces unless an em is named; they were set by eye on engraved parts of several engravers.
"""

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Literal

from collaparte.paper.cutting.ink import Glyph, Mark, Page, Picture, Shape
from collaparte.paper.reading import BarBox, Box, PageReading, System


class Role(IntEnum):
    """What an object is to laying."""

    SOLID = 0
    """Rigid ink that stands in a stave or grows out of one: heads, stems, accidentals, rests."""
    BEAM = 1
    THROUGH = 2
    """Ink that follows the bar's stretching: slurs, hairpins, brackets, extenders."""
    WORDS = 3
    """Rigid ink that floats: words, chord names, dynamics, framed marks."""
    DROPPED = 4
    """Staff lines, barlines, braces: drawn anew on the page."""


@dataclass(slots=True)
class Item:
    """Some marks (indices in the page's ink) that are one thing; `style` is alike for things of one kind."""

    marks: list[int]
    box: Box
    role: Role
    style: tuple[object, ...] = ()
    system: int = -1
    stave: int = 0
    above: bool = True
    """It stands above (or in) its stave rather than below."""
    bar: int = -1
    """Its bar's place in the system, from 0; -1 before the first."""
    origin: tuple[float, float] | None = None
    """Where its bar's edge and stave would be, when it is printed at the end of the line before (points)."""
    anchor: Literal["left", "centre", "start", "end"] = "centre"
    """`left`, `centre`, `start` or `end`: what of the bar it keeps to when the bar is stretched."""
    letters: str = ""


def union(boxes: Iterable[Box]) -> Box:
    """The box round all of `boxes` (at least one)."""
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return (min(x0), min(y0), max(x1), max(y1))


def grown(box: Box, dx: float, dy: float) -> Box:
    return (box[0] - dx, box[1] - dy, box[2] + dx, box[3] + dy)


def touch(a: Box, b: Box) -> bool:
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]


def inside(a: Box, b: Box) -> bool:
    """The middle of `a` lies in `b`."""
    x, y = (a[0] + a[2]) / 2, (a[1] + a[3]) / 2
    return b[0] <= x <= b[2] and b[1] <= y <= b[3]


def absorb(group: Item, item: Item) -> None:
    if not group.letters:
        group.style = item.style
    group.marks += item.marks
    group.letters += item.letters
    group.box = union((group.box, item.box))


class Rows:
    """Boxes by their left edge, to find those that may touch a box without looking at all."""

    def __init__(self, items: Sequence[Item]) -> None:
        self.items = sorted(items, key=lambda i: i.box[0])
        self.left = [i.box[0] for i in self.items]
        self.widest = max((i.box[2] - i.box[0] for i in items), default=0.0)

    def near(self, box: Box) -> list[Item]:
        first = bisect_left(self.left, box[0] - self.widest)
        last = bisect_right(self.left, box[2])
        return [i for i in self.items[first:last] if touch(i.box, box)]


def nearest_system(box: Box, systems: Sequence[System]) -> int:
    """The system whose staves the box is nearest to, by its middle."""
    y = (box[1] + box[3]) / 2
    return min(range(len(systems)), key=lambda s: max(systems[s].bbox[1] - y, y - systems[s].bbox[3], 0.0))


ROUND, HEAD = 1.9, 2.0
"""A head is less than so many times as wide as high, and narrower than so many spaces."""


def _is_curved(shape: Shape) -> bool:
    return any(len(s) == 6 for sub in shape.path for s in sub.segments)


def _bow(shape: Shape, sp: float) -> bool:
    """A slur or tie: two curves and nothing much else. A head or flag may be as much, but is not so flat."""
    if len(shape.path) != 1 or len(shape.path[0].segments) > 4:
        return False
    x0, y0, x1, y1 = shape.box
    if x1 - x0 < ROUND * (y1 - y0) and x1 - x0 < HEAD * sp:
        return False
    return sum(len(s) == 6 for s in shape.path[0].segments) == 2


def _classify(
    mark: Mark, fonts_music: Sequence[bool], sp: float, multirest: bool, in_stave: bool, ledger: bool
) -> Role:
    x0, y0, x1, y1 = mark.box
    w, h = (x1 - x0) / sp, (y1 - y0) / sp
    if isinstance(mark, Glyph):
        if not fonts_music[mark.font]:
            return Role.WORDS
        return Role.WORDS if 33 <= mark.ucs < 0x2000 and not in_stave else Role.SOLID
    if isinstance(mark, Shape) and w > 0.8 and _bow(mark, sp):
        return Role.THROUGH
    if isinstance(mark, Picture) or w <= 1.9 or h > 0.9 * w or ledger or (multirest and in_stave):
        return Role.SOLID
    if _is_curved(mark):
        return Role.THROUGH if h < 0.45 * w or w > 5 else Role.SOLID
    if len(mark.path) == 1 and 3 <= len(mark.path[0].segments) <= 4 and 0.25 * sp < _thickness(mark) < 1.2 * sp:
        return Role.BEAM
    if mark.width is not None and mark.width > 0.25 * sp:
        return Role.BEAM
    return Role.THROUGH


def _thickness(shape: Shape) -> float:
    """The upright thickness of a parallelogram at its left edge."""
    sub = shape.path[0]
    points = [(sub.x, sub.y)] + [(s[-2], s[-1]) for s in sub.segments]
    left = min(p[0] for p in points)
    ys = [p[1] for p in points if p[0] - left < 0.2 * (shape.box[2] - left) + 0.01]
    return max(ys) - min(ys)


def _redrawn(mark: Mark, fonts_music: Sequence[bool], system: System) -> bool:
    """Is this a staff line, a barline or its dots, or what stands left of the staves?"""
    sp = system.space
    x0, y0, x1, y1 = mark.box
    w, h = x1 - x0, y1 - y0
    top, bottom = system.bbox[1], system.bbox[3]
    left = min(s.x0 for s in system.staves)
    if x1 <= left + 0.15 * sp and y1 > top - sp and y0 < bottom + sp:
        return True  # brace, bracket, a name at the left
    ends = any(min(abs(y1 - s.top), abs(y0 - s.bottom)) < 0.8 * sp for s in system.staves)
    if len(system.staves) > 1 and x0 < left - 0.3 * sp and x1 < left + 1.2 * sp and h < 1.6 * sp and ends:
        return not isinstance(mark, Glyph) or fonts_music[mark.font]  # the tip of a bracket
    if isinstance(mark, Shape) and h < 0.25 * sp and w > 0.5 * h:
        y = (y0 + y1) / 2
        for stave in system.staves:  # a bit of a staff line, however short: a stave may be drawn in pieces
            inside = x0 > stave.x0 - sp and x1 < stave.x1 + sp
            if inside and len(stave.lines) == 5 and any(abs(y - line) < 0.03 * sp for line in stave.lines):
                return True
    if isinstance(mark, Shape) and h < 0.3 * sp and w > 0.8 * sp:
        for stave in system.staves:
            if x0 > stave.x0 - sp and x1 < stave.x1 + sp and (w > 2.5 * sp or len(system.staves[0].lines) != 5):
                y = (y0 + y1) / 2
                if any(abs(y - line) < 0.15 * sp for line in stave.lines):
                    return True
    if y1 < top - 0.6 * sp or y0 > bottom + 0.6 * sp:
        return False
    upright = isinstance(mark, Shape) and w < 0.95 * sp and h > 3.4 * sp
    if upright and x0 < left + 0.4 * sp and len(system.staves) > 1 and h > 5 * sp:
        return True
    dot = w < 0.8 * sp and h < 0.8 * sp and abs(w - h) < 0.25 * sp
    both = w < 0.8 * sp and abs(h - w - sp) < 0.25 * sp
    for line in system.barlines:
        if x1 < line.x0 - 0.3 * sp or x0 > line.x1 + 0.3 * sp:
            continue
        if upright and any(y0 < s.top + 0.35 * sp and y1 > s.bottom - 0.35 * sp for s in system.staves):
            return True
        if upright and len(system.staves) > 1 and y0 > top and y1 < bottom:
            return True  # between the staves
        if (dot or both) and "repeat" in line.kind.value and x0 > line.x0 - 0.2 * sp and x1 < line.x1 + 0.2 * sp:
            y = (y0 + y1) / 2
            off = 0.5 * sp if dot else 0.0  # a pair of dots may be one shape
            if any(abs(abs(y - (s.top + s.bottom) / 2) - off) < 0.3 * sp for s in system.staves):
                return True
    return False


NO_LETTER = 0xFFFD
FEW_SIGNS = 6
"""With fewer of its glyphs in staves a font may be the meter's alone, or a text font's."""


def ledger_steps(box: Box, system: System) -> int:
    """Which ledger line of a stave of this system the box is, counted from the stave; 0: none."""
    sp = system.space
    x0, y0, x1, y1 = box
    if y1 - y0 > 0.35 * sp or not 0.8 * sp < x1 - x0 < 3.4 * sp:
        return 0
    y = (y0 + y1) / 2
    for stave in system.staves:
        away = stave.top - y if y < stave.top else y - stave.bottom
        steps = away / sp
        if 0.7 < steps < 6.3 and abs(steps - round(steps)) < 0.13:
            return round(steps)
    return 0


def build(page: Page, read: PageReading, marks: Sequence[Box] = ()) -> list[Item]:
    """The page's ink as objects; none has an owner yet, and what is drawn anew is marked `DROPPED`. `marks` are
    the boxes of marks and signs that were read: no metronome mark swallows them."""
    systems = read.systems
    _tell_music_fonts(page, systems)
    music = [f.music for f in page.fonts]
    items: list[Item] = []
    for n, mark in enumerate(page.ink):
        near = nearest_system(mark.box, systems)
        system = systems[near]
        sp = system.space
        if _redrawn(mark, music, system):
            items.append(Item([n], mark.box, Role.DROPPED, system=near))
            continue
        in_stave = any(mark.box[3] > s.top - 0.1 * sp and mark.box[1] < s.bottom + 0.1 * sp for s in system.staves)
        x = (mark.box[0] + mark.box[2]) / 2
        rests = any(b.count > 1 and b.x0 - sp < x < b.x1 + sp for b in system.bars)
        # A high note may stand nearer to the system before.
        ledger = isinstance(mark, Shape) and any(ledger_steps(mark.box, one) for one in systems)
        role = Role.SOLID if _meter_figure(mark, system) else _classify(mark, music, sp, rests, in_stave, ledger)
        items.append(Item([n], mark.box, role, _style(mark, music, sp, role, ledger), letters=_letter(mark)))
    return _words(_twins(items), page, systems, marks)


def _tell_music_fonts(page: Page, systems: Sequence[System]) -> None:
    """A font most of whose glyphs stand in staves is a music font, though it call its signs letters."""
    inside, used = Counter[int](), Counter[int]()
    for mark in page.ink if systems else ():
        if isinstance(mark, Glyph) and not page.fonts[mark.font].music:
            used[mark.font] += 1
            x, y = (mark.box[0] + mark.box[2]) / 2, (mark.box[1] + mark.box[3]) / 2
            staves = systems[nearest_system(mark.box, systems)].staves
            inside[mark.font] += any(s.top < y < s.bottom and s.x0 < x < s.x1 for s in staves)
    for font, count in inside.items():
        if count >= FEW_SIGNS and 2 * count > used[font]:
            page.fonts[font].music = page.fonts[font].masked = True
    for mark in page.ink:
        if isinstance(mark, Glyph) and page.fonts[mark.font].masked:
            mark.ucs = NO_LETTER


def _meter_figure(mark: Mark, system: System) -> bool:
    """A figure that fills half of a five-line stave: a meter's, though it may be of a text font."""
    height = (mark.box[3] - mark.box[1]) / system.space
    return (
        isinstance(mark, Glyph)
        and ord("0") <= mark.ucs <= ord("9")
        and 1.5 < height < 2.5
        and any(
            len(s.lines) == 5
            and s.top - 0.5 * system.space < mark.box[1]
            and mark.box[3] < s.bottom + 0.5 * system.space
            for s in system.staves
        )
    )


def _letter(mark: Mark) -> str:
    return chr(mark.ucs) if isinstance(mark, Glyph) and 0 < mark.ucs < 0x110000 else ""


def _style(mark: Mark, music: Sequence[bool], sp: float, role: Role, ledger: bool) -> tuple[object, ...]:
    if isinstance(mark, Glyph):
        size = round(abs(mark.m[3]) / sp, 1) if mark.m[3] else 0
        return ("glyph", mark.font, size, mark.gid if music[mark.font] and role is Role.SOLID else -1)
    if isinstance(mark, Picture):
        return ("picture",)
    if ledger:
        return ("ledger",)
    if role is Role.THROUGH:
        return ("curve" if _is_curved(mark) else "line", round((mark.width or 0) / sp, 1))
    return ("shape", round((mark.box[2] - mark.box[0]) / sp, 1), round((mark.box[3] - mark.box[1]) / sp, 1))


def _twins(items: list[Item]) -> list[Item]:
    """A shape that is filled and then stroked is one thing."""
    out: list[Item] = []
    cells: dict[tuple[int, int], list[Item]] = {}
    for item in items:
        x0, y0, x1, y1 = item.box
        cx, cy = round((x0 + x1) / 2), round((y0 + y1) / 2)
        near = (i for a in (-1, 0, 1) for b in (-1, 0, 1) for i in cells.get((cx + a, cy + b), ()))
        other = next((i for i in near if i.role is item.role and _alike(i.box, item.box)), None)
        if other:
            other.marks += item.marks
            other.box = union((other.box, item.box))
            continue
        cells.setdefault((cx, cy), []).append(item)
        out.append(item)
    return out


def _alike(a: Box, b: Box) -> bool:
    """Boxes that differ by no more than the width of a thin stroke, in points."""
    return all(abs(x - y) < 0.6 for x, y in zip(a, b, strict=True))


def _em(page: Page, item: Item) -> float:
    mark = page.ink[item.marks[0]]
    return max(abs(mark.m[3]), abs(mark.m[0])) if isinstance(mark, Glyph) else item.box[3] - item.box[1]


def _barline_between(a: float, b: float, box: Box, systems: Sequence[System]) -> bool:
    system = systems[nearest_system(box, systems)]
    return any(a - 0.2 * system.space < line.x < b + 0.2 * system.space for line in system.barlines)


def _words(items: list[Item], page: Page, systems: Sequence[System], marks: Sequence[Box]) -> list[Item]:
    """Chain letters into words, words and small signs into chord names and phrases."""
    letters = [i for i in items if i.role is Role.WORDS]
    rest = [i for i in items if i.role is not Role.WORDS]
    rows: dict[tuple[int, int], list[Item]] = {}
    for item in letters:
        mark = page.ink[item.marks[0]]
        assert isinstance(mark, Glyph)
        rows.setdefault((round(mark.m[5] * 2), mark.font), []).append(item)
    runs: list[Item] = []
    for row in rows.values():
        row.sort(key=lambda i: i.box[0])
        run: Item | None = None
        for item in row:
            em = _em(page, item)
            gap = item.box[0] - run.box[2] if run else 1e9
            if (
                run
                and -0.6 * em < gap <= 0.5 * em
                and (gap < 0.38 * em or not _barline_between(run.box[2], item.box[0], item.box, systems))
            ):
                run.letters += (" " if gap > 0.18 * em else "") + item.letters
                run.marks += item.marks
                run.box = union((run.box, item.box))
                continue
            run = item
            runs.append(run)
    lyrics = _lyrics(runs, page, systems)
    rest, drawn = _drawn_letters(rest, runs, page, systems)
    runs += drawn
    words = _tempos(_chains([r for r in runs if r.style[0] != "lyric"], page, systems), rest, systems, marks)
    return rest + lyrics + words


def _drawn_letters(
    rest: list[Item], runs: Sequence[Item], page: Page, systems: Sequence[System]
) -> tuple[list[Item], list[Item]]:
    """Small shapes off the staves right behind letters and level with them: a chord's flat that is no font's."""
    rows = Rows([r for r in runs if r.style[0] != "lyric"])
    kept: list[Item] = []
    drawn: list[Item] = []
    for item in rest:
        x0, y0, x1, y1 = item.box
        system = systems[nearest_system(item.box, systems)]
        off = all(y1 < s.top - 0.3 * system.space or y0 > s.bottom + 0.3 * system.space for s in system.staves)
        shape = item.role is Role.SOLID and isinstance(page.ink[item.marks[0]], Shape)
        if shape and off and y1 - y0 < 2.2 * system.space and x1 - x0 < 1.3 * system.space:
            before = (x0 - 0.5 * system.space, y0, x0, y1)
            if any(_level(item.box, run.box) and run.box[2] < x1 for run in rows.near(before)):
                item.role, item.style = Role.WORDS, ("drawn letter",)
                drawn.append(item)
                continue
        kept.append(item)
    return kept, drawn


def _level(sign: Box, word: Box) -> bool:
    """Whether most of a sign stands within a word's height."""
    return min(sign[3], word[3]) - max(sign[1], word[1]) > 0.6 * (sign[3] - sign[1])


def _lyrics(runs: list[Item], page: Page, systems: Sequence[System]) -> list[Item]:
    """Rows of sung words under a stave, each syllable by itself; the runs they came from are marked `lyric`."""
    rows: dict[tuple[int, object], list[Item]] = {}
    for run in runs:
        mark = page.ink[run.marks[0]]
        assert isinstance(mark, Glyph)
        rows.setdefault((round(mark.m[5]), run.style), []).append(run)
    out: list[Item] = []
    sung: list[tuple[object, float]] = []
    short: list[tuple[float, list[Item]]] = []
    for row in rows.values():
        box = union(r.box for r in row)
        y = (box[1] + box[3]) / 2
        above = [s for s in systems if s.bbox[1] < y]
        if not above or any(s.bbox[1] < y < s.bbox[3] and len(s.staves) == 1 for s in systems):
            continue
        system = max(above, key=lambda s: s.bbox[1])
        first = page.ink[row[0].marks[0]]
        assert isinstance(first, Glyph)
        below = (first.m[5] - system.bbox[3]) / system.space
        words = sum(sum(c.islower() for c in w) > 1 for r in row for w in r.letters.split())
        wide = box[2] - box[0] > 0.4 * (system.bbox[2] - system.bbox[0])
        narrow = box[2] - box[0] < 0.55 * page.width
        foot = narrow and box[3] > 0.9 * page.height and abs((box[0] + box[2]) / 2 - page.width / 2) < 0.02 * page.width
        if foot or _chordlike(row):
            continue
        if words < 4 or not wide:
            short.append((below, row))
            continue
        sung.append((row[0].style, below))
        out += _sung(row, page)
    for below, row in short:  # the end of a song is on few words, or on one
        if any(row[0].style == style and abs(below - place) < VERSES for style, place in sung):
            out += _sung(row, page)
    return out


def _sung(row: Sequence[Item], page: Page) -> list[Item]:
    out: list[Item] = []
    for run in row:
        run.style = ("lyric",)
        out += _syllables(run, page)
    return out


def _chordlike(row: list[Item]) -> bool:
    """Chord names begin with a capital A to G and are short; a sung line does not only."""
    words = [w for r in row for w in r.letters.split()]
    return sum(w[0] in "ABCDEFGN" and len(w) <= 9 for w in words) > 0.8 * len(words)


VERSES = 1.5
"""A row of sung words stands about as far below its stave as those of other lines (staff spaces)."""
HYPHENS = ("-", "\u2010", "\u2011", "\u00ad")


def _syllables(run: Item, page: Page) -> list[Item]:
    out: list[Item] = []
    for n in sorted(run.marks, key=lambda m: page.ink[m].box[0]):
        mark = page.ink[n]
        assert isinstance(mark, Glyph)
        # A hyphen ends its syllable, however near the next one stands.
        near = bool(out) and mark.box[0] - out[-1].box[2] < 0.15 * abs(mark.m[3])
        if near and not (out[-1].letters.endswith(HYPHENS) and _letter(mark) not in HYPHENS):
            out[-1].marks.append(n)
            out[-1].box = union((out[-1].box, mark.box))
            out[-1].letters += _letter(mark)
        else:
            out.append(Item([n], mark.box, Role.WORDS, ("lyric",), letters=_letter(mark), above=False))
    return out


def _tempo_part(item: Item, sp: float) -> bool:
    w, h = item.box[2] - item.box[0], item.box[3] - item.box[1]
    return item.role is Role.WORDS or (item.role is not Role.DROPPED and h < 4 * sp and w < 4 * sp)


def _in_tempo(other: Box, tempo: Box, sp: float) -> bool:
    """Beside the tempo's words on their row; or a stem, a beam or a bracket of its small notes, over them."""
    overlap = min(other[3], tempo[3]) - max(other[1], tempo[1])
    over = tempo[0] - 0.3 * sp < other[0] and other[2] < tempo[2] + 0.3 * sp and other[1] < tempo[1] + sp
    if over and overlap > -0.7 * sp and (other[3] - other[1] < 1.3 * sp or overlap > 0):
        return True
    return overlap > 0.25 * min(other[3] - other[1], 2 * sp)


def _tempos(words: list[Item], rest: list[Item], systems: Sequence[System], marks: Sequence[Box]) -> list[Item]:
    """A metronome mark: "=" with the note and the words at its left and the figure at its right."""
    gone: set[int] = {id(i) for i in [*words, *rest] if any(inside(i.box, m) for m in marks)}
    kept = set(gone)
    for equals in words:
        if "=" not in equals.letters or id(equals) in gone:
            continue
        sp = systems[nearest_system(equals.box, systems)].space
        near = Rows([i for i in [*words, *rest] if i is not equals and id(i) not in gone and _tempo_part(i, sp)])
        changed = True
        while changed:
            changed = False
            for other in near.near(grown(equals.box, 1.1 * sp, 0.7 * sp)):
                if id(other) in gone or not _in_tempo(other.box, equals.box, sp):
                    continue
                equals.marks += other.marks
                equals.letters += other.letters
                equals.box = union((equals.box, other.box))
                equals.style, equals.anchor = ("tempo",), "start"
                gone.add(id(other))
                changed = True
    gone -= kept
    rest[:] = [r for r in rest if id(r) not in gone]
    return [w for w in words if id(w) not in gone]


def _chains(runs: list[Item], page: Page, systems: Sequence[System]) -> list[Item]:
    """Join what stands side by side: a root and its superscript, "m" and "7", "mf" set as two."""
    runs.sort(key=lambda i: i.box[0])
    ems = [_em(page, r) for r in runs]
    out: list[tuple[Item, float]] = []
    for run, em in zip(runs, ems, strict=True):
        best: tuple[float, Item, int] | None = None
        for k in range(len(out) - 1, -1, -1):
            other, other_em = out[k]
            gap = run.box[0] - other.box[2]
            if gap > 0.28 * max(em, other_em) or gap < -0.5 * max(em, other_em):
                continue
            overlap = min(run.box[3], other.box[3]) - max(run.box[1], other.box[1])
            if overlap < 0.35 * min(run.box[3] - run.box[1], other.box[3] - other.box[1]):
                continue
            if gap > 0.12 * em and _barline_between(other.box[2], run.box[0], run.box, systems):
                continue
            if _other_hand(page, other, run):
                continue
            if best is None or gap < best[0]:
                best = (gap, other, k)
        if best:
            _, other, k = best
            other.marks += run.marks
            other.letters += run.letters
            other.box = union((other.box, run.box))
            out[k] = (other, max(out[k][1], em))
        else:
            out.append((run, em))
    return [r for r, _ in out]


def _other_hand(page: Page, one: Item, other: Item) -> bool:
    """Letters as large in another font and on another line of type, or behind a number: a mark or an ending's number
    beside a chord name, no part of it."""
    a, b = page.ink[one.marks[-1]], page.ink[other.marks[0]]
    if not isinstance(a, Glyph) or not isinstance(b, Glyph) or a.font == b.font:
        return False
    if page.fonts[a.font].music or page.fonts[b.font].music:
        return False
    if one.letters.strip(" .)").isdigit():
        return True
    sizes = sorted((abs(a.m[3]), abs(b.m[3])))
    return sizes[0] > 0.75 * sizes[1] and abs(a.m[5] - b.m[5]) > 0.1 * sizes[1]


def bar_at(bars: Sequence[BarBox], x: float) -> int:
    """The place of the bar that x lies in; -1 in the line's head."""
    if not bars or x < bars[0].x0 - 1e-6:
        return -1
    for place, bar in enumerate(bars):
        following = bars[place + 1].x0 if place + 1 < len(bars) else 1e9
        if x < (bar.x1 + following) / 2:
            return place
    return len(bars) - 1
