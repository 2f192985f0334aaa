"""From ink to objects: notes with their stems, lines; and what is redrawn or dropped.

Thresholds are in staff spaces unless an em is named; they were set by eye on engraved parts of several engravers.
"""

from collections import Counter
from collections.abc import Sequence

from collaparte.paper.cutting.bows import is_block, is_bow, is_curved
from collaparte.paper.cutting.diagrams import DIAGRAM, diagrams
from collaparte.paper.cutting.ink import Glyph, Mark, Page, Picture, Shape, letter
from collaparte.paper.cutting.items import Item, Role, Rows, grown, inside, nearest_system, union
from collaparte.paper.cutting.words import words_of
from collaparte.paper.reading import Box, PageReading, Stave, System

SHORT, LONG = 0.75, 2.5
"""How far the barline of a stave of one line reaches over it at least and at most."""
STROKE, DOT = (1.2, 4.5), 0.8
"""How high the stroke of a sign that repeats a bar is at least and at most, and how large its dots are at most."""


def _classify(
    mark: Mark, fonts_music: Sequence[bool], sp: float, multirest: bool, in_stave: bool, ledger: bool
) -> Role:
    x0, y0, x1, y1 = mark.box
    w, h = (x1 - x0) / sp, (y1 - y0) / sp
    if isinstance(mark, Glyph):
        if not fonts_music[mark.font]:
            return Role.WORDS
        return Role.WORDS if 33 <= mark.ucs < 0x2000 and not in_stave else Role.SOLID
    if isinstance(mark, Shape) and w > 0.8 and is_bow(mark, sp):
        return Role.THROUGH
    if isinstance(mark, Shape) and not in_stave and 0.8 < w <= 1.9 and _leg(mark, sp):
        return Role.THROUGH
    if isinstance(mark, Picture) or w <= 1.9 or h > 0.9 * w or ledger or (multirest and in_stave):
        return Role.SOLID
    if is_curved(mark):
        if in_stave and is_block(mark, sp):
            return Role.SOLID
        return Role.THROUGH if h < 0.45 * w or w > 5 else Role.SOLID
    if len(mark.path) == 1 and 3 <= len(mark.path[0].segments) <= 4 and 0.25 * sp < _thickness(mark) < 1.2 * sp:
        return Role.BEAM
    if mark.width is not None and mark.width > 0.25 * sp:
        return Role.BEAM
    return Role.THROUGH


def _leg(shape: Shape, sp: float) -> bool:
    """A thin straight stroke, nearly level but not quite: what a line's end left of a hairpin."""
    if shape.width is None or shape.width > 0.25 * sp or len(shape.path) != 1 or shape.path[0].closed:
        return False
    segments = shape.path[0].segments
    x0, y0, x1, y1 = shape.box
    return len(segments) == 1 and len(segments[0]) == 2 and 0.1 * sp < y1 - y0 - shape.width < 0.8 * (x1 - x0)


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
    short = isinstance(mark, Shape) and w < 0.95 * sp and any(_over_line(y0, y1, s, sp) for s in system.staves)
    dot = w < 0.8 * sp and h < 0.8 * sp and abs(w - h) < 0.25 * sp
    both = w < 0.8 * sp and abs(h - w - sp) < 0.25 * sp
    for line in system.barlines:
        if x1 < line.x0 - 0.3 * sp or x0 > line.x1 + 0.3 * sp:
            continue
        if short or (upright and any(y0 < s.top + 0.35 * sp and y1 > s.bottom - 0.35 * sp for s in system.staves)):
            return True
        if upright and len(system.staves) > 1 and y0 > top and y1 < bottom:
            return True  # between the staves
        if (dot or both) and "repeat" in line.kind.value and x0 > line.x0 - 0.2 * sp and x1 < line.x1 + 0.2 * sp:
            y = (y0 + y1) / 2
            for s in system.staves:
                off = _dots(s, sp) if dot else 0.0  # a pair of dots may be one shape
                if abs(abs(y - (s.top + s.bottom) / 2) - off) < 0.3 * sp:
                    return True
    return False


def _over_line(y0: float, y1: float, stave: Stave, sp: float) -> bool:
    """As high as the barline of a stave of one line: it reaches a space over and under it, or as much further."""
    middle, half = (stave.top + stave.bottom) / 2, (y1 - y0) / 2
    return len(stave.lines) == 1 and abs((y0 + y1) / 2 - middle) < 0.25 * sp and SHORT * sp < half < LONG * sp


def _dots(stave: Stave, sp: float) -> float:
    """How far from a stave's middle a repeat's dots stand: in the nearest spaces that lie so over and under it."""
    lines = len(stave.lines)
    return (stave.bottom - stave.top) / (lines - 1) if lines > 1 and lines % 2 == 0 else 0.5 * sp


def _pen_set_down(mark: Mark, near: Sequence[Mark]) -> bool:
    """A stroke of no length on the end of a line of the same width, as a bracket's hook of no height is drawn: the
    line's own end is as round, and what is left of the line may end elsewhere."""
    if not isinstance(mark, Shape) or mark.width is None or _length(mark):
        return False
    x0, y0, x1, y1 = mark.box
    off = 0.1 * mark.width
    return any(
        isinstance(line, Shape)
        and line.width == mark.width
        and _length(line)
        and line.box[0] - off <= x0 <= x1 <= line.box[2] + off
        and line.box[1] - off <= y0 <= y1 <= line.box[3] + off
        for line in near
    )


def _length(shape: Shape) -> bool:
    """It goes from anywhere to anywhere else."""
    return any((s[-2], s[-1]) != (sub.x, sub.y) for sub in shape.path for s in sub.segments)


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


def build(page: Page, read: PageReading, marks: Sequence[Box] = (), counts: Sequence[Box] = ()) -> list[Item]:
    """The page's ink as objects; none has an owner yet, and what is drawn anew is marked `DROPPED`. `marks` are
    the boxes of marks and signs that were read: no metronome mark swallows them, nor the figures of the long rests
    whose boxes are `counts`."""
    systems = read.systems
    _tell_music_fonts(page, systems)
    music = [f.music for f in page.fonts]
    items: list[Item] = []
    for n, mark in enumerate(page.ink):
        near = nearest_system(mark.box, systems)
        system = systems[near]
        sp = system.space
        redrawn = _redrawn(mark, music, system) or _pen_set_down(mark, page.ink[max(n - 2, 0) : n + 3])
        # A mark of the next line may stand left of an indented one.
        if redrawn and not any(inside(mark.box, grown(box, 1, 1)) for box in marks):
            items.append(Item([n], mark.box, Role.DROPPED, system=near))
            continue
        in_stave = any(mark.box[3] > s.top - 0.1 * sp and mark.box[1] < s.bottom + 0.1 * sp for s in system.staves)
        x = (mark.box[0] + mark.box[2]) / 2
        rests = any(b.count > 1 and b.x0 - sp < x < b.x1 + sp for b in system.bars)
        # A high note may stand nearer to the system before.
        ledger = isinstance(mark, Shape) and any(ledger_steps(mark.box, one) for one in systems)
        role = Role.SOLID if _meter_figure(mark, system) else _classify(mark, music, sp, rests, in_stave, ledger)
        items.append(Item([n], mark.box, role, _style(mark, music, sp, role, ledger), letters=letter(mark)))
    items = _twins(items)
    _repeat_strokes(items, systems)
    items = diagrams(items, systems)
    drawn = [i for i in items if i.style == DIAGRAM]
    return words_of([i for i in items if i.style != DIAGRAM], page, systems, marks, counts) + drawn


def _repeat_strokes(items: Sequence[Item], systems: Sequence[System]) -> None:
    """The slanted stroke between two dots that says to play the last bar again is one sign with them."""
    slanted = [i for i in items if i.role is Role.THROUGH and i.style[:1] == ("line",)]
    dots = Rows([i for i in items if i.role is Role.SOLID]) if slanted else None
    for item in slanted:
        sp, (x0, y0, x1, y1) = systems[nearest_system(item.box, systems)].space, item.box
        if not (STROKE[0] * sp < y1 - y0 < STROKE[1] * sp and x1 - x0 < 2 * (y1 - y0)) or dots is None:
            continue
        near = [i for i in dots.near(item.box) if max(i.box[2] - i.box[0], i.box[3] - i.box[1]) < DOT * sp]
        if sum(inside(i.box, item.box) for i in near) == 2:
            item.role, item.style = Role.SOLID, ("shape", *(round(v / sp, 1) for v in (x1 - x0, y1 - y0)))


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


def _style(mark: Mark, music: Sequence[bool], sp: float, role: Role, ledger: bool) -> tuple[object, ...]:
    if isinstance(mark, Glyph):
        size = round(abs(mark.m[3]) / sp, 1) if mark.m[3] else 0
        return ("glyph", mark.font, size, mark.gid if music[mark.font] and role is Role.SOLID else -1)
    if isinstance(mark, Picture):
        return ("picture",)
    if ledger:
        return ("ledger",)
    if role is Role.THROUGH:
        kind = "curve" if is_curved(mark) else "dashes" if mark.dash else "line"
        return (kind, round((mark.width or 0) / sp, 1))
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
