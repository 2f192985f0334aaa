"""Fonts whose glyphs are drawings of the page's own kind (Type 3): paths, or small pictures."""

import re
from typing import Any

import pymupdf
from pymupdf import mupdf

from collaparte.paper.sight.fonts import Font, FontGlyph, Segment
from collaparte.paper.sight.masks import mask_outlines
from collaparte.paper.sight.resources import fonts_listed, page_entry, resources_of

NUMBERED = re.compile(r"\((\d+) 0 R\)")
"""The text trace calls such a font by its number in the file."""


class DrawnFont(Font):
    """One such font; `letters` says whether its codes may be letters, `flipped` that its text is set upside down.

    Glyphs that were drawn with y downwards, as bitmaps are, are turned back so (a flipped matrix of font and text).
    """

    def __init__(self, handle: Any, letters: bool, flipped: bool) -> None:
        super().__init__(None)
        self._handle, self._up = handle, -1.0 if flipped else 1.0
        self.drawn = not letters
        self.told = False  # its table may be a guess at bitmaps' names

    def outline(self, gid: int) -> list[Segment]:
        recorder = _Recorder()
        mupdf.fz_render_t3_glyph_direct(
            recorder,
            self._handle,
            gid,
            mupdf.FzMatrix(1, 0, 0, self._up, 0, 0),
            None,
            mupdf.FzDefaultColorspaces(),
            None,
            None,
        )
        mupdf.fz_close_device(recorder)
        return recorder.segments

    def _look(self, gid: int, code: int) -> FontGlyph:
        points = [point for item in self.items(gid) for point in item[1:]]
        if not points:
            return super()._look(gid, code)
        xs, ys = [x for x, _ in points], [-y for _, y in points]
        return FontGlyph(self._told(gid, code), (min(xs), min(ys), max(xs), max(ys)))


def drawn_fonts(page: pymupdf.Page, seen: dict[int, Font]) -> dict[str, Font]:
    """The page's fonts of this kind by the name that the text trace uses; `seen` as in `page_fonts`."""
    listed = {entry.number: entry for entry in fonts_listed(resources_of(page_entry(page))) if entry.sort == "Type3"}
    if any(number not in seen for number in listed):
        finder = _Finder()
        raw = page.this if isinstance(page.this, mupdf.FzPage) else mupdf.FzPage(page.this)
        mupdf.fz_run_page(raw, finder, mupdf.FzMatrix(), mupdf.FzCookie())
        mupdf.fz_close_device(finder)
        for name, handle in finder.fonts.items():
            found = NUMBERED.search(name)
            number = int(found[1]) if found else 0
            if number in listed:
                seen.setdefault(number, DrawnFont(handle, listed[number].has_letters(), name in finder.flipped))
    return {f"Type3 ({number} 0 R)": seen[number] for number in listed if number in seen}


class _Finder(mupdf.FzDevice2):  # type: ignore[misc]
    """Goes through a page for the fonts in use that are drawings."""

    def __init__(self) -> None:
        super().__init__()
        self.use_virtual_fill_text()
        self.fonts: dict[str, Any] = {}
        self.flipped: set[str] = set()

    def fill_text(self, _ctx: Any, text: Any, ctm: Any, *_: Any) -> None:
        span = text.head
        while span:
            font = mupdf.FzTextSpan(span).m_internal.font
            if font.t3procs:
                handle = mupdf.FzFont(mupdf.ll_fz_keep_font(font))
                name = mupdf.fz_font_name(handle)
                self.fonts.setdefault(name, handle)
                # On the page y goes downwards, so the two matrices together mirror what stands upright.
                if _turning(span.trm) * _turning(ctm) > 0:
                    self.flipped.add(name)
            span = span.next


def _turning(m: Any) -> float:
    """A matrix's determinant: below 0 when it mirrors."""
    return float(m.a * m.d - m.b * m.c)


class _Recorder(mupdf.FzDevice2):  # type: ignore[misc]
    """What one glyph's drawing paints, as an outline in em, y upwards."""

    def __init__(self) -> None:
        super().__init__()
        self.use_virtual_fill_path()
        self.use_virtual_fill_image_mask()
        self.segments: list[Segment] = []

    def fill_path(self, _ctx: Any, path: Any, _even_odd: int, ctm: Any, *_: Any) -> None:
        walker = _Walker(ctm)
        mupdf.fz_walk_path(mupdf.FzPath(mupdf.ll_fz_keep_path(path)), walker, walker.m_internal)
        self.segments += walker.segments

    def fill_image_mask(self, _ctx: Any, image: Any, ctm: Any, *_: Any) -> None:
        for ring in mask_outlines(image, ctm):
            self.segments += [("m", *ring[0]), *(("l", *point) for point in ring[1:]), ("h",)]


class _Walker(mupdf.FzPathWalker2):  # type: ignore[misc]
    def __init__(self, m: Any) -> None:
        super().__init__()
        self.use_virtual_moveto()
        self.use_virtual_lineto()
        self.use_virtual_curveto()
        self.use_virtual_closepath()
        self.m = m
        self.segments: list[Segment] = []

    def _at(self, *values: float) -> list[float]:
        m, out = self.m, []
        for x, y in zip(values[::2], values[1::2], strict=True):
            out += [m.a * x + m.c * y + m.e, m.b * x + m.d * y + m.f]
        return out

    def moveto(self, _ctx: Any, *p: float) -> None:
        self.segments.append(("m", *self._at(*p)))

    def lineto(self, _ctx: Any, *p: float) -> None:
        self.segments.append(("l", *self._at(*p)))

    def curveto(self, _ctx: Any, *p: float) -> None:
        self.segments.append(("c", *self._at(*p)))

    def closepath(self, _ctx: Any) -> None:
        self.segments.append(("h",))
