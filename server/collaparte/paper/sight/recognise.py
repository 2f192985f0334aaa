"""Signs and letters that were drawn as plain shapes, told by their looks.

Some engravers draw every sign as a path, some exports turn all text into outlines. A shape is looked up once;
the same shape drawn again is known from memory.
"""

from collections.abc import Sequence
from typing import Any

from msgspec.structs import replace

from collaparte.paper.reading import Box
from collaparte.paper.sight import shapes
from collaparte.paper.sight.frames import without_sides
from collaparte.paper.sight.lettering import settled
from collaparte.paper.sight.path_boxes import bounds
from collaparte.paper.sight.segnos import looked_up
from collaparte.paper.sight.shapes import Match
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import OUTLINE, Blob, Glyph, Rule

TWICE = 0.06
"""The same shape painted again nearer than this share of its height is one in bold."""
SURE = 0.2
"""Shapes further off than this (0 the same, 1 nothing alike) stay unknown; measured between six music fonts."""

ROUND = 1.9
"""A shape of curves no wider than this, in its heights, is no slur: a head is about 1.4 times as wide as it is high."""

BLOCK = 0.35
"""Rests that are blocks are thicker than this, in spaces, both ways."""
REACH = {"clef": 1.0, "meter": 0.5, "rest": 4.0, "head": 6.0, "accidental": 6.0, "flag": 6.0, "repeat-bar": 0.5}
"""How far from a stave's outer lines such a sign stands at most, in spaces."""

HEAD, CLEF = 1.5, 3.5
"""A clef begins no further behind its stave's left end than the first, in spaces, and ends before the second."""
FILLING = 0.9
"""A block higher than this share of a stave of few lines is a thick barline."""

EXACT = 0.03
"""Shapes no further off than this are of a face that is known."""
SLANTED = frozenset("IlL.")
"""What is of straight strokes alone in slanted faces without serifs."""
UPRIGHT = 0.75
"""A slanted letter or point is higher than so many times its width."""
TOGETHER = 3
"""A sign is of so many pieces side by side at most: a C clef is two strokes and a curve."""
_Name = tuple[Glyph | None, Glyph | None]

Memory = dict[Any, tuple[Match, Match]]
"""Matches as a music sign and as a letter, by shape: those of one document, as shapes nearly alike share one entry and
what a part is read as is not to hang on what was read before it."""
MOST = 20_000


def known_shapes(
    blobs: Sequence[Blob],
    rules: Sequence[Rule],
    frames: Sequence[Box],
    staves: Sequence[StaveLines],
    space: float,
    memory: Memory,
) -> tuple[list[Glyph], list[Blob]]:
    """Glyphs for the shapes that are known, and the shapes that are not."""
    glyphs: list[Glyph] = []
    letters: list[tuple[Glyph, Glyph | None]] = []
    stepped: list[Blob] = []
    plain: list[Blob] = []
    unknown: list[Blob] = []
    seen: set[tuple[int, int, int, int]] = set()
    for blob in blobs:
        if seen and _place(blob) in seen:
            continue
        parts = [(part, named(part, *_matches(part, space, memory), staves, space)) for part in _parts(blob, space)]
        if len(parts) == 1 and parts[0][1] == (None, None):  # figures that stand close may be one path
            several = [(piece, named(piece, *_matches(piece, space, memory), staves, space)) for piece in _pieces(blob)]
            for n in reversed(range(len(several) - 1)):  # such as an F clef and its dots, a C clef's strokes
                several[n:] = _rejoined(several[n:], staves, space, memory)
            parts = several if all(name != (None, None) for _, name in several) else parts
        if not parts and not blob.stepped:
            unknown.append(blob)
            if _may_be_letter(blob):
                plain.append(blob)
        for part, (sign, letter) in parts:
            if part.stepped:
                if letter is not None:
                    letters.append((letter, None))
                    stepped.append(part)
                continue
            if letter is not None:
                letters.append((letter, sign))
            elif sign is not None:
                glyphs.append(sign)
            else:
                unknown.append(part)
                continue
            seen.add(_place(blob))
    glyphs = _once(glyphs)
    if not letters:
        return glyphs, unknown
    free = without_sides(rules, frames, blobs, space)
    free = [r for r in free if not any(_is_of(r, one) for one in stepped)] if stepped else free
    found = [(blob, _matches(blob, space, memory)[1]) for blob in plain]
    slanted = [_glyph(b, match, space) for b, match in found if match.value in SLANTED and match.distance < EXACT]
    told = settled(letters, free, slanted)
    boxes = {(g.x0, g.y0, g.x1, g.y1) for g in told} if slanted else set()
    return glyphs + _once(told), [b for b in unknown if b.box not in boxes] if slanted else unknown


def _may_be_letter(blob: Blob) -> bool:
    """Whether a plain shape of straight lines may be an I, l, L or a point in a slanted face: beams are far wider."""
    lines = all(item[0] == "l" for item in blob.items)
    return blob.filled and lines and blob.y1 - blob.y0 > UPRIGHT * (blob.x1 - blob.x0)


def _place(blob: Blob) -> tuple[int, int, int, int]:
    """Where a shape is painted, for those that are painted twice."""
    return round(blob.x0 * 4), round(blob.y0 * 4), round(blob.x1 * 4), round(blob.y1 * 4)


def _once(found: Sequence[Glyph]) -> list[Glyph]:
    """Signs and letters without those that are painted again a little apart, to look bold."""
    out: list[Glyph] = []
    rows: dict[tuple[str, str, int], list[Glyph]] = {}
    for glyph in found:
        row, near = round(glyph.y0), TWICE * (glyph.y1 - glyph.y0)
        before = (g for n in (row - 1, row, row + 1) for g in rows.get((glyph.kind, glyph.value, n), ()))
        if not any(abs(g.x0 - glyph.x0) < near and abs(g.y0 - glyph.y0) < near for g in before):
            rows.setdefault((glyph.kind, glyph.value, row), []).append(glyph)
            out.append(glyph)
    return out


def _is_of(rule: Rule, letter: Blob) -> bool:
    return (
        letter.x0 - 0.01 <= rule.x0
        and rule.x1 <= letter.x1 + 0.01
        and letter.y0 - 0.01 <= rule.y0
        and rule.y1 <= letter.y1 + 0.01
    )


def named(
    part: Blob, sign: Match, letter: Match, staves: Sequence[StaveLines], space: float, sure: float = SURE
) -> tuple[Glyph | None, Glyph | None]:
    """What a shape is by its nearest known sign and letter: a sign, or a letter and the sign it might be instead."""
    as_sign = _glyph(part, sign, space) if sign.distance <= sure else None
    as_letter = _glyph(part, letter, space) if letter.distance <= sure else None
    if (as_sign is None or as_sign.kind == "other") and _is_dot(part, staves) and letter.value != "o":
        as_sign = _glyph(part, Match("dot", "", 0.0), space)
    if as_sign is not None and as_letter is not None and not _at_home(as_sign, staves):
        as_sign = None
    if as_sign is not None and as_letter is not None and _on_stave(as_sign, staves):
        as_letter = None
    if as_letter is not None and letter.value in ("(", ")", "[", "]") and letter.distance < EXACT < sign.distance:
        as_sign = None  # a text face's bracket, not one beside a note's accidental
    if as_letter is not None and sign.value == letter.value and letter.distance < sign.distance:
        as_sign = None  # a fingering's figure is no other sign than the figure
    if as_letter is not None and (as_sign is None or letter.distance < sign.distance + 0.08):
        return (as_sign if sign.distance < letter.distance + 0.1 else None), as_letter
    return (_placed(as_sign, staves) if as_sign is not None else None), None


def _at_home(sign: Glyph, staves: Sequence[StaveLines]) -> bool:
    """Whether a sign that might be a letter stands where such signs stand: on a stave or near one."""
    reach = REACH.get(sign.kind)
    if reach is None:
        return True
    y = (sign.y0 + sign.y1) / 2
    return any(
        s.top - reach * s.space < y < s.bottom + reach * s.space and s.x0 - s.space < sign.x1 and sign.x0 < s.x1
        for s in staves
    )


def _placed(sign: Glyph, staves: Sequence[StaveLines]) -> Glyph:
    """Whole and half rests have one shape; the stave's lines tell them apart. What lies on none is no longer than it
    must be: it may be no rest, and a page is not turned on it."""
    if sign.kind == "rest" and sign.value in ("whole", "half"):
        for stave in staves:
            if stave.top - stave.space < sign.y0 < stave.bottom + stave.space and stave.x0 < sign.x0 < stave.x1:
                return replace(sign, value=_hanging(sign, stave) or "half")
    return sign


def _is_dot(blob: Blob, staves: Sequence[StaveLines]) -> bool:
    """A small round shape on a stave or near one."""
    width, height = blob.x1 - blob.x0, blob.y1 - blob.y0
    y = (blob.y0 + blob.y1) / 2
    return 0.65 < width / height < 1.5 and any(
        0.25 * s.space < width < 0.75 * s.space and s.top - 6 * s.space < y < s.bottom + 6 * s.space for s in staves
    )


def _on_stave(sign: Glyph, staves: Sequence[StaveLines]) -> bool:
    """Whether a sign stands between a stave's outer lines, where no letters are."""
    y = (sign.y0 + sign.y1) / 2
    return any(s.top < y < s.bottom and s.x0 < sign.x0 and sign.x1 < s.x1 for s in staves)


def rest_blocks(rules: Sequence[Rule], staves: Sequence[StaveLines], heads: Sequence[Glyph]) -> list[Glyph]:
    """Rests that are plain blocks, and so were read as rules: whole, half and the old long ones."""
    blocks = []
    least = BLOCK * min((s.space for s in staves), default=0.0)
    thick = [r for r in rules if r.x1 - r.x0 > least and r.y1 - r.y0 > least]
    for stave in staves:
        for rule in _within(thick, stave):
            value = _block(rule, stave)
            if value and not _has_stroke(rule, rules, stave):
                blocks.append(Glyph(*rule.box, rule.x0, rule.y1, 4 * stave.space, "rest", value, OUTLINE))
    return [b for b in blocks if not any(_overlap(b, h) for h in heads)]


def with_drum_clefs(glyphs: list[Glyph], staves: Sequence[StaveLines]) -> list[Glyph]:
    """The signs with the clef of drums for two upright blocks, each two spaces high, right at a stave's left end.

    A long rest stands in its bar's middle; SMuFL's unpitchedPercussionClef1 (U+E069) is such a pair.
    """
    long = [g for g in glyphs if g.kind == "rest" and g.value == "longa"]
    for stave in staves if long else ():
        clef = [g for g in long if stave.x0 <= g.x0 and g.x1 < stave.x0 + CLEF * stave.space]
        clef = [g for g in clef if stave.top < g.y0 and g.y1 < stave.bottom]
        if len(clef) != 2 or min(g.x0 for g in clef) > stave.x0 + HEAD * stave.space:
            continue
        left, right = sorted(clef, key=lambda g: g.x0)
        box = (left.x0, min(left.y0, right.y0), right.x1, max(left.y1, right.y1))
        sign = Glyph(*box, left.x0, right.y1, 4 * stave.space, "clef", "percussion", OUTLINE)
        glyphs = [*(g for g in glyphs if g is not left and g is not right), sign]
    return glyphs


def _within(rules: Sequence[Rule], stave: StaveLines) -> list[Rule]:
    """Those that reach into a stave and not beyond its ends."""
    return [r for r in rules if r.y0 < stave.bottom and r.y1 > stave.top and stave.x0 <= r.x0 and r.x1 <= stave.x1]


def _has_stroke(block: Rule, rules: Sequence[Rule], stave: StaveLines) -> bool:
    """Whether an upright stroke on the stave touches a block: then it is a beam's bit or a bar's, and no rest."""
    space = stave.space
    beside = [
        r
        for r in rules
        if r.x0 < block.x1 + 0.15 * space and r.x1 > block.x0 - 0.15 * space and r.y0 < block.y1 and r.y1 > block.y0
    ]
    return any(r.y1 - r.y0 > 2.2 * space and r.x1 - r.x0 < 0.3 * space for r in _within(beside, stave))


def _block(rule: Rule, stave: StaveLines) -> str:
    width, height = (rule.x1 - rule.x0) / stave.space, (rule.y1 - rule.y0) / stave.space
    if BLOCK < width < 1.4 and 0.9 < height < 1.15:
        return "breve"
    if BLOCK < width < 1.4 and 1.85 < height < 2.2:
        return "" if height * stave.space > FILLING * (stave.bottom - stave.top) else "longa"
    if 0.8 < width < 1.8 and BLOCK < height < 0.75:
        return _hanging(rule, stave)
    return ""


def _hanging(block: Rule | Glyph, stave: StaveLines) -> str:
    """A block that hangs from a line is a whole rest, one that sits on a line a half rest."""
    hangs = min(abs(block.y0 - y) for y in stave.lines)
    sits = min(abs(block.y1 - y) for y in stave.lines)
    if min(hangs, sits) > 0.2 * stave.space:
        return ""
    return "whole" if hangs < sits else "half"


def _overlap(one: Glyph, other: Glyph) -> bool:
    return one.x0 < other.x1 and other.x0 < one.x1 and one.y0 < other.y1 and other.y0 < one.y1


def _parts(blob: Blob, space: float) -> list[Blob]:
    """The blob, or its separate pieces when it is a whole row of signs in one path."""
    width, height = blob.x1 - blob.x0, blob.y1 - blob.y0
    if not blob.filled or height < 0.12 * space or height > 12 * space or (not blob.stepped and _is_plain(blob, space)):
        return []
    if width <= 1.5 * height or len(blob.items) < 12:
        return [blob] if width < 9 * space else []
    pieces = _pieces(blob)
    return pieces if len(pieces) > 1 else ([blob] if width < 9 * space else [])


def _is_plain(blob: Blob, space: float) -> bool:
    """A beam or a slur: too few segments for a sign, and no dot, head or flag, which a pair of curves may draw."""
    width, height = blob.x1 - blob.x0, blob.y1 - blob.y0
    if width / height < ROUND and width < 1.7 * space and all(item[0] == "c" for item in blob.items):
        return False
    return len(blob.items) < 4 or (len(blob.items) < 7 and all(item[0] == "l" for item in blob.items))


def _outlines(blob: Blob) -> list[list[Any]]:
    outlines: list[list[Any]] = []
    last: Any = None
    for item in blob.items:
        start, end = (item[1][0], None) if item[0] in ("re", "qu") else (item[1], item[-1])
        if last is None or start != last:
            outlines.append([])
        outlines[-1].append(item)
        last = end
    return outlines


def _is_dotted(blob: Blob) -> bool:
    """Whether a shape is two outlines, one clear over the other, as an i is."""
    boxes = [bounds(items) for items in _outlines(blob)]
    return len(boxes) == 2 and (boxes[0][3] < boxes[1][1] or boxes[1][3] < boxes[0][1])


def _pieces(blob: Blob) -> list[Blob]:
    """A path's outlines, those over one another kept together."""
    boxed = sorted(((bounds(items), items) for items in _outlines(blob)), key=lambda pair: pair[0][0])
    pieces: list[tuple[list[float], list[Any]]] = []
    for box, items in boxed:
        if pieces and box[0] < pieces[-1][0][2] - 0.1 * (box[2] - box[0]):
            old = pieces[-1][0]
            pieces[-1] = (
                [old[0], min(old[1], box[1]), max(old[2], box[2]), max(old[3], box[3])],
                pieces[-1][1] + items,
            )
        else:
            pieces.append((list(box), items))
    return [Blob(b[0], b[1], b[2], b[3], tuple(items), True) for b, items in pieces]


def _rejoined(
    pieces: list[tuple[Blob, _Name]], staves: Sequence[StaveLines], space: float, memory: Memory
) -> list[tuple[Blob, _Name]]:
    """A path's pieces with the first joined to one or two close behind it, where one of them is nothing alone and all
    are a sign."""
    whole, name = pieces[0]
    nameless = name == (None, None)
    for n, (piece, name) in enumerate(pieces[1:TOGETHER], 2):
        nameless = nameless or name == (None, None)
        if piece.x0 - whole.x1 > whole.x1 - whole.x0:
            break
        low, high = min(whole.y0, piece.y0), max(whole.y1, piece.y1)
        whole = Blob(whole.x0, low, max(whole.x1, piece.x1), high, (*whole.items, *piece.items), True)
        told = named(whole, *_matches(whole, space, memory), staves, space) if nameless else (None, None)
        if told != (None, None):
            return [(whole, told), *pieces[n:]]
    return pieces


def _matches(blob: Blob, space: float, memory: Memory) -> tuple[Match, Match]:
    key = _key(blob, space)
    found = memory.get(key)
    if found is None:
        if len(memory) > MOST:
            memory.clear()
        outline = shapes.contours(blob.items)
        if outline and len(blob.items) < 400:
            found = looked_up(outline, space)
        else:
            found = (shapes.NO_MATCH, shapes.NO_MATCH)
        memory[key] = found
    return found


def _key(blob: Blob, space: float) -> Any:
    """Equal for the same shape drawn elsewhere: sizes and some of its points, in 1/24 of a space."""
    unit = space / 24
    x, y = blob.x0, blob.y0
    some = blob.items[:: max(1, len(blob.items) // 8)]
    points = tuple(
        (round((item[-1][0] - x) / unit / 2), round((item[-1][1] - y) / unit / 2)) for item in some if item[0] in "lc"
    )
    return (
        len(blob.items),
        round((blob.x1 - x) / unit),
        round((blob.y1 - y) / unit),
        points,
        round(space, 1),
    )


def _glyph(blob: Blob, match: Match, space: float) -> Glyph:
    size = match.size if match.kind in ("letter", "digit") and match.size > 0 else 4 * space
    if match.kind == "digit":
        size = (blob.y1 - blob.y0) / 0.5
    return Glyph(
        blob.x0,
        blob.y0,
        blob.x1,
        blob.y1,
        blob.x0,
        blob.y1 - match.foot if match.kind == "letter" else blob.y1,
        size,
        match.kind,
        "i" if match.kind == "letter" and match.value in ("I", "l") and _is_dotted(blob) else match.value,
        OUTLINE,
    )
