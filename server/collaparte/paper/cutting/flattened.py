"""A PDF page flattened to its ink.

Nothing here knows music. Clipping is honoured by dropping what lies wholly outside; shadings are left out.
"""

from typing import Any

import pymupdf
from pymupdf import mupdf

from collaparte.paper.cutting.ink import (
    Font,
    Glyph,
    Mark,
    Matrix,
    Page,
    Picture,
    Shape,
    Subpath,
    concat,
    path_box,
    transform_box,
)
from collaparte.paper.cutting.seen import apart, seen
from collaparte.paper.reading import Box
from collaparte.paper.sight.masks import MOST, inked, mask_outlines


class CannotOpen(ValueError):
    """The file is not a PDF that can be opened; the message is one sentence for the librarian."""


def open_pdf(pdf: bytes) -> Any:
    """The opened document; `CannotOpen` when it is no PDF, is locked or has no pages."""
    try:
        document = pymupdf.open(stream=pdf, filetype="pdf")
    except Exception as error:
        raise CannotOpen("This is not a PDF that can be opened; export the part again as PDF.") from error
    if document.needs_pass:
        raise CannotOpen("This PDF is locked with a password; save it without one.")
    if not len(document):
        raise CannotOpen("This PDF has no pages.")
    return document


class Fonts:
    """The fonts met so far in one document, by program, so that pages share them."""

    def __init__(self) -> None:
        self.fonts: list[Font] = []
        self._index: dict[Any, int] = {}
        self._keep: list[Any] = []
        self._boxes: dict[tuple[int, int], Box] = {}

    def index(self, raw: Any) -> int:
        key = int(raw.this)
        if key not in self._index:
            font = mupdf.FzFont(mupdf.ll_fz_keep_font(raw))
            self._keep.append(font)
            self._index[key] = len(self.fonts)
            self.fonts.append(_font(font))
        return self._index[key]

    def handle(self, index: int) -> Any:
        """mupdf's own font."""
        return self._keep[index]

    def outline(self, index: int, gid: int) -> None:
        """Keep a glyph's outline when its font cannot be re-used."""
        font = self.fonts[index]
        if font.kind or gid in font.outlines:
            return
        walker = _Walker((1, 0, 0, 1, 0, 0))
        path = mupdf.fz_outline_glyph(self._keep[index], gid, mupdf.FzMatrix())
        mupdf.fz_walk_path(path, walker, walker.m_internal)
        font.outlines[gid] = walker.path

    def box(self, index: int, gid: int) -> Box:
        """The glyph's box in its em square, y up."""
        key = (index, gid)
        if key not in self._boxes:
            r = mupdf.fz_bound_glyph(self._keep[index], gid, mupdf.FzMatrix())
            self._boxes[key] = (r.x0, r.y0, r.x1, r.y1)
        return self._boxes[key]


def _font(font: Any) -> Font:
    raw = font.m_internal
    program = b""
    if raw.buffer:
        program = mupdf.FzBuffer(mupdf.ll_fz_keep_buffer(raw.buffer)).fz_buffer_extract_copy()
    head = program[:4]
    if head == b"OTTO":
        kind = "opentype"
    elif head in (b"\0\1\0\0", b"true"):
        kind = "truetype"
    elif head[:1] == b"\1" and len(head) == 4:
        kind = "cff"
    else:
        kind = ""
    return Font(mupdf.fz_font_name(font), kind, program if kind else b"")


class _Walker(mupdf.FzPathWalker2):  # type: ignore[misc]
    def __init__(self, m: Matrix) -> None:
        super().__init__()
        self.use_virtual_moveto()
        self.use_virtual_lineto()
        self.use_virtual_curveto()
        self.use_virtual_closepath()
        self.m = m
        self.path: list[Subpath] = []

    def moveto(self, _ctx: Any, x: float, y: float) -> None:
        a, b, c, d, e, f = self.m
        self.path.append(Subpath(a * x + c * y + e, b * x + d * y + f))

    def lineto(self, _ctx: Any, x: float, y: float) -> None:
        a, b, c, d, e, f = self.m
        self._open().segments.append((a * x + c * y + e, b * x + d * y + f))

    def curveto(self, _ctx: Any, *p: float) -> None:
        a, b, c, d, e, f = self.m
        x1, y1, x2, y2, x3, y3 = p
        self._open().segments.append(
            (
                a * x1 + c * y1 + e,
                b * x1 + d * y1 + f,
                a * x2 + c * y2 + e,
                b * x2 + d * y2 + f,
                a * x3 + c * y3 + e,
                b * x3 + d * y3 + f,
            )
        )

    def closepath(self, _ctx: Any) -> None:
        if self.path:
            self.path[-1].closed = True

    def _open(self) -> Subpath:
        last = self.path[-1]
        if last.closed:  # drawing on after a close starts again at the subpath's first point
            last = Subpath(last.x, last.y)
            self.path.append(last)
        return last


class _Recorder(mupdf.FzDevice2):  # type: ignore[misc]
    def __init__(self, fonts: Fonts) -> None:
        super().__init__()
        for name in (
            "fill_path", "stroke_path", "fill_text", "stroke_text", "clip_path", "clip_stroke_path",
            "clip_text", "clip_stroke_text", "clip_image_mask", "pop_clip", "fill_image", "fill_image_mask",
        ):  # fmt: skip
            getattr(self, "use_virtual_" + name)()
        self.fonts = fonts
        self.ink: list[Mark] = []
        self.scissors: list[Box] = [(-1e9, -1e9, 1e9, 1e9)]
        self.errors: list[str] = []

    def _add(self, mark: Mark) -> None:
        x0, y0, x1, y1 = mark.box
        c = self.scissors[-1]
        if x1 >= c[0] and x0 <= c[2] and y1 >= c[1] and y0 <= c[3]:
            self.ink.append(mark)

    def _path(self, raw: Any, ctm: Any) -> list[Subpath]:
        walker = _Walker(_matrix(ctm))
        mupdf.fz_walk_path(mupdf.FzPath(mupdf.ll_fz_keep_path(raw)), walker, walker.m_internal)
        return [s for s in walker.path if s.segments or s.closed]

    def fill_path(
        self, _ctx: Any, path: Any, even_odd: int, ctm: Any, cs: Any, color: Any, alpha: float, *_: Any
    ) -> None:
        subpaths = self._path(path, ctm)
        ink = _colour(cs, color, alpha)
        for part in apart(subpaths, bool(even_odd)):
            self._add(Shape(path_box(part), part, ink, even_odd=bool(even_odd)))

    def stroke_path(
        self, _ctx: Any, path: Any, state: Any, ctm: Any, cs: Any, color: Any, alpha: float, *_: Any
    ) -> None:
        m = _matrix(ctm)
        scale = abs(m[0] * m[3] - m[1] * m[2]) ** 0.5
        width = state.linewidth * scale
        dash: tuple[float, ...] = ()
        if state.dash_len:
            dash = tuple(mupdf.floats_getitem(state.dash_list, i) * scale for i in range(state.dash_len))
        cap, join = int(state.start_cap), int(state.linejoin)
        for sub in _legs(self._path(path, ctm)):
            x0, y0, x1, y1 = path_box([sub])
            h = width / 2
            box = (x0 - h, y0 - h, x1 + h, y1 + h)
            if cap == 0 and len(sub.segments) == 1 and len(sub.segments[0]) == 2 and not sub.closed:
                if abs(x1 - x0) < 1e-3:
                    box = (x0 - h, y0, x1 + h, y1)
                elif abs(y1 - y0) < 1e-3:
                    box = (x0, y0 - h, x1, y1 + h)
            self._add(Shape(box, [sub], _colour(cs, color, alpha), width, min(cap, 2), min(join, 2), dash=dash))

    def fill_text(self, _ctx: Any, text: Any, ctm: Any, cs: Any, color: Any, alpha: float, *_: Any) -> None:
        colour = _colour(cs, color, alpha)
        span = text.head
        while span:
            self._span(mupdf.FzTextSpan(span), span.trm, _matrix(ctm), colour)
            span = span.next

    def stroke_text(
        self, _ctx: Any, text: Any, _state: Any, ctm: Any, cs: Any, color: Any, alpha: float, *_: Any
    ) -> None:
        self.fill_text(_ctx, text, ctm, cs, color, alpha)

    def _span(self, span: Any, trm: Any, ctm: Matrix, colour: tuple[float, ...]) -> None:
        font = self.fonts.index(span.m_internal.font)
        drawn = bool(span.m_internal.font.t3procs)
        for i in range(span.m_internal.len):
            item = span.items(i)
            if item.gid < 0:
                continue
            m = concat((trm.a, trm.b, trm.c, trm.d, item.x, item.y), ctm)
            if drawn:  # a font whose glyphs are drawings: their ink is taken as if the page had it
                self._drawn(font, item.gid, m)
                continue
            box = transform_box(self.fonts.box(font, item.gid), m)
            if box[2] - box[0] < 1e-4 and box[3] - box[1] < 1e-4:
                continue  # a blank
            self.fonts.outline(font, item.gid)
            self._add(Glyph(box, font, item.gid, item.ucs, m, colour))

    def _drawn(self, font: int, gid: int, m: Matrix) -> None:
        flags = self.m_internal.flags
        mupdf.fz_render_t3_glyph_direct(
            self, self.fonts.handle(font), gid, mupdf.FzMatrix(*m), None, mupdf.FzDefaultColorspaces(), None, None
        )
        self.m_internal.flags = flags  # the glyph's own say that colours are not to be set

    def clip_path(self, _ctx: Any, path: Any, _eo: int, ctm: Any, *_: Any) -> None:
        subpaths = self._path(path, ctm)
        self._clip(path_box(subpaths) if subpaths else (0, 0, 0, 0))

    def clip_stroke_path(self, *_: Any) -> None:
        self._clip(self.scissors[-1])

    clip_text = clip_stroke_text = clip_stroke_path

    def clip_image_mask(self, *_: Any) -> None:
        self._clip(self.scissors[-1])

    def _clip(self, box: Box) -> None:
        c = self.scissors[-1]
        self.scissors.append((max(c[0], box[0]), max(c[1], box[1]), min(c[2], box[2]), min(c[3], box[3])))

    def pop_clip(self, *_: Any) -> None:
        if len(self.scissors) > 1:
            self.scissors.pop()

    def fill_image(self, _ctx: Any, image: Any, ctm: Any, *_: Any) -> None:
        m = _matrix(ctm)
        kept = mupdf.FzImage(mupdf.ll_fz_keep_image(image))
        png = mupdf.fz_new_buffer_from_image_as_png(kept, mupdf.FzColorParams()).fz_buffer_extract_copy()
        self._add(Picture(transform_box((0, 0, 1, 1), m), m, png))

    def fill_image_mask(self, _ctx: Any, image: Any, ctm: Any, cs: Any, color: Any, alpha: float, *_: Any) -> None:
        rings = mask_outlines(image, ctm)
        path = [Subpath(*ring[0], [(x, y) for x, y in ring[1:]], True) for ring in rings]
        if path:
            self._add(Shape(path_box(path), path, _colour(cs, color, alpha)))
        elif image.w * image.h > MOST:
            m = _matrix(ctm)
            pixels = mupdf.FzImage(mupdf.ll_fz_keep_image(image)).fz_get_unscaled_pixmap_from_image()
            grey = pymupdf.Pixmap(pymupdf.csGRAY, pixels.w(), pixels.h(), inked(pixels).tobytes(), 0)
            grey.invert_irect()
            self._add(Picture(transform_box((0, 0, 1, 1), m), m, grey.tobytes("png")))


def _legs(path: list[Subpath]) -> list[Subpath]:
    """A hairpin that is one path as its two lines."""
    out: list[Subpath] = []
    for sub in path:
        ends = [(s[0], s[1]) for s in sub.segments if len(s) == 2]
        if len(ends) == 2 == len(sub.segments) and not sub.closed:
            (ax, ay), (bx, by), (cx, cy) = ends[0], (sub.x, sub.y), ends[1]
            narrow = abs(by - ay) + abs(cy - ay) < min(abs(bx - ax), abs(cx - ax))
            if narrow and (by - ay) * (cy - ay) < 0 < (bx - ax) * (cx - ax):
                out += [Subpath(bx, by, [(ax, ay)]), Subpath(ax, ay, [(cx, cy)])]
                continue
        out.append(sub)
    return out


def _matrix(m: Any) -> Matrix:
    return (m.a, m.b, m.c, m.d, m.e, m.f)


def _colour(cs: Any, color: Any, alpha: float) -> tuple[float, ...]:
    """Grey (1 number) or RGB (3), blended to white by alpha: parts are printed on white paper."""
    space = mupdf.FzColorspace(mupdf.ll_fz_keep_colorspace(cs)) if cs else mupdf.FzColorspace()
    n = mupdf.fz_colorspace_n(space) if cs else 1
    values = [mupdf.floats_getitem(color, i) for i in range(n)] if color else [0.0]
    if not cs or not color or mupdf.fz_colorspace_is_gray(space):
        rgb = (values[0],) * 3
    elif mupdf.fz_colorspace_is_rgb(space):
        rgb = (values[0], values[1], values[2])
    elif mupdf.fz_colorspace_is_cmyk(space):
        k = 1 - values[3]
        rgb = ((1 - values[0]) * k, (1 - values[1]) * k, (1 - values[2]) * k)
    else:  # inks with names, and the like
        rgb = mupdf.fz_convert_color(space, color, mupdf.fz_device_rgb(), mupdf.FzColorspace(), mupdf.FzColorParams())[
            :3
        ]
    mixed = tuple(round(1 - alpha * (1 - min(1.0, max(0.0, v))), 3) for v in rgb)
    return mixed[:1] if mixed[0] == mixed[1] == mixed[2] else mixed


def flatten(document: Any, number: int, fonts: Fonts) -> Page:
    """All ink of page `number` (from 0), and white ink only where it is seen: on a dark shape of about its size."""
    page = document[number]
    recorder = _Recorder(fonts)
    mupdf.fz_run_page(page.this if isinstance(page.this, mupdf.FzPage) else mupdf.FzPage(page.this), recorder,
                      mupdf.FzMatrix(), mupdf.FzCookie())  # fmt: skip
    mupdf.fz_close_device(recorder)
    ink = seen(recorder.ink)
    for m in ink:
        if isinstance(m, Glyph) and (m.ucs == 0xFFFD or 0xE000 <= m.ucs <= 0xF8FF):
            fonts.fonts[m.font].music = True
    return Page(page.rect.width, page.rect.height, ink, fonts.fonts)
