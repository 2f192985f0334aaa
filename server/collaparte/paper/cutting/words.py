"""Letters made words, chord names and metronome marks."""

from collections.abc import Sequence

from collaparte.paper.cutting.ink import Glyph, Page, Shape, path_box
from collaparte.paper.cutting.items import Item, Role, Rows, grown, inside, nearest_system, union
from collaparte.paper.cutting.sung import sung_words
from collaparte.paper.cutting.told import A_WORD, heads
from collaparte.paper.cutting.upon import CHORD, DYNAMICS
from collaparte.paper.reading import Box, System


def _em(page: Page, item: Item) -> float:
    mark = page.ink[item.marks[0]]
    return max(abs(mark.m[3]), abs(mark.m[0])) if isinstance(mark, Glyph) else item.box[3] - item.box[1]


def _barline_between(a: float, b: float, box: Box, systems: Sequence[System]) -> bool:
    system = systems[nearest_system(box, systems)]
    return any(a - 0.2 * system.space < line.x < b + 0.2 * system.space for line in system.barlines)


def words_of(
    items: list[Item], page: Page, systems: Sequence[System], marks: Sequence[Box], counts: Sequence[Box]
) -> list[Item]:
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
                and (
                    gap < 0.38 * em
                    or (item.letters.islower() and not CHORD.fullmatch(run.letters))
                    or (item.letters.isdigit() and A_WORD.search(run.letters))
                    or not _barline_between(run.box[2], item.box[0], item.box, systems)
                )
            ):
                run.letters += (" " if gap > 0.18 * em else "") + item.letters
                run.marks += item.marks
                run.box = union((run.box, item.box))
                continue
            run = item
            runs.append(run)
    lyrics = sung_words(runs, page, systems, heads(rest, systems))
    rest, drawn = _drawn_letters(rest, runs, page, systems)
    runs += drawn
    chained = _chains([r for r in runs if r.style[0] != "lyric"], page, systems, counts)
    words = _tempos([*chained, *_drawn_equals(rest, page, systems)], rest, page, systems, [*marks, *counts])
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
        sizes = 0.3 * system.space < x1 - x0 < 1.3 * system.space and y1 - y0 < 2.2 * system.space
        if shape and off and sizes:  # a thin upright is the side of a frame
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


def _drawn_equals(rest: list[Item], page: Page, systems: Sequence[System]) -> list[Item]:
    """Equals signs off the staves that are drawn as outlines, taken out of the rest: two level bars in one shape."""
    out: list[Item] = []
    for item in rest:
        shape = page.ink[item.marks[0]]
        if item.role is not Role.SOLID or not isinstance(shape, Shape) or len(shape.path) != EQUALS:
            continue
        system = systems[nearest_system(item.box, systems)]
        sp, (x0, y0, x1, y1) = system.space, item.box
        off = all(y1 < s.top - 0.3 * sp or y0 > s.bottom + 0.3 * sp for s in system.staves)
        if off and 0.5 * sp < x1 - x0 < 2 * sp and y1 - y0 < 0.8 * (x1 - x0) and _two_bars(shape):
            item.role, item.letters = Role.WORDS, "="
            out.append(item)
    rest[:] = [i for i in rest if i.role is not Role.WORDS]
    return out


def _two_bars(shape: Shape) -> bool:
    """Both as long as the whole, each less than half as high, one over the other."""
    x0, y0, x1, y1 = shape.box
    boxes = [path_box([sub]) for sub in shape.path]
    long = all(b[2] - b[0] > 0.9 * (x1 - x0) and b[3] - b[1] < 0.4 * (y1 - y0) for b in boxes)
    return long and min(b[3] for b in boxes) < max(b[1] for b in boxes)


EQUALS = 2
"""The paths of an equals sign."""
A_FIGURE = 2
"""The number over a bracket of notes has no more letters."""


def _in_a_stave(box: Box, systems: Sequence[System]) -> bool:
    system = systems[nearest_system(box, systems)]
    return any(box[3] > s.top and box[1] < s.bottom for s in system.staves)


def _tempo_part(item: Item, sp: float) -> bool:
    w, h = item.box[2] - item.box[0], item.box[3] - item.box[1]
    return item.role is Role.WORDS or (item.role is not Role.DROPPED and h < 4 * sp and w < 4 * sp)


def _words_over(item: Item, y: float) -> bool:
    """Words on a line of type of their own, which a note's stem may reach up to."""
    return item.role is Role.WORDS and len(item.letters) > A_FIGURE and item.box[3] < y


def _in_tempo(other: Box, tempo: Box, sp: float) -> bool:
    """Beside the tempo's words on their row; or a stem, a beam or a bracket of its small notes, over them."""
    overlap = min(other[3], tempo[3]) - max(other[1], tempo[1])
    over = tempo[0] - 0.3 * sp < other[0] and other[2] < tempo[2] + 0.3 * sp and other[1] < tempo[1] + sp
    if over and overlap > -0.7 * sp and (other[3] - other[1] < 1.3 * sp or overlap > 0):
        return True
    return overlap > 0.25 * min(other[3] - other[1], 2 * sp)


def _tempos(
    words: list[Item], rest: list[Item], page: Page, systems: Sequence[System], marks: Sequence[Box]
) -> list[Item]:
    """A metronome mark: "=" with the note and the words at its left and the figure at its right."""
    gone: set[int] = {id(i) for i in [*words, *rest] if any(inside(i.box, m) for m in marks)}
    kept = set(gone)
    for equals in words:
        if "=" not in equals.letters or id(equals) in gone:
            continue
        sp = systems[nearest_system(equals.box, systems)].space
        middle = (equals.box[1] + equals.box[3]) / 2
        near = Rows(
            [
                i
                for i in [*words, *rest]
                if i is not equals
                and id(i) not in gone
                and _tempo_part(i, sp)
                and not _words_over(i, middle)
                and not _is_dynamic(i, page)
                and not _in_a_stave(i.box, systems)
            ]
        )
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


RAISED = 0.85
"""A figure this much smaller than the letters before it, and higher, is raised: part of a chord name."""


def _chains(runs: list[Item], page: Page, systems: Sequence[System], counts: Sequence[Box]) -> list[Item]:
    """Join what stands side by side: a root and its superscript, "m" and "7", "mf" set as two; with the count of a
    long rest nothing from beside it."""
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
            raised = em < RAISED * other_em and run.box[3] < other.box[3]  # which no bar begins with
            if gap > 0.12 * em and not raised and _barline_between(other.box[2], run.box[0], run.box, systems):
                continue
            if _other_hand(page, other, run) or any(inside(run.box, c) != inside(other.box, c) for c in counts):
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
    if not isinstance(a, Glyph) or not isinstance(b, Glyph):
        return False
    if A_WORD.search(one.letters) and A_WORD.search(other.letters) and _off_line(a, b):
        return True
    if a.font == b.font:
        return False
    if page.fonts[a.font].music or page.fonts[b.font].music:
        return _is_dynamic(one, page) != _is_dynamic(other, page) and _off_line(a, b, LEVEL)
    if one.letters.strip(" .)").isdigit():
        return True
    sizes = sorted((abs(a.m[3]), abs(b.m[3])))
    return sizes[0] > 0.75 * sizes[1] and _off_line(a, b)


LEVEL = 0.03
"""A dynamic in a line of words stands on their line, but for so much of its size."""


def _off_line(a: Glyph, b: Glyph, level: float = 0.1) -> bool:
    """On another line of type."""
    return abs(a.m[5] - b.m[5]) > level * max(abs(a.m[3]), abs(b.m[3]))


def _is_dynamic(item: Item, page: Page) -> bool:
    """How loud, in the letters of a music font."""
    mark = page.ink[item.marks[0]]
    return isinstance(mark, Glyph) and page.fonts[mark.font].music and set(item.letters) <= DYNAMICS
