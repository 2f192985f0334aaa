"""Write ink into a PDF as operators: glyphs in the source's own fonts, shapes as paths, each mapped to its place."""

from collections.abc import Iterable, Sequence
from typing import Any

import pymupdf
from pymupdf import mupdf

from collaparte.paper.cutting.ink import Font, Glyph, Matrix, Page, Picture, Shape, Subpath

SAME = 0.025
"""Outlines none of whose points differ by so much are one, in points: sources round to a hundredth, and a staff line is
0.5 thick."""


def number(value: float) -> str:
    """As short as it goes at a thousandth of a point."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _join(*values: float) -> str:
    return " ".join(number(v) for v in values)


class Fonts:
    """The source's fonts as embedded once in the new file, with what each glyph means."""

    def __init__(self, document: Any, pages: Sequence[Page]) -> None:
        self.document = document
        self.fonts: list[Font] = pages[0].fonts if pages else []
        self.used: dict[int, dict[int, int]] = {}
        self._object: dict[int, int] = {}
        self._merged: dict[bytes, int] = {}

    def use(self, font: int, gid: int, ucs: int) -> str | None:
        """The resource name of a font, or None when its glyphs must be drawn as outlines."""
        if not self.fonts[font].kind:
            return None
        first = self._merged.setdefault(self.fonts[font].program, font)
        self.used.setdefault(first, {})[gid] = ucs
        return f"F{first}"

    def resources(self) -> str:
        """The font dictionary for a page's resources; every font is written when first asked for."""
        return "<<" + "".join(f"/F{n} {self._reference(n)} 0 R" for n in sorted(self.used)) + ">>"

    def _reference(self, n: int) -> int:
        if n not in self._object:
            self._object[n] = int(self.document.get_new_xref())
            self.document.update_object(self._object[n], "<<>>")
        return self._object[n]

    def write(self) -> None:
        """Write the fonts that were used; call once, after the last page."""
        for n in self.used:
            self._write(n)

    def _write(self, n: int) -> None:
        document, font = self.document, self.fonts[n]
        name = "".join(c for c in font.name if c.isalnum() or c in "+-") or f"Font{n}"
        program = document.get_new_xref()
        subtype = {"cff": "/Subtype/CIDFontType0C", "opentype": "/Subtype/OpenType", "truetype": ""}[font.kind]
        document.update_object(program, f"<<{subtype}>>")
        document.update_stream(program, font.program)
        key = "FontFile2" if font.kind == "truetype" else "FontFile3"
        descriptor = document.get_new_xref()
        document.update_object(
            descriptor,
            f"<</Type/FontDescriptor/FontName/{name}/Flags 4/FontBBox[-1000 -1000 3000 3000]/ItalicAngle 0"
            f"/Ascent 1000/Descent -300/CapHeight 700/StemV 80/{key} {program} 0 R>>",
        )
        kind = "CIDFontType2" if font.kind == "truetype" else "CIDFontType0"
        identity = "/CIDToGIDMap/Identity" if font.kind == "truetype" else ""
        descendant = document.get_new_xref()
        document.update_object(
            descendant,
            f"<</Type/Font/Subtype/{kind}/BaseFont/{name}"
            "/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>"
            f"/FontDescriptor {descriptor} 0 R/DW 600/W{_widths(font, self.used[n])}{identity}>>",
        )
        unicode = document.get_new_xref()
        document.update_object(unicode, "<<>>")
        document.update_stream(unicode, _to_unicode(self.used[n]))
        document.update_object(
            self._reference(n),
            f"<</Type/Font/Subtype/Type0/BaseFont/{name}/Encoding/Identity-H/DescendantFonts[{descendant} 0 R]"
            f"/ToUnicode {unicode} 0 R>>",
        )


def _widths(font: Font, glyphs: Iterable[int]) -> str:
    """How far each glyph goes, in thousandths of an em: readers tell words apart by it (PDF 1.7, 9.7.4.3)."""
    face = pymupdf.Font(fontbuffer=font.program)
    advances = {gid: mupdf.fz_advance_glyph(face.this, gid, 0) for gid in sorted(glyphs)}
    return "[" + "".join(f"{gid}[{number(1000 * advance)}]" for gid, advance in advances.items()) + "]"


def _to_unicode(glyphs: dict[int, int]) -> bytes:
    rows = [
        f"<{gid:04X}> <{chr(ucs).encode('utf-16-be').hex().upper()}>"
        for gid, ucs in sorted(glyphs.items())
        if 0 < ucs != 0xFFFD
    ]
    blocks = [rows[i : i + 100] for i in range(0, len(rows), 100)]
    body = "".join(f"{len(b)} beginbfchar\n" + "\n".join(b) + "\nendbfchar\n" for b in blocks)
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CMapName /Adobe-Identity-UCS def\n"
        "/CMapType 2 def\n1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n" + body + "endcmap\nend\nend\n"
    ).encode()


def drawn(path: Sequence[Subpath], x: float, y: float) -> str:
    """A path's operators, its points seen from (x, y), y up."""
    out: list[str] = []
    for sub in path:
        out.append(f"{_join(sub.x - x, y - sub.y)} m")
        for s in sub.segments:
            points = [v - x if k % 2 == 0 else y - v for k, v in enumerate(s)]
            out.append(_join(*points) + (" c" if len(s) == 6 else " l"))
        if sub.closed:
            out.append("h")
    return "\n".join(out)


class Outlines:
    """The outlines that a page has drawn; what differs from one by no more than a source's rounding is the same."""

    def __init__(self) -> None:
        self._met: dict[tuple[int, ...], list[tuple[list[float], str]]] = {}

    def words(self, path: Sequence[Subpath]) -> str:
        """A path's operators, its points seen from its first, y up."""
        x, y = path[0].x, path[0].y
        kind: list[int] = []
        points: list[float] = []
        for sub in path:
            points += (sub.x - x, sub.y - y)
            for s in sub.segments:
                points += [v - (y if k % 2 else x) for k, v in enumerate(s)]
            kind += [len(s) for s in sub.segments]
            kind.append(sub.closed)
        alike = self._met.setdefault(tuple(kind), [])
        for other, words in alike:
            if all(abs(a - b) < SAME for a, b in zip(points, other, strict=True)):
                return words
        alike.append((points, drawn(path, x, y)))
        return alike[-1][1]


class Writer:
    """The operators of one page; graphics state is written only when it changes. y is up, in points."""

    def __init__(self, fonts: Fonts, height: float) -> None:
        self.fonts = fonts
        self.height = height
        self.out: list[str] = []
        self.state: dict[str, str] = {}
        self.pictures: dict[str, bytes] = {}
        self._names: dict[int, str] = {}
        """What a picture is called, so that one shown in parts is written once."""
        self._text = ""
        self._outlines = Outlines()

    def _set(self, key: str, operator: str) -> None:
        if self.state.get(key) != operator:
            self._end_text()
            self.out.append(operator)
            self.state[key] = operator

    def _end_text(self) -> None:
        if self._text:
            self.out.append("ET")
            self._text = ""

    def glyph(self, mark: Glyph, m: Matrix) -> None:
        """A glyph whose em square `m` maps to the page in points, y down."""
        name = self.fonts.use(mark.font, mark.gid, mark.ucs)
        if name is None:
            path = [_mapped(sub, m) for sub in self.fonts.fonts[mark.font].outlines[mark.gid]]
            self.outline(Shape(mark.box, path, mark.colour), 1.0, 1.0, 0.0, 0.0)
            return
        self._set("fill", _colour(mark.colour, "g", "rg"))
        if self._text != name:
            self.out.append(f"BT /{name} 1 Tf" if not self._text else f"/{name} 1 Tf")
            self._text = name
        a, b, c, d, e, f = m
        self.out.append(f"{_join(a, -b, c, -d, e, self.height - f)} Tm <{mark.gid:04X}> Tj")

    def shape(self, shape: Shape, path: Sequence[Subpath], scale: float) -> None:
        """A path already in place (points, y down); `scale` is for the line's width."""
        if shape.width is None:
            self._set("fill", _colour(shape.colour, "g", "rg"))
        else:
            self._set("stroke", _colour(shape.colour, "G", "RG"))
            self._set("width", f"{number(shape.width * scale)} w")
            self._set("cap", f"{shape.cap} J")
            self._set("join", f"{shape.join} j")
            self._set("dash", f"[{_join(*(d * scale for d in shape.dash))}] 0 d" if shape.dash else "[] 0 d")
        self._end_text()
        self.out.append(drawn(path, 0.0, self.height))
        self.out.append("S" if shape.width is not None else "f*" if shape.even_odd else "f")

    def outline(self, shape: Shape, sx: float, sy: float, ex: float, ey: float) -> None:
        """A filled path of the source, each of its points (x, y) at (x sx + ex, y sy + ey), points, y down. One drawn
        before, as all heads of a page are, is written in the same words: compressed they take next to nothing."""
        self._set("fill", _colour(shape.colour, "g", "rg"))
        self._end_text()
        first = shape.path[0]
        place = _join(first.x * sx + ex, self.height - first.y * sy - ey)
        paint = "f*" if shape.even_odd else "f"
        self.out.append(f"q {sx:.5f} 0 0 {sy:.5f} {place} cm\n{self._outlines.words(shape.path)}\n{paint} Q")

    def picture(self, mark: Picture, m: Matrix, clip: tuple[float, float] | None = None) -> None:
        """An image whose unit square `m` maps to the page in points, y down; `clip`: what of it is shown, left to
        right."""
        self._end_text()
        name = self._names.setdefault(id(mark), f"I{len(self.pictures)}")
        self.pictures[name] = mark.png
        a, b, c, d, e, f = m
        shown = f"{_join(clip[0], 0.0, clip[1] - clip[0], self.height)} re W n " if clip else ""
        self.out.append(f"q {shown}{_join(a, -b, -c, d, c + e, self.height - (d + f))} cm /{name} Do Q")

    def rectangle(self, x0: float, y0: float, x1: float, y1: float) -> None:
        self._set("fill", "0 g")
        self._end_text()
        self.out.append(f"{_join(x0, self.height - y1, x1 - x0, y1 - y0)} re f")

    def disc(self, x: float, y: float, r: float) -> None:
        self._set("fill", "0 g")
        self._end_text()
        k = 0.5523 * r
        cy = self.height - y
        self.out.append(
            f"{_join(x + r, cy)} m {_join(x + r, cy + k, x + k, cy + r, x, cy + r)} c "
            f"{_join(x - k, cy + r, x - r, cy + k, x - r, cy)} c "
            f"{_join(x - r, cy - k, x - k, cy - r, x, cy - r)} c {_join(x + k, cy - r, x + r, cy - k, x + r, cy)} c f"
        )

    def text(self, font: str, size: float, x: float, y: float, words: str) -> None:
        """Words of our own in one of the standard fonts (resource `font`), baseline start at x, y."""
        self._set("fill", "0 g")
        self._end_text()
        data = words.encode("cp1252", "replace").hex().upper()
        self.out.append(f"BT /{font} {number(size)} Tf {_join(x, self.height - y)} Td <{data}> Tj ET")

    def stream(self) -> bytes:
        self._end_text()
        return "\n".join(self.out).encode("ascii")


def _mapped(sub: Subpath, m: Matrix) -> Subpath:
    def move(x: float, y: float) -> tuple[float, float]:
        return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]

    segments = [tuple(v for k in range(0, len(s), 2) for v in move(s[k], s[k + 1])) for s in sub.segments]
    return Subpath(*move(sub.x, sub.y), segments=segments, closed=sub.closed)


def _colour(colour: tuple[float, ...], grey: str, rgb: str) -> str:
    return f"{_join(*colour)} {grey if len(colour) == 1 else rgb}"


def add_page(document: Any, width: float, height: float, writer: Writer, standard: str) -> None:
    """Append a page of `width` x `height` points with what `writer` holds; `standard` adds font resources."""
    page = document.new_page(width=width, height=height)
    contents = document.get_new_xref()
    document.update_object(contents, "<<>>")
    document.update_stream(contents, writer.stream())
    fonts = writer.fonts.resources()[:-2] + standard + ">>"
    document.xref_set_key(page.xref, "Contents", f"{contents} 0 R")
    document.xref_set_key(page.xref, "Resources", f"<</Font{fonts}>>")
    for name, png in writer.pictures.items():
        document.xref_set_key(page.xref, f"Resources/XObject/{name}", f"{_image(document, png)} 0 R")


def _image(document: Any, png: bytes) -> int:
    picture = pymupdf.Pixmap(png)
    xref = int(document.get_new_xref())
    space = "/DeviceGray" if picture.n - picture.alpha == 1 else "/DeviceRGB"
    mask = ""
    if picture.alpha and picture.n == 2:  # ink of a scan, which stands over what is beneath it
        mask = f"/SMask {_grey_image(document, picture.width, picture.height, picture.samples[1::2])} 0 R"
    if picture.alpha:
        picture = pymupdf.Pixmap(picture, 0)
    document.update_object(
        xref,
        f"<</Type/XObject/Subtype/Image/Width {picture.width}/Height {picture.height}"
        f"/ColorSpace{space}/BitsPerComponent 8{mask}>>",
    )
    document.update_stream(xref, picture.samples)
    return xref


def _grey_image(document: Any, width: int, height: int, samples: bytes) -> int:
    xref = int(document.get_new_xref())
    size = f"/Width {width}/Height {height}"
    document.update_object(xref, f"<</Type/XObject/Subtype/Image{size}/ColorSpace/DeviceGray/BitsPerComponent 8>>")
    document.update_stream(xref, samples)
    return xref
