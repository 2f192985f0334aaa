"""Embedded fonts: which glyph is which, and where its ink is.

A font's own box is far larger than the glyph's ink, so boxes come from outlines, in em with y upwards.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

import pymupdf
from pymupdf import mupdf

from collaparte.paper.sight import glyphs
from collaparte.paper.sight.glyphs import Sort
from collaparte.paper.sight.resources import fonts_listed
from collaparte.paper.sight.segnos import looked_up
from collaparte.paper.sight.shapes import NO_MATCH, Match, contours

EmBox = tuple[float, float, float, float]
Segment = tuple[Any, ...]
"""("m", x, y), ("l", x, y), ("c", x1, y1, x2, y2, x3, y3) or ("h",)."""


TELLING = frozenset(("clef", "head", "rest", "accidental", "flag"))
"""Signs that only music fonts have."""
SURE = 0.2
"""A glyph further off than this from every known sign (0 the same, 1 nothing alike) stays unknown."""
ALIKE = 0.12
ALIKE_LETTERS = ("1lI|", "0oO", "5sS", "9gq", "6b", "uUvV")
"""Letters that one face draws as another draws the other."""
NO_LETTERS = ("", "Identity-H", "Identity-V", "Custom")
"""Encodings that name no letters."""
KEPT = 64
"""So many fonts are kept, those used last."""
_IDENTITY = mupdf.FzMatrix()
_AS_IT_IS = _IDENTITY.internal()


class FontGlyph(NamedTuple):
    """One glyph of a font: what it is and its ink box in em, y upwards."""

    sort: Sort
    box: EmBox


class Font:
    """The glyphs of one font of a page, looked at when first asked for."""

    def __init__(self, data: bytes | None) -> None:
        self.known: dict[tuple[int, int], FontGlyph] = {}
        """The glyphs looked at so far, by index and code."""
        self._items: dict[int, list[tuple[Any, ...]]] = {}
        self._font = _open(data)
        self.is_music = self._font is not None and any(map(glyphs.is_music_name, self._names()))
        self._parts: tuple[Font, ...] = (self,)
        self.told = True
        """It comes with a table or an encoding of letters; else it is to be judged."""
        self.drawn = False
        """Its codes and names do not tell what its glyphs are: they are to be known as shapes on the page."""

    def glyph(self, gid: int, code: int) -> FontGlyph:
        """The glyph with this index in the font and this code point in the text."""
        found = self.known.get((gid, code))
        if found is None:
            found = self.known[gid, code] = self._look(gid, code)
        return found

    def outline(self, gid: int) -> list[Segment]:
        """The glyph's outline in em, y upwards; empty when the font has none."""
        return next(filter(None, (font._own_outline(gid) for font in self._parts)), [])

    def _own_outline(self, gid: int) -> list[Segment]:
        if self._font is None:
            return []
        path = mupdf.fz_outline_glyph(self._font.this, gid, _IDENTITY)
        walker = _Walker()
        mupdf.fz_walk_path(path, walker, walker.m_internal)
        return walker.segments

    def joined(self, other: "Font") -> "Font":
        """This font and another part of it that goes by the same name: a glyph that one lacks may be in the other.

        Browsers print one font in several parts whose glyphs keep their numbers; a page's text does not say which.
        """
        if self in other._parts:
            return other
        both = Font(None)
        both._font, both.is_music, both._parts = self._font, self.is_music, (*self._parts, *other._parts)
        both.told, both.drawn = self.told and other.told, self.drawn or other.drawn
        return both

    def items(self, gid: int) -> list[tuple[Any, ...]]:
        """The glyph's outline as a page's drawings have theirs, in em, y downwards."""
        if gid not in self._items:
            self._items[gid] = segment_items(self.outline(gid))
        return self._items[gid]

    def unmask(self) -> bool:
        """Whether this is a music font that calls its signs letters, told by the shapes of those looked at so far."""
        if self.is_music or self.drawn or self._font is None:
            return False
        sure = 0
        for gid, _ in self.known:
            sign, letter = self._shape(gid)
            sure += (
                sign.kind in (*TELLING, "segno", "coda")
                and sign.distance < ALIKE
                and letter.distance > sign.distance + ALIKE
            )
        self.drawn = sure >= 2 or 0 < sure == len(self.known)
        return self.drawn

    def judge(self, used: Iterable[tuple[int, int]]) -> None:
        """Find out by the shapes of some glyphs whether a font without a table of letters tells its letters at all."""
        right = wrong = 0
        for gid, code in used:
            if not self.items(gid):
                continue
            sort = self._told(gid, code)
            if sort.kind != "letter":
                right, wrong = right + bool(sort.kind), wrong + (not sort.kind)
                continue
            sign, seen = self._shape(gid)
            same = seen.value.casefold() == sort.value.casefold()
            same = same or any(sort.value in group and seen.value in group for group in ALIKE_LETTERS)
            if sort.value.isalnum():
                right, wrong = right + (same and seen.distance <= SURE), wrong + (not same)
            else:  # points, brackets and dashes are all of one simple shape: only what surely is none of them tells
                wrong += (seen.distance < ALIKE and seen.value.isalnum()) or (
                    sign.distance < ALIKE and sign.kind in TELLING
                )
        self.drawn = wrong > right

    def name(self, gid: int) -> str:
        """The glyph's name in the font; empty when it has none."""
        return mupdf.fz_get_glyph_name2(self._font.this, gid) if self._font is not None else ""

    def _names(self) -> Iterator[str]:
        assert self._font is not None
        return map(self.name, range(min(self._font.glyph_count, 4096)))

    def _look(self, gid: int, code: int) -> FontGlyph:
        sort = self._told(gid, code)
        if not sort.kind and self._font is not None:
            sort = self._by_shape(gid, sort)
        return FontGlyph(sort, self._box(gid, sort))

    def _told(self, gid: int, code: int) -> Sort:
        """What a glyph is by its name or its code."""
        name = self.name(gid)
        sort = glyphs.by_name(name, self.is_music)
        if not sort.kind:
            sort = glyphs.by_code(code)
        if not sort.kind and not self.is_music:
            sort = glyphs.by_text(code, name)
        return sort

    def _by_shape(self, gid: int, sort: Sort) -> Sort:
        """What a glyph without a telling name looks like."""
        sign, letter = self._shape(gid)
        if sign.distance <= SURE and sign.distance <= letter.distance + ALIKE:
            return Sort(sign.kind, sign.value)
        return Sort("letter", letter.value) if letter.distance <= SURE else sort

    def _shape(self, gid: int) -> tuple[Match, Match]:
        """The glyph's nearest music sign and letter; a music font's em is four staff spaces (SMuFL)."""
        outline = contours(self.items(gid))
        return looked_up(outline, 0.25) if outline else (NO_MATCH, NO_MATCH)

    def _box(self, gid: int, sort: Sort) -> EmBox:
        """The box of the outline's points; control points lie so close to the curve that they are counted."""
        for font in self._parts:
            box = font._own_box(gid)
            if box:
                return box
        if sort.kind == "letter" and sort.value.strip():
            return _usual_box(sort.value)
        return (0.0, 0.0, 0.0, 0.0)

    def _own_box(self, gid: int) -> EmBox | None:
        if self._font is not None:
            path = mupdf.fz_outline_glyph(self._font.this, gid, _IDENTITY)
            if path.m_internal is not None:
                box = mupdf.ll_fz_bound_path(path.m_internal, None, _AS_IT_IS)
                if box.x1 > box.x0:
                    return (box.x0, box.y0, box.x1, box.y1)
        return None


class _Walker(mupdf.FzPathWalker2):  # type: ignore[misc]
    def __init__(self) -> None:
        super().__init__()
        self.use_virtual_moveto()
        self.use_virtual_lineto()
        self.use_virtual_curveto()
        self.use_virtual_closepath()
        self.segments: list[Segment] = []

    def moveto(self, _context: Any, x: float, y: float) -> None:
        self.segments.append(("m", x, y))

    def lineto(self, _context: Any, x: float, y: float) -> None:
        self.segments.append(("l", x, y))

    def curveto(self, _context: Any, x1: float, y1: float, x2: float, y2: float, x3: float, y3: float) -> None:
        self.segments.append(("c", x1, y1, x2, y2, x3, y3))

    def closepath(self, _context: Any) -> None:
        self.segments.append(("h",))


def segment_items(segments: Sequence[Segment]) -> list[tuple[Any, ...]]:
    """An outline's segments as a page's drawings have them, y downwards."""
    items: list[tuple[Any, ...]] = []
    start = at = (0.0, 0.0)
    for segment in segments:
        points = [(segment[i], -segment[i + 1]) for i in range(1, len(segment), 2)]
        if segment[0] == "m":
            start = at = points[0]
        elif segment[0] == "h":
            if at != start:
                items.append(("l", at, start))
            at = start
        else:
            items.append((segment[0], at, *points))
            at = points[-1]
    return items


def page_fonts(resources: Any, seen: dict[int, Font]) -> dict[str, Font]:
    """A page's fonts by the name that the text trace uses; `seen` keeps those of earlier pages by their number."""
    fonts: dict[str, Font] = {}
    for entry in fonts_listed(resources):
        number, name = entry.number, entry.name
        if entry.sort == "Type3":
            continue
        if number not in seen:
            file = entry.file() if number else None
            told = file is None or entry.encoding() not in NO_LETTERS or entry.has_letters()
            seen[number] = _known(file) if file is not None and told else Font(_data(file))
            seen[number].told = told
        if name in fonts and fonts[name] is not seen[number]:
            seen[number] = fonts[name].joined(seen[number])
        fonts[name] = seen[number]
    return fonts


_kept: dict[tuple[int, bytes], tuple[bytes, Font]] = {}
"""By the file's length and its end: to hash all of it takes longer than to compare it."""


def _known(file: Any) -> Font:
    """A font by its file as it is stored: the same one is looked at, read and cut one after the other."""
    stored: bytes = mupdf.fz_buffer_extract_copy(mupdf.pdf_load_raw_stream(file))
    key = len(stored), stored[-64:]
    same, font = _kept.pop(key, (b"", None))
    if font is None or same != stored:
        font = Font(_data(file))
    _kept[key] = stored, font
    if len(_kept) > KEPT:
        del _kept[next(iter(_kept))]
    return font


def _data(file: Any) -> bytes | None:
    if file is None:
        return None
    data: bytes = mupdf.fz_buffer_extract_copy(mupdf.pdf_load_stream(file))
    return data


def _open(data: bytes | None) -> pymupdf.Font | None:
    if not data:
        return None
    try:
        return pymupdf.Font(fontbuffer=data)
    except Exception:  # the library raises several kinds; a font that it cannot open has no outlines for us
        return None


def _usual_box(text: str) -> EmBox:
    """Where the ink of a letter usually is when its font is not at hand (proportions of common text faces)."""
    low = -0.2 if any(c in "gjpqy,;()" for c in text) else 0.0
    tall = any(c.isupper() or c.isdigit() or c in "bdfhijklt()!?|/" for c in text)
    high = 0.1 if text in ".,_" else 0.7 if tall else 0.48
    return (0.03, low, 0.27 * len(text) if text in ".,il!|" else 0.55 * len(text), high)
