"""An engraved page drawn again as another maker might have drawn it: the same music, other operators, fonts and units.

Programs that engrave write the same ink in many ways: staff lines as strokes, boxes or polygons, whole or bar by bar;
signs in fonts with or without names, in fonts whose glyphs are drawings, or as outlines; within forms, clips and scales
of their own; with layers that are hidden and boxes that cover. A `Maker` is one choice of each. What a chart holds
stays true, so a page that is drawn again must be read as before.
"""

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from itertools import pairwise
from typing import Any, Literal, NamedTuple, get_args, get_type_hints

import pymupdf

from collaparte.paper.cutting.flattened import Fonts, flatten, open_pdf
from collaparte.paper.cutting.ink import Glyph, Page, Shape, Subpath
from remade_fonts import Faces

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Maker:
    """How one maker draws; the first of each choice is the plain one."""

    level: Literal["stroke", "box", "polygon", "closed", "quad", "mask"] = "stroke"
    """Staff lines and whatever else is level and straight."""
    upright: Literal["stroke", "box", "polygon", "across", "reversed", "mask"] = "stroke"
    """Barlines, stems; `across`: a wide stroke as short as the line is thick; `mask`: one pixel, stretched."""
    cut: Literal["whole", "bars", "overlapping", "notes", "gaps"] = "whole"
    """Staff lines in one piece, or from barline to barline, or in many pieces."""
    barlines: Literal["whole", "staves", "overlapping"] = "whole"
    """Barlines through several staves in one piece, or a piece for every stave and gap."""
    gather: Literal["each", "alike", "page"] = "each"
    """A path for every line, one for all lines that stand together, or one for all of the page that are as thick."""
    order: Literal["as is", "lines last", "backwards"] = "as is"
    units: Literal["points", "hundredths", "twips", "large", "tilted"] = "points"
    holding: Literal["page", "clips", "forms", "nested", "strips"] = "page"
    """What holds a system's ink: the page, a clip of its own, a form, a form in a form, a clip for every bit."""
    colour: Literal["black", "rgb", "grey", "cmyk", "separation", "calibrated"] = "black"
    music: Literal["cid", "named", "letters", "symbol", "type3", "outlines", "grouped", "bitmaps", "masks"] = "cid"
    """Signs of music: by index, by name, as letters of a font, in a symbol font, as drawings, as paths, as small
    pictures in a font or on the page."""
    text: Literal["cid", "single", "spaced", "bold", "letters", "type3", "outlines", "backwards"] = "cid"
    page: Literal["plain", "turned", "cropped", "userunit", "quarter"] = "plain"
    more: Literal["nothing", "hidden", "invisible", "masked", "footers", "backdrop", "stamp", "all"] = "nothing"
    """Layers that are not shown, text that paints nothing, boxes that cover, words at head and foot, paper as a box."""


CHOICES: dict[str, tuple[str, ...]] = {name: get_args(kind) for name, kind in get_type_hints(Maker).items()}
PLAIN = Maker()
THIN = 1.2
"""Lines are thinner than this, in points; what is thicker may be a frame."""
SINGLE = tuple(replace(PLAIN, **{name: choice}) for name, all_of in CHOICES.items() for choice in all_of[1:])
"""Makers that differ from the plain one in one choice each."""


def maker(seed: int) -> Maker:
    """A maker of its own in every choice."""
    dice = random.Random(seed)
    return Maker(**{name: dice.choice(all_of) for name, all_of in CHOICES.items()})


def _is_white(piece: "Piece") -> bool:
    return all(part == 1.0 for part in piece.colour)


def told(one: Maker) -> str:
    """A maker in words: what is not plain about it."""
    parts = [f"{f.name} {getattr(one, f.name)}" for f in fields(one) if getattr(one, f.name) != getattr(PLAIN, f.name)]
    return ", ".join(parts) or "plain"


def remade(pdf: bytes, by: Maker, seed: int = 0) -> bytes:
    """The same pages drawn by another maker."""
    source, fonts = open_pdf(pdf), Fonts()
    pages = [flatten(source, number, fonts) for number in range(len(source))]
    out = pymupdf.open()
    faces = Faces(out, fonts, by.music, by.text)
    for page in pages:
        faces.meet(mark for mark in page.ink if isinstance(mark, Glyph))
    faces.write()
    for number, page in enumerate(pages):
        _Writer(out, page, by, faces, random.Random(f"{seed}.{number}")).write(number)
    made: bytes = out.tobytes(garbage=3, deflate=True)
    return made


class Line(NamedTuple):
    """A straight level or upright stroke as the box that it inks."""

    x0: float
    y0: float
    x1: float
    y1: float
    colour: tuple[float, ...]
    dash: tuple[float, ...] = ()
    cap: int = 0

    @property
    def is_level(self) -> bool:
        return self.x1 - self.x0 >= self.y1 - self.y0


class Stave(NamedTuple):
    """A stave of the page: its lines, ends, and the barlines through it."""

    top: float
    bottom: float
    x0: float
    x1: float
    bars: tuple[float, ...]


Piece = Line | Glyph | Shape


def _line(shape: Shape) -> Line | None:
    """The line that a shape is; None when it is anything else."""
    if len(shape.path) != 1:
        return None
    sub = shape.path[0]
    points = [(sub.x, sub.y), *((s[-2], s[-1]) for s in sub.segments)]
    if any(len(s) != 2 for s in sub.segments):
        return None
    if shape.width is not None:
        if len(points) != 2 or sub.closed:
            return None
        (xa, ya), (xb, yb), h = points[0], points[1], shape.width / 2
        more = h if shape.cap else 0.0
        if abs(xa - xb) < 0.01:
            return Line(xa - h, min(ya, yb) - more, xa + h, max(ya, yb) + more, shape.colour, shape.dash, shape.cap)
        if abs(ya - yb) < 0.01:
            return Line(min(xa, xb) - more, ya - h, max(xa, xb) + more, ya + h, shape.colour, shape.dash, shape.cap)
        return None
    if (
        len(points) not in (4, 5)
        or len({round(x, 2) for x, _ in points}) != 2
        or len({round(y, 2) for _, y in points}) != 2
    ):
        return None
    x0, y0, x1, y1 = shape.box
    long, short = max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)
    return Line(x0, y0, x1, y1, shape.colour) if long > 2.5 * short > 0 else None


def _staves(lines: Sequence[Line], width: float) -> list[Stave]:
    """Five long level lines, evenly spaced, that begin and end together."""
    long = sorted((line for line in lines if line.is_level and line.x1 - line.x0 > width / 12), key=lambda o: o.y0)
    uprights = [line for line in lines if not line.is_level]
    out: list[Stave] = []
    for n, first in enumerate(long):
        alike = [o for o in long[n:] if abs(o.x0 - first.x0) < 0.5 and abs(o.x1 - first.x1) < 0.5][:5]
        gaps = [b.y0 - a.y0 for a, b in pairwise(alike)]
        if len(alike) < 5 or max(gaps) > 12 or max(gaps) - min(gaps) > 0.1 * max(gaps):
            continue
        top, bottom = (alike[0].y0 + alike[0].y1) / 2, (alike[4].y0 + alike[4].y1) / 2
        if any(s.top - 1 <= top <= s.bottom and abs(s.x0 - first.x0) < 1 for s in out):
            continue
        bars = {
            round((u.x0 + u.x1) / 2, 3)
            for u in uprights
            if u.y0 < top + 1 and u.y1 > bottom - 1 and first.x0 - 1 < u.x0 and u.x1 < first.x1 + 1
        }
        out.append(Stave(top, bottom, first.x0, first.x1, tuple(sorted(bars))))
    return out


class _Writer:
    def __init__(self, out: pymupdf.Document, page: Page, by: Maker, faces: Faces, dice: random.Random) -> None:
        self.out, self.page, self.by, self.faces, self.dice = out, page, by, faces, dice
        self.scale = {"points": 1.0, "hundredths": 0.01, "twips": 0.05, "large": 3.7, "tilted": 1.0}[by.units]
        self.unit = 2.0 if by.page == "userunit" else 1.0
        """What a point of the page is in the file's own."""
        self.height = page.height
        self.layers: dict[str, int] = {}

    def write(self, number: int) -> None:
        w, h = self.page.width / self.unit, self.page.height / self.unit
        sheet = self.out.new_page(width=w, height=h)
        self.resources: dict[str, dict[str, str]] = {"Font": dict(self.faces.resources)}
        self.resources |= {"XObject": {}, "ColorSpace": {}, "Properties": {}}
        pieces = [self._piece(mark) for mark in self.page.ink if isinstance(mark, Glyph | Shape)]
        lines = [piece for piece in pieces if isinstance(piece, Line)]
        self.staves = _staves(lines, self.page.width)
        groups = self._groups(pieces)
        body: list[str] = []
        for box, group in groups:
            body.append(self._held(self._drawn(group), box))
        body = [*self._before(), *body, *self._after(number)]
        a = 1 / self.unit / 1.0
        s = self.scale * a
        if self.by.units == "tilted":  # a matrix that swaps the axes and one that swaps them back
            whole = f"q 0 {a:g} {a:g} 0 0 0 cm 0 1 1 0 0 0 cm\n" + "\n".join(body) + "\nQ"
        elif self.by.units in ("hundredths", "large"):
            whole = f"q {s:g} 0 0 {-s:g} 0 {h:.4f} cm\n" + "\n".join(body) + "\nQ"
        else:
            whole = f"q {s:g} 0 0 {s:g} 0 0 cm\n" + "\n".join(body) + "\nQ"
        self._put(sheet, whole, w, h)

    # places and numbers

    @property
    def flipped(self) -> bool:
        return self.by.units in ("hundredths", "large")

    def n(self, value: float) -> str:
        places = 4 if self.scale >= 1 else 2
        return f"{value / self.scale:.{places}f}".rstrip("0").rstrip(".")

    def at(self, x: float, y: float) -> str:
        return f"{self.n(x)} {self.n(y if self.flipped else self.height - y)}"

    def rect(self, x0: float, y0: float, x1: float, y1: float) -> str:
        low = y0 if self.flipped else self.height - y1
        return f"{self.n(x0)} {self.n(low)} {self.n(x1 - x0)} {self.n(y1 - y0)} re"

    # what is drawn

    def _piece(self, mark: Glyph | Shape) -> Piece:
        line = _line(mark) if isinstance(mark, Shape) else None
        return line or mark

    def _groups(self, pieces: Sequence[Piece]) -> list[tuple[Box, list[Piece]]]:
        """The page's ink in one group, or one for every system (and one for the rest)."""
        everything = (0.0, 0.0, self.page.width, self.page.height)
        ordered = list(pieces)
        if any(map(_is_white, ordered)):  # white covers what is drawn before it, so the order stays
            return [(everything, ordered)]
        if self.by.order == "lines last":
            ordered.sort(key=lambda p: isinstance(p, Line) and p.is_level and p.x1 - p.x0 > 30)
        elif self.by.order == "backwards":
            ordered.reverse()
        if self.by.holding == "page":
            return [(everything, ordered)]
        edges = [0.0]
        edges += [
            (a.bottom + b.top) / 2 for a, b in pairwise(sorted(self.staves, key=lambda s: s.top)) if b.top > a.bottom
        ]
        edges.append(self.page.height)
        groups: list[list[Piece]] = [[] for _ in edges[1:]]
        across: list[Piece] = []
        for piece in ordered:
            _, y0, _, y1 = piece[:4] if isinstance(piece, Line) else piece.box
            own = [n for n, (a, b) in enumerate(pairwise(edges)) if y0 < b and y1 > a]
            (groups[own[0]] if len(own) == 1 else across).append(piece)
        out = [((0.0, a, self.page.width, b), group) for (a, b), group in zip(pairwise(edges), groups, strict=True)]
        return [*out, (everything, across)]

    def _drawn(self, pieces: Sequence[Piece]) -> list[str]:
        out: list[str] = []
        run: list[Line] = []
        glyphs: list[Glyph] = []
        runs: dict[tuple[Any, ...], list[Line]] = {}
        gathered = self.by.gather == "page" and not any(map(_is_white, pieces))
        for piece in pieces:
            if isinstance(piece, Line):
                if gathered and not piece.dash:
                    thick = round(piece.y1 - piece.y0 if piece.is_level else piece.x1 - piece.x0, 2)
                    runs.setdefault((piece.colour, thick, piece.is_level if self._differ() else None), []).append(piece)
                    continue
                if run and (self.by.gather != "alike" or not _alike(run[-1], piece)):
                    out += self._lines(run)
                    run = []
                run.append(piece)
                continue
            if run:
                out += self._lines(run)
                run = []
            if isinstance(piece, Glyph):
                glyphs.append(piece)
                continue
            out += self.faces.shown(self, glyphs) + self._shape(piece)
            glyphs = []
        out += self.faces.shown(self, glyphs)
        if run:
            out += self._lines(run)
        out += [op for lines in runs.values() for op in self._lines(lines)]
        return out

    def _differ(self) -> bool:
        return (self.by.level == "stroke") != (self.by.upright in ("stroke", "reversed"))

    def _lines(self, lines: Sequence[Line]) -> list[str]:
        """One path of lines that are drawn alike."""
        pieces = [piece for line in lines for piece in self._cut(line)]
        if lines[0].dash:
            return [op for piece in pieces for op in self._stroked([piece])]
        out: list[str] = []
        strokes = [p for p in pieces if self._is_stroke(p)]
        boxes = [p for p in pieces if not self._is_stroke(p)]
        for group in _by_thickness(strokes):
            out += self._stroked(group)
        if any(self._sort(p) == "mask" for p in boxes):
            out += [f"{self.ink(p.colour, fill=True)}{self.mask(p)}" for p in boxes if self._sort(p) == "mask"]
            boxes = [p for p in boxes if self._sort(p) != "mask"]
        state = self.ink(boxes[0].colour, fill=True) if boxes else ""
        if self.by.level == "quad" and self.by.cut != "whole":  # where open outlines touch, none could say how many
            out += [f"{state}{self._box(p)} f" for p in boxes]
        elif boxes:
            out.append(state + "\n".join(self._box(p) for p in boxes) + " f")
        return out

    def _sort(self, line: Line) -> str:
        sort = self.by.level if line.is_level else self.by.upright
        thin = min(line.x1 - line.x0, line.y1 - line.y0) < THIN
        return "box" if sort == "mask" and not thin else sort  # white shows on thick ones: a frame of two boxes

    def mask(self, line: Line) -> str:
        """A mask of one pixel over a line's box."""
        x, y = self.at(line.x0, line.y0 if self.flipped else line.y1).split()
        width, height = self.n(line.x1 - line.x0), self.n(line.y1 - line.y0)
        return f"q {width} 0 0 {height} {x} {y} cm BI /IM true /W 1 /H 1 /BPC 1 /F /AHx ID 00> EI Q"

    def _is_stroke(self, line: Line) -> bool:
        return bool(line.dash) or self._sort(line) in ("stroke", "across", "reversed")

    def _stroked(self, lines: Sequence[Line]) -> list[str]:
        paths = []
        for line in lines:
            x, y = (line.x0 + line.x1) / 2, (line.y0 + line.y1) / 2
            level = line.is_level
            if not level and self.by.upright == "across" and not line.dash:
                level = True
            more = min(line.x1 - line.x0, line.y1 - line.y0) / 2 if line.cap else 0.0
            if level:
                ends = (line.x0 + more, y), (line.x1 - more, y)
            else:
                ends = (x, line.y0 + more), (x, line.y1 - more)
            if self.by.upright == "reversed" and not line.is_level:
                ends = ends[1], ends[0]
            paths.append(f"{self.at(*ends[0])} m {self.at(*ends[1])} l")
        first = lines[0]
        across = not first.is_level and self.by.upright == "across" and not first.dash
        thick = first.y1 - first.y0 if first.is_level or across else first.x1 - first.x0
        dash = " ".join(self.n(d) for d in first.dash)
        state = f"{self.ink(first.colour, fill=False)}{self.n(thick)} w {0 if across else first.cap} J [{dash}] 0 d "
        return [state + "\n".join(paths) + " S"]

    def _box(self, line: Line) -> str:
        sort = self._sort(line)
        x0, y0, x1, y1 = line[:4]
        if sort == "polygon":
            return f"{self.at(x0, y0)} m {self.at(x1, y0)} l {self.at(x1, y1)} l {self.at(x0, y1)} l h"
        if sort == "closed":  # begins in the middle of a side and comes back to where it began
            x = (x0 + x1) / 2
            return (
                f"{self.at(x, y1)} m {self.at(x0, y1)} l {self.at(x0, y0)} l {self.at(x1, y0)} l {self.at(x1, y1)} l "
                f"{self.at(x, y1)} l h"
            )
        if sort == "quad":  # left open: filling closes it
            return f"{self.at(x0, y1)} m {self.at(x0, y0)} l {self.at(x1, y0)} l {self.at(x1, y1)} l"
        return self.rect(x0, y0, x1, y1)

    def _cut(self, line: Line) -> list[Line]:
        """The pieces that a staff line or a barline is drawn in."""
        x0, y0, x1, y1 = line[:4]
        y = (y0 + y1) / 2
        if line.dash:
            return [line]
        if line.is_level:
            stave = next((s for s in self.staves if s.top - 1 < y < s.bottom + 1 and abs(s.x0 - x0) < 1), None)
            if stave is None or self.by.cut == "whole" or x1 - x0 < 0.8 * (stave.x1 - stave.x0):
                return [line]
            places = [x for x in stave.bars if x0 + 2 < x < x1 - 2]
            if self.by.cut in ("notes", "gaps"):
                dice = random.Random(round(stave.top))
                steps = dice.randrange(20, 40)
                places = [x0 + (x1 - x0) * (n + dice.uniform(-0.4, 0.4)) / steps for n in range(1, steps)]
            lap = {"overlapping": 0.3, "gaps": -0.05}.get(self.by.cut, 0.0)
            return [
                line._replace(x0=a - (lap if a != x0 else 0), x1=b + (lap if b != x1 else 0))
                for a, b in pairwise([x0, *places, x1])
                if b - a > 0.3
            ]
        crossed = [s for s in self.staves if s.x0 - 2 < x0 and x1 < s.x1 + 2 and y0 < s.top + 1 and y1 > s.bottom - 1]
        if len(crossed) < 2 or self.by.barlines == "whole":
            return [line]
        places = sorted(p for s in crossed for p in (s.top, s.bottom))[1:-1]
        lap = 0.35 if self.by.barlines == "overlapping" else 0.0
        return [
            line._replace(y0=a - (lap if a != y0 else 0), y1=b + (lap if b != y1 else 0))
            for a, b in pairwise([y0, *places, y1])
        ]

    def outline(self, path: Iterable[Subpath]) -> str:
        """Path operators."""
        out = []
        for sub in path:
            out.append(f"{self.at(sub.x, sub.y)} m")
            for s in sub.segments:
                points = " ".join(self.at(s[i], s[i + 1]) for i in range(0, len(s), 2))
                out.append(f"{points} {'l' if len(s) == 2 else 'c'}")
            if sub.closed:
                out.append("h")
        return " ".join(out)

    def _shape(self, shape: Shape) -> list[str]:
        fill = shape.width is None
        state = self.ink(shape.colour, fill=fill)
        if not fill:
            dash = " ".join(self.n(d) for d in shape.dash)
            state += f"{self.n(shape.width or 0)} w {shape.cap} J {shape.join} j [{dash}] 0 d "
        return [state + self.outline(shape.path) + (" S" if not fill else " f*" if shape.even_odd else " f")]

    def ink(self, colour: tuple[float, ...], *, fill: bool) -> str:
        """The operators that set the ink of fills or strokes."""
        sort = self.by.colour
        if colour not in ((0.0,), (0.0, 0.0, 0.0)):
            shade = " ".join(f"{c:g}" for c in colour)
            return f"{shade} {('g' if fill else 'G') if len(colour) == 1 else ('rg' if fill else 'RG')} "
        if sort == "rgb":
            return "0.137 0.122 0.125 rg " if fill else "0.137 0.122 0.125 RG "
        if sort == "grey":
            return "0.2 g " if fill else "0.2 G "
        if sort == "cmyk":
            return "0 0 0 1 k " if fill else "0 0 0 1 K "
        if sort == "separation":
            tint = "<< /FunctionType 2 /Domain [0 1] /C0 [0 0 0 0] /C1 [0 0 0 1] /N 1 >>"
            self.resources["ColorSpace"]["Sep"] = f"[/Separation /Black /DeviceCMYK {tint}]"
            return "/Sep cs 1 scn " if fill else "/Sep CS 1 SCN "
        if sort == "calibrated":
            self.resources["ColorSpace"]["Cal"] = "[/CalGray << /WhitePoint [0.9505 1 1.089] /Gamma 2.2 >>]"
            return "/Cal cs 0 sc " if fill else "/Cal CS 0 SC "
        return "0 g " if fill else "0 G "

    # what holds it

    def _held(self, ops: list[str], box: Box) -> str:
        body = "\n".join(ops)
        if self.by.holding == "page" or not ops:
            return body
        if self.by.holding == "clips":
            return f"q {self.rect(*box)} W n\n{body}\nQ"
        if self.by.holding == "strips":
            clip = self.rect(*box)
            return "\n".join(f"q {clip} W n {op} Q" for op in ops)
        x0, y0, x1, y1 = box
        low = y0 if self.flipped else self.height - y1
        corners = f"{self.n(x0)} {self.n(low)} {self.n(x1)} {self.n(low + y1 - y0)}"
        if self.by.holding == "forms":
            return f"q /{self._form(body, corners, '1 0 0 1 0 0')} Do Q"
        # a form in a form, one twice as large and the other half
        inner = self._form(body, corners, "2 0 0 2 30 -40")
        double = " ".join(f"{2 * float(v) + d:.3f}" for v, d in zip(corners.split(), (30, -40, 30, -40), strict=True))
        outer = self._form(f"/{inner} Do", double, "0.5 0 0 0.5 -15 20", holds=inner)
        return f"q /{outer} Do Q"

    def _form(self, body: str, corners: str, matrix: str, holds: str = "") -> str:
        name = f"Fm{len(self.resources['XObject'])}"
        xobjects = f"/XObject << /{holds} {self.resources['XObject'][holds]} >>" if holds else ""
        own = {key: value for key, value in self.resources.items() if key not in ("XObject", "Properties")}
        xref = self._object(
            f"<< /Type /XObject /Subtype /Form /BBox [{corners}] /Matrix [{matrix}] "
            f"/Resources << {_dictionaries(own)} {xobjects} >> >>",
            body.encode("latin1"),
        )
        self.resources["XObject"][name] = f"{xref} 0 R"
        return name

    def _object(self, dictionary: str, stream: bytes) -> int:
        xref: int = self.out.get_new_xref()
        self.out.update_object(xref, dictionary)
        self.out.update_stream(xref, stream)
        return xref

    # what is there besides

    def _has(self, what: str) -> bool:
        return self.by.more in (what, "all")

    def _before(self) -> list[str]:
        out = []
        if self._has("backdrop"):
            out.append(f"1 g {self.rect(0, 0, self.page.width, self.page.height)} f")
        if self._has("masked") and self.staves:  # an old number and an old bar, painted over before the music is drawn
            stave = self.staves[0]
            space = (stave.bottom - stave.top) / 4
            x, y = stave.x0 + 0.4 * (stave.x1 - stave.x0), stave.top - 2 * space
            out.append(self._words("D.S. al Coda", x, y, 2.4 * space))
            out.append(f"0 g {self.rect(x + 2, stave.top, x + 2.4, stave.bottom)} f")
            out.append(f"1 g {self.rect(x - 2, y - 4 * space, x + 20 * space, stave.bottom + 1)} f")
        return out

    def _after(self, number: int) -> list[str]:
        out = []
        if self._has("hidden") and self.staves:
            if not self.layers:
                group = self.out.add_ocg("Notes", on=False)
                self.layers["Off"] = group
            self.resources["Properties"]["Off"] = f"{self.layers['Off']} 0 R"
            stave = self.staves[0]
            inked = [f"0 g {self.rect(x + 9, stave.top, x + 9.8, stave.bottom)} f" for x in stave.bars]
            inked.append(self._words("X9 D.S. al Coda", stave.x0 + 50, stave.top - 12, 14))
            out.append("/OC /Off BDC q " + "\n".join(inked) + " Q EMC")
        if self._has("invisible") and self.staves:
            stave = self.staves[-1]
            out.append("q 3 Tr " + self._words("Fine D.C. al Fine 44", stave.x0 + 30, stave.top - 8, 12) + " Q")
        if self._has("footers"):
            foot = self.page.height - 18
            out.append(self._words("Copyright 1964 by Nobody at all. All rights reserved.", 60, foot, 7))
            out.append(self._words(f"Trumpet 1 - {number + 1}", 60, 16, 9))
            out.append(self._words(str(number + 1), self.page.width - 60, 16, 9))
        if self._has("stamp"):
            out.append("q 0.9 g " + self._words("Perusal", 0.25 * self.page.width, 0.5 * self.page.height, 90) + " Q")
        return out

    def _words(self, text: str, x: float, y: float, size: float) -> str:
        self.resources["Font"]["Plain"] = "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>"
        flip = "-" if self.flipped else ""
        return f"BT /Plain {self.n(size)} Tf 1 0 0 {flip}1 {self.at(x, y)} Tm ({text}) Tj ET"

    # the page itself

    def _put(self, sheet: pymupdf.Page, content: str, w: float, h: float) -> None:
        content_ref = self._object("<< >>", content.encode("latin1"))
        self.out.xref_set_key(sheet.xref, "Contents", f"{content_ref} 0 R")
        self.out.xref_set_key(sheet.xref, "Resources", f"<< {_dictionaries(self.resources)} >>")
        if self.by.page == "turned":
            turn = f"q 0 1 -1 0 {h:.4f} 0 cm ".encode()
            self.out.update_stream(content_ref, turn + content.encode("latin1") + b" Q")
            self.out.xref_set_key(sheet.xref, "MediaBox", f"[0 0 {h:.3f} {w:.3f}]")
            self.out.xref_set_key(sheet.xref, "Rotate", "90")
        elif self.by.page == "quarter":  # upside down in the file
            turn = f"q -1 0 0 -1 {w:.4f} {h:.4f} cm ".encode()
            self.out.update_stream(content_ref, turn + content.encode("latin1") + b" Q")
            self.out.xref_set_key(sheet.xref, "Rotate", "180")
        elif self.by.page == "cropped":
            self.out.update_stream(content_ref, b"q 1 0 0 1 120 75 cm " + content.encode("latin1") + b" Q")
            self.out.xref_set_key(sheet.xref, "MediaBox", f"[-40 -60 {w + 200:.3f} {h + 150:.3f}]")
            self.out.xref_set_key(sheet.xref, "CropBox", f"[120 75 {w + 120:.3f} {h + 75:.3f}]")
        elif self.by.page == "userunit":
            self.out.xref_set_key(sheet.xref, "UserUnit", "2")


def _alike(one: Line, other: Line) -> bool:
    return one.is_level == other.is_level and one.colour == other.colour and not one.dash and not other.dash


def _by_thickness(lines: Sequence[Line]) -> list[list[Line]]:
    """Lines that one stroke draws: as thick, with the same ends."""
    groups: dict[tuple[Any, ...], list[Line]] = {}
    for line in lines:
        thick = min(line.x1 - line.x0, line.y1 - line.y0)
        # a box drawn across its length has its own thickness each
        groups.setdefault((round(thick, 2), line.cap, line.is_level or line[1::2]), []).append(line)
    return list(groups.values())


def _dictionaries(resources: dict[str, dict[str, str]]) -> str:
    return " ".join(
        f"/{sort} << {' '.join(f'/{name} {value}' for name, value in entries.items())} >>"
        for sort, entries in resources.items()
        if entries
    )
