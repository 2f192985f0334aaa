"""Fonts of other makers: the glyphs of a page in new fonts, by index, by name, as letters, as drawings, or as paths."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

import pymupdf
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from pymupdf import mupdf

from collaparte.paper.cutting.flattened import Fonts
from collaparte.paper.cutting.ink import Glyph, Subpath

EM = 1000
STEP = 8
"""A bitmap's pixels in thousandths of an em: a head of a stave 7 mm high has 50 rows or so, as at 600 dpi."""
FIRST = 33
"""The first code of a simple font's signs."""


class Writer(Protocol):
    """What draws a page: its places, numbers and ink."""

    scale: float

    @property
    def flipped(self) -> bool: ...
    def at(self, x: float, y: float) -> str: ...
    def n(self, value: float) -> str: ...
    def ink(self, colour: tuple[float, ...], *, fill: bool) -> str: ...
    def outline(self, path: Iterable[Subpath]) -> str: ...


@dataclass
class Face:
    """One font as it will be written: its glyphs in order, each with its letter."""

    index: int
    sort: str
    glyphs: dict[int, int] = field(default_factory=dict)
    """By index in the old font: the letter (0xFFFD when it has none)."""
    resource: str = ""

    def code(self, gid: int) -> int:
        """The code of a glyph: its place in the new font (from 1), or from `FIRST` on."""
        place = list(self.glyphs).index(gid)
        return place + 1 if self.sort in ("cid", "symbol") else FIRST + place


class Faces:
    """The fonts of one file made anew; `music` and `text` say how (see `remade.Maker`)."""

    def __init__(self, out: pymupdf.Document, fonts: Fonts, music: str, text: str) -> None:
        self.out, self.fonts, self.music, self.text = out, fonts, music, text
        self.faces: dict[int, Face] = {}
        self.codes: dict[tuple[int, int], int] = {}
        self.resources: dict[str, str] = {}

    def meet(self, glyphs: Iterable[Glyph]) -> None:
        """Take note of what glyphs are used."""
        for glyph in glyphs:
            face = self.faces.setdefault(glyph.font, Face(glyph.font, "cid"))
            face.glyphs.setdefault(glyph.gid, glyph.ucs)
            self.fonts.fonts[glyph.font].kind = ""  # so that the outlines of all are kept
            self.fonts.outline(glyph.font, glyph.gid)

    def write(self) -> None:
        """Write the fonts into the file."""
        for face in self.faces.values():
            kept = {"letters": "letters", "type3": "type3", "outlines": "outlines"}
            of_music = self.fonts.fonts[face.index].music
            face.sort = self.music if of_music else kept.get(self.text, "cid")
            if face.sort in ("outlines", "grouped", "masks"):
                continue
            if face.sort not in ("cid", "symbol") and len(face.glyphs) > 250 - FIRST:
                face.sort = "cid"
            face.glyphs = dict(
                sorted(face.glyphs.items(), key=lambda pair: pair[0] * 7919 % 101)
            )  # in no telling order
            self.codes |= {(face.index, gid): face.code(gid) for gid in face.glyphs}
            face.resource = f"F{face.index}"
            letters = not of_music and face.sort in ("cid", "type3")
            self.resources[face.resource] = f"{self._write(face, letters=letters)} 0 R"

    def _path(self, face: Face, gid: int) -> list[Subpath]:
        return self.fonts.fonts[face.index].outlines.get(gid, [])

    def advance(self, index: int, gid: int) -> float:
        """A glyph's width in em."""
        return float(mupdf.fz_advance_glyph(self.fonts.handle(index), gid, 0))

    def _write(self, face: Face, *, letters: bool) -> int:
        if face.sort in ("type3", "bitmaps"):
            return self._drawings(face, letters=letters)
        name = f"ABCDE{chr(65 + face.index % 26)}+Face{face.index}"
        widths = [round(self.advance(face.index, gid) * EM) for gid in face.glyphs]
        descriptor = f"/Type /FontDescriptor /FontName /{name} /FontBBox [-2000 -2000 3000 3000] /ItalicAngle 0 /Ascent 800 /Descent -200 /CapHeight 700 /StemV 80"  # noqa: E501
        told = f"/ToUnicode {self._letters(face)} 0 R" if letters or face.sort == "symbol" else ""
        if face.sort in ("cid", "symbol"):
            true = face.sort == "symbol"
            program = self._program(face, true=true)
            file = "/FontFile2" if true else "/FontFile3"
            stream = self._stream("<< >>" if true else "<< /Subtype /CIDFontType0C >>", program)
            held = self._new(f"<< {descriptor} /Flags 4 {file} {stream} 0 R >>")
            sort = "/CIDFontType2 /CIDToGIDMap /Identity" if true else "/CIDFontType0"
            info = "/CIDSystemInfo << /Registry (Adobe) /Ordering (Identity) /Supplement 0 >>"
            below = self._new(
                f"<< /Type /Font /Subtype {sort} /BaseFont /{name} {info} /FontDescriptor {held} 0 R "
                f"/W [1 [{' '.join(map(str, widths))}]] >>"
            )
            return self._new(
                f"<< /Type /Font /Subtype /Type0 /BaseFont /{name} "
                f"/Encoding /Identity-H /DescendantFonts [{below} 0 R] {told} >>"
            )
        true = face.sort == "letters"
        stream = self._stream("<< >>" if true else "<< /Subtype /Type1C >>", self._program(face, true=true))
        held = self._new(f"<< {descriptor} /Flags 4 {'/FontFile2' if true else '/FontFile3'} {stream} 0 R >>")
        names = " ".join(f"/{self._name(face, gid)}" for gid in face.glyphs)
        encoding = "" if true else f"/Encoding << /Type /Encoding /Differences [{FIRST} {names}] >>"
        return self._new(
            f"<< /Type /Font /Subtype {'/TrueType' if true else '/Type1'} /BaseFont /{name} /FirstChar {FIRST} "
            f"/LastChar {FIRST + len(widths) - 1} /Widths [{' '.join(map(str, widths))}] "
            f"/FontDescriptor {held} 0 R {encoding} {told} >>"
        )

    def _name(self, face: Face, gid: int) -> str:
        """A glyph's name in a font with names; else one that says nothing."""
        old = mupdf.fz_get_glyph_name2(self.fonts.handle(face.index), gid) if face.sort == "named" else ""
        return old or f"g{gid}"

    def _program(self, face: Face, *, true: bool) -> bytes:
        order = [".notdef", *(self._name(face, gid) for gid in face.glyphs)]
        builder = FontBuilder(EM, isTTF=true)
        builder.setupGlyphOrder(order)
        outlines: dict[str, Any] = {}
        for name, gid in zip(order, [None, *face.glyphs], strict=True):
            pen = TTGlyphPen(None) if true else T2CharStringPen(round(self.advance(face.index, gid or 0) * EM), None)
            if gid is not None:
                _draw(Cu2QuPen(pen, 0.5) if true else pen, self._path(face, gid))
            outlines[name] = pen.glyph() if true else pen.getCharString()
        if not true:
            builder.setupCFF(f"Face{face.index}", {}, outlines, {})
            return bytes(builder.font["CFF "].compile(builder.font))
        builder.setupCharacterMap({0xF000 + FIRST + n: name for n, name in enumerate(order[1:])})
        builder.setupGlyf(outlines)
        widths = [EM, *(round(self.advance(face.index, gid) * EM) for gid in face.glyphs)]
        builder.setupHorizontalMetrics({name: (width, 0) for name, width in zip(order, widths, strict=True)})
        builder.setupHorizontalHeader(ascent=800, descent=-200)
        builder.setupNameTable({"familyName": f"Face{face.index}", "styleName": "Regular"})
        builder.setupOS2()
        builder.setupPost(keepGlyphNames=False)
        file = io.BytesIO()
        builder.save(file)
        return file.getvalue()

    def _letters(self, face: Face) -> int:
        """What letters the codes stand for; in a symbol font places of the private area that say nothing."""
        wide = face.sort in ("cid", "symbol")
        rows = []
        for n, (gid, ucs) in enumerate(face.glyphs.items()):
            letter = 0xF021 + n if face.sort == "symbol" else ucs
            code = self.codes[face.index, gid]
            rows.append(f"<{code:0{4 if wide else 2}X}> <{chr(letter).encode('utf-16-be').hex()}>")
        span = "<0000> <FFFF>" if wide else "<00> <FF>"
        chunks = [rows[n : n + 100] for n in range(0, len(rows), 100)]
        body = "".join(f"{len(chunk)} beginbfchar\n" + "\n".join(chunk) + "\nendbfchar\n" for chunk in chunks)
        cmap = (
            "/CIDInit /ProcSet findresource begin 12 dict begin begincmap /CMapName /X def /CMapType 2 def\n"
            f"1 begincodespacerange {span} endcodespacerange\n{body}endcmap end end"
        )
        return self._stream("<< >>", cmap.encode("latin1"))

    def _drawings(self, face: Face, *, letters: bool) -> int:
        """A font whose glyphs are drawings (Type 3)."""
        procs, widths = [], []
        for gid in face.glyphs:
            width = round(self.advance(face.index, gid) * EM)
            drawn = " ".join(_operators(self._path(face, gid))) + " f"
            if face.sort == "bitmaps":
                (x0, y0, x1, y1), picture = self._picture(face, gid)
                drawn = f"{x1 - x0:g} 0 0 {y1 - y0:g} {x0:g} {y0:g} cm {picture}" if picture else ""
            procs.append(f"/g{gid} {self._stream('<< >>', f'{width} 0 -2000 -2000 3000 3000 d1 {drawn}'.encode())} 0 R")
            widths.append(str(width))
        names = " ".join(f"/g{gid}" for gid in face.glyphs)
        told = f"/ToUnicode {self._letters(face)} 0 R" if letters else ""
        return self._new(
            f"<< /Type /Font /Subtype /Type3 /FontBBox [-2000 -2000 3000 3000] /FontMatrix [0.001 0 0 0.001 0 0] "
            f"/CharProcs << {' '.join(procs)} >> /Encoding << /Type /Encoding /Differences [{FIRST} {names}] >> "
            f"/FirstChar {FIRST} /LastChar {FIRST + len(widths) - 1} /Widths [{' '.join(widths)}] "
            f"/Resources << >> {told} >>"
        )

    def _picture(self, face: Face, gid: int) -> tuple[tuple[float, ...], str]:
        """A glyph's box in thousandths of an em, and its mask for the unit square; no mask when it paints nothing."""
        path = self._path(face, gid)
        if not path:
            return (0.0, 0.0, 0.0, 0.0), ""
        xs = [v for sub in path for v in (sub.x, *(c for s in sub.segments for c in s[::2]))]
        ys = [v for sub in path for v in (sub.y, *(c for s in sub.segments for c in s[1::2]))]
        x0, y0, x1, y1 = (
            int(EM * v // STEP) * STEP for v in (min(xs), min(ys), max(xs) + STEP / EM, max(ys) + STEP / EM)
        )
        sheet = pymupdf.open()
        page = sheet.new_page(width=x1 - x0, height=y1 - y0)
        xref = sheet.get_new_xref()
        sheet.update_object(xref, "<< >>")
        sheet.update_stream(xref, f"1 0 0 1 {-x0} {-y0} cm {' '.join(_operators(path))} f".encode())
        sheet.xref_set_key(page.xref, "Contents", f"{xref} 0 R")
        pixels = page.get_pixmap(matrix=pymupdf.Matrix(1 / STEP, 1 / STEP), colorspace=pymupdf.csGRAY)
        rows = []
        for row in range(pixels.height):
            grey = pixels.samples[row * pixels.stride : row * pixels.stride + pixels.width]
            bits = "".join("0" if value < 128 else "1" for value in grey)
            bits += "1" * (-len(bits) % 8)
            rows.append(f"{int(bits, 2):0{len(bits) // 4}X}")
        size = f"/W {pixels.width} /H {pixels.height}"
        return (x0, y0, x1, y1), f"BI /IM true {size} /BPC 1 /F /AHx ID {''.join(rows)}> EI"

    def _new(self, text: str) -> int:
        xref: int = self.out.get_new_xref()
        self.out.update_object(xref, text)
        return xref

    def _stream(self, dictionary: str, data: bytes) -> int:
        xref = self._new(dictionary)
        self.out.update_stream(xref, data)
        return xref

    def shown(self, writer: Writer, glyphs: Sequence[Glyph]) -> list[str]:
        """The operators that show glyphs which follow one another."""
        out: list[str] = []
        for run in _runs(glyphs):
            face = self.faces[run[0].font]
            if face.sort in ("outlines", "grouped"):
                paths = [writer.outline(_placed(self._path(face, g.gid), g.m)) for g in run]
                state = writer.ink(run[0].colour, fill=True)
                out += [state + " ".join(paths) + " f"] if face.sort == "grouped" else [f"{state}{p} f" for p in paths]
                continue
            if face.sort == "masks":
                out += [self._masked(writer, face, g) for g in run]
            elif self.fonts.fonts[face.index].music:
                out += [self._shown(writer, [g]) for g in run]
            elif self.text in ("single", "backwards"):
                ops = [self._shown(writer, [g]) for g in run]
                out += reversed(ops) if self.text == "backwards" else ops
            else:
                out.append(self._shown(writer, run, spacing=0.12 if self.text == "spaced" else 0.0))
                if self.text == "bold":
                    out.append(self._shown(writer, run, by=0.03))
        return out

    def _masked(self, writer: Writer, face: Face, glyph: Glyph) -> str:
        """A glyph as a mask on the page."""
        (x0, y0, x1, y1), picture = self._picture(face, glyph.gid)
        a, b, c, d, e, f = glyph.m
        sign = 1 if writer.flipped else -1
        turn = [writer.n(v) for v in (a, sign * b, c, sign * d)]
        em = f"{' '.join(turn)} {writer.at(e, f)} cm"
        box = f"{(x1 - x0) / EM:g} 0 0 {(y1 - y0) / EM:g} {x0 / EM:g} {y0 / EM:g} cm"
        return f"q {writer.ink(glyph.colour, fill=True)}{em} {box} {picture} Q" if picture else ""

    def _shown(self, writer: Writer, run: Sequence[Glyph], spacing: float = 0.0, by: float = 0.0) -> str:
        first = run[0]
        a, b, c, d, x, y = first.m
        size = (c * c + d * d) ** 0.5
        sign = 1 if writer.flipped else -1
        wide = self.faces[first.font].sort in ("cid", "symbol")
        parts = []
        for n, glyph in enumerate(run):
            code = self.codes[glyph.font, glyph.gid]
            parts.append(f"<{code:0{4 if wide else 2}X}>")
            if n + 1 < len(run):
                away = ((run[n + 1].m[4] - glyph.m[4]) * a + (run[n + 1].m[5] - glyph.m[5]) * b) / (a * a + b * b)
                parts.append(f"{(self.advance(glyph.font, glyph.gid) + spacing - away) * EM:.2f}")
        turn = f"{a / size:.5f} {sign * b / size:.5f} {c / size:.5f} {sign * d / size:.5f}"
        colour = writer.ink(first.colour, fill=True)
        return (
            f"{colour}BT /{self.faces[first.font].resource} {writer.n(size)} Tf {writer.n(spacing * size)} Tc {turn} "
            f"{writer.at(x + by * size, y)} Tm [{''.join(parts)}] TJ ET"
        )


def _runs(glyphs: Sequence[Glyph]) -> list[list[Glyph]]:
    """Glyphs of one font and size on one baseline, from the left."""
    runs: list[list[Glyph]] = []
    for glyph in glyphs:
        last = runs[-1][-1] if runs else None
        if (
            last is not None
            and last.font == glyph.font
            and last.colour == glyph.colour
            and all(abs(p - q) < 1e-3 for p, q in zip(last.m[:4], glyph.m[:4], strict=True))
            and abs(last.m[5] - glyph.m[5]) < 0.01
            and 0 < glyph.m[4] - last.m[4] < 3 * abs(glyph.m[0])
        ):
            runs[-1].append(glyph)
        else:
            runs.append([glyph])
    return runs


def _placed(path: Iterable[Subpath], m: tuple[float, ...]) -> list[Subpath]:
    def at(x: float, y: float) -> tuple[float, float]:
        return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]

    out = []
    for sub in path:
        segments = [tuple(v for i in range(0, len(s), 2) for v in at(s[i], s[i + 1])) for s in sub.segments]
        out.append(Subpath(*at(sub.x, sub.y), segments, sub.closed))
    return out


def _draw(pen: Any, path: Iterable[Subpath]) -> None:
    for sub in path:
        pen.moveTo((sub.x * EM, sub.y * EM))
        for s in sub.segments:
            points = [(s[i] * EM, s[i + 1] * EM) for i in range(0, len(s), 2)]
            pen.lineTo(points[0]) if len(points) == 1 else pen.curveTo(*points)
        pen.closePath()


def _operators(path: Iterable[Subpath]) -> Iterable[str]:
    for sub in path:
        yield f"{sub.x * EM:.1f} {sub.y * EM:.1f} m"
        for s in sub.segments:
            yield " ".join(f"{v * EM:.1f}" for v in s) + (" l" if len(s) == 2 else " c")
        yield "h"
