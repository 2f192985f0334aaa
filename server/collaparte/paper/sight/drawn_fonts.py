"""Fonts whose glyphs are drawings of the page's own kind (Type 3): paths, or small pictures."""

import re
from typing import Any

import pymupdf
from pymupdf import mupdf

from collaparte.paper.sight.fonts import Font, FontGlyph, Segment

NUMBERED = re.compile(r"\((\d+) 0 R\)")
"""The text trace calls such a font by its number in the file."""
MOST = 400
"""A picture of more rows or columns than this is no letter and no sign."""


class DrawnFont(Font):
    """One such font; `letters` says whether its codes can be trusted to be letters."""

    def __init__(self, handle: Any, letters: bool) -> None:
        super().__init__(None)
        self._handle = handle
        self.drawn = not letters

    def outline(self, gid: int) -> list[Segment]:
        recorder = _Recorder()
        mupdf.fz_render_t3_glyph_direct(
            recorder, self._handle, gid, mupdf.FzMatrix(), None, mupdf.FzDefaultColorspaces(), None, None
        )
        mupdf.fz_close_device(recorder)
        return recorder.segments

    def _look(self, gid: int, code: int) -> FontGlyph:
        points = [point for item in self.items(gid) for point in item[1:]]
        if not points:
            return super()._look(gid, code)
        xs, ys = [x for x, _ in points], [-y for _, y in points]
        return FontGlyph(self._told(gid, code), (min(xs), min(ys), max(xs), max(ys)))


def drawn_fonts(document: pymupdf.Document, page: pymupdf.Page, seen: dict[int, Font]) -> dict[str, Font]:
    """The page's fonts of this kind by the name that the text trace uses; `seen` as in `page_fonts`."""
    numbers = [entry[0] for entry in page.get_fonts(full=True) if entry[2] == "Type3"]
    if any(number not in seen for number in numbers):
        finder = _Finder()
        raw = page.this if isinstance(page.this, mupdf.FzPage) else mupdf.FzPage(page.this)
        mupdf.fz_run_page(raw, finder, mupdf.FzMatrix(), mupdf.FzCookie())
        mupdf.fz_close_device(finder)
        for name, handle in finder.fonts.items():
            if number := NUMBERED.search(name):
                told = document.xref_get_key(int(number[1]), "ToUnicode")[0] != "null"
                seen.setdefault(int(number[1]), DrawnFont(handle, told))
    return {f"Type3 ({number} 0 R)": seen[number] for number in numbers if number in seen}


class _Finder(mupdf.FzDevice2):  # type: ignore[misc]
    """Goes through a page for the fonts in use that are drawings."""

    def __init__(self) -> None:
        super().__init__()
        self.use_virtual_fill_text()
        self.fonts: dict[str, Any] = {}

    def fill_text(self, _ctx: Any, text: Any, *_: Any) -> None:
        span = text.head
        while span:
            font = mupdf.FzTextSpan(span).m_internal.font
            if font.t3procs:
                handle = mupdf.FzFont(mupdf.ll_fz_keep_font(font))
                self.fonts.setdefault(mupdf.fz_font_name(handle), handle)
            span = span.next


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
        if not 0 < image.w <= MOST or not 0 < image.h <= MOST:
            return
        kept = mupdf.FzImage(mupdf.ll_fz_keep_image(image))
        pixels = kept.fz_get_pixmap_from_image(mupdf.FzIrect(0, 0, image.w, image.h), mupdf.FzMatrix(), None, None)
        if isinstance(pixels, tuple):
            pixels = pixels[0]
        samples, stride, count = (
            mupdf.python_memoryview_from_memory(
                mupdf.fz_pixmap_samples_int(pixels), pixels.w() * pixels.h() * pixels.n(), 0
            ),
            pixels.w() * pixels.n(),
            pixels.n(),
        )
        for row in range(pixels.h()):
            inked = [samples[row * stride + column * count] > 127 for column in range(pixels.w())] + [False]
            start = None
            for column, ink in enumerate(inked):
                if ink and start is None:
                    start = column
                elif not ink and start is not None:
                    self._box(ctm, start / pixels.w(), column / pixels.w(), row / pixels.h(), (row + 1) / pixels.h())
                    start = None

    def _box(self, m: Any, x0: float, x1: float, y0: float, y1: float) -> None:
        """A row of an image's ink: its unit square has its first row at the top."""
        corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
        points = [(m.a * x + m.c * y + m.e, m.b * x + m.d * y + m.f) for x, y in corners]
        self.segments += [("m", *points[0]), *(("l", *point) for point in points[1:]), ("h",)]


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
