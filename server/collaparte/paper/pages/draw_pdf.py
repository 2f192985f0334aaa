"""The laid part as a vector PDF, made of the same pieces as the stands' pictures."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import pymupdf

from collaparte.paper.cutting.ink import Glyph, Picture, Shape, Subpath
from collaparte.paper.cutting.pdfink import Fonts, Writer, add_page
from collaparte.paper.cutting.pieces import Cut, cut_ink
from collaparte.paper.cutting.stock import Part, PieceInk
from collaparte.paper.cutting.table import PieceTable
from collaparte.paper.pages import rules
from collaparte.paper.pages.laying import Laying, Placed, Rule, Words
from collaparte.paper.pages.mapped import Along, clipped, dashed, flattened, pulled
from collaparte.paper.reading import Reading

POINTS = 72 / 25.4
"""Points a mm."""
SEAM = 0.05
"""Points by which parts of a picture that meet lie over one another, so that no seam shows."""
SOFT = 0.1
"""A picture's ink is soft so far beyond its edge, in spaces."""
PLAIN = 5
"""Segments: a shape of no more, as a beam or a stem, is not looked for among those drawn before."""
OWN_FONTS = {
    "number": ("Ht", "tiro"),
    "count": ("Hb", "tibo"),
    "pass": ("Hi", "tiit"),
    "join": ("Ht", "tiro"),
    "mark": ("Hb", "tibo"),
    "note": ("Ht", "tiro"),
}
"""The standard font that each style of words is set in: its resource name, and its short name for measuring."""
_STANDARD = "".join(
    f"/{name}<</Type/Font/Subtype/Type1/BaseFont/Times-{face}/Encoding/WinAnsiEncoding>>"
    for name, face in (("Ht", "Roman"), ("Hb", "Bold"), ("Hi", "Italic"))
)


def draw(pdf: bytes, reading: Reading, table: PieceTable, laying: Laying, pages: range | None = None) -> bytes:
    """The laying as PDF. `table` must be the one that the laying was made with. Raises `CannotOpen`."""
    cut = cut_ink(pdf, reading, pages)
    cut.check(table)
    return draw_cut(cut, laying)


def draw_cut(cut: Cut, laying: Laying) -> bytes:
    """As `draw`, of a part already cut."""
    document = pymupdf.open()
    fonts = Fonts(document, cut.pages)
    width, height = laying.page[0] * POINTS, laying.page[1] * POINTS
    for page in laying.pages:
        writer = Writer(fonts, height)
        for rule in page.rules:
            writer.rectangle(rule.x0 * POINTS, rule.y0 * POINTS, rule.x1 * POINTS, rule.y1 * POINTS)
        for dot in page.dots:
            writer.disc(dot.x * POINTS, dot.y * POINTS, dot.r * POINTS)
        for box in page.braces:
            shape = _brace(box)
            writer.shape(shape, shape.path, 1.0)
        for placed in page.placed:
            piece(writer, cut, placed)
        for words in page.words:
            _words(writer, words)
        add_page(document, width, height, writer, _STANDARD)
    fonts.write()
    return bytes(document.tobytes(garbage=3, deflate=True, use_objstms=True))


def piece(writer: Writer, cut: Cut, placed: Placed) -> None:
    """Draw one placed piece."""
    ink = cut.inks[placed.piece]
    along = Along(placed.slices)
    page = cut.pages[ink.page]
    up = placed.space * POINTS / ink.space  # points on the page a point of the source, up and down
    for part in ink.parts:
        mark = page.ink[part.mark]
        x0, x1 = (mark.box[0] - ink.x) / ink.space, (mark.box[2] - ink.x) / ink.space
        middle = (x0 + x1) / 2
        if isinstance(mark, Picture) and not part.rigid:
            _stretched(writer, mark, ink, placed, up)
            continue
        if not part.clip and not placed.slices[0].sx0 - 0.05 < middle < placed.slices[-1].sx1 + 0.05:
            continue  # where words stand in its place
        if isinstance(mark, Shape) and (part.clip or part.pull or (not part.rigid and not along.straight(x0, x1))):
            _bent(writer, mark, part, ink, along, placed, up)
            continue
        cut_here = along.slice_at(middle)
        column = part.rigid and cut_here.sx0 - 0.1 <= x0 and x1 <= cut_here.sx1 + 0.1
        sx = along.scale(middle) * POINTS / ink.space if column or not part.rigid else up
        if abs(sx - up) < 0.01 * up or (part.rigid and not _squashed(placed)):
            sx = up
        centre = along(middle) * POINTS
        ex = centre - (mark.box[0] + mark.box[2]) / 2 * sx
        ey = placed.y * POINTS - ink.y * up
        if isinstance(mark, Glyph):
            a, b, c, d, e, f = mark.m
            writer.glyph(mark, (a * sx, b * up, c * sx, d * up, e * sx + ex, f * up + ey))
        elif isinstance(mark, Picture):
            a, b, c, d, e, f = mark.m
            writer.picture(mark, (a * sx, b * up, c * sx, d * up, e * sx + ex, f * up + ey))
        elif mark.width is None and sum(len(sub.segments) for sub in mark.path) > PLAIN:
            writer.outline(mark, sx, up, ex, ey)
        else:
            writer.shape(mark, _moved(mark.path, lambda x, y, sx=sx, ex=ex, ey=ey: (x * sx + ex, y * up + ey)), up)  # type: ignore[misc]


def _squashed(placed: Placed) -> bool:
    """Some slice is narrower than the piece's own scale: the whole line was narrowed."""
    return all((s.x1 - s.x0) < 0.985 * placed.space * (s.sx1 - s.sx0) for s in placed.slices)


def _bent(writer: Writer, mark: Shape, part: Part, ink: PieceInk, along: Along, placed: Placed, up: float) -> None:
    knots = [ink.x + k * ink.space for k in along.knots]
    path = flattened(mark.path, [] if part.pull else knots)
    if part.pull:
        path = flattened(pulled(path, mark.box, *part.pull), knots)
    if part.clip:
        path = clipped(mark, path, *part.clip)
    ey = placed.y * POINTS - ink.y * up

    def to(x: float) -> float:
        return along((x - ink.x) / ink.space) * POINTS

    if mark.dash:  # each dash as long as printed, and one over a barline in two parts that meet there
        dashes = dashed(flattened(mark.path, []), mark.dash)
        low, high = part.clip or (mark.box[0], mark.box[2])
        low = max(low, ink.x + placed.slices[0].sx0 * ink.space)
        moved = []
        for dash in clipped(mark, dashes, low, high):
            x0, x1 = sorted((dash.x, dash.segments[0][0]))
            still = low if x0 < low + 1e-6 else high if x1 > high - 1e-6 else (x0 + x1) / 2
            moved += _moved([dash], lambda x, y, still=still: (to(still) + (x - still) * up, y * up + ey))  # type: ignore[misc]
        mark = replace(mark, dash=())
    else:
        moved = _moved(path, lambda x, y: (to(x), y * up + ey))
    if moved:
        writer.shape(mark, moved, up)


def _stretched(writer: Writer, mark: Picture, ink: PieceInk, placed: Placed, up: float) -> None:
    """A picture of a bar: its columns as they are, what lies between them wider or narrower, nothing beyond them."""
    a, b, c, d, e, f = mark.m
    soft, slices = SOFT * placed.space, placed.slices
    ends = [slices[0].x0 - soft, *(s.x1 for s in slices[:-1]), slices[-1].x1 + soft]
    for cut, x0, x1 in zip(slices, ends, ends[1:], strict=False):
        sx = (cut.x1 - cut.x0) / max(cut.sx1 - cut.sx0, 1e-6) * POINTS / ink.space
        ex = cut.x0 * POINTS - (ink.x + cut.sx0 * ink.space) * sx
        ey = placed.y * POINTS - ink.y * up
        clip = (x0 * POINTS - SEAM, x1 * POINTS + SEAM)
        writer.picture(mark, (a * sx, b * up, c * sx, d * up, e * sx + ex, f * up + ey), clip)


def _moved(path: Sequence[Subpath], move: Callable[[float, float], tuple[float, float]]) -> list[Subpath]:
    out: list[Subpath] = []
    for sub in path:
        x, y = move(sub.x, sub.y)
        segments: list[tuple[float, ...]] = []
        for s in sub.segments:
            values: list[float] = []
            for k in range(0, len(s), 2):
                values += move(s[k], s[k + 1])
            segments.append(tuple(values))
        out.append(Subpath(x, y, segments, sub.closed))
    return out


def _brace(box: Rule) -> Shape:
    """The upper half, and its reflection."""
    x, y, w, h = (v * POINTS for v in (box.x0, box.y0, box.x1 - box.x0, box.y1 - box.y0))
    halves = []
    for down in (1, -1):
        start = y if down > 0 else y + h
        half = Subpath(x + w, start, closed=True)
        half.segments = [
            tuple(x + v * w if n % 2 == 0 else start + down * v * h for n, v in enumerate(curve))
            for curve in rules.BRACE
        ]
        halves.append(half)
    return Shape((x, y, x + w, y + h), halves, (0.0,))


def _words(writer: Writer, words: Words) -> None:
    name, short = OWN_FONTS[words.style]
    size = words.size * POINTS
    x = words.x * POINTS
    if words.anchor != "start":
        length: Any = pymupdf.get_text_length(words.text, fontname=short, fontsize=size)
        x -= length / 2 if words.anchor == "middle" else length
    writer.text(name, size, x, words.y * POINTS, words.text)
