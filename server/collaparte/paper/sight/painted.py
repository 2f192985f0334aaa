"""A page's operators read: its ink as rules, shapes and glyphs. White ink and ink off the page are dropped."""

from collections.abc import Sequence
from typing import Any

import pymupdf
from pymupdf import mupdf

from collaparte.paper.reading import Box
from collaparte.paper.sight.bold import Bold
from collaparte.paper.sight.clipped import Scissors, place, seen_letters
from collaparte.paper.sight.drawn_fonts import drawn_fonts
from collaparte.paper.sight.filled import take_filled
from collaparte.paper.sight.fonts import Font, page_fonts
from collaparte.paper.sight.masks import has_pictures, take_masks
from collaparte.paper.sight.paths import BLACK, Cover, Outlined, is_paper, is_white, take, take_outlined, take_upright
from collaparte.paper.sight.resources import has_notes, page_entry, resources_of
from collaparte.paper.sight.strokes import Blob, Glyph, PageInk, Rule

FEW = 40
"""A page with fewer rules than this may be a picture of music; only then are its images looked at."""


def page_ink(page: pymupdf.Page, seen: dict[int, Font]) -> PageInk:
    """Read one page's drawing operators; `seen` keeps fonts between pages of one document."""
    entry = page_entry(page)
    if has_notes(entry):
        _take_pen_off(page)
    m = page.rotation_matrix if page.rotation else None
    turn = (m.a, m.b, m.c, m.d, m.e, m.f) if m else None
    _, _, width, height = page.rect
    resources = resources_of(entry)
    pictures = has_pictures(entry, resources)
    rules: list[Rule] = []
    blobs: list[Blob] = []
    outlined: list[Outlined] = []
    covers: list[Cover] = []
    drawings = page.get_cdrawings(extended=True)
    held = {"clip", "group"} & {drawing["type"] for drawing in drawings}
    scissors = Scissors(turn) if held else None
    if turn is None and scissors is None:
        take_upright(drawings, rules, blobs, outlined, covers)
    else:
        for drawing in drawings:
            if scissors and not scissors.at(drawing):
                continue
            since = len(rules), len(blobs), len(outlined)
            if turn is None:
                take_upright((drawing,), rules, blobs, outlined, covers)
            else:
                take(drawing, turn, rules, blobs, outlined, covers)
            if scissors and not is_white(drawing):  # white leaves of what it covers what is seen
                scissors.cut(rules, blobs, outlined, since)
    del drawings
    take_outlined(outlined, rules)
    rules += scissors.pieces() if scissors else []
    trace = _text_trace(page)
    names = {span["font"] for span in trace}
    fonts = _fonts(page, resources, seen, names, trace)
    seen_at = seen_letters(page) if scissors and scissors.hid else None
    faces = {name: (fonts.get(name) or Font(None), name.partition("+")[2] or name) for name in names}
    glyphs = _glyphs(trace, faces, (width, height, turn), (rules, blobs), covers, seen_at)
    del trace
    if pictures:
        take_masks(page, rules, blobs)
    rules = [r for r in rules if r.x1 > 0 and r.y1 > 0 and r.x0 < width and r.y0 < height]
    blobs = [b for b in blobs if b.x1 > 0 and b.y1 > 0 and b.x0 < width and b.y0 < height]
    picture = _picture_share(page) if pictures and len(rules) < FEW else 0.0
    return PageInk(width, height, rules, blobs, glyphs, picture)


def _take_pen_off(page: pymupdf.Page) -> None:
    """What was written on the page with a pen (ISO 32000-1, 12.5.6.13) is no engraving: its strokes could pass for
    barlines."""
    for pen in list(page.annots(types=(mupdf.PDF_ANNOT_INK,))):
        page.delete_annot(pen)


def _fonts(
    page: pymupdf.Page, resources: Any, seen: dict[int, Font], names: set[str], trace: Sequence[dict[str, Any]]
) -> dict[str, Font]:
    """The page's fonts by name, those in use among them; those that may not tell their letters are judged by the glyphs
    in use."""
    fonts = page_fonts(resources, seen)
    if not fonts.keys() >= names:  # one that is listed may be used in hidden layers only
        fonts |= drawn_fonts(page, seen)
    for name, font in fonts.items():
        if not font.told and not font.drawn:
            used = {(char[1], char[0]) for span in trace if span["font"] == name for char in span["chars"]}
            font.judge(sorted(used))
    return fonts


def _glyphs(
    trace: Sequence[dict[str, Any]],
    faces: dict[str, tuple[Font, str]],
    paper: tuple[float, float, Any],
    shapes: tuple[list[Rule], list[Blob]],
    covers: Sequence[Cover],
    seen_at: frozenset[tuple[int, int]] | None,
) -> list[Glyph]:
    """What the text is that nothing covers; glyphs of fonts that do not tell what they are become `shapes`.

    `faces`: fonts and their styles by name; `paper`: the page's width and height, and how it is turned; `seen_at`:
    where letters are seen, when clips hide some.
    """
    rules, blobs = shapes
    width, height, turn = paper
    out: list[Glyph] = []
    bold = Bold(trace)
    doubled = bold.glyphs
    for span in trace:
        colour, opacity = span["color"], span["opacity"]
        if span["type"] == 3 or ((colour != BLACK or opacity != 1) and is_paper(colour, opacity)):
            continue
        font, style = faces[span["font"]]
        size, (cos, sin) = span["size"], span["dir"]
        if turn is not None:
            cos, sin = turn[0] * cos + turn[2] * sin, turn[1] * cos + turn[3] * sin
        upright = abs(sin) < 0.01 and cos > 0
        over = [white for white, seqno in covers if seqno > span["seqno"]] if covers else ()
        known, look, drawn = font.known, font.glyph, font.drawn
        if upright and turn is None and seen_at is None and not (over or drawn or doubled):  # as nearly all text is
            for code, gid, (x, y), _bbox in span["chars"]:
                (kind, value), (bx0, by0, bx1, by1) = known.get((gid, code)) or look(gid, code)
                x0, y0, x1, y1 = x + bx0 * size, y - by1 * size, x + bx1 * size, y - by0 * size
                if x1 >= 0 and y1 >= 0 and x0 <= width and y0 <= height:
                    out.append(Glyph(x0, y0, x1, y1, x, y, size, kind, value, style, True))
            continue
        for code, gid, at, _bbox in span["chars"]:
            x, y = at
            key = gid, code
            if key in doubled and bold.again(key, at, size):
                continue
            if seen_at is not None and place(x, y) not in seen_at:
                continue
            if turn is not None:
                x, y = turn[0] * x + turn[2] * y + turn[4], turn[1] * x + turn[3] * y + turn[5]
            if over and any(w[0] < x < w[2] and w[1] < y < w[3] for w in over):
                continue
            if key in doubled:
                bold.painted(key, at)
            if drawn:
                _add_drawn(font.items(gid), (x, y, size, cos, sin), rules, blobs)
                continue
            (kind, value), (bx0, by0, bx1, by1) = known.get(key) or look(gid, code)
            if upright:
                x0, y0, x1, y1 = x + bx0 * size, y - by1 * size, x + bx1 * size, y - by0 * size
            else:
                x0, y0, x1, y1 = _turned_box((bx0, by0, bx1, by1), x, y, size, cos, sin)
            if x1 >= 0 and y1 >= 0 and x0 <= width and y0 <= height:
                out.append(Glyph(x0, y0, x1, y1, x, y, size, kind, value, style, upright))
    return out


def _add_drawn(items: Sequence[Any], at: tuple[float, ...], rules: list[Rule], blobs: list[Blob]) -> None:
    """A glyph as the path that it is, painted at its place: `at` is x, y, size and the cosine and sine of its turn."""
    if items:
        x, y, size, cos, sin = at
        a, b = size * cos, size * sin
        placed = [(item[0], *((x + a * u - b * v, y + b * u + a * v) for u, v in item[1:])) for item in items]
        take_filled(placed, 0.0, rules, blobs)


def _turned_box(box: Box, x: float, y: float, size: float, cos: float, sin: float) -> Box:
    corners = [(box[i] * size, -box[j] * size) for i in (0, 2) for j in (1, 3)]
    xs = [x + u * cos - v * sin for u, v in corners]
    ys = [y + u * sin + v * cos for u, v in corners]
    return (min(xs), min(ys), max(xs), max(ys))


def _text_trace(page: pymupdf.Page) -> list[dict[str, Any]]:
    """The page's text with the fonts' full names, so that two subsets of one font stay apart."""
    before = pymupdf.TOOLS.set_subset_fontnames()
    pymupdf.TOOLS.set_subset_fontnames(True)
    try:
        trace: list[dict[str, Any]] = page.get_texttrace()
    finally:
        pymupdf.TOOLS.set_subset_fontnames(before)
    return trace


def _picture_share(page: pymupdf.Page) -> float:
    area = abs(page.rect)
    shares = [abs(pymupdf.Rect(image["bbox"]) & page.rect) / area for image in page.get_image_info()]
    return min(1.0, sum(shares)) if area else 0.0
