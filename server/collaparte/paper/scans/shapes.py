"""Signs and letters on a scan: connected parts of ink told by their looks, as shapes in a drawing are."""

from collections.abc import Sequence
from statistics import median
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from collaparte.paper.scans.bits import Bitmap, Bits, unpacked, wipe
from collaparte.paper.scans.broken import with_figures_whole
from collaparte.paper.scans.cells import PixelBox, cells_of, cells_of_parts
from collaparte.paper.scans.frames import rings, rooms, sides
from collaparte.paper.scans.letters import SIGNS, Likely, classed, features, letter_match, likeliest, sign_match
from collaparte.paper.scans.levels import BLOCK, rest_room
from collaparte.paper.scans.page import Dark
from collaparte.paper.scans.parts import Parts, connected_bits
from collaparte.paper.scans.staves import ScannedStave
from collaparte.paper.scans.touching import letters_of, may_be_two, two_signs
from collaparte.paper.sight import shapes
from collaparte.paper.sight.lettering import settled
from collaparte.paper.sight.recognise import named
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import OUTLINE, Blob, Glyph, Rule

SURE = 0.24
"""Shapes further off than this stay unknown; ink spreads on a scan, so it is more than for drawn ones."""
SPECK = 0.02
"""Parts of less ink than this (square spaces) are dirt."""
CLEF_REACH = 3.2
"""A clef begins within so many spaces of its stave's left end,"""
CLEF_TALL = 1.6
"""and is taller than so many."""
SIGN_TALL = 0.55
"""Unknown ink on a stave that is taller than this, in spaces, is taken for notes."""


METER_REACH = 16.0
"""A meter at a line's head begins within so many spaces of its stave's left end;"""
APART = 0.5
"""its figures stand no further apart, in spaces, and"""
HALF = (1.5, 2.4)
"""each of its figures is so tall, in spaces, when they stand apart;"""
QUARTER = 0.27
"""each quarter of its figures' box has at least this share of ink."""
FIGURE = 0.7
"""Height of figures as a share of their font's size."""
ALIKE = 1.22
"""Sizes that differ by less than this factor are one size."""
LEAST = 0.5
"""Letters and figures are taller than so many spaces; what is smaller and looks like one is dirt."""
CLEAR = 0.16
"""A letter this near to a known one is not looked at as several that touch."""
RIVAL = 0.04
"""A sign this much further off than a letter is none."""
LOW, HIGH, BROAD = 0.7, 3.2, 0.75
"""Letters that touch are so high, in spaces, and together at least so wide, in their heights."""


class Piece(NamedTuple):
    """A part's pixels, and where their box begins on the page."""

    x0: int
    y0: int
    mask: Dark


Told = tuple[Blob, shapes.Match, shapes.Match]
"""Where a part is, and the sign and the letter that it is nearest to."""


def find_shapes(
    bare: Bitmap, staves: Sequence[ScannedStave], strokes: Sequence[Rule], levels: Sequence[Rule], scale: float
) -> tuple[list[Glyph], list[Rule]]:
    """Signs and letters in points, and the four sides of frames in pixels; `bare`: the page without staff lines."""
    space = median(s.space for s in staves)
    ink = bare.bits.copy()
    # Off the staves a thick level stroke is a bold letter's.
    blocks = [rest_room(r, space) for r in levels if r.y1 - r.y0 > BLOCK * space and _is_on_stave(r, staves)]
    for rule in [*strokes, *blocks]:
        wipe(ink, max(0, int(rule.x0) - 1), int(rule.y0), int(rule.x1) + 1, int(rule.y1) + 1)
    parts = connected_bits(ink, bare.width)
    kept = np.flatnonzero(parts.area > max(3.0, SPECK * space * space))
    whole = len(parts)
    frames = rings(parts, kept, space)
    ringed = {n for n, _ in frames}
    free = [*(int(n) for n in kept if int(n) not in ringed), *range(whole, len(parts))]
    groups = with_figures_whole(parts, _with_dots(parts, free, space), staves, space)
    lines = [
        StaveLines(
            tuple(y * scale for y in s.lines), s.x0 * scale, s.x1 * scale, s.space * scale, scale,
            s.top * scale, s.bottom * scale,
        )
        for s in staves
    ]  # fmt: skip
    glyphs = _told(ink, parts, groups, lines, space, scale)
    boxes = [box for _, box in frames]
    boxes += rooms(ink, bare.width, parts, kept, [*boxes, *((s.x0, s.top, s.x1, s.bottom) for s in staves)], space)
    return glyphs, [side for box in boxes for side in sides(box, space)]


def _is_on_stave(rule: Rule, staves: Sequence[ScannedStave]) -> bool:
    return any(s.top < (rule.y0 + rule.y1) / 2 < s.bottom for s in staves)


def _with_dots(parts: Parts, numbers: Sequence[int], space: float) -> list[list[int]]:
    """Parts one by one, small dots joined with the stroke below them (i, j) or the dot (colon, equals)."""
    edges = (edge[numbers].tolist() for edge in (parts.x0, parts.y0, parts.x1, parts.y1))
    boxes = dict(zip(numbers, zip(*edges, strict=True), strict=True))
    small = [n for n in numbers if boxes[n][3] - boxes[n][1] < 0.5 * space and boxes[n][2] - boxes[n][0] < 0.6 * space]
    by_top: dict[int, list[int]] = {}
    for n in numbers:
        x0, y0, x1, y1 = boxes[n]
        if x1 - x0 < 1.0 * space and 0.6 * space < y1 - y0 < 2.2 * space:
            by_top.setdefault(y0 // 8, []).append(n)
    joined: dict[int, int] = {}
    for dot in small:
        x0, y0, x1, y1 = boxes[dot]
        for row in range(y1 // 8, (y1 + int(0.6 * space)) // 8 + 1):
            for stem in by_top.get(row, ()):
                sx0, sy0, sx1, sy1 = boxes[stem]
                if (
                    0 < sy0 - y1 < 0.4 * (sy1 - sy0)
                    and (x0 + x1) / 2 > sx0 - 1
                    and (x0 + x1) / 2 < sx1 + 1 + 0.2 * (sy1 - sy0)
                    and x1 - x0 < 0.5 * (sy1 - sy0)
                    and sx1 - sx0 < 0.75 * (sy1 - sy0)
                ):
                    joined[dot] = stem
    groups = {n: [n] for n in numbers if n not in joined}
    for dot, stem in joined.items():
        if stem in groups:
            groups[stem].append(dot)
    return list(groups.values())


def _told(
    ink: Bits, parts: Parts, groups: Sequence[Sequence[int]], staves: Sequence[StaveLines], space: float, scale: float
) -> list[Glyph]:
    points = space * scale
    kept: list[Sequence[int]] = []
    boxes: list[PixelBox] = []
    unknown: list[Blob] = []
    edges = (edge.tolist() for edge in (parts.x0, parts.y0, parts.x1, parts.y1))
    each = list(zip(*edges, strict=True))
    for group in groups:
        box = each[group[0]] if len(group) == 1 else _round([each[number] for number in group])
        width, height = box[2] - box[0], box[3] - box[1]
        if 0.12 * space < height < 8.5 * space and 0.08 * space < width < 6 * space:
            kept.append(group)
            boxes.append(box)
        else:
            unknown.append(_blob(box, scale))
    if not kept:
        return []
    blobs = [_blob(box, scale) for box in boxes]
    on_stave = [_stave_of(blob, staves) for blob in blobs]
    within = list(map(_is_within, blobs, on_stave))
    free = np.array([on is None for on in on_stave])
    told = _looked_up(blobs, cells_of_parts(parts, kept, boxes), points, ~np.array(within), free)
    glyphs: list[Glyph] = []
    letters: list[tuple[Glyph, Glyph | None]] = []
    taken: list[tuple[int, Glyph | None, Glyph | None]] = []
    for n, (blob, sign, letter) in enumerate(told):
        on = on_stave[n]
        if on is not None and _is_clef(blob, on):
            value = sign.value if sign.kind == "clef" and sign.distance < SURE else ""
            taken.append((n, _plain(blob, "clef", value, on), None))
            continue
        taken.append((n, *_either(blob, sign, letter, staves, points)))
    unclear = [n for n, as_sign, _ in taken if not within[n] and as_sign is None and told[n][2].distance > CLEAR]
    pairs = {n: pair for n in unclear if (pair := _pair(parts, kept[n], boxes[n], space, scale))}
    glyphs += (sign for pair in pairs.values() for sign in pair)
    unclear = [n for n in unclear if n not in pairs]
    several = _letters_in(parts, [(n, kept[n], boxes[n]) for n in unclear], space)
    for n, as_sign, as_letter in taken:
        if n not in several and n not in pairs:
            _sort_in(blobs[n], as_sign, as_letter, glyphs, letters, unknown)
    split = [(told[n], pieces) for n, pieces in several.items()]
    _split(split, points, scale, glyphs, letters, unknown, staves)
    stacked = _stacked(unknown, staves)
    for blob in sorted(unknown, key=lambda b: b.x0):
        on = _stave_of(blob, staves)
        meter = on is not None and (blob in stacked or _is_meter(blob, on, ink, scale))
        if on is not None and meter and not _is_behind(blob, on, glyphs):
            glyphs.append(_plain(blob, "meter", "", on))
        elif on is not None and blob.y1 - blob.y0 > SIGN_TALL * on.space and blob.x1 - blob.x0 > 0.4 * on.space:
            glyphs.append(_plain(blob, "clef" if _is_clef(blob, on) else "head", "", on))
    # A figure may look like a music font's and the one beside it not: off the staves all are letters of one hand.
    words = [replace(g, kind="letter") if g.kind == "digit" else g for g in settled(letters, ())]
    return glyphs + _of_few_sizes(words)


def _either(
    blob: Blob, sign: shapes.Match, letter: shapes.Match, staves: Sequence[StaveLines], points: float
) -> tuple[Glyph | None, Glyph | None]:
    """What a part may be as a sign and as a letter."""
    as_sign, as_letter = named(blob, sign, letter, staves, points, SURE)
    if as_letter is not None and as_letter.value.isalnum() and blob.y1 - blob.y0 < LEAST * points:
        as_letter = None
    if as_letter is not None and (sign.kind == "other" or sign.distance > letter.distance + RIVAL):
        as_sign = None
    if as_sign is not None and as_sign.kind == "digit" and not _is_within(blob, _stave_of(blob, staves)):
        as_letter = as_letter if as_letter is not None and as_letter.value.isdecimal() else _as_figure(as_sign)
        as_sign = None
    return as_sign, as_letter


def _as_figure(digit: Glyph) -> Glyph:
    """A music font's figure as a letter: off the staves they are read alike."""
    return replace(digit, kind="letter", size=(digit.y1 - digit.y0) / FIGURE)


def _of_few_sizes(glyphs: list[Glyph]) -> list[Glyph]:
    """Letters whose sizes hardly differ have one size: what was set alike is measured a little differently."""
    sizes = sorted(g.size for g in glyphs if g.kind == "letter")
    groups: list[list[float]] = []
    for size in sizes:
        if groups and size < ALIKE * groups[-1][0]:
            groups[-1].append(size)
        else:
            groups.append([size])
    known = {size: usual for group in groups for usual in (median(group),) for size in group}
    return [replace(g, size=known[g.size]) if g.kind == "letter" else g for g in glyphs]


def _sort_in(
    blob: Blob,
    as_sign: Glyph | None,
    as_letter: Glyph | None,
    glyphs: list[Glyph],
    letters: list[tuple[Glyph, Glyph | None]],
    unknown: list[Blob],
) -> None:
    if as_letter is not None:
        letters.append((as_letter, as_sign))
    elif as_sign is not None:
        glyphs.append(as_sign)
    else:
        unknown.append(blob)


def _split(
    split: Sequence[tuple[Told, list[Piece]]],
    points: float,
    scale: float,
    glyphs: list[Glyph],
    letters: list[tuple[Glyph, Glyph | None]],
    unknown: list[Blob],
    staves: Sequence[StaveLines],
) -> None:
    """Letters that touch on the paper, told one by one when that makes each of them clearer than the whole."""
    pieces = [piece for _, several in split for piece in several]
    if not pieces:
        return
    blobs = [_blob((p.x0, p.y0, p.x0 + p.mask.shape[1], p.y0 + p.mask.shape[0]), scale) for p in pieces]
    cells = np.stack([cells_of(piece.mask) for piece in pieces])
    each = np.ones(len(pieces), dtype=np.bool_)
    found = iter(_looked_up(blobs, cells, points, each, each))
    for whole, several in split:
        told = [next(found) for _ in several]
        apart = max(letter.distance for _, _, letter in told) < min(SURE, whole[2].distance - 0.03)
        for blob, sign, letter in told if apart else [whole]:
            as_sign, as_letter = _either(blob, sign, letter, staves, points)
            _sort_in(blob, None if apart and as_letter else as_sign, as_letter, glyphs, letters, unknown)


def _pair(parts: Parts, group: Sequence[int], box: PixelBox, space: float, scale: float) -> list[Glyph]:
    """Two segnos or codas that touch on the paper; none when a piece is not that."""
    may_be = may_be_two(box[2] - box[0], box[3] - box[1], space)
    told = two_signs(parts.drawn(group, box), space) if may_be else None
    if told is None:
        return []
    kind, cut = told
    x0, y0, x1, y1 = (v * scale for v in box)
    middle = x0 + cut * scale
    return [Glyph(a, y0, b, y1, a, y1, 4 * space * scale, kind, "", OUTLINE) for a, b in ((x0, middle), (middle, x1))]


def _letters_in(
    parts: Parts, pieces: Sequence[tuple[int, Sequence[int], PixelBox]], space: float
) -> dict[int, list[Piece]]:
    """The letters that touch on the paper, by the numbers of the pieces that are rows of letters."""
    rows = [
        (number, group, box)
        for number, group, box in pieces
        if LOW * space < box[3] - box[1] < HIGH * space and BROAD * (box[3] - box[1]) < box[2] - box[0]
    ]
    found = letters_of([parts.drawn(group, box) for _, group, box in rows], space)
    return {
        number: [Piece(box[0] + x, box[1] + y, mask) for x, y, mask in letters]
        for (number, _, box), letters in zip(rows, found, strict=True)
        if letters
    }


def _looked_up(
    blobs: Sequence[Blob],
    cells: shapes.Cells,
    points: float,
    lettered: npt.NDArray[np.bool_],
    free: npt.NDArray[np.bool_],
) -> list[Told]:
    """What parts are nearest to; `lettered`: those that may be letters, `free`: those that reach no stave."""
    wide = np.array([b.x1 - b.x0 for b in blobs], dtype=np.float32)
    high = np.array([b.y1 - b.y0 for b in blobs], dtype=np.float32)
    told = likeliest(classed(features(cells, wide, high, points)))
    letters = [
        letter_match(likely, blob.y1 - blob.y0) if may_be else shapes.NO_MATCH
        for blob, likely, may_be in zip(blobs, told, lettered.tolist(), strict=True)
    ]
    # Off the staves no sign stands against a letter that is told more clearly, unless that is too small for one.
    rivals = np.array([letter.distance for letter in letters], dtype=np.float32) + RIVAL
    rivals = np.where(free & (high >= LEAST * points), np.minimum(rivals, SURE), np.float32(SURE))
    signs = shapes.nearest_signs(cells, wide, high, points, rivals)
    return [
        (blob, _sign(near, likely), letter)
        for blob, near, likely, letter in zip(blobs, signs, told, letters, strict=True)
    ]


def _sign(near: shapes.Match, likely: Likely) -> shapes.Match:
    """The sign that a part is nearest to; whether it is a segno or coda the net tells."""
    told = sign_match(likely)
    return told if near.kind in SIGNS or told.kind in SIGNS else near


def _round(boxes: Sequence[PixelBox]) -> PixelBox:
    """The box round several."""
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def _blob(box: PixelBox, scale: float) -> Blob:
    return Blob(box[0] * scale, box[1] * scale, box[2] * scale, box[3] * scale, (), True)


def _plain(blob: Blob, kind: str, value: str, stave: StaveLines) -> Glyph:
    return Glyph(*blob.box, blob.x0, blob.y1, 4 * stave.space, kind, value, OUTLINE)


def _stave_of(blob: Blob, staves: Sequence[StaveLines]) -> StaveLines | None:
    """The stave whose lines something reaches."""
    for stave in staves:
        if blob.y1 > stave.top and blob.y0 < stave.bottom and blob.x1 > stave.x0 and blob.x0 < stave.x1:
            return stave
    return None


def _is_within(blob: Blob, on: StaveLines | None) -> bool:
    """Whether the middle of what reaches a stave is between its outer lines."""
    return on is not None and on.top < (blob.y0 + blob.y1) / 2 < on.bottom


def _is_clef(blob: Blob, stave: StaveLines) -> bool:
    middle = (blob.y0 + blob.y1) / 2
    return (
        -0.3 * stave.space < blob.x0 - stave.x0 < CLEF_REACH * stave.space
        and CLEF_TALL * stave.space < blob.y1 - blob.y0 < 9 * stave.space
        and blob.x1 - stave.x0 < (CLEF_REACH + 2.2) * stave.space
        and stave.top - 1.5 * stave.space < middle < stave.bottom + 1.5 * stave.space
    )


def _is_meter(blob: Blob, stave: StaveLines, page: Bits, scale: float) -> bool:
    """Figures that touch: as tall as the stave, near its left end, dark in all four quarters."""
    space, width = stave.space, blob.x1 - blob.x0
    if not (blob.x0 - stave.x0 < METER_REACH * space and 0.9 * space < width < 3.8 * space):
        return False
    if max(abs(blob.y0 - stave.top), abs(blob.y1 - stave.bottom)) > 0.6 * space:
        return False
    x0, y0, x1, y1 = (round(v / scale) for v in blob.box)
    ink = unpacked(page[y0:y1], x1)[:, x0:]
    y, x = ink.shape[0] // 2, ink.shape[1] // 2
    return all(float(quarter.mean()) > QUARTER for quarter in (ink[:y, :x], ink[:y, x:], ink[y:, :x], ink[y:, x:]))


def _stacked(blobs: Sequence[Blob], staves: Sequence[StaveLines]) -> set[Blob]:
    """Unknown shapes that stand over one another near a stave's left end, each half as tall: a meter's figures."""
    out: set[Blob] = set()
    for stave in staves:
        space = stave.space
        near = [
            b
            for b in blobs
            if 0 < b.x0 - stave.x0 < METER_REACH * space
            and HALF[0] * space < b.y1 - b.y0 < HALF[1] * space
            and 0.9 * space < b.x1 - b.x0 < HALF[1] * space
        ]
        upper = [b for b in near if abs(b.y0 - stave.top) < 0.5 * space]
        for b in (b for b in near if abs(b.y1 - stave.bottom) < 0.5 * space):
            out |= {x for u in upper if abs(u.x0 + u.x1 - b.x0 - b.x1) < space for x in (u, b)}
    return out


def _is_behind(blob: Blob, stave: StaveLines, glyphs: Sequence[Glyph]) -> bool:
    """Whether something stands behind a note or rest, or off a meter: it is none itself."""
    near = (g for g in glyphs if g.x0 < blob.x0 and stave.top < (g.y0 + g.y1) / 2 < stave.bottom)
    return any(g.kind in ("head", "rest") or (g.kind == "meter" and g.x1 + APART * stave.space < blob.x0) for g in near)
