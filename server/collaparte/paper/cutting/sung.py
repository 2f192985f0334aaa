"""Words sung: rows of syllables under a stave, or over it where more voices sing."""

from collections.abc import Sequence

from collaparte.paper.cutting.ink import Glyph, Page, letter
from collaparte.paper.cutting.items import Item, Role, union
from collaparte.paper.cutting.told import is_type, sung_over, told
from collaparte.paper.reading import Box, System
from collaparte.paper.sight.title import EXTENSION

FARTHEST = 16.0
"""Words sung stand no farther under their stave, or the words over them, in spaces; what does stands at the foot."""
A_SONG = 12
"""A row of fewer words, all a space apart, may be two instructions on one line."""
VERSES = 1.5
"""A row of sung words stands about as far below its stave as those of other lines (staff spaces)."""
HYPHENS = ("-", "\u2010", "\u2011", "\u00ad")


def sung_words(runs: list[Item], page: Page, systems: Sequence[System], notes: Sequence[Box]) -> list[Item]:
    """Rows of sung words under a stave, or over the first, each syllable by itself; their runs are marked `lyric`."""
    out: list[Item] = []
    sung: list[tuple[object, float]] = []
    short: list[tuple[float, list[Item]]] = []
    under: list[tuple[System, object, float]] = []
    over: list[tuple[list[Item], System]] = []
    for row in _baselines(runs, page):
        box = union(r.box for r in row)
        y = (box[1] + box[3]) / 2
        above = [s for s in systems if s.bbox[1] < y]
        if not above:
            over.append((row, min(systems, key=lambda s: s.bbox[1])))
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
        upper = [place for one, style, place in under if one is system and style == row[0].style]
        far = below - max(upper, default=0.0) > FARTHEST
        if foot or _chordlike(row):
            continue
        if far or told(row, page, system, notes):
            over += [(row, s) for s in systems if s.bbox[1] > y][:1]
            continue
        under.append((system, row[0].style, below))
        if words < 4 or not wide or (words < A_SONG and is_type(row, page)):
            short.append((below, row))
            continue
        sung.append((row[0].style, below))
        out += _sung(row, page)
    for below, row in short:  # the end of a song is on few words, or on one
        if any(row[0].style == style and abs(below - place) < VERSES for style, place in sung):
            out += _sung(row, page)
    styles = {style for style, _ in sung}
    for row, system in over:
        if row[0].style in styles and sung_over(row, page, system, notes):
            out += _sung(row, page)
    return out


def _baselines(runs: Sequence[Item], page: Page) -> list[list[Item]]:
    """Runs of one style on one baseline, to a point."""
    out: list[list[Item]] = []
    lowest: dict[object, tuple[float, list[Item]]] = {}
    for y, run in sorted(((page.ink[run.marks[0]].m[5], run) for run in runs), key=lambda one: one[0]):  # type: ignore[union-attr]
        begun = lowest.get(run.style)
        if begun is None or y - begun[0] > 1.0:
            begun = lowest[run.style] = (y, [])
            out.append(begun[1])
        begun[1].append(run)
    return out


def _sung(row: Sequence[Item], page: Page) -> list[Item]:
    out: list[Item] = []
    for run in row:
        run.style = ("lyric",)
        out += _syllables(run, page)
    return out


def _chordlike(row: list[Item]) -> bool:
    """Chord names begin with a capital A to G and are short, and what is raised behind them is of few kinds ("maj7"); a
    sung line is not only such words."""
    words = [w for r in row for w in r.letters.split()]
    named = (w[0] in "ABCDEFGN" and len(w) <= 9 for w in words)
    return sum(name or bool(EXTENSION.fullmatch(w)) for name, w in zip(named, words, strict=True)) > 0.8 * len(words)


def _syllables(run: Item, page: Page) -> list[Item]:
    out: list[Item] = []
    for n in sorted(run.marks, key=lambda m: page.ink[m].box[0]):
        mark = page.ink[n]
        assert isinstance(mark, Glyph)
        # A hyphen ends its syllable, however near the next one stands.
        near = bool(out) and mark.box[0] - out[-1].box[2] < 0.15 * abs(mark.m[3])
        if near and not (out[-1].letters.endswith(HYPHENS) and letter(mark) not in HYPHENS):
            out[-1].marks.append(n)
            out[-1].box = union((out[-1].box, mark.box))
            out[-1].letters += letter(mark)
        else:
            out.append(Item([n], mark.box, Role.WORDS, ("lyric",), letters=letter(mark), above=False))
    return out
