"""A page's ink: every painting operation with its true box, in points on the page as displayed."""

from dataclasses import dataclass, field

from collaparte.paper.reading import Box

Matrix = tuple[float, float, float, float, float, float]
Segment = tuple[float, ...]
"""2 numbers draw a line to a point, 6 a cubic curve; a subpath begins with its first point."""


@dataclass(slots=True)
class Subpath:
    """A start point, the segments from there, and whether it is closed."""

    x: float
    y: float
    segments: list[Segment] = field(default_factory=list)
    closed: bool = False


@dataclass(slots=True)
class Font:
    """An embedded font: its program and what kind (`cff`, `truetype`, `opentype`, or `` when it cannot be re-used)."""

    name: str
    kind: str
    program: bytes
    music: bool = False
    """It holds glyphs without a letter of their own: a music font."""
    masked: bool = False
    """A music font that calls its signs letters."""
    outlines: dict[int, list[Subpath]] = field(default_factory=dict)
    """Of a font that cannot be re-used: the glyphs met, as paths in the em square, y up."""


@dataclass(slots=True)
class Glyph:
    """One glyph of a font: `m` maps its em square to the page, `ucs` is its letter (0xFFFD when it has none)."""

    box: Box
    font: int
    gid: int
    ucs: int
    m: Matrix
    colour: tuple[float, ...]


@dataclass(slots=True)
class Shape:
    """A filled (`width` is None) or stroked path; `cap` and `join` as in PDF, `dash` in points."""

    box: Box
    path: list[Subpath]
    colour: tuple[float, ...]
    width: float | None = None
    cap: int = 0
    join: int = 0
    even_odd: bool = False
    dash: tuple[float, ...] = ()


@dataclass(slots=True)
class Picture:
    """An image; `m` maps the unit square to the page, `png` is its encoded form."""

    box: Box
    m: Matrix
    png: bytes


Mark = Glyph | Shape | Picture


@dataclass(slots=True)
class Page:
    """One page's ink in painting order, its size in points, and the fonts that the glyphs name by index."""

    width: float
    height: float
    ink: list[Mark]
    fonts: list[Font]


def concat(m: Matrix, n: Matrix) -> Matrix:
    """`m` first, then `n`."""
    return (
        m[0] * n[0] + m[1] * n[2],
        m[0] * n[1] + m[1] * n[3],
        m[2] * n[0] + m[3] * n[2],
        m[2] * n[1] + m[3] * n[3],
        m[4] * n[0] + m[5] * n[2] + n[4],
        m[4] * n[1] + m[5] * n[3] + n[5],
    )


def transform_box(box: Box, m: Matrix) -> Box:
    """The upright box round the mapped corners."""
    x0, y0, x1, y1 = box
    xs = [m[0] * x + m[2] * y + m[4] for x in (x0, x1) for y in (y0, y1)]
    ys = [m[1] * x + m[3] * y + m[5] for x in (x0, x1) for y in (y0, y1)]
    return (min(xs), min(ys), max(xs), max(ys))


def path_box(path: list[Subpath]) -> Box:
    """The box of a path; a curve counts with its extremes, not its control points."""
    xs: list[float] = []
    ys: list[float] = []
    for sub in path:
        x, y = sub.x, sub.y
        xs.append(x)
        ys.append(y)
        for s in sub.segments:
            if len(s) == 6:
                xs.extend(_extremes(x, s[0], s[2], s[4]))
                ys.extend(_extremes(y, s[1], s[3], s[5]))
            x, y = s[-2], s[-1]
            xs.append(x)
            ys.append(y)
    return (min(xs), min(ys), max(xs), max(ys))


def _extremes(p0: float, p1: float, p2: float, p3: float) -> list[float]:
    low, high = min(p0, p3), max(p0, p3)
    if low <= p1 <= high and low <= p2 <= high:
        return []
    a, b, c = 3 * (p3 - 3 * p2 + 3 * p1 - p0), 6 * (p2 - 2 * p1 + p0), 3 * (p1 - p0)
    roots: list[float] = []
    if abs(a) < 1e-9:
        if abs(b) > 1e-9:
            roots = [-c / b]
    elif (d := b * b - 4 * a * c) >= 0:
        roots = [(-b + d**0.5) / (2 * a), (-b - d**0.5) / (2 * a)]
    return [
        (1 - t) ** 3 * p0 + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t * t * p2 + t**3 * p3 for t in roots if 0 < t < 1
    ]


def letter(mark: Mark) -> str:
    """The character that a mark is in its font; empty for other marks."""
    return chr(mark.ucs) if isinstance(mark, Glyph) and 0 < mark.ucs < 0x110000 else ""
