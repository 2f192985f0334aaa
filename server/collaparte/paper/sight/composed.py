"""Signs put together of several strokes.

A coda is a ring with a cross through it, a segno an S with a bar and two dots, a short rest a stalk with hooks, the
sign that repeats a bar a stroke between two dots.

Fonts draw them as one shape; engravers without a music font draw their parts one by one.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from collaparte.paper.reading import Box
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import OUTLINE, Blob, Glyph, Rule

SMALLEST, LARGEST = 1.5, 7.0
"""Such signs are so many spaces high, their crosses and bars included: common practice is 3 to 4."""
OFF_CENTRE = 0.15
"""The parts share one middle, within this share of the sign's size."""
RESTS = {1: "8th", 2: "16th", 3: "32nd"}
"""By their hooks."""
PERCENT = 1.5
"""The stroke of the sign that repeats a bar is at least so many spaces high: it fills the middle two."""
RINGS, SNAKES = "O0o", "Ss"
"""Letters that are set for the ring and for the S."""


class Composed(NamedTuple):
    """The signs found, and what is no letter or shape of its own any more."""

    signs: list[Glyph]
    glyphs: list[Glyph]
    blobs: list[Blob]
    rules: list[Rule]


def composed(
    glyphs: Sequence[Glyph], blobs: Sequence[Blob], rules: Sequence[Rule], staves: Sequence[StaveLines], space: float
) -> Composed:
    """The codas and segnos of one page that are drawn in parts, outside the staves."""
    signs: list[Glyph] = []
    used_glyphs: list[Glyph] = []
    used_blobs: list[Blob] = []
    used_rules: list[Rule] = []
    for sort, box, strokes in (*_crosses(rules, space), *_bars(blobs, space)):
        middle, near = (box[1] + box[3]) / 2, 0.5 * space  # a bit of an outer line may cross a stem, or end its stave
        if any(
            s.top - near < middle < s.bottom + near and s.x0 - near < box[0] and box[2] < s.x1 + near for s in staves
        ):
            continue
        letters = RINGS if sort == "coda" else SNAKES
        cores = [g for g in glyphs if g.kind == "letter" and g.value in letters and _is_core(g.box, box)]
        shapes = [b for b in blobs if _is_round(b) and _is_core(b.box, box)]
        dots = [g for g in glyphs if g.kind == "dot" and _holds(box, g.box)] if sort == "segno" else []
        if not cores and not shapes:
            continue
        parts = [*(g.box for g in (*cores, *dots)), *(b.box for b in shapes), box]
        whole = (min(p[0] for p in parts), min(p[1] for p in parts), max(p[2] for p in parts), max(p[3] for p in parts))
        signs.append(Glyph(*whole, whole[0], whole[3], 4 * space, sort, "", OUTLINE))
        used_glyphs += [*cores, *dots]
        used_blobs += shapes
        used_rules += strokes
    for stalk in _slanting(blobs):
        hooks = _hooks(stalk, blobs, space)
        if hooks and any(s.top - s.space < stalk.y0 and stalk.y1 < s.bottom + s.space for s in staves):
            strokes_of = [stalk, *hooks]
            box = (min(b.x0 for b in strokes_of), min(b.y0 for b in strokes_of), stalk.x1, stalk.y1)
            signs.append(Glyph(*box, box[0], box[3], 4 * space, "rest", RESTS[len(hooks)], OUTLINE))
            used_blobs += strokes_of
    for slash, dots in _percents(blobs, glyphs, staves):
        box = slash.box
        signs.append(Glyph(*box, box[0], box[3], 4 * space, "repeat-bar", "1", OUTLINE))
        used_glyphs += dots
        used_blobs.append(slash)
    return Composed(signs, used_glyphs, used_blobs, used_rules)


def _crosses(rules: Sequence[Rule], space: float) -> Iterator[tuple[str, Box, tuple[Rule, ...]]]:
    """Pairs of an upright and a level stroke through each other's middles."""
    least, most, thin = SMALLEST * space, LARGEST * space, 0.5 * space
    ups = [r for r in rules if r.x1 - r.x0 < thin and least < r.y1 - r.y0 < most]
    levels = [r for r in rules if r.y1 - r.y0 < thin and least < r.x1 - r.x0 < most]
    if not ups or not levels:
        return
    middles = [r.y0 + r.y1 for r in ups]
    order = sorted(range(len(ups)), key=middles.__getitem__)
    middles.sort()
    furthest = 2 * OFF_CENTRE * LARGEST * space
    near: list[tuple[int, int]] = []
    for n, across in enumerate(levels):
        middle, along = across.y0 + across.y1, across.x0 + across.x1
        beside = order[bisect_left(middles, middle - furthest) : bisect_right(middles, middle + furthest)]
        near += [(m, n) for m in beside if abs(ups[m].x0 + ups[m].x1 - along) < furthest]
    for m, n in sorted(near):
        up, across = ups[m], levels[n]
        box = (across.x0, up.y0, across.x1, up.y1)
        if _same_middle(up.box, box) and _same_middle(across.box, box):
            yield "coda", box, (up, across)


def _bars(blobs: Sequence[Blob], space: float) -> Iterator[tuple[str, Box, tuple[Rule, ...]]]:
    for blob in _slanting(blobs):
        width, height = blob.x1 - blob.x0, blob.y1 - blob.y0
        if SMALLEST * space < height < LARGEST * space and 0.5 < width / height < 2:
            yield "segno", blob.box, ()


def _percents(
    blobs: Sequence[Blob], glyphs: Sequence[Glyph], staves: Sequence[StaveLines]
) -> Iterator[tuple[Blob, list[Glyph]]]:
    """Thick strokes that rise to the right round a stave's middle, a dot over and a dot under each: repeat this bar."""
    dots = [g for g in glyphs if g.kind == "dot"]
    for blob in blobs if dots else ():
        if not blob.filled or len(blob.items) > 6:
            continue
        x0, y0, x1, y1 = blob.box
        if not 0.6 * (y1 - y0) < x1 - x0 < 2 * (y1 - y0):
            continue
        if any(item[0] == "c" for item in blob.items):
            continue
        stave = next((s for s in staves if s.x0 < x0 and x1 < s.x1 and s.top <= y0 and y1 <= s.bottom), None)
        middle = (y0 + y1) / 2
        if stave is None or y1 - y0 < PERCENT * stave.space or abs(middle - stave.middle) > 0.3 * stave.space:
            continue
        near = [g for g in dots if x0 - stave.space < g.x0 and g.x1 < x1 + stave.space and y0 < g.y0 and g.y1 < y1]
        over = [g for g in near if g.y1 < middle + 0.1 * stave.space and g.x1 < (x0 + x1) / 2]
        under = [g for g in near if g.y0 > middle - 0.1 * stave.space and g.x0 > (x0 + x1) / 2]
        if len(over) == len(under) == 1 and len(near) == 2:
            yield blob, near


def _slanting(blobs: Sequence[Blob]) -> Iterator[Blob]:
    """Single strokes that rise to the right."""
    for blob in blobs:
        if not blob.filled and len(blob.items) == 1 and blob.items[0][0] == "l":
            (xa, ya), (xb, yb) = blob.items[0][1:]
            if (xb - xa) * (yb - ya) < 0:
                yield blob


def _hooks(stalk: Blob, blobs: Sequence[Blob], space: float) -> list[Blob]:
    """The one to three filled hooks that end on a rest's stalk; none when it is no stalk."""
    width, height = stalk.x1 - stalk.x0, stalk.y1 - stalk.y0
    if not 1.2 * space < height < 4.5 * space or not 0.2 < width / height < 0.7:
        return []
    hooks = []
    for blob in blobs:
        if not blob.filled or not _is_round(blob) or not 0.3 * space < blob.y1 - blob.y0 < 1.1 * space:
            continue
        on_stalk = stalk.x0 - 0.2 * space < blob.x1 < stalk.x1 + 0.3 * space
        if on_stalk and stalk.y0 - 0.4 * space < blob.y0 < stalk.y1 - 0.5 * space and blob.x0 < stalk.x1 - 0.4 * space:
            hooks.append(blob)
    return hooks if len(hooks) in RESTS else []


def _is_round(blob: Blob) -> bool:
    return any(item[0] == "c" for item in blob.items)


def _is_core(core: Box, box: Box) -> bool:
    """Whether a ring or an S is of the size of what goes through it, and round the same middle."""
    share = max(core[2] - core[0], core[3] - core[1]) / max(box[2] - box[0], box[3] - box[1])
    return 0.4 < share < 1.6 and core[2] - core[0] > 0.3 * (box[2] - box[0]) and _same_middle(core, box)


def _same_middle(one: Box, other: Box) -> bool:
    reach = OFF_CENTRE * max(other[2] - other[0], other[3] - other[1])
    return (
        abs(one[0] + one[2] - other[0] - other[2]) < 2 * reach
        and abs(one[1] + one[3] - other[1] - other[3]) < 2 * reach
    )


def _holds(box: Box, inner: Box) -> bool:
    return box[0] - 1 < inner[0] and inner[2] < box[2] + 1 and box[1] < inner[1] and inner[3] < box[3]
